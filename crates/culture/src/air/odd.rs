//! Readings of loggers that cannot be, or hardly.

use serde::Serialize;

use crate::{Basis, Constant, Spread, air::Air};

const JUMP: Constant = habit("jump_of_temperature", 8.0, "K");
const JUMP_TIME: Constant = habit("jump_within", 5.0, "min");
pub(super) const FLAT: Constant = habit("flat_for", 6.0, "h");

const fn habit(name: &'static str, value: f64, unit: &'static str) -> Constant {
    Constant { name, value, unit, spread: Spread::None, basis: Basis::CommonPractice, source: "" }
}

pub(super) const CONSTANTS: [Constant; 3] = [JUMP, JUMP_TIME, FLAT];

/// What is odd about a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Odd {
    /// Outside of −10 to 60 °C or 0 to 105 %.
    Impossible,
    /// More than 8 K away from the reading before, at a rate of 8 K in 5 minutes or more.
    Jump,
    /// The same temperature and humidity as in all readings of more than 6 hours before it.
    Flat,
}

/// Odd readings by their place in a series in order of time: hour, temperature \[°C\], relative
/// humidity \[%\]. They are for a person to judge; nothing is left out here. Limits are common
/// practice.
pub fn odd_readings(readings: &[(f64, f64, f64)]) -> Vec<(usize, Odd)> {
    let mut odd = Vec::new();
    let mut same_since = readings.first().map_or(0.0, |r| r.0);
    for (at, &(hour, temperature, humidity)) in readings.iter().enumerate() {
        if Air::from_sensor(temperature, humidity).is_err() {
            odd.push((at, Odd::Impossible));
        }
        let Some(before) = at.checked_sub(1).map(|b| readings[b]) else { continue };
        let change = (temperature - before.1).abs();
        let minutes = 60.0 * (hour - before.0);
        if change > JUMP.value && change / minutes >= JUMP.value / JUMP_TIME.value {
            odd.push((at, Odd::Jump));
        }
        if (temperature, humidity) != (before.1, before.2) {
            same_since = hour;
        } else if hour - same_since > FLAT.value {
            odd.push((at, Odd::Flat));
        }
    }
    odd
}
