//! Readings with a meter on a place, and what they teach.

use culture::light::{
    lamp::LampKind,
    meter::Light,
    reading::{Gains, Meter, Reading},
};
use journal::EntryRow;
use serde::Serialize;

use super::{
    described::Described,
    model::{Model, Source, month_of},
    spot,
};
use dates::Lang;

/// A reading that was used.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadingUsed {
    /// When \[days since 1970-01-01\].
    pub day: i64,
    /// When, in words.
    pub date: String,
    /// From the left \[cm\].
    pub x: f64,
    /// From the back \[cm\].
    pub y: f64,
    /// As typed.
    pub typed: String,
    /// In photons \[µmol m⁻² s⁻¹\].
    pub ppfd: f64,
    /// What was computed for that spot \[µmol m⁻² s⁻¹\].
    pub computed: f64,
    /// By how many standard deviations it differs from that.
    pub surprise: f64,
}

/// All readings of a place: those that could be used, and how many of the others there are.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Readings {
    pub used: Vec<ReadingUsed>,
    /// For the calculator, in the same order.
    pub for_gains: Vec<Reading>,
    /// How many did not say where they were taken.
    pub nowhere: usize,
    /// How many lie before the light was as it is described now.
    pub before: usize,
    /// How many could not be compared: nothing was on, or the colour of the light allows no lux.
    pub useless: usize,
}

/// Reads them from the entries about a place. `from` is the day since which the light has been as
/// described.
pub(crate) fn of_place(
    entries: &[EntryRow],
    d: &Described,
    model: &Model,
    from: Option<i64>,
    lang: Lang,
) -> Readings {
    let mut out = Readings::default();
    let unread = model.unread().ok();
    for entry in entries.iter().filter(|e| e.kind == "reading" && e.live).rev() {
        let Some((value, typed, meter)) = metered(entry) else { continue };
        let Some(day) = entry.day_from else { continue };
        if from.is_some_and(|from| day < from) {
            out.before += 1;
            continue;
        }
        let at = entry.detail.get("spot").and_then(|v| v.as_str());
        let Some((x, y)) = at.and_then(|s| spot::read(s, d.width, d.depth)) else {
            out.nowhere += 1;
            continue;
        };
        let word = |key: &str| entry.detail.get(key).and_then(|v| v.as_str()).unwrap_or("");
        let on = match word("by") {
            "lamps" => (true, false),
            "daylight" => (false, true),
            _ => (true, true),
        };
        let hour = hour_of(word("at")).unwrap_or(12.0);
        let computed = model.instant(&model.point(x, y), month_of(day), hour, on);
        let Some(ppfd) = photons(value, meter, &computed, model, d).filter(|p| *p > 0.0) else {
            out.useless += 1;
            continue;
        };
        let daylight = model
            .sources
            .iter()
            .zip(&computed)
            .any(|(source, light)| *source == Source::Window && *light > 0.0);
        let sum: f64 = computed.iter().sum();
        let reading = Reading { computed, measured: ppfd, meter, daylight };
        let Some(surprise) = unread.as_ref().and_then(|g| g.surprise(&reading).ok()) else {
            out.useless += 1;
            continue;
        };
        let date = dates::say(&entry.happened, lang, None);
        out.used.push(ReadingUsed { day, date, x, y, typed, ppfd, computed: sum, surprise });
        out.for_gains.push(reading);
    }
    out
}

/// What the meter showed, as typed, and which meter it was; a quantum sensor before a lux meter.
fn metered(entry: &EntryRow) -> Option<(f64, String, Meter)> {
    for (key, meter) in [("photon_flux", Meter::Quantum), ("illuminance", Meter::Lux)] {
        let Some(field) = entry.detail.get(key) else { continue };
        let value = field.get("value").and_then(serde_json::Value::as_f64)?;
        let typed = field.get("typed").and_then(|v| v.as_str()).unwrap_or_default();
        return Some((value, typed.to_owned(), meter));
    }
    None
}

/// Hour of the day of a time such as `13:20`, where there is one.
fn hour_of(words: &str) -> Option<f64> {
    let (hours, minutes) = words.trim().split_once(':')?;
    let hours: f64 = hours.trim().parse().ok().filter(|h| (0.0..24.0).contains(h))?;
    let minutes: String = minutes.chars().take_while(char::is_ascii_digit).collect();
    let minutes: f64 = minutes.parse().ok().filter(|m| (0.0..60.0).contains(m))?;
    Some(hours + minutes / 60.0)
}

/// Photons of a reading. Lux are converted by what was computed to shine there: daylight and each
/// lamp with the factor of its own colour.
fn photons(
    value: f64,
    meter: Meter,
    computed: &[f64],
    model: &Model,
    d: &Described,
) -> Option<f64> {
    if meter == Meter::Quantum {
        return Some(value);
    }
    let sum: f64 = computed.iter().sum();
    if sum <= 0.0 {
        return None;
    }
    let mut factor = 0.0;
    for (k, (source, light)) in model.sources.iter().zip(computed).enumerate() {
        if *light <= 0.0 {
            continue;
        }
        let colour = match source {
            Source::Window => Light::Sunlight,
            Source::Lamps => match d.lamps.iter().find(|l| model.source_of(l, d) == k)?.kind() {
                LampKind::WhiteLed | LampKind::PlantBar => Light::WhiteLed4000,
                LampKind::RedRich => Light::Purple,
                LampKind::HighPressureSodium => Light::HighPressureSodium,
            },
        };
        factor += light / sum * colour.lux_per_umol().ok()?.value;
    }
    Some(value / factor)
}

/// What is known of the sources after the readings; what was known before where none fits them.
pub(crate) fn fitted(model: &Model, readings: &Readings) -> Option<Gains> {
    let unread = model.unread().ok()?;
    Some(unread.after(&readings.for_gains).unwrap_or(unread))
}
