//! How many to take for at least so many successes, and how many successes to expect.

use serde::Serialize;

use super::beta_binomial::ln_choose;

/// What is known of the rate of one trial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RateKnown {
    /// The share itself \[between 0 and 1\].
    Share(f64),
    /// A beta distribution: of a rate that is only estimated, of batches whose rates differ, or both.
    Beta {
        /// First parameter \[above 0\].
        alpha: f64,
        /// Second parameter \[above 0\].
        beta: f64,
    },
}

/// Why there is no count.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CountError {
    /// A share that is none.
    #[error("{0} is not a share; expected a number between 0 and 1")]
    Share(f64),
    /// More successes than trials.
    #[error("{successes} successes in {trials} trials; there cannot be more")]
    TooMany {
        /// Successes.
        successes: u64,
        /// Trials.
        trials: u64,
    },
    /// A correlation that is none.
    #[error("a correlation of {0} within a batch; expected a number from 0 to below 1")]
    Correlation(f64),
    /// More than anybody could raise.
    #[error(
        "more than {limit} would be needed for at least {at_least} with a chance of {confidence}; \
         ask for fewer or for a smaller chance"
    )]
    OutOfReach {
        /// The largest number tried.
        limit: u64,
        /// Wanted successes.
        at_least: u64,
        /// Wanted chance.
        confidence: f64,
    },
}

/// The largest number that is tried.
pub const MOST: u64 = 10_000_000;

impl RateKnown {
    /// A known share.
    ///
    /// # Errors
    /// A share that is not between 0 and 1.
    pub fn share(p: f64) -> Result<Self, CountError> {
        if p > 0.0 && p < 1.0 { Ok(Self::Share(p)) } else { Err(CountError::Share(p)) }
    }

    /// A share that was estimated from earlier trials, every share being held equally likely
    /// before them (a flat prior).
    ///
    /// # Errors
    /// More successes than trials.
    pub fn estimated(successes: u64, trials: u64) -> Result<Self, CountError> {
        if successes > trials {
            return Err(CountError::TooMany { successes, trials });
        }
        Ok(Self::Beta { alpha: 1.0 + successes as f64, beta: 1.0 + (trials - successes) as f64 })
    }

    /// The same when trials of one batch succeed or fail together, with correlation `rho` within
    /// the batch. The variance of the rate is that of its uncertainty and that between batches, as
    /// a beta distribution of the same mean.
    ///
    /// # Errors
    /// A correlation that is not from 0 to below 1.
    pub fn in_one_batch(self, rho: f64) -> Result<Self, CountError> {
        if !(0.0..1.0).contains(&rho) {
            return Err(CountError::Correlation(rho));
        }
        let (mean, own) = match self {
            Self::Share(p) => (p, 0.0),
            Self::Beta { alpha, beta } => (alpha / (alpha + beta), 1.0 / (alpha + beta + 1.0)),
        };
        // Shares of the variance m(1 − m): of the rate's mean, and of the batch around it.
        let both = own + (1.0 - own) * rho;
        if both == 0.0 {
            return Ok(self);
        }
        let size = 1.0 / both - 1.0;
        Ok(Self::Beta { alpha: mean * size, beta: (1.0 - mean) * size })
    }

    /// The mean rate.
    pub fn mean(self) -> f64 {
        match self {
            Self::Share(p) => p,
            Self::Beta { alpha, beta } => alpha / (alpha + beta),
        }
    }

    /// Chance of exactly `k` of `n`.
    pub fn chance(self, k: u64, n: u64) -> f64 {
        if k > n {
            return 0.0;
        }
        let (kf, rest) = (k as f64, (n - k) as f64);
        match self {
            Self::Share(p) => (ln_choose(n, k) + kf * p.ln() + rest * (-p).ln_1p()).exp(),
            Self::Beta { alpha, beta } => {
                let ln_beta = |a: f64, b: f64| {
                    puruspe::ln_gamma(a) + puruspe::ln_gamma(b) - puruspe::ln_gamma(a + b)
                };
                (ln_choose(n, k) + ln_beta(kf + alpha, rest + beta) - ln_beta(alpha, beta)).exp()
            }
        }
    }

    /// Chance of at least `k` of `n`.
    pub fn at_least(self, k: u64, n: u64) -> f64 {
        if k == 0 {
            return 1.0;
        }
        if k > n {
            return 0.0;
        }
        match self {
            Self::Share(p) => crate::special::beta_cdf(p, k as f64, (n - k + 1) as f64),
            // From the side with fewer terms.
            Self::Beta { .. } if k <= n / 2 => 1.0 - (0..k).map(|j| self.chance(j, n)).sum::<f64>(),
            Self::Beta { .. } => (k..=n).map(|j| self.chance(j, n)).sum(),
        }
    }
}

/// How many are needed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Needed {
    /// The smallest whole number that reaches the chance.
    pub n: u64,
    /// The real number at which the chance is reached exactly; for at least one success of a known
    /// share only.
    pub exact: Option<f64>,
}

/// The smallest number of trials with at least `at_least` successes with this chance
/// (Sedcole 1977, Crop Sci. 17:667; for one success Mather 1951: n = ln(1 − P)/ln(1 − p); from
/// memory).
///
/// # Errors
/// A chance that is none, or a number beyond [`MOST`].
pub fn needed(rate: RateKnown, at_least: u64, confidence: f64) -> Result<Needed, CountError> {
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(CountError::Share(confidence));
    }
    let exact = match rate {
        RateKnown::Share(p) if at_least == 1 => Some((-confidence).ln_1p() / (-p).ln_1p()),
        _ => None,
    };
    // Rounding must not ask for one more where the chance is met exactly (p = 1/2, P = 3/4).
    let reached = |n: u64| rate.at_least(at_least, n) >= confidence - 1e-12;
    let mut high = at_least.max(1);
    while !reached(high) {
        high *= 2;
        if high > MOST {
            return Err(CountError::OutOfReach { limit: MOST, at_least, confidence });
        }
    }
    let mut low = at_least.saturating_sub(1).max(high / 2).min(high - 1);
    if reached(low) && low >= at_least {
        low = at_least.saturating_sub(1);
    }
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if reached(middle) { high = middle } else { low = middle }
    }
    Ok(Needed { n: high, exact })
}

/// The count of the coming trials.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ExpectedCount {
    /// The mean.
    pub mean: f64,
    /// At most half of what the interval leaves out lies below this count.
    pub lower: u64,
    /// And above this one.
    pub upper: u64,
}

/// How many of `trials` succeed, with an interval that holds at least `confidence`.
///
/// # Errors
/// A confidence that is none.
pub fn expected_count(
    rate: RateKnown,
    trials: u64,
    confidence: f64,
) -> Result<ExpectedCount, CountError> {
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(CountError::Share(confidence));
    }
    let tail = 0.5 * (1.0 - confidence);
    let (mut lower, mut below) = (0, 0.0);
    while lower < trials {
        below += rate.chance(lower, trials);
        if below > tail {
            break;
        }
        lower += 1;
    }
    let (mut upper, mut above) = (trials, 0.0);
    while upper > lower {
        above += rate.chance(upper, trials);
        if above > tail {
            break;
        }
        upper -= 1;
    }
    Ok(ExpectedCount { mean: rate.mean() * trials as f64, lower, upper })
}
