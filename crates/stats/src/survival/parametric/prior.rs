//! What is believed before the records are seen.

use serde::Serialize;

use super::ParametricError;

/// A prior of a scale or a standard deviation, in its own unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum ScalePrior {
    /// The absolute value of a normal with mean 0 and this standard deviation.
    HalfNormal {
        /// Standard deviation of the normal.
        scale: f64,
    },
    /// A gamma distribution.
    Gamma {
        /// Shape.
        shape: f64,
        /// Rate: mean is shape / rate.
        rate: f64,
    },
}

impl ScalePrior {
    /// The logarithm of the density of ln s at τ = ln s, with its first two derivatives. Constants
    /// are included, so that prior predictive quantities can be computed.
    pub(crate) fn log_density(&self, tau: f64) -> (f64, f64, f64) {
        let s = tau.exp();
        match *self {
            ScalePrior::HalfNormal { scale } => {
                let q = (s / scale).powi(2);
                let constant = 0.5 * (2.0 / std::f64::consts::PI).ln() - scale.ln();
                (constant - 0.5 * q + tau, 1.0 - q, -2.0 * q)
            }
            ScalePrior::Gamma { shape, rate } => {
                let constant = shape * rate.ln() - puruspe::ln_gamma(shape);
                (constant + shape * tau - rate * s, shape - rate * s, -rate * s)
            }
        }
    }

    /// The median: what is taken where nothing can be learnt (a half-normal's mode is 0 and would
    /// pool everything away).
    pub fn median(&self) -> f64 {
        match *self {
            ScalePrior::HalfNormal { scale } => scale * crate::special::normal_quantile(0.75),
            ScalePrior::Gamma { shape, rate } => puruspe::invgammp(0.5, shape) / rate,
        }
    }

    /// Looks whether its numbers are possible; `what` names it in the message.
    ///
    /// # Errors
    /// A number that is not above 0.
    pub fn check(&self, what: &str) -> Result<(), ParametricError> {
        let bad = |value: f64| ParametricError::BadOption {
            what: what.to_owned(),
            value,
            expected: "a number above 0",
        };
        let values = match *self {
            ScalePrior::HalfNormal { scale } => vec![scale],
            ScalePrior::Gamma { shape, rate } => vec![shape, rate],
        };
        let wrong = values.into_iter().find(|v| !(v.is_finite() && *v > 0.0));
        wrong.map_or(Ok(()), |v| Err(bad(v)))
    }
}

/// The priors of a fit. A parameter without one has a flat prior.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Prior {
    /// Coefficient by its place, mean and standard deviation of a normal.
    pub coefficients: Vec<(usize, f64, f64)>,
    /// Of the scale.
    pub scale: Option<ScalePrior>,
    /// Of the standard deviation of the random intercept.
    pub random_sd: Option<ScalePrior>,
}
