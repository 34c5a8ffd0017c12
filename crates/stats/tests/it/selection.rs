//! Selection indices and intensities.

use proptest::prelude::*;
use serde_json::Value;
use stats::{
    random::Random as Dice,
    selection::{Covariances, SelectionError, Warning, intensity, intensity_of_share},
};

use crate::{json, near};

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

fn rows(value: &Value) -> Vec<Vec<f64>> {
    value.as_array().unwrap().iter().map(numbers).collect()
}

fn relative(actual: f64, expected: f64, tolerance: f64, what: &str) {
    near(actual, expected, tolerance * expected.abs(), what);
}

/// A reference case: the matrices, the weights and what is expected.
fn case(file: &str) -> (Covariances, Vec<f64>, f64, Value) {
    let reference = json(file);
    let inputs = &reference["inputs"];
    let known = Covariances::new(&rows(&inputs["P"]), &rows(&inputs["G"])).unwrap();
    let i = inputs["selection_intensity"].as_f64().unwrap();
    (known, numbers(&inputs["economic_weights"]), i, reference)
}

#[test]
fn indices_of_the_reference_cases() {
    // mrode_beef: Mrode 2014, example 1.7; three_trait: numpy. Both to 1e-8 relative.
    for file in ["mrode_beef.json", "three_trait.json"] {
        let (known, weights, i, reference) = case(file);
        let expected = &reference["expected"];
        let value = |key: &str| expected[key].as_f64().unwrap();
        let index = known.smith_hazel(&weights).unwrap();
        for (b, e) in index.b.iter().zip(numbers(&expected["b"])) {
            relative(*b, e, 1e-8, "weight");
        }
        relative(index.sd.unwrap(), value("sd_index"), 1e-8, "deviation");
        relative(i * index.aggregate.unwrap(), value("response_aggregate"), 1e-8, "aggregate");
        relative(index.accuracy.unwrap(), value("accuracy"), 1e-8, "accuracy");
        for (g, e) in index.gains.iter().zip(numbers(&expected["response_traits"])) {
            relative(i * g.unwrap(), e, 1e-8, "response");
        }
        assert_eq!(known.warnings(), []);
    }
    // The printed weights of the handbook.
    let (known, weights, ..) = case("mrode_beef.json");
    let index = known.smith_hazel(&weights).unwrap();
    relative(index.b[0], 0.674, 0.003, "printed");
    relative(index.b[1], 2.695, 0.003, "printed");
}

#[test]
fn desired_gains_of_the_reference_case() {
    let (known, weights, _, reference) = case("three_trait.json");
    let expected = &reference["expected"]["desired_gains"];
    let wanted = numbers(&expected["d"]);
    let index = known.desired_gains(&wanted, &weights).unwrap();
    for (b, e) in index.b.iter().zip(numbers(&expected["b"])) {
        relative(*b, e, 1e-8, "weight");
    }
    for (g, e) in index.gains.iter().zip(numbers(&expected["gains_per_unit_i"])) {
        relative(g.unwrap(), e, 1e-8, "gain");
    }
    relative(index.sd.unwrap(), expected["i_needed"].as_f64().unwrap(), 1e-8, "intensity needed");
    // As many standard deviations as the index has bring what was wanted.
    for (g, d) in index.gains.iter().zip(wanted) {
        near(index.sd.unwrap() * g.unwrap(), d, 1e-12, "gain wanted");
    }
}

#[test]
fn two_traits_by_hand() {
    // P = [1 .2; .2 1], G = [.4 .1; .1 .25], w = (1, .5): G·w = (.45, .225),
    // b = (.45 − .2·.225, .225 − .2·.45)/.96 = (.421875, .140625).
    let p = [vec![1.0, 0.2], vec![0.2, 1.0]];
    let g = [vec![0.4, 0.1], vec![0.1, 0.25]];
    let known = Covariances::new(&p, &g).unwrap();
    let index = known.smith_hazel(&[1.0, 0.5]).unwrap();
    near(index.b[0], 0.421875, 1e-14, "b1");
    near(index.b[1], 0.140625, 1e-14, "b2");
    // b'Pb = b'Gw = .45·.421875 + .225·.140625 = .221484375; w'Gw = .5625.
    near(index.sd.unwrap(), 0.221484375f64.sqrt(), 1e-14, "deviation");
    near(index.accuracy.unwrap(), (0.221484375f64 / 0.5625).sqrt(), 1e-14, "accuracy");
    // One trait held still: b must be orthogonal to its column of G, here (.4, .1).
    let held = known.restricted(&[1.0, 0.5], &[0]).unwrap();
    near(held.gains[0].unwrap(), 0.0, 1e-14, "held");
    near(held.b[0] * 0.4 + held.b[1] * 0.1, 0.0, 1e-14, "by hand");
    assert!(held.gains[1].unwrap() > 0.0);
}

