//! `umbel calc air`.

use std::path::PathBuf;

use clap::Args;
use culture::air::{Air, STANDARD_PRESSURE};
use serde_json::Value;

use crate::{
    Result, out_of_range,
    table::{Input, Row},
};

/// Vapour pressure deficit, dew point and wet bulb of air
#[derive(Debug, Args)]
#[command(after_help = "\
Adds es_kPa, ea_kPa, vpd_kPa, leaf_vpd_kPa, dewpoint_C, wetbulb_C and absolute_g_m3 to each row.
Below 0 °C dewpoint_C is the frost point over ice; it is empty for air without any vapour, and
leaf_vpd_kPa is empty where leaf_minus_air is not given. Temperatures are in °C.")]
pub struct AirArgs {
    /// A CSV with the columns T_C, RH_pct and, for leaves, leaf_minus_air
    pub file: PathBuf,
    /// The pressure of the air in kPa, for the wet bulb
    #[arg(long, value_name = "KPA", default_value_t = STANDARD_PRESSURE.value)]
    pub pressure: f64,
}

const NEW: [&str; 7] =
    ["es_kPa", "ea_kPa", "vpd_kPa", "leaf_vpd_kPa", "dewpoint_C", "wetbulb_C", "absolute_g_m3"];

/// Runs it.
pub fn run(args: &AirArgs) -> Result {
    let pressure = args.pressure;
    if !(30.0..=120.0).contains(&pressure) {
        return Err(crate::Problem::input(
            format!("--pressure: “{pressure}” is not a pressure from 30 to 120 kPa"),
            "give it in kPa, such as 101.325",
        ));
    }
    Input::read(&args.file)?.each_row(&NEW, |row| of_row(row, pressure))
}

fn of_row(row: &Row<'_>, pressure: f64) -> Result<Vec<Value>> {
    let (temperature, humidity) = (row.number("T_C")?, row.number("RH_pct")?);
    let air = Air::new(temperature, humidity).map_err(|e| {
        let column = if e.quantity == "relative humidity" { "RH_pct" } else { "T_C" };
        out_of_range::cell(row, column, &e)
    })?;
    let leaf = match row.maybe("leaf_minus_air")? {
        Some(offset) if (-20.0..=20.0).contains(&offset) => Some(air.leaf_deficit(offset)),
        Some(_) => {
            return Err(row.refuse(
                "leaf_minus_air",
                "a difference from -20 to 20 K",
                "give how much warmer the leaf is than the air",
            ));
        }
        None => None,
    };
    Ok(vec![
        air.saturation().into(),
        air.vapour_pressure().into(),
        air.deficit().into(),
        leaf.into(),
        air.dew_point().map(|d| d.temperature).into(),
        air.wet_bulb(pressure).into(),
        air.absolute_humidity().into(),
    ])
}
