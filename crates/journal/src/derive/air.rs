//! What each day was like at a place, from the readings of its loggers.

use std::collections::BTreeMap;

use culture::air::{AirOfDay, MARGIN_OF_DAY, Sample, air_of_day};
use rusqlite::{Connection, OptionalExtension as _, params};

use super::{is_live, latest_claim};
use crate::{AirReading, Block, Correction, Error, Result};

/// A day \[s\].
pub(crate) const DAY: i64 = 86_400;
/// How far around a day readings are fetched \[s\]: its margin, and clocks that are up to 14 hours
/// away from UTC.
const AROUND: i64 = MARGIN_OF_DAY as i64 * 3600 + 14 * 3600 + DAY;

/// Readings of a logger from `from` up to and with `to` \[s\], as recorded, in order of time, each
/// with how far the clocks were ahead of UTC \[s\]. Where two live blocks hold the same instant,
/// the one that was made first holds.
pub(crate) fn merged(
    conn: &Connection,
    place: i64,
    logger: &str,
    from: i64,
    to: i64,
) -> Result<Vec<(i32, AirReading)>> {
    let mut stmt = conn.prepare_cached(
        "SELECT east, packed FROM series
         WHERE subject = ?1 AND logger = ?2 AND live AND last >= ?3 AND first <= ?4
         ORDER BY uid",
    )?;
    let mut rows = stmt.query(params![place, logger, from, to])?;
    let mut out: Vec<(i32, AirReading)> = Vec::new();
    let mut sorted = true;
    while let Some(r) = rows.next()? {
        let block = Block { east: r.get(0)?, packed: r.get(1)? };
        let readings =
            block.unpack().map_err(|why| Error::Readings { logger: logger.to_owned(), why })?;
        for reading in readings.into_iter().filter(|r| (from..=to).contains(&r.time)) {
            sorted &= out.last().is_none_or(|l| l.1.time < reading.time);
            out.push((block.east, reading));
        }
    }
    if !sorted {
        // Stable, so that of two at one instant the one of the earlier block comes first.
        out.sort_by_key(|r| r.1.time);
        out.dedup_by_key(|r| r.1.time);
    }
    Ok(out)
}

/// What is claimed to be added to the readings of each logger of a place.
fn corrections(tx: &Connection, place: i64) -> rusqlite::Result<BTreeMap<String, Correction>> {
    let claimed = latest_claim(tx, place, "loggers")?;
    let map = claimed.as_ref().and_then(serde_json::Value::as_object);
    Ok(map
        .into_iter()
        .flatten()
        .map(|(name, v)| (name.clone(), serde_json::from_value(v.clone()).unwrap_or_default()))
        .collect())
}

/// Adds to `air` every logger of a place that has to be derived anew as a whole: the place came,
/// went, or another correction is claimed.
pub(super) fn look_again(
    tx: &Connection,
    place: i64,
    air: &mut BTreeMap<(i64, String), (i64, i64)>,
) -> Result<()> {
    let mut stmt = tx.prepare_cached(
        "SELECT x.logger, min(x.first), max(x.last), l.add_temperature, l.add_humidity
         FROM series x LEFT JOIN logger l ON l.place = x.subject AND l.name = x.logger
         WHERE x.subject = ?1 AND x.live GROUP BY x.logger",
    )?;
    let mut rows = stmt.query([place])?;
    let mut claimed = None;
    let live = is_live(tx, place)?;
    while let Some(r) = rows.next()? {
        let name: String = r.get(0)?;
        let before: (Option<f64>, Option<f64>) = (r.get(3)?, r.get(4)?);
        let corrections = match &claimed {
            Some(c) => c,
            None => claimed.insert(corrections(tx, place)?),
        };
        let now = corrections.get(&name).copied().unwrap_or_default();
        if live == before.0.is_some() && before == (Some(now.temperature), Some(now.humidity)) {
            continue;
        }
        let days = (r.get::<_, i64>(1)? / DAY - 2, r.get::<_, i64>(2)? / DAY + 2);
        let known = air.entry((place, name)).or_insert(days);
        *known = (known.0.min(days.0), known.1.max(days.1));
    }
    Ok(())
}

