//! What the calculators of light share: places, dates, and whose cell an error is about.

use culture::light::{LightError, sun::Place};
use jiff::{Timestamp, civil};

use crate::{Problem, Result, table::Row};

/// Says which cell an error is about: the column of the quantity that it names, else the first.
pub fn refused(row: &Row<'_>, error: &LightError, columns: &[(&str, &str)]) -> Problem {
    let first = columns.first().map_or("", |(_, column)| column);
    match error {
        LightError::OutOfRange { quantity, expected, next, .. } => {
            let column = columns.iter().find(|(q, _)| q == quantity).map_or(first, |(_, c)| c);
            row.refuse(column, *expected, next)
        }
        LightError::Time { why, next } => {
            row.refuse(first, format!("a date at which the sun is known ({why})"), next)
        }
        other => row.refuse(first, other.to_string(), "correct the cell"),
    }
}

/// The columns of a place.
pub const PLACE: [(&str, &str); 2] = [("latitude", "lat"), ("longitude", "lon")];

/// The place of a row: columns `lat` and `lon`.
pub fn place(row: &Row<'_>) -> Result<Place> {
    Place::new(row.number("lat")?, row.number("lon")?).map_err(|e| refused(row, &e, &PLACE))
}

/// A calendar date as year, month and day.
pub fn date(row: &Row<'_>, column: &str) -> Result<(civil::Date, (i32, u32, u32))> {
    let read = row.text(column).and_then(|text| text.parse::<civil::Date>().ok());
    let read = read
        .ok_or_else(|| row.refuse(column, "a date", "write year-month-day, such as 2024-06-21"))?;
    Ok((read, parts(read)))
}

/// A moment in universal time; without a zone it is taken as such.
pub fn utc(row: &Row<'_>, column: &str) -> Result<civil::DateTime> {
    let text = row.text(column).unwrap_or("");
    let zoned = text.parse::<Timestamp>().map(|t| jiff::tz::Offset::UTC.to_datetime(t));
    zoned.or_else(|_| text.parse::<civil::DateTime>()).map_err(|_| {
        row.refuse(column, "a moment", "write date and time such as 2024-06-21T12:00:00Z")
    })
}

/// Year, month and day.
pub fn parts(date: civil::Date) -> (i32, u32, u32) {
    (date.year().into(), date.month().unsigned_abs().into(), date.day().unsigned_abs().into())
}
