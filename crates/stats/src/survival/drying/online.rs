//! One plant by day: what its latest looks say, on a grid.

use serde::Serialize;

use super::{Cycle, DryingFit, ParametricError};
use crate::special::{normal_cdf, normal_quantile};
use crate::survival::parametric::{Law, Records, Row};

/// Points of the grid and how many standard deviations it reaches to either side. Sums over evenly
/// spaced points are all but exact for smooth curves that are not much narrower than the step.
const POINTS: usize = 97;
const REACH: f64 = 6.0;

/// Points of the table of the next cycle.
const TABLE: usize = 129;

/// A normal quantile that stays finite.
fn quantile(p: f64) -> f64 {
    normal_quantile(p.clamp(1e-15, 1.0 - 1e-15))
}

/// The distribution of a plant's next cycle, tabulated as normal scores over ln X: nearly a
/// straight line for every law here, and so read between its points without loss.
#[derive(Debug, Clone, PartialEq)]
pub struct Foreseen {
    first: f64,
    step: f64,
    z: Vec<f64>,
}

impl Foreseen {
    /// Chance that a cycle with this offset has ended by `x` on the clock.
    pub fn by(&self, x: f64, offset: f64) -> f64 {
        if x <= 0.0 {
            return 0.0;
        }
        let at = (x.ln() - offset - self.first) / self.step;
        // Beyond the table the line goes on.
        let k = (at.max(0.0).floor() as usize).min(self.z.len() - 2);
        let part = at - k as f64;
        normal_cdf(self.z[k] + part * (self.z[k + 1] - self.z[k]))
    }
}

/// What is known of a plant's ln X (without offset), on a grid.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlantState {
    /// The law of a single cycle.
    pub law: Law,
    /// Its scale.
    pub scale: f64,
    /// How often a look is misread.
    pub misread: f64,
    first: f64,
    step: f64,
    weight: Vec<f64>,
}

impl PlantState {
    /// A plant of which a mean and a standard deviation of its η are known and nothing else. For
    /// the log-normal law η is ln of its median cycle; see [`Law::quantile`] for others.
    ///
    /// # Errors
    /// A standard deviation or a scale that is not above 0, or a rate outside of 0 to one half.
    pub fn new(
        law: Law,
        mean: f64,
        sd: f64,
        scale: f64,
        misread: f64,
    ) -> Result<Self, ParametricError> {
        let bad = |what: &str, value, expected| ParametricError::BadOption {
            what: what.to_owned(),
            value,
            expected,
        };
        if !mean.is_finite() {
            return Err(bad("the plant's mean", mean, "a finite number"));
        }
        for (what, value) in [("the plant's standard deviation", sd), ("the scale", scale)] {
            if !(value.is_finite() && value > 0.0) {
                return Err(bad(what, value, "a number above 0"));
            }
        }
        if !(0.0..0.5).contains(&misread) {
            let expected = "a rate from 0 to below one half";
            return Err(bad("the rate of misread looks", misread, expected));
        }
        let step = 2.0 * REACH / (POINTS - 1) as f64;
        let weight = (0..POINTS).map(|k| -0.5 * (k as f64 * step - REACH).powi(2)).collect();
        let mut state = PlantState {
            law,
            scale,
            misread,
            first: mean - REACH * sd,
            step: step * sd,
            weight: Vec::new(),
        };
        state.take(weight);
        Ok(state)
    }

    /// A plant as the night's fit left it; its cycles since then are added by [`PlantState::update`].
    ///
    /// # Errors
    /// A plant that is not in the fit.
    pub fn after(
        fit: &DryingFit,
        plant: usize,
        law: Law,
        misread: f64,
    ) -> Result<Self, ParametricError> {
        let Some(found) = fit.plants.get(plant) else {
            return Err(ParametricError::BadOption {
                what: "the plant's place in the fit".to_owned(),
                value: plant as f64,
                expected: "one of its plants",
            });
        };
        PlantState::new(law, found.mean, found.sd, fit.event_scale, misread)
    }

    /// Takes logarithms of weights.
    fn take(&mut self, logs: Vec<f64>) {
        let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let weight: Vec<f64> = logs.iter().map(|l| (l - top).exp()).collect();
        let sum: f64 = weight.iter().sum();
        self.weight = weight.iter().map(|w| w / sum).collect();
    }

    fn at(&self, k: usize) -> f64 {
        self.first + k as f64 * self.step
    }

    /// Adds cycles with their offsets.
    ///
    /// # Errors
    /// Impossible times, or cycles that no value on the grid can explain.
    pub fn update(&mut self, cycles: &[(Cycle, f64)]) -> Result<(), ParametricError> {
        if self.misread > 0.0 && cycles.iter().all(|(c, _)| !matches!(c, Cycle::Exact(_))) {
            return self.update_plainly(cycles);
        }
        let rows = cycles.iter().enumerate().map(|(i, (c, _))| Row::new(&c.time(), i + 1));
        let records = Records {
            law: self.law,
            rows: rows.collect::<Result<_, _>>()?,
            misread: self.misread,
            tau: self.scale.ln(),
            scale_free: true,
        };
        let mut logs: Vec<f64> = self.weight.iter().map(|w| w.ln()).collect();
        for (i, (_, offset)) in cycles.iter().enumerate() {
            for (k, log) in logs.iter_mut().enumerate() {
                *log += records.value(i, self.at(k) + offset);
            }
        }
        if !logs.iter().any(|l| l.is_finite()) {
            return Err(ParametricError::NotReached { iterations: 0, gradient: f64::INFINITY });
        }
        self.take(logs);
        Ok(())
    }

