//! Minimising a smooth function whose gradient is known, and the curvature at the minimum.
//!
//! BFGS (Nocedal & Wright 2006, "Numerical Optimization", chapter 6; from memory) with a line search
//! for the weak Wolfe conditions by bisection (Lewis & Overton 2013, Math. Program. 141:135–163;
//! from memory). What is not reached is an error, never a number.

use crate::dense;

/// A function to be minimised: writes its gradient and returns its value; a value that is not
/// finite marks a place where the function is not defined.
pub trait Objective {
    /// Value and gradient at a place.
    fn evaluate(&mut self, at: &[f64], gradient: &mut [f64]) -> f64;
}

impl<F: FnMut(&[f64], &mut [f64]) -> f64> Objective for F {
    fn evaluate(&mut self, at: &[f64], gradient: &mut [f64]) -> f64 {
        self(at, gradient)
    }
}

/// A minimum.
#[derive(Debug, Clone, PartialEq)]
pub struct Minimum {
    /// Where.
    pub at: Vec<f64>,
    /// The value there.
    pub value: f64,
    /// The gradient there.
    pub gradient: Vec<f64>,
    /// Steps taken.
    pub iterations: usize,
    /// The inverse curvature as the steps have learnt it, row-major: good enough to scale by, not
    /// for standard errors.
    pub metric: Vec<f64>,
}

/// Why there is no minimum.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OptimiseError {
    /// The function is not defined at the start.
    #[error("the function has no finite value at the start; start elsewhere")]
    Start,
    /// The steps ended before the minimum.
    #[error(
        "the optimum was not reached in {iterations} steps (gradient norm {gradient_norm:.3e}); \
         use fewer terms, or give a prior"
    )]
    NotReached {
        /// Steps taken.
        iterations: usize,
        /// Norm of the gradient where they ended.
        gradient_norm: f64,
    },
    /// The curvature is not positive in every direction.
    #[error(
        "the curvature at the optimum is not positive definite: some parameters cannot be told \
         apart; use fewer terms, or give a prior"
    )]
    NotPositiveDefinite,
}

/// When to stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stop {
    /// Half the expected decrease of a full step, at or below which the minimum is reached.
    /// In a log-likelihood, 1e-11 is a distance of some 5e-6 standard errors.
    pub decrement: f64,
    /// Most steps.
    pub iterations: usize,
}

impl Default for Stop {
    fn default() -> Self {
        Stop { decrement: 1e-11, iterations: 300 }
    }
}

/// Minimises by BFGS from a start; `metric` is a first guess of the inverse curvature (row-major),
/// the unit matrix when there is none.
///
/// # Errors
/// A start without value, or a minimum that is not reached.
pub fn minimise(
    objective: &mut impl Objective,
    start: &[f64],
    metric: Option<Vec<f64>>,
    stop: Stop,
) -> Result<Minimum, OptimiseError> {
    let n = start.len();
    let mut at = start.to_vec();
    let mut gradient = vec![0.0; n];
    let mut value = objective.evaluate(&at, &mut gradient);
    if !(value.is_finite() && gradient.iter().all(|g| g.is_finite())) {
        return Err(OptimiseError::Start);
    }
    let given = metric.is_some();
    let mut b = metric.unwrap_or_else(|| unit(n));
    let mut fresh = !given;
    let mut next = (vec![0.0; n], vec![0.0; n]);
    for iterations in 0..=stop.iterations {
        let mut step: Vec<f64> = dense::times(&b, &gradient).iter().map(|v| -v).collect();
        let mut slope = dense::dot(&step, &gradient);
        if n == 0 || (-0.5 * slope <= stop.decrement && !fresh) || norm(&gradient) == 0.0 {
            return Ok(Minimum { at, value, gradient, iterations, metric: b });
        }
        if slope >= 0.0 {
            b = unit(n);
            fresh = true;
            step = gradient.iter().map(|g| -g).collect();
            slope = dense::dot(&step, &gradient);
        }
        if fresh {
            // Nothing is known of the scale: a first step of length one at most.
            let scale = 1.0 / norm(&step).max(1.0);
            step.iter_mut().for_each(|s| *s *= scale);
            slope *= scale;
        }
        let Some(found) = search(objective, &at, value, &step, slope, &mut next) else {
            // Rounding forbids a further decrease close to the minimum.
            if -0.5 * slope <= 1e-7 && !fresh {
                return Ok(Minimum { at, value, gradient, iterations, metric: b });
            }
            if fresh {
                return Err(OptimiseError::NotReached {
                    iterations,
                    gradient_norm: norm(&gradient),
                });
            }
            b = unit(n);
            fresh = true;
            continue;
        };
        value = found;
        update(&mut b, &at, &gradient, &next, fresh);
        fresh = false;
        at.copy_from_slice(&next.0);
        gradient.copy_from_slice(&next.1);
    }
    Err(OptimiseError::NotReached { iterations: stop.iterations, gradient_norm: norm(&gradient) })
}

