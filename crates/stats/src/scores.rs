//! How well predictions came true: scores of whole distributions, reliability of chances, and
//! whether a chance means what it says.

use serde::Serialize;

use crate::success::{Proportion, ProportionError, proportion};

/// Why a score cannot be given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ScoreError {
    /// Nothing to judge.
    #[error("no predictions: record what was predicted and what happened first")]
    Empty,
    /// A distribution that is none.
    #[error("point {place} of the distribution is {value}: {expected}")]
    Distribution {
        /// Which point, from 1.
        place: usize,
        /// Its value.
        value: f64,
        /// What was expected there.
        expected: &'static str,
    },
    /// An outcome that cannot be.
    #[error("the outcome lies after {after} and by {by}: no number does")]
    Outcome {
        /// After this.
        after: f64,
        /// By this.
        by: f64,
    },
    /// A chance outside of 0 to 1.
    #[error("chance {place} is {value}: expected a number from 0 to 1")]
    Chance {
        /// Which, from 1.
        place: usize,
        /// Its value.
        value: f64,
    },
    /// Outcomes from which no slope can be told.
    #[error(
        "{happened} of {count} happened and the chances order them without fault, or do not \
             differ: a slope needs more predictions"
    )]
    NoSlope {
        /// How many happened.
        happened: usize,
        /// How many there are.
        count: usize,
    },
    /// Of an interval for a share.
    #[error(transparent)]
    Proportion(#[from] ProportionError),
}

/// What happened, as far as it is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub enum Outcome {
    /// At this value.
    Exact(f64),
    /// After the first and by the second; either may be infinite.
    Between(f64, f64),
}

impl Outcome {
    /// Up to where it had surely not happened, and from where on it surely had.
    fn limits(self) -> Result<(f64, f64), ScoreError> {
        let (after, by) = match self {
            Outcome::Exact(y) => (y, y),
            Outcome::Between(after, by) => (after, by),
        };
        let possible = after <= by && after < f64::INFINITY && by > f64::NEG_INFINITY;
        if possible { Ok((after, by)) } else { Err(ScoreError::Outcome { after, by }) }
    }
}

/// Continuous ranked probability score of a normal distribution \[unit of `y`\]: 0 is perfect,
/// large is bad (Gneiting & Raftery 2007, J. Am. Stat. Assoc. 102:359–378, equation 21; from memory).
/// `sd` is above 0.
pub fn crps_normal(mean: f64, sd: f64, y: f64) -> f64 {
    let z = (y - mean) / sd;
    let density = (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt();
    let below = 0.5 * libm::erfc(-z / std::f64::consts::SQRT_2);
    sd * (z * (2.0 * below - 1.0) + 2.0 * density - 1.0 / std::f64::consts::PI.sqrt())
}

/// Continuous ranked probability score of a sample that stands for a distribution:
/// E|X − y| − ½E|X − X′|.
///
/// # Errors
/// An empty sample, or a member that is not a finite number.
pub fn crps_sample(sample: &[f64], y: f64) -> Result<f64, ScoreError> {
    if sample.is_empty() {
        return Err(ScoreError::Empty);
    }
    if let Some(k) = sample.iter().position(|x| !x.is_finite()) {
        let expected = "expected a finite number";
        return Err(ScoreError::Distribution { place: k + 1, value: sample[k], expected });
    }
    let mut sorted = sample.to_vec();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len() as f64;
    // Σ over pairs of |x − x′| is twice Σ (2k − n + 1)·x(k), k from 0.
    let (mut away, mut apart) = (0.0, 0.0);
    for (k, x) in sorted.iter().enumerate() {
        away += (x - y).abs();
        apart += (2.0 * k as f64 - n + 1.0) * x;
    }
    Ok(away / n - apart / (n * n))
}

/// A distribution by its values at points, straight between them. What lies below the first value
/// sits at the first point, what lies above the last at the last.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Grid {
    points: Vec<f64>,
    below: Vec<f64>,
}

