//! The likelihood written out as the books have it, slow and without care for tails: the fit is its
//! maximum and has its curvature.

use stats::model::Fixed;
use stats::random::Random;
use stats::survival::Time;
use stats::survival::parametric::Law;

use crate::near;
use crate::parametric_properties::{LAWS, World};

/// Share that has had the event, and density of log time, by z.
fn cdf(law: Law, z: f64) -> f64 {
    match law {
        Law::Exponential | Law::Weibull => 1.0 - (-z.exp()).exp(),
        Law::Lognormal => 0.5 * puruspe::erfc(-z / std::f64::consts::SQRT_2),
        Law::Loglogistic => 1.0 / (1.0 + (-z).exp()),
    }
}

fn density(law: Law, z: f64) -> f64 {
    match law {
        Law::Exponential | Law::Weibull => (z - z.exp()).exp(),
        Law::Lognormal => (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt(),
        Law::Loglogistic => (-z).exp() / (1.0 + (-z).exp()).powi(2),
    }
}

fn log_likelihood(law: Law, times: &[Time], fixed: &Fixed, at: &[f64]) -> f64 {
    let p = fixed.width();
    let s = if law.has_scale() { at[p].exp() } else { 1.0 };
    let one = |(i, time): (usize, &Time)| {
        let eta: f64 = (0..p).map(|j| at[j] * fixed.column(j)[i]).sum();
        let z = |t: f64| (t.ln() - eta) / s;
        let by = |t: f64| if t > 0.0 { cdf(law, z(t)) } else { 0.0 };
        // Nothing can be seen before observation began.
        let left = time.left.unwrap_or(0.0).max(time.entry);
        let seen = match time.right {
            None => 1.0 - by(left),
            Some(t) if time.is_exact() => density(law, z(t)) / (s * t),
            Some(right) => by(right) - by(left),
        };
        (seen / (1.0 - by(time.entry))).ln()
    };
    times.iter().enumerate().map(one).sum()
}

/// The inverse of a small matrix by Gauss and Jordan.
fn inverse(mut a: Vec<Vec<f64>>) -> Vec<Vec<f64>> {
    let n = a.len();
    for (i, row) in a.iter_mut().enumerate() {
        row.extend((0..n).map(|j| f64::from(u8::from(i == j))));
    }
    for k in 0..n {
        let pivot = a[k][k];
        a[k].iter_mut().for_each(|v| *v /= pivot);
        let lead = a[k].clone();
        for (i, row) in a.iter_mut().enumerate() {
            let factor = if i == k { 0.0 } else { row[k] };
            row.iter_mut().zip(&lead).for_each(|(v, l)| *v -= factor * l);
        }
    }
    a.into_iter().map(|row| row[n..].to_vec()).collect()
}

#[test]
fn the_fit_is_the_top_of_the_plain_likelihood_and_has_its_curvature() {
    for (law, seed) in LAWS.into_iter().zip([11, 12, 13, 14]) {
        let world = World::new(law, seed, 80);
        let kinds: [fn(&Time) -> bool; 5] = [
            Time::is_exact,
            Time::is_open,
            |t| t.left.is_none(),
            |t| t.left < t.right && t.left.is_some(),
            |t| t.entry > 0.0,
        ];
        for kind in kinds {
            assert!(world.times.iter().filter(|t| kind(t)).count() >= 5, "every kind is there");
        }
        let (found, fixed) = (world.fit(), world.fixed());
        let n = found.parameters.len();
        let plain = |at: &[f64]| log_likelihood(law, &world.times, &fixed, at);
        let top = plain(&found.parameters);
        near(found.log_likelihood, top, 1e-8, &format!("{law:?}: log-likelihood"));
        let moved = |by: &[f64]| {
            let at: Vec<f64> = found.parameters.iter().zip(by).map(|(a, b)| a + b).collect();
            plain(&at)
        };
        let axis = |j: usize, by: f64| {
            let mut moves = vec![0.0; n];
            moves[j] = by * found.se(j);
            moves
        };
        for j in 0..n {
            for by in [-0.05, 0.05] {
                assert!(moved(&axis(j, by)) < top, "{law:?}: higher beside parameter {j}");
            }
        }
        let mut random = Random::new(seed);
        for _ in 0..40 {
            let by: Vec<f64> = (0..n).map(|j| 0.05 * random.normal() * found.se(j)).collect();
            assert!(moved(&by) < top, "{law:?}: higher at {by:?}");
        }
        // Second differences over a fiftieth of a standard error.
        let step = 0.02;
        let second = |i: usize, j: usize| {
            let at = |a: f64, b: f64| {
                let both: Vec<f64> =
                    axis(i, a * step).iter().zip(axis(j, b * step)).map(|(x, y)| x + y).collect();
                moved(&both)
            };
            let sum = at(1.0, 1.0) - at(1.0, -1.0) - at(-1.0, 1.0) + at(-1.0, -1.0);
            -sum / (4.0 * step * step * found.se(i) * found.se(j))
        };
        let information = (0..n).map(|i| (0..n).map(|j| second(i, j)).collect()).collect();
        let covariance = inverse(information);
        for (i, row) in covariance.iter().enumerate() {
            near(found.se(i) / row[i].sqrt(), 1.0, 1e-3, &format!("{law:?}: se {i}"));
            for (j, v) in row.iter().enumerate() {
                let size = found.se(i) * found.se(j);
                near(found.covariance[i * n + j] / size, v / size, 1e-3, "covariance");
            }
        }
    }
}
