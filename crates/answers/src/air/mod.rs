//! The air of a place: is it too dry or too wet, will the glass drip, what would a machine do?
//!
//! Everything here rests on the readings of the place's loggers of the last four weeks.

mod alarms;
mod days;
mod dew;
mod machine;
mod said;
mod settings;

use culture::{
    air::{LeafOffset, Reading, classes},
    light::{
        day::sun_day,
        sun::{Moment, Place},
    },
};
use journal::{LoggerRow, PlaceRow, PlantFilter, PlantSort, Reader};
use serde::Serialize;

use crate::{AskError, Bit, Hand, Result};

pub(crate) use alarms::due;
pub use days::{DayAir, DayState, four_weeks_of};
pub use dew::Dew;
pub use machine::Machine;
pub use said::purpose_words;
pub use settings::{AirSettings, PURPOSES, change_settings, settings_of};

/// How many days the page looks back.
pub const DAYS: i64 = 28;
/// How many days with a daily value a profile needs; common practice.
pub const LEAST_DAYS: usize = 5;

/// When it is day at a place, and how that is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Lit {
    /// From which hour of the clock on.
    pub from: f64,
    /// Until which hour of the clock.
    pub to: f64,
    /// How that is known.
    pub how: LitHow,
}

/// How it is known when it is day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LitHow {
    /// Somebody said from when to when.
    Said,
    /// By the hours of the lamps, which are taken to go on at seven.
    Lamps,
    /// From sunrise to sunset.
    Sun,
    /// Nothing is known: from seven to seven.
    Assumed,
}

/// The deficit that is wanted, and for what.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Wanted {
    /// From \[kPa\].
    pub least: f64,
    /// To \[kPa\].
    pub most: f64,
    /// For what: one of [`PURPOSES`].
    pub purpose: &'static str,
    /// Whether somebody said so; otherwise it follows from what stands there.
    pub said: bool,
}

/// A value with the interval in which it usually lies, 80 %.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Usual {
    /// The value.
    pub value: f64,
    /// Lower limit.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
}

/// The air of a place over the last four weeks.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlaceAir {
    /// The place.
    pub place: PlaceRow,
    /// What was said about its air.
    pub settings: AirSettings,
    /// Its loggers.
    pub loggers: Vec<LoggerRow>,
    /// The logger of this page: the one with most hours.
    pub logger: Option<String>,
    /// The last day of the four weeks \[days since 1970-01-01\].
    pub last_day: i64,
    /// Each of the four weeks' days.
    pub days: Vec<DayAir>,
    /// When it is day.
    pub lit: Lit,
    /// What is wanted.
    pub wanted: Wanted,
    /// Mean deficit of the leaves by day \[kPa\].
    pub by_day: Option<Usual>,
    /// Mean deficit of the leaves by night \[kPa\].
    pub by_night: Option<Usual>,
    /// Days that were drier than wanted by day, of those with a value.
    pub drier: usize,
    /// Days that were wetter than wanted by day.
    pub wetter: usize,
    /// Days with a value.
    pub valued: usize,
    /// Dew on the glass.
    pub dew: Option<Dew>,
    /// What a machine would do.
    pub machine: Option<Machine>,
    /// The answers as sentences.
    pub sentences: Vec<Vec<Bit>>,
    /// What they rest on.
    pub basis: Vec<String>,
    /// What is missing that would sharpen them.
    pub gaps: Vec<String>,
    /// Cautions: the lead and the check.
    pub cautions: Vec<(String, String)>,
}

/// Genera whose leaves are thick enough to bear drier air. Common practice, no source.
const THICK: [&str; 5] = ["Hoya", "Dischidia", "Peperomia", "Aeschynanthus", "Codonanthe"];