impl Grid {
    /// Points in rising order, and the chance of a value up to each \[0 to 1, not falling\].
    ///
    /// # Errors
    /// No points, points out of order, or chances that fall or leave 0 to 1.
    pub fn new(points: Vec<f64>, below: Vec<f64>) -> Result<Self, ScoreError> {
        if points.is_empty() || points.len() != below.len() {
            return Err(ScoreError::Empty);
        }
        let wrong = |place: usize, value: f64, expected| {
            Err(ScoreError::Distribution { place: place + 1, value, expected })
        };
        for k in 0..points.len() {
            if !points[k].is_finite() || (k > 0 && points[k] <= points[k - 1]) {
                return wrong(k, points[k], "expected a finite number above the one before");
            }
            if !(0.0..=1.0).contains(&below[k]) || (k > 0 && below[k] < below[k - 1]) {
                return wrong(k, below[k], "expected a chance from 0 to 1 that does not fall");
            }
        }
        Ok(Grid { points, below })
    }

    /// The chance of a value up to `x`.
    pub fn up_to(&self, x: f64) -> f64 {
        let after = self.points.partition_point(|p| *p <= x);
        match after {
            0 => 0.0,
            k if k == self.points.len() => 1.0,
            k => {
                let (from, to) = (self.points[k - 1], self.points[k]);
                let share = (x - from) / (to - from);
                self.below[k - 1] + share * (self.below[k] - self.below[k - 1])
            }
        }
    }

    /// Continuous ranked probability score \[unit of the points\]: ∫(F(x) − \[y ≤ x\])² dx. Of an
    /// outcome between two values only the part outside of them counts, where it is known whether it
    /// had happened; this stays proper as long as the looks do not depend on the prediction.
    ///
    /// # Errors
    /// An outcome whose limits are in the wrong order.
    pub fn crps(&self, outcome: Outcome) -> Result<f64, ScoreError> {
        let (after, by) = outcome.limits()?;
        let (first, last) = (self.points[0], self.points[self.points.len() - 1]);
        // Below the first point F is 0, above the last 1: only an outcome out there costs.
        let mut sum = (first - by).max(0.0) + (after - last).max(0.0);
        for k in 1..self.points.len() {
            let (from, to) = (self.points[k - 1], self.points[k]);
            sum += self.piece(from, to.min(after), 0.0) + self.piece(from.max(by), to, 1.0);
        }
        Ok(sum)
    }

    /// ∫(F − c)² over a part of one straight piece.
    fn piece(&self, from: f64, to: f64, c: f64) -> f64 {
        if to <= from {
            return 0.0;
        }
        // The value at the upper end is that of this piece, not of a jump at its end.
        let k = self.points.partition_point(|p| *p <= from).clamp(1, self.points.len() - 1);
        let width = self.points[k] - self.points[k - 1];
        let at = |x: f64| {
            let share = (x - self.points[k - 1]) / width;
            self.below[k - 1] + share * (self.below[k] - self.below[k - 1]) - c
        };
        let (a, b) = (at(from), at(to));
        (to - from) * (a * a + a * b + b * b) / 3.0
    }
}

/// Predictions of like chance, and what came of them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Bin {
    /// Chances from here …
    pub from: f64,
    /// … to here.
    pub to: f64,
    /// How many predictions.
    pub count: u64,
    /// Their mean chance.
    pub predicted: f64,
    /// How often it happened, with intervals.
    pub happened: Proportion,
}

/// Chances in bins of equal width, each with how often it happened; empty bins are left out.
///
/// # Errors
/// No predictions, a chance outside of 0 to 1, or a confidence outside of (0, 1).
pub fn reliability(
    predictions: &[(f64, bool)],
    bins: usize,
    confidence: f64,
) -> Result<Vec<Bin>, ScoreError> {
    check(predictions)?;
    let bins = bins.max(1);
    let mut sums = vec![(0u64, 0.0, 0u64); bins];
    for (chance, happened) in predictions {
        let sum = &mut sums[((chance * bins as f64) as usize).min(bins - 1)];
        *sum = (sum.0 + 1, sum.1 + chance, sum.2 + u64::from(*happened));
    }
    let edge = |k: usize| k as f64 / bins as f64;
    (sums.iter().enumerate())
        .filter(|(_, (count, ..))| *count > 0)
        .map(|(k, (count, chances, happened))| {
            Ok(Bin {
                from: edge(k),
                to: edge(k + 1),
                count: *count,
                predicted: chances / *count as f64,
                happened: proportion(*happened, *count, confidence)?,
            })
        })
        .collect()
}

