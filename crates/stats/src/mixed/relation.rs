//! How the levels of a random term are related to each other.

use super::MixedError;
use crate::sparse::{FILL_LIMIT, Pattern, SparseError};

/// How the levels of a random term are related.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Relation {
    /// Not at all: levels are independent of each other.
    #[default]
    Independent,
    /// By a matrix whose inverse is known, as relationship by descent is.
    Inverse(InverseRelation),
}

/// The inverse of a matrix of relations.
#[derive(Debug, Clone, PartialEq)]
pub struct InverseRelation {
    by_level: Vec<Vec<(u32, f64)>>,
    log_determinant: f64,
    diagonal: Vec<f64>,
}

impl InverseRelation {
    /// From the non-zeros of the inverse, of the lower or the upper triangle (not of both), levels
    /// numbered from 0.
    ///
    /// # Errors
    /// Levels outside, a matrix that is not positive definite, or one too large to factor.
    pub fn new(levels: usize, triplets: &[(usize, usize, f64)]) -> Result<Self, MixedError> {
        let (pattern, values) = Pattern::from_triplets(levels, triplets, FILL_LIMIT)?;
        let factor = pattern.factor(&values).map_err(|e| match e {
            SparseError::NotPositive => MixedError::Relation {
                term: "individuals".to_owned(),
                levels,
                what: "is not positive definite",
            },
            other => other.into(),
        })?;
        let columns = (0..levels).map(|j| {
            let kept = pattern.column(j).filter(|(slot, i)| *i == j || values[*slot] != 0.0);
            kept.map(|(slot, i)| (i as u32, values[slot])).collect()
        });
        Ok(InverseRelation {
            by_level: columns.collect(),
            log_determinant: factor.log_determinant(),
            diagonal: factor.inverse().diagonal(),
        })
    }

    /// Number of levels.
    pub fn levels(&self) -> usize {
        self.by_level.len()
    }

    /// The diagonal of the relation itself: what the variance of each level is multiplied by.
    pub fn diagonal(&self) -> &[f64] {
        &self.diagonal
    }

    /// log|inverse|
    pub(super) fn log_determinant(&self) -> f64 {
        self.log_determinant
    }

    pub(super) fn by_level(&self) -> Vec<Vec<(u32, f64)>> {
        self.by_level.clone()
    }
}
