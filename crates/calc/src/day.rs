//! `umbel calc day`.

use std::path::PathBuf;

use clap::Args;
use culture::light::{
    day::{CIVIL_TWILIGHT_ALTITUDE, SUNRISE_ALTITUDE, YearDay, sun_day},
    sun::Moment,
};
use jiff::Timestamp;
use serde_json::Value;

use crate::{
    Result,
    light::{date, place, refused},
    table::{Input, Row},
};

/// Day length, twilight and radiation above the air
#[derive(Debug, Args)]
#[command(after_help = "\
Columns: lat,doy, or lat,lon,date. Adds Ra_MJ and N_h (FAO-56), the hours in which the centre of
the sun is above -0.833 and above -6 degrees, and sunrise and sunset in universal time, which need
longitude and date. In the polar day and the polar night these are null.")]
pub struct DayArgs {
    /// Rows of latitudes and days
    pub file: PathBuf,
}

const NEW: [&str; 6] =
    ["Ra_MJ", "N_h", "hours_above_minus0p833", "hours_above_minus6", "sunrise_utc", "sunset_utc"];

/// Runs it.
pub fn run(args: &DayArgs) -> Result {
    Input::read(&args.file)?.each_row(&NEW, |row| match row.text("date") {
        Some(_) => by_date(row),
        None => by_day_of_year(row),
    })
}

fn by_date(row: &Row<'_>) -> Result<Vec<Value>> {
    let place = place(row)?;
    let (civil, date) = date(row, "date")?;
    let columns = [("date", "date"), ("latitude", "lat")];
    let number = u32::from(civil.day_of_year().unsigned_abs());
    let day = YearDay::new(place.latitude(), number).map_err(|e| refused(row, &e, &columns))?;
    let sun = sun_day(place, date).map_err(|e| refused(row, &e, &columns))?;
    Ok(vec![
        day.extraterrestrial().into(),
        day.daylight_hours().into(),
        sun.hours_above_minus0p833.into(),
        sun.hours_above_minus6.into(),
        sun.sunrise.and_then(written).into(),
        sun.sunset.and_then(written).into(),
    ])
}

fn by_day_of_year(row: &Row<'_>) -> Result<Vec<Value>> {
    let latitude = row.number("lat")?;
    let typed = row.number("doy")?;
    let whole = (typed.fract() == 0.0 && (1.0..=366.0).contains(&typed)).then_some(typed as u32);
    let number = whole.ok_or_else(|| {
        row.refuse("doy", "a whole number from 1 to 366", "count the days from 1 January as 1")
    })?;
    let day = YearDay::new(latitude, number)
        .map_err(|e| refused(row, &e, &[("latitude", "lat"), ("day of the year", "doy")]))?;
    Ok(vec![
        day.extraterrestrial().into(),
        day.daylight_hours().into(),
        day.hours_above(SUNRISE_ALTITUDE.value).into(),
        day.hours_above(CIVIL_TWILIGHT_ALTITUDE.value).into(),
        Value::Null,
        Value::Null,
    ])
}

/// A moment to the second, as `2024-06-21T03:43:14Z`.
fn written(moment: Moment) -> Option<String> {
    let second = moment.unix_seconds().round() as i64;
    Timestamp::from_second(second).ok().map(|t| t.to_string())
}
