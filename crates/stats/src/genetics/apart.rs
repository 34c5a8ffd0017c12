//! How many seedlings tell two ratios apart.

use serde::Serialize;

use super::{GeneticsError, Ratio};
use crate::special::beta_cdf;

/// The largest family that is tried.
pub const LARGEST_FAMILY: u64 = 100_000;

/// A family large enough to tell two ratios apart.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Apart {
    /// The smallest family.
    pub n: u64,
    /// From this many of the second class on, the ratio with the larger share of it is taken.
    pub from: u64,
    /// Chance of taking the larger share where the smaller holds \[0 to 1\].
    pub wrong_if_smaller: f64,
    /// Chance of taking the smaller share where the larger holds \[0 to 1\].
    pub wrong_if_larger: f64,
}

/// The smallest family in which a limit on the count of the second class errs with a chance of at
/// most `error` whichever of two ratios of two classes holds (the question of Mather 1951, "The
/// Measurement of Linkage in Heredity", from memory; solved here with exact binomial chances). A
/// few larger families may err a little more, since counts are whole.
///
/// # Errors
/// Ratios of more than two classes, two that say the same, a chance of error that is none, or more
/// than [`LARGEST_FAMILY`] seedlings.
pub fn tell_apart(first: &Ratio, second: &Ratio, error: f64) -> Result<Apart, GeneticsError> {
    if !(error > 0.0 && error < 0.5) {
        return Err(GeneticsError::Error(error));
    }
    let share = |ratio: &Ratio| match ratio.shares().as_slice() {
        [_, share] => Ok(*share),
        more => Err(GeneticsError::Parts { counts: 2, parts: more.len() }),
    };
    let (one, other) = (share(first)?, share(second)?);
    if (one - other).abs() < 1e-12 {
        return Err(GeneticsError::SameRatio(first.to_string(), second.to_string()));
    }
    let (small, large) = (one.min(other), one.max(other));
    // Chance of at least k of n.
    let at_least = |k: u64, n: u64, share: f64| match k {
        0 => 1.0,
        k if k > n => 0.0,
        k => beta_cdf(share, k as f64, (n - k + 1) as f64),
    };
    let mut from = 0;
    for n in 1..=LARGEST_FAMILY {
        // The lowest limit that keeps the first error never falls as the family grows.
        while at_least(from, n, small) > error {
            from += 1;
        }
        let wrong_if_larger = 1.0 - at_least(from, n, large);
        if wrong_if_larger <= error {
            let wrong_if_smaller = at_least(from, n, small);
            return Ok(Apart { n, from, wrong_if_smaller, wrong_if_larger });
        }
    }
    Err(GeneticsError::TooAlike {
        first: first.to_string(),
        second: second.to_string(),
        limit: LARGEST_FAMILY,
    })
}
