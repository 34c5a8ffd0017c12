//! Heat sums: when a pest is through with a stage, when to look and to treat again, when a
//! newcomer may join the others.

mod exposure;
mod pest;
mod quarantine;
mod remaining;
mod series;
mod window;

pub use exposure::{Near, SHARED_DAYS, begun, exposure};
pub use pest::{PESTS, Stage, stage};
pub use quarantine::{Detection, Newcomer, Release, infested_after, looks_needed};
pub use remaining::{Chance, LookKind, Looks, TARGET, more_looks, still_there};
pub use series::{HeatError, HeatSeries, Thresholds};
pub use window::{Dates, RepeatWindow, repeat_window, stage_dates};

use crate::Constant;

/// What must be said beside these numbers.
pub const CAUTIONS: [&str; 3] = [
    "The label of a plant protection product is the law: its crops, doses, least interval and \
     most treatments in a year come before any date here.",
    "No product and no dose is proposed. Keep products in their package, locked away from \
     children and pets, and wear what the label asks for.",
    "Looks find pests, not viruses: a plant that looks clean may carry one.",
];

/// Every constant of this module.
pub fn constants() -> Vec<Constant> {
    let mut all = pest::constants();
    all.extend(quarantine::CONSTANTS);
    all.extend(remaining::CONSTANTS);
    all.extend(exposure::CONSTANTS);
    all
}
