//! Why there are no rates.

use crate::{laplace::LaplaceError, model::ModelError, optimise::OptimiseError, prior::PriorError};

/// Why there is no fit of success rates.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SuccessError {
    /// A batch with more successes than trials.
    #[error("row {row}: {successes} successes in {trials} trials; there cannot be more")]
    TooManySuccesses {
        /// Which row, from 1.
        row: usize,
        /// Successes.
        successes: u64,
        /// Trials.
        trials: u64,
    },
    /// No trials in any row.
    #[error("no trials in any row; record at least one")]
    NoTrials,
    /// Batches and columns of different lengths.
    #[error("{batches} batches where the columns have {rows} rows; give each batch once")]
    Lengths {
        /// Batches.
        batches: usize,
        /// Rows of the columns.
        rows: usize,
    },
    /// A batch whose place has another shape than the model.
    #[error(
        "row {row}: its numbers, levels and pair do not fit the model; give a number for each \
         coefficient, a level below the term's count for each term, and a pair"
    )]
    Place {
        /// Which row, from 1.
        row: usize,
    },
    /// The design cannot be made.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// A term foretells outcomes, so that its effect has no finite estimate.
    #[error(
        "{} separates success from failure{}: {successes} of {trials} trials succeeded there, so its \
         effect has no finite estimate; leave it out, join its levels, or give a prior",
        place(.term, .level.as_deref()),
        if *.complete { " completely" } else { "" }
    )]
    Separation {
        /// The term.
        term: String,
        /// Its level, where it has one.
        level: Option<String>,
        /// Successes there.
        successes: u64,
        /// Trials there.
        trials: u64,
        /// Whether every row is foretold (complete separation), or some only (quasi-complete).
        complete: bool,
    },
    /// The levels of a random term differ without bound.
    #[error(
        "the levels of {term} are so far apart (standard deviation {sd:.1} on the scale of log odds) \
         that their spread has no finite estimate; give a prior, or leave it out"
    )]
    Unbounded {
        /// The random term.
        term: String,
        /// Where the search had come.
        sd: f64,
    },
    /// A random term with a single level.
    #[error("{term} is “{level}” in every row, so it has no spread to estimate; leave it out")]
    OneLevel {
        /// The random term.
        term: String,
        /// Its only level.
        level: String,
    },
    /// A prior for something that the model does not have.
    #[error("there is no {what} to have a prior; the model has {there}")]
    PriorOfNothing {
        /// The coefficient or random term asked for.
        what: String,
        /// What there is.
        there: String,
    },
    /// A prior that cannot be one.
    #[error(transparent)]
    Prior(#[from] PriorError),
    /// A confidence that is not a share.
    #[error("confidence {0}: expected a number between 0 and 1, such as 0.95")]
    Confidence(f64),
    /// The fit.
    #[error(transparent)]
    Fit(#[from] LaplaceError),
}

impl SuccessError {
    /// Whether the search for the optimum is what failed, and not what was given.
    pub fn is_unfinished(&self) -> bool {
        matches!(
            self,
            SuccessError::Fit(
                LaplaceError::NoMode
                    | LaplaceError::Optimise(
                        OptimiseError::NotReached { .. }
                            | OptimiseError::NotPositiveDefinite
                            | OptimiseError::Start
                    )
            ) | SuccessError::Separation { .. }
                | SuccessError::Unbounded { .. }
        )
    }
}

fn place(term: &str, level: Option<&str>) -> String {
    level.map_or_else(|| term.to_owned(), |level| format!("{term} = {level}"))
}
