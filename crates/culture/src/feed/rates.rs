//! How much nitrogen suits what, and how light changes it.

use serde::Serialize;

use crate::{
    Basis, Constant, Spread,
    limits::{OutOfRange, within},
};

/// Nitrogen \[mg/L\] in every watering, at growing light.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Rate {
    /// For what.
    pub plants: &'static str,
    /// Nitrogen \[mg/L\].
    pub nitrogen: Constant,
}

macro_rules! rate {
    ($plants:literal, $value:literal, $least:literal, $most:literal, $basis:expr, $source:literal) => {
        Rate {
            plants: $plants,
            nitrogen: Constant {
                name: concat!("nitrogen for ", $plants),
                value: $value,
                unit: "mg/L",
                spread: Spread::Range($least, $most),
                basis: $basis,
                source: $source,
            },
        }
    };
}

/// Rates of constant feeding.
pub const RATES: [Rate; 6] = [
    rate!("foliage in low light", 50.0, 30.0, 75.0, Basis::CommonPractice, ""),
    rate!("aroids", 100.0, 75.0, 125.0, Basis::CommonPractice, ""),
    rate!("thick-leaved epiphytic climbers", 85.0, 75.0, 100.0, Basis::CommonPractice, ""),
    rate!("gesneriads", 60.0, 50.0, 75.0, Basis::CommonPractice, ""),
    rate!("begonias", 75.0, 50.0, 100.0, Basis::CommonPractice, ""),
    rate!(
        "orchids",
        125.0,
        100.0,
        150.0,
        Basis::Published,
        "Szyren, Michigan State University, as told by an orchid society's article"
    ),
];

pub(super) fn constants() -> Vec<Constant> {
    RATES.iter().map(|r| r.nitrogen).collect()
}

/// Nitrogen \[mg/L\] for less light than the rate is meant for: in proportion, never more than the
/// rate. Daily light in mol/(m² d). Common practice; stop when nothing has grown for 30 days.
///
/// # Errors
/// When a number is out of range.
pub fn scaled_by_light(rate: f64, light: f64, reference: f64) -> Result<f64, OutOfRange> {
    within("nitrogen of the rate", rate, "mg/L", 0.0, 1e4)?;
    within("daily light", light, "mol/(m² d)", 0.0, 80.0)?;
    within("daily light of the rate", reference, "mol/(m² d)", 1e-3, 80.0)?;
    Ok(rate * (light / reference).min(1.0))
}

/// Nitrogen \[mg\] that a pot gets in a month: concentration \[mg/L\], volume \[L\], how often. A
/// quarter of the strength every week is the full strength once a month, with a lower peak.
pub fn monthly_mass(nitrogen: f64, litres: f64, times: f64) -> f64 {
    nitrogen * litres * times
}
