//! Time to an event (a flower's end, a root, a germination) from records that are often vague.
//!
//! - [`Time`]: seen exactly, between two looks, still going, or already over at the first look.
//! - [`KaplanMeier`]: the survival curve where every event was seen exactly or is still to come.
//! - [`Turnbull`]: the same from intervals.
//! - [`AalenJohansen`]: which of several endings, when one prevents the others.
//! - [`Curve`]: what both give: where the probability of the event lies.
//! - [`typical`]: the median with an interval, for small samples, choosing between the two.
//! - [`log_rank`]: do groups differ?
//! - [`log_rank_permutation`]: the same for small groups, exactly.
//! - [`parametric`]: the same by a formula, with covariates.
//! - [`Clock`]: days counted by demand.
//! - [`drying`]: how long pots stay moist: many plants together, and one plant at once.
//! - [`km_report`], [`turnbull_report`]: everything as one serialisable answer.

mod aalen_johansen;
mod clock;
mod curve;
pub mod drying;
mod km;
mod logrank;
pub mod parametric;
mod permutation;
mod quantile;
mod report;
pub(crate) mod time;
mod turnbull;
mod typical;

pub use aalen_johansen::{
    AalenJohansen, CompetingGroup, CompetingReport, Ending, Incidence, IncidenceStep,
    competing_report,
};
pub use clock::{Clock, ClockError};
pub use curve::{Bounds, Curve, Mass, NextEvent};
pub use km::{Interval, KaplanMeier, Step};
pub use logrank::{LogRank, log_rank};
pub use permutation::{PERMUTED_RECORDS, Permutation, log_rank_permutation};
pub use quantile::Quantile;
pub use report::{KmGroup, KmReport, TurnbullGroup, TurnbullReport, km_report, turnbull_report};
pub use time::{SurvivalError, Time};
pub use turnbull::Turnbull;
pub use typical::{Method, Typical, typical};
