//! Mixes by volume.

use serde::Serialize;

use crate::{
    Basis, Constant, Estimate, Spread,
    limits::{OutOfRange, within},
    substrate::Material,
};

const POINTS: Constant = Constant {
    name: "mix_points",
    value: 10.0,
    unit: "% points",
    spread: Spread::None,
    basis: Basis::CommonPractice,
    source: "",
};
const SHRINKAGE: Constant = Constant {
    name: "packing_shrinkage",
    value: 15.0,
    unit: "%",
    spread: Spread::Range(10.0, 20.0),
    basis: Basis::CommonPractice,
    source: "",
};

pub(super) const CONSTANTS: [Constant; 2] = [POINTS, SHRINKAGE];

/// A part of a mix.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part<'a> {
    /// The material.
    pub material: &'a Material,
    /// How many parts by volume.
    pub parts: f64,
}

/// A mix by volume.
#[derive(Debug, Clone, PartialEq)]
pub struct Mix<'a> {
    parts: Vec<Part<'a>>,
    total: f64,
}

/// What a mix should hold in a column of 7.6 cm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MixEstimate {
    /// Air after draining \[% of volume\].
    pub air: Estimate,
    /// Water after draining \[% of volume\].
    pub capacity: Estimate,
    /// Dry mass \[g/cm³\].
    pub bulk_density: f64,
}

impl<'a> Mix<'a> {
    /// A mix of parts by volume.
    ///
    /// # Errors
    /// When a part is negative, or all are 0.
    pub fn new(parts: Vec<Part<'a>>) -> Result<Self, OutOfRange> {
        let mut total = 0.0;
        for part in &parts {
            total += within("parts of a material", part.parts, "parts", 0.0, 1e6)?;
        }
        within("parts of the mix", total, "parts", 1e-9, 1e9)?;
        Ok(Self { parts, total })
    }

    fn mean(&self, of: impl Fn(&Material) -> f64) -> f64 {
        self.parts.iter().map(|p| p.parts * of(p.material)).sum::<f64>() / self.total
    }

    /// What the parts hold by their shares, to within 10 points: fine material fills the gaps of
    /// coarse material, which no table of parts can know. A test of the pot replaces it.
    pub fn estimate(&self) -> MixEstimate {
        let within_points = |value: f64| {
            Estimate { value, lower: value - POINTS.value, upper: value + POINTS.value }
                .clamp(0.0, 100.0)
        };
        MixEstimate {
            air: within_points(self.mean(|m| m.air.value)),
            capacity: within_points(self.mean(|m| m.capacity.value)),
            bulk_density: self.mean(|m| m.bulk_density.value),
        }
    }

    /// How much of each part \[L\], in the order of the parts, makes this loose volume \[L\].
    pub fn volumes(&self, loose: f64) -> Vec<f64> {
        self.parts.iter().map(|p| loose * p.parts / self.total).collect()
    }
}

/// Loose mix \[L\] for so many pots of this volume \[L\], when filling shrinks it by this share
/// \[%\]; 15 % (10 to 20) by common practice.
///
/// # Errors
/// When a number is out of range.
pub fn loose_volume(
    pots: f64,
    volume: f64,
    shrinkage: Option<f64>,
) -> Result<Estimate, OutOfRange> {
    within("pots", pots, "pots", 0.0, 1e7)?;
    within("volume of a pot", volume, "L", 0.0, 1e4)?;
    let loose = |percent: f64| pots * volume / (1.0 - percent / 100.0);
    match shrinkage {
        Some(percent) => Ok(Estimate::exact(loose(within("shrinkage", percent, "%", 0.0, 80.0)?))),
        None => Ok(Estimate::spread(SHRINKAGE.value, SHRINKAGE.spread).map(loose)),
    }
}
