//! What a mixed model says.

use serde::Serialize;

use crate::model::Coefficient;

/// A fitted mixed model.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MixedFit {
    /// Best linear unbiased estimates of the coefficients.
    pub terms: Vec<Estimate>,
    /// Their covariance, by rows.
    pub covariance: Vec<Vec<f64>>,
    /// The variances, that of the residual last.
    pub variances: Vec<Component>,
    /// Covariances of intercepts and slopes.
    pub covariances: Vec<Together>,
    /// Restricted log-likelihood, with −(n−p)/2·log 2π and without log|XᵀX|/2.
    pub log_restricted_likelihood: f64,
    /// Best linear unbiased predictions of the effects of all levels.
    pub levels: Vec<LevelEffect>,
    /// Records.
    pub n: usize,
    /// Steps of the search; 0 when all variances were given.
    pub iterations: usize,
    /// Length of the gradient where the search ended, by the roots of the covariances and the
    /// logarithm of the residual variance, the response having a standard deviation of 1.
    pub gradient_norm: f64,
}

impl MixedFit {
    /// A variance by its name; `residual` for that of the residual.
    pub fn variance(&self, group: &str) -> Option<f64> {
        self.variances.iter().find(|v| v.group == group).map(|v| v.variance)
    }
}

/// A coefficient of the fixed part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Estimate {
    /// What it is called.
    #[serde(flatten)]
    pub coefficient: Coefficient,
    /// The estimate.
    pub estimate: f64,
    /// Its standard error, at the variances found.
    pub se: f64,
}

/// A variance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Component {
    /// The random term; with a colon and the covariate for its slopes; `residual`.
    pub group: String,
    /// The variance, 0 or more.
    pub variance: f64,
    /// Its root.
    pub sd: f64,
    /// Standard error of the variance from the average information; none on a boundary, nor where
    /// the variance was given.
    pub se: Option<f64>,
    /// Whether the estimate lies on the boundary: a variance of zero, or a correlation of ±1.
    pub boundary: bool,
    /// Whether the variance was given, not estimated.
    pub given: bool,
}

/// How intercepts and slopes go together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Together {
    /// The random term.
    pub group: String,
    /// The covariance.
    pub covariance: f64,
    /// The correlation, between −1 and 1; none where a variance is zero.
    pub correlation: Option<f64>,
    /// Standard error of the covariance; none on a boundary, nor where it was given.
    pub se: Option<f64>,
}

/// The effect of a level.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LevelEffect {
    /// The random term, as in the variances.
    pub group: String,
    /// The level.
    pub level: String,
    /// The prediction.
    pub estimate: f64,
    /// Variance of prediction error, with the uncertainty of the coefficients.
    pub pev: f64,
    /// Standard deviation of the effect given the records and the coefficients.
    pub conditional_sd: f64,
    /// 1 − PEV over the variance of the effect, between 0 and 1; none where that is zero.
    pub reliability: Option<f64>,
}

/// A test of a random term against its absence.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ZeroTest {
    /// The random term; with a colon and the covariate for its slopes.
    pub group: String,
    /// Twice the difference of the restricted log-likelihoods.
    pub chi_square: f64,
    /// Degrees of freedom of the two chi-square distributions, mixed half and half.
    pub df: [u32; 2],
    /// Probability of a larger value if there were no variance.
    pub p: f64,
}