/// Derives the days from the first up to and with the last of one logger, and its own row.
pub(super) fn refresh(tx: &Connection, place: i64, logger: &str, days: (i64, i64)) -> Result<()> {
    tx.prepare_cached(
        "DELETE FROM air_day WHERE place = ?1 AND logger = ?2 AND day BETWEEN ?3 AND ?4",
    )?
    .execute(params![place, logger, days.0, days.1])?;
    let told: Option<(i64, i64, i64)> = tx
        .prepare_cached(
            "SELECT min(first), max(last), sum(count) FROM series
             WHERE subject = ?1 AND logger = ?2 AND live GROUP BY subject",
        )?
        .query_row(params![place, logger], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?)))
        .optional()?;
    let Some((first, last, count)) = told.filter(|_| is_live(tx, place).unwrap_or(false)) else {
        for table in [
            "DELETE FROM logger WHERE place = ?1 AND name = ?2",
            "DELETE FROM air_day WHERE place = ?1 AND logger = ?2",
        ] {
            tx.prepare_cached(table)?.execute(params![place, logger])?;
        }
        return Ok(());
    };
    let correction = corrections(tx, place)?.get(logger).copied().unwrap_or_default();
    tx.prepare_cached(
        "INSERT OR REPLACE INTO logger(place,name,first,last,readings,add_temperature,add_humidity)
         VALUES(?1,?2,?3,?4,?5,?6,?7)",
    )?
    .execute(params![
        place,
        logger,
        first,
        last,
        count,
        correction.temperature,
        correction.humidity
    ])?;
    let readings = merged(tx, place, logger, days.0 * DAY - AROUND, (days.1 + 1) * DAY + AROUND)?;
    let readings: Vec<(i32, AirReading)> =
        readings.into_iter().map(|(east, r)| (east, correction.apply(r))).collect();
    for day in days.0..=days.1 {
        if let Some(found) = one_day(&readings, day) {
            write_day(tx, place, logger, day, &found)?;
        }
    }
    Ok(())
}

/// The air of a day of the house's clocks. On the two days a year on which they change, hours are
/// counted as they were when the day began.
fn one_day(readings: &[(i32, AirReading)], day: i64) -> Option<AirOfDay> {
    let local = |r: &(i32, AirReading)| r.1.time + i64::from(r.0);
    let start = readings.partition_point(|r| local(r) < day * DAY);
    let east = i64::from(readings.get(start).filter(|r| local(r) < (day + 1) * DAY)?.0);
    let margin = MARGIN_OF_DAY as i64 * 3600;
    let from = readings.partition_point(|r| r.1.time + east < day * DAY - margin);
    let to = readings.partition_point(|r| r.1.time + east <= (day + 1) * DAY + margin);
    let samples: Vec<Sample> = readings[from..to]
        .iter()
        .map(|(_, r)| Sample {
            hour: (r.time + east) as f64 / 3600.0,
            temperature: r.temperature,
            humidity: r.humidity,
        })
        .collect();
    air_of_day(&samples, day)
}

fn write_day(
    tx: &Connection,
    place: i64,
    logger: &str,
    day: i64,
    found: &AirOfDay,
) -> rusqlite::Result<()> {
    tx.prepare_cached(
        "INSERT OR REPLACE INTO air_day(place,day,logger,hours,temperature,coldest,warmest,
                                        air_hours,humidity,deficit,flat_hours)
         VALUES(?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11)",
    )?
    .execute(params![
        place,
        day,
        logger,
        found.hours,
        found.temperature,
        found.coldest,
        found.warmest,
        found.air_hours,
        found.humidity,
        found.deficit,
        found.flat_hours
    ])?;
    Ok(())
}
