//! Where the probability of an event lies, and what follows from it.

use serde::Serialize;

/// Probability that lies somewhere in `(left, right]`, it is not known where; at one point when
/// both are equal; beyond `left` when `right` is `None`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Mass {
    /// Left end.
    pub left: f64,
    /// Right end; `None` for without end.
    pub right: Option<f64>,
    /// Probability \[0 to 1\].
    pub mass: f64,
}

/// A survival curve as probability masses in the order of time; the masses add up to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    masses: Vec<Mass>,
    /// Number of records, and of events among them.
    n: usize,
    events: usize,
}

/// The limits between which a value lies when the records do not say more.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Bounds {
    /// The least it can be.
    pub least: f64,
    /// The most it can be.
    pub most: f64,
}

/// Where the next event of one more, not yet finished, subject is expected.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct NextEvent {
    /// Earliest end of the interval.
    pub lower: f64,
    /// As likely before as after; `None` when the records do not reach so far.
    pub middle: Option<f64>,
    /// Latest end; `None` when the records do not reach so far.
    pub upper: Option<f64>,
    /// Number of events, later than now, that this rests on.
    pub events: usize,
}

/// Rounding of sums of masses: levels closer than this count as equal.
const LEVEL: f64 = 1e-9;

impl Curve {
    pub(crate) fn new(masses: Vec<Mass>, n: usize, events: usize) -> Self {
        Curve { masses, n, events }
    }

    /// The masses, in the order of time.
    pub fn masses(&self) -> &[Mass] {
        &self.masses
    }

    /// Number of records.
    pub fn n(&self) -> usize {
        self.n
    }

    /// Number of records in which the event came (exactly seen or within an interval).
    pub fn events(&self) -> usize {
        self.events
    }

    /// Probability that nothing has happened by `t`. The two limits differ inside an interval
    /// between looks and beyond the last record.
    pub fn survival(&self, t: f64) -> Bounds {
        let (mut surely, mut perhaps) = (0.0, 0.0);
        for m in &self.masses {
            if m.right.is_some_and(|r| r <= t) {
                surely += m.mass;
                perhaps += m.mass;
            } else if m.left < t {
                perhaps += m.mass;
            }
        }
        Bounds { least: tidy(1.0 - perhaps), most: tidy(1.0 - surely) }
    }

    /// Probability that the event comes by `t`, when nothing has happened by `now`. `None` when
    /// the records leave no probability after `now`. The limits say how far the records reach.
    pub fn chance_by(&self, t: f64, now: f64) -> Option<Bounds> {
        let rest = self.after(now)?;
        let at = rest.survival(t.max(now));
        Some(Bounds { least: tidy(1.0 - at.most), most: tidy(1.0 - at.least) })
    }

    /// The curve of those for whom nothing has happened by `now`; `None` when no probability is
    /// left. Probability of an interval that `now` cuts counts as lying after `now`.
    pub fn after(&self, now: f64) -> Option<Curve> {
        let left: Vec<Mass> = (self.masses.iter())
            .filter(|m| m.right.is_none_or(|r| r > now) && m.mass > 0.0)
            .map(|m| Mass { left: m.left.max(now), ..*m })
            .collect();
        let total: f64 = left.iter().map(|m| m.mass).sum();
        if total <= LEVEL {
            return None;
        }
        let masses = left.into_iter().map(|m| Mass { mass: m.mass / total, ..m }).collect();
        // Events in proportion to the probability that is left.
        let events = (total * self.n as f64 * self.reached_share(now)).round() as usize;
        Some(Curve { masses, n: self.n, events: events.min(self.events) })
    }

    /// Share of the probability after `now` that lies at known places.
    fn reached_share(&self, now: f64) -> f64 {
        let after = |m: &&Mass| m.right.is_none_or(|r| r > now);
        let total: f64 = self.masses.iter().filter(after).map(|m| m.mass).sum();
        let known: f64 =
            self.masses.iter().filter(after).filter(|m| m.right.is_some()).map(|m| m.mass).sum();
        if total > 0.0 { known / total } else { 0.0 }
    }

    /// The time by which a share `q` has had the event, as the interval in which it must lie:
    /// `(a, b]`, a point when seen exactly, `b = None` when not reached. On a flat step of the
    /// curve at exactly `q` it reaches from one event to the next.
    pub fn quantile(&self, q: f64) -> (f64, Option<f64>) {
        let mut sum = 0.0;
        let mut touching: Option<f64> = None;
        for m in self.masses.iter().filter(|m| m.mass > 0.0) {
            if let Some(from) = touching {
                return (from, m.right);
            }
            sum += m.mass;
            if (sum - q).abs() <= LEVEL {
                touching = Some(m.left);
            } else if sum > q {
                return (m.left, m.right);
            }
        }
        let last = self.masses.last().map_or(0.0, |m| m.left);
        match touching {
            Some(from) => (from, self.masses.last().and_then(|m| m.right)),
            None => (last, None),
        }
    }

    /// A single figure for a quantile: the middle of the interval that [`Curve::quantile`] gives
    /// for exact records, and a straight line through the interval between two looks.
    pub fn quantile_value(&self, q: f64) -> Option<f64> {
        let mut sum = 0.0;
        let mut touching: Option<f64> = None;
        for m in self.masses.iter().filter(|m| m.mass > 0.0) {
            if let Some(from) = touching {
                return m.right.map(|_| 0.5 * (from + m.left));
            }
            sum += m.mass;
            let right = m.right?;
            if (sum - q).abs() <= LEVEL {
                touching = Some(right);
            } else if sum > q {
                let share = 1.0 - (sum - q) / m.mass;
                return Some(m.left + share * (right - m.left));
            }
        }
        touching
    }

    /// Where the event of a subject still going at `now` lies with probability `level`.
    ///
    /// From the order of the records: with *m* later events, the next one falls between the *k*-th
    /// and the (*m* + 1 − *k*)-th with probability (*m* + 1 − 2*k*)/(*m* + 1), whatever the
    /// distribution. `None` when there are too few events for that (fewer than 9 for 80 %). With
    /// still-open records among the later ones this holds only roughly, since the curve stands in
    /// for their order.
    pub fn next_event(&self, now: f64, level: f64) -> Option<NextEvent> {
        let rest = self.after(now)?;
        let m = rest.events as f64;
        let k = (0.5 * (1.0 - level) * (m + 1.0) + 1e-9).floor();
        if k < 1.0 {
            return None;
        }
        // The k-th of m events is where the curve has dropped by k/m; half a step less avoids
        // deciding on rounding.
        let (lower, _) = rest.quantile((k - 0.5) / m);
        let (_, upper) = rest.quantile((m + 0.5 - k) / m);
        Some(NextEvent { lower, middle: rest.quantile_value(0.5), upper, events: rest.events })
    }
}

/// Rounding may leave −1e−17 or 1.0000000000000002.
fn tidy(p: f64) -> f64 {
    if p.abs() < 1e-12 { 0.0 } else { p.clamp(0.0, 1.0) }
}