/// Random covariances: P = G + E with both positive definite.
fn made(seed: u64, n: usize) -> (Vec<Vec<f64>>, Vec<Vec<f64>>, Vec<f64>) {
    let mut dice = Dice::new(seed);
    let mut square = |ridge: f64| -> Vec<Vec<f64>> {
        let m: Vec<Vec<f64>> = (0..n).map(|_| (0..n).map(|_| dice.normal()).collect()).collect();
        let dot = |i: usize, j: usize| m[i].iter().zip(&m[j]).map(|(a, b)| a * b).sum::<f64>();
        (0..n)
            .map(|i| (0..n).map(|j| dot(i, j) + if i == j { ridge } else { 0.0 }).collect())
            .collect()
    };
    let (g, e) = (square(0.3), square(0.5));
    let sum = |a: &Vec<f64>, b: &Vec<f64>| a.iter().zip(b).map(|(a, b)| a + b).collect();
    let p = g.iter().zip(&e).map(|(g, e)| sum(g, e)).collect();
    let weights = (0..n).map(|_| dice.normal()).collect();
    (p, g, weights)
}

/// What an index that is moved a little from `b` correlates with the aggregate.
fn accuracy(known: &Covariances, b: &[f64], weights: &[f64]) -> f64 {
    known.index(b.to_vec(), weights).accuracy.unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn no_other_index_goes_better_with_the_aggregate(seed in any::<u64>(), n in 2usize..6) {
        let (p, g, weights) = made(seed, n);
        let known = Covariances::new(&p, &g).unwrap();
        let best = known.smith_hazel(&weights).unwrap();
        let top = best.accuracy.unwrap();
        prop_assert!(top > 0.0 && top <= 1.0 + 1e-12);
        near(top, accuracy(&known, &best.b, &weights), 1e-12, "accuracy");
        let mut dice = Dice::new(seed ^ 1);
        for _ in 0..20 {
            let b: Vec<f64> = best.b.iter().map(|b| b + 0.1 * dice.normal()).collect();
            prop_assert!(accuracy(&known, &b, &weights) <= top + 1e-12);
        }
        // Among indices that hold a trait still, none is better than the restricted one.
        let held = known.restricted(&weights, &[n - 1]).unwrap();
        near(held.gains[n - 1].unwrap(), 0.0, 1e-10, "held trait");
        let c: Vec<f64> = (0..n).map(|i| g[i][n - 1]).collect();
        let cc: f64 = c.iter().map(|c| c * c).sum();
        for _ in 0..20 {
            let mut b: Vec<f64> = held.b.iter().map(|b| b + 0.1 * dice.normal()).collect();
            let along: f64 = b.iter().zip(&c).map(|(b, c)| b * c).sum::<f64>() / cc;
            b.iter_mut().zip(&c).for_each(|(b, c)| *b -= along * c);
            let other = accuracy(&known, &b, &weights);
            prop_assert!(other <= held.accuracy.unwrap() + 1e-12);
        }
        prop_assert!(held.accuracy.unwrap() <= top + 1e-12);
    }

    #[test]
    fn units_change_nothing(seed in any::<u64>(), n in 1usize..6) {
        let (p, g, weights) = made(seed, n);
        let mut dice = Dice::new(seed ^ 2);
        let unit: Vec<f64> = (0..n).map(|_| 10f64.powf(8.0 * dice.unit() - 4.0)).collect();
        let scaled = |m: &[Vec<f64>]| -> Vec<Vec<f64>> {
            (0..n).map(|i| (0..n).map(|j| m[i][j] * unit[i] * unit[j]).collect()).collect()
        };
        let (here, there) =
            (Covariances::new(&p, &g).unwrap(), Covariances::new(&scaled(&p), &scaled(&g)).unwrap());
        let moved: Vec<f64> = weights.iter().zip(&unit).map(|(w, u)| w / u).collect();
        let (a, b) = (here.smith_hazel(&weights).unwrap(), there.smith_hazel(&moved).unwrap());
        near(a.accuracy.unwrap(), b.accuracy.unwrap(), 1e-10, "accuracy");
        near(a.aggregate.unwrap(), b.aggregate.unwrap(), 1e-9 * a.aggregate.unwrap().abs(), "aggregate");
        for (j, unit) in unit.iter().enumerate() {
            near(a.b[j], b.b[j] * unit, 1e-8 * (1.0 + a.b[j].abs()), "weight");
            let (x, y) = (a.gains[j].unwrap(), b.gains[j].unwrap() / unit);
            near(x, y, 1e-8 * (1.0 + x.abs()), "gain");
        }
        prop_assert_eq!(here.warnings(), there.warnings());
    }

    #[test]
    fn the_best_few_of_a_group(of in 2u64..60, share in 0.0f64..1.0) {
        let selected = 1 + (share * (of - 1) as f64) as u64;
        let i = intensity(selected, of).unwrap();
        prop_assert!(i <= intensity_of_share(selected as f64 / of as f64).unwrap() + 1e-12);
        // The k best and the n − k others balance each other.
        if selected < of {
            let others = intensity(of - selected, of).unwrap();
            let (k, rest) = (selected as f64, (of - selected) as f64);
            near(k * i, rest * others, 1e-11 * of as f64, "balance");
        }
        near(i, slow(selected, of), 1e-8, "by order statistics");
    }
}