/// Whether chances mean what they say: logit of how often it happens = intercept + slope · logit of
/// the chance. 0 and 1 are right; a slope below 1 means that the chances are too sure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Calibration {
    /// At a chance of one half.
    pub intercept: f64,
    /// Its standard error, as if the predictions were independent.
    pub intercept_se: f64,
    /// By which the logit of a chance has to be multiplied.
    pub slope: f64,
    /// Its standard error, as if the predictions were independent.
    pub slope_se: f64,
}

/// Chances nearer to 0 or 1 than this count as this far: a certainty that fails once would outweigh
/// all else.
const CERTAIN: f64 = 1e-4;

/// Logistic recalibration (Cox 1958, Biometrika 45:562–565; from memory) by Newton's method.
///
/// # Errors
/// No predictions, a chance outside of 0 to 1, or outcomes that all chances order without fault.
pub fn calibration(predictions: &[(f64, bool)]) -> Result<Calibration, ScoreError> {
    check(predictions)?;
    let logit = |p: f64| {
        let p = p.clamp(CERTAIN, 1.0 - CERTAIN);
        (p / (1.0 - p)).ln()
    };
    let rows: Vec<(f64, f64)> =
        predictions.iter().map(|(p, y)| (logit(*p), f64::from(u8::from(*y)))).collect();
    let happened = predictions.iter().filter(|p| p.1).count();
    let none = ScoreError::NoSlope { happened, count: rows.len() };
    let likelihood = |a: f64, b: f64| -> f64 {
        let each = |(x, y): &(f64, f64)| {
            let eta = a + b * x;
            y * eta - eta.max(0.0) - (-eta.abs()).exp().ln_1p()
        };
        rows.iter().map(each).sum()
    };
    let (mut a, mut b) = (0.0, 1.0);
    let mut now = likelihood(a, b);
    for _ in 0..60 {
        let (mut ga, mut gb) = (0.0, 0.0);
        let (mut waa, mut wab, mut wbb) = (0.0, 0.0, 0.0);
        for (x, y) in &rows {
            let p = 1.0 / (1.0 + (-a - b * x).exp());
            let w = p * (1.0 - p);
            (ga, gb) = (ga + y - p, gb + (y - p) * x);
            (waa, wab, wbb) = (waa + w, wab + w * x, wbb + w * x * x);
        }
        let determinant = waa * wbb - wab * wab;
        // Chances that are all the same, or outcomes that are told apart without fault.
        let told = determinant > 1e-10 * (waa * wbb).max(1e-10) && b.abs() < 50.0;
        if !told {
            return Err(none);
        }
        let (da, db) = ((wbb * ga - wab * gb) / determinant, (waa * gb - wab * ga) / determinant);
        if (ga * da + gb * db).abs() < 1e-12 {
            return Ok(Calibration {
                intercept: a,
                intercept_se: (wbb / determinant).sqrt(),
                slope: b,
                slope_se: (waa / determinant).sqrt(),
            });
        }
        let mut t = 1.0;
        while likelihood(a + t * da, b + t * db) < now - 1e-12 * now.abs() && t > 1e-6 {
            t *= 0.5;
        }
        (a, b) = (a + t * da, b + t * db);
        now = likelihood(a, b);
    }
    Err(none)
}

fn check(predictions: &[(f64, bool)]) -> Result<(), ScoreError> {
    if predictions.is_empty() {
        return Err(ScoreError::Empty);
    }
    match predictions.iter().position(|(p, _)| !(0.0..=1.0).contains(p)) {
        Some(k) => Err(ScoreError::Chance { place: k + 1, value: predictions[k].0 }),
        None => Ok(()),
    }
}
