//! What all pots of a house share: hot weeks, how much dry air counts.

use stats::random::Random;
use stats::survival::drying::{
    Cycle, DryingFit, DryingPrior, PlantCycle, Plants, fit_drying, kept_precision,
    shared_information,
};
use stats::survival::parametric::Law;

use stats::model::{Column, Fixed, Frame, Term};

use crate::near;

const LAW: Law = Law::Lognormal;

#[test]
fn what_is_kept_from_week_to_week_has_the_covariance_of_an_autoregression() {
    for (n, keep, sd) in [(1usize, 0.8, 0.2), (2, 0.8, 0.2), (6, 0.85, 0.15), (5, 0.0, 1.0)] {
        let q = kept_precision(n, keep, sd);
        for i in 0..n {
            for j in 0..n {
                // Q times the covariance sd²·keep^|i−j| is the unit matrix.
                let product: f64 = (0..n)
                    .map(|k| q[i * n + k] * sd * sd * f64::powi(keep, k.abs_diff(j) as i32))
                    .sum();
                near(product, f64::from(u8::from(i == j)), 1e-9, "one");
            }
        }
    }
}

/// An intercept and a column of zeros, about which only its prior speaks.
fn only_an_intercept(plants: usize) -> Fixed {
    let frame = Frame::new(plants).with("none", Column::Numbers(vec![0.0; plants])).unwrap();
    Fixed::build(&frame, &Term::read_all(&["none"]).unwrap()).unwrap()
}

fn fitted(cycles: &[PlantCycle], plants: usize) -> DryingFit {
    let species = vec![0u32; plants];
    let design = only_an_intercept(plants);
    let prior = DryingPrior { misread: 0.0, ..DryingPrior::usual(design.width()) };
    fit_drying(cycles, Plants { species: &species, design: &design }, &prior, None).unwrap()
}

/// Slow and obvious: the likelihood of plants and shared effects together, differentiated by small
/// steps, the plants taken out by the block formula.
#[test]
fn the_quadratic_is_that_of_plain_differences() {
    let cdf = |z: f64| 0.5 * puruspe::erfc(-z / std::f64::consts::SQRT_2);
    let spans = [(0, 4.0, 6.0), (0, 5.0, 7.0), (1, 3.0, 5.0), (1, 6.0, 8.0), (2, 2.0, 9.0)];
    let along: Vec<Vec<(u32, f64)>> = vec![
        vec![(0, 0.7), (1, 0.3)],
        vec![(1, 1.0)],
        vec![(0, 1.0)],
        vec![(0, 0.2), (1, 0.8)],
        vec![(1, 0.5)],
    ];
    let cycles: Vec<PlantCycle> = spans
        .iter()
        .map(|s| PlantCycle { plant: s.0, cycle: Cycle::Between(s.1, s.2), offset: 0.0 })
        .collect();
    let fit = fitted(&cycles, 3);
    let s = fit.event_scale;
    let value = |v: &[f64]| -> f64 {
        let each = spans.iter().zip(&along).map(|((p, l, u), m)| {
            let moved: f64 = m.iter().map(|(j, x)| x * v[3 + *j as usize]).sum();
            let z = |x: f64| (x.ln() + moved - v[*p as usize]) / s;
            (cdf(z(*u)) - cdf(z(*l))).ln()
        });
        let own = (0..3).map(|p| -0.5 * (v[p] / fit.plant_sd).powi(2));
        each.sum::<f64>() + own.sum::<f64>()
    };
    let at: Vec<f64> = fit.plants.iter().map(|p| p.mean).chain([0.0, 0.0]).collect();
    let h = 1e-4;
    let moved = |i: usize, j: usize, a: f64, b: f64| {
        let mut v = at.clone();
        v[i] += a;
        v[j] += b;
        value(&v)
    };
    let second = |i: usize, j: usize| {
        (moved(i, j, h, h) - moved(i, j, h, -h) - moved(i, j, -h, h) + moved(i, j, -h, -h))
            / (4.0 * h * h)
    };
    let found = shared_information(&cycles, &along, &fit, LAW, 0.0, &[0.0, 0.0]).unwrap();
    // With a flat enough prior the step is A⁻¹b; read A and b back from two priors instead.
    let q = [4.0, 0.0, 0.0, 9.0];
    let joint = found.with_prior(&[0.0, 0.0], &q).unwrap();
    let mut a = [0.0; 4];
    let mut b = [0.0; 2];
    for j in 0..2 {
        b[j] = (moved(3 + j, 3 + j, h, 0.0) - moved(3 + j, 3 + j, -h, 0.0)) / (2.0 * h);
        for k in 0..2 {
            let out: f64 =
                (0..3).map(|p| second(3 + j, p) * second(p, 3 + k) / -second(p, p)).sum();
            a[j * 2 + k] = -second(3 + j, 3 + k) - out + q[j * 2 + k];
        }
    }
    let det = a[0] * a[3] - a[1] * a[2];
    // Differences of 1e-4 leave about seven digits of the curvature.
    near(joint.estimate[0], (a[3] * b[0] - a[1] * b[1]) / det, 1e-5, "first");
    near(joint.estimate[1], (a[0] * b[1] - a[2] * b[0]) / det, 1e-5, "second");
    near(joint.covariance[0], a[3] / det, 1e-5, "variance");
    near(joint.covariance[1], -a[1] / det, 1e-5, "covariance");
}

