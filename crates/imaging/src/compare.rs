//! Are two colours different, when each is known with an error?
//!
//! A distance is never negative, so two equal colours seem some way apart whenever there is error.
//! Hence two steps. Whether they differ is asked of the difference *vector* (Hotelling's T², which
//! has no such bias); how far they are apart is ΔE₀₀ with the bias taken off.

use serde::Serialize;

use crate::{
    difference::ciede2000,
    error::ColourError,
    lab::Lab,
    matrix::{
        Matrix3, Vector3, ZERO, add, cholesky, dot, inverse, minus, plus, product, times, trace,
    },
    random::Random,
    sample::ColourMean,
    tails::{chi_square_3_tail, f_tail},
    visible::DIFFERENT,
};

/// What is known about the scatter of a unit (a flower, or a photograph).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// Both samples scatter alike; estimated from both together. Needs five units in all.
    Pooled,
    /// Each sample scatters in its own way (degrees of freedom after Krishnamoorthy & Yu 2004,
    /// doi:10.1016/j.spl.2003.10.012). Needs four units at least in each.
    Unequal,
    /// The covariance of one unit is known beforehand, as when there are few photographs.
    Known(Matrix3),
}

impl Spread {
    /// A known error that is the same on each axis and independent between them.
    pub fn known_sd(sd: f64) -> Self {
        let v = sd * sd;
        Self::Known([[v, 0.0, 0.0], [0.0, v, 0.0], [0.0, 0.0, v]])
    }
}

/// What may be said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// The test says so, and it is large enough to matter.
    Different,
    /// The test says so, but it is too small to matter.
    TooSmall,
    /// The photographs do not show a difference; there may be one.
    NotShown,
}

/// Two colours beside each other.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Comparison {
    /// Second minus first: L*, a*, b*.
    pub difference: Vector3,
    /// Hotelling's T², or χ² with a known error.
    pub statistic: f64,
    /// Degrees of freedom of the scatter; `None` with a known error.
    pub degrees: Option<f64>,
    /// The chance of a statistic at least as great if the colours were equal.
    pub p: f64,
    /// ΔE₀₀ of the two means as they stand: too large on average.
    pub raw: f64,
    /// ΔE₀₀ with its bias taken off; 0 where error alone explains the whole distance.
    #[serde(rename = "dE00")]
    pub delta_e: f64,
    /// The ends of the interval around it.
    pub lower: f64,
    /// The ends of the interval around it.
    pub upper: f64,
    /// What may be said.
    pub verdict: Verdict,
}

/// How many pairs are simulated. The bias is then known to about 3 % of the scatter.
const DRAWS: usize = 1000;
/// Where the simulation starts, so that the same photographs always give the same answer.
const SEED: u64 = 0x00C0_1085;

/// Tests two mean colours, at a confidence from 0 to 1 (0.95 is usual).
///
/// # Errors
/// [`ColourError::BadShare`]; [`ColourError::TooFewPhotos`] when the scatter cannot be estimated from
/// so few; [`ColourError::FlatErrors`] when it is singular, as with copies of one photograph.
pub fn compare(
    one: &ColourMean,
    other: &ColourMean,
    spread: Spread,
    confidence: f64,
) -> Result<Comparison, ColourError> {
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(ColourError::BadShare { value: confidence });
    }
    let (error, degrees) = error_of_difference(one, other, spread)?;
    let difference = minus(other.lab.vector(), one.lab.vector());
    let Test { statistic, p, .. } = hotelling(difference, &error, degrees)?;

    let away = Away::new(one.lab, difference, &error, degrees)?;
    let raw = ciede2000(one.lab, other.lab);
    let delta_e = away.unbiased(raw);
    let tail = (1.0 - confidence) / 2.0;
    let (lower, upper) = (away.at_quantile(raw, 1.0 - tail), away.at_quantile(raw, tail));

    let verdict = if p >= 1.0 - confidence {
        Verdict::NotShown
    } else if delta_e > DIFFERENT.value {
        Verdict::Different
    } else {
        Verdict::TooSmall
    };
    Ok(Comparison { difference, statistic, degrees, p, raw, delta_e, lower, upper, verdict })
}

/// Only the test: whether two mean colours differ, without how far they are apart.
///
/// # Errors
/// As [`compare`].
pub fn test(one: &ColourMean, other: &ColourMean, spread: Spread) -> Result<Test, ColourError> {
    let (error, degrees) = error_of_difference(one, other, spread)?;
    hotelling(minus(other.lab.vector(), one.lab.vector()), &error, degrees)
}

/// A statistic and its tail.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Test {
    /// Hotelling's T², dᵀ·V⁻¹·d.
    pub statistic: f64,
    /// The degrees of freedom of the covariance; `None` when it is known.
    pub degrees: Option<f64>,
    /// The chance of one at least as great when the true difference is zero.
    pub p: f64,
}

/// Hotelling's test that a difference of three coordinates is zero, from the covariance of that
/// difference and the degrees of freedom of its estimate; `None` for a covariance that is known.
///
/// With ν degrees, T²·(ν − 2)/(3ν) is F with 3 and ν − 2 (Hotelling 1931); with a known covariance T²
/// is χ² with 3.
///
/// # Errors
/// [`ColourError::FlatErrors`] when the covariance is not positive definite;
/// [`ColourError::TooFewPhotos`] when ν is not above 2.
pub fn hotelling(
    difference: Vector3,
    error: &Matrix3,
    degrees: Option<f64>,
) -> Result<Test, ColourError> {
    cholesky(error).ok_or(ColourError::FlatErrors)?;
    let precision = inverse(error).ok_or(ColourError::FlatErrors)?;
    let statistic = dot(difference, times(&precision, difference));
    let p = match degrees {
        None => chi_square_3_tail(statistic),
        Some(v) if v > 2.0 => f_tail(statistic * (v - 2.0) / (3.0 * v), 3.0, v - 2.0),
        Some(_) => return Err(ColourError::TooFewPhotos { have: 4, need: 5 }),
    };
    Ok(Test { statistic, degrees, p })
}

