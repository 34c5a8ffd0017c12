//! Light: the sun, the sky, windows, lamps, meters, and what a leaf makes of a day.
//!
//! | question | module |
//! |---|---|
//! | where is the sun, when does it rise | [`sun`], [`day`] |
//! | how much falls on the outside of a window | [`sky`] |
//! | how much of that reaches a leaf in the room | [`window`] |
//! | how much comes from lamps | [`lamp`], [`shelf`] |
//! | how much of the hemisphere does a rectangle fill | [`factor`] |
//! | what does a reading with a meter teach | [`reading`], [`meter`] |
//! | how much is that in a day, and is it enough | [`daily`], [`acclimatise`] |

pub mod acclimatise;
pub mod daily;
pub mod day;
pub mod factor;
pub mod glass;
pub mod lamp;
pub mod meter;
pub mod reading;
pub mod shelf;
pub mod sky;
pub mod sun;
pub mod window;

use crate::Constant;

/// What a calculation of light was given that it cannot use.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LightError {
    /// A number outside of what has a meaning.
    #[error("{quantity} {value} is not {expected}; {next}")]
    OutOfRange {
        /// What the number stands for.
        quantity: &'static str,
        /// The number.
        value: f64,
        /// What was expected, as a noun phrase.
        expected: &'static str,
        /// The next step.
        next: &'static str,
    },
    /// A date or time of day that does not exist, or one too far from today for the position of
    /// the sun to be known.
    #[error("there is no position of the sun at this date and time ({why}); {next}")]
    Time {
        /// What is wrong with it.
        why: String,
        /// The next step.
        next: &'static str,
    },
    /// A conversion between lux and photons for a light whose colours do not allow one.
    #[error(
        "lux says nothing about the photons of {light}; measure it with a quantum sensor, or give its watts"
    )]
    NoConversion {
        /// The light.
        light: &'static str,
    },
    /// Readings that cannot teach what was asked.
    #[error("the readings cannot be used: {why}; {next}")]
    Readings {
        /// What is wrong.
        why: String,
        /// The next step.
        next: &'static str,
    },
}

/// Refuses a number that is not finite or lies outside `lowest..=highest`.
fn within(
    quantity: &'static str,
    value: f64,
    (lowest, highest): (f64, f64),
    expected: &'static str,
    next: &'static str,
) -> Result<f64, LightError> {
    if value.is_finite() && value >= lowest && value <= highest {
        Ok(value)
    } else {
        Err(LightError::OutOfRange { quantity, value, expected, next })
    }
}

/// Refuses a length, power or other amount that is negative or not finite.
fn amount(quantity: &'static str, value: f64) -> Result<f64, LightError> {
    within(quantity, value, (0.0, f64::MAX), "zero or more", "check the number and its unit")
}

/// Refuses a length or other amount that is not above zero.
fn positive(quantity: &'static str, value: f64) -> Result<f64, LightError> {
    within(
        quantity,
        value,
        (f64::MIN_POSITIVE, f64::MAX),
        "above zero",
        "check the number and its unit",
    )
}

/// Refuses a share outside of 0 to 1.
fn share(quantity: &'static str, value: f64) -> Result<f64, LightError> {
    within(quantity, value, (0.0, 1.0), "a share from 0 to 1", "write 20 % as 0.2")
}

/// What to say beside light from lamps and windows.
pub const CAUTIONS: [&str; 4] = [
    "Lamps, drivers and timers on shelves that get wet need a rating for damp places and a residual-current breaker; unplug them before watering or misting.",
    "Do not look into bare blue, violet or ultraviolet diodes; keep them below eye level or behind a screen.",
    "Within 15 cm of a lamp, and in sun behind glass, leaves grow several degrees warmer than the air: feel or measure them before leaving a plant there.",
    "A computed light is a guess within a factor of two until one reading confirms it.",
];

/// Every constant on which these calculations rest, with basis, source and spread.
#[must_use]
pub fn constants() -> Vec<Constant> {
    [
        day::CONSTANTS,
        sky::CONSTANTS,
        glass::CONSTANTS,
        window::CONSTANTS,
        lamp::CONSTANTS,
        shelf::CONSTANTS,
        meter::CONSTANTS,
        reading::CONSTANTS,
        daily::CONSTANTS,
        acclimatise::CONSTANTS,
    ]
    .concat()
}
