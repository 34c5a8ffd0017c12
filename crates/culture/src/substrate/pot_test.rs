//! The test of a pot at the sink.

use serde::Serialize;

use crate::{
    Basis, Constant, Estimate, Spread,
    limits::{OutOfRange, within},
    substrate::{Held, Pot, RetentionCurve, RetentionError, retention::held},
};

const VW_SLOPE: Constant = regression("pores_by_mass", -0.038, "% L/g");
const PORES: Constant = regression("pores_at_no_mass", 96.72, "%");
const AIR_SLOPE: Constant = regression("air_by_mass", 0.062, "% L/g");

const fn regression(name: &'static str, value: f64, unit: &'static str) -> Constant {
    Constant {
        name,
        value,
        unit,
        spread: Spread::None,
        basis: Basis::Published,
        source: "Acta Horticulturae 294:2, regression on drained density",
    }
}

pub(super) const CONSTANTS: [Constant; 3] = [VW_SLOPE, PORES, AIR_SLOPE];

/// Line a pot so that it holds water, fill it with mix, fill it slowly with water to the surface,
/// then let it drain for 10 to 15 minutes. Steps: Purdue Extension.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PotTest {
    /// Volume of the mix in the pot \[mL\].
    pub volume: f64,
    /// Water that filled it \[mL\].
    pub filled: f64,
    /// Water that drained \[mL\].
    pub drained: f64,
    /// Standard deviation of a reading \[mL\].
    pub reading_sd: f64,
}

/// What the test found, for a pot of this height.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Tested {
    /// All pores \[% of volume\].
    pub pores: Estimate,
    /// Air after draining \[% of volume\].
    pub air: Estimate,
    /// Water after draining \[% of volume\]: the container capacity.
    pub capacity: Estimate,
    /// Air as a share of the pores \[%\].
    pub air_of_pores: f64,
}

impl Tested {
    /// Its curve of water against height, from the height of the mix in the test \[cm\].
    ///
    /// # Errors
    /// When nothing drained, so that no curve can be known.
    pub fn curve(&self, height: f64) -> Result<RetentionCurve, RetentionError> {
        RetentionCurve::through(self.pores.value, self.capacity.value, height)
    }

    /// What the same mix holds in another pot, from the height of the mix in the test \[cm\].
    ///
    /// # Errors
    /// When nothing drained, so that no curve can be known.
    pub fn in_pot(&self, height: f64, pot: &Pot) -> Result<Held, RetentionError> {
        held(self.pores.value, &self.capacity, height, pot)
    }
}

impl PotTest {
    /// Pores, air and container capacity. They replace what a table says of the mix.
    ///
    /// # Errors
    /// When more drained than was filled in, or more was filled in than the pot holds.
    pub fn result(&self) -> Result<Tested, OutOfRange> {
        within("volume of the mix", self.volume, "mL", 1.0, 1e6)?;
        within("error of reading", self.reading_sd, "mL", 0.0, self.volume)?;
        within("water filled in", self.filled, "mL", 1e-9, self.volume)?;
        within("water drained", self.drained, "mL", 0.0, self.filled)?;
        let share = |water: f64| 100.0 * water / self.volume;
        let sd = share(self.reading_sd);
        let estimate = |water: f64, sd: f64| Estimate::normal(share(water), sd).clamp(0.0, 100.0);
        Ok(Tested {
            pores: estimate(self.filled, sd),
            air: estimate(self.drained, sd),
            capacity: estimate(self.filled - self.drained, sd * 2.0_f64.sqrt()),
            air_of_pores: 100.0 * self.drained / self.filled,
        })
    }
}

/// Pores and air \[% of volume\] by regression on dry mass \[g/L\] and drained mass \[g/mL\]; not
/// for materials with closed pores, such as expanded clay.
///
/// # Errors
/// When the dry mass is outside of 20 to 800 g/L or the drained mass outside of 0.05 to 1.5 g/mL.
pub fn from_drained_density(dry: f64, drained: f64) -> Result<(f64, f64), OutOfRange> {
    within("dry mass", dry, "g/L", 20.0, 800.0)?;
    within("drained mass", drained, "g/mL", 0.05, 1.5)?;
    let pores = PORES.value + VW_SLOPE.value * dry;
    let air = PORES.value + AIR_SLOPE.value * dry - 100.0 * drained;
    Ok((pores, air.clamp(0.0, pores)))
}
