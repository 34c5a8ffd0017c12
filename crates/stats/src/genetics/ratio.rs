//! Whether counts fit a ratio, by the two large-sample tests.

use std::{fmt, str::FromStr};

use serde::Serialize;

use super::GeneticsError;
use crate::special::chi_square_tail;

/// Parts of a whole, such as 9 : 3 : 3 : 1; every part above 0, at least two parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Ratio {
    parts: Vec<f64>,
}

impl Ratio {
    /// A ratio of these parts, which need not be whole numbers.
    ///
    /// # Errors
    /// Fewer than two parts, or a part that is not a number above 0.
    pub fn new(parts: &[f64]) -> Result<Self, GeneticsError> {
        let ratio = Self { parts: parts.to_vec() };
        if parts.len() < 2 || parts.iter().any(|p| !(p.is_finite() && *p > 0.0)) {
            return Err(GeneticsError::Ratio(ratio.to_string()));
        }
        Ok(ratio)
    }

    /// The parts as they were given.
    pub fn parts(&self) -> &[f64] {
        &self.parts
    }

    /// The share of each part; they add up to 1.
    pub fn shares(&self) -> Vec<f64> {
        let whole: f64 = self.parts.iter().sum();
        self.parts.iter().map(|p| p / whole).collect()
    }

    /// The number of plants, after a look at whether the counts belong to this ratio.
    pub(super) fn plants(&self, observed: &[u64]) -> Result<u64, GeneticsError> {
        if observed.len() != self.parts.len() {
            let (counts, parts) = (observed.len(), self.parts.len());
            return Err(GeneticsError::Parts { counts, parts });
        }
        match observed.iter().sum() {
            0 => Err(GeneticsError::NoPlants),
            n => Ok(n),
        }
    }
}

impl fmt::Display for Ratio {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, part) in self.parts.iter().enumerate() {
            write!(f, "{}{part}", if i == 0 { "" } else { ":" })?;
        }
        Ok(())
    }
}

impl FromStr for Ratio {
    type Err = GeneticsError;

    fn from_str(typed: &str) -> Result<Self, GeneticsError> {
        let parts: Option<Vec<f64>> =
            typed.split(':').map(|part| part.trim().parse::<f64>().ok()).collect();
        parts
            .and_then(|parts| Self::new(&parts).ok())
            .ok_or_else(|| GeneticsError::Ratio(typed.to_owned()))
    }
}

/// Counts beside a ratio. No continuity correction.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fit {
    /// Counts that the ratio leads one to expect; whole numbers only by chance.
    pub expected: Vec<f64>,
    /// Pearson's Σ (observed − expected)²/expected \[0 or more\].
    pub chi_square: f64,
    /// Degrees of freedom: one less than classes.
    pub df: u32,
    /// Chance of a chi-square as large as this, if the ratio holds \[0 to 1\].
    pub p: f64,
    /// The likelihood ratio 2 Σ observed · ln(observed/expected) \[0 or more\].
    pub g: f64,
    /// Its chance by the same distribution \[0 to 1\].
    pub g_p: f64,
}

/// Sets counts beside a ratio (Pearson 1900; G after Sokal & Rohlf; from memory).
///
/// # Errors
/// Another number of counts than of parts, or no plant.
pub fn fit(observed: &[u64], ratio: &Ratio) -> Result<Fit, GeneticsError> {
    let plants = ratio.plants(observed)? as f64;
    let expected: Vec<f64> = ratio.shares().iter().map(|share| share * plants).collect();
    let pairs = || observed.iter().map(|o| *o as f64).zip(&expected);
    let chi_square = pairs().map(|(o, e)| (o - e).powi(2) / e).sum();
    let g = pairs().filter(|(o, _)| *o > 0.0).map(|(o, e)| 2.0 * o * (o / e).ln()).sum::<f64>();
    // Counts that fit exactly leave a G of rounding, on either side of 0.
    let g = g.max(0.0);
    let df = observed.len() as u32 - 1;
    let (p, g_p) = (chi_square_tail(chi_square, df), chi_square_tail(g, df));
    Ok(Fit { expected, chi_square, df, p, g, g_p })
}
