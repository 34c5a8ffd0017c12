//! Why a pedigree has no breeding values.

use crate::{mixed::MixedError, sparse::SparseError};

/// Why a pedigree has no breeding values. Individuals and records are numbered from 1.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PedigreeError {
    /// Records or a design that cannot be used.
    #[error(transparent)]
    Mixed(#[from] MixedError),
    /// Equations that cannot be solved.
    #[error(transparent)]
    Sparse(#[from] SparseError),
    /// No individuals.
    #[error("there is no individual; give at least one")]
    Empty,
    /// Lists of different lengths.
    #[error("{found} {what} where there are {expected}; give one for each")]
    Lengths {
        /// Of what.
        what: &'static str,
        /// How many there are.
        found: usize,
        /// How many there should be.
        expected: usize,
    },
    /// A parent or individual that is not in the pedigree.
    #[error("{what} {at} is of individual {individual}, and there are {individuals}; correct it")]
    NoIndividual {
        /// A line or a record.
        what: &'static str,
        /// Which one.
        at: usize,
        /// The individual it names.
        individual: usize,
        /// How many there are.
        individuals: usize,
    },
    /// An individual that is its own ancestor.
    #[error(
        "individual {individual} is its own ancestor, or one of its progeny is; correct their parents"
    )]
    Circle {
        /// One individual of the circle, or an ancestor of one.
        individual: usize,
    },
    /// Inbreeding outside of its range.
    #[error("the inbreeding {value} of individual {individual} is not between 0 and 1; correct it")]
    Inbreeding {
        /// The individual.
        individual: usize,
        /// The value.
        value: f64,
    },
    /// No variance of its own: a seedling of a completely inbred plant.
    #[error(
        "individual {individual} has no variance of its own, its parents being completely inbred; \
         enter it as a piece of its parent"
    )]
    NoOwnVariance {
        /// The individual.
        individual: usize,
    },
    /// A lasting effect of two individuals.
    #[error("record {record}: its lasting effect belongs to another individual too; separate them")]
    SharedEffect {
        /// The record.
        record: usize,
    },
    /// A variance that is none.
    #[error("the {name} variance {value} is not {expected}; correct it")]
    Given {
        /// Of what.
        name: &'static str,
        /// The value.
        value: f64,
        /// What was expected.
        expected: &'static str,
    },
    /// Conjugate gradients did not come down.
    #[error(
        "no solution after {steps} steps of conjugate gradients: the residual is still {residual:.1e} of \
         the right-hand side; allow more steps or a larger factor"
    )]
    NotReached {
        /// Steps taken.
        steps: usize,
        /// The residual reached.
        residual: f64,
    },
}
