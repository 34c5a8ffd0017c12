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

/// Log-likelihood of `k` of `n` at a predictor, with slope and curvature.
fn plain(k: f64, n: f64, log: f64, eta: f64) -> (f64, f64, f64) {
    let small = (-eta.abs()).exp();
    let total = 1.0 + small;
    let p = if eta > 0.0 { 1.0 / total } else { small / total };
    let value = k * eta - n * (eta.max(0.0) + small.ln_1p()) + log;
    (value, k - n * p, -n * small / (total * total))
}

/// The most likely effect of a batch at a predictor, and the spread around it. Hundreds of trials
/// leave it a narrow place, which fixed nodes would miss.
fn likeliest(k: f64, n: f64, eta: f64, tau: f64) -> (f64, f64) {
    let own = tau.powi(-2);
    let seen = ((k + 0.5) / (n - k + 0.5)).ln();
    let share = (k + 0.5) / (n + 1.0);
    let information = n * share * (1.0 - share);
    let mut b = (seen - eta) * information / (information + own);
    let mut bend = own;
    for _ in 0..30 {
        let (_, slope, curve) = plain(k, n, 0.0, eta + b);
        bend = own - curve;
        let step = ((slope - own * b) / bend).clamp(-2.0, 2.0);
        b += step;
        if step.abs() < 1e-7 {
            break;
        }
    }
    (b, bend.sqrt().recip())
}

/// Logarithm of the likelihood at a predictor, with slope and curvature. The batch's effect is
/// summed over, by nodes around its most likely place (Liu & Pierce 1994, Biometrika 81:624–629;
/// from memory); the logarithm stays concave, since the whole is so in both together (Prékopa 1973,
/// from memory).
fn at(k: f64, n: f64, log: f64, eta: f64, tau: f64, rule: &GaussHermite) -> (f64, f64, f64) {
    if tau == 0.0 {
        return plain(k, n, log, eta);
    }
    let (centre, width) = likeliest(k, n, eta, tau);
    let shift = (width / tau).ln();
    let mut found = [(0.0, 0.0, 0.0); 16];
    let mut top = f64::NEG_INFINITY;
    for (slot, (z, w)) in found.iter_mut().zip(rule.nodes.iter().zip(&rule.weights)) {
        let b = centre + width * z;
        let (value, first, second) = plain(k, n, log, eta + b);
        let far = 0.5 * (z * z - (b / tau).powi(2));
        *slot = (value + w.ln() + far + shift, first, second);
        top = top.max(slot.0);
    }
    let (mut sum, mut mean, mut square, mut bend) = (0.0, 0.0, 0.0, 0.0);
    for (value, first, second) in &found[..rule.len()] {
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
    batch: &'static GaussHermite,
    predictor: &'static GaussHermite,
}

impl Rules {
    pub fn new() -> Self {
        Self { batch: GaussHermite::shared(9), predictor: GaussHermite::shared(9) }
    }

    /// What `k` of `n` says when the predictor is normal with this mean and variance.
    pub fn says(&self, (k, n, log): (f64, f64, f64), mean: f64, variance: f64, tau: f64) -> Says {
        let sd = variance.max(0.0).sqrt();
        let mut out = Says::default();
        for (z, w) in self.predictor.nodes.iter().zip(&self.predictor.weights) {
            let (value, first, second) = at(k, n, log, mean + sd * z, tau, self.batch);
            out.value += w * value;
            out.slope += w * first;
            out.weight -= w * second;
        }
        // Quadrature may leave a hair below 0 where nothing bends.
        out.weight = out.weight.max(1e-9);
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The likelihood of a batch by a plain sum over its effect.
    fn summed(k: f64, n: f64, eta: f64, tau: f64) -> f64 {
        let h = 80.0 * tau / 40_000.0;
        let each = |i: i32| {
            let b = h * f64::from(i);
            let density = -0.5 * (b / tau).powi(2) - (tau * std::f64::consts::TAU.sqrt()).ln();
            h.ln() + density + plain(k, n, 0.0, eta + b).0
        };
        let all: Vec<f64> = (-20_000..=20_000).map(each).collect();
        let top = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        top + all.iter().map(|x| (x - top).exp()).sum::<f64>().ln()
    }

    #[test]
    fn a_batch_of_many_trials_is_summed_where_it_lies() {
        let rule = GaussHermite::new(9);
        for (k, n) in
            [(0.0, 1.0), (1.0, 1.0), (3.0, 5.0), (0.0, 15.0), (60.0, 100.0), (390.0, 400.0)]
        {
            for eta in [-3.0, -0.5, 0.0, 1.2] {
                for tau in [0.05, 0.5, 1.5] {
                    let (value, slope, bend) = at(k, n, 0.0, eta, tau, &rule);
                    let plainly = |e: f64| summed(k, n, e, tau);
                    assert!(
                        (value - plainly(eta)).abs() < 2e-4 * (1.0 + value.abs()),
                        "{k} of {n} at {eta}, {tau}"
                    );
                    let h = 1e-3;
                    let by_steps = (plainly(eta + h) - plainly(eta - h)) / (2.0 * h);
                    assert!(
                        (slope - by_steps).abs() < 1e-3 * (1.0 + by_steps.abs()),
                        "{slope} {by_steps}"
                    );
                    assert!(bend <= 1e-9, "{bend}");
                }
            }
        }
    }
}
