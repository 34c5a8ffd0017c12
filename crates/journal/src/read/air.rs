//! Loggers of places, their readings, and what each day was like.

use serde::Serialize;

use super::Reader;
use crate::{AirReading, Correction, OpId, RefusedLine, Result, derive};

/// A logger at a place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LoggerRow {
    /// Row of the place.
    #[serde(skip)]
    pub place: i64,
    /// What it is called there.
    pub name: String,
    /// First reading \[s since 1970 UTC\].
    pub first: i64,
    /// Last reading \[s since 1970 UTC\].
    pub last: i64,
    /// How many readings were taken in.
    pub readings: i64,
    /// What is added to its readings.
    pub correction: Correction,
}

/// A reading with how far the clocks of the house were ahead of UTC.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Timed {
    /// The reading.
    pub reading: AirReading,
    /// How far the clocks were ahead of UTC \[s\].
    pub east: i32,
}

/// What a day was like by one logger.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AirDayRow {
    /// The day \[days since 1970-01-01\].
    pub day: i64,
    /// The logger.
    pub logger: String,
    /// Hours covered by temperatures.
    pub hours: f64,
    /// Mean temperature \[°C\].
    pub temperature: Option<f64>,
    /// Lowest temperature \[°C\].
    pub coldest: Option<f64>,
    /// Highest temperature \[°C\].
    pub warmest: Option<f64>,
    /// Hours covered by temperature and humidity.
    pub air_hours: f64,
    /// Mean relative humidity \[%\].
    pub humidity: Option<f64>,
    /// Mean deficit of the air \[kPa\].
    pub deficit: Option<f64>,
    /// Hours during which the logger did not change.
    pub flat_hours: f64,
}

/// Lines of a logger's file that were not taken.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RefusedRow {
    /// The operation that brought the file in.
    pub operation: OpId,
    /// The logger.
    pub logger: String,
    /// The file.
    pub origin: String,
    /// The lines.
    pub lines: Vec<RefusedLine>,
}

const LOGGER: &str = "place, name, first, last, readings, add_temperature, add_humidity";

fn logger(r: &rusqlite::Row<'_>) -> rusqlite::Result<LoggerRow> {
    Ok(LoggerRow {
        place: r.get(0)?,
        name: r.get(1)?,
        first: r.get(2)?,
        last: r.get(3)?,
        readings: r.get(4)?,
        correction: Correction { temperature: r.get(5)?, humidity: r.get(6)? },
    })
}

impl Reader<'_> {
    /// The loggers of a place, by name.
    ///
    /// # Errors
    /// Those of the file.
    pub fn loggers(&self, place: i64) -> Result<Vec<LoggerRow>> {
        let sql = format!("SELECT {LOGGER} FROM logger WHERE place = ?1 ORDER BY name");
        let mut stmt = self.conn().prepare_cached(&sql)?;
        Ok(stmt.query_map([place], logger)?.collect::<rusqlite::Result<_>>()?)
    }

    /// All loggers, place by place.
    ///
    /// # Errors
    /// Those of the file.
    pub fn all_loggers(&self) -> Result<Vec<LoggerRow>> {
        let sql = format!("SELECT {LOGGER} FROM logger ORDER BY place, name");
        let mut stmt = self.conn().prepare_cached(&sql)?;
        Ok(stmt.query_map([], logger)?.collect::<rusqlite::Result<_>>()?)
    }

    /// The readings of a logger from `from` up to and with `to` \[s since 1970 UTC\], in order of
    /// time, as they were recorded: [`Correction::apply`] adds what is claimed of the logger.
    ///
    /// # Errors
    /// Those of the file, damaged blocks included.
    pub fn readings(&self, place: i64, logger: &str, from: i64, to: i64) -> Result<Vec<Timed>> {
        let merged = derive::merged(self.conn(), place, logger, from, to)?;
        Ok(merged.into_iter().map(|(east, reading)| Timed { reading, east }).collect())
    }

    /// What each day from `from` up to and with `to` \[days since 1970-01-01\] was like at a place,
    /// by each of its loggers; days without a reading are absent.
    ///
    /// # Errors
    /// Those of the file.
    pub fn air_days(&self, place: i64, from: i64, to: i64) -> Result<Vec<AirDayRow>> {
        let mut stmt = self.conn().prepare_cached(
            "SELECT day, logger, hours, temperature, coldest, warmest, air_hours, humidity, deficit,
                    flat_hours
             FROM air_day WHERE place = ?1 AND day BETWEEN ?2 AND ?3 ORDER BY day, logger",
        )?;
        let rows = stmt.query_map([place, from, to], |r| {
            Ok(AirDayRow {
                day: r.get(0)?,
                logger: r.get(1)?,
                hours: r.get(2)?,
                temperature: r.get(3)?,
                coldest: r.get(4)?,
                warmest: r.get(5)?,
                air_hours: r.get(6)?,
                humidity: r.get(7)?,
                deficit: r.get(8)?,
                flat_hours: r.get(9)?,
            })
        })?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }

    /// Lines of loggers' files of a place that were not taken, the latest file first.
    ///
    /// # Errors
    /// Those of the file.
    pub fn refused(&self, place: i64) -> Result<Vec<RefusedRow>> {
        let mut stmt = self.conn().prepare_cached(
            "SELECT o.uid, x.logger, x.origin, x.lines FROM refused x
             JOIN operation o ON o.seq = x.op
             WHERE x.subject = ?1 AND x.live ORDER BY x.op DESC, x.id",
        )?;
        let rows = stmt.query_map([place], |r| {
            let lines: String = r.get(3)?;
            Ok(RefusedRow {
                operation: r.get(0)?,
                logger: r.get(1)?,
                origin: r.get(2)?,
                lines: serde_json::from_str(&lines).unwrap_or_default(),
            })
        })?;
        let mut out: Vec<RefusedRow> = Vec::new();
        for row in rows {
            let row = row?;
            match out.last_mut().filter(|l| l.operation == row.operation && l.logger == row.logger)
            {
                Some(last) => last.lines.extend(row.lines),
                None => out.push(row),
            }
        }
        Ok(out)
    }
}
