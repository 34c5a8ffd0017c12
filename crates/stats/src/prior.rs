//! What is believed before the records are seen.

use crate::{
    laplace::{Layout, Penalty},
    special::normal_quantile,
};

/// A normal prior of a coefficient.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NormalPrior {
    /// Mean.
    pub mean: f64,
    /// Standard deviation \[above 0\].
    pub sd: f64,
}

/// A prior of a standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SpreadPrior {
    /// The absolute value of a normal variable with mean 0.
    HalfNormal {
        /// Standard deviation of that variable \[above 0\].
        scale: f64,
    },
    /// A gamma distribution.
    Gamma {
        /// Shape \[above 0\]; with 2 and more the density is 0 at 0.
        shape: f64,
        /// Rate \[above 0\]; the mean is shape / rate.
        rate: f64,
    },
}

/// A prior with a number that it cannot have.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("a prior with {name} {value}: expected a finite number above 0")]
pub struct PriorError {
    /// What the number is called.
    pub name: &'static str,
    /// Its value.
    pub value: f64,
}

fn positive(name: &'static str, value: f64) -> Result<(), PriorError> {
    if value.is_finite() && value > 0.0 { Ok(()) } else { Err(PriorError { name, value }) }
}

impl NormalPrior {
    /// Whether its numbers can be used.
    ///
    /// # Errors
    /// A standard deviation that is not above 0, or a mean that is not finite.
    pub fn check(&self) -> Result<(), PriorError> {
        if !self.mean.is_finite() {
            return Err(PriorError { name: "mean", value: self.mean });
        }
        positive("sd", self.sd)
    }

    /// Log-density and its derivative.
    fn log_density(&self, x: f64) -> (f64, f64) {
        let z = (x - self.mean) / self.sd;
        (-0.5 * z * z - (self.sd * (2.0 * std::f64::consts::PI).sqrt()).ln(), -z / self.sd)
    }
}

impl SpreadPrior {
    /// Whether its numbers can be used.
    ///
    /// # Errors
    /// A number that is not above 0.
    pub fn check(&self) -> Result<(), PriorError> {
        match *self {
            SpreadPrior::HalfNormal { scale } => positive("scale", scale),
            SpreadPrior::Gamma { shape, rate } => {
                positive("shape", shape).and_then(|()| positive("rate", rate))
            }
        }
    }

    /// Log-density at a standard deviation above 0, and its derivative.
    pub fn log_density(&self, sd: f64) -> (f64, f64) {
        match *self {
            SpreadPrior::HalfNormal { scale } => {
                let constant = 0.5 * (2.0 / std::f64::consts::PI).ln() - scale.ln();
                (constant - 0.5 * (sd / scale).powi(2), -sd / (scale * scale))
            }
            SpreadPrior::Gamma { shape, rate } => {
                let constant = shape * rate.ln() - puruspe::ln_gamma(shape);
                let value = constant + (shape - 1.0) * sd.ln() - rate * sd;
                (value, (shape - 1.0) / sd - rate)
            }
        }
    }

    /// The median: what to take where nothing can be learnt (the mode of a half-normal is 0, which
    /// would pool everything).
    pub fn median(&self) -> f64 {
        match *self {
            SpreadPrior::HalfNormal { scale } => scale * normal_quantile(0.75),
            SpreadPrior::Gamma { shape, rate } => puruspe::invgammp(0.5, shape) / rate,
        }
    }
}

/// The priors of a model with random intercepts; a parameter without one has a flat prior.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Priors {
    /// Of the fixed effects, in their order.
    pub coefficients: Vec<Option<NormalPrior>>,
    /// Of the standard deviations, in the order of the random terms.
    pub spreads: Vec<Option<SpreadPrior>>,
    /// Of the shape parameters, in their order.
    pub shapes: Vec<Option<NormalPrior>>,
}

impl Priors {
    /// None for any parameter of a model.
    pub fn flat(layout: Layout) -> Self {
        Priors {
            coefficients: vec![None; layout.fixed],
            spreads: vec![None; layout.random],
            shapes: vec![None; layout.shapes],
        }
    }

    /// Whether all can be used.
    ///
    /// # Errors
    /// The first that cannot.
    pub fn check(&self) -> Result<(), PriorError> {
        for normal in self.coefficients.iter().chain(&self.shapes).flatten() {
            normal.check()?;
        }
        self.spreads.iter().flatten().try_for_each(SpreadPrior::check)
    }
}

impl Penalty for Priors {
    fn evaluate(&self, parameters: &[f64], gradient: &mut [f64]) -> f64 {
        let (p, q) = (self.coefficients.len(), self.spreads.len());
        let mut value = 0.0;
        let normals = self.coefficients.iter().enumerate();
        let shapes = self.shapes.iter().enumerate().map(|(k, s)| (p + q + k, s));
        for (k, prior) in normals.chain(shapes) {
            if let Some(prior) = prior {
                let (v, slope) = prior.log_density(parameters[k]);
                value += v;
                gradient[k] += slope;
            }
        }
        for (k, prior) in self.spreads.iter().enumerate() {
            if let Some(prior) = prior {
                // Standard deviations of either sign mean the same.
                let sd = parameters[p + k];
                let (v, slope) = prior.log_density(sd.abs());
                value += v;
                gradient[p + k] += slope * sd.signum();
            }
        }
        value
    }
}
