//! From a fit to what is asked: a rate, and the count of the next batch.

use serde::Serialize;

use super::{Logistic, ROW, SuccessError, logistic::Parts};
use crate::{laplace::NewRow, model::Frame, special::two_sided};

/// A rate with its interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Rate {
    /// The expected rate \[0 to 1\].
    pub estimate: f64,
    /// Lower end of the interval of the rate.
    pub lower: f64,
    /// Upper end.
    pub upper: f64,
    /// Mean of the log odds.
    pub log_odds: f64,
    /// Standard deviation of the log odds: of the estimate, and of levels that the fit has not seen.
    pub sd: f64,
    /// Standard deviation that the next batch adds (overdispersion).
    pub next_sd: f64,
}

/// How many of the next batch will succeed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct NextCount {
    /// Trials of the batch.
    pub trials: u64,
    /// Expected successes.
    pub expected: f64,
    /// At most half the share that is left out lies below this count.
    pub lower: u64,
    /// And above this.
    pub upper: u64,
    /// Probability of at least one.
    pub at_least_one: f64,
}

impl Logistic {
    /// Rates for rows that may have levels of random terms that the fit has not seen: their spread then
    /// widens the interval.
    ///
    /// The interval is normal on the scale of log odds, with the uncertainty of all parameters and of
    /// the levels' effects; the estimate is the mean over it.
    ///
    /// # Errors
    /// Columns that are missing, levels of fixed terms that the fit has not seen, or a confidence that
    /// is none.
    pub fn rates(&self, rows: &Frame, confidence: f64) -> Result<Vec<Rate>, SuccessError> {
        if !(confidence > 0.0 && confidence < 1.0) {
            return Err(SuccessError::Confidence(confidence));
        }
        let z = two_sided(confidence);
        let next_sd = self.spreads.iter().find(|s| s.group == ROW).map_or(0.0, |s| s.sd);
        let of = |row: NewRow| {
            let (parameters, covariance) = (&self.optimum.parameters, &self.optimum.covariance);
            let found =
                self.parts.marginal.predictor(parameters, covariance, &row.x, &row.random)?;
            let sd = (found.variance + found.unseen).sqrt();
            Ok(Rate {
                estimate: over_normal(found.mean, sd, share),
                lower: share(found.mean - z * sd),
                upper: share(found.mean + z * sd),
                log_odds: found.mean,
                sd,
                next_sd,
            })
        };
        self.parts.new_rows(rows)?.into_iter().map(of).collect()
    }
}

impl Parts {
    /// Rows to be predicted, in the columns of the fit. The effect of a row itself is left out: it is
    /// none of the usual rate.
    pub fn new_rows(&self, rows: &Frame) -> Result<Vec<NewRow>, SuccessError> {
        let fixed = self.fixed.for_rows(rows, &self.frame)?;
        let mut out: Vec<NewRow> = (0..rows.rows())
            .map(|i| NewRow {
                x: (0..fixed.width()).map(|j| fixed.column(j)[i]).collect(),
                random: Vec::new(),
            })
            .collect();
        for (term, spec) in self.random.iter().zip(&self.specs) {
            let Some(spec) = spec else {
                out.iter_mut().for_each(|row| row.random.push((Vec::new(), 0.0)));
                continue;
            };
            let known: std::collections::HashMap<&str, u32> =
                term.levels.iter().zip(0u32..).map(|(l, i)| (l.as_str(), i)).collect();
            let new = crate::model::RandomTerm::build(rows, spec)?;
            for (i, row) in out.iter_mut().enumerate() {
                let level = |l: &u32| known.get(new.levels[*l as usize].as_str()).copied();
                let number = new.slope.as_ref().map_or(0.0, |(_, x)| x[i]);
                row.random.push((new.of_row(i).iter().map(level).collect(), number));
            }
        }
        Ok(out)
    }
}

impl Rate {
    /// The count of the next batch: chance within the batch, and the uncertainty of its rate.
    ///
    /// # Errors
    /// A confidence that is none.
    pub fn next_count(&self, trials: u64, confidence: f64) -> Result<NextCount, SuccessError> {
        let sd = self.sd.hypot(self.next_sd);
        next_count(&[(self.log_odds, sd * sd, 1.0)], trials, confidence)
    }
}

/// The count of the next batch when the log odds are a mixture of normals (mean, variance, weight).
///
/// # Errors
/// A confidence that is none.
pub fn next_count(
    mixture: &[(f64, f64, f64)],
    trials: u64,
    confidence: f64,
) -> Result<NextCount, SuccessError> {
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(SuccessError::Confidence(confidence));
    }
    let n = trials as f64;
    let tail = 0.5 * (1.0 - confidence);
    let chance = |k: f64| -> f64 {
        let log = puruspe::ln_gamma(n + 1.0)
            - puruspe::ln_gamma(k + 1.0)
            - puruspe::ln_gamma(n - k + 1.0);
        let at = |eta: f64| (log + k * eta - n * (eta.max(0.0) + (-eta.abs()).exp().ln_1p())).exp();
        mixture.iter().map(|(m, v, w)| w * over_normal(*m, v.sqrt(), at)).sum()
    };
    let expected = n * mean_share(mixture);
    let none = chance(0.0);
    let (mut lower, mut below) = (0, none);
    while below <= tail && lower < trials {
        lower += 1;
        below += chance(lower as f64);
    }
    let (mut upper, mut above) = (trials, chance(n));
    while above <= tail && upper > lower {
        upper -= 1;
        above += chance(upper as f64);
    }
    Ok(NextCount { trials, expected, lower, upper, at_least_one: 1.0 - none })
}

/// The mean rate of a mixture of normals of log odds (mean, variance, weight).
pub(super) fn mean_share(mixture: &[(f64, f64, f64)]) -> f64 {
    mixture.iter().map(|(m, v, w)| w * over_normal(*m, v.sqrt(), share)).sum()
}

fn share(eta: f64) -> f64 {
    1.0 / (1.0 + (-eta).exp())
}

/// Expectation over a normal variable by a sum over a fine lattice, which for smooth functions is as
/// exact as it gets, and which a sharp likelihood does not slip through as it would between the nodes of
/// a quadrature rule.
fn over_normal(mean: f64, sd: f64, f: impl Fn(f64) -> f64) -> f64 {
    const HALF: i32 = 120;
    if sd == 0.0 {
        return f(mean);
    }
    let (mut sum, mut weights) = (0.0, 0.0);
    for i in -HALF..=HALF {
        let z = 6.0 * f64::from(i) / f64::from(HALF);
        let w = (-0.5 * z * z).exp();
        sum += w * f(mean + sd * z);
        weights += w;
    }
    sum / weights
}
