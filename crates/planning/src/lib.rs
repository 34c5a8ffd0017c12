//! Choosing under limits. Plain numbers in, a choice out; nothing here knows plants, the record or
//! the clock.
//!
//! | question | module |
//! |---|---|
//! | which of these go where, each to a place of its own | [`matching`] |
//! | the same from how they stand now, with a limit on the number of moves | [`moves`] |
//! | which crosses to make with so many pots and flowers | [`crosses`] |
//! | how much each parent should contribute | [`contributions`] |
//! | which plants to keep where there is room for few | [`keeping`] |
//!
//! What cannot be searched to the end in the looks allowed ([`Watch`]) is given with a bound that no
//! choice exceeds.

pub mod contributions;
pub mod crosses;
pub mod keeping;
mod kinship;
pub mod matching;
pub mod moves;
mod select;
mod watch;

pub use kinship::Kinship;
pub use watch::{Ended, Progress, Watch};

/// Numbers among which nothing can be chosen.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PlanningError {
    /// Rows of different lengths, a place that is not there, a number that is none.
    #[error("{what}; {next}")]
    Shape {
        /// What does not fit.
        what: String,
        /// The next step.
        next: &'static str,
    },
    /// No choice keeps all rules.
    #[error("there is no way to give each a place of its own; allow more places")]
    NoWay,
}
