//! Sparse systems against dense ones.

use faer::{Mat, linalg::solvers::DenseSolveCore as _};
use proptest::prelude::*;
use stats::{
    random::Random,
    sparse::{FILL_LIMIT, Pattern, SparseError},
};

type Triplets = Vec<(usize, usize, f64)>;

fn dense(n: usize, triplets: &Triplets) -> Mat<f64> {
    let mut a = Mat::zeros(n, n);
    for &(i, j, v) in triplets {
        a[(i, j)] += v;
        if i != j {
            a[(j, i)] += v;
        }
    }
    a
}

/// A random pattern, made positive definite by its diagonal.
fn random(n: usize, links: usize, seed: u64) -> Triplets {
    let mut r = Random::new(seed);
    let mut t: Triplets = Vec::new();
    let mut sums = vec![0.5; n];
    for _ in 0..links {
        let (i, j, v) = (r.below(n), r.below(n), r.unit() * 2.0 - 1.0);
        if i != j {
            t.push((i, j, v));
            sums[i] += v.abs();
            sums[j] += v.abs();
        }
    }
    t.extend(sums.into_iter().enumerate().map(|(i, v)| (i, i, v)));
    t
}

/// Everything that a factor gives, against the dense inverse.
fn compare(n: usize, triplets: &Triplets) {
    let a = dense(n, triplets);
    let (pattern, values) = Pattern::from_triplets(n, triplets, FILL_LIMIT).unwrap();
    let factor = pattern.factor(&values).unwrap();
    let llt = a.llt(faer::Side::Lower).unwrap();
    let inverse = llt.inverse();
    let size = (0..n).map(|i| inverse[(i, i)]).fold(0.0, f64::max);

    let selected = factor.inverse();
    let mut seen = 0;
    for i in 0..n {
        for j in 0..n {
            if let Some(v) = selected.get(i, j) {
                seen += 1;
                crate::near(v, inverse[(i, j)], 1e-10 * size, &format!("entry {i},{j} of {n}"));
            }
        }
    }
    assert!(seen >= 2 * pattern.entries() - n, "{seen} entries");
    for j in 0..n {
        for (slot, i) in pattern.column(j) {
            assert_eq!(Some(selected.at(slot)), selected.get(i, j));
            assert_eq!(pattern.slot(j, i), Some(slot));
        }
    }
    for (i, d) in selected.diagonal().into_iter().enumerate() {
        assert_eq!(Some(d), selected.get(i, i));
    }

    let mut x: Vec<f64> = (0..2 * n).map(|i| (i as f64).sin()).collect();
    let b = x.clone();
    factor.solve(&mut x);
    for c in 0..2 {
        for i in 0..n {
            let ax: f64 = (0..n).map(|j| a[(i, j)] * x[c * n + j]).sum();
            crate::near(ax, b[c * n + i], 1e-10 * (1.0 + size), "A·x");
        }
    }
    let log_det: f64 = (0..n).map(|i| 2.0 * llt.L()[(i, i)].ln()).sum();
    crate::near(factor.log_determinant(), log_det, 1e-10 * (1.0 + log_det.abs()), "log|A|");
}

#[test]
fn a_matrix_of_one_row_and_one_without_links() {
    compare(1, &vec![(0, 0, 4.0)]);
    compare(5, &random(5, 0, 1));
}

#[test]
fn a_full_matrix() {
    compare(40, &random(40, 4000, 2));
}

#[test]
fn two_crossed_factors() {
    let mut r = Random::new(3);
    let mut t: Triplets = (0..90).map(|i| (i, i, 0.3)).collect();
    for _ in 0..400 {
        let (a, b) = (r.below(60), 60 + r.below(30));
        t.extend([(a, a, 1.0), (b, b, 1.0), (a, b, 1.0)]);
    }
    compare(90, &t);
}

#[test]
fn a_chain_and_an_arrow() {
    let chain: Triplets = (0..50).flat_map(|i| [(i, i, 2.1), (i, (i + 1).min(49), -1.0)]).collect();
    compare(50, &chain[..99].to_vec());
    let arrow: Triplets = (0..50).flat_map(|i| [(i, i, 60.0), (0, i, 1.0)]).collect();
    compare(50, &arrow);
}

#[test]
fn new_values_on_the_same_pattern() {
    let t = random(30, 60, 5);
    let (pattern, values) = Pattern::from_triplets(30, &t, FILL_LIMIT).unwrap();
    let mut factor = pattern.factor(&values).unwrap();
    let before = factor.log_determinant();
    let double: Vec<f64> = values.iter().map(|v| 2.0 * v).collect();
    factor.refactor(&double).unwrap();
    crate::near(factor.log_determinant() - before, 30.0 * 2f64.ln(), 1e-10, "log|2A|−log|A|");
}

#[test]
fn what_cannot_be_factored_is_refused() {
    assert_eq!(Pattern::new(0, &[], FILL_LIMIT).unwrap_err(), SparseError::Empty);
    let outside = Pattern::new(3, &[(1, 3)], FILL_LIMIT).unwrap_err();
    assert_eq!(outside, SparseError::Outside { row: 1, column: 3, n: 3 });
    let full: Vec<(usize, usize)> = (0..50).flat_map(|i| (0..i).map(move |j| (i, j))).collect();
    let large = Pattern::new(50, &full, 1000).unwrap_err();
    assert!(matches!(large, SparseError::TooLarge { fill: 1275.., limit: 1000 }), "{large}");
    for values in [[1.0, 2.0, 1.0], [1.0, f64::NAN, 1.0], [0.0, 0.0, 1.0]] {
        let pattern = Pattern::new(2, &[(0, 1)], FILL_LIMIT).unwrap();
        assert_eq!(pattern.factor(&values).unwrap_err(), SparseError::NotPositive);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]
    #[test]
    fn any_pattern_agrees_with_the_dense_inverse(
        n in 1usize..60, density in 0usize..6, seed in any::<u64>(),
    ) {
        compare(n, &random(n, n * density, seed));
    }
}
