//! What a conductivity meter should show, and what its reading means.

use serde::Serialize;

use crate::{
    Basis, Constant, Estimate, Spread,
    limits::{OutOfRange, within},
};

const SLOPE: Constant = Constant {
    name: "conductivity_per_nitrogen",
    value: 0.007,
    unit: "(mS/cm)/(mg/L)",
    spread: Spread::Range(0.0065, 0.0075),
    basis: Basis::Memory,
    source: "labels of 20-10-20 and 13-3-15 types; read yours from its label",
};
const COEFFICIENT: Constant = Constant {
    name: "conductivity_per_kelvin",
    value: 0.02,
    unit: "1/K",
    spread: Spread::Range(0.018, 0.022),
    basis: Basis::Published,
    source: "aqion.de/site/112, temperature compensation for conductivity; instrument manuals",
};
const CATIONS: Constant = Constant {
    name: "cations_per_conductivity",
    value: 10.0,
    unit: "(meq/L)/(mS/cm)",
    spread: Spread::Range(9.0, 12.0),
    basis: Basis::Memory,
    source: "USDA Agriculture Handbook 60; FAO Irrigation and Drainage Paper 29",
};
const RESIDUAL: Constant = Constant {
    name: "conductivity_residual_flagged",
    value: 20.0,
    unit: "%",
    spread: Spread::None,
    basis: Basis::CommonPractice,
    source: "",
};

pub(super) const CONSTANTS: [Constant; 4] = [SLOPE, COEFFICIENT, CATIONS, RESIDUAL];

/// Conductivity for each mg/L of nitrogen from a row of a label: mS/cm at so many mg/L; without a
/// label the default for ordinary feeds, 0.0065 to 0.0075.
///
/// # Errors
/// When the row of the label is out of range.
pub fn label_slope(row: Option<(f64, f64)>) -> Result<Estimate, OutOfRange> {
    let Some((ppm, conductivity)) = row else {
        return Ok(Estimate::spread(SLOPE.value, SLOPE.spread));
    };
    within("nitrogen in the row of the label", ppm, "mg/L", 1e-6, 1e5)?;
    within("conductivity in the row of the label", conductivity, "mS/cm", 1e-6, 200.0)?;
    Ok(Estimate::exact(conductivity / ppm))
}

/// Conductivity \[mS/cm\] of water with so much nitrogen \[mg/L\] mixed in.
pub fn mixed(water: f64, nitrogen: f64, slope: &Estimate) -> Estimate {
    slope.map(|s| water + nitrogen * s)
}

/// Nitrogen \[mg/L\] from the conductivities \[mS/cm\] of the feed and of its water. Below 0 when
/// the feed conducts less than its water, which no feed does.
pub fn ppm_from_conductivity(measured: f64, water: f64, slope: f64) -> f64 {
    (measured - water) / slope
}

/// Conductivity at 25 °C from a reading at another temperature \[°C\], linear with so much for
/// each kelvin (0.02 unless known).
///
/// # Errors
/// When the temperature is outside of 0 to 50 °C or the coefficient outside of 0 to 0.035.
pub fn ec25(
    reading: f64,
    temperature: f64,
    coefficient: Option<f64>,
) -> Result<Estimate, OutOfRange> {
    within("conductivity", reading, "mS/cm", 0.0, 200.0)?;
    let away = within("temperature of the solution", temperature, "°C", 0.0, 50.0)? - 25.0;
    let at_25 = |c: f64| reading / (1.0 + c * away);
    match coefficient {
        Some(c) => Ok(Estimate::exact(at_25(within("coefficient", c, "1/K", 0.0, 0.035)?))),
        None => Ok(Estimate::spread(COEFFICIENT.value, COEFFICIENT.spread).map(at_25)),
    }
}

/// A reading beside what was expected.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Meter {
    /// Measured \[mS/cm\].
    pub measured: f64,
    /// Expected \[mS/cm\].
    pub expected: Estimate,
    /// Measured above expected \[%\].
    pub residual: f64,
    /// Whether it is more than 20 % off: a wrong scoop, damp salt, or urea, which no meter shows.
    pub off: bool,
}

/// Compares a reading with what was expected.
///
/// # Errors
/// When what was expected is not above 0.
pub fn compare(measured: f64, expected: Estimate) -> Result<Meter, OutOfRange> {
    within("conductivity expected", expected.value, "mS/cm", 1e-9, 1e3)?;
    let residual = 100.0 * (measured / expected.value - 1.0);
    Ok(Meter { measured, expected, residual, off: residual.abs() > RESIDUAL.value })
}

/// Conductivity \[mS/cm\] that a water report's cations \[mg/L\] imply: calcium, magnesium, sodium,
/// potassium. Their sum in meq/L is about ten times the conductivity.
pub fn cations_to_conductivity(
    calcium: f64,
    magnesium: f64,
    sodium: f64,
    potassium: f64,
) -> Estimate {
    let sum = calcium / 20.04 + magnesium / 12.15 + sodium / 22.99 + potassium / 39.10;
    Estimate::spread(CATIONS.value, CATIONS.spread).map(|c| sum / c)
}
