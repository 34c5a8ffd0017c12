//! How much water leaves: a reference meadow outdoors, and a plant indoors.

use serde::Serialize;

use crate::{
    Basis, Constant, Estimate, Spread,
    air::saturation_pressure,
    light::day::{SOLAR_CONSTANT, YearDay},
    limits::{OutOfRange, within},
};

const FAO56: &str = "Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage Paper 56";
const BAILLE: &str = "Baille, Baille & Laury 1994, Sci. Hortic. 59:3-14 (form; coefficients from \
                      memory), reviewed by Katsoulas & Stanghellini 2019, Agronomy 9:392";

const fn fao(name: &'static str, value: f64, unit: &'static str) -> Constant {
    Constant { name, value, unit, spread: Spread::None, basis: Basis::Published, source: FAO56 }
}

const LATENT_HEAT: Constant = fao("latent_heat", 2.45, "MJ/kg");
const ALBEDO: Constant = fao("albedo_grass", 0.23, "1");
const BOLTZMANN: Constant = fao("stefan_boltzmann_day", 4.903e-9, "MJ/(K⁴ m² d)");
const ANGSTROM_A: Constant = fao("angstrom_a", 0.25, "1");
const ANGSTROM_B: Constant = fao("angstrom_b", 0.50, "1");
/// Of eq. 13 as printed; 17.27 times 237.3 is 4098.17.
const SLOPE: Constant = fao("slope_numerator", 4098.0, "K");
const PSYCHROMETRIC: Constant = fao("psychrometric_coefficient", 0.000_665, "1/K");
const RADIATION_SHARE: Constant =
    indoor("greenhouse_a", 0.5, "1", Spread::Range(0.2, 0.7), Basis::Memory);
const DEFICIT_FACTOR: Constant =
    indoor("greenhouse_b", 15.0, "W/(m² kPa)", Spread::Range(8.0, 30.0), Basis::Memory);
const EXTINCTION: Constant =
    indoor("extinction", 0.64, "1", Spread::Range(0.5, 0.7), Basis::Memory);
const CAM_BY_DAY: Constant = Constant {
    name: "cam_by_day",
    value: 0.3,
    unit: "1",
    spread: Spread::Range(0.1, 0.7),
    basis: Basis::CommonPractice,
    source: "",
};
const OPEN_AT_NIGHT: Constant = Constant { name: "ordinary_at_night", ..CAM_BY_DAY };
const LED_PHOTONS: Constant = Constant {
    name: "photons_per_joule_led",
    value: 4.9,
    unit: "µmol/J",
    spread: Spread::Range(4.5, 5.3),
    basis: Basis::Memory,
    source: "mean energy of the photons of white light-emitting diodes",
};

const fn indoor(
    name: &'static str,
    value: f64,
    unit: &'static str,
    spread: Spread,
    basis: Basis,
) -> Constant {
    Constant { name, value, unit, spread, basis, source: BAILLE }
}

/// Every constant of this module.
pub fn constants() -> Vec<Constant> {
    vec![
        LATENT_HEAT,
        ALBEDO,
        SOLAR_CONSTANT,
        BOLTZMANN,
        ANGSTROM_A,
        ANGSTROM_B,
        SLOPE,
        PSYCHROMETRIC,
        RADIATION_SHARE,
        DEFICIT_FACTOR,
        EXTINCTION,
        CAM_BY_DAY,
        OPEN_AT_NIGHT,
        LED_PHOTONS,
    ]
}

/// Pressure of the air \[kPa\] at a height above the sea \[m\]. Source: FAO-56 eq. 7.
pub fn pressure(elevation: f64) -> f64 {
    101.3 * ((293.0 - 0.0065 * elevation) / 293.0).powf(5.26)
}

/// Psychrometric constant \[kPa/K\] at a pressure \[kPa\]. Source: FAO-56 eq. 8.
pub fn psychrometric_constant(pressure: f64) -> f64 {
    PSYCHROMETRIC.value * pressure
}

/// Actual vapour pressure \[kPa\] from dry and wet bulb \[°C\], the coefficient of the instrument
/// \[1/K\] and the pressure \[kPa\]. Source: FAO-56 eq. 15 and 16.
pub fn vapour_pressure_by_psychrometer(dry: f64, wet: f64, coefficient: f64, pressure: f64) -> f64 {
    saturation_pressure(wet) - coefficient * pressure * (dry - wet)
}

/// Mean saturation vapour pressure of a day \[kPa\] from its extremes \[°C\]. Source: FAO-56 eq. 12.
pub fn mean_saturation(warmest: f64, coldest: f64) -> f64 {
    0.5 * (saturation_pressure(warmest) + saturation_pressure(coldest))
}

/// Actual vapour pressure of a day \[kPa\] from its extremes of temperature \[°C\] and relative
/// humidity \[%\]. Source: FAO-56 eq. 17.
pub fn mean_vapour_pressure(warmest: f64, coldest: f64, moistest: f64, driest: f64) -> f64 {
    0.5 * (saturation_pressure(coldest) * moistest / 100.0
        + saturation_pressure(warmest) * driest / 100.0)
}

