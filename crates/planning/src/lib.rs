//! Choosing under limits. Plain numbers in, a choice out; nothing here knows plants, the record or
//! the clock.
//!
//! | question | module |
//! |---|---|
//! | which of these go where, each to a place of its own | [`matching`] |
//! | the same from how they stand now, with a limit on the number of moves | [`moves`] |

pub mod matching;
pub mod moves;

/// Costs among which nothing can be chosen.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PlanningError {
    /// Rows of different lengths, or a place that is not there.
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