/// Forty pots over thirty weeks; three weeks ran half as fast again. No logger tells.
#[test]
fn hot_weeks_are_learnt_from_the_looks_of_all_pots() {
    let (plants, weeks) = (40u32, 30usize);
    let truth: Vec<f64> =
        (0..weeks).map(|w| if (12..15).contains(&w) { 1.5f64.ln() } else { 0.0 }).collect();
    let mut rng = Random::new(77);
    let mut seen = Vec::new();
    for plant in 0..plants {
        let usual = 1.7 + 0.25 * rng.normal();
        let mut day = rng.unit() * 5.0;
        while day < weeks as f64 * 7.0 - 25.0 {
            let x = (usual + 0.15 * rng.normal()).exp();
            let (mut left, mut t) = (x, day);
            while left > 0.0 {
                let rate = truth[(t / 7.0) as usize].exp();
                let step = (left / rate).min(0.05);
                left -= step * rate;
                t += step;
            }
            seen.push((plant, day, t.floor(), t.floor() + 1.0));
            day = t.floor() + 1.0;
        }
    }
    let mut at: Vec<f64> = vec![0.0; weeks];
    let mut covariance = Vec::new();
    for _ in 0..4 {
        let span = |a: f64, b: f64| -> (f64, Vec<(u32, f64)>) {
            let parts = (0..weeks).filter_map(|w| {
                let (from, to) = (w as f64 * 7.0, w as f64 * 7.0 + 7.0);
                let days = b.min(to) - a.max(from);
                (days > 0.0).then(|| (w as u32, days * at[w].exp()))
            });
            let parts: Vec<(u32, f64)> = parts.collect();
            let sum: f64 = parts.iter().map(|p| p.1).sum();
            (sum, parts.into_iter().map(|(w, x)| (w, x / sum)).collect())
        };
        let mut cycles = Vec::new();
        let mut along = Vec::new();
        for &(plant, since, moist, dry) in &seen {
            let (low, high) = (span(since, moist.max(since)).0, span(since, dry));
            let cycle =
                if low > 0.0 { Cycle::Between(low, high.0) } else { Cycle::FoundDry(high.0) };
            cycles.push(PlantCycle { plant, cycle, offset: 0.0 });
            along.push(high.1);
        }
        let fit = fitted(&cycles, plants as usize);
        let found = shared_information(&cycles, &along, &fit, LAW, 0.0, &at).unwrap();
        let joint = found.with_prior(&vec![0.0; weeks], &kept_precision(weeks, 0.8, 0.2)).unwrap();
        (at, covariance) = (joint.estimate, joint.covariance);
    }
    let mean = |range: std::ops::Range<usize>| {
        let n = range.len() as f64;
        range.map(|w| at[w]).sum::<f64>() / n
    };
    let rise = mean(12..15) - 0.5 * (mean(4..11) + mean(17..24));
    // Four standard errors of the three weeks' mean, and the prior's pull.
    let se = (12..15).map(|w| covariance[w * weeks + w]).sum::<f64>().sqrt() / 3.0;
    assert!(se < 0.06, "{se}");
    near(rise, 1.5f64.ln(), 4.0 * se + 0.03, "how much faster the hot weeks ran");
}

#[test]
fn what_does_not_fit_together_is_refused() {
    let cycle = PlantCycle { plant: 0, cycle: Cycle::Between(4.0, 6.0), offset: 0.0 };
    let fit = fitted(&[cycle, PlantCycle { plant: 1, ..cycle }], 2);
    let ask = |cycles: &[PlantCycle], along: &[Vec<(u32, f64)>]| {
        shared_information(cycles, along, &fit, LAW, 0.0, &[0.0])
    };
    assert!(ask(&[cycle], &[]).is_err());
    assert!(ask(&[cycle], &[vec![(1, 1.0)]]).is_err());
    assert!(ask(&[PlantCycle { plant: 9, ..cycle }], &[vec![(0, 1.0)]]).is_err());
    let found = ask(&[cycle], &[vec![(0, 1.0)]]).unwrap();
    assert!(found.with_prior(&[0.0], &[-50.0]).is_none());
    assert!(found.with_prior(&[0.0], &[1.0]).is_some());
}
