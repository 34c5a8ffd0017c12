//! Batches: so many successes in so many trials, with the logarithm of the odds as the predictor.

use crate::laplace::{Derivatives, Rows};

/// A batch of trials.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Batch {
    /// How many succeeded.
    pub successes: u64,
    /// How many there were.
    pub trials: u64,
}

/// Binomial log-likelihoods, with the binomial coefficients.
#[derive(Debug, Clone)]
pub struct Binomial {
    /// Successes, trials and the logarithm of the coefficient.
    rows: Vec<(f64, f64, f64)>,
}

impl Binomial {
    /// Takes the batches; those without trials say nothing.
    pub fn new(batches: &[Batch]) -> Self {
        let row = |b: &Batch| {
            let (k, n) = (b.successes as f64, b.trials as f64);
            let log = puruspe::ln_gamma(n + 1.0)
                - puruspe::ln_gamma(k + 1.0)
                - puruspe::ln_gamma(n - k + 1.0);
            (k, n, log)
        };
        Binomial { rows: batches.iter().map(row).collect() }
    }
}

impl Rows for Binomial {
    fn rows(&self) -> usize {
        self.rows.len()
    }

    fn derivatives(&self, row: usize, eta: f64) -> Derivatives {
        let (k, n, log) = self.rows[row];
        // Of e^η and e^−η the one that cannot overflow.
        let small = (-eta.abs()).exp();
        let total = 1.0 + small;
        let p = if eta > 0.0 { 1.0 / total } else { small / total };
        let variance = n * small / (total * total);
        Derivatives {
            value: k * eta - n * (eta.max(0.0) + small.ln_1p()) + log,
            first: k - n * p,
            second: -variance,
            third: -variance * (1.0 - 2.0 * p),
        }
    }
}
