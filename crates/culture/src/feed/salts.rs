//! Salts that stay in the pot.

use serde::Serialize;

use crate::{
    Basis, Constant, Spread,
    limits::{OutOfRange, within},
};

const ALARM: Constant = Constant {
    name: "drainage_conductivity_alarm_epiphytes",
    value: 1.5,
    unit: "mS/cm",
    spread: Spread::Range(1.0, 2.6),
    basis: Basis::CommonPractice,
    source: "",
};
const NURSERY: Constant = Constant {
    name: "leaching_fraction_nursery",
    value: 0.15,
    unit: "1",
    spread: Spread::Range(0.10, 0.15),
    basis: Basis::Published,
    source: "Million & Yeager, UF/IFAS EP529 (ENH1268): set against runoff, not for the plant",
};

pub(super) const CONSTANTS: [Constant; 2] = [ALARM, NURSERY];

/// Leaching fraction: drained over applied, same units.
///
/// # Errors
/// When more drained than was applied.
pub fn leaching_fraction(applied: f64, drained: f64) -> Result<f64, OutOfRange> {
    within("water applied", applied, "mL", 1e-9, 1e9)?;
    Ok(within("water drained", drained, "mL", 0.0, applied)? / applied)
}

/// Leaching requirement from the conductivities of the water and of the saturated extract that
/// the plant bears \[mS/cm\]: ECw / (5 ECe − ECw). Source: FAO 29, eq. 9 (from memory).
///
/// # Errors
/// When no leaching would do, that is when 5 ECe is not above 2 ECw.
pub fn leaching_requirement(water: f64, tolerated: f64) -> Result<f64, OutOfRange> {
    within("conductivity of the water", water, "mS/cm", 0.0, 100.0)?;
    let below = within("5 ECe - ECw", 5.0 * tolerated - water, "mS/cm", water.max(1e-9), 1e4)?;
    Ok(water / below)
}

/// Conductivity of the drainage \[mS/cm\] once as much salt leaves as comes: EC in / LF. An upper
/// bound, since roots take salts as well.
///
/// # Errors
/// When nothing drains.
pub fn steady_drainage(feed: f64, fraction: f64) -> Result<f64, OutOfRange> {
    Ok(feed / within("leaching fraction", fraction, "1", 1e-9, 1.0)?)
}

/// Whether the drainage of an epiphyte is too salty \[mS/cm\]: above 1.5, common practice.
pub fn drainage_alarm(conductivity: f64) -> bool {
    conductivity > ALARM.value
}

/// Share of the salts that so many pot-waters wash out when they mix well: 1 − exp(−v).
pub fn flush_share(volumes: f64) -> f64 {
    -(-volumes).exp_m1()
}

/// How many pot-waters bring a conductivity \[mS/cm\] down to a target with water of its own:
/// ln((now − water) / (target − water)).
///
/// # Errors
/// When the target is not between the water's and the present conductivity.
pub fn volumes_to_flush(now: f64, target: f64, water: f64) -> Result<f64, OutOfRange> {
    within("conductivity wanted", target, "mS/cm", water + 1e-9, now)?;
    Ok(((now - water) / (target - water)).ln())
}

/// What happens to a pot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Event {
    /// Water with nitrogen, or any other salt, poured on: volume \[mL\], concentration \[mg/L\].
    Pour {
        /// Volume \[mL\].
        volume: f64,
        /// Concentration \[mg/L\].
        concentration: f64,
    },
    /// Water that evaporates or that leaves use \[mL\].
    Dry(f64),
    /// Salt that the plant takes up \[mg\].
    Uptake(f64),
}

/// A pot with its water and salts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PotWater {
    /// Water at container capacity \[mL\].
    pub capacity: f64,
    /// Water now \[mL\].
    pub water: f64,
    /// Salt \[mg\].
    pub salt: f64,
}

/// What came and went.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Budget {
    /// Water poured \[mL\].
    pub poured: f64,
    /// Water drained \[mL\].
    pub drained: f64,
    /// Water evaporated or used \[mL\].
    pub dried: f64,
    /// Salt poured \[mg\].
    pub salt_in: f64,
    /// Salt drained \[mg\].
    pub salt_drained: f64,
    /// Salt taken up \[mg\].
    pub taken_up: f64,
}

impl PotWater {
    /// A pot drained to its capacity \[mL\] with a solution of this concentration \[mg/L\].
    ///
    /// # Errors
    /// When a number is out of range.
    pub fn drained(capacity: f64, concentration: f64) -> Result<Self, OutOfRange> {
        within("water at container capacity", capacity, "mL", 1e-3, 1e7)?;
        within("concentration", concentration, "mg/L", 0.0, 1e6)?;
        Ok(Self { capacity, water: capacity, salt: capacity * concentration / 1000.0 })
    }

    /// Concentration \[mg/L\].
    pub fn concentration(&self) -> f64 {
        if self.water > 0.0 { 1000.0 * self.salt / self.water } else { 0.0 }
    }

    /// Lets one thing happen. What is poured fills the pot up to its capacity first; the rest
    /// drains while it mixes well with what is there.
    ///
    /// # Errors
    /// When more dries than there is beyond 1 % of the capacity, or more salt is taken up than
    /// there is.
    pub fn step(&mut self, event: Event, budget: &mut Budget) -> Result<(), OutOfRange> {
        match event {
            Event::Pour { volume, concentration } => {
                within("water poured", volume, "mL", 0.0, 1e7)?;
                within("concentration poured", concentration, "mg/L", 0.0, 1e6)?;
                self.pour(volume, concentration, budget);
            }
            Event::Dry(volume) => {
                let most = (self.water - 0.01 * self.capacity).max(0.0);
                self.water -= within("water dried", volume, "mL", 0.0, most)?;
                budget.dried += volume;
            }
            Event::Uptake(mass) => {
                self.salt -= within("salt taken up", mass, "mg", 0.0, self.salt)?;
                budget.taken_up += mass;
            }
        }
        Ok(())
    }

    fn pour(&mut self, volume: f64, concentration: f64, budget: &mut Budget) {
        let kept = volume.min(self.capacity - self.water);
        let through = volume - kept;
        self.water += kept;
        self.salt += kept * concentration / 1000.0;
        // dS/dv = c − S/W while v flows through: towards what is poured, exponentially.
        let incoming = concentration * self.capacity / 1000.0;
        let before = self.salt;
        if through > 0.0 {
            self.salt = incoming + (before - incoming) * (-through / self.capacity).exp();
        }
        budget.poured += volume;
        budget.drained += through;
        budget.salt_in += volume * concentration / 1000.0;
        budget.salt_drained += through * concentration / 1000.0 + before - self.salt;
    }
}
