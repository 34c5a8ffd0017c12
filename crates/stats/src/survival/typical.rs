//! The typical time (median) of a small sample, with an interval.

use serde::Serialize;

use super::curve::Curve;
use super::km::{Interval, KaplanMeier};
use super::time::{SurvivalError, Time, check_all, check_confidence};
use super::turnbull::Turnbull;
use crate::random::Random;

/// How a typical time was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Method {
    /// Every event was seen exactly or is still to come.
    KaplanMeier,
    /// Some events lie between two looks.
    Turnbull,
}

/// The median time to event and where it lies.
#[derive(Debug, Clone, PartialEq)]
pub struct Typical {
    /// Number of records.
    pub n: usize,
    /// Number of events among them.
    pub events: usize,
    /// The median; `None` when fewer than half have had the event. Within an interval between two
    /// looks, on the straight line through it.
    pub median: Option<f64>,
    /// Lower limit; `None` when the records cannot tell.
    pub lower: Option<f64>,
    /// Upper limit; `None` when the records do not reach so far ("at least").
    pub upper: Option<f64>,
    /// The confidence of the limits.
    pub confidence: f64,
    /// How it was found.
    pub method: Method,
    /// The curve, for the chance of the next event and for drawing.
    pub curve: Curve,
}

/// Samples drawn for the interval of a Turnbull median.
const RESAMPLES: usize = 400;

/// The median time with an interval of the given confidence (0.8 in answers).
///
/// With exact and open times: Kaplan–Meier, the limits where the log–log band crosses one half.
/// With events between two looks: Turnbull; the limits are quantiles over samples drawn from the
/// records with replacement. Each sample contributes both ends of the interval in which its median
/// must lie, so that the limits never claim more than the looks can tell: with weekly looks, seven
/// flowers that all ended in one week give that week and not a point in it. The same `seed` gives
/// the same limits.
///
/// # Errors
/// No records, impossible times, delayed entry together with intervals, a confidence outside
/// (0, 1), or a curve that did not settle.
pub fn typical(times: &[Time], confidence: f64, seed: u64) -> Result<Typical, SurvivalError> {
    check_all(times)?;
    check_confidence(confidence)?;
    if times.iter().all(|t| t.is_exact() || t.is_open()) {
        let km = KaplanMeier::fit(times, confidence, Interval::LogLog)?;
        let q = km.quantile(0.5);
        return Ok(Typical {
            n: km.n,
            events: km.events,
            median: q.estimate,
            lower: q.lower,
            upper: q.upper,
            confidence,
            method: Method::KaplanMeier,
            curve: km.curve(),
        });
    }
    let fit = Turnbull::fit(times)?;
    let curve = fit.curve();
    let (lower, upper) = resampled_limits(times, confidence, seed)?;
    Ok(Typical {
        n: fit.n,
        events: fit.events,
        median: curve.quantile_value(0.5),
        lower: Some(lower),
        upper: upper.is_finite().then_some(upper),
        confidence,
        method: Method::Turnbull,
        curve,
    })
}

fn resampled_limits(
    times: &[Time],
    confidence: f64,
    seed: u64,
) -> Result<(f64, f64), SurvivalError> {
    let mut random = Random::new(seed);
    let (mut lefts, mut rights) = (Vec::new(), Vec::new());
    let mut sample = times.to_vec();
    for _ in 0..RESAMPLES {
        for slot in &mut sample {
            *slot = times[random.below(times.len())];
        }
        // The median needs the curve to a thousandth or so, not to nine digits.
        let (left, right) = Turnbull::fit_to(&sample, 1e-4, 20_000)?.curve().quantile(0.5);
        lefts.push(left);
        rights.push(right.unwrap_or(f64::INFINITY));
    }
    let tail = 0.5 * (1.0 - confidence);
    Ok((order_statistic(lefts, tail), order_statistic(rights, 1.0 - tail)))
}

fn order_statistic(mut values: Vec<f64>, p: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    let last = values.len() - 1;
    values[((p * last as f64).round() as usize).min(last)]
}
