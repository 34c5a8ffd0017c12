//! Meters: between lux, foot-candles and photons.
//!
//! A lux meter sees as the eye does, mostly green; a leaf counts photons. Between the two stands
//! the colour of the light, so each kind of light has its own factor, and light of red and blue
//! diodes has none.

use super::{LightError, amount};
use crate::{Basis, Constant, Spread};

const THIMIJAN: &str = "Thimijan & Heins 1983, HortScience 18:818-822, as quoted in public tables";

const fn lux(
    name: &'static str,
    value: f64,
    sd: f64,
    basis: Basis,
    source: &'static str,
) -> Constant {
    Constant { name, value, unit: "lx per umol m-2 s-1", spread: Spread::LogSd(sd), basis, source }
}

const fn led(name: &'static str, value: f64) -> Constant {
    lux(name, value, 0.10, Basis::Memory, "spectra of white diodes (from memory)")
}

const SUNLIGHT: Constant = lux("lux_sunlight", 54.0, 0.04, Basis::Published, THIMIJAN);
const BLUE_SKY: Constant = lux("lux_blue_sky", 52.0, 0.05, Basis::Published, THIMIJAN);
const COOL_WHITE: Constant =
    lux("lux_cool_white_fluorescent", 74.0, 0.04, Basis::Published, THIMIJAN);
const METAL_HALIDE: Constant = lux("lux_metal_halide", 71.0, 0.05, Basis::Published, THIMIJAN);
const CERAMIC_4200: Constant =
    lux("lux_ceramic_metal_halide_4200", 65.0, 0.05, Basis::Published, THIMIJAN);
const CERAMIC_3100: Constant =
    lux("lux_ceramic_metal_halide_3100", 59.0, 0.05, Basis::Published, THIMIJAN);
const HPS: Constant = lux("lux_high_pressure_sodium", 82.0, 0.04, Basis::Published, THIMIJAN);
const INCANDESCENT: Constant = lux("lux_incandescent", 50.0, 0.04, Basis::Published, THIMIJAN);
const LED_3000: Constant = led("lux_white_led_3000", 70.0);
const LED_4000: Constant = led("lux_white_led_4000", 72.0);
const LED_5000: Constant = led("lux_white_led_5000", 68.0);

/// Lux in a foot-candle: one lumen on a square foot of 0.3048 m \[lx\].
pub const LUX_PER_FOOT_CANDLE: Constant = Constant {
    name: "lux_per_foot_candle",
    value: 10.763_910_416_709_722,
    unit: "lx",
    spread: Spread::None,
    basis: Basis::Definition,
    source: "international foot of 0.3048 m",
};

pub(super) const CONSTANTS: &[Constant] = &[
    SUNLIGHT,
    BLUE_SKY,
    COOL_WHITE,
    METAL_HALIDE,
    CERAMIC_4200,
    CERAMIC_3100,
    HPS,
    INCANDESCENT,
    LED_3000,
    LED_4000,
    LED_5000,
    LUX_PER_FOOT_CANDLE,
];

/// A kind of light, by its colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Light {
    /// Sun and sky together.
    Sunlight,
    /// Blue sky without the sun.
    BlueSky,
    /// Cool white fluorescent tubes.
    CoolWhiteFluorescent,
    /// Metal halide.
    MetalHalide,
    /// Ceramic metal halide, 4200 K.
    CeramicMetalHalide4200,
    /// Ceramic metal halide, 3100 K.
    CeramicMetalHalide3100,
    /// High-pressure sodium.
    HighPressureSodium,
    /// Incandescent bulbs.
    Incandescent,
    /// White diodes of 3000 K.
    WhiteLed3000,
    /// White diodes of 4000 K.
    WhiteLed4000,
    /// White diodes of 5000 K.
    WhiteLed5000,
    /// Red and blue diodes: purple or pink light.
    Purple,
}

impl Light {
    /// All of them.
    pub const ALL: [Self; 12] = [
        Self::Sunlight,
        Self::BlueSky,
        Self::CoolWhiteFluorescent,
        Self::MetalHalide,
        Self::CeramicMetalHalide4200,
        Self::CeramicMetalHalide3100,
        Self::HighPressureSodium,
        Self::Incandescent,
        Self::WhiteLed3000,
        Self::WhiteLed4000,
        Self::WhiteLed5000,
        Self::Purple,
    ];

    /// Lux for each micromole of photons, with its spread.
    ///
    /// # Errors
    /// For purple light, which a lux meter hardly sees.
    pub const fn lux_per_umol(self) -> Result<Constant, LightError> {
        Ok(match self {
            Self::Sunlight => SUNLIGHT,
            Self::BlueSky => BLUE_SKY,
            Self::CoolWhiteFluorescent => COOL_WHITE,
            Self::MetalHalide => METAL_HALIDE,
            Self::CeramicMetalHalide4200 => CERAMIC_4200,
            Self::CeramicMetalHalide3100 => CERAMIC_3100,
            Self::HighPressureSodium => HPS,
            Self::Incandescent => INCANDESCENT,
            Self::WhiteLed3000 => LED_3000,
            Self::WhiteLed4000 => LED_4000,
            Self::WhiteLed5000 => LED_5000,
            Self::Purple => {
                return Err(LightError::NoConversion { light: "red and blue diodes" });
            }
        })
    }

    /// Photons in a joule of light between 400 and 700 nm \[µmol J⁻¹\] (Thimijan & Heins 1983);
    /// none where no figure is known.
    #[must_use]
    pub const fn photons_per_joule(self) -> Option<f64> {
        match self {
            Self::Sunlight => Some(4.57),
            Self::BlueSky => Some(4.24),
            Self::CoolWhiteFluorescent | Self::MetalHalide => Some(4.59),
            Self::HighPressureSodium => Some(4.98),
            Self::Incandescent => Some(5.0),
            _ => None,
        }
    }

    /// Photons \[µmol m⁻² s⁻¹\] from a reading in lux.
    ///
    /// # Errors
    /// For purple light, and for a negative reading.
    pub fn ppfd_from_lux(self, lux: f64) -> Result<f64, LightError> {
        Ok(amount("reading in lux", lux)? / self.lux_per_umol()?.value)
    }

    /// Photons \[µmol m⁻² s⁻¹\] from a reading in foot-candles.
    ///
    /// # Errors
    /// As [`Self::ppfd_from_lux`].
    pub fn ppfd_from_foot_candles(self, foot_candles: f64) -> Result<f64, LightError> {
        self.ppfd_from_lux(
            amount("reading in foot-candles", foot_candles)? * LUX_PER_FOOT_CANDLE.value,
        )
    }

    /// Reading in lux for so many photons \[µmol m⁻² s⁻¹\].
    ///
    /// # Errors
    /// As [`Self::ppfd_from_lux`].
    pub fn lux_from_ppfd(self, ppfd: f64) -> Result<f64, LightError> {
        Ok(amount("photons", ppfd)? * self.lux_per_umol()?.value)
    }

    /// Photons that a lamp of this light gives off \[µmol s⁻¹\] by the lumens on its label.
    ///
    /// # Errors
    /// For purple light, and for negative lumens.
    pub fn photon_flux_from_lumens(self, lumens: f64) -> Result<f64, LightError> {
        Ok(amount("lumens", lumens)? / self.lux_per_umol()?.value)
    }
}