/// The air of a place.
///
/// # Errors
/// If there is no such place or the record cannot be read.
pub fn place_air(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<PlaceAir> {
    let place = reader.place(number)?.ok_or_else(|| AskError::NotThere {
        kind: "place",
        which: number.to_string(),
        next: "the list of places shows which there are",
    })?;
    let settings = settings_of(reader, place.id)?;
    let loggers = reader.loggers(place.id)?;
    let today = hand.today_number();
    // Where nothing was brought in of late, the last four weeks of the record are shown.
    let last = loggers.iter().map(|l| l.last / 86_400).max().unwrap_or(today);
    let last_day = last.min(today);
    let lit = lit_of(reader, place.id, &settings, &loggers, last_day - DAYS / 2)?;
    let found = days::find(reader, place.id, &loggers, last_day, lit)?;
    let wanted = wanted_of(reader, &place, &settings)?;
    let correction = found.logger.as_deref().and_then(|n| loggers.iter().find(|l| l.name == n));
    let sd = humidity_sd(reader, place.id, correction)?;
    let by_day = usual(&found.days, |d| d.day_deficit, sd);
    let by_night = usual(&found.days, |d| d.night_deficit, sd);
    let value = |d: &&DayAir| d.day_deficit.is_some();
    let count = |keep: &dyn Fn(f64) -> bool| {
        found.days.iter().filter_map(|d| d.day_deficit).filter(|v| keep(*v)).count()
    };
    let mut air = PlaceAir {
        drier: count(&|v| v > wanted.most),
        wetter: count(&|v| v < wanted.least),
        valued: found.days.iter().filter(value).count(),
        dew: dew::dew(reader, &settings, &found, place.id)?,
        machine: machine::machine(&settings, &found, &wanted, place.plants)?,
        place,
        settings,
        loggers,
        logger: found.logger.clone(),
        last_day,
        days: found.days.clone(),
        lit,
        wanted,
        by_day,
        by_night,
        sentences: Vec::new(),
        basis: Vec::new(),
        gaps: Vec::new(),
        cautions: Vec::new(),
    };
    said::put_into_words(&mut air, hand);
    Ok(air)
}

/// When it is day around a day: as said, by the lamps, by the sun, or from seven to seven.
fn lit_of(
    reader: &Reader<'_>,
    place: i64,
    settings: &AirSettings,
    loggers: &[LoggerRow],
    day: i64,
) -> Result<Lit> {
    if let (Some(from), Some(to)) = (settings.day_from, settings.day_to)
        && to > from
    {
        return Ok(Lit { from, to, how: LitHow::Said });
    }
    let light = reader.claimed(place, "light")?;
    let lamps = light.as_ref().and_then(|l| l.get("lamps")?.as_array());
    let hours = lamps.into_iter().flatten().filter_map(|l| l.get("hours")?.as_f64());
    let hours = hours.fold(0.0, f64::max);
    if hours > 0.0 {
        return Ok(Lit { from: 7.0, to: (7.0 + hours).min(24.0), how: LitHow::Lamps });
    }
    // The clocks of the house, as the last reading knew them.
    let east = match loggers.first() {
        Some(l) => reader.readings(place, &l.name, l.last, l.last)?.first().map(|t| t.east),
        None => None,
    };
    Ok(match sun(reader, day, east.unwrap_or(0))? {
        Some((from, to)) => Lit { from, to, how: LitHow::Sun },
        None => Lit { from: 7.0, to: 19.0, how: LitHow::Assumed },
    })
}

/// Sunrise and sunset by the clock of the house \[h\], where it is known where the house is and
/// the sun rises and sets between two midnights.
fn sun(reader: &Reader<'_>, day: i64, east: i32) -> Result<Option<(f64, f64)>> {
    let degrees = |key: &str| -> Result<Option<f64>> {
        Ok(reader.setting(key)?.and_then(|v| v.parse().ok()))
    };
    let (Some(latitude), Some(longitude)) = (degrees("latitude")?, degrees("longitude")?) else {
        return Ok(None);
    };
    let found = || {
        let date = dates::from_days(i32::try_from(day).ok()?)?;
        let date =
            (i32::from(date.year()), date.month().try_into().ok()?, date.day().try_into().ok()?);
        let sun = sun_day(Place::new(latitude, longitude).ok()?, date).ok()?;
        let clock = |m: Moment| (m.unix_seconds() + f64::from(east)) / 3600.0 - 24.0 * day as f64;
        Some((clock(sun.sunrise?), clock(sun.sunset?)))
    };
    Ok(found().filter(|(from, to)| *from >= 0.0 && *to <= 24.0 && to > from))
}

fn wanted_of(reader: &Reader<'_>, place: &PlaceRow, settings: &AirSettings) -> Result<Wanted> {
    let classes = classes();
    if let Some(at) = PURPOSES.iter().position(|p| Some(*p) == settings.wanted.as_deref()) {
        let class = &classes[at];
        let (least, most) = (class.least.value, class.most.value);
        return Ok(Wanted { least, most, purpose: PURPOSES[at], said: true });
    }
    let filter = PlantFilter {
        place: Some(place.number),
        state: Some("alive".to_owned()),
        ..PlantFilter::default()
    };
    let plants = reader.plants(&filter, PlantSort::Number, 0, 500)?.rows;
    let thick = plants.iter().filter(|p| THICK.contains(&p.genus.as_str())).count();
    let at = if 2 * thick > plants.len() { 3 } else { 2 };
    let (least, most) = (classes[at].least.value, classes[at].most.value);
    Ok(Wanted { least, most, purpose: PURPOSES[at], said: false })
}

/// Standard deviation of a logger's humidity \[% points\]: that of its offset where it was found,
/// otherwise the ±3 % that makers commonly tell, common practice.
fn humidity_sd(reader: &Reader<'_>, place: i64, logger: Option<&LoggerRow>) -> Result<f64> {
    let told = match logger {
        Some(l) => reader
            .claimed(place, "loggers")?
            .and_then(|v| v.get(&l.name)?.get("humidity_sd")?.as_f64()),
        None => None,
    };
    Ok(told.unwrap_or(3.0))
}

/// The mean over the days with a value and its interval: the spread of the days, and the error of
/// the sensor, which is the same on all of them.
fn usual(days: &[DayAir], pick: fn(&DayAir) -> Option<f64>, humidity_sd: f64) -> Option<Usual> {
    let told: Vec<(f64, f64)> =
        days.iter().filter_map(|d| Some((pick(d)?, d.temperature?))).collect();
    if told.len() < LEAST_DAYS {
        return None;
    }
    let n = told.len() as f64;
    let mean = told.iter().map(|t| t.0).sum::<f64>() / n;
    let spread = told.iter().map(|t| (t.0 - mean).powi(2)).sum::<f64>() / (n - 1.0);
    let warm = told.iter().map(|t| t.1).sum::<f64>() / n;
    let sensor = culture::air::saturation_pressure(warm) * humidity_sd / 100.0;
    let side = culture::Estimate::normal(mean, (spread / n).sqrt().hypot(sensor));
    Some(Usual { value: mean, lower: side.lower.max(0.0), upper: side.upper })
}

/// What the four weeks hold: the days, and the readings they were made of.
pub(crate) struct Found {
    pub(crate) logger: Option<String>,
    pub(crate) days: Vec<DayAir>,
    /// Readings that are believed, by the hours of the house's clocks since 1970-01-01.
    pub(crate) readings: Vec<Reading>,
    /// What is added to hours of the clock to get seconds UTC.
    pub(crate) east: i64,
    pub(crate) leaf: LeafOffset,
}
