//! Optimum contributions beside the published way and a slow one.

use planning::{Kinship, contributions::Contributors};
use proptest::prelude::*;

use crate::kinship::from_numbers;

/// Solves a small system by elimination; none if it has no single solution.
fn solved(mut rows: Vec<Vec<f64>>) -> Option<Vec<f64>> {
    let n = rows.len();
    for at in 0..n {
        let pivot = (at..n).max_by(|a, b| rows[*a][at].abs().total_cmp(&rows[*b][at].abs()))?;
        rows.swap(at, pivot);
        if rows[at][at].abs() < 1e-12 {
            return None;
        }
        for other in 0..n {
            if other != at {
                let factor = rows[other][at] / rows[at][at];
                let pivot = rows[at].clone();
                rows[other].iter_mut().zip(pivot).for_each(|(v, p)| *v -= factor * p);
            }
        }
    }
    Some((0..n).map(|i| rows[i][n] / rows[i][i]).collect())
}

/// The best g'c − w c'Kc by trying every set of candidates with a share above 0 and solving for it.
fn slowly(merit: &[f64], kinship: &Kinship, weight: f64) -> f64 {
    let n = merit.len();
    let mut best = f64::NEG_INFINITY;
    for set in 1_u32..(1 << n) {
        let of: Vec<usize> = (0..n).filter(|i| set >> i & 1 == 1).collect();
        let m = of.len();
        let mut rows = Vec::new();
        for i in &of {
            let mut row: Vec<f64> = of.iter().map(|j| 2.0 * weight * kinship.of(*i, *j)).collect();
            row.extend([1.0, merit[*i]]);
            rows.push(row);
        }
        let mut last = vec![1.0; m];
        last.extend([0.0, 1.0]);
        rows.push(last);
        let Some(found) = solved(rows) else { continue };
        if found[..m].iter().all(|c| *c >= -1e-12) {
            let mut shares = vec![0.0; n];
            of.iter().zip(&found).for_each(|(i, c)| shares[*i] = *c);
            let gain: f64 = shares.iter().zip(merit).map(|(c, g)| c * g).sum();
            best = best.max(gain - weight * kinship.mean(&shares));
        }
    }
    best
}

fn three() -> (Vec<f64>, Kinship) {
    let kinship =
        Kinship::from_rows(&[vec![0.5, 0.25, 0.0], vec![0.25, 0.5, 0.0], vec![0.0, 0.0, 0.5]]);
    (vec![1.2, 1.0, 0.4], kinship.unwrap())
}

#[test]
fn two_relatives_and_a_stranger() {
    // Worked by hand for three candidates: merits 1.2, 1.0, 0.4, the first two full sibs. Half a
    // unit of the last printed digit.
    let (merit, kinship) = three();
    let all = Contributors { merit: &merit, kinship: &kinship, most: 1.0 };
    for (limit, shares, gain) in
        [(0.30, [0.58, 0.29, 0.14], 1.03), (0.36, [0.67, 0.29, 0.05], 1.11)]
    {
        let found = all.under(limit).unwrap();
        for (a, b) in found.shares.iter().zip(shares) {
            assert!((a - b).abs() < 0.0051, "{limit}: {:?} is not {shares:?}", found.shares);
        }
        assert!((found.merit - gain).abs() < 0.0051, "{} is not {gain}", found.merit);
        // Where something iterates: 1e-6; the limit itself is met by a closed form.
        assert!((found.mean_kinship - limit).abs() < 1e-9, "{found:?}");
        assert!(found.gap < 1e-6, "{found:?}");
        assert!((found.shares.iter().sum::<f64>() - 1.0).abs() < 1e-9);
    }
}

#[test]
fn equal_merits_and_strangers_share_alike() {
    // Closed forms: nobody is preferred; and with unequal merits among strangers (kinship ½ with
    // oneself) shares differ by merits over the weight.
    let kinship = Kinship::unrelated(4);
    let found = |merit: &[f64], weight| {
        Contributors { merit, kinship: &kinship, most: 1.0 }.at_weight(weight).unwrap()
    };
    for share in found(&[1.0; 4], 2.0).shares {
        assert!((share - 0.25).abs() < 1e-9);
    }
    let shares = found(&[0.1, 0.0, 0.0, -0.1], 2.0).shares;
    for (share, expected) in shares.iter().zip([0.3, 0.25, 0.25, 0.2]) {
        assert!((share - expected).abs() < 1e-6, "{shares:?}");
    }
    let limited = Contributors { merit: &[5.0, 1.0, 0.0, 0.0], kinship: &kinship, most: 0.4 };
    let shares = limited.at_weight(0.1).unwrap().shares;
    assert!((shares[0] - 0.4).abs() < 1e-9 && shares.iter().all(|c| *c <= 0.4 + 1e-9));
}

