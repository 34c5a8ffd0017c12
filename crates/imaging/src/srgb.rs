//! Pixels as cameras write them, and the light behind them (IEC 61966-2-1).

use std::str::FromStr;

use crate::{
    error::{Channel, ColourError},
    lab::Xyz,
    matrix::{Matrix3, Vector3, times},
};

/// A pixel as it stands in a picture: encoded red, green, blue \[0 to 255\].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Srgb8(pub [u8; 3]);

/// Linear light: red, green, blue of sRGB primaries \[share of white, 0 to 1; brighter is above 1\].
///
/// Only here may light be added, averaged or multiplied.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Linear(pub Vector3);

/// The share of clipped pixels above which a patch is refused (common practice, no source).
pub const CLIPPED_SHARE: f64 = 0.01;

/// Linear sRGB to XYZ under D65, Y of white = 1 (primaries of IEC 61966-2-1; figures of Lindbloom,
/// brucelindbloom.com, which belong to the white point that [`crate::lab::D65`] has).
pub const TO_XYZ: Matrix3 = [
    [0.412_456_4, 0.357_576_1, 0.180_437_5],
    [0.212_672_9, 0.715_152_2, 0.072_175_0],
    [0.019_333_9, 0.119_192_0, 0.950_304_1],
];

/// The light behind an encoded channel; both from 0 to 1. Below 0 it is odd: −f(−v).
pub fn decode(encoded: f64) -> f64 {
    let v = encoded.abs();
    let light = if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) };
    light.copysign(encoded)
}

/// The encoded channel of a light: the reverse of [`decode`].
pub fn encode(light: f64) -> f64 {
    let v = light.abs();
    // The two pieces meet here, up to the rounding of the standard's own constants.
    let encoded = if v <= 0.040_45 / 12.92 { v * 12.92 } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 };
    encoded.copysign(light)
}

impl FromStr for Srgb8 {
    type Err = ColourError;

    /// Reads `#2E8B57`, `2e8b57` or the short `#2b5`.
    fn from_str(text: &str) -> Result<Self, ColourError> {
        let bad = || ColourError::BadHex { text: text.to_owned() };
        let trimmed = text.trim();
        let digits: Vec<u8> = trimmed
            .strip_prefix('#')
            .unwrap_or(trimmed)
            .chars()
            .map(|c| c.to_digit(16).and_then(|d| u8::try_from(d).ok()).ok_or_else(bad))
            .collect::<Result<_, _>>()?;
        match digits.as_slice() {
            [r, s, g, h, b, c] => Ok(Self([r * 16 + s, g * 16 + h, b * 16 + c])),
            [r, g, b] => Ok(Self([r * 17, g * 17, b * 17])),
            _ => Err(bad()),
        }
    }
}

impl Srgb8 {
    /// The light behind the pixel.
    pub fn linear(self) -> Linear {
        Linear(self.0.map(|v| decode(f64::from(v) / 255.0)))
    }
}

impl Linear {
    /// The mean light of a patch.
    ///
    /// # Errors
    /// [`ColourError::NoPixels`]; [`ColourError::Clipped`] when more than [`CLIPPED_SHARE`] of the
    /// pixels are at 255 in a channel, since what was brighter is lost.
    pub fn mean_of(pixels: &[Srgb8]) -> Result<Self, ColourError> {
        if pixels.is_empty() {
            return Err(ColourError::NoPixels);
        }
        let n = pixels.len() as f64;
        let mut mean = [0.0; 3];
        for (i, channel) in Channel::ALL.into_iter().enumerate() {
            let clipped = pixels.iter().filter(|p| p.0[i] == u8::MAX).count();
            let share = clipped as f64 / n;
            if share > CLIPPED_SHARE {
                return Err(ColourError::Clipped { channel, share });
            }
            mean[i] = pixels.iter().map(|p| decode(f64::from(p.0[i]) / 255.0)).sum::<f64>() / n;
        }
        Ok(Self(mean))
    }

    /// Encoded channels \[0 to 1 inside the gamut\], not rounded and not clipped.
    pub fn encoded(self) -> Vector3 {
        self.0.map(encode)
    }

    /// The nearest pixel, and whether a channel had to be clipped for it.
    pub fn pixel(self) -> (Srgb8, bool) {
        let scaled = self.encoded().map(|v| (v * 255.0).round());
        let outside = scaled.iter().any(|v| !(0.0..=255.0).contains(v));
        // Rounded and inside the range of a byte.
        (Srgb8(scaled.map(|v| v.clamp(0.0, 255.0) as u8)), outside)
    }

    /// XYZ under D65.
    pub fn xyz(self) -> Xyz {
        Xyz(times(&TO_XYZ, self.0))
    }
}
