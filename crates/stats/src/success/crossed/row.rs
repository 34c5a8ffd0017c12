//! One batch: its likelihood with the batch's own effect summed out, averaged over a normal
//! predictor.

use crate::quadrature::GaussHermite;

/// What a batch says at one normal distribution of its predictor.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Says {
    /// Mean log-likelihood.
    pub value: f64,
    /// Mean slope.
    pub slope: f64,
    /// Mean curvature, its sign turned.
    pub weight: f64,
}

/// Logarithm of the likelihood at a predictor, with slope and curvature. The batch's effect is
/// summed over; the logarithm stays concave, since the whole is so in both together (Prékopa 1973,
/// from memory).
fn at(k: f64, n: f64, log: f64, eta: f64, tau: f64, rule: &GaussHermite) -> (f64, f64, f64) {
    let one = |eta: f64| {
        let small = (-eta.abs()).exp();
        let total = 1.0 + small;
        let p = if eta > 0.0 { 1.0 / total } else { small / total };
        let value = k * eta - n * (eta.max(0.0) + small.ln_1p()) + log;
        (value, k - n * p, -n * small / (total * total))
    };
    if tau == 0.0 || n <= 1.0 && rule.len() == 1 {
        return one(eta);
    }
    let mut found = [(0.0, 0.0, 0.0, 0.0); 16];
    let mut top = f64::NEG_INFINITY;
    for (slot, (z, w)) in found.iter_mut().zip(rule.nodes.iter().zip(&rule.weights)) {
        let (value, first, second) = one(eta + tau * z);
        *slot = (value + w.ln(), first, second, 0.0);
        top = top.max(slot.0);
    }
    let (mut sum, mut mean, mut square, mut bend) = (0.0, 0.0, 0.0, 0.0);
    for (value, first, second, _) in &found[..rule.len()] {
        let w = (value - top).exp();
        sum += w;
        mean += w * first;
        square += w * first * first;
        bend += w * second;
    }
    let (mean, square, bend) = (mean / sum, square / sum, bend / sum);
    (top + sum.ln(), mean, bend + square - mean * mean)
}

/// Rules of quadrature for the batch's effect and for the predictor.
pub(super) struct Rules {
    batch: GaussHermite,
    predictor: GaussHermite,
}

impl Rules {
    pub fn new() -> Self {
        Self { batch: GaussHermite::new(9), predictor: GaussHermite::new(9) }
    }

    /// What `k` of `n` says when the predictor is normal with this mean and variance.
    pub fn says(&self, (k, n, log): (f64, f64, f64), mean: f64, variance: f64, tau: f64) -> Says {
        let sd = variance.max(0.0).sqrt();
        let mut out = Says::default();
        for (z, w) in self.predictor.nodes.iter().zip(&self.predictor.weights) {
            let (value, first, second) = at(k, n, log, mean + sd * z, tau, &self.batch);
            out.value += w * value;
            out.slope += w * first;
            out.weight -= w * second;
        }
        // Quadrature may leave a hair below 0 where nothing bends.
        out.weight = out.weight.max(1e-9);
        out
    }
}
