//! Numbers with their first and second derivatives in the four variables of a record: the linear
//! predictor η, the logarithm of the scale τ, the logit of the share that ever has the event κ, and
//! the logit of twice the rate of misread looks ε.

use super::law::{logistic, softplus};

/// How many variables there are.
pub(crate) const WIDTH: usize = 4;
/// Place of η, τ, κ, ε.
pub(crate) const ETA: usize = 0;
pub(crate) const TAU: usize = 1;
pub(crate) const KAPPA: usize = 2;
pub(crate) const EPSILON: usize = 3;

/// A value with gradient and Hessian.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Jet {
    pub value: f64,
    pub gradient: [f64; WIDTH],
    pub hessian: [[f64; WIDTH]; WIDTH],
}

impl Jet {
    pub fn constant(value: f64) -> Self {
        Jet { value, gradient: [0.0; WIDTH], hessian: [[0.0; WIDTH]; WIDTH] }
    }

    /// −ln(1 + e⁻ˣ) for the variable at `place`: the logarithm of a logistic share; `sign` −1 gives
    /// the logarithm of its complement.
    pub fn log_share(place: usize, x: f64, sign: f64) -> Self {
        let mut jet = Jet::constant(-softplus(-sign * x));
        jet.gradient[place] = sign * logistic(-sign * x);
        jet.hessian[place][place] = -logistic(x) * logistic(-x);
        jet
    }

    pub fn plus(&self, other: &Jet, factor: f64) -> Jet {
        let mut sum = *self;
        sum.value += factor * other.value;
        for i in 0..WIDTH {
            sum.gradient[i] += factor * other.gradient[i];
            for j in 0..WIDTH {
                sum.hessian[i][j] += factor * other.hessian[i][j];
            }
        }
        sum
    }

    /// ln(eᵃ + eᵇ).
    pub fn log_sum(a: &Jet, b: &Jet) -> Jet {
        let top = a.value.max(b.value);
        if top == f64::NEG_INFINITY {
            return Jet::constant(top);
        }
        let value = top + ((a.value - top).exp() + (b.value - top).exp()).ln();
        let (pa, pb) = ((a.value - value).exp(), (b.value - value).exp());
        let mut sum = Jet::constant(value);
        // A part that is impossible has no weight, whatever its derivatives.
        let parts = [(a, pa), (b, pb)].into_iter().filter(|(_, p)| *p > 0.0);
        for (part, p) in parts {
            for i in 0..WIDTH {
                sum.gradient[i] += p * part.gradient[i];
                for j in 0..WIDTH {
                    sum.hessian[i][j] +=
                        p * (part.hessian[i][j] + part.gradient[i] * part.gradient[j]);
                }
            }
        }
        for i in 0..WIDTH {
            for j in 0..WIDTH {
                sum.hessian[i][j] -= sum.gradient[i] * sum.gradient[j];
            }
        }
        sum
    }
}
