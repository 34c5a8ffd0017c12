//! Kaplan–Meier: the survival curve from exact and still open times.

use serde::Serialize;

use super::curve::{Curve, Mass};
use super::quantile::{Quantile, first_crossing};
use super::time::{SurvivalError, Time, check_all, check_confidence};
use crate::special::two_sided;

/// The scale on which the interval around the curve is symmetric.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Interval {
    /// Of the survival itself, cut at 0 and 1.
    Plain,
    /// Of its logarithm, cut at 1.
    Log,
    /// Of the logarithm of minus its logarithm; stays between 0 and 1 and is the best for small
    /// samples (Borgan & Liestøl 1990, Scand. J. Statist. 17:35–41; from memory).
    #[default]
    LogLog,
}

impl Interval {
    /// The limits around a survival strictly between 0 and 1, from the standard error of its
    /// logarithm.
    pub(crate) fn limits(self, survival: f64, log_se: f64, z: f64) -> (f64, f64) {
        match self {
            Interval::Plain => {
                let half = z * log_se * survival;
                ((survival - half).max(0.0), (survival + half).min(1.0))
            }
            Interval::Log => {
                let half = (z * log_se).exp();
                (survival / half, (survival * half).min(1.0))
            }
            Interval::LogLog => {
                let log = survival.ln();
                let factor = (z * log_se / log).exp();
                ((log / factor).exp(), (log * factor).exp())
            }
        }
    }
}

/// The curve just after one event time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Step {
    /// The time.
    pub time: f64,
    /// How many were under observation and without the event just before.
    pub at_risk: usize,
    /// How many events at this time.
    pub events: usize,
    /// Probability of no event up to and including this time.
    pub survival: f64,
    /// Its standard error (Greenwood); `None` where the curve has reached 0.
    pub se: Option<f64>,
    /// Lower limit of the interval; `None` where the curve has reached 0.
    pub lower: Option<f64>,
    /// Upper limit.
    pub upper: Option<f64>,
}

/// A fitted Kaplan–Meier curve (Kaplan & Meier 1958, J. Am. Stat. Assoc. 53:457–481).
#[derive(Debug, Clone, PartialEq)]
pub struct KaplanMeier {
    /// Number of records.
    pub n: usize,
    /// Number of events.
    pub events: usize,
    /// One step for each different event time.
    pub steps: Vec<Step>,
    /// The last time of any record.
    pub last: f64,
}

impl KaplanMeier {
    /// Fits the curve. Events come before still-open records of the same time; a record with
    /// delayed entry counts as at risk after its entry.
    ///
    /// # Errors
    /// No records, impossible times, a record between two looks, or a confidence outside (0, 1).
    pub fn fit(times: &[Time], confidence: f64, interval: Interval) -> Result<Self, SurvivalError> {
        check_all(times)?;
        check_confidence(confidence)?;
        if let Some(i) = times.iter().position(|t| !t.is_exact() && !t.is_open()) {
            return Err(SurvivalError::IntervalRecord { row: i + 1 });
        }
        let z = two_sided(confidence);
        let (mut survival, mut variance) = (1.0, 0.0);
        let steps = event_counts(times).into_iter().map(|(time, at_risk, events)| {
            let (n, d) = (at_risk as f64, events as f64);
            survival *= (n - d) / n;
            variance += d / (n * (n - d));
            step(time, (at_risk, events), survival, variance, z, interval)
        });
        let steps: Vec<Step> = steps.collect();
        Ok(KaplanMeier {
            n: times.len(),
            events: steps.iter().map(|s| s.events).sum(),
            last: times.iter().filter_map(|t| t.left).fold(0.0, f64::max),
            steps,
        })
    }

    /// The time by which a share `q` has had the event, with an interval from where the limits of
    /// the curve cross the same level. The middle of a step that lies at exactly that level.
    pub fn quantile(&self, q: f64) -> Quantile {
        let crossing = |value: fn(&Step) -> Option<f64>| {
            let points = self.steps.iter().filter_map(|s| Some((s.time, value(s)?)));
            first_crossing(points, self.last, 1.0 - q)
        };
        Quantile {
            q,
            estimate: crossing(|s| Some(s.survival)),
            lower: crossing(|s| s.lower),
            upper: crossing(|s| s.upper),
        }
    }

    /// The curve as probability masses; what is left after the last record lies beyond it.
    pub fn curve(&self) -> Curve {
        let mut before = 1.0;
        let mut masses: Vec<Mass> = Vec::with_capacity(self.steps.len() + 1);
        for s in &self.steps {
            masses.push(Mass { left: s.time, right: Some(s.time), mass: before - s.survival });
            before = s.survival;
        }
        if before > 0.0 {
            masses.push(Mass { left: self.last, right: None, mass: before });
        }
        Curve::new(masses, self.n, self.events)
    }
}

/// For each different event time: the time, how many at risk, how many events.
fn event_counts(times: &[Time]) -> Vec<(f64, usize, usize)> {
    // Whole numbers sort faster than floats; times are from 0 on, so their bits are in order. Adding
    // 0 makes a −0 an ordinary one.
    let sorted = |wanted: &dyn Fn(&Time) -> Option<f64>| -> Vec<f64> {
        let mut bits: Vec<u64> =
            times.iter().filter_map(wanted).map(|t| (t + 0.0).to_bits()).collect();
        bits.sort_unstable();
        bits.into_iter().map(f64::from_bits).collect()
    };
    let events = sorted(&|t| t.left.filter(|_| t.is_exact()));
    let open = sorted(&|t| t.left.filter(|_| !t.is_exact()));
    let entries = sorted(&|t| Some(t.entry).filter(|e| *e > 0.0));
    let mut counts = Vec::with_capacity(events.len());
    let (mut i, mut gone, mut entered) = (0, 0, 0);
    while i < events.len() {
        let time = events[i];
        let same = events[i..].iter().take_while(|e| **e == time).count();
        gone += open[gone..].iter().take_while(|o| **o < time).count();
        entered += entries[entered..].iter().take_while(|e| **e < time).count();
        let left = events.len() - i + open.len() - gone;
        counts.push((time, left - (entries.len() - entered), same));
        i += same;
    }
    counts
}

fn step(
    time: f64,
    (at_risk, events): (usize, usize),
    survival: f64,
    variance: f64,
    z: f64,
    interval: Interval,
) -> Step {
    if survival <= 0.0 {
        // Greenwood's sum is infinite here; no interval can be given.
        return Step { time, at_risk, events, survival: 0.0, se: None, lower: None, upper: None };
    }
    let root = variance.sqrt();
    let (lower, upper) = interval.limits(survival, root, z);
    Step {
        time,
        at_risk,
        events,
        survival,
        se: Some(survival * root),
        lower: Some(lower),
        upper: Some(upper),
    }
}
