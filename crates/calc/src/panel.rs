//! `umbel calc panel`.

use std::path::PathBuf;

use clap::Args;
use culture::light::lamp::{Emitter, Lamp, Leaf};

use crate::{Result, light::refused, table::Input};

/// Light under a flat lamp without a lens
#[derive(Debug, Args)]
#[command(after_help = "\
Columns: width_m,length_m,photon_flux_umol_s,x_m,y_m,z_m: the lamp is width_m along x and length_m
along y; the leaf lies flat, x_m and y_m to the side of the middle of the lamp and z_m below it.
Adds view_factor and ppfd (umol m-2 s-1), without walls. Keep lamps and their drivers dry.")]
pub struct PanelArgs {
    /// Rows of lamps and leaves
    pub file: PathBuf,
}

const COLUMNS: [(&str, &str); 3] =
    [("width", "width_m"), ("length", "length_m"), ("photon flux", "photon_flux_umol_s")];

/// Runs it.
pub fn run(args: &PanelArgs) -> Result {
    Input::read(&args.file)?.each_row(&["view_factor", "ppfd"], |row| {
        let emitter =
            Emitter::Panel { width: row.number("width_m")?, length: row.number("length_m")? };
        let flux = row.number("photon_flux_umol_s")?;
        let lamp = Lamp::new(emitter, flux, [0.0; 3]).map_err(|e| refused(row, &e, &COLUMNS))?;
        let z = row.number("z_m")?;
        if z <= 0.0 {
            return Err(row.refuse(
                "z_m",
                "above zero",
                "give metres from the lamp down to the leaf",
            ));
        }
        let point = [row.number("x_m")?, row.number("y_m")?, -z];
        let factor = lamp.view_factor(point).unwrap_or(0.0);
        Ok(vec![factor.into(), lamp.ppfd(point, Leaf::FLAT).into()])
    })
}
