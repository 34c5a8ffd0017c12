//! Quantiles by reading a curve at a level.

use serde::Serialize;

/// A quantile of a time to event, with an interval; `None` where a curve is not reached.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Quantile {
    /// The share that has had the event.
    pub q: f64,
    /// The time.
    pub estimate: Option<f64>,
    /// Lower limit.
    pub lower: Option<f64>,
    /// Upper limit.
    pub upper: Option<f64>,
}

/// How close a step must be to the level to count as lying on it: the usual square root of the
/// machine precision.
const TOLERANCE: f64 = 1.5e-8;

/// The first time at which a falling step curve is at or below `level`; where it lies at exactly
/// that level, the middle between this step and the next (or the end of observation).
pub(crate) fn first_crossing(
    points: impl Iterator<Item = (f64, f64)>,
    last: f64,
    level: f64,
) -> Option<f64> {
    let mut points = points.skip_while(|&(_, value)| value > level + TOLERANCE);
    let (time, value) = points.next()?;
    if (value - level).abs() > TOLERANCE {
        return Some(time);
    }
    let next = points.find(|&(_, later)| later < value - TOLERANCE).map_or(last, |(t, _)| t);
    Some(0.5 * (time + next))
}
