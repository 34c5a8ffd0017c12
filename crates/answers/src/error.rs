//! What can go wrong when something is asked or written.

use thiserror::Error;

/// The result of asking or writing.
pub type Result<T, E = AskError> = std::result::Result<T, E>;

/// Why something could not be answered or written. The record is as it was.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum AskError {
    /// The record said so.
    #[error(transparent)]
    Record(#[from] journal::Error),
    /// A list could not be read at all.
    #[error(transparent)]
    List(#[from] intake::ReadError),
    /// A plant, keeper, place, cross or other thing that is asked for is not there.
    #[error("there is no {kind} {which}; {next}")]
    NotThere {
        /// What was asked for.
        kind: &'static str,
        /// Which one.
        which: String,
        /// What to do next.
        next: &'static str,
    },
    /// Something typed into a field cannot be read.
    #[error("{field}: “{value}” {problem}")]
    Field {
        /// The field.
        field: String,
        /// What was typed.
        value: String,
        /// What is wrong, and what to write instead.
        problem: String,
    },
    /// Something odd that has to be confirmed before it is written.
    #[error("this is possible but odd, so it is asked about before it is written: {0}")]
    Odd(String),
}

impl AskError {
    /// A field error.
    pub(crate) fn field(field: &str, value: &str, problem: impl Into<String>) -> Self {
        Self::Field { field: field.to_owned(), value: value.to_owned(), problem: problem.into() }
    }
}
