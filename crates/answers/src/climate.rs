//! What each day was like at a place, as far as the record tells: the one source of warmth, dryness
//! and light for every answer that counts in them.

use std::collections::BTreeMap;

use culture::{
    air::{Air, AirOfDay},
    clock::DayClimate,
};
use journal::{AirDayRow, EntryRow, Reader};

use crate::Result;

/// One day at one place. What is not known is absent, never guessed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Day {
    /// Mean temperature \[°C\].
    pub temperature: Option<f64>,
    /// Mean leaf deficit \[kPa\].
    pub deficit: Option<f64>,
    /// Daily light where the leaves are, on average over the place \[mol/(m² d)\].
    pub light: Option<f64>,
}

impl Day {
    /// What the demand clock needs of it.
    #[must_use]
    pub fn demand(&self) -> DayClimate {
        DayClimate { deficit: self.deficit, light: self.light }
    }
}

/// The days from `from` up to and with `to` \[days since 1970-01-01\] at the place of this row.
///
/// # Errors
/// If the record cannot be read.
pub fn days(reader: &Reader<'_>, place: i64, from: i64, to: i64) -> Result<Vec<Day>> {
    let entries = reader.entries_about(place, usize::MAX)?;
    let light = crate::light::of_days(reader, place, &entries, from, to)?;
    let air = air_of_days(reader, place, &entries, (from, to))?;
    let with_light = |(day, d): (i64, Day)| Day { light: light.get(&day).copied(), ..d };
    Ok((from..=to).zip(air).map(with_light).collect())
}

/// The same without the light, which takes longest: for what hangs on the air alone.
///
/// # Errors
/// If the record cannot be read.
pub fn days_of_air(reader: &Reader<'_>, place: i64, from: i64, to: i64) -> Result<Vec<Day>> {
    let entries = reader.entries_about(place, usize::MAX)?;
    air_of_days(reader, place, &entries, (from, to))
}

fn air_of_days(
    reader: &Reader<'_>,
    place: i64,
    entries: &[EntryRow],
    (from, to): (i64, i64),
) -> Result<Vec<Day>> {
    let by_hand = by_hand(entries);
    let by_loggers = by_loggers(&reader.air_days(place, from, to)?);
    Ok((from..=to)
        .map(|day| {
            let hand = by_hand.get(&day).copied().unwrap_or_default();
            let logged = by_loggers.get(&day).copied().unwrap_or_default();
            // A day of readings says more than one look at a thermometer.
            Day {
                temperature: logged.temperature.or(hand.temperature),
                deficit: logged.deficit.or(hand.deficit),
                light: None,
            }
        })
        .collect())
}

/// Days of which loggers recorded enough, on average over the loggers of the place.
fn by_loggers(rows: &[AirDayRow]) -> BTreeMap<i64, Day> {
    let mut out = BTreeMap::new();
    for of_day in rows.chunk_by(|a, b| a.day == b.day) {
        let mean = |hours: fn(&AirDayRow) -> f64, value: fn(&AirDayRow) -> Option<f64>| {
            let told: Vec<f64> =
                of_day.iter().filter(|r| AirOfDay::enough(hours(r))).filter_map(value).collect();
            (!told.is_empty()).then(|| told.iter().sum::<f64>() / told.len() as f64)
        };
        let day = Day {
            temperature: mean(|r| r.hours, |r| r.temperature),
            deficit: mean(|r| r.air_hours, |r| r.deficit),
            light: None,
        };
        out.insert(of_day[0].day, day);
    }
    out
}

/// Days of which somebody wrote down temperature or air, from the entries about the place.
fn by_hand(entries: &[EntryRow]) -> BTreeMap<i64, Day> {
    let mut sums: BTreeMap<i64, [(f64, f64); 2]> = BTreeMap::new();
    for e in entries.iter().filter(|e| e.kind == "reading" && e.day_from == e.day_to) {
        let Some(day) = e.day_from else { continue };
        let number = |key: &str| e.detail.get(key)?.get("value")?.as_f64();
        let sum = sums.entry(day).or_default();
        if let Some(warm) = number("temperature") {
            sum[0] = (sum[0].0 + warm, sum[0].1 + 1.0);
            if let Some(air) = number("humidity").and_then(|h| Air::from_sensor(warm, h).ok()) {
                sum[1] = (sum[1].0 + air.deficit(), sum[1].1 + 1.0);
            }
        }
    }
    let mean = |(sum, n): (f64, f64)| (n > 0.0).then(|| sum / n);
    sums.into_iter()
        .map(|(day, [warm, dry])| {
            (day, Day { temperature: mean(warm), deficit: mean(dry), light: None })
        })
        .collect()
}
