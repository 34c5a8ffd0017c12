//! The days of four weeks from the readings themselves.

use culture::air::{
    Air, AirOfDay, LeafOffset, Reading, Sample, air_of_day, daily_deficits, flat_samples,
};
use journal::{LoggerRow, Reader};
use serde::Serialize;

use super::{DAYS, Found, Lit};
use crate::Result;

const DAY: i64 = 86_400;

/// What is known of a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DayState {
    /// Enough for a daily value.
    Enough,
    /// Less than 20 hours.
    Short,
    /// The logger did not change for more than 6 hours, and too little is left.
    Flat,
    /// Nothing was recorded.
    None,
}

/// The air of a day, day and night apart.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DayAir {
    /// The day \[days since 1970-01-01\].
    pub day: i64,
    /// What is known of it.
    pub state: DayState,
    /// Hours covered by temperature and humidity.
    pub hours: f64,
    /// Hours during which the logger did not change.
    pub flat_hours: f64,
    /// Mean deficit of the leaves by day \[kPa\]; of days with enough alone.
    pub day_deficit: Option<f64>,
    /// Mean deficit of the leaves by night \[kPa\].
    pub night_deficit: Option<f64>,
    /// Mean temperature \[°C\].
    pub temperature: Option<f64>,
    /// Lowest temperature \[°C\].
    pub coldest: Option<f64>,
    /// Highest temperature \[°C\].
    pub warmest: Option<f64>,
    /// Mean relative humidity \[%\].
    pub humidity: Option<f64>,
}

/// First and last of the four weeks that end on a day.
#[must_use]
pub fn four_weeks_of(last_day: i64) -> (i64, i64) {
    (last_day - DAYS + 1, last_day)
}

/// Reads the four weeks of the logger that has most hours in them.
pub(super) fn find(
    reader: &Reader<'_>,
    place: i64,
    loggers: &[LoggerRow],
    last_day: i64,
    lit: Lit,
) -> Result<Found> {
    let (first, last) = four_weeks_of(last_day);
    let rows = reader.air_days(place, first, last)?;
    let hours = |name: &str| -> f64 {
        rows.iter().filter(|r| r.logger == name).map(|r| r.air_hours + r.hours / 100.0).sum()
    };
    let logger = loggers
        .iter()
        .max_by(|a, b| hours(&a.name).total_cmp(&hours(&b.name)).then(b.name.cmp(&a.name)));
    let mut found = Found {
        logger: logger.map(|l| l.name.clone()),
        days: Vec::new(),
        readings: Vec::new(),
        east: 0,
        leaf: LeafOffset::default(),
    };
    let mut samples = Vec::new();
    if let Some(logger) = logger {
        let (from, to) = (first * DAY - DAY, (last + 1) * DAY + DAY);
        let list = reader.readings(place, &logger.name, from, to)?;
        found.east = list.last().map_or(0, |t| i64::from(t.east));
        for timed in list {
            let r = logger.correction.apply(timed.reading);
            // One axis for all four weeks: where the clocks change, an hour is named as before.
            let hour = (r.time + found.east) as f64 / 3600.0;
            samples.push(Sample { hour, temperature: r.temperature, humidity: r.humidity });
        }
    }
    let flat = flat_samples(&samples);
    found.readings = samples
        .iter()
        .zip(&flat)
        .filter(|(_, flat)| !**flat)
        .filter_map(|(s, _)| {
            let air = Air::from_sensor(s.temperature?, s.humidity?).ok()?;
            let of_day = s.hour.rem_euclid(24.0);
            Some(Reading { hour: s.hour, air, lit: (lit.from..lit.to).contains(&of_day) })
        })
        .collect();
    let deficits = daily_deficits(&found.readings, found.leaf);
    for day in first..=last {
        let from = samples.partition_point(|s| s.hour < 24.0 * day as f64 - 7.0);
        let to = samples.partition_point(|s| s.hour <= 24.0 * (day + 1) as f64 + 7.0);
        let whole = air_of_day(&samples[from..to], day);
        let deficit = deficits.iter().find(|d| d.day == day).filter(|d| d.enough);
        found.days.push(one(day, whole, deficit));
    }
    Ok(found)
}

fn one(day: i64, whole: Option<AirOfDay>, deficit: Option<&culture::air::DayDeficit>) -> DayAir {
    let told = whole.unwrap_or_default();
    let state = match (deficit, whole) {
        (Some(_), _) => DayState::Enough,
        (None, None) => DayState::None,
        (None, Some(w)) if w.flat_hours > 0.0 => DayState::Flat,
        (None, Some(_)) => DayState::Short,
    };
    DayAir {
        day,
        state,
        hours: told.air_hours,
        flat_hours: told.flat_hours,
        day_deficit: deficit.and_then(|d| d.leaf_lit),
        night_deficit: deficit.and_then(|d| d.leaf_dark),
        temperature: told.temperature,
        coldest: told.coldest,
        warmest: told.warmest,
        humidity: told.humidity,
    }
}
