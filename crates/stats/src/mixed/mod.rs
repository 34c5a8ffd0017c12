//! Linear mixed models: y = X·b + Σ Zᵢ·uᵢ + e, with uᵢ ~ N(0, Kᵢ⊗Gᵢ) and
//! e ~ N(0, σ²·diag(1/w)).
//!
//! [`fit`] finds the variances by restricted maximum likelihood (Patterson & Thompson 1971) and, with
//! them, the best linear unbiased estimates of b and predictions of u (Henderson 1975), with their
//! errors. The records are gone through once, for their cross products; every step then works on
//! the mixed-model equations alone.

mod draws;
mod error;
mod fit;
mod gram;
mod point;
mod relation;
mod result;
mod scale;
mod search;
mod shared;
mod small;

pub use draws::{Draws, chance_best, draws};
pub use error::MixedError;
pub use fit::{fit, test_zero};
pub use relation::{InverseRelation, Relation};
pub use result::{Component, Estimate, LevelEffect, MixedFit, Together, ZeroTest};

pub(crate) use scale::Scaled;

use crate::{model::RandomTerm, sparse::FILL_LIMIT};

/// A random term and how its levels are related.
#[derive(Debug, Clone, PartialEq)]
pub struct Random {
    /// What its results are called.
    pub name: String,
    /// The levels of each record.
    pub term: RandomTerm,
    /// How the levels are related.
    pub relation: Relation,
}

impl Random {
    /// A term whose levels are independent, called as it was written.
    pub fn independent(term: RandomTerm) -> Self {
        Random { name: term.name.clone(), term, relation: Relation::Independent }
    }

    /// A term whose levels are related by a matrix of which the inverse is given. Levels without
    /// records get predictions through their relatives.
    pub fn related(name: impl Into<String>, term: RandomTerm, inverse: InverseRelation) -> Self {
        Random { name: name.into(), term, relation: Relation::Inverse(inverse) }
    }

    /// What the variance of its slopes is called.
    pub fn slope_name(&self) -> Option<String> {
        self.term.slope.as_ref().map(|(column, _)| format!("{}:{column}", self.name))
    }

    /// What the covariance of its intercepts and slopes is called where it is given.
    pub fn covariance_name(&self) -> String {
        format!("covariance({})", self.name)
    }
}

/// What the variance of the residual is called.
pub const RESIDUAL: &str = "residual";

/// How a fit is made.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Variances that are given rather than estimated, by name. A term with slopes needs both
    /// variances; its covariance is 0 unless given.
    pub given: Vec<(String, f64)>,
    /// The most steps of the search.
    pub steps: usize,
    /// The most numbers in the factor of the equations (8 bytes each).
    pub fill_limit: usize,
    /// The weight of each record \[above 0\]: its residual variance is σ² over it, so that a mean of
    /// m measurements has weight m, and with σ² given as 1 a record of known variance v has 1/v.
    /// None gives all the same.
    pub weights: Option<Vec<f64>>,
}

impl Default for Settings {
    fn default() -> Self {
        Settings { given: Vec::new(), steps: 100, fill_limit: FILL_LIMIT, weights: None }
    }
}
