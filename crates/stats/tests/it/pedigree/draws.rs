//! Draws have the mean and covariance of the posterior.

use stats::{
    pedigree::{Draw, Equations, Options},
    random::Random as Dice,
};

use super::{Case, made, slow::Dense, without_factor};
use crate::near;

const DRAWS: usize = 4_000;

/// Mean and covariance of draws of coefficients and effects, against the definition. With so many
/// draws the errors are those of normal samples: four standard errors.
fn compare(case: &Case, draws: &[Draw]) {
    let dense = Dense::of(case);
    let (p, q) = (dense.b.len(), dense.u.len());
    let n = draws.len() as f64;
    let all: Vec<Vec<f64>> = draws
        .iter()
        .map(|d| d.terms.iter().chain(&d.additive).chain(&d.permanent).copied().collect())
        .collect();
    let expected = |i: usize| if i < p { dense.b[i] } else { dense.u[i - p] };
    let covariance = |i: usize, j: usize| match (i < p, j < p) {
        (true, true) => dense.b_covariance[(i, j)],
        (false, false) => dense.pev[(i - p, j - p)],
        (true, false) => dense.across[(j - p, i)],
        (false, true) => dense.across[(i - p, j)],
    };
    for i in 0..p + q {
        let mean = all.iter().map(|d| d[i]).sum::<f64>() / n;
        near(mean, expected(i), 4.0 * (covariance(i, i) / n).sqrt(), "mean");
    }
    for i in 0..p + q {
        for j in 0..=i {
            let sum = all.iter().map(|d| (d[i] - expected(i)) * (d[j] - expected(j))).sum::<f64>();
            let (c, a, b) = (covariance(i, j), covariance(i, i), covariance(j, j));
            // var(xy) = σxx·σyy + σxy². Some hundreds of entries: four and a half errors here.
            near(sum / n, c, 4.5 * ((a * b + c * c) / n).sqrt(), "covariance");
        }
    }
}

#[test]
fn by_the_factor() {
    for (seed, lasting, weighted) in [(1, 0, false), (2, 1, true), (3, 2, false)] {
        let case = made(seed, 9, 20, lasting, weighted);
        let lines = case.lines();
        let equations =
            Equations::new(&lines, case.records(), case.given, Options::default()).unwrap();
        let draws = equations.prepare().unwrap().draws(DRAWS, &mut Dice::new(seed)).unwrap();
        compare(&case, &draws);
    }
}

#[test]
fn by_perturbation() {
    for (seed, lasting, weighted) in [(4, 0, true), (5, 1, true), (6, 2, false)] {
        let case = made(seed, 9, 20, lasting, weighted);
        let lines = case.lines();
        let equations =
            Equations::new(&lines, case.records(), case.given, without_factor()).unwrap();
        let draws = equations.prepare().unwrap().draws(DRAWS, &mut Dice::new(seed)).unwrap();
        compare(&case, &draws);
    }
}

#[test]
fn the_same_seed_draws_the_same() {
    let case = made(7, 30, 50, 1, false);
    let lines = case.lines();
    let equations = Equations::new(&lines, case.records(), case.given, Options::default()).unwrap();
    let solver = equations.prepare().unwrap();
    let draw = |seed| solver.draws(2, &mut Dice::new(seed)).unwrap();
    assert_eq!(draw(1), draw(1));
    assert_ne!(draw(1)[0], draw(2)[0]);
}
