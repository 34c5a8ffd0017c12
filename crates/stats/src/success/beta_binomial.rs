//! Batches whose rates differ as a beta distribution: the beta-binomial.

use serde::Serialize;

use super::Batch;
use crate::optimise::{OptimiseError, Stop, covariance, curvature, minimise, norm};

/// A fitted beta-binomial.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BetaBinomial {
    /// First parameter of the beta distribution; none where the batches differ no more than chance.
    pub alpha: Option<f64>,
    /// Second parameter.
    pub beta: Option<f64>,
    /// Mean rate \[0 to 1\].
    pub mean: f64,
    /// Standard error of the logarithm of the odds of the mean.
    pub mean_logit_se: f64,
    /// Correlation within a batch, 1/(alpha + beta + 1) \[0 to 1\].
    pub rho: f64,
    /// Standard error of `rho`; none at the boundary.
    pub rho_se: Option<f64>,
    /// Whether `rho` is at its boundary, 0.
    pub boundary: bool,
    /// Log-likelihood, with the binomial coefficients.
    pub log_likelihood: f64,
    /// Norm of the gradient at the optimum.
    pub gradient_norm: f64,
    /// Steps taken.
    pub iterations: usize,
}

/// Why there is no fit.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BetaBinomialError {
    /// More successes than trials.
    #[error("row {row}: {successes} successes in {trials} trials; there cannot be more")]
    TooMany {
        /// Which row, from 1.
        row: usize,
        /// Successes.
        successes: u64,
        /// Trials.
        trials: u64,
    },
    /// All failed, or all succeeded: the likelihood rises to the edge.
    #[error(
        "all {trials} trials {}, so the rate has no finite estimate; use an interval of the \
         proportion instead",
        if *.succeeded { "succeeded" } else { "failed" }
    )]
    AllAlike {
        /// Trials in all.
        trials: u64,
        /// Whether they succeeded.
        succeeded: bool,
    },
    /// No batch has two trials.
    #[error(
        "no batch has more than one trial, so how alike a batch is cannot be told; join batches"
    )]
    Singles,
    /// No optimum.
    #[error(transparent)]
    Optimum(#[from] OptimiseError),
}

/// Log-likelihood and its derivatives in the mean `p` and in `g = rho/(1 − rho)`.
///
/// The probability of k of n is C(n,k) Π(p + jg) Π(1 − p + jg) / Π(1 + jg), with j from 0 to one
/// below k, n − k and n. At g = 0 it is the binomial, so that the boundary is an ordinary place.
fn log_likelihood(batches: &[Batch], p: f64, g: f64) -> (f64, f64, f64) {
    let (mut value, mut by_p, mut by_g) = (0.0, 0.0, 0.0);
    let mut factors = |count: u64, of: f64, sign: f64, by_of: f64| {
        for j in 0..count {
            let j = j as f64;
            let factor = of + j * g;
            value += sign * factor.ln();
            by_p += sign * by_of / factor;
            by_g += sign * j / factor;
        }
    };
    for b in batches {
        factors(b.successes, p, 1.0, 1.0);
        factors(b.trials - b.successes, 1.0 - p, 1.0, -1.0);
        factors(b.trials, 1.0, -1.0, 0.0);
    }
    (value, by_p, by_g)
}

/// Fits by maximum likelihood.
///
/// # Errors
/// Impossible counts, batches all alike, or an optimum that is not reached.
pub fn beta_binomial(batches: &[Batch]) -> Result<BetaBinomial, BetaBinomialError> {
    for (i, b) in batches.iter().enumerate() {
        if b.successes > b.trials {
            let (successes, trials) = (b.successes, b.trials);
            return Err(BetaBinomialError::TooMany { row: i + 1, successes, trials });
        }
    }
    let successes: u64 = batches.iter().map(|b| b.successes).sum();
    let trials: u64 = batches.iter().map(|b| b.trials).sum();
    if successes == 0 || successes == trials {
        return Err(BetaBinomialError::AllAlike { trials, succeeded: successes > 0 });
    }
    if batches.iter().all(|b| b.trials < 2) {
        return Err(BetaBinomialError::Singles);
    }
    let coefficients: f64 = batches.iter().map(|b| ln_choose(b.trials, b.successes)).sum();
    let pooled = successes as f64 / trials as f64;
    let flat = log_likelihood(batches, pooled, 0.0);
    if flat.2 <= 0.0 {
        let information = trials as f64 * pooled * (1.0 - pooled);
        return Ok(BetaBinomial {
            alpha: None,
            beta: None,
            mean: pooled,
            mean_logit_se: 1.0 / information.sqrt(),
            rho: 0.0,
            rho_se: None,
            boundary: true,
            log_likelihood: flat.0 + coefficients,
            gradient_norm: flat.1.abs() * pooled * (1.0 - pooled),
            iterations: 0,
        });
    }
    inside(batches, pooled, coefficients)
}

/// The optimum with rho above 0, in the log odds of the mean and the logarithm of g.
fn inside(
    batches: &[Batch],
    pooled: f64,
    coefficients: f64,
) -> Result<BetaBinomial, BetaBinomialError> {
    let share = |eta: f64| 1.0 / (1.0 + (-eta).exp());
    let mut objective = |at: &[f64], gradient: &mut [f64]| {
        let (p, g) = (share(at[0]), at[1].exp());
        let (value, by_p, by_g) = log_likelihood(batches, p, g);
        gradient[0] = -by_p * p * (1.0 - p);
        gradient[1] = -by_g * g;
        -value
    };
    let start = [(pooled / (1.0 - pooled)).ln(), (0.1_f64 / 0.9).ln()];
    let found = minimise(&mut objective, &start, None, Stop::default())?;
    let information = curvature(&mut objective, &found.at, &[0.5, 0.5], None);
    let covariance = covariance(&information, 2)?;
    let (mean, g) = (share(found.at[0]), found.at[1].exp());
    let rho = g / (1.0 + g);
    Ok(BetaBinomial {
        alpha: Some(mean / g),
        beta: Some((1.0 - mean) / g),
        mean,
        mean_logit_se: covariance[0].sqrt(),
        rho,
        // d rho / d ln g = rho (1 − rho).
        rho_se: Some(rho * (1.0 - rho) * covariance[3].sqrt()),
        boundary: false,
        log_likelihood: coefficients - found.value,
        gradient_norm: norm(&found.gradient),
        iterations: found.iterations,
    })
}

impl BetaBinomial {
    /// The rate of a batch, drawn towards the mean by what the others were: the mean of its
    /// posterior under the fitted beta distribution.
    pub fn shrunk(&self, batch: Batch) -> f64 {
        match (self.alpha, self.beta) {
            (Some(a), Some(b)) => (a + batch.successes as f64) / (a + b + batch.trials as f64),
            _ => self.mean,
        }
    }
}

/// Logarithm of the binomial coefficient.
pub(crate) fn ln_choose(n: u64, k: u64) -> f64 {
    let ln_factorial = |n: u64| puruspe::ln_gamma(n as f64 + 1.0);
    ln_factorial(n) - ln_factorial(k) - ln_factorial(n - k)
}
