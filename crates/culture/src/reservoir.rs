//! Pots that stand in their water: when to refill, how salts thicken, how high water climbs.

use serde::Serialize;

use crate::{
    Basis, Constant, Estimate, Spread,
    limits::{OutOfRange, within},
};

const BALLS_OPEN: Constant = Constant {
    name: "open_share_between_clay_balls",
    value: 0.45,
    unit: "1",
    spread: Spread::Range(0.38, 0.52),
    basis: Basis::Memory,
    source: "random packing of spheres, with the closed pores of the clay left out",
};
const THICKENED: Constant = habit("replace_at_conductivity_times", 1.5, "1", 1.3, 1.8);
const OLDEST: Constant = habit("replace_after_days", 21.0, "d", 14.0, 21.0);
const SURFACE_TENSION: Constant = Constant {
    name: "surface_tension_water_20",
    value: 0.0728,
    unit: "N/m",
    spread: Spread::Range(0.06, 0.0728),
    basis: Basis::Memory,
    source: "water at 20 °C; feed and organic matter lower it",
};
const DENSITY: Constant = Constant {
    name: "density_water_20",
    value: 998.2,
    unit: "kg/m³",
    spread: Spread::None,
    basis: Basis::Memory,
    source: "water at 20 °C",
};
const GRAVITY: Constant = Constant {
    name: "standard_gravity",
    value: 9.806_65,
    unit: "m/s²",
    spread: Spread::None,
    basis: Basis::Definition,
    source: "standard gravity",
};

const fn habit(
    name: &'static str,
    value: f64,
    unit: &'static str,
    least: f64,
    most: f64,
) -> Constant {
    let spread = Spread::Range(least, most);
    Constant { name, value, unit, spread, basis: Basis::CommonPractice, source: "" }
}

/// Every constant of this module.
pub fn constants() -> Vec<Constant> {
    vec![BALLS_OPEN, THICKENED, OLDEST, SURFACE_TENSION, DENSITY, GRAVITY]
}

/// Share of a layer of clay balls that water can fill.
pub fn open_share_between_balls() -> Constant {
    BALLS_OPEN
}

/// Height to which water climbs in pores of this radius \[mm\], wetting fully: Jurin, 14.9 mm for
/// a radius of 1 mm.
///
/// It is the limit for a wick, and the depth that stays wet above a layer of gravel as it does
/// above the floor of a pot: gravel lifts that zone, it does not lower it.
pub fn capillary_height(pore_radius: f64) -> f64 {
    2.0 * SURFACE_TENSION.value / (DENSITY.value * GRAVITY.value * pore_radius / 1000.0) * 1000.0
}

/// A reservoir of upright walls.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reservoir {
    /// Level area \[cm²\].
    pub area: f64,
    /// Share that water can fill: 1 for a plain reservoir.
    pub open_share: f64,
}

/// When to refill.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Refill {
    /// How fast the level falls \[mm/d\].
    pub fall: Estimate,
    /// In how many days it is at its least.
    pub days: Estimate,
}

impl Reservoir {
    /// A reservoir of this level area \[cm²\], of which this share can be filled.
    ///
    /// # Errors
    /// When the area is not above 0 or the share not above 0 and up to 1.
    pub fn new(area: f64, open_share: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            area: within("level area", area, "cm²", 0.01, 1e6)?,
            open_share: within("open share", open_share, "1", 0.01, 1.0)?,
        })
    }

    /// Water \[mL\] in a layer of this depth \[mm\].
    pub fn water(&self, depth: f64) -> f64 {
        self.area * self.open_share * depth / 10.0
    }

    /// When the level \[mm\] is at its least \[mm\], at this loss \[mL/d\] known to within a factor
    /// with standard deviation `log_sd` of the logarithm.
    ///
    /// Days are days of the demand clock; turn them into dates with it.
    ///
    /// # Errors
    /// When the loss is not above 0, or the level below its least.
    pub fn refill(
        &self,
        level: f64,
        least: f64,
        loss: f64,
        log_sd: f64,
    ) -> Result<Refill, OutOfRange> {
        within("water lost", loss, "mL/d", 1e-6, 1e6)?;
        within("error of the loss", log_sd, "1", 0.0, 3.0)?;
        within("level", level, "mm", least, 1e5)?;
        let fall = Estimate::lognormal(10.0 * loss / (self.area * self.open_share), log_sd);
        Ok(Refill { fall, days: fall.map(|f| (level - least) / f) })
    }
}

/// Conductivity \[mS/cm\] after a volume has shrunk by water alone being taken up: EC₀ V₀/V. An
/// upper bound, since roots take salts as well.
///
/// # Errors
/// When the volume is not above 0 or larger than at the start.
pub fn thickened(start: f64, start_volume: f64, volume: f64) -> Result<f64, OutOfRange> {
    within("volume left", volume, "mL", 1e-9, start_volume)?;
    Ok(start * start_volume / volume)
}

/// Whether the solution should be replaced: 1.5 times as concentrated as at its start, or three
/// weeks old. Common practice.
pub fn replace(start: f64, now: f64, age: f64) -> bool {
    now >= THICKENED.value * start || age >= OLDEST.value
}
