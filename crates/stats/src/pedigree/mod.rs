//! Breeding values from a pedigree, at variances that are given: y = X·b + Z·a + p + e, with
//! a ~ N(0, σ²ₐ·A), lasting effects p ~ N(0, σ²ₚ·I) and e ~ N(0, σ²·diag(1/w)).
//!
//! [`crate::mixed`] solves any mixed model; this is for pedigrees of a nursery's size, where the
//! structure is known beforehand:
//!
//! - Lasting effects stand on the diagonal, so that they are absorbed in closed form.
//! - An individual without progeny touches its parents alone, so that it is absorbed in closed form
//!   as well; what is left is a system among the parents, often a hundred times smaller.
//! - That is factored (Cholesky), and variances of prediction error come from the entries of its
//!   inverse that lie on the factor. Where the factor would be too large, which is known before
//!   any number of it is computed, conjugate gradients solve the system without it.
//!
//! [`Equations`] are formed once, [`Equations::prepare`] makes the [`Solver`], which gives the
//! [`PedigreeFit`] and draws from the joint posterior.

mod core;
mod draws;
mod error;
mod gradients;
mod lines;
mod solver;
mod sums;

pub use draws::Draw;
pub use error::PedigreeError;
pub use lines::Lines;
pub use solver::Solver;

use self::{core::Core, sums::Sums};
use crate::{
    mixed::Estimate,
    model::Fixed,
    sparse::{FILL_LIMIT, Pattern},
};

/// Records of individuals of a pedigree.
#[derive(Debug, Clone, Copy)]
pub struct Records<'a> {
    /// What was measured.
    pub response: &'a [f64],
    /// The fixed part.
    pub fixed: &'a Fixed,
    /// The individual of each record, by its place in the [`Lines`].
    pub individual: &'a [u32],
    /// The lasting effect of each record; each belongs to one individual. None leaves them out.
    pub permanent: Option<&'a [u32]>,
    /// The weight of each record \[above 0\]: its residual variance is σ² over it. A mean of m
    /// measurements has weight m.
    pub weights: Option<&'a [f64]>,
}

/// Variances, in the square of the response's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Given {
    /// Of breeding values of individuals that are not inbred \[above 0\].
    pub additive: f64,
    /// Of lasting effects \[0 or more\].
    pub permanent: f64,
    /// Of the residual of a record of weight 1 \[above 0\].
    pub residual: f64,
}

/// How the equations are solved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// The most numbers in the factor (8 bytes each); beyond, conjugate gradients. 0 asks for those.
    pub fill_limit: usize,
    /// The most that the residual of the equations may be, relative to their right-hand side.
    pub tolerance: f64,
    /// The most steps of conjugate gradients for one right-hand side.
    pub steps: usize,
}

impl Default for Options {
    fn default() -> Self {
        Options { fill_limit: FILL_LIMIT, tolerance: 1e-10, steps: 5_000 }
    }
}

/// Breeding values and what goes with them.
#[derive(Debug, Clone, PartialEq)]
pub struct PedigreeFit {
    /// Best linear unbiased estimates of the coefficients.
    pub terms: Vec<Estimate>,
    /// Their covariance, by rows.
    pub covariance: Vec<Vec<f64>>,
    /// Breeding values, for all individuals of the pedigree.
    pub additive: Vec<Effect>,
    /// Lasting effects, by their number.
    pub permanent: Vec<Effect>,
    /// Restricted log-likelihood at these variances, with −(n−p)/2·log 2π and without log|XᵀX|/2; none
    /// by conjugate gradients, which know no determinant.
    pub log_restricted_likelihood: Option<f64>,
    /// Length of the residual of the equations over that of their right-hand side.
    pub residual: f64,
    /// Steps of conjugate gradients in all; 0 by the factor.
    pub steps: usize,
    /// Numbers in the factor; none by conjugate gradients.
    pub fill: Option<usize>,
    /// Records.
    pub n: usize,
}

/// A predicted effect. What was not asked for, or cannot be had by conjugate gradients, is none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effect {
    /// The prediction.
    pub estimate: f64,
    /// Variance of prediction error, with the uncertainty of the coefficients.
    pub pev: Option<f64>,
    /// Standard deviation given the records and the coefficients.
    pub conditional_sd: Option<f64>,
    /// 1 − PEV over the variance of the effect, between 0 and 1; none where that is zero.
    pub reliability: Option<f64>,
}

/// The mixed-model equations of a pedigree, with what is absorbed in closed form absorbed.
#[derive(Debug)]
pub struct Equations<'a> {
    lines: &'a Lines,
    records: Records<'a>,
    options: Options,
    sums: Sums,
    core: Core,
    /// None where the factor would be too large, or nobody is a parent.
    pattern: Option<Pattern>,
}

impl<'a> Equations<'a> {
    /// Forms the equations. Whether the factor fits is known afterwards.
    ///
    /// # Errors
    /// Records, designs, weights or variances that cannot be used.
    pub fn new(
        lines: &'a Lines,
        records: Records<'a>,
        given: Given,
        options: Options,
    ) -> Result<Self, PedigreeError> {
        let sums = Sums::of(lines, &records, given)?;
        let core = Core::of(lines, &sums);
        let pattern = core.pattern(options.fill_limit)?;
        Ok(Equations { lines, records, options, sums, core, pattern })
    }

    /// How many individuals are left once those without progeny are absorbed.
    pub fn parents(&self) -> usize {
        self.core.len()
    }

    /// Numbers in the factor; none where conjugate gradients are used.
    pub fn fill(&self) -> Option<usize> {
        match &self.pattern {
            Some(pattern) => Some(pattern.fill()),
            None => (self.core.len() == 0).then_some(0),
        }
    }

    /// Factors, and solves for the fixed part.
    ///
    /// # Errors
    /// Equations that are not positive definite, or conjugate gradients that do not come down.
    pub fn prepare(&self) -> Result<Solver<'_>, PedigreeError> {
        Solver::new(self)
    }
}
