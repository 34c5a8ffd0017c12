//! Intervals for one proportion.

use serde::Serialize;

use crate::special::{beta_quantile, two_sided};

/// A proportion of successes with three intervals, each `[lower, upper]` \[0 to 1\].
///
/// Definitions as in Brown, Cai & DasGupta 2001 (Stat. Sci. 16:101–133).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Proportion {
    /// Successes divided by trials.
    pub estimate: f64,
    /// Clopper–Pearson: covers at least as often as it says, at the price of width.
    pub clopper_pearson: [f64; 2],
    /// Wilson's score interval, without continuity correction.
    pub wilson: [f64; 2],
    /// Jeffreys' equal-tailed interval from Beta(k + ½, n − k + ½), set to end at 0 for no
    /// success and at 1 for no failure.
    pub jeffreys: [f64; 2],
}

/// Why a proportion cannot be given.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum ProportionError {
    /// No trials at all.
    #[error("0 trials: a proportion needs at least one; record a trial first")]
    NoTrials,
    /// More successes than trials.
    #[error("{successes} successes in {trials} trials: there cannot be more successes than trials")]
    TooManySuccesses {
        /// Successes given.
        successes: u64,
        /// Trials given.
        trials: u64,
    },
    /// The confidence is not strictly between 0 and 1.
    #[error("confidence {0}: expected a number between 0 and 1, such as 0.95")]
    Confidence(f64),
}

/// The share of successes among `trials`, with intervals of the given confidence.
///
/// # Errors
/// No trials, more successes than trials, or a confidence outside (0, 1).
pub fn proportion(
    successes: u64,
    trials: u64,
    confidence: f64,
) -> Result<Proportion, ProportionError> {
    if trials == 0 {
        return Err(ProportionError::NoTrials);
    }
    if successes > trials {
        return Err(ProportionError::TooManySuccesses { successes, trials });
    }
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(ProportionError::Confidence(confidence));
    }
    let (k, n) = (successes as f64, trials as f64);
    Ok(Proportion {
        estimate: k / n,
        clopper_pearson: clopper_pearson(k, n, confidence),
        wilson: wilson(k, n, two_sided(confidence)),
        jeffreys: jeffreys(k, n, confidence),
    })
}

fn clopper_pearson(k: f64, n: f64, confidence: f64) -> [f64; 2] {
    let tail = 0.5 * (1.0 - confidence);
    let lower = if k == 0.0 { 0.0 } else { beta_quantile(tail, k, n - k + 1.0) };
    let upper = if k == n { 1.0 } else { beta_quantile(1.0 - tail, k + 1.0, n - k) };
    [lower, upper]
}

fn wilson(k: f64, n: f64, z: f64) -> [f64; 2] {
    let p = k / n;
    let centre = (p + z * z / (2.0 * n)) / (1.0 + z * z / n);
    let half = z / (1.0 + z * z / n) * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
    [(centre - half).max(0.0), (centre + half).min(1.0)]
}

fn jeffreys(k: f64, n: f64, confidence: f64) -> [f64; 2] {
    let tail = 0.5 * (1.0 - confidence);
    let (a, b) = (k + 0.5, n - k + 0.5);
    let lower = if k == 0.0 { 0.0 } else { beta_quantile(tail, a, b) };
    let upper = if k == n { 1.0 } else { beta_quantile(1.0 - tail, a, b) };
    [lower, upper]
}
