//! How long a pot stays moist: many plants at once, by night, and one plant at a time, by day.
//!
//! The time from one watering until the pot is dry, on the demand clock, is
//! ln X = o + xᵀβ + v(species) + u(plant) + s·W. [`fit_drying`] estimates everything together;
//! [`PlantState`] takes what one plant's looks add, at once.

#![allow(
    clippy::needless_range_loop,
    reason = "plants and matrices are read by their places, as the formulas are"
)]

mod fit;
mod online;
mod plants;
mod shared;

pub use fit::{DryingFit, fit_drying};
pub use online::{Foreseen, PlantState};
pub use plants::PlantFound;
pub use shared::{SharedFound, SharedInformation, kept_precision, shared_information};

use super::parametric::{Law, ParametricError};
use super::time::Time;
use crate::model::Fixed;

/// What is known of one stretch between two waterings, on the demand clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cycle {
    /// Moist at the first, dry at the second.
    Between(f64, f64),
    /// Watered, or still standing, while moist at this time.
    StillMoist(f64),
    /// Dry at the first look.
    FoundDry(f64),
    /// The moment of dryness itself, as by weighing.
    Exact(f64),
    /// Watered without a look. It says nothing: people water the pots that they believe dry, so that
    /// counting it as moist so long would make every pot look slow.
    Unseen,
}

impl Cycle {
    pub(super) fn time(self) -> Time {
        match self {
            Cycle::Between(moist, dry) => Time::between(moist, dry),
            Cycle::StillMoist(t) => Time::open(t),
            Cycle::FoundDry(t) => Time::before(t),
            Cycle::Exact(t) => Time::exact(t),
            Cycle::Unseen => Time::open(0.0),
        }
    }

    /// Whether it bounds the moment of dryness from above.
    pub fn tells_dry(self) -> bool {
        matches!(self, Cycle::Between(..) | Cycle::FoundDry(_) | Cycle::Exact(_))
    }
}

/// A cycle of a plant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlantCycle {
    /// Which plant, from 0.
    pub plant: u32,
    /// What was seen.
    pub cycle: Cycle,
    /// What is known of this stretch alone on the log scale (days since potting, say).
    pub offset: f64,
}

/// Prior and fixed numbers of a fit.
#[derive(Debug, Clone, PartialEq)]
pub struct DryingPrior {
    /// Mean and standard deviation of each coefficient, in the order of the design.
    pub coefficients: Vec<(f64, f64)>,
    /// Half-normal scale of the species' standard deviation.
    pub species: f64,
    /// Half-normal scale of the plants' standard deviation.
    pub plant: f64,
    /// Half-normal scale of the scale of single cycles.
    pub event: f64,
    /// How often a look is misread.
    pub misread: f64,
    /// The law of a single cycle.
    pub law: Law,
}

impl DryingPrior {
    /// Species 0.3, plant 0.3, event 0.2 on the log scale, looks misread at 5 %, log-normal (common
    /// practice, no source); the intercept is ln of a time of 6 days within a factor of e.
    pub fn usual(columns: usize) -> Self {
        let mut coefficients = vec![(0.0, 0.5); columns];
        if let Some(first) = coefficients.first_mut() {
            *first = (6f64.ln(), 1.0);
        }
        DryingPrior {
            coefficients,
            species: 0.3,
            plant: 0.3,
            event: 0.2,
            misread: 0.05,
            law: Law::Lognormal,
        }
    }

    fn check(&self, columns: usize) -> Result<(), ParametricError> {
        let bad = |what: &str, value: f64, expected| {
            Err(ParametricError::BadOption { what: what.to_owned(), value, expected })
        };
        if self.coefficients.len() != columns {
            let (times, rows) = (self.coefficients.len(), columns);
            return Err(ParametricError::Lengths { times, rows });
        }
        let sds = self.coefficients.iter().map(|c| ("a coefficient's prior", c.1));
        let scales = [
            ("the species' prior", self.species),
            ("the plants' prior", self.plant),
            ("the cycles' prior", self.event),
        ];
        for (what, value) in sds.chain(scales) {
            if !(value.is_finite() && value > 0.0) {
                return bad(what, value, "a number above 0");
            }
        }
        if !(0.0..0.5).contains(&self.misread) {
            let expected = "a rate from 0 to below one half";
            return bad("the rate of misread looks", self.misread, expected);
        }
        if !self.law.has_scale() {
            return bad("the scale of the law", 1.0, "free; take the log-normal or Weibull");
        }
        Ok(())
    }
}

/// The plants of a collection.
#[derive(Debug, Clone, Copy)]
pub struct Plants<'a> {
    /// The species of each plant, from 0.
    pub species: &'a [u32],
    /// Columns of each plant (pot, mix, ln of size), the intercept first.
    pub design: &'a Fixed,
}
