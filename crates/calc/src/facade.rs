//! `umbel calc facade`.

use std::path::PathBuf;

use clap::Args;
use culture::light::{
    sky::{ALBEDO, LINKE_TURBIDITY, Outdoors, clear_day, on_facade},
    sun::Sun,
};
use serde_json::Value;

use crate::{
    Result,
    light::{date, place, refused},
    table::{Input, Row},
};

/// Light on an upright plane: from the sun, the sky and the ground
#[derive(Debug, Args)]
#[command(after_help = "\
Columns: zenith,azimuth,ghi,dni,dhi,window_azimuth. Adds direct, sky, ground and total in the unit
of ghi, dni and dhi, for a sky that is equally bright all over.

With --daily the columns are lat,lon,date,window_azimuth and optionally turbidity,albedo; adds the
sums of a cloudless day in MJ m-2: direct, sky, ground and total on the plane; horizontal, beam and
diffuse outdoors; and the hours with sun on the plane.")]
pub struct FacadeArgs {
    /// Rows of light and directions
    pub file: PathBuf,
    /// Sums of a cloudless day
    #[arg(long)]
    pub daily: bool,
    /// Share of light that the ground sends back, where no column albedo says so
    #[arg(long, value_name = "SHARE", default_value_t = ALBEDO.value)]
    pub albedo: f64,
    /// Linke turbidity of the air, where no column turbidity says so
    #[arg(long, value_name = "NUMBER", default_value_t = LINKE_TURBIDITY.value)]
    pub turbidity: f64,
}

const FACE: [&str; 4] = ["direct", "sky", "ground", "total"];
const DAILY: [&str; 8] = [
    "direct",
    "sky",
    "ground",
    "total",
    "horizontal_MJ",
    "beam_MJ",
    "diffuse_MJ",
    "hours_direct_sun",
];

/// Runs it.
pub fn run(args: &FacadeArgs) -> Result {
    for (name, value, (low, high)) in
        [("--albedo", args.albedo, (0.0, 1.0)), ("--turbidity", args.turbidity, (1.0, 12.0))]
    {
        if !(low..=high).contains(&value) {
            return Err(crate::Problem::input(
                format!("{name} {value} is not between {low} and {high}"),
                "leave the option out for an ordinary value",
            ));
        }
    }
    let input = Input::read(&args.file)?;
    if args.daily {
        input.each_row(&DAILY, |row| daily(args, row))
    } else {
        input.each_row(&FACE, |row| instant(args, row))
    }
}

fn instant(args: &FacadeArgs, row: &Row<'_>) -> Result<Vec<Value>> {
    let zenith = row.number("zenith")?;
    if !(0.0..=180.0).contains(&zenith) {
        return Err(row.refuse("zenith", "an angle from 0 to 180", "0 is straight up"));
    }
    let sun = Sun { zenith, azimuth: row.number("azimuth")? };
    let light = Outdoors {
        global: row.number("ghi")?,
        beam: row.number("dni")?,
        diffuse: row.number("dhi")?,
    };
    let albedo = row.maybe("albedo")?.unwrap_or(args.albedo);
    let face = on_facade(sun, light, row.number("window_azimuth")?, albedo).map_err(|e| {
        let columns = [
            ("global radiation", "ghi"),
            ("beam radiation", "dni"),
            ("diffuse radiation", "dhi"),
            ("albedo", "albedo"),
        ];
        refused(row, &e, &columns)
    })?;
    Ok([face.direct, face.sky, face.ground, face.total()].map(Value::from).to_vec())
}

fn daily(args: &FacadeArgs, row: &Row<'_>) -> Result<Vec<Value>> {
    let place = place(row)?;
    let (_, date) = date(row, "date")?;
    let direction = row.number("window_azimuth")?;
    let turbidity = row.maybe("turbidity")?.unwrap_or(args.turbidity);
    let albedo = row.maybe("albedo")?.unwrap_or(args.albedo);
    let day = clear_day(place, date, direction, turbidity, albedo).map_err(|e| {
        refused(row, &e, &[("date", "date"), ("turbidity", "turbidity"), ("albedo", "albedo")])
    })?;
    let found = [
        day.facade.direct,
        day.facade.sky,
        day.facade.ground,
        day.facade.total(),
        day.global,
        day.beam,
        day.diffuse,
        day.direct_hours,
    ];
    Ok(found.map(Value::from).to_vec())
}