/// Wind at 2 m \[m/s\] from wind at another height \[m\] over grass. Source: FAO-56 eq. 47.
pub fn wind_at_2m(wind: f64, height: f64) -> f64 {
    wind * 4.87 / (67.8 * height - 5.42).ln()
}

/// Radiation above the atmosphere on a level plane \[MJ/(m² d)\], latitude in degrees north.
/// Source: FAO-56 eq. 21.
pub fn extraterrestrial(latitude: f64, day_of_year: f64) -> f64 {
    YearDay::at(latitude, day_of_year).extraterrestrial()
}

/// Hours from sunrise to sunset without refraction. Source: FAO-56 eq. 34.
pub fn daylight_hours(latitude: f64, day_of_year: f64) -> f64 {
    YearDay::at(latitude, day_of_year).daylight_hours()
}

/// Solar radiation \[MJ/(m² d)\] from hours of sunshine. Source: FAO-56 eq. 35.
pub fn radiation_from_sunshine(latitude: f64, day_of_year: f64, sunshine: f64) -> f64 {
    let share = sunshine / daylight_hours(latitude, day_of_year);
    (ANGSTROM_A.value + ANGSTROM_B.value * share) * extraterrestrial(latitude, day_of_year)
}

/// The weather of a day outdoors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weather {
    /// Degrees north.
    pub latitude: f64,
    /// 1 to 366.
    pub day_of_year: f64,
    /// Height above the sea \[m\].
    pub elevation: f64,
    /// Highest temperature \[°C\].
    pub warmest: f64,
    /// Lowest temperature \[°C\].
    pub coldest: f64,
    /// Highest relative humidity \[%\].
    pub moistest: f64,
    /// Lowest relative humidity \[%\].
    pub driest: f64,
    /// Wind at 2 m \[m/s\].
    pub wind: f64,
    /// Solar radiation \[MJ/(m² d)\].
    pub radiation: f64,
}

/// Reference evapotranspiration with what it is made of.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Reference {
    /// Pressure of the air \[kPa\].
    pub pressure: f64,
    /// Psychrometric constant \[kPa/K\].
    pub gamma: f64,
    /// Slope of the saturation vapour pressure \[kPa/K\].
    pub delta: f64,
    /// Saturation vapour pressure \[kPa\].
    pub saturation: f64,
    /// Actual vapour pressure \[kPa\].
    pub vapour: f64,
    /// Radiation above the atmosphere \[MJ/(m² d)\].
    pub extraterrestrial: f64,
    /// Radiation under a clear sky \[MJ/(m² d)\].
    pub clear_sky: f64,
    /// Net short-wave radiation \[MJ/(m² d)\].
    pub net_short: f64,
    /// Net long-wave radiation \[MJ/(m² d)\], outwards.
    pub net_long: f64,
    /// Net radiation \[MJ/(m² d)\].
    pub net: f64,
    /// Reference evapotranspiration \[mm/d\].
    pub evapotranspiration: f64,
}

impl Weather {
    fn check(&self) -> Result<(), OutOfRange> {
        within("latitude", self.latitude, "°", -90.0, 90.0)?;
        within("day of the year", self.day_of_year, "", 1.0, 366.0)?;
        within("elevation", self.elevation, "m", -450.0, 6000.0)?;
        within("lowest temperature", self.coldest, "°C", -60.0, 60.0)?;
        within("highest temperature", self.warmest, "°C", self.coldest, 60.0)?;
        within("lowest relative humidity", self.driest, "%", 0.0, 100.0)?;
        within("highest relative humidity", self.moistest, "%", self.driest, 100.0)?;
        within("wind", self.wind, "m/s", 0.0, 60.0)?;
        within("solar radiation", self.radiation, "MJ/(m² d)", 0.0, 50.0)?;
        Ok(())
    }

    /// FAO-56 Penman–Monteith for grass, daily step, without heat flux into the soil (eq. 6).
    ///
    /// # Errors
    /// When a number is out of range, or an extreme is beyond its opposite.
    pub fn reference(&self) -> Result<Reference, OutOfRange> {
        self.check()?;
        let mean = 0.5 * (self.warmest + self.coldest);
        let pressure = pressure(self.elevation);
        let gamma = psychrometric_constant(pressure);
        let delta = SLOPE.value * saturation_pressure(mean) / (mean + 237.3).powi(2);
        let saturation = mean_saturation(self.warmest, self.coldest);
        let vapour = mean_vapour_pressure(self.warmest, self.coldest, self.moistest, self.driest);
        let extraterrestrial = extraterrestrial(self.latitude, self.day_of_year);
        let clear_sky = (0.75 + 2e-5 * self.elevation) * extraterrestrial;
        let net_short = (1.0 - ALBEDO.value) * self.radiation;
        let net_long = self.net_long(vapour, clear_sky);
        let net = net_short - net_long;
        let dried = gamma * 900.0 / (mean + 273.0) * self.wind * (saturation - vapour);
        let evapotranspiration =
            (0.408 * delta * net + dried) / (delta + gamma * (1.0 + 0.34 * self.wind));
        Ok(Reference {
            pressure,
            gamma,
            delta,
            saturation,
            vapour,
            extraterrestrial,
            clear_sky,
            net_short,
            net_long,
            net,
            evapotranspiration,
        })
    }

