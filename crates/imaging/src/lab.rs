//! Colours as eyes see them: XYZ, CIELAB under D65 and D50 (CIE 15), chroma and hue.

use serde::Serialize;

use crate::{
    error::ColourError,
    matrix::{Matrix3, Vector3, inverse, product, times},
    srgb::{Linear, TO_XYZ},
};

/// Tristimulus values, Y of a perfect white = 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Xyz(pub Vector3);

/// CIELAB: lightness \[0 to 100\], red against green, yellow against blue.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Lab {
    /// L*, lightness.
    #[serde(rename = "L")]
    pub l: f64,
    /// a*: positive is red, negative green.
    pub a: f64,
    /// b*: positive is yellow, negative blue.
    pub b: f64,
}

/// White of average daylight, 6504 K, 2° observer (ASTM E308 figures, as Lindbloom gives them).
pub const D65: Xyz = Xyz([0.950_47, 1.0, 1.088_83]);

/// White of the printing trade, 5003 K, 2° observer (ASTM E308 figures).
pub const D50: Xyz = Xyz([0.964_22, 1.0, 0.825_21]);

/// Cone responses of the Bradford adaptation (Lam 1985; figures as in ICC.1, annex E).
const BRADFORD: Matrix3 =
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]];

/// Below this the cube root gives way to a line (CIE 15:2004, exact fraction).
const EPSILON: f64 = 216.0 / 24389.0;
/// The slope of that line.
const KAPPA: f64 = 24389.0 / 27.0;

impl Xyz {
    /// CIELAB against a white.
    pub fn lab(self, white: Self) -> Lab {
        let f = |i: usize| {
            let v = self.0[i] / white.0[i];
            if v > EPSILON { v.cbrt() } else { (KAPPA * v + 16.0) / 116.0 }
        };
        let (x, y, z) = (f(0), f(1), f(2));
        Lab { l: 116.0 * y - 16.0, a: 500.0 * (x - y), b: 200.0 * (y - z) }
    }

    /// The same appearance under another white, by Bradford's linear adaptation.
    pub fn adapted(self, from: Self, to: Self) -> Self {
        let (before, after) = (times(&BRADFORD, from.0), times(&BRADFORD, to.0));
        let scaled = |i: usize| BRADFORD[i].map(|v| v * after[i] / before[i]);
        let change = [scaled(0), scaled(1), scaled(2)];
        // Bradford's matrix has an inverse, so the identity is never used.
        let back = inverse(&BRADFORD).unwrap_or(IDENTITY);
        Self(times(&product(&back, &change), self.0))
    }

    /// Linear light of sRGB; channels outside 0 to 1 are outside its gamut.
    pub fn linear(self) -> Linear {
        Linear(times(&inverse(&TO_XYZ).unwrap_or(IDENTITY), self.0))
    }
}

const IDENTITY: Matrix3 = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];

impl Linear {
    /// CIELAB under D65, the white of the picture.
    pub fn lab_d65(self) -> Lab {
        self.xyz().lab(D65)
    }

    /// CIELAB under D50, as instruments and print give it, after Bradford's adaptation.
    pub fn lab_d50(self) -> Lab {
        self.xyz().adapted(D65, D50).lab(D50)
    }
}

impl Lab {
    /// A colour from three coordinates.
    pub const fn new(l: f64, a: f64, b: f64) -> Self {
        Self { l, a, b }
    }

    /// A colour whose coordinates a surface can have: L from 0 to 100 (half a unit of rounding is let
    /// pass), a and b within ±200.
    ///
    /// # Errors
    /// [`ColourError::OutOfRange`] with the coordinate.
    pub fn checked(l: f64, a: f64, b: f64) -> Result<Self, ColourError> {
        for (coordinate, value, low, high, slack) in
            [("L", l, 0.0, 100.0, 0.5), ("a", a, -200.0, 200.0, 0.0), ("b", b, -200.0, 200.0, 0.0)]
        {
            if !(low - slack..=high + slack).contains(&value) {
                return Err(ColourError::OutOfRange { coordinate, value, low, high });
            }
        }
        Ok(Self { l, a, b })
    }

    /// Its coordinates.
    pub fn vector(self) -> Vector3 {
        [self.l, self.a, self.b]
    }

    /// A colour from its coordinates.
    pub fn from_vector([l, a, b]: Vector3) -> Self {
        Self { l, a, b }
    }

    /// C*, how far from grey.
    pub fn chroma(self) -> f64 {
        self.a.hypot(self.b)
    }

    /// h, the hue angle \[°, from 0 up to 360\]: 0 red, 90 yellow, 180 green, 270 blue. A grey has none
    /// that means anything.
    pub fn hue(self) -> f64 {
        let degrees = self.b.atan2(self.a).to_degrees();
        // A tiny negative angle plus 360 rounds to 360 itself.
        if degrees < 0.0 { (degrees + 360.0) % 360.0 } else { degrees }
    }

    /// XYZ against a white: the reverse of [`Xyz::lab`].
    pub fn xyz(self, white: Xyz) -> Xyz {
        let y = (self.l + 16.0) / 116.0;
        let unbent = |f: f64| {
            let cube = f * f * f;
            if cube > EPSILON { cube } else { (116.0 * f - 16.0) / KAPPA }
        };
        let shares = [unbent(y + self.a / 500.0), unbent(y), unbent(y - self.b / 200.0)];
        Xyz([0, 1, 2].map(|i| shares[i] * white.0[i]))
    }
}
