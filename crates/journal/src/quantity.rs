//! Quantities, kept as typed and as a canonical unit.

use serde::{Deserialize, Serialize};

/// What is measured. Each has one canonical unit in which values are compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Dimension {
    /// Lengths and pot widths \[cm\].
    Length,
    /// Volumes \[l\].
    Volume,
    /// Masses \[g\].
    Mass,
    /// Temperatures \[°C\].
    Temperature,
    /// Shares in hundred \[%\].
    Percent,
    /// Illuminance \[lx\].
    Illuminance,
    /// Photosynthetic photon flux density \[µmol m⁻² s⁻¹\].
    PhotonFlux,
    /// Electrical conductivity \[mS/cm\].
    Conductivity,
    /// Durations \[d\].
    Time,
    /// A pot: its width \[cm\] or its volume \[l\]; the unit tells which.
    Pot,
}

/// A value with its unit, as typed and canonical.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Quantity {
    /// Exactly what was typed, such as `3.5"`.
    pub typed: String,
    /// The value in the canonical unit.
    pub value: f64,
    /// The canonical unit.
    pub unit: String,
}

/// Why a text is not a quantity.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum QuantityError {
    /// No number at the front.
    #[error(
        "“{0}” does not begin with a number; write the number first and then the unit, such as 9 cm"
    )]
    NoNumber(String),
    /// A unit that does not belong to what is measured.
    #[error("“{unit}” in “{typed}” is no unit for this; known here: {known}")]
    Unit {
        /// The whole text.
        typed: String,
        /// The unit found.
        unit: String,
        /// Units that are known.
        known: String,
    },
    /// Out of any possible range.
    #[error("“{typed}” is outside what is possible here ({low} to {high} {unit})")]
    Range {
        /// The whole text.
        typed: String,
        /// Smallest possible value.
        low: f64,
        /// Largest possible value.
        high: f64,
        /// Canonical unit.
        unit: &'static str,
    },
}

/// A unit: its spellings, factor and offset into the canonical unit, and that unit.
struct Unit(&'static [&'static str], f64, f64, &'static str);

const LENGTH: &[Unit] = &[
    Unit(&["cm"], 1.0, 0.0, "cm"),
    Unit(&["mm"], 0.1, 0.0, "cm"),
    Unit(&["m"], 100.0, 0.0, "cm"),
    Unit(&["in", "inch", "inches", "\"", "″", "”", "zoll"], 2.54, 0.0, "cm"),
    Unit(&["ft", "'"], 30.48, 0.0, "cm"),
];
const VOLUME: &[Unit] = &[
    Unit(&["l", "liter", "litre", "liters", "litres"], 1.0, 0.0, "l"),
    Unit(&["ml"], 0.001, 0.0, "l"),
    Unit(&["gal"], 3.785_411_784, 0.0, "l"),
];
const MASS: &[Unit] = &[
    Unit(&["g"], 1.0, 0.0, "g"),
    Unit(&["kg"], 1000.0, 0.0, "g"),
    Unit(&["mg"], 0.001, 0.0, "g"),
    Unit(&["oz"], 28.349_523_125, 0.0, "g"),
];
const TEMPERATURE: &[Unit] = &[
    Unit(&["°c", "c", "grad"], 1.0, 0.0, "°C"),
    Unit(&["°f", "f"], 5.0 / 9.0, -160.0 / 9.0, "°C"),
];
const PERCENT: &[Unit] = &[Unit(&["%", "percent", "prozent"], 1.0, 0.0, "%")];
const LIGHT: &[Unit] =
    &[Unit(&["lx", "lux"], 1.0, 0.0, "lx"), Unit(&["fc"], 10.763_910_417, 0.0, "lx")];
const PHOTONS: &[Unit] = &[Unit(
    &["µmol", "umol", "μmol", "µmol/m²/s", "umol/m2/s", "µmol m⁻² s⁻¹"],
    1.0,
    0.0,
    "µmol m⁻² s⁻¹",
)];
const CONDUCTIVITY: &[Unit] = &[
    Unit(&["ms/cm", "ms", "ec"], 1.0, 0.0, "mS/cm"),
    Unit(&["µs/cm", "us/cm", "µs", "us", "μs/cm"], 0.001, 0.0, "mS/cm"),
];
const TIME: &[Unit] = &[
    Unit(&["d", "day", "days", "tag", "tage"], 1.0, 0.0, "d"),
    Unit(&["h", "hour", "hours", "std"], 1.0 / 24.0, 0.0, "d"),
    Unit(&["w", "week", "weeks", "woche", "wochen"], 7.0, 0.0, "d"),
];