    /// FAO-56 eq. 39; a sky is never brighter than clear, and the ratio is taken as 1 in the polar
    /// night.
    fn net_long(&self, vapour: f64, clear_sky: f64) -> f64 {
        let brightness = if clear_sky > 0.0 { (self.radiation / clear_sky).min(1.0) } else { 1.0 };
        let emitted = 0.5 * ((self.warmest + 273.16).powi(4) + (self.coldest + 273.16).powi(4));
        BOLTZMANN.value * emitted * (0.34 - 0.14 * vapour.sqrt()) * (1.35 * brightness - 0.35)
    }
}

/// Leaves indoors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Canopy {
    /// Leaf area over the area it covers \[m²/m²\].
    pub leaf_area_index: f64,
    /// Share of the radiation that evaporates water.
    pub a: f64,
    /// Heat that the deficit draws from each leaf area \[W/(m² kPa)\].
    pub b: f64,
    /// Extinction of light by leaves.
    pub extinction: f64,
}

impl Canopy {
    /// A canopy with default coefficients.
    pub fn new(leaf_area_index: f64) -> Self {
        Self {
            leaf_area_index,
            a: RADIATION_SHARE.value,
            b: DEFICIT_FACTOR.value,
            extinction: EXTINCTION.value,
        }
    }

    /// Heat used for evaporation \[W per m² covered\] from radiation \[W/m²\] and the leaf's deficit
    /// \[kPa\]: λE = A (1 − exp(−k LAI)) G + B LAI D.
    pub fn latent_heat(&self, radiation: f64, deficit: f64) -> f64 {
        let lai = self.leaf_area_index;
        self.a * (1.0 - (-self.extinction * lai).exp()) * radiation + self.b * lai * deficit
    }

    /// Water lost \[g/h per m² covered\].
    pub fn transpiration(&self, radiation: f64, deficit: f64) -> f64 {
        self.latent_heat(radiation, deficit) * 3600.0 / (LATENT_HEAT.value * 1000.0)
    }
}

/// Radiation \[W/m²\] of white light-emitting diodes at a photon flux \[µmol/(m² s)\].
pub fn led_radiation(photon_flux: f64) -> f64 {
    photon_flux / LED_PHOTONS.value
}

/// A plant indoors over a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlantDay {
    /// Leaf area \[m²\].
    pub leaf_area: f64,
    /// Leaf area over the area covered.
    pub leaf_area_index: f64,
    /// Hours of light.
    pub lit_hours: f64,
    /// Radiation while lit \[W/m²\].
    pub radiation: f64,
    /// Leaf deficit while lit \[kPa\].
    pub deficit_lit: f64,
    /// Leaf deficit in the dark \[kPa\].
    pub deficit_dark: f64,
    /// Whether it keeps its pores shut by day (crassulacean acid metabolism).
    pub cam: bool,
}

/// Water that a plant loses in a day \[g\], wrong by a factor of about 2 either way as long as
/// nothing has been weighed: by B, which is known from 8 to 30.
///
/// A plant that keeps its pores shut by day loses a share of 0.3 by day (common practice) and as
/// much as any other at night; others lose a share of 0.3 at night.
///
/// # Errors
/// When a number is out of range.
pub fn plant_day(plant: &PlantDay) -> Result<Estimate, OutOfRange> {
    within("leaf area", plant.leaf_area, "m²", 0.0, 20.0)?;
    within("leaf area index", plant.leaf_area_index, "m²/m²", 0.01, 12.0)?;
    within("hours of light", plant.lit_hours, "h", 0.0, 24.0)?;
    within("radiation", plant.radiation, "W/m²", 0.0, 1200.0)?;
    let canopy = Canopy::new(plant.leaf_area_index);
    let (by_day, by_night) =
        if plant.cam { (CAM_BY_DAY.value, 1.0) } else { (1.0, OPEN_AT_NIGHT.value) };
    let lit = canopy.transpiration(plant.radiation, plant.deficit_lit.max(0.0));
    let dark = canopy.transpiration(0.0, plant.deficit_dark.max(0.0));
    let covered = plant.leaf_area / plant.leaf_area_index;
    let lost =
        covered * (lit * plant.lit_hours * by_day + dark * (24.0 - plant.lit_hours) * by_night);
    Ok(Estimate::lognormal(lost, 0.5))
}
