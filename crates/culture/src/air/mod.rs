//! Humidity of the air, and what it does to leaves and to glass.
//!
//! Vapour pressures are in kPa and temperatures in °C. What dries a leaf is the vapour pressure
//! deficit, not the relative humidity; the mean of a day is the mean of its moments, since the
//! deficit of a mean temperature is smaller than the mean deficit.

mod classes;
mod day;
mod glass;
mod odd;
mod series;
mod vapour;

pub use classes::{DeficitClass, classes, classes_of, disease_watch, stress_watch};
pub use day::{AirOfDay, MARGIN_OF_DAY, Sample, air_of_day, flat_samples};
pub use glass::{
    GLAZINGS, Glass, Glazing, WetSpan, glass_inner_face, leaf_may_be_wet, nights_with_dew,
    wet_spans,
};
pub use odd::{Odd, odd_readings};
pub use series::{DayDeficit, LeafOffset, Reading, daily_deficits};
pub use vapour::STANDARD_PRESSURE;
pub use vapour::{
    Air, DewPoint, SaltTest, saturation_pressure, saturation_pressure_over_ice, saturation_slope,
};

use crate::Constant;

/// Every constant of this module.
pub fn constants() -> Vec<Constant> {
    let mut all = vapour::CONSTANTS.to_vec();
    all.extend(glass::CONSTANTS);
    all.extend(GLAZINGS.iter().map(|g| g.transmittance));
    all.extend(series::CONSTANTS);
    all.extend(odd::CONSTANTS);
    all.extend(classes::constants());
    all
}
