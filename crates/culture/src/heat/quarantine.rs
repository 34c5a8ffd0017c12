//! When a newcomer may join the others.

use serde::Serialize;

use crate::{
    Basis, Constant, Spread,
    heat::{HeatError, HeatSeries, Stage, stage_dates},
    limits::{OutOfRange, within},
};

const BY_MAIL: Constant = habit("infested_by_mail", 0.2, 0.1, 0.4);
const TRUSTED: Constant = habit("infested_trusted", 0.05, 0.02, 0.1);
const LENS: Constant = habit("found_with_a_lens", 0.5, 0.3, 0.7);
const NAKED_EYE: Constant = habit("found_with_the_naked_eye", 0.3, 0.15, 0.5);
const ROOTS: Constant = habit("root_mealybug_found_without_unpotting", 0.1, 0.02, 0.2);

/// A habit of the trade, from the least to the most that is plausible.
pub(super) const fn habit(name: &'static str, value: f64, least: f64, most: f64) -> Constant {
    let spread = Spread::Range(least, most);
    Constant { name, value, unit: "1", spread, basis: Basis::CommonPractice, source: "" }
}

pub(super) const CONSTANTS: [Constant; 5] = [BY_MAIL, TRUSTED, LENS, NAKED_EYE, ROOTS];

/// Chance that one look finds a pest that is there.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub enum Detection {
    /// Known exactly.
    Fixed(f64),
    /// Itself uncertain: a Beta distribution, the same for all looks.
    Beta(f64, f64),
}

impl Detection {
    /// A look with a lens: one half, uncertain as Beta(2, 2). Common practice.
    pub fn lens() -> Self {
        Self::Beta(2.0, 2.0)
    }

    fn check(self) -> Result<Self, OutOfRange> {
        match self {
            Self::Fixed(s) => {
                within("chance that a look finds it", s, "1", 0.0, 1.0)?;
            }
            Self::Beta(a, b) => {
                within("first number of the Beta distribution", a, "1", 1e-3, 1e6)?;
                within("second number of the Beta distribution", b, "1", 1e-3, 1e6)?;
            }
        }
        Ok(self)
    }

    /// Chance that so many looks find nothing although it is there.
    pub(super) fn missed(self, looks: u32) -> f64 {
        match self {
            Self::Fixed(s) => (1.0 - s).powf(f64::from(looks)),
            Self::Beta(a, b) => {
                (0..looks).map(|i| (b + f64::from(i)) / (a + b + f64::from(i))).product()
            }
        }
    }
}

/// Chance that a plant is infested after so many looks that found nothing, from the chance before
/// them: π m / (π m + 1 − π), m the chance that all looks miss it.
///
/// # Errors
/// When a chance is outside of 0 to 1.
pub fn infested_after(before: f64, detection: Detection, looks: u32) -> Result<f64, OutOfRange> {
    within("chance before looking", before, "1", 0.0, 1.0)?;
    let missed = before * detection.check()?.missed(looks);
    let clean = 1.0 - before;
    Ok(if missed + clean > 0.0 { missed / (missed + clean) } else { 1.0 })
}

/// The fewest clean looks after which the chance is below a target; `None` when a thousand do not
/// do.
///
/// # Errors
/// When a chance is outside of 0 to 1.
pub fn looks_needed(
    before: f64,
    detection: Detection,
    target: f64,
) -> Result<Option<u32>, OutOfRange> {
    within("chance aimed at", target, "1", 0.0, 1.0)?;
    for looks in 0..=1000 {
        if infested_after(before, detection, looks)? < target {
            return Ok(Some(looks));
        }
    }
    Ok(None)
}

/// Whether a plant may join the others.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Release {
    /// When the slowest suspect has gone through a generation, usual speed \[d\]; `None` when it
    /// is too cold.
    pub generation: Option<f64>,
    /// Chance that it is infested all the same.
    pub infested: f64,
    /// Whether both conditions hold.
    pub ready: bool,
}

/// A newcomer in quarantine.
#[derive(Debug, Clone, PartialEq)]
pub struct Newcomer<'a> {
    /// What it may carry, each by the stage that is a generation.
    pub suspects: Vec<&'a Stage>,
    /// When it arrived \[d\].
    pub arrived: f64,
    /// Chance that it was infested then: 0.2 by mail, 0.05 from a trusted hand (common practice).
    pub before: f64,
    /// Chance that a look finds it.
    pub detection: Detection,
    /// Looks so far that found nothing.
    pub clean_looks: u32,
}

impl Newcomer<'_> {
    /// Looks at both conditions: a full generation of the slowest suspect at the temperatures
    /// there were and, after them, at `expected` \[°C\]; and the chance below a target after the
    /// looks that found nothing.
    ///
    /// # Errors
    /// When a chance is outside of 0 to 1, or a stage cannot be used.
    pub fn release(
        &self,
        series: &HeatSeries,
        today: f64,
        expected: f64,
        target: f64,
    ) -> Result<Release, HeatError> {
        let infested = infested_after(self.before, self.detection, self.clean_looks)?;
        let mut generation = Some(self.arrived);
        for suspect in &self.suspects {
            let dates = stage_dates(&[suspect], series, self.arrived, expected)?;
            generation = generation.zip(dates).map(|(g, d)| g.max(d.usual));
        }
        let ready = generation.is_some_and(|g| g <= today) && infested < target;
        Ok(Release { generation, infested, ready })
    }
}
