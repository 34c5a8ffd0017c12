//! Hard and soft water in one can.

use serde::Serialize;

use crate::{
    Basis, Constant, Spread,
    limits::{OutOfRange, within},
};

const EQUIVALENT: Constant = Constant {
    name: "calcium_carbonate_equivalent",
    value: 50.0,
    unit: "mg/meq",
    spread: Spread::Range(50.0, 50.05),
    basis: Basis::Definition,
    source: "half the molar mass of calcium carbonate",
};
const TARGET_EPIPHYTES: Constant = range("alkalinity_epiphytes", 60.0, 40.0, 80.0, "mg/L CaCO₃");
const CALCIUM: Constant = range("calcium_wanted", 70.0, 40.0, 100.0, "mg/L");
const MAGNESIUM: Constant = range("magnesium_wanted", 25.0, 15.0, 40.0, "mg/L");
const RATIO: Constant = range("calcium_to_magnesium", 3.0, 2.0, 4.0, "1");

const fn range(
    name: &'static str,
    value: f64,
    least: f64,
    most: f64,
    unit: &'static str,
) -> Constant {
    let spread = Spread::Range(least, most);
    Constant { name, value, unit, spread, basis: Basis::CommonPractice, source: "" }
}

pub(super) const CONSTANTS: [Constant; 5] =
    [EQUIVALENT, TARGET_EPIPHYTES, CALCIUM, MAGNESIUM, RATIO];

/// A water by its report.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Water {
    /// Alkalinity \[mg/L CaCO₃\].
    pub alkalinity: f64,
    /// Conductivity \[mS/cm\].
    pub conductivity: f64,
    /// Calcium \[mg/L\].
    pub calcium: f64,
    /// Magnesium \[mg/L\].
    pub magnesium: f64,
    /// Sodium \[mg/L\].
    pub sodium: f64,
}

impl Water {
    /// This water with so large a share (0 to 1) of it, the rest another.
    ///
    /// # Errors
    /// When the share is outside of 0 to 1.
    pub fn blended(&self, share: f64, other: &Self) -> Result<Self, OutOfRange> {
        within("share", share, "1", 0.0, 1.0)?;
        let mix = |a: f64, b: f64| share * a + (1.0 - share) * b;
        Ok(Self {
            alkalinity: mix(self.alkalinity, other.alkalinity),
            conductivity: mix(self.conductivity, other.conductivity),
            calcium: mix(self.calcium, other.calcium),
            magnesium: mix(self.magnesium, other.magnesium),
            sodium: mix(self.sodium, other.sodium),
        })
    }
}

/// Share (0 to 1) of the harder water that brings a blend to a target, for alkalinity or
/// conductivity alike: (wanted − soft) / (hard − soft).
///
/// # Errors
/// When the two waters are alike, or the target is not between them.
pub fn blend_share(wanted: f64, hard: f64, soft: f64) -> Result<f64, OutOfRange> {
    within("soft water", soft, "", 0.0, f64::MAX)?;
    within("difference of the waters", hard - soft, "", 1e-9, f64::MAX)?;
    within("wanted in the blend", wanted, "", soft, hard)?;
    Ok((wanted - soft) / (hard - soft))
}

/// Alkalinity \[meq/L\] from mg/L of calcium carbonate.
pub fn alkalinity_in_meq(alkalinity: f64) -> f64 {
    alkalinity / EQUIVALENT.value
}

/// How calcium and magnesium stand in a feed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CalciumMagnesium {
    /// Too little calcium, below 40 mg/L.
    pub little_calcium: bool,
    /// Too little magnesium, below 15 mg/L.
    pub little_magnesium: bool,
    /// Calcium to magnesium by mass; `None` without magnesium.
    pub ratio: Option<f64>,
    /// Whether the ratio is outside of 2 to 4.
    pub unbalanced: bool,
}

/// Looks at calcium and magnesium \[mg/L\] of water and fertiliser together. Common practice; rain
/// water with a fertiliser that has no calcium always shows here.
pub fn calcium_magnesium(calcium: f64, magnesium: f64) -> CalciumMagnesium {
    let ratio = (magnesium > 0.0).then(|| calcium / magnesium);
    let least = |c: Constant| limits(c).0;
    CalciumMagnesium {
        little_calcium: calcium < least(CALCIUM),
        little_magnesium: magnesium < least(MAGNESIUM),
        ratio,
        unbalanced: ratio.is_none_or(|r| r < limits(RATIO).0 || r > limits(RATIO).1),
    }
}

fn limits(constant: Constant) -> (f64, f64) {
    match constant.spread {
        Spread::Range(least, most) => (least, most),
        _ => (constant.value, constant.value),
    }
}
