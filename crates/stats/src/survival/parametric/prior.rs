//! Normal priors inside a likelihood.

/// Coefficients with a normal prior: place, mean and standard deviation. Others have a flat prior.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Prior {
    pub coefficients: Vec<(usize, f64, f64)>,
}
