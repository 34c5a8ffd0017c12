//! How well predictions came true.

use stats::random::Random;
use stats::scores::{
    Grid, Outcome, ScoreError, calibration, crps_normal, crps_sample, reliability,
};
use stats::special::normal_quantile;

use crate::near;

#[test]
fn the_score_of_a_normal_is_that_of_the_formula() {
    // At its mean: sd·(2φ(0) − 1/√π) = sd·(√2 − 1)/√π, by hand.
    let at_mean = (2f64.sqrt() - 1.0) / std::f64::consts::PI.sqrt();
    near(crps_normal(3.0, 2.0, 3.0), 2.0 * at_mean, 1e-12, "at the mean");
    // Far away it is the distance less sd/√π.
    near(crps_normal(0.0, 1.0, 40.0), 40.0 - 1.0 / std::f64::consts::PI.sqrt(), 1e-9, "far away");
    // The same by a sum over the definition and by a grid, to the width of their steps.
    for y in [-1.3, 0.0, 0.4, 2.5] {
        let cdf = |x: f64| 0.5 * puruspe::erfc(-x / std::f64::consts::SQRT_2);
        let step = 0.001;
        let slow: f64 = (-8_000..8_000)
            .map(|k| (f64::from(k) + 0.5) * step)
            .map(|x| (cdf(x) - f64::from(u8::from(y <= x))).powi(2) * step)
            .sum();
        near(crps_normal(0.0, 1.0, y), slow, 1e-3, "by the definition");
        let points: Vec<f64> = (-400..=400).map(|k| f64::from(k) * 0.02).collect();
        let below = points.iter().map(|x| cdf(*x)).collect();
        let grid = Grid::new(points, below).unwrap();
        near(grid.crps(Outcome::Exact(y)).unwrap(), crps_normal(0.0, 1.0, y), 1e-4, "by a grid");
    }
}

#[test]
fn a_sample_scores_as_all_its_pairs_do() {
    let mut random = Random::new(4);
    let sample: Vec<f64> = (0..60).map(|_| 5.0 + 2.0 * random.normal()).collect();
    for y in [1.0, 4.7, 9.0] {
        let n = sample.len() as f64;
        let away: f64 = sample.iter().map(|x| (x - y).abs()).sum();
        let pairs = sample.iter().flat_map(|a| sample.iter().map(move |b| (a - b).abs()));
        let slow = away / n - 0.5 * pairs.sum::<f64>() / (n * n);
        near(crps_sample(&sample, y).unwrap(), slow, 1e-12, "pairs");
    }
    // One member is a forecast by a number: its score is the error.
    near(crps_sample(&[3.0], 5.5).unwrap(), 2.5, 1e-15, "one member");
    // Quantiles of a normal stand for it.
    let many: Vec<f64> = (0..4_000).map(|k| normal_quantile((f64::from(k) + 0.5) / 4e3)).collect();
    near(crps_sample(&many, 0.7).unwrap(), crps_normal(0.0, 1.0, 0.7), 1e-3, "quantiles");
}

#[test]
fn of_an_interval_only_what_is_known_counts() {
    // Uniform on 0 to 10, by hand: up to 4 the sum of (x/10)² is 64/300, from 6 on the same.
    let grid = Grid::new(vec![0.0, 10.0], vec![0.0, 1.0]).unwrap();
    let score = |outcome| grid.crps(outcome).unwrap();
    near(score(Outcome::Between(4.0, 6.0)), 2.0 * 64.0 / 300.0, 1e-12, "between");
    near(score(Outcome::Between(4.0, f64::INFINITY)), 64.0 / 300.0, 1e-12, "still to come");
    near(score(Outcome::Between(f64::NEG_INFINITY, 6.0)), 64.0 / 300.0, 1e-12, "over");
    near(score(Outcome::Exact(5.0)), 2.0 * 125.0 / 300.0, 1e-12, "exact");
    near(score(Outcome::Exact(12.0)), 1000.0 / 300.0 + 2.0, 1e-12, "beyond the last point");
    near(score(Outcome::Exact(-1.0)), 1000.0 / 300.0 + 1.0, 1e-12, "before the first point");
    // The parts on both sides of a cut add up.
    let whole = score(Outcome::Exact(7.0));
    let parts = score(Outcome::Between(7.0, f64::INFINITY))
        + score(Outcome::Between(f64::NEG_INFINITY, 7.0));
    near(whole, parts, 1e-12, "two sides");
    near(grid.up_to(2.5), 0.25, 1e-15, "up to");
    assert!(matches!(grid.crps(Outcome::Between(3.0, 2.0)), Err(ScoreError::Outcome { .. })));
    // What is not in the grid sits at its ends: a half below 1, a half at 3.
    let ends = Grid::new(vec![1.0, 3.0], vec![0.5, 0.5]).unwrap();
    near(ends.crps(Outcome::Exact(1.0)).unwrap(), 2.0 * 0.25, 1e-12, "a half too late");
}

