//! Newton's method with step halving for a smooth log-likelihood.

use super::dense::Cholesky;

/// A function with gradient and Hessian (in full, by rows).
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Eval {
    pub value: f64,
    pub gradient: Vec<f64>,
    pub hessian: Vec<f64>,
}

impl Eval {
    pub fn zero(n: usize) -> Self {
        Eval { value: 0.0, gradient: vec![0.0; n], hessian: vec![0.0; n * n] }
    }

    fn is_finite(&self) -> bool {
        self.value.is_finite()
            && self.gradient.iter().all(|g| g.is_finite())
            && self.hessian.iter().all(|h| h.is_finite())
    }
}

/// Where the maximum lies.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Optimum {
    pub at: Vec<f64>,
    pub eval: Eval,
    pub iterations: usize,
}

/// Why there is none.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Stuck {
    /// The function cannot be evaluated at the start.
    Start,
    /// A parameter runs away while the function hardly rises.
    RunsAway(usize),
    /// The steps came to no end.
    Steps { iterations: usize, gradient: f64 },
    /// The Hessian at the end is not negative definite; the parameter where it fails.
    Flat(usize),
}

impl Optimum {
    /// The largest absolute derivative at the end.
    pub fn gradient_norm(&self) -> f64 {
        self.eval.gradient.iter().fold(0.0, |m: f64, g| m.max(g.abs()))
    }

    /// The inverse of minus the Hessian.
    pub fn covariance(&self) -> Result<Vec<f64>, Stuck> {
        let n = self.at.len();
        let information: Vec<f64> = self.eval.hessian.iter().map(|h| -h).collect();
        Ok(Cholesky::factor(n, &information).map_err(Stuck::Flat)?.inverse())
    }
}

const STEPS: usize = 200;

/// How much may still be gained, and how far, in units, may still be gone, before the last step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Close {
    pub gain: f64,
    pub step: f64,
}

impl Close {
    /// To the last digits.
    pub const DIGITS: Close = Close { gain: 1e-13, step: 1e-5 };
    /// For one of many points over which is summed: the last step doubles the digits.
    pub const POINT: Close = Close { gain: 1e-8, step: 1e-3 };
}

/// Maximises `f` from `start`. `reach` says for each parameter what change counts as one unit.
pub(crate) fn maximise(
    start: &[f64],
    reach: &[f64],
    f: impl FnMut(&[f64]) -> Eval,
) -> Result<Optimum, Stuck> {
    maximise_to(start, reach, Close::DIGITS, f)
}

/// The same as close as asked for.
pub(crate) fn maximise_to(
    start: &[f64],
    reach: &[f64],
    close: Close,
    mut f: impl FnMut(&[f64]) -> Eval,
) -> Result<Optimum, Stuck> {
    let n = start.len();
    let mut at = start.to_vec();
    let mut now = f(&at);
    if !now.is_finite() {
        return Err(Stuck::Start);
    }
    for iteration in 0..STEPS {
        if let Some(away) = flat(&at, start, reach, &now) {
            return Err(Stuck::RunsAway(away));
        }
        let step = direction(n, &now);
        let gain: f64 = step.iter().zip(&now.gradient).map(|(s, g)| s * g).sum();
        let size = |s: &[f64]| s.iter().zip(reach).map(|(s, r)| (s / r).abs()).fold(0.0, f64::max);
        if gain.abs() <= close.gain * (1.0 + now.value.abs()) && size(&step) < close.step {
            // One more full step, now that Newton's digits double, if it does not lose.
            let next: Vec<f64> = at.iter().zip(&step).map(|(a, s)| a + s).collect();
            let last = f(&next);
            if last.is_finite() && last.value >= now.value - 1e-11 * (1.0 + now.value.abs()) {
                (at, now) = (next, last);
            }
            return Ok(Optimum { at, eval: now, iterations: iteration + 1 });
        }
        if let Some(away) = (0..n).find(|&j| ((at[j] - start[j]) / reach[j]).abs() > 60.0) {
            return Err(Stuck::RunsAway(away));
        }
        // No step longer than a few units: tails are flat and would throw it anywhere.
        let mut factor = (5.0 / size(&step)).min(1.0);
        let moved = loop {
            let next: Vec<f64> = at.iter().zip(&step).map(|(a, s)| a + factor * s).collect();
            let eval = f(&next);
            let enough = now.value + 1e-4 * factor * gain - 1e-12 * (1.0 + now.value.abs());
            if eval.is_finite() && eval.value >= enough {
                break Some((next, eval));
            }
            factor *= 0.5;
            if factor < 1e-10 {
                break None;
            }
        };
        match moved {
            Some((next, eval)) => (at, now) = (next, eval),
            None => return Err(lost(&at, start, reach, &now, iteration)),
        }
    }
    Err(lost(&at, start, reach, &now, STEPS))
}

/// Why the steps came to no end: a parameter that still wants to move on or has moved very far runs
/// away.
fn lost(at: &[f64], start: &[f64], reach: &[f64], now: &Eval, iterations: usize) -> Stuck {
    let step = direction(at.len(), now);
    let far = |j: usize| {
        let moved = (at[j] - start[j]).abs() / reach[j];
        (100.0 * step[j].abs() / reach[j]).max(moved / 4.0)
    };
    match (0..at.len()).max_by(|&i, &j| far(i).total_cmp(&far(j))) {
        Some(j) if far(j) > 1.0 => Stuck::RunsAway(j),
        _ => {
            let gradient = now.gradient.iter().fold(0.0, |m: f64, g| m.max(g.abs()));
            Stuck::Steps { iterations, gradient }
        }
    }
}

/// The parameter that has moved furthest, where the function no longer changes in any direction: it
/// nears its bound without ever reaching it.
fn flat(at: &[f64], start: &[f64], reach: &[f64], now: &Eval) -> Option<usize> {
    let n = at.len();
    let level = |j: usize| {
        (now.gradient[j] * reach[j]).abs() < 1e-12
            && (now.hessian[j * n + j] * reach[j] * reach[j]).abs() < 1e-10
    };
    let moved = |j: usize| ((at[j] - start[j]) / reach[j]).abs();
    if !(0..n).all(level) {
        return None;
    }
    (0..n).max_by(|&i, &j| moved(i).total_cmp(&moved(j)))
}

/// The Newton step, with as much added to the diagonal as makes it lead upwards.
fn direction(n: usize, eval: &Eval) -> Vec<f64> {
    let mut ridge = 0.0;
    loop {
        let mut information: Vec<f64> = eval.hessian.iter().map(|h| -h).collect();
        for j in 0..n {
            let d = information[j * n + j].abs().max(1e-12);
            information[j * n + j] += ridge * d;
        }
        if let Ok(factor) = Cholesky::factor(n, &information) {
            return factor.solve(&eval.gradient);
        }
        ridge = if ridge == 0.0 { 1e-6 } else { 10.0 * ridge };
        if ridge > 1e12 {
            return eval.gradient.clone();
        }
    }
}
