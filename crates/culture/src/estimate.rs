//! Numbers with their uncertainty.

use serde::Serialize;

use crate::Spread;

/// The standard normal quantile at 0.9: ends of an interval that holds 80 %.
pub(crate) const Z80: f64 = 1.281_551_565_544_600_4;

/// A number with the interval that holds it four times out of five.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Estimate {
    /// The best single number.
    pub value: f64,
    /// One time out of ten it is below this.
    pub lower: f64,
    /// One time out of ten it is above this.
    pub upper: f64,
}

impl Estimate {
    /// A number without uncertainty.
    pub fn exact(value: f64) -> Self {
        Self { value, lower: value, upper: value }
    }

    /// A number that is wrong by an amount: normal, with this standard deviation.
    pub fn normal(value: f64, sd: f64) -> Self {
        Self { value, lower: value - Z80 * sd, upper: value + Z80 * sd }
    }

    /// A positive number that is wrong by a factor: log-normal, with this standard deviation of
    /// the natural logarithm. `value` is the median.
    pub fn lognormal(value: f64, log_sd: f64) -> Self {
        let factor = (Z80 * log_sd).exp();
        Self { value, lower: value / factor, upper: value * factor }
    }

    /// A number with the spread of a constant; a range is taken as the interval.
    pub fn spread(value: f64, spread: Spread) -> Self {
        match spread {
            Spread::None => Self::exact(value),
            Spread::Sd(sd) => Self::normal(value, sd),
            Spread::LogSd(sd) => Self::lognormal(value, sd),
            Spread::Range(lower, upper) => Self { value, lower, upper },
        }
    }

    /// The same after a function that only rises or only falls.
    #[must_use]
    pub fn map(self, function: impl Fn(f64) -> f64) -> Self {
        let (a, b) = (function(self.lower), function(self.upper));
        Self { value: function(self.value), lower: a.min(b), upper: a.max(b) }
    }

    /// The same, cut to limits that the quantity cannot leave.
    #[must_use]
    pub fn clamp(self, least: f64, most: f64) -> Self {
        Self {
            value: self.value.clamp(least, most),
            lower: self.lower.clamp(least, most),
            upper: self.upper.clamp(least, most),
        }
    }
}
