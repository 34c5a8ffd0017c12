//! Pots on a kitchen scale.

use serde::Serialize;

use crate::{
    Basis, Constant, Estimate, Spread,
    limits::{OutOfRange, within},
};

const SCALE: Constant = Constant {
    name: "kitchen_scale_sd",
    value: 2.0,
    unit: "g",
    spread: Spread::Range(1.0, 5.0),
    basis: Basis::CommonPractice,
    source: "",
};

pub(super) const CONSTANTS: [Constant; 1] = [SCALE];

/// Water a plant can use \[g\] from a pot \[L\], between its container capacity and the content at
/// which it wilts or should be watered \[% of volume\].
pub fn available_water(volume: f64, capacity: f64, trigger: f64) -> f64 {
    1000.0 * volume * (capacity - trigger).max(0.0) / 100.0
}

/// A weight and its day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weighing {
    /// The day \[d\].
    pub day: f64,
    /// Weight with pot and plant \[g\].
    pub weight: f64,
}

/// How a pot dries.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Drying {
    /// Water lost \[g/d\].
    pub rate: Estimate,
    /// Days from the last weighing until the trigger weight.
    pub days_left: Estimate,
}

impl Drying {
    /// From weighings since the last watering, in order of time, and the weight at which to water
    /// \[g\]. `faster` is how many times as fast as then the clock will run, `days_log_sd` how far
    /// that may be off as a factor.
    ///
    /// The rate is the slope of the line through the weighings; its error comes from the scale,
    /// 2 g for each reading. Weigh the pot full again once a month: the plant grows.
    ///
    /// # Errors
    /// When there are not two days, the pot did not get lighter, or a number is out of range.
    pub fn from_weighings(
        weighings: &[Weighing],
        trigger: f64,
        faster: f64,
        days_log_sd: f64,
    ) -> Result<Self, OutOfRange> {
        within("weighings", weighings.len() as f64, "weighings", 2.0, 1e6)?;
        within("speed of the clock", faster, "1", 0.01, 100.0)?;
        within("error of the forecast", days_log_sd, "1", 0.0, 3.0)?;
        let count = weighings.len() as f64;
        let mean_day = weighings.iter().map(|w| w.day).sum::<f64>() / count;
        let mean_weight = weighings.iter().map(|w| w.weight).sum::<f64>() / count;
        let spread: f64 = weighings.iter().map(|w| (w.day - mean_day).powi(2)).sum();
        within("time between weighings", spread, "d²", 1e-9, f64::MAX)?;
        let fall: f64 =
            weighings.iter().map(|w| (w.day - mean_day) * (mean_weight - w.weight)).sum();
        let rate = within("water lost", fall / spread, "g/d", 1e-6, 1e6)?;
        let rate_sd = SCALE.value / spread.sqrt();
        let last = weighings[weighings.len() - 1].weight;
        let left = (last - trigger).max(0.0);
        let log_sd = if left > 0.0 {
            (rate_sd / rate).hypot(SCALE.value / left).hypot(days_log_sd)
        } else {
            0.0
        };
        Ok(Self {
            rate: Estimate::normal(rate, rate_sd).clamp(0.0, f64::MAX),
            days_left: Estimate::lognormal(left / (rate * faster), log_sd),
        })
    }
}