/// The covariance of the difference of two means, with its degrees of freedom.
fn error_of_difference(
    one: &ColourMean,
    other: &ColourMean,
    spread: Spread,
) -> Result<(Matrix3, Option<f64>), ColourError> {
    let (n, m) = (one.units as f64, other.units as f64);
    match spread {
        Spread::Known(unit) => Ok((add(&ZERO, 1.0 / n + 1.0 / m, &unit), None)),
        Spread::Pooled => {
            let degrees = n + m - 2.0;
            if degrees < 3.0 {
                return Err(ColourError::TooFewPhotos { have: one.units + other.units, need: 5 });
            }
            // A single unit has no scatter and brings no degree of freedom.
            let squares = |c: &ColourMean, n: f64| add(&ZERO, n - 1.0, &c.scatter.unwrap_or(ZERO));
            let both = add(&squares(one, n), 1.0, &squares(other, m));
            Ok((add(&ZERO, (1.0 / n + 1.0 / m) / degrees, &both), Some(degrees)))
        }
        Spread::Unequal => {
            let fewest = one.units.min(other.units);
            if fewest < 4 {
                return Err(ColourError::TooFewPhotos { have: fewest, need: 4 });
            }
            let (a, b) = (one.error()?, other.error()?);
            let both = add(&a, 1.0, &b);
            let precision = inverse(&both).ok_or(ColourError::FlatErrors)?;
            let part = |error: &Matrix3, n: f64| {
                let share = product(error, &precision);
                (trace(&product(&share, &share)) + trace(&share).powi(2)) / (n - 1.0)
            };
            // (p + p²) over the two parts, p = 3.
            Ok((both, Some(12.0 / (part(&a, n) + part(&b, m)))))
        }
    }
}

/// Pairs of colours on the line through the two that were seen, with their errors: the parametric
/// simulation that tells how large a distance is seen when the true one is so and so.
struct Away {
    middle: Vector3,
    difference: Vector3,
    /// Errors of the difference.
    errors: Vec<Vector3>,
    /// By how much each is to be stretched for the uncertainty of the scatter itself.
    stretches: Vec<f64>,
}

impl Away {
    fn new(
        one: Lab,
        difference: Vector3,
        error: &Matrix3,
        degrees: Option<f64>,
    ) -> Result<Self, ColourError> {
        let factor = cholesky(error).ok_or(ColourError::FlatErrors)?;
        let mut random = Random::new(SEED);
        let (mut errors, mut stretches) = (Vec::with_capacity(DRAWS), Vec::with_capacity(DRAWS));
        for _ in 0..DRAWS / 2 {
            let draw = times(&factor, random.normals());
            let stretch = degrees.map_or(1.0, |v| (v / random.chi_square(v)).sqrt());
            // Each with its opposite: what is odd in the error then cancels exactly.
            errors.extend([draw, draw.map(|v| -v)]);
            stretches.extend([stretch; 2]);
        }
        Ok(Self { middle: plus(one.vector(), 0.5, difference), difference, errors, stretches })
    }

    /// ΔE₀₀ of two colours that are `share` of the seen difference apart, plus an error.
    fn seen(&self, share: f64, error: Vector3) -> f64 {
        let apart = plus(error, share, self.difference);
        let end = |side: f64| Lab::from_vector(plus(self.middle, side, apart));
        ciede2000(end(-0.5), end(0.5))
    }

    fn mean(&self, share: f64) -> f64 {
        self.errors.iter().map(|e| self.seen(share, *e)).sum::<f64>() / self.errors.len() as f64
    }

    /// A quantile of what is seen. Only its spread is stretched: stretched errors would also seem to
    /// have a larger bias, and push the interval down.
    fn quantile(&self, share: f64, at: f64) -> f64 {
        let mut seen: Vec<f64> = self.errors.iter().map(|e| self.seen(share, *e)).collect();
        let mean = seen.iter().sum::<f64>() / seen.len() as f64;
        for (value, stretch) in seen.iter_mut().zip(&self.stretches) {
            *value = mean + stretch * (*value - mean);
        }
        let rank = (at * (seen.len() - 1) as f64).round() as usize;
        let (_, value, _) = seen.select_nth_unstable_by(rank, f64::total_cmp);
        *value
    }

    /// The true distance at which the seen one is seen on average.
    fn unbiased(&self, raw: f64) -> f64 {
        self.reached(raw, |share| self.mean(share))
    }

    /// The true distance at which the seen one is this quantile of what is seen.
    fn at_quantile(&self, raw: f64, at: f64) -> f64 {
        self.reached(raw, |share| self.quantile(share, at))
    }

    /// The true distance at which `expected` of it comes to what was seen; 0 where already equal
    /// colours seem that far apart. Bisection to a ten-thousandth of the seen difference.
    fn reached(&self, raw: f64, expected: impl Fn(f64) -> f64) -> f64 {
        if raw <= expected(0.0) {
            return 0.0;
        }
        let mut high = 1.0;
        while expected(high) < raw && high < 64.0 {
            high *= 2.0;
        }
        let mut low = 0.0;
        for _ in 0..14 {
            let middle = 0.5 * (low + high);
            if expected(middle) < raw { low = middle } else { high = middle }
        }
        self.seen(0.5 * (low + high), [0.0; 3])
    }
}
