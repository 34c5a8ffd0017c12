//! From columns to design matrices: what all fits with covariates share.
//!
//! A [`Frame`] holds columns of numbers or words. [`Fixed::build`] makes the columns of the fixed
//! part, with treatment contrasts for words; [`RandomTerm::build`] tells for each row which levels
//! of a random effect it belongs to.
//!
//! Terms are written `a`, `a:b` (interaction), `a/b` (b within a) and `factor(a)` (numbers taken as
//! words); random terms `g`, `g:h`, `g/h`, `x|g` (an intercept and a slope on x for each g,
//! correlated) and `mm(a,b)` (one effect for each level, whichever of the columns it stands in).

mod fixed;
mod frame;
mod random;
mod term;

pub use fixed::{Coefficient, Fixed};
pub use frame::{Column, Frame};
pub use random::RandomTerm;
pub use term::{RandomSpec, Term, split_terms};

/// Why no design can be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ModelError {
    /// No rows.
    #[error("no records; a fit needs at least one")]
    Empty,
    /// Columns of different lengths.
    #[error("column {column} has {found} rows where the others have {expected}")]
    Lengths {
        /// The column.
        column: String,
        /// Its length.
        found: usize,
        /// That of the others.
        expected: usize,
    },
    /// A term that cannot be read.
    #[error(
        "term “{0}” cannot be read; write a, a:b, a/b or factor(a), or for random terms g, x|g or mm(a,b)"
    )]
    BadTerm(String),
    /// A term names a column that is not there.
    #[error("there is no column {column}; the columns are {there}")]
    NoColumn {
        /// The column asked for.
        column: String,
        /// Those that are there, with commas.
        there: String,
    },
    /// A number that is infinite or not a number.
    #[error("row {row}, column {column}: {value} is not a finite number; correct it")]
    NotFinite {
        /// Which record, from 1.
        row: usize,
        /// The column.
        column: String,
        /// The value.
        value: f64,
    },
    /// Words where numbers are needed (the slope of a random term).
    #[error("column {column} holds words (“{value}” in row {row}) where numbers are needed")]
    WordsForNumbers {
        /// The column.
        column: String,
        /// The first word.
        value: String,
        /// Which record, from 1.
        row: usize,
    },
    /// A reference level that does not occur.
    #[error("column {column} has no level “{level}”; its levels are {there}")]
    NoLevel {
        /// The column.
        column: String,
        /// The level asked for.
        level: String,
        /// Those that are there, with commas.
        there: String,
    },
    /// A factor with a single level says nothing.
    #[error(
        "column {column} is “{level}” in every row, so it has no effect to estimate; leave it out"
    )]
    OneLevel {
        /// The column.
        column: String,
        /// Its only level.
        level: String,
    },
    /// The columns of the fixed part are not independent.
    #[error(
        "the effect of {coefficient} cannot be told apart from the other terms (singular design); \
         leave one of them out"
    )]
    Singular {
        /// The first coefficient that adds nothing.
        coefficient: String,
    },
    /// More coefficients than records.
    #[error(
        "{coefficients} coefficients cannot be estimated from {records} records; use fewer terms"
    )]
    TooMany {
        /// Coefficients of the fixed part.
        coefficients: usize,
        /// Records.
        records: usize,
    },
}
