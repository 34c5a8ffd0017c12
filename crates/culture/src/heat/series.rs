//! Degree-days out of temperatures.

use serde::Serialize;

use crate::limits::{OutOfRange, within};

/// Why a series cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum HeatError {
    /// A number is out of range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// A time is not after the one before.
    #[error(
        "sample {sample}: its time {time} is not after {before}; put the samples in order and give \
         each time once"
    )]
    Order {
        /// Which sample, from 0.
        sample: usize,
        /// Its time \[d\].
        time: f64,
        /// The time before it \[d\].
        before: f64,
    },
    /// There is no sample.
    #[error("there is no temperature; give at least one")]
    Empty,
}

/// Between which temperatures heat counts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Thresholds {
    base: f64,
    upper: f64,
}

impl Thresholds {
    /// Heat counts from `base` \[°C\] on, and no faster above `upper` \[°C\] (a horizontal
    /// cut-off).
    ///
    /// # Errors
    /// When the base is outside of −20 to 40 °C or the upper threshold not above it.
    pub fn new(base: f64, upper: Option<f64>) -> Result<Self, OutOfRange> {
        within("base temperature", base, "°C", -20.0, 40.0)?;
        let upper = match upper {
            Some(u) => within("upper threshold", u, "°C", base + 1e-9, 60.0)?,
            None => f64::INFINITY,
        };
        Ok(Self { base, upper })
    }

    /// Degree-days for each day at a temperature \[°C\].
    pub fn rate(&self, temperature: f64) -> f64 {
        (temperature.min(self.upper) - self.base).max(0.0)
    }
}

/// Temperatures at times \[d\], straight between two of them.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatSeries {
    samples: Vec<(f64, f64)>,
}

/// A piece during which the rate is a straight line: its start, its length, and both rates.
#[derive(Clone, Copy)]
struct Piece {
    start: f64,
    length: f64,
    first: f64,
    last: f64,
}

impl Piece {
    fn sum(&self) -> f64 {
        0.5 * (self.first + self.last) * self.length
    }

    /// The time at which so many degree-days of this piece are there.
    fn reached(&self, wanted: f64) -> f64 {
        // wanted = first t + (last − first) t² / (2 length), in the form that does not cancel.
        let bend = (self.last - self.first) / self.length;
        let root = (self.first * self.first + 2.0 * bend * wanted).max(0.0).sqrt();
        let sum = self.first + root;
        let after = if sum > 0.0 { 2.0 * wanted / sum } else { 0.0 };
        self.start + after.min(self.length)
    }
}

impl HeatSeries {
    /// A series in order of time: time \[d\], temperature \[°C\], at least one.
    ///
    /// # Errors
    /// When there is none, they are not in order, or a temperature is outside of −60 to 70 °C.
    pub fn new(samples: Vec<(f64, f64)>) -> Result<Self, HeatError> {
        let mut before = f64::NEG_INFINITY;
        for (sample, &(time, temperature)) in samples.iter().enumerate() {
            if !(time.is_finite() && time > before) {
                return Err(HeatError::Order { sample, time, before });
            }
            within("temperature", temperature, "°C", -60.0, 70.0)?;
            before = time;
        }
        if samples.is_empty() {
            return Err(HeatError::Empty);
        }
        Ok(Self { samples })
    }

    /// The longest time between two samples \[d\]; nothing is known of what happened in it.
    pub fn longest_gap(&self) -> f64 {
        self.samples.windows(2).map(|p| p[1].0 - p[0].0).fold(0.0, f64::max)
    }

    /// The last time \[d\].
    pub fn end(&self) -> f64 {
        self.samples[self.samples.len() - 1].0
    }

    /// Degree-days from the first sample to each.
    pub fn sums(&self, thresholds: &Thresholds) -> Vec<f64> {
        let mut sum = 0.0;
        let mut sums = vec![0.0];
        for pair in self.samples.windows(2) {
            sum += pieces(pair[0], pair[1], thresholds).iter().map(Piece::sum).sum::<f64>();
            sums.push(sum);
        }
        sums
    }

    /// The time \[d\] at which so many degree-days are reached since `from`; `None` when they are
    /// not within the series. Before the first sample nothing counts.
    pub fn reached(&self, from: f64, needed: f64, thresholds: &Thresholds) -> Option<f64> {
        let mut left = needed;
        for pair in self.samples.windows(2) {
            if pair[1].0 <= from {
                continue;
            }
            let first = if from > pair[0].0 { at(pair[0], pair[1], from) } else { pair[0] };
            for piece in pieces(first, pair[1], thresholds) {
                let sum = piece.sum();
                if left <= sum && (sum > 0.0 || left <= 0.0) {
                    return Some(piece.reached(left.max(0.0)));
                }
                left -= sum;
            }
        }
        None
    }

    /// The same, with the temperature \[°C\] that is expected after the last sample; `None` when
    /// that is not above the base.
    pub fn reached_with(
        &self,
        from: f64,
        needed: f64,
        thresholds: &Thresholds,
        after: f64,
    ) -> Option<f64> {
        if let Some(time) = self.reached(from, needed, thresholds) {
            return Some(time);
        }
        let so_far = self.between(from, self.end(), thresholds);
        let rate = thresholds.rate(after);
        (rate > 0.0).then(|| self.end().max(from) + (needed - so_far) / rate)
    }

    /// Degree-days between two times \[d\], as far as the series goes.
    pub fn between(&self, from: f64, to: f64, thresholds: &Thresholds) -> f64 {
        self.samples
            .windows(2)
            .filter(|p| p[1].0 > from && p[0].0 < to)
            .map(|p| {
                let first = if from > p[0].0 { at(p[0], p[1], from) } else { p[0] };
                let last = if to < p[1].0 { at(p[0], p[1], to) } else { p[1] };
                pieces(first, last, thresholds).iter().map(Piece::sum).sum::<f64>()
            })
            .sum()
    }
}

fn at(first: (f64, f64), last: (f64, f64), time: f64) -> (f64, f64) {
    let share = (time - first.0) / (last.0 - first.0);
    (time, first.1 + share * (last.1 - first.1))
}

/// Cuts the way between two samples where it crosses a threshold.
fn pieces(first: (f64, f64), last: (f64, f64), thresholds: &Thresholds) -> Vec<Piece> {
    let crossing = |level: f64| (level - first.1) / (last.1 - first.1);
    let mut cuts = vec![0.0];
    let mut inside: Vec<f64> = [thresholds.base, thresholds.upper]
        .into_iter()
        .map(crossing)
        .filter(|s| s.is_finite() && *s > 0.0 && *s < 1.0)
        .collect();
    inside.sort_by(f64::total_cmp);
    cuts.extend(inside);
    cuts.push(1.0);
    let temperature = |share: f64| first.1 + share * (last.1 - first.1);
    cuts.windows(2)
        .map(|c| Piece {
            start: first.0 + c[0] * (last.0 - first.0),
            length: (c[1] - c[0]) * (last.0 - first.0),
            first: thresholds.rate(temperature(c[0])),
            last: thresholds.rate(temperature(c[1])),
        })
        .filter(|p| p.length > 0.0)
        .collect()
}
