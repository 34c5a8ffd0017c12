//! `umbel calc evapotranspiration`.

use std::path::PathBuf;

use clap::Args;
use culture::evapotranspiration::Weather;

use crate::{Result, out_of_range, table::Input};

/// Reference evapotranspiration of a day, FAO-56 Penman–Monteith
#[derive(Debug, Args)]
#[command(after_help = "\
Adds ETo_mm to each row. lat in degrees north, elev in m, tmax and tmin in °C, rhmax and rhmin in %,
u2 (wind at 2 m) in m/s, Rs_MJ in MJ/(m² d).")]
pub struct EvapotranspirationArgs {
    /// A CSV with the columns lat, doy, elev, tmax, tmin, rhmax, rhmin, u2, Rs_MJ
    pub file: PathBuf,
}

/// Runs it.
pub fn run(args: &EvapotranspirationArgs) -> Result {
    Input::read(&args.file)?.each_row(&["ETo_mm"], |row| {
        let weather = Weather {
            latitude: row.number("lat")?,
            day_of_year: row.number("doy")?,
            elevation: row.number("elev")?,
            warmest: row.number("tmax")?,
            coldest: row.number("tmin")?,
            moistest: row.number("rhmax")?,
            driest: row.number("rhmin")?,
            wind: row.number("u2")?,
            radiation: row.number("Rs_MJ")?,
        };
        let found =
            weather.reference().map_err(|e| out_of_range::cell(row, column_of(e.quantity), &e))?;
        Ok(vec![found.evapotranspiration.into()])
    })
}

/// The column of a quantity that was refused.
fn column_of(quantity: &str) -> &'static str {
    match quantity {
        "latitude" => "lat",
        "day of the year" => "doy",
        "elevation" => "elev",
        "highest temperature" => "tmax",
        "lowest temperature" => "tmin",
        "highest relative humidity" => "rhmax",
        "lowest relative humidity" => "rhmin",
        "wind" => "u2",
        _ => "Rs_MJ",
    }
}
