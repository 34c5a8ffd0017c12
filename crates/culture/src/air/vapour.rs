//! Vapour pressure, deficit, dew point, wet bulb, absolute humidity.

use serde::Serialize;

use crate::{
    Basis, Constant, Estimate, Spread,
    limits::{OutOfRange, within},
};

const FAO56: &str = "Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage Paper 56";

const fn published(name: &'static str, value: f64, unit: &'static str) -> Constant {
    Constant { name, value, unit, spread: Spread::None, basis: Basis::Published, source: FAO56 }
}

const fn ice(name: &'static str, value: f64, unit: &'static str) -> Constant {
    Constant {
        name,
        value,
        unit,
        spread: Spread::None,
        basis: Basis::Memory,
        source: "Murray 1967, J. Appl. Meteorol. 6:203-204 (Magnus form over ice)",
    }
}

const AT_ZERO: Constant = published("saturation_at_zero", 0.6108, "kPa");
const WATER_FACTOR: Constant = published("saturation_water_factor", 17.27, "1");
const WATER_SHIFT: Constant = published("saturation_water_shift", 237.3, "°C");
const ICE_FACTOR: Constant = ice("saturation_ice_factor", 21.875, "1");
const ICE_SHIFT: Constant = ice("saturation_ice_shift", 265.5, "°C");
const MASS_RATIO: Constant = ashrae("molar_mass_vapour_to_air", 0.621_945, "1");
const AIR_HEAT: Constant = ashrae("heat_capacity_air", 1.006, "kJ/(kg K)");
const VAPOUR_HEAT: Constant = ashrae("heat_capacity_vapour", 1.86, "kJ/(kg K)");
const WATER_HEAT: Constant = ashrae("heat_capacity_water", 4.186, "kJ/(kg K)");
const SUBLIMATION: Constant = ashrae("heat_of_sublimation_at_zero", 2830.0, "kJ/kg");
const ICE_HEAT: Constant = ashrae("heat_capacity_ice", 2.1, "kJ/(kg K)");
const EVAPORATION: Constant = ashrae("heat_of_evaporation_at_zero", 2501.0, "kJ/kg");

const fn ashrae(name: &'static str, value: f64, unit: &'static str) -> Constant {
    Constant {
        name,
        value,
        unit,
        spread: Spread::None,
        basis: Basis::Memory,
        source: "ASHRAE Handbook, Fundamentals 2017, chapter 1, eq. 20, 33 and 35",
    }
}

/// Pressure at sea level \[kPa\].
pub const STANDARD_PRESSURE: Constant = Constant {
    name: "standard_pressure",
    value: 101.325,
    unit: "kPa",
    spread: Spread::Range(95.0, 104.0),
    basis: Basis::Definition,
    source: "standard atmosphere at sea level",
};
const VAPOUR_DENSITY: Constant = Constant {
    name: "vapour_density_factor",
    value: 2167.0,
    unit: "g K/(m³ kPa)",
    spread: Spread::Sd(0.5),
    basis: Basis::Definition,
    source: "molar mass of water / gas constant: 18.015/8.3145",
};
const ABSOLUTE_ZERO: Constant = Constant {
    name: "absolute_zero",
    value: -273.15,
    unit: "°C",
    spread: Spread::None,
    basis: Basis::Definition,
    source: "kelvin",
};
const SALT_25: Constant = salt("salt_humidity_25", 75.3);
const SALT_20: Constant = salt("salt_humidity_20", 75.5);

const fn salt(name: &'static str, value: f64) -> Constant {
    Constant {
        name,
        value,
        unit: "%",
        spread: Spread::Sd(0.2),
        basis: Basis::Memory,
        source: "Greenspan 1977, J. Res. NBS 81A:89-96, saturated sodium chloride",
    }
}

pub(super) const CONSTANTS: [Constant; 17] = [
    AT_ZERO,
    WATER_FACTOR,
    WATER_SHIFT,
    ICE_FACTOR,
    ICE_SHIFT,
    MASS_RATIO,
    AIR_HEAT,
    VAPOUR_HEAT,
    WATER_HEAT,
    EVAPORATION,
    SUBLIMATION,
    ICE_HEAT,
    STANDARD_PRESSURE,
    VAPOUR_DENSITY,
    ABSOLUTE_ZERO,
    SALT_25,
    SALT_20,
];

