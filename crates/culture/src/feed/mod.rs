//! Fertiliser: from the label to the can, what a conductivity meter should show, blending of
//! waters, and salts that stay behind.
//!
//! Concentrations are in mg/L, which growers call ppm, and conductivities in mS/cm at 25 °C. No
//! doses of acid are given; hard water is made softer by blending alone.

mod blend;
mod conductivity;
mod label;
mod rates;
mod salts;
mod stock;

pub use blend::{CalciumMagnesium, Water, alkalinity_in_meq, blend_share, calcium_magnesium};
pub use conductivity::{
    Meter, cations_to_conductivity, compare, ec25, label_slope, mixed, ppm_from_conductivity,
};
pub use label::{Label, Nitrogen, Nutrients, PhDirection, Spoon, tank};
pub use rates::{RATES, Rate, monthly_mass, scaled_by_light};
pub use salts::{
    Budget, Event, PotWater, drainage_alarm, flush_share, leaching_fraction, leaching_requirement,
    steady_drainage, volumes_to_flush,
};
pub use stock::{
    SOLUBILITIES, Solubility, StockProblem, check_stock, ounces_per_100_gallons,
    ounces_per_gallon_of_stock, ppm_from_ounces_in_100_gallons, stock_strength,
};

use crate::Constant;

/// What must be said beside these numbers.
pub const CAUTIONS: [&str; 4] = [
    "Keep fertiliser dry, in its labelled package, away from children, pets, food and fuel: \
     nitrates feed a fire.",
    "Do not pour leftovers or drainage into drains and waters: nitrate runs off.",
    "Do not spray leaves with more than 100 mg/L of nitrogen.",
    "Pale leaves may come from lost roots rather than from hunger: look at the roots before \
     feeding more.",
];

/// Every constant of this module.
pub fn constants() -> Vec<Constant> {
    let mut all = label::CONSTANTS.to_vec();
    all.extend(stock::constants());
    all.extend(conductivity::CONSTANTS);
    all.extend(blend::CONSTANTS);
    all.extend(rates::constants());
    all.extend(salts::CONSTANTS);
    all
}
