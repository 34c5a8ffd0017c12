//! Days out of readings.

use serde::Serialize;

use crate::{Basis, Constant, Spread, air::Air};

pub(super) const MOST_GAP: Constant = habit("longest_gap_bridged", 2.0, "h");
pub(super) const LEAST_HOURS: Constant = habit("hours_for_a_daily_value", 20.0, "h");
const LEAF_DAY: Constant = leaf("leaf_minus_air_lit", -1.0, Spread::Range(-2.0, 3.0));
const LEAF_NIGHT: Constant = leaf("leaf_minus_air_dark", 0.0, Spread::Range(-1.0, 0.5));

const fn habit(name: &'static str, value: f64, unit: &'static str) -> Constant {
    Constant { name, value, unit, spread: Spread::None, basis: Basis::CommonPractice, source: "" }
}

const fn leaf(name: &'static str, value: f64, spread: Spread) -> Constant {
    Constant { name, value, unit: "K", spread, basis: Basis::CommonPractice, source: "" }
}

pub(super) const CONSTANTS: [Constant; 4] = [MOST_GAP, LEAST_HOURS, LEAF_DAY, LEAF_NIGHT];

/// A reading of a logger.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// When \[h\], counted from midnight of day 0.
    pub hour: f64,
    /// The air.
    pub air: Air,
    /// Whether there was light, sun or lamp, from then to the next reading.
    pub lit: bool,
}

/// How much warmer leaves are than the air \[K\].
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LeafOffset {
    /// With light.
    pub lit: f64,
    /// Without.
    pub dark: f64,
}

impl Default for LeafOffset {
    /// A transpiring leaf under lamps: 1 K cooler by day, as warm as the air by night. Common
    /// practice; a thick leaf that keeps its pores shut by day is as warm as the air, one close
    /// to a lamp or in the sun up to 3 K warmer.
    fn default() -> Self {
        Self { lit: LEAF_DAY.value, dark: LEAF_NIGHT.value }
    }
}

/// The deficit of a day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DayDeficit {
    /// The day, 0 for the first 24 hours.
    pub day: i64,
    /// Hours covered by readings.
    pub hours: f64,
    /// Whether they are enough (20 h) for a daily value.
    pub enough: bool,
    /// Mean deficit of the air \[kPa\].
    pub air: f64,
    /// Mean deficit of leaves with light \[kPa\]; `None` when it was dark throughout.
    pub leaf_lit: Option<f64>,
    /// Mean deficit of leaves without light \[kPa\]; `None` when it was lit throughout.
    pub leaf_dark: Option<f64>,
}

#[derive(Default)]
struct Sums {
    air: f64,
    lit: f64,
    lit_hours: f64,
    dark: f64,
    dark_hours: f64,
}

/// Daily means of the deficit, day and night apart, from readings in order of time.
///
/// The deficit runs straight between two readings; over more than 2 h without any it is missing.
/// Day and night are kept apart since many epiphytes open their pores at night.
pub fn daily_deficits(readings: &[Reading], leaf: LeafOffset) -> Vec<DayDeficit> {
    let mut days: Vec<(i64, Sums)> = Vec::new();
    for pair in readings.windows(2) {
        let (first, second) = (&pair[0], &pair[1]);
        let span = second.hour - first.hour;
        if !(span > 0.0 && span <= MOST_GAP.value) {
            continue;
        }
        let offset = if first.lit { leaf.lit } else { leaf.dark };
        for (day, from, to) in split_at_midnight(first.hour, second.hour) {
            // The mean over a straight piece is its value halfway.
            let middle = (0.5 * (from + to) - first.hour) / span;
            let mix = |a: f64, b: f64| a + (b - a) * middle;
            let air = mix(first.air.deficit(), second.air.deficit());
            let on_leaf = mix(first.air.leaf_deficit(offset), second.air.leaf_deficit(offset));
            if days.last().is_none_or(|(d, _)| *d != day) {
                days.push((day, Sums::default()));
            }
            if let Some((_, sums)) = days.last_mut() {
                sums.add(air, on_leaf, to - from, first.lit);
            }
        }
    }
    days.into_iter().map(|(day, sums)| sums.day(day)).collect()
}

fn split_at_midnight(from: f64, to: f64) -> Vec<(i64, f64, f64)> {
    let mut pieces = Vec::new();
    let mut start = from;
    while start < to {
        let day = (start / 24.0).floor();
        let end = (24.0 * (day + 1.0)).min(to);
        pieces.push((day as i64, start, end));
        start = end;
    }
    pieces
}

impl Sums {
    fn add(&mut self, air: f64, leaf: f64, hours: f64, lit: bool) {
        self.air += air * hours;
        if lit {
            self.lit += leaf * hours;
            self.lit_hours += hours;
        } else {
            self.dark += leaf * hours;
            self.dark_hours += hours;
        }
    }

    fn day(self, day: i64) -> DayDeficit {
        let hours = self.lit_hours + self.dark_hours;
        let mean = |sum: f64, hours: f64| (hours > 0.0).then(|| sum / hours);
        DayDeficit {
            day,
            hours,
            enough: hours >= LEAST_HOURS.value - 1e-9,
            air: self.air / hours,
            leaf_lit: mean(self.lit, self.lit_hours),
            leaf_dark: mean(self.dark, self.dark_hours),
        }
    }
}
