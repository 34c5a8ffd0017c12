//! `umbel calc sun`.

use std::path::PathBuf;

use clap::Args;
use culture::light::sun::{Moment, position};

use crate::{
    Result,
    light::{PLACE, parts, place, refused, utc},
    table::Input,
};

/// Where the sun stands: zenith and compass direction
#[derive(Debug, Args)]
#[command(after_help = "\
Columns: lat,lon,utc. Adds zenith (geometric, without refraction) and azimuth (clockwise from
north), in degrees.")]
pub struct SunArgs {
    /// Rows of places and moments
    pub file: PathBuf,
}

/// Runs it.
pub fn run(args: &SunArgs) -> Result {
    Input::read(&args.file)?.each_row(&["zenith", "azimuth"], |row| {
        let place = place(row)?;
        let at = utc(row, "utc")?;
        let clock = [at.hour(), at.minute()].map(|n| u32::from(n.unsigned_abs()));
        let second = f64::from(at.second()) + f64::from(at.subsec_nanosecond()) / 1e9;
        let columns = [("moment", "utc"), PLACE[0], PLACE[1]];
        let sun = Moment::utc(parts(at.date()), (clock[0], clock[1], second))
            .and_then(|moment| position(place, moment))
            .map_err(|e| refused(row, &e, &columns))?;
        Ok(vec![sun.zenith.into(), sun.azimuth.into()])
    })
}