/// Finds a step that decreases enough and has passed the steep part; leaves place and gradient in
/// `next`.
fn search(
    objective: &mut impl Objective,
    at: &[f64],
    value: f64,
    step: &[f64],
    slope: f64,
    next: &mut (Vec<f64>, Vec<f64>),
) -> Option<f64> {
    let (mut low, mut high) = (0.0, f64::INFINITY);
    let mut t = 1.0;
    let mut good = None;
    for _ in 0..60 {
        for ((x, a), s) in next.0.iter_mut().zip(at).zip(step) {
            *x = a + t * s;
        }
        let found = objective.evaluate(&next.0, &mut next.1);
        let finite = found.is_finite() && next.1.iter().all(|g| g.is_finite());
        if !finite || found > value + 1e-4 * t * slope {
            high = t;
        } else if dense::dot(&next.1, step) < 0.9 * slope {
            low = t;
            good = Some(found);
        } else {
            return Some(found);
        }
        t = if high.is_finite() { 0.5 * (low + high) } else { 2.0 * low };
        if high - low < 1e-12 || t > 1e6 {
            break;
        }
    }
    // A decrease without enough curvature is still a decrease.
    let found = good?;
    for ((x, a), s) in next.0.iter_mut().zip(at).zip(step) {
        *x = a + low * s;
    }
    objective.evaluate(&next.0, &mut next.1);
    Some(found)
}

/// The BFGS update of the inverse curvature; left out where the curvature seen is not positive.
fn update(b: &mut [f64], at: &[f64], gradient: &[f64], next: &(Vec<f64>, Vec<f64>), fresh: bool) {
    let n = at.len();
    let s: Vec<f64> = next.0.iter().zip(at).map(|(x, a)| x - a).collect();
    let y: Vec<f64> = next.1.iter().zip(gradient).map(|(x, a)| x - a).collect();
    let sy = dense::dot(&s, &y);
    if sy <= 1e-12 * norm(&s) * norm(&y) {
        return;
    }
    if fresh {
        let scale = sy / dense::dot(&y, &y);
        b.iter_mut().for_each(|v| *v *= scale);
    }
    let by = dense::times(b, &y);
    let factor = (1.0 + dense::dot(&y, &by) / sy) / sy;
    for i in 0..n {
        for j in 0..n {
            b[i * n + j] += factor * s[i] * s[j] - (by[i] * s[j] + s[i] * by[j]) / sy;
        }
    }
}

/// The matrix of second derivatives by differences of the gradient: central ones, with an error of
/// the order of the square of the step, or one-sided ones, at half the price.
///
/// `scale` is about how far each parameter may move before the function changes by a half, as a
/// standard error; the step is a thousandth of it.
pub fn curvature(
    objective: &mut impl Objective,
    at: &[f64],
    scale: &[f64],
    one_sided: Option<&[f64]>,
) -> Vec<f64> {
    let n = at.len();
    let mut matrix = vec![0.0; n * n];
    let mut place = at.to_vec();
    let (mut up, mut down) = (vec![0.0; n], vec![0.0; n]);
    for k in 0..n {
        let step = 1e-3 * scale[k];
        place[k] = at[k] + step;
        // What is divided by is the step that was taken, not the one that was meant.
        let above = place[k];
        objective.evaluate(&place, &mut up);
        match one_sided {
            Some(here) => {
                for j in 0..n {
                    matrix[k * n + j] = (up[j] - here[j]) / (above - at[k]);
                }
            }
            None => {
                place[k] = at[k] - step;
                let width = above - place[k];
                objective.evaluate(&place, &mut down);
                for j in 0..n {
                    matrix[k * n + j] = (up[j] - down[j]) / width;
                }
            }
        }
        place[k] = at[k];
    }
    for i in 0..n {
        for j in 0..i {
            let mean = 0.5 * (matrix[i * n + j] + matrix[j * n + i]);
            matrix[i * n + j] = mean;
            matrix[j * n + i] = mean;
        }
    }
    matrix
}

/// The inverse of a matrix of second derivatives at a minimum: the covariance of the estimates.
///
/// # Errors
/// When it is not positive definite.
pub fn covariance(curvature: &[f64], n: usize) -> Result<Vec<f64>, OptimiseError> {
    let l = dense::cholesky(curvature, n, 1e-10).ok_or(OptimiseError::NotPositiveDefinite)?;
    Ok(dense::inverse(&l, n))
}

fn unit(n: usize) -> Vec<f64> {
    let mut b = vec![0.0; n * n];
    (0..n).for_each(|i| b[i * n + i] = 1.0);
    b
}

/// Length of a vector.
pub fn norm(v: &[f64]) -> f64 {
    dense::dot(v, v).sqrt()
}