/// The mean of the highest order statistics, each integrated by itself on a fixed grid.
fn slow(selected: u64, of: u64) -> f64 {
    let n = of as f64;
    let ln = |m: u64| (1..=m).map(|k| (k as f64).ln()).sum::<f64>();
    let mut sum = 0.0;
    for j in of - selected + 1..=of {
        let constant = ln(of) - ln(j - 1) - ln(of - j);
        let h = 0.005;
        sum += (-1800..=1800)
            .map(|k| {
                let x = f64::from(k) * h;
                let (below, above) =
                    (stats::special::normal_cdf(x), stats::special::normal_cdf(-x));
                let log = constant + (j - 1) as f64 * below.ln() + (n - j as f64) * above.ln()
                    - 0.5 * x * x;
                h * x * log.exp() / (2.0 * std::f64::consts::PI).sqrt()
            })
            .sum::<f64>();
    }
    sum / selected as f64
}

#[test]
fn intensities_as_published() {
    // Falconer & Mackay 1996, appendix table A, to four digits (from memory), and scipy.
    let reference = json("selection_intensity.json");
    let shares = numbers(&reference["inputs"]["p"]);
    for (p, e) in shares.iter().zip(numbers(&reference["expected"]["i"])) {
        near(intensity_of_share(*p).unwrap(), e, 1e-11, "share");
        // Of ten million the finite intensity is the same to 1e-5.
        let selected = (p * 1e7).round() as u64;
        near(intensity(selected, 10_000_000).unwrap(), e, 1e-5, "of ten million");
    }
    // Expected largest of n normals: Harter 1961, Biometrika 48:151–165 (from memory).
    for (n, e) in [(2, 0.56419), (3, 0.84628), (5, 1.16296), (10, 1.53875), (20, 1.86748)] {
        near(intensity(1, n).unwrap(), e, 6e-6, "largest");
    }
    for (n, e) in [(50, 2.24907), (100, 2.50759)] {
        near(intensity(1, n).unwrap(), e, 6e-6, "largest");
    }
    // 1/√π and 3/(2·√π) exactly.
    near(intensity(1, 2).unwrap(), 1.0 / std::f64::consts::PI.sqrt(), 1e-13, "of two");
    near(intensity(1, 3).unwrap(), 1.5 / std::f64::consts::PI.sqrt(), 1e-13, "of three");
    // Burrows 1972, Biometrics 28:1091–1100 (from memory): i − (n − k)/(2k(n + 1)i), an
    // approximation.
    for (k, n) in [(5u64, 50u64), (20, 100), (3, 30)] {
        let (kf, nf) = (k as f64, n as f64);
        let i = intensity_of_share(kf / nf).unwrap();
        near(
            intensity(k, n).unwrap(),
            i - (nf - kf) / (2.0 * kf * (nf + 1.0) * i),
            0.006,
            "Burrows",
        );
    }
    assert_eq!(intensity(7, 7).unwrap(), 0.0);
    assert_eq!(intensity_of_share(1.0).unwrap(), 0.0);
    assert!(intensity(1, 1_000_000_000).unwrap() > 5.9);
}

