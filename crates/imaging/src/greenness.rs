//! How green a leaf is: the dark green colour index, and the leaf against its clone's own reference.

use serde::Serialize;

use crate::{
    difference::{ciede2000, turned},
    lab::Lab,
    srgb::Linear,
};

/// Hue, saturation, brightness of encoded red, green, blue.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hsb {
    /// Hue \[°, from 0 up to 360\]; `None` for a grey.
    pub hue: Option<f64>,
    /// Saturation \[0 to 1\].
    pub saturation: f64,
    /// Brightness \[0 to 1\].
    pub brightness: f64,
}

impl Hsb {
    /// From encoded channels \[0 to 1\] (the hexagonal form of Smith 1978, from memory).
    pub fn from_encoded([r, g, b]: [f64; 3]) -> Self {
        let (most, least) = (r.max(g).max(b), r.min(g).min(b));
        let spread = most - least;
        // Channels that differ by rounding only are a grey.
        if spread <= 1e-12 {
            return Self { hue: None, saturation: 0.0, brightness: most };
        }
        let sixths = if most <= r {
            (g - b) / spread
        } else if most <= g {
            (b - r) / spread + 2.0
        } else {
            (r - g) / spread + 4.0
        };
        Self {
            hue: Some((sixths * 60.0).rem_euclid(360.0)),
            saturation: spread / most,
            brightness: most,
        }
    }
}

/// The hues for which the index was made \[°\].
pub const GREEN_HUES: (f64, f64) = (60.0, 120.0);

/// Why a leaf has no dark green colour index. Use Lab and [`against_reference`] instead.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NotApplicable {
    /// Red, silver or bluish leaves.
    #[error(
        "the leaf's hue is {hue:.0}°, and the index is for green from 60° to 120°; compare the leaf \
         with its clone's own reference"
    )]
    OtherHue {
        /// The hue \[°\].
        hue: f64,
    },
    /// Grey, white and black have no hue.
    #[error("the leaf is grey and has no hue; compare the leaf with its clone's own reference")]
    NoHue,
    /// Brighter than white, or a channel below zero.
    #[error("the leaf is outside what a picture can hold; check the card and the exposure")]
    OutsideGamut,
}

/// Dark green colour index \[0 to 1, higher is darker and greener\]: the mean of (H − 60)/60, 1 − S and
/// 1 − B (Karcher & Richardson 2003, doi:10.2135/cropsci2003.9430), of light that was balanced before.
///
/// # Errors
/// [`NotApplicable`] for a hue outside 60° to 120°, a grey, or a colour outside the gamut of sRGB.
pub fn dark_green_index(balanced: Linear) -> Result<f64, NotApplicable> {
    let encoded = balanced.encoded();
    if encoded.iter().any(|v| !(0.0..=1.0).contains(v)) {
        return Err(NotApplicable::OutsideGamut);
    }
    let Hsb { hue, saturation, brightness } = Hsb::from_encoded(encoded);
    let hue = hue.ok_or(NotApplicable::NoHue)?;
    let (low, high) = GREEN_HUES;
    // Half a millionth of a degree is rounding of the round trip through linear light.
    if !(low - 5e-7..=high + 5e-7).contains(&hue) {
        return Err(NotApplicable::OtherHue { hue });
    }
    Ok(((hue - 60.0) / 60.0 + (1.0 - saturation) + (1.0 - brightness)) / 3.0)
}

/// Chroma below which a hue is mostly scatter of the photograph (common practice, no source).
pub const LEAST_CHROMA: f64 = 5.0;

/// A leaf beside the healthy reference leaf of its own clone, at the same position on the shoot.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LeafShift {
    /// How far they are apart, ΔE₀₀ (with the scatter of both: see [`crate::compare()`]).
    #[serde(rename = "dE00")]
    pub delta_e: f64,
    /// L* of the leaf minus that of the reference; bleaching is positive.
    pub lighter: f64,
    /// Chroma of the leaf minus that of the reference.
    pub chroma: f64,
    /// How many degrees nearer to yellow (90°) the leaf is than the reference; paling is positive.
    /// `None` where either is too grey to have a hue.
    pub yellower: Option<f64>,
}

/// Compares a leaf with its reference.
pub fn against_reference(leaf: Lab, reference: Lab) -> LeafShift {
    let from_yellow = |colour: Lab| turned(colour.hue() - 90.0).abs();
    let coloured = leaf.chroma().min(reference.chroma()) >= LEAST_CHROMA;
    LeafShift {
        delta_e: ciede2000(reference, leaf),
        lighter: leaf.l - reference.l,
        chroma: leaf.chroma() - reference.chroma(),
        yellower: coloured.then(|| from_yellow(reference) - from_yellow(leaf)),
    }
}
