//! Dew on the inner face of a window.

use culture::air::{Air, GLAZINGS, Glass, nights_with_dew, wet_spans};
use journal::Reader;
use serde::Serialize;

use super::{AirSettings, Found, LEAST_DAYS, Usual};
use crate::Result;

/// How many nights are looked back on for the coming one.
const NIGHTS: f64 = 14.0;
/// A night counts from so many hours of dew on.
const LEAST_HOURS: f64 = 0.5;

/// Dew on the glass.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Dew {
    /// Hours a week, usually; the interval holds the errors of sensor and surface.
    pub hours_a_week: Usual,
    /// Nights with half an hour or more, of those looked at.
    pub nights: usize,
    /// Nights looked at, the last fourteen of the record at most.
    pub of: usize,
    /// The chance of dew in the coming night, from 0 to 1.
    pub tonight: f64,
    /// The coldest it was outside, or the temperature said \[°C\].
    pub outside: f64,
    /// Whether a logger outside tells it, rather than one number for all nights.
    pub measured: bool,
}

fn transmittance(glass: &str) -> Option<f64> {
    let at = ["single", "double", "coated", "triple"].iter().position(|g| *g == glass)?;
    Some(GLAZINGS[at].transmittance.value)
}

/// The temperature outside at each reading: by a logger, or as it was said.
fn outside(
    reader: &Reader<'_>,
    settings: &AirSettings,
    found: &Found,
    place: i64,
) -> Result<Option<(Vec<Option<f64>>, bool)>> {
    if let Some(number) = settings.outside_place
        && let Some(row) = reader.place(number)?.filter(|p| p.id != place)
        && let Some(logger) = reader.loggers(row.id)?.first()
        && let (Some(first), Some(last)) = (found.readings.first(), found.readings.last())
    {
        let second = |hour: f64| (hour * 3600.0) as i64 - found.east;
        let list = reader.readings(
            row.id,
            &logger.name,
            second(first.hour) - 7200,
            second(last.hour) + 7200,
        )?;
        let told = found.readings.iter().map(|r| {
            let time = second(r.hour);
            let at = list.partition_point(|t| t.reading.time < time);
            let near = [at.checked_sub(1), Some(at)].into_iter().flatten();
            let near =
                near.filter_map(|i| list.get(i)).filter(|t| (t.reading.time - time).abs() <= 3600);
            let one = near.min_by_key(|t| (t.reading.time - time).abs())?;
            logger.correction.apply(one.reading).temperature
        });
        return Ok(Some((told.collect(), true)));
    }
    Ok(settings.outside.map(|t| (vec![Some(t); found.readings.len()], false)))
}

/// Dew on the glass; none when window or outside are not known, or there are too few days.
pub(super) fn dew(
    reader: &Reader<'_>,
    settings: &AirSettings,
    found: &Found,
    place: i64,
) -> Result<Option<Dew>> {
    let Some(transmittance) = settings.glass.as_deref().and_then(transmittance) else {
        return Ok(None);
    };
    let Some((temperatures, measured)) = outside(reader, settings, found, place)? else {
        return Ok(None);
    };
    // By the best numbers, and with the glass colder or warmer by its 80 % interval.
    let mut rows: [Vec<(f64, Air, f64)>; 3] = Default::default();
    let mut hours = 0.0;
    let mut before: Option<f64> = None;
    for (r, out) in found.readings.iter().zip(&temperatures) {
        let Some(out) = out else { continue };
        // A temperature said for nights is that of nights: by day the glass is left out.
        if !measured && r.lit {
            continue;
        }
        let Some(glass) = Glass::new(&r.air, *out, transmittance) else { continue };
        let face = |wet_by: f64| glass.dew_point - wet_by;
        let faces = [glass.face, face(glass.wet_by.lower), face(glass.wet_by.upper)];
        for (list, face) in rows.iter_mut().zip(faces) {
            list.push((r.hour, r.air, face));
        }
        // Over longer gaps nothing is said, as between two nights.
        hours += before.map(|b| r.hour - b).filter(|step| *step <= 2.0).unwrap_or(0.0);
        before = Some(r.hour);
    }
    let share_of_week = if measured { 168.0 } else { 84.0 };
    if hours < share_of_week / 7.0 * LEAST_DAYS as f64 {
        return Ok(None);
    }
    let spans = rows.each_ref().map(|list| wet_spans(list));
    let week = |i: usize| {
        (0.0 + spans[i].iter().map(|s| s.to - s.from).sum::<f64>()) / hours * share_of_week
    };
    let last = rows[0].last().map_or(0.0, |r| r.0);
    let from = last - 24.0 * NIGHTS;
    let recent: Vec<_> = spans[0].iter().filter(|s| s.to > from).copied().collect();
    let first = rows[0].first().map_or(last, |r| r.0).max(from);
    let of = ((last - first) / 24.0).round().max(1.0) as usize;
    let nights = nights_with_dew(&recent, LEAST_HOURS).min(of);
    let coldest = temperatures.iter().flatten().copied().fold(f64::INFINITY, f64::min);
    Ok(Some(Dew {
        hours_a_week: Usual {
            value: week(0),
            lower: week(1).min(week(0)),
            upper: week(2).max(week(0)),
        },
        nights,
        of,
        // Half a night each way before anything was seen.
        tonight: (nights as f64 + 0.5) / (of as f64 + 1.0),
        outside: coldest,
        measured,
    }))
}