    /// The same where looks may be misread: then no probability comes near 0, and plain ones will do
    /// in place of logarithms with derivatives.
    fn update_plainly(&mut self, cycles: &[(Cycle, f64)]) -> Result<(), ParametricError> {
        let mut logs: Vec<f64> = self.weight.iter().map(|w| w.ln()).collect();
        for (i, (cycle, offset)) in cycles.iter().enumerate() {
            Row::new(&cycle.time(), i + 1)?;
            let (low, high) = match cycle {
                Cycle::Between(low, high) => (Some(*low), Some(*high)),
                Cycle::FoundDry(high) => (None, Some(*high)),
                Cycle::StillMoist(low) => (Some(*low), None),
                Cycle::Unseen | Cycle::Exact(_) => continue,
            };
            let z = |x: Option<f64>| x.filter(|x| *x > 0.0).map(|x| x.ln() - offset);
            let (low, high) = (z(low), z(high));
            for (k, log) in logs.iter_mut().enumerate() {
                let above = |y: Option<f64>| y.map(|y| self.above((y - self.at(k)) / self.scale));
                let inside = above(low).unwrap_or(1.0) - above(high).unwrap_or(0.0);
                *log += (self.misread + (1.0 - 2.0 * self.misread) * inside).ln();
            }
        }
        self.take(logs);
        Ok(())
    }

    /// P(W > z) of the law.
    fn above(&self, z: f64) -> f64 {
        match self.law {
            Law::Lognormal => normal_cdf(-z),
            law => law.log_survival(z).value.exp(),
        }
    }

    /// Mean of η.
    pub fn mean(&self) -> f64 {
        self.weight.iter().enumerate().map(|(k, w)| w * self.at(k)).sum()
    }

    /// Standard deviation of η.
    pub fn sd(&self) -> f64 {
        let mean = self.mean();
        let each = self.weight.iter().enumerate();
        each.map(|(k, w)| w * (self.at(k) - mean).powi(2)).sum::<f64>().sqrt()
    }

    /// Quantile of η, on the straight line between points.
    pub fn quantile(&self, p: f64) -> f64 {
        let mut sum = 0.0;
        for (k, w) in self.weight.iter().enumerate() {
            if sum + w >= p {
                // The weight of a point lies half to either side of it.
                return self.at(k) + self.step * ((p - sum) / w - 0.5);
            }
            sum += w;
        }
        self.at(POINTS - 1)
    }

    /// ln of the share of η ↦ P(X > x).
    fn survival(&self, x: f64, offset: f64) -> impl Iterator<Item = f64> + '_ {
        let (y, s) = (x.ln() - offset, self.scale);
        (0..POINTS).map(move |k| self.above((y - self.at(k)) / s))
    }

    /// Chance that the pot is dry by `x` when it was moist at `moist` (0: just watered), for a
    /// stretch with this offset.
    pub fn dry_by(&self, x: f64, moist: f64, offset: f64) -> f64 {
        if x <= moist || x <= 0.0 {
            return 0.0;
        }
        let (mut left, mut whole) = (0.0, 0.0);
        let start = moist.max(f64::MIN_POSITIVE);
        let both = self.survival(start, offset).zip(self.survival(x, offset));
        for ((before, after), w) in both.zip(&self.weight) {
            whole += w * before;
            left += w * after;
        }
        if whole > 0.0 { (1.0 - left / whole).clamp(0.0, 1.0) } else { 1.0 }
    }

    /// The time by which the pot is dry with a given chance, when it was moist at `moist`.
    pub fn due(&self, chance: f64, moist: f64, offset: f64) -> f64 {
        let (mut low, mut high) = (moist, (self.quantile(0.5) + offset).exp().max(2.0 * moist));
        while self.dry_by(high, moist, offset) < chance && high < 1e9 {
            low = high;
            high *= 2.0;
        }
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.dry_by(middle, moist, offset) < chance {
                low = middle;
            } else {
                high = middle;
            }
            if high - low < 1e-9 * high {
                break;
            }
        }
        0.5 * (low + high)
    }

    /// The next cycle as a table, for those who ask many chances of one state.
    pub fn foreseen(&self) -> Foreseen {
        let spread = self.sd().hypot(self.scale);
        let (first, step) = (self.mean() - REACH * spread, 2.0 * REACH * spread);
        let step = step / (TABLE - 1) as f64;
        let z = (0..TABLE).map(|j| {
            let y = first + j as f64 * step;
            // Points without weight are not asked.
            let heavy = self.weight.iter().enumerate().filter(|(_, w)| **w > 1e-12);
            let above: f64 =
                heavy.map(|(k, w)| w * self.above((y - self.at(k)) / self.scale)).sum();
            // The far end keeps its digits on the other side of one half.
            if above < 0.5 { -quantile(above) } else { quantile(1.0 - above) }
        });
        Foreseen { first, step, z: z.collect() }
    }

    /// How much slower than expected a cycle is that was still moist at `moist`, as the z of the
    /// chance to be dry by then. Judge a cycle by the state before it is added: beyond 2.8 the roots
    /// are suspect (2.5 would raise 3 % false alarms a plant and month at five cycles; computed).
    pub fn slowness(&self, moist: f64, offset: f64) -> f64 {
        // Beyond what a double can tell from 1 it is 8 standard deviations, which is enough.
        quantile(self.dry_by(moist, 0.0, offset))
    }
}
