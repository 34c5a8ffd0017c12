//! The optimum of a marginal likelihood, boundaries and standard errors.

use super::{LaplaceError, Marginal, Rows};
use crate::{
    dense,
    optimise::{Minimum, OptimiseError, Stop, covariance, curvature, minimise, norm},
};

/// A log-density added to the log-likelihood: priors of parameters.
pub trait Penalty {
    /// The log-density; adds its gradient to `gradient`.
    fn evaluate(&self, parameters: &[f64], gradient: &mut [f64]) -> f64;
}

/// How to fit.
#[derive(Clone, Copy, Default)]
pub struct Settings<'a> {
    /// Priors, when the optimum is to be that of the posterior density.
    pub penalty: Option<&'a dyn Penalty>,
    /// When to stop.
    pub stop: Stop,
}

/// A fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Fixed effects, random terms, shapes, as the layout says. Standard deviations are not negative.
    pub parameters: Vec<f64>,
    /// The log-likelihood there, without priors.
    pub log_likelihood: f64,
    /// The log-density of the priors there; 0 without.
    pub log_prior: f64,
    /// Inverse of the observed information, row-major; rows of parameters on a boundary are 0.
    pub covariance: Vec<f64>,
    /// Which parameters are on a boundary: their variance is 0, and they have no standard error.
    pub boundary: Vec<bool>,
    /// Norm of the gradient over the other parameters.
    pub gradient_norm: f64,
    /// Steps of the optimiser.
    pub iterations: usize,
}

impl Fit {
    /// Standard error of a parameter; `None` on a boundary.
    pub fn se(&self, parameter: usize) -> Option<f64> {
        let n = self.parameters.len();
        (!self.boundary[parameter]).then(|| self.covariance[parameter * n + parameter].sqrt())
    }
}

/// A standard deviation below this is tried at 0.
const PERHAPS_ZERO: f64 = 0.02;

/// Maximises the marginal likelihood (times the priors) from a start, whose standard deviations must
/// not be 0. Afterwards the marginal stands at the optimum.
///
/// # Errors
/// A start of another length or without value, an optimum that is not reached, or an information
/// that is not positive definite over the parameters that are not on a boundary.
pub fn fit<R: Rows>(
    m: &mut Marginal<R>,
    start: &[f64],
    settings: Settings,
) -> Result<Fit, LaplaceError> {
    let n = m.layout().len();
    if start.len() != n {
        return Err(LaplaceError::Parameters { found: start.len(), expected: n });
    }
    if m.evaluate(start, None).is_none() {
        return Err(LaplaceError::NoMode);
    }
    let mut scale = first_scale(m);
    let mut task = Task { whole: start.to_vec(), free: (0..n).collect(), m, settings };
    let mut found = task.minimise(&scale, true)?;
    let mut iterations = found.iterations;
    let mut boundary = vec![false; n];
    while let Some(zeros) = task.at_boundary(&found) {
        zeros.iter().for_each(|k| boundary[*k] = true);
        task.put(&found.at);
        for k in zeros {
            task.whole[k] = 0.0;
        }
        task.free.retain(|k| !boundary[*k]);
        found = task.minimise(&scale, true)?;
        iterations += found.iterations;
    }
    let free = task.free.clone();
    for (i, k) in free.iter().enumerate() {
        let learnt = found.metric[i * free.len() + i].sqrt();
        if learnt.is_finite() && learnt > 0.0 {
            scale[*k] = learnt;
        }
    }
    let (found, inverse) = task.polish(found, &scale)?;
    task.put(&found.at);
    let mut parameters = task.whole.clone();
    let mut whole = vec![0.0; n * n];
    for (i, a) in free.iter().enumerate() {
        for (j, b) in free.iter().enumerate() {
            whole[a * n + b] = inverse[i * free.len() + j];
        }
    }
    normalise(task.m, &mut parameters, &mut whole);
    let mut gradient = vec![0.0; n];
    let m = task.m;
    let log_likelihood =
        m.evaluate(&parameters, Some(&mut gradient)).ok_or(LaplaceError::NoMode)?;
    let log_prior = settings.penalty.map_or(0.0, |p| p.evaluate(&parameters, &mut gradient));
    let left: Vec<f64> = free.iter().map(|k| gradient[*k]).collect();
    Ok(Fit {
        parameters,
        log_likelihood,
        log_prior,
        covariance: whole,
        boundary,
        gradient_norm: norm(&left),
        iterations,
    })
}

/// The likelihood as a function of the parameters that are free.
pub(super) struct Task<'a, 'b, R> {
    pub m: &'a mut Marginal<R>,
    pub whole: Vec<f64>,
    pub free: Vec<usize>,
    pub settings: Settings<'b>,
}

impl<R: Rows> Task<'_, '_, R> {
    pub fn put(&mut self, free: &[f64]) {
        self.free.iter().zip(free).for_each(|(k, v)| self.whole[*k] = *v);
    }

    pub fn value(&mut self, free: &[f64], gradient: &mut [f64]) -> f64 {
        self.put(free);
        let mut whole = vec![0.0; self.whole.len()];
        let Some(mut value) = self.m.evaluate(&self.whole, Some(&mut whole)) else {
            return f64::INFINITY;
        };
        if let Some(penalty) = self.settings.penalty {
            value += penalty.evaluate(&self.whole, &mut whole);
        }
        gradient.iter_mut().zip(&self.free).for_each(|(g, k)| *g = -whole[*k]);
        -value
    }

