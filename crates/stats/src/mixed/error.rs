//! Why a mixed model has no answer.

use crate::{model::ModelError, sparse::SparseError};

/// Why a mixed model has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MixedError {
    /// The design cannot be used.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// The equations cannot be solved.
    #[error(transparent)]
    Sparse(#[from] SparseError),
    /// A response that is infinite or not a number.
    #[error("record {row}: the response {value} is not a finite number; correct it")]
    Response {
        /// Which record, from 1.
        row: usize,
        /// Its value.
        value: f64,
    },
    /// Response and design of different lengths.
    #[error("{responses} responses for {records} records; give one for each")]
    Lengths {
        /// Responses.
        responses: usize,
        /// Records of the design or of a random term.
        records: usize,
    },
    /// Weights and records of different number.
    #[error("{weights} weights for {records} records; give one for each")]
    Weights {
        /// Weights.
        weights: usize,
        /// Records.
        records: usize,
    },
    /// A weight that is none.
    #[error("record {row}: the weight {value} is not a finite number above 0; correct it")]
    Weight {
        /// Which record, from 1.
        row: usize,
        /// Its value.
        value: f64,
    },
    /// Fewer records than coefficients and one more.
    #[error(
        "{records} records leave nothing to measure the spread with once {coefficients} \
         coefficients are estimated; give more records or fewer terms"
    )]
    Saturated {
        /// Records.
        records: usize,
        /// Coefficients of the fixed part.
        coefficients: usize,
    },
    /// The response is the same in all records.
    #[error(
        "the response is {value} in every record, so there is no spread to share out; check the column"
    )]
    Constant {
        /// The value.
        value: f64,
    },
    /// The fixed part explains all.
    #[error(
        "the terms explain every record exactly, so there is no spread to share out; use fewer terms"
    )]
    PerfectFit,
    /// The random terms explain all.
    #[error(
        "the random terms explain every record exactly: the residual variance is zero and the \
         variances cannot be estimated; use fewer random terms or more records for each level"
    )]
    ResidualZero,
    /// Each record is a level of its own.
    #[error(
        "{term} has no level with a second record, so its variance cannot be told from the \
         residual; leave it out, or give more records for its levels"
    )]
    LevelPerRecord {
        /// The random term.
        term: String,
    },
    /// A random term with one level.
    #[error("{term} is “{level}” in every record, so it has no variance to estimate; leave it out")]
    OneLevel {
        /// The random term.
        term: String,
        /// Its only level.
        level: String,
    },
    /// A slope on a column without spread.
    #[error(
        "{column} is the same in every record, so there is no slope on it for {term}; leave it out"
    )]
    FlatSlope {
        /// The random term.
        term: String,
        /// The column.
        column: String,
    },
    /// A relation that does not fit its term.
    #[error("the relation among the {levels} levels of {term} {what}; correct it")]
    Relation {
        /// The random term.
        term: String,
        /// Its levels.
        levels: usize,
        /// What is wrong.
        what: &'static str,
    },
    /// Two random terms of the same name.
    #[error("there are two random terms {term}; leave one of them out")]
    Twice {
        /// The name.
        term: String,
    },
    /// A given variance that is none.
    #[error("the variance {name} = {value} is not {expected}; correct it")]
    Given {
        /// Of what.
        name: String,
        /// The value.
        value: f64,
        /// What was expected.
        expected: &'static str,
    },
    /// A name that is no variance of the model.
    #[error("there is no variance {name}; there are {there}")]
    Unknown {
        /// The name.
        name: String,
        /// Those that are there, with commas.
        there: String,
    },
    /// Variances that the records do not tell apart.
    #[error(
        "the records do not tell the variances of {names} apart (the information is not positive \
         definite); leave out one of them"
    )]
    NotIdentified {
        /// Of what, with commas.
        names: String,
    },
    /// The optimum was not reached.
    #[error(
        "no optimum after {iterations} steps: the log-likelihood could still rise by about \
         {decrement:.1e}; use fewer random terms, or allow more steps"
    )]
    NotReached {
        /// Steps taken.
        iterations: usize,
        /// What a further step promised.
        decrement: f64,
    },
}
