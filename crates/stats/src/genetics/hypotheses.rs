//! With which of several ratios counts are consistent.

use serde::Serialize;

use super::{Exact, GeneticsError, Ratio, exact};

/// A ratio that was thought of, and how it stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Hypothesis {
    /// The ratio as it was given.
    pub ratio: String,
    /// Its chance among the ratios listed, every one being held equally likely before the counts
    /// \[0 to 1\]; they add up to 1. It says nothing of ratios that are not listed.
    pub posterior: f64,
    /// Whether the counts fit it, by the exact test.
    pub exact: Exact,
    /// Whether the counts are consistent with it: neither its chance among the listed nor the exact
    /// test is below 0.05. Several may be; none may be.
    pub consistent: bool,
}

/// Both limits below which counts are not called consistent with a ratio (common practice).
const LEAST: f64 = 0.05;

/// Compares ratios, in the order given. `seed` is for tests that must draw.
///
/// # Errors
/// Fewer than two ratios, two that say the same, another number of counts than of parts, or no
/// plant.
pub fn compare(
    observed: &[u64],
    ratios: &[Ratio],
    seed: u64,
) -> Result<Vec<Hypothesis>, GeneticsError> {
    if ratios.len() < 2 {
        return Err(GeneticsError::TooFew("two ratios"));
    }
    let shares: Vec<Vec<f64>> = ratios.iter().map(Ratio::shares).collect();
    for (i, one) in shares.iter().enumerate() {
        let alike = |other: &Vec<f64>| {
            one.len() == other.len() && one.iter().zip(other).all(|(a, b)| (a - b).abs() < 1e-12)
        };
        if let Some(j) = shares[..i].iter().position(alike) {
            return Err(GeneticsError::SameRatio(ratios[j].to_string(), ratios[i].to_string()));
        }
    }
    let mut logs = Vec::new();
    for (ratio, shares) in ratios.iter().zip(&shares) {
        ratio.plants(observed)?;
        // The multinomial coefficient is the same for all.
        logs.push(observed.iter().zip(shares).map(|(k, s)| *k as f64 * s.ln()).sum::<f64>());
    }
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let whole: f64 = logs.iter().map(|l| (l - top).exp()).sum();
    ratios
        .iter()
        .zip(logs)
        .map(|(ratio, log)| {
            let posterior = (log - top).exp() / whole;
            let exact = exact(observed, ratio, seed)?;
            let consistent = posterior >= LEAST && exact.p >= LEAST;
            Ok(Hypothesis { ratio: ratio.to_string(), posterior, exact, consistent })
        })
        .collect()
}