/// Saturation vapour pressure over water \[kPa\] at a temperature \[°C\], Tetens form.
///
/// Source: FAO-56 eq. 11. Within 0.1 % of ASHRAE's formula from 10 to 30 °C.
pub fn saturation_pressure(temperature: f64) -> f64 {
    AT_ZERO.value * (WATER_FACTOR.value * temperature / (temperature + WATER_SHIFT.value)).exp()
}

/// Saturation vapour pressure over ice \[kPa\] at a temperature below 0 \[°C\].
pub fn saturation_pressure_over_ice(temperature: f64) -> f64 {
    AT_ZERO.value * (ICE_FACTOR.value * temperature / (temperature + ICE_SHIFT.value)).exp()
}

/// How fast the saturation vapour pressure rises \[kPa/K\] at a temperature \[°C\].
///
/// Source: FAO-56 eq. 13.
pub fn saturation_slope(temperature: f64) -> f64 {
    let shifted = temperature + WATER_SHIFT.value;
    WATER_FACTOR.value * WATER_SHIFT.value * saturation_pressure(temperature) / (shifted * shifted)
}

/// Air with its temperature and its relative humidity.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Air {
    temperature: f64,
    humidity: f64,
}

/// Where vapour begins to settle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DewPoint {
    /// The temperature \[°C\].
    pub temperature: f64,
    /// Whether it settles as frost: a frost point over ice instead of a dew point over water.
    pub frost: bool,
}

