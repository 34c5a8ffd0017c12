//! Making a photograph neutral with a card of known reflectance, or with patches of known colour.

use crate::{
    error::{Channel, ColourError},
    matrix::{Matrix3, Vector3, ZERO, eigenvalues, inverse, minus, plus, product, times},
    srgb::{Linear, encode},
};

/// What a photographer's grey card reflects \[share\] (the 18 % of the trade; L* 49.5).
pub const GREY_CARD: f64 = 0.18;

/// The encoded value \[0 to 255\] below which a card is refused: there one step of a channel is more
/// than 4 % of its light, about 1 unit of colour (common practice, no source).
pub const DARKEST_CARD: f64 = 40.0;

/// The fewest patches for a correction matrix: nine numbers need room to be wrong in.
pub const FEWEST_PATCHES: usize = 6;

/// The greatest condition of the patches. At 100, an error of 0.5 % in a patch could become half of
/// an entry of the matrix; charts of many hues have 5 to 20 (common practice, no source).
pub const WORST_CONDITION: f64 = 100.0;

/// A gain for each channel, in linear light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WhiteBalance {
    /// Red, green, blue.
    pub gains: Vector3,
}

impl WhiteBalance {
    /// Gains that make the card what it is: neutral, and as light as its reflectance \[share, above 0
    /// up to 1\]. This sets the exposure as well.
    ///
    /// # Errors
    /// [`ColourError::BadReflectance`]; [`ColourError::CardTooDark`] below [`DARKEST_CARD`] in any
    /// channel. A card with clipped pixels is refused by [`Linear::mean_of`], and here when its mean
    /// is at the end of the scale.
    pub fn from_card(card: Linear, reflectance: f64) -> Result<Self, ColourError> {
        if !(reflectance > 0.0 && reflectance <= 1.0) {
            return Err(ColourError::BadReflectance { value: reflectance });
        }
        for (channel, light) in Channel::ALL.into_iter().zip(card.0) {
            let value = encode(light) * 255.0;
            if !value.is_finite() || value < DARKEST_CARD {
                return Err(ColourError::CardTooDark { channel, value });
            }
            if light >= 1.0 {
                return Err(ColourError::Clipped { channel, share: 1.0 });
            }
        }
        Ok(Self { gains: card.0.map(|light| reflectance / light) })
    }

    /// The light as it would have been under a neutral light; above 1 where it is brighter than white.
    pub fn apply(&self, light: Linear) -> Linear {
        Linear([0, 1, 2].map(|i| light.0[i] * self.gains[i]))
    }
}

/// A matrix from the camera's linear light to that of sRGB, from patches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correction {
    /// Rows give red, green, blue.
    pub matrix: Matrix3,
    /// The condition of the patches, greatest over least singular value; 1 is best.
    pub condition: f64,
    /// Root of the mean squared deviation of the patches, in linear light.
    pub residual: f64,
}

impl Correction {
    /// The matrix M that makes Σ |M·seen − known|² least over the patches, in linear light.
    ///
    /// # Errors
    /// [`ColourError::UnevenPatches`], [`ColourError::TooFewPatches`] below [`FEWEST_PATCHES`], and
    /// [`ColourError::AlikePatches`] when their condition is above [`WORST_CONDITION`].
    pub fn from_patches(seen: &[Linear], known: &[Linear]) -> Result<Self, ColourError> {
        if seen.len() != known.len() {
            return Err(ColourError::UnevenPatches { seen: seen.len(), known: known.len() });
        }
        if seen.len() < FEWEST_PATCHES {
            return Err(ColourError::TooFewPatches { have: seen.len(), need: FEWEST_PATCHES });
        }
        let (mut squares, mut cross) = (ZERO, ZERO);
        for (s, k) in seen.iter().zip(known) {
            for i in 0..3 {
                squares[i] = plus(squares[i], s.0[i], s.0);
                cross[i] = plus(cross[i], k.0[i], s.0);
            }
        }
        let values = eigenvalues(&squares);
        let condition =
            if values[2] > 0.0 { (values[0] / values[2]).sqrt() } else { f64::INFINITY };
        let alike = || ColourError::AlikePatches { condition, most: WORST_CONDITION };
        if condition.is_nan() || condition > WORST_CONDITION {
            return Err(alike());
        }
        let matrix = product(&cross, &inverse(&squares).ok_or_else(alike)?);
        let left: f64 = seen
            .iter()
            .zip(known)
            .map(|(s, k)| minus(times(&matrix, s.0), k.0).iter().map(|v| v * v).sum::<f64>())
            .sum();
        Ok(Self { matrix, condition, residual: (left / (3.0 * seen.len() as f64)).sqrt() })
    }

    /// The light as sRGB has it.
    pub fn apply(&self, light: Linear) -> Linear {
        Linear(times(&self.matrix, light.0))
    }
}