impl Dimension {
    fn units(self) -> Vec<&'static [Unit]> {
        match self {
            Self::Length => vec![LENGTH],
            Self::Volume => vec![VOLUME],
            Self::Mass => vec![MASS],
            Self::Temperature => vec![TEMPERATURE],
            Self::Percent => vec![PERCENT],
            Self::Illuminance => vec![LIGHT],
            Self::PhotonFlux => vec![PHOTONS],
            Self::Conductivity => vec![CONDUCTIVITY],
            Self::Time => vec![TIME],
            Self::Pot => vec![LENGTH, VOLUME],
        }
    }

    /// The unit that a bare number is taken in, and the canonical unit.
    #[must_use]
    pub fn canonical(self) -> &'static str {
        self.units().first().and_then(|u| u.first()).map_or("", |u| u.3)
    }

    /// The range in which any real value lies, in canonical units. Limits of sense, not of care.
    #[must_use]
    pub fn range(self) -> (f64, f64) {
        match self {
            Self::Length | Self::Pot => (0.0, 5_000.0),
            Self::Volume => (0.0, 10_000.0),
            Self::Mass => (0.0, 1_000_000.0),
            Self::Temperature => (-60.0, 90.0),
            Self::Percent => (0.0, 105.0),
            Self::Illuminance => (0.0, 200_000.0),
            Self::PhotonFlux => (0.0, 3_000.0),
            Self::Conductivity => (0.0, 60.0),
            Self::Time => (0.0, 40_000.0),
        }
    }
}

impl Quantity {
    /// Reads `typed`, with a decimal point or comma; a bare number is in the canonical unit.
    ///
    /// # Errors
    /// If there is no number, the unit is not one of this dimension, or the value is impossible.
    pub fn read(typed: &str, dimension: Dimension) -> Result<Self, QuantityError> {
        let text = typed.trim();
        let end = text
            .char_indices()
            .find(|(i, c)| {
                !(c.is_ascii_digit() || ".,".contains(*c) || (*i == 0 && "-+−".contains(*c)))
            })
            .map_or(text.len(), |(i, _)| i);
        let number = text[..end].replace('−', "-").replace(',', ".");
        let number: f64 = number.parse().map_err(|_| QuantityError::NoNumber(typed.to_owned()))?;
        let unit = text[end..].trim().to_lowercase();
        let tables = dimension.units();
        let found = tables.iter().flat_map(|t| t.iter()).find(|u| {
            if unit.is_empty() {
                u.3 == dimension.canonical()
            } else {
                u.0.contains(&unit.as_str())
            }
        });
        let Some(Unit(_, factor, offset, canonical)) = found else {
            let known: Vec<_> = tables.iter().flat_map(|t| t.iter()).map(|u| u.0[0]).collect();
            return Err(QuantityError::Unit {
                typed: typed.to_owned(),
                unit,
                known: known.join(", "),
            });
        };
        let value = number * factor + offset;
        let (low, high) = dimension.range();
        if !value.is_finite() || value < low || value > high {
            return Err(QuantityError::Range {
                typed: typed.to_owned(),
                low,
                high,
                unit: dimension.canonical(),
            });
        }
        Ok(Self { typed: typed.to_owned(), value, unit: (*canonical).to_owned() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_keep_what_was_typed_and_know_their_unit() {
        // Conversion factors are exact definitions (inch, ounce, Fahrenheit); 1e-9 covers rounding.
        let cases = [
            ("3.5\"", Dimension::Pot, 8.89, "cm"),
            ("9", Dimension::Pot, 9.0, "cm"),
            ("2 L", Dimension::Pot, 2.0, "l"),
            ("10,5 cm", Dimension::Length, 10.5, "cm"),
            ("68 °F", Dimension::Temperature, 20.0, "°C"),
            ("-3 °C", Dimension::Temperature, -3.0, "°C"),
            ("850 µS/cm", Dimension::Conductivity, 0.85, "mS/cm"),
            ("1 oz", Dimension::Mass, 28.349_523_125, "g"),
            ("36 h", Dimension::Time, 1.5, "d"),
        ];
        for (typed, dimension, value, unit) in cases {
            let q = Quantity::read(typed, dimension).unwrap();
            assert!((q.value - value).abs() < 1e-9, "{typed}: {}", q.value);
            assert_eq!((q.unit.as_str(), q.typed.as_str()), (unit, typed));
        }
        assert!(matches!(
            Quantity::read("212 °F", Dimension::Temperature),
            Err(QuantityError::Range { .. })
        ));
        assert!(matches!(Quantity::read("big", Dimension::Pot), Err(QuantityError::NoNumber(_))));
        assert!(matches!(Quantity::read("9 kg", Dimension::Pot), Err(QuantityError::Unit { .. })));
    }
}