impl Air {
    /// Air at a temperature \[°C\], −40 to 60, and a relative humidity \[%\], 0 to 100.
    ///
    /// # Errors
    /// When one of them is outside of these limits.
    pub fn new(temperature: f64, humidity: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            temperature: within("air temperature", temperature, "°C", -40.0, 60.0)?,
            humidity: within("relative humidity", humidity, "%", 0.0, 100.0)?,
        })
    }

    /// Air as a sensor gives it: readings up to 105 % are taken as saturated, since sensors drift
    /// upwards when wet.
    ///
    /// # Errors
    /// When the temperature is outside of −10 to 60 °C or the humidity outside of 0 to 105 %.
    pub fn from_sensor(temperature: f64, humidity: f64) -> Result<Self, OutOfRange> {
        within("air temperature", temperature, "°C", -10.0, 60.0)?;
        within("relative humidity", humidity, "%", 0.0, 105.0)?;
        Self::new(temperature, humidity.min(100.0))
    }

    /// The temperature \[°C\].
    pub fn temperature(&self) -> f64 {
        self.temperature
    }

    /// The relative humidity \[%\].
    pub fn humidity(&self) -> f64 {
        self.humidity
    }

    /// Saturation vapour pressure at its temperature \[kPa\].
    pub fn saturation(&self) -> f64 {
        saturation_pressure(self.temperature)
    }

    /// Actual vapour pressure \[kPa\].
    pub fn vapour_pressure(&self) -> f64 {
        self.saturation() * self.humidity / 100.0
    }

    /// Vapour pressure deficit of the air \[kPa\], never below 0.
    pub fn deficit(&self) -> f64 {
        self.saturation() * (1.0 - self.humidity / 100.0)
    }

    /// The deficit with the errors of a sensor, standard deviations in °C and % points.
    pub fn deficit_estimate(&self, temperature_sd: f64, humidity_sd: f64) -> Estimate {
        let by_temperature =
            saturation_slope(self.temperature) * (1.0 - self.humidity / 100.0) * temperature_sd;
        let by_humidity = self.saturation() / 100.0 * humidity_sd;
        Estimate::normal(self.deficit(), by_temperature.hypot(by_humidity)).clamp(0.0, f64::MAX)
    }

    /// Vapour pressure deficit of a leaf that is warmer or cooler than the air by so much \[K\].
    ///
    /// Below 0 water settles on the leaf.
    pub fn leaf_deficit(&self, leaf_minus_air: f64) -> f64 {
        saturation_pressure(self.temperature + leaf_minus_air) - self.vapour_pressure()
    }

    /// Dew point over water, or frost point over ice when that is below 0 °C; `None` for air
    /// without any vapour. Humidity is told over water, so that the frost point of moist air below
    /// 0 °C may lie above its temperature.
    pub fn dew_point(&self) -> Option<DewPoint> {
        let pressure = self.vapour_pressure();
        if pressure <= 0.0 {
            return None;
        }
        // Not above its temperature, which rounding could do in saturated air.
        let log = (pressure / AT_ZERO.value).ln();
        let frost = log < 0.0;
        let temperature = if frost {
            ICE_SHIFT.value * log / (ICE_FACTOR.value - log)
        } else {
            (WATER_SHIFT.value * log / (WATER_FACTOR.value - log)).min(self.temperature)
        };
        Some(DewPoint { temperature, frost })
    }

    /// Temperature of a wet thermometer \[°C\] in moving air at a pressure \[kPa\], of an iced one
    /// below 0 °C.
    ///
    /// The heat that the air gives up by cooling to it evaporates the water that saturates it
    /// there (ASHRAE eq. 33 and 35). Halved between dew point and temperature down to 1e-12 K.
    /// Close to 0 °C air can be in balance with a wet thermometer and, up to 0.6 K apart, with an
    /// iced one; this gives one of the two.
    pub fn wet_bulb(&self, pressure: f64) -> f64 {
        let actual = mixing_ratio(self.vapour_pressure(), pressure);
        let dew = self.dew_point().map_or(self.temperature - 60.0, |d| d.temperature);
        // Moist air in frost is beyond saturation over ice: its frost point is above it.
        let (mut low, mut high) = (dew.min(self.temperature), dew.max(self.temperature));
        while high - low > 1e-12 {
            let middle = 0.5 * (low + high);
            if balance(self.temperature, middle, pressure) < actual {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }

    /// Mass of vapour \[g/m³\].
    pub fn absolute_humidity(&self) -> f64 {
        VAPOUR_DENSITY.value * self.vapour_pressure() / (self.temperature - ABSOLUTE_ZERO.value)
    }

    /// The same air cooled or warmed without water added or lost, saturated at most.
    ///
    /// # Errors
    /// When the temperature is outside of −40 to 60 °C.
    pub fn brought_to(&self, temperature: f64) -> Result<Self, OutOfRange> {
        within("air temperature", temperature, "°C", -40.0, 60.0)?;
        let humidity = 100.0 * self.vapour_pressure() / saturation_pressure(temperature);
        Self::new(temperature, humidity.min(100.0))
    }
}

/// Mass of vapour for each mass of dry air.
fn mixing_ratio(vapour: f64, pressure: f64) -> f64 {
    MASS_RATIO.value * vapour / (pressure - vapour)
}

/// Mixing ratio of air of a temperature whose wet bulb is `wet`.
fn balance(temperature: f64, wet: f64, pressure: f64) -> f64 {
    let (saturation, heat, capacity) = if wet < 0.0 {
        (saturation_pressure_over_ice(wet), SUBLIMATION.value, ICE_HEAT.value)
    } else {
        (saturation_pressure(wet), EVAPORATION.value, WATER_HEAT.value)
    };
    let saturated = mixing_ratio(saturation, pressure);
    let gained = (heat - (capacity - VAPOUR_HEAT.value) * wet) * saturated;
    (gained - AIR_HEAT.value * (temperature - wet))
        / (heat + VAPOUR_HEAT.value * temperature - capacity * wet)
}

/// A humidity sensor in a closed box beside damp cooking salt.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SaltTest {
    /// What has to be added to readings \[% points\].
    pub offset: f64,
    /// Standard deviation of the offset \[% points\].
    pub sd: f64,
}

impl SaltTest {
    /// The offset from a reading \[%\] at a temperature \[°C\] between 15 and 30, read with this
    /// standard deviation \[% points\].
    ///
    /// # Errors
    /// When the temperature or the reading is out of range.
    pub fn new(reading: f64, temperature: f64, reading_sd: f64) -> Result<Self, OutOfRange> {
        within("temperature of the salt test", temperature, "°C", 15.0, 30.0)?;
        within("humidity read in the salt test", reading, "%", 40.0, 105.0)?;
        within("error of reading", reading_sd, "%", 0.0, 20.0)?;
        let Spread::Sd(sd) = SALT_25.spread else { return Ok(Self { offset: 0.0, sd: 0.0 }) };
        let slope = (SALT_25.value - SALT_20.value) / 5.0;
        let true_humidity = SALT_25.value + slope * (temperature - 25.0);
        Ok(Self { offset: true_humidity - reading, sd: sd.hypot(reading_sd) })
    }

    /// A later reading \[%\] with the offset added.
    pub fn corrected(&self, reading: f64) -> Estimate {
        Estimate::normal(reading + self.offset, self.sd).clamp(0.0, 100.0)
    }
}