    pub fn minimise(&mut self, scale: &[f64], guess: bool) -> Result<Minimum, OptimiseError> {
        let start: Vec<f64> = self.free.iter().map(|k| self.whole[*k]).collect();
        let n = start.len();
        let mine: Vec<f64> = self.free.iter().map(|k| scale[*k]).collect();
        let stop = self.settings.stop;
        let mut here = vec![0.0; n];
        let mut objective = |at: &[f64], g: &mut [f64]| self.value(at, g);
        let mut metric = None;
        if guess && n > 0 {
            objective(&start, &mut here);
            let matrix = curvature(&mut objective, &start, &mine, Some(&here));
            metric = Some(covariance(&matrix, n).unwrap_or_else(|_| {
                let mut diagonal = vec![0.0; n * n];
                (0..n).for_each(|i| diagonal[i * n + i] = mine[i] * mine[i]);
                diagonal
            }));
        }
        minimise(&mut objective, &start, metric, stop)
    }

    /// Parameters of the next term whose variance, or a direction of it, is 0 at the optimum.
    fn at_boundary(&mut self, found: &Minimum) -> Option<Vec<usize>> {
        self.put(&found.at);
        let here = self.whole.clone();
        let is_free = |k: &usize| self.free.contains(k);
        let mut tries: Vec<Vec<usize>> = Vec::new();
        for t in 0..self.m.terms() {
            let range = self.m.parameters_of(t);
            if range.len() == 1 {
                tries.push(vec![range.start]);
            } else {
                tries.push(vec![range.start + 2]);
                // Without an intercept variance l₂₁ and l₂₂ say the same.
                tries.push(vec![range.start, range.start + 1]);
            }
        }
        tries
            .retain(|t| t.iter().any(is_free) && here[t[0]].abs() < PERHAPS_ZERO && is_free(&t[0]));
        let value = -found.value;
        for zeros in tries {
            let mut place = here.clone();
            if let [first, second] = zeros[..] {
                place[second + 1] = place[second].hypot(place[second + 1]);
                place[first] = 0.0;
            }
            zeros.iter().for_each(|k| place[*k] = 0.0);
            let mut unused = vec![0.0; place.len()];
            let prior = self.settings.penalty.map_or(0.0, |p| p.evaluate(&place, &mut unused));
            let there = self.m.evaluate(&place, None).unwrap_or(f64::NEG_INFINITY) + prior;
            if there >= value - 1e-8 * (1.0 + value.abs()) {
                return Some(zeros);
            }
        }
        None
    }

    /// One Newton step with the true curvature, and its inverse.
    fn polish(
        &mut self,
        mut found: Minimum,
        scale: &[f64],
    ) -> Result<(Minimum, Vec<f64>), OptimiseError> {
        let n = found.at.len();
        if n == 0 {
            return Ok((found, Vec::new()));
        }
        let mine: Vec<f64> = self.free.iter().map(|k| scale[*k]).collect();
        let mut objective = |at: &[f64], g: &mut [f64]| self.value(at, g);
        let matrix = curvature(&mut objective, &found.at, &mine, None);
        let inverse = covariance(&matrix, n)?;
        let step = dense::times(&inverse, &found.gradient);
        let at: Vec<f64> = found.at.iter().zip(&step).map(|(a, s)| a - s).collect();
        let mut gradient = vec![0.0; n];
        let value = objective(&at, &mut gradient);
        if value.is_finite() && norm(&gradient) < norm(&found.gradient) {
            found = Minimum { at, value, gradient, ..found };
        }
        // What is left must be small beside the standard errors.
        let left = dense::dot(&dense::times(&inverse, &found.gradient), &found.gradient);
        if left > 1e-6 {
            return Err(OptimiseError::NotReached {
                iterations: found.iterations,
                gradient_norm: norm(&found.gradient),
            });
        }
        Ok((found, inverse))
    }
}

/// About how far each parameter may move: by the information of the rows for fixed effects.
pub(super) fn first_scale<R: Rows>(m: &Marginal<R>) -> Vec<f64> {
    let p = m.layout.fixed;
    let mut information = vec![0.0; p];
    if p > 0 {
        for (w, x) in m.state.weight.iter().zip(m.x.chunks_exact(p)) {
            information.iter_mut().zip(x).for_each(|(i, x)| *i += w.abs() * x * x);
        }
    }
    let mut scale: Vec<f64> =
        information.iter().map(|i| if *i > 0.0 { i.powf(-0.5) } else { 1.0 }).collect();
    scale.resize(m.layout.len(), 0.1);
    scale
}

/// Makes the diagonal of each factor positive; signs of effects are free.
fn normalise<R: Rows>(m: &Marginal<R>, parameters: &mut [f64], covariance: &mut [f64]) {
    let n = parameters.len();
    let mut flip = |k: usize, parameters: &mut [f64]| {
        // Adding 0 turns a negative zero into a plain one.
        parameters[k] = -parameters[k] + 0.0;
        for j in (0..n).filter(|j| *j != k) {
            covariance[k * n + j] *= -1.0;
            covariance[j * n + k] *= -1.0;
        }
    };
    for t in 0..m.terms() {
        let range = m.parameters_of(t);
        if range.len() == 1 {
            if parameters[range.start] < 0.0 {
                flip(range.start, parameters);
            }
            continue;
        }
        if parameters[range.start] < 0.0 {
            flip(range.start, parameters);
            flip(range.start + 1, parameters);
        }
        if parameters[range.start + 2] < 0.0 {
            flip(range.start + 2, parameters);
        }
    }
}