#[test]
fn a_limit_that_only_the_least_related_keep() {
    let (merit, kinship) = three();
    let all = Contributors { merit: &merit, kinship: &kinship, most: 1.0 };
    // By hand: 0.375 within the sibs beside 0.5 of the stranger, so shares 2/7, 2/7 and 3/7.
    let least = all.least_related().unwrap();
    for (share, expected) in least.shares.iter().zip([2.0 / 7.0, 2.0 / 7.0, 3.0 / 7.0]) {
        assert!((share - expected).abs() < 1e-6, "{least:?}");
    }
    let there = all.under(least.mean_kinship).unwrap();
    assert!((there.merit - least.merit).abs() < 1e-3, "{there:?}");
    assert!(there.mean_kinship <= least.mean_kinship + 1e-9);
    // Where all are worth the same, nothing is lost by it.
    let alike = Contributors { merit: &[1.0; 3], ..all };
    let there = alike.under(least.mean_kinship).unwrap();
    assert!((there.merit - 1.0).abs() < 1e-9 && there.gap < 1e-9, "{there:?}");
}

#[test]
fn the_curve_rises_and_bends() {
    let numbers: Vec<u32> = (0..40).map(|i| i * i * 7919 + 31 * i).collect();
    let kinship = from_numbers(&numbers);
    let merit: Vec<f64> = (0..40).map(|i| f64::from(i * 37 % 41) / 10.0).collect();
    let all = Contributors { merit: &merit, kinship: &kinship, most: 1.0 };
    let curve = all.curve(8).unwrap();
    assert_eq!(curve.len(), 8);
    let top = merit.iter().copied().fold(0.0, f64::max);
    assert!((curve[7].merit - top).abs() < 1e-9);
    for pair in curve.windows(2) {
        assert!(pair[0].mean_kinship < pair[1].mean_kinship + 1e-9);
        assert!(pair[0].merit <= pair[1].merit + 1e-6);
    }
    // Even steps of kinship bring less and less merit.
    for three in curve.windows(3) {
        let (first, second) = (three[1].merit - three[0].merit, three[2].merit - three[1].merit);
        assert!(second <= first + 1e-6, "{first}, then {second}");
    }
}

#[test]
fn what_has_no_mixture_is_refused() {
    let (merit, kinship) = three();
    let all = Contributors { merit: &merit, kinship: &kinship, most: 1.0 };
    let told = all.under(0.1).unwrap_err().to_string();
    assert!(told.contains("a mean kinship of 0.1, when the least that can be had is"), "{told}");
    assert!(all.at_weight(-1.0).unwrap_err().to_string().contains("a weight of -1"));
    assert!(all.curve(1).unwrap_err().to_string().contains("at least two"));
    let narrow = Contributors { most: 0.3, ..all };
    assert!(narrow.at_weight(1.0).unwrap_err().to_string().contains("a largest share of 0.3"));
    let short = Contributors { merit: &merit[..2], ..all };
    assert!(short.at_weight(1.0).unwrap_err().to_string().contains("kinship of 3 for 2"));
    let none = [1.0, f64::NAN, 0.0];
    let none = Contributors { merit: &none, ..all };
    assert!(
        none.least_related().unwrap_err().to_string().contains("candidate 1 has a merit of NaN")
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_best_mixture_is_that_of_all_sets(merit in prop::collection::vec(-2.0f64..2.0, 2..7), numbers in prop::collection::vec(0u32..10_000, 7), weight in 0.05f64..20.0) {
        let kinship = from_numbers(&numbers[..merit.len()]);
        let all = Contributors { merit: &merit, kinship: &kinship, most: 1.0 };
        let found = all.at_weight(weight).unwrap();
        let value = found.merit - weight * found.mean_kinship;
        let slow = slowly(&merit, &kinship, weight);
        // Where something iterates: 1e-6.
        prop_assert!((value - slow).abs() < 1e-6, "{} is not {}", value, slow);
        prop_assert!(value + found.gap >= slow - 1e-9 && found.gap < 1e-6);
        prop_assert!((found.shares.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        prop_assert!(found.shares.iter().all(|c| *c >= 0.0));
        // The same limit of kinship leads back to the same merit.
        let again = all.under(found.mean_kinship).unwrap();
        prop_assert!((again.merit - found.merit).abs() < 1e-5, "{:?} and {:?}", again, found);
        prop_assert!(again.mean_kinship <= found.mean_kinship + 1e-9);
        prop_assert!(again.merit + again.gap >= found.merit - 1e-9);
    }
}