#[test]
fn the_true_distribution_scores_best() {
    let mut random = Random::new(9);
    let outcomes: Vec<f64> = (0..4_000).map(|_| random.normal()).collect();
    let mean = |m: f64, s: f64| {
        outcomes.iter().map(|y| crps_normal(m, s, *y)).sum::<f64>() / outcomes.len() as f64
    };
    // The true one is expected at 1/√π; the others, by the formula, 0.02 and more above.
    near(mean(0.0, 1.0), 1.0 / std::f64::consts::PI.sqrt(), 0.03, "its own score");
    for (m, s) in [(0.3, 1.0), (0.0, 1.6), (0.0, 0.6)] {
        assert!(mean(m, s) > mean(0.0, 1.0), "{m} {s}");
    }
}

/// Chances from beta-like draws, and outcomes by chances that are `slope` times as sure.
fn predictions(count: usize, slope: f64, intercept: f64, seed: u64) -> Vec<(f64, bool)> {
    let mut random = Random::new(seed);
    (0..count)
        .map(|_| {
            let x = 1.5 * random.normal();
            let chance = |eta: f64| 1.0 / (1.0 + (-eta).exp());
            (chance(x), random.unit() < chance(intercept + slope * x))
        })
        .collect()
}

#[test]
fn a_slope_is_found_again() {
    for (slope, intercept) in [(1.0, 0.0), (0.7, 0.2), (1.4, -0.3)] {
        let found = calibration(&predictions(6_000, slope, intercept, 31)).unwrap();
        // Four standard errors.
        near(found.slope, slope, 4.0 * found.slope_se, "slope");
        near(found.intercept, intercept, 4.0 * found.intercept_se, "intercept");
        assert!(found.slope_se < 0.05, "{}", found.slope_se);
    }
    // Two chances only: the slope is the difference of the logits seen over that of those said.
    let mut two = vec![(0.2, true); 3];
    two.extend(vec![(0.2, false); 7]);
    two.extend(vec![(0.6, true); 8]);
    two.extend(vec![(0.6, false); 2]);
    let logit = |p: f64| (p / (1.0 - p)).ln();
    let slope = (logit(0.8) - logit(0.3)) / (logit(0.6) - logit(0.2));
    let found = calibration(&two).unwrap();
    near(found.slope, slope, 1e-9, "two chances");
    near(found.intercept, logit(0.3) - slope * logit(0.2), 1e-9, "their intercept");
    // Their variances by hand: 1/(n p (1 − p)) at each of the two.
    let spread: f64 = 1.0 / (10.0 * 0.8 * 0.2) + 1.0 / (10.0 * 0.3 * 0.7);
    near(found.slope_se, spread.sqrt() / (logit(0.6) - logit(0.2)), 1e-9, "standard error");
    let apart = [(0.1, false), (0.2, false), (0.8, true), (0.9, true)];
    assert!(matches!(calibration(&apart), Err(ScoreError::NoSlope { .. })));
    assert!(matches!(calibration(&[(0.5, true), (0.5, false)]), Err(ScoreError::NoSlope { .. })));
    assert!(matches!(calibration(&[(1.5, true)]), Err(ScoreError::Chance { place: 1, .. })));
}

#[test]
fn bins_hold_every_prediction_once() {
    let all = predictions(2_000, 1.0, 0.0, 12);
    let bins = reliability(&all, 10, 0.95).unwrap();
    assert_eq!(bins.iter().map(|b| b.count).sum::<u64>(), 2_000);
    for bin in &bins {
        let inside: Vec<_> =
            all.iter().filter(|(p, _)| *p >= bin.from && (*p < bin.to || bin.to >= 1.0)).collect();
        assert_eq!(inside.len() as u64, bin.count);
        let happened = inside.iter().filter(|p| p.1).count() as f64;
        near(bin.happened.estimate, happened / bin.count as f64, 1e-12, "share");
        let four = 4.0 * (0.25 / bin.count as f64).sqrt();
        near(bin.happened.estimate, bin.predicted, four, "what was said");
        assert!(bin.from <= bin.predicted && bin.predicted <= bin.to);
    }
    assert!(matches!(reliability(&[], 10, 0.95), Err(ScoreError::Empty)));
    assert_eq!(reliability(&[(1.0, true), (0.0, false)], 4, 0.8).unwrap().len(), 2);
}