#[test]
fn odd_matrices_are_told_of() {
    let unit = [vec![1.0, 0.0], vec![0.0, 1.0]];
    let tight = [vec![0.5, 0.6], vec![0.6, 0.5]];
    let known = Covariances::new(&unit, &tight).unwrap();
    assert_eq!(known.warnings(), [Warning::Genetic, Warning::Environment]);
    assert!(known.smith_hazel(&[1.0, 1.0]).unwrap().accuracy.unwrap() > 1.0);
    let far = [vec![1.0, 1.2], vec![1.2, 1.0]];
    let known = Covariances::new(&far, &[vec![0.3, 0.0], vec![0.0, 0.3]]).unwrap();
    assert!(known.warnings().contains(&Warning::Phenotypic));
    // b = P⁻¹·G·(1, −1) lies where P has no variance: no deviation, no accuracy, but weights.
    let index = known.smith_hazel(&[1.0, -1.0]).unwrap();
    assert_eq!((index.sd, index.accuracy, index.gains[0]), (None, None, None));
    for w in [Warning::Phenotypic, Warning::Genetic, Warning::Environment, Warning::Accuracy] {
        assert!(!w.text().is_empty());
    }
}

#[test]
fn what_is_no_index_is_refused_by_name() {
    use SelectionError as E;
    let unit = vec![vec![1.0, 0.0], vec![0.0, 1.0]];
    let half = vec![vec![0.5, 0.0], vec![0.0, 0.5]];
    let new = |p: &[Vec<f64>], g: &[Vec<f64>]| Covariances::new(p, g).unwrap_err();
    assert_eq!(new(&[], &[]), E::Empty);
    assert!(matches!(new(&unit, &half[..1]), E::Size { found: 1, expected: 2, .. }));
    assert!(matches!(new(&[vec![1.0], vec![0.0, 1.0]], &half), E::Size { found: 1, .. }));
    let skew = [vec![1.0, 0.1], vec![0.2, 1.0]];
    assert!(matches!(new(&skew, &half), E::NotSymmetric { matrix: 'P', row: 1, column: 2, .. }));
    let nan = [vec![1.0, f64::NAN], vec![0.0, 1.0]];
    assert!(matches!(new(&unit, &nan), E::NotFinite { .. }));
    let none = [vec![0.0, 0.0], vec![0.0, 1.0]];
    assert!(matches!(new(&none, &half), E::Variance { matrix: 'P', trait_number: 1, .. }));
    let below = [vec![0.5, 0.0], vec![0.0, -0.1]];
    assert!(matches!(new(&unit, &below), E::Variance { matrix: 'G', trait_number: 2, .. }));
    let known = Covariances::new(&unit, &half).unwrap();
    assert!(matches!(known.smith_hazel(&[1.0]), Err(E::Size { .. })));
    assert!(matches!(known.smith_hazel(&[0.0, 0.0]), Err(E::Nothing { .. })));
    assert!(matches!(known.smith_hazel(&[0.0, f64::INFINITY]), Err(E::NotFinite { .. })));
    assert_eq!(
        known.restricted(&[1.0, 1.0], &[2]).unwrap_err(),
        E::NoTrait { found: 3, traits: 2 }
    );
    assert_eq!(
        known.restricted(&[1.0, 1.0], &[0, 1, 1]).unwrap_err(),
        E::AllRestricted { traits: 2 }
    );
    let same = Covariances::new(&[vec![1.0, 1.0], vec![1.0, 1.0]], &half).unwrap();
    assert!(matches!(same.smith_hazel(&[1.0, 1.0]), Err(E::Singular { matrix: "P", .. })));
    let dead = Covariances::new(&unit, &[vec![0.5, 0.0], vec![0.0, 0.0]]).unwrap();
    assert!(matches!(dead.desired_gains(&[1.0, 1.0], &[1.0, 1.0]), Err(E::Singular { .. })));
    assert!(matches!(dead.restricted(&[1.0, 1.0], &[1]), Err(E::Singular { .. })));
    assert_eq!(intensity(0, 5).unwrap_err(), E::Selected { selected: 0, of: 5 });
    assert_eq!(intensity(6, 5).unwrap_err(), E::Selected { selected: 6, of: 5 });
    assert!(matches!(intensity_of_share(0.0), Err(E::Share { .. })));
    assert!(matches!(intensity_of_share(1.2), Err(E::Share { .. })));
}
