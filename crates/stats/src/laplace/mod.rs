//! Marginal likelihoods by Laplace's approximation: rows whose log-likelihood depends on one linear
//! predictor, with any number of normal random terms.
//!
//! With η = o + Xβ + Zb, b = Λ(θ)u and u standard normal, the log-likelihood of β, θ and shape
//! parameters φ shared by all rows is approximated by
//!
//! ```text
//! ℓ(β, θ, φ) = Σ ℓᵢ(η̂ᵢ; φ) − ½ ûᵀû − ½ log det(ΛᵀZᵀWZΛ + I),   W = diag(−∂²ℓᵢ/∂η²)
//! ```
//!
//! at the mode û of the random effects (Tierney & Kadane 1986, JASA 81:82–86; in this form Bates,
//! Mächler, Bolker & Walker 2015, J. Stat. Softw. 67(1); both from memory). The gradient is exact: it
//! holds how the mode moves. Rows of equal random effects are gathered, so that matrices see cells and
//! not rows; the curvature is factorised with the finest term in blocks. For one random intercept
//! [`Marginal::with_nodes`] replaces the approximation by adaptive Gauss–Hermite quadrature.
//!
//! A kind of response implements [`Rows`]; [`Marginal`] is its likelihood, [`fit`] finds the optimum.

mod adaptive;
mod arrow;
mod design;
mod fit;
mod gradient;
mod marginal;
mod modes;
mod posterior;

pub use fit::{Fit, Penalty, Settings, fit};
pub use marginal::{Layout, Marginal};
pub use modes::{LevelMode, Predictor};
pub use posterior::{NewRow, Posterior, Summary, posterior};

use crate::optimise::OptimiseError;

/// The log-likelihood of a row and its derivatives in the linear predictor.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Derivatives {
    /// ℓ(η).
    pub value: f64,
    /// ∂ℓ/∂η.
    pub first: f64,
    /// ∂²ℓ/∂η².
    pub second: f64,
    /// ∂³ℓ/∂η³.
    pub third: f64,
}

/// Derivatives in a shape parameter φ.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ShapeDerivatives {
    /// ∂ℓ/∂φ.
    pub value: f64,
    /// ∂²ℓ/∂φ∂η.
    pub first: f64,
    /// ∂³ℓ/∂φ∂η².
    pub second: f64,
}

/// Rows whose log-likelihood depends on a linear predictor and on shape parameters that all share.
///
/// Called for every row many times over: keep it free of allocation.
pub trait Rows {
    /// Number of rows.
    fn rows(&self) -> usize;

    /// Number of shape parameters.
    fn shapes(&self) -> usize {
        0
    }

    /// Takes the shape parameters for the calls that follow.
    fn set_shapes(&mut self, _shapes: &[f64]) {}

    /// Log-likelihood of a row and its derivatives.
    fn derivatives(&self, row: usize, eta: f64) -> Derivatives;

    /// Derivatives in each of the shape parameters.
    fn by_shape(&self, _row: usize, _eta: f64, _out: &mut [ShapeDerivatives]) {}
}

/// Why there is no fit.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LaplaceError {
    /// No rows, or parts of different lengths.
    #[error("{what} has {found} rows where there are {expected}; give each row once")]
    Lengths {
        /// Which part.
        what: &'static str,
        /// Its length.
        found: usize,
        /// The number of rows.
        expected: usize,
    },
    /// Parameters of another number than the model has.
    #[error("{found} parameters where the model has {expected}; see its layout")]
    Parameters {
        /// How many were given.
        found: usize,
        /// How many there are.
        expected: usize,
    },
    /// Too many levels beside the largest random term.
    #[error(
        "{levels} levels beside the largest random term, more than {most}; join rare levels, or \
         leave a term out"
    )]
    TooLarge {
        /// Effects in the border.
        levels: usize,
        /// Most that are taken.
        most: usize,
    },
    /// Quadrature beyond one random intercept.
    #[error(
        "{nodes} quadrature nodes need exactly one random intercept; use 1 (Laplace) for several \
         terms or slopes"
    )]
    Quadrature {
        /// Nodes asked for.
        nodes: usize,
    },
    /// The mode of the random effects was not found at the start.
    #[error(
        "the most likely random effects were not found at the starting values; use fewer terms, \
         or give a prior"
    )]
    NoMode,
    /// A prior for a random slope.
    #[error("priors are for random intercepts; leave the random slope out, or the priors")]
    PriorOfSlope,
    /// More standard deviations than a grid can hold.
    #[error("{terms} random terms are too many to be integrated on a grid; use fewer")]
    TooManySpreads {
        /// Random terms.
        terms: usize,
    },
    /// The optimum was not reached, or is none.
    #[error(transparent)]
    Optimise(#[from] OptimiseError),
}
