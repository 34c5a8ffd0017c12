//! Counts, batches that differ, and chains, against published tables and exact enumeration.

use proptest::prelude::*;
use stats::{
    random::Random,
    success::{
        Batch, BetaBinomialError, ChainError, CountError, RateKnown, Stage, Yield, beta_binomial,
        expected_count, follow, needed, start_for,
    },
};

use crate::{json, near, path};

#[test]
fn herds_that_differ() {
    // R 4.2.2, optim on the exact likelihood; tolerances of the file: 0.002 relative, 1e-4.
    let expected = json("betabinom_cbpp.json");
    let batches: Vec<Batch> = csv::Reader::from_path(path("betabinom_cbpp.csv"))
        .unwrap()
        .deserialize::<(u64, u64)>()
        .map(|r| r.unwrap())
        .map(|(successes, trials)| Batch { successes, trials })
        .collect();
    let fit = beta_binomial(&batches).unwrap();
    let want = |key: &str| expected["expected"][key].as_f64().unwrap();
    for (name, found) in [
        ("alpha", fit.alpha.unwrap()),
        ("beta", fit.beta.unwrap()),
        ("mean", fit.mean),
        ("rho", fit.rho),
    ] {
        near(found, want(name), 0.002 * want(name), name);
    }
    near(fit.log_likelihood, want("logLik"), 1e-4, "log-likelihood");
    let shrunk = expected["expected"]["shrunk"].as_array().unwrap();
    for (batch, want) in batches.iter().zip(shrunk) {
        let want = want.as_f64().unwrap();
        near(fit.shrunk(*batch), want, 0.002 * want, "shrunk rate");
    }
    assert!(!fit.boundary && fit.rho_se.unwrap() > 0.0 && fit.gradient_norm < 1e-4);
}

#[test]
fn batches_alike_are_at_the_boundary_and_singles_say_nothing() {
    let of = |counts: &[(u64, u64)]| -> Vec<Batch> {
        counts
            .iter()
            .map(|(successes, trials)| Batch { successes: *successes, trials: *trials })
            .collect()
    };
    let alike = beta_binomial(&of(&[(5, 10), (5, 10), (5, 10), (5, 10)])).unwrap();
    assert!(alike.boundary && alike.rho_se.is_none() && alike.alpha.is_none());
    // A closed form: the binomial at the pooled rate.
    near(alike.mean, 0.5, 0.0, "mean");
    near(alike.log_likelihood, 4.0 * (252.0_f64 / 1024.0).ln(), 1e-9, "log-likelihood");
    assert_eq!(beta_binomial(&of(&[(1, 1), (0, 1)])), Err(BetaBinomialError::Singles));
    let refused = beta_binomial(&of(&[(0, 4), (0, 9)])).unwrap_err();
    assert_eq!(refused, BetaBinomialError::AllAlike { trials: 13, succeeded: false });
    let refused = beta_binomial(&of(&[(1, 4), (5, 4)])).unwrap_err();
    assert!(refused.to_string().starts_with("row 2: 5 successes in 4 trials"), "{refused}");
}

#[test]
fn numbers_needed() {
    // Mather 1951; Sedcole 1977; computed by scipy 1.17.1. Whole numbers: exact.
    let mut seen = 0;
    for row in csv::Reader::from_path(path("progeny_needed.csv")).unwrap().deserialize() {
        let (_, share, confidence, k, n, exact): (String, f64, f64, u64, u64, Option<f64>) =
            row.unwrap();
        let found = needed(RateKnown::share(share).unwrap(), k, confidence).unwrap();
        assert_eq!(found.n, n, "p {share}, P {confidence}, k {k}");
        assert_eq!(found.exact.is_some(), exact.is_some());
        if let (Some(found), Some(exact)) = (found.exact, exact) {
            near(found, exact, 1e-9 * exact, "real-valued solution");
        }
        seen += 1;
    }
    assert!(seen > 50, "only {seen} rows");
}

#[test]
fn numbers_needed_with_a_rate_that_is_only_estimated() {
    // Computed from the stated formula: 6 of 10 rooted, flat prior: three need 11 instead of 8.
    let known = RateKnown::share(0.6).unwrap();
    let estimated = RateKnown::estimated(6, 10).unwrap();
    assert_eq!(needed(known, 3, 0.95).unwrap().n, 8);
    assert_eq!(needed(estimated, 3, 0.95).unwrap().n, 11);
    assert_eq!(needed(RateKnown::share(0.8).unwrap(), 5, 0.95).unwrap().n, 9);
    // Cuttings of one tray rot together, so more are needed.
    let tray = known.in_one_batch(0.2).unwrap();
    near(tray.mean(), 0.6, 1e-12, "mean");
    assert!(needed(tray, 3, 0.95).unwrap().n > 8);
    let count = expected_count(estimated, 10, 0.8).unwrap();
    near(count.mean, 10.0 * 7.0 / 12.0, 1e-12, "mean of Beta(7, 5) times ten");
    assert!(count.lower < 6 && count.upper > 6, "{count:?}");
}

#[test]
fn what_cannot_be_counted_is_refused() {
    assert_eq!(RateKnown::share(0.0), Err(CountError::Share(0.0)));
    assert!(matches!(RateKnown::estimated(4, 3), Err(CountError::TooMany { .. })));
    assert!(matches!(RateKnown::Share(0.5).in_one_batch(1.0), Err(CountError::Correlation(_))));
    let never = needed(RateKnown::Beta { alpha: 1e-6, beta: 1e6 }, 1, 0.99).unwrap_err();
    assert!(matches!(never, CountError::OutOfReach { .. }), "{never}");
}

/// All outcomes of two stages with known shares, one by one.
fn enumerated(start: u64, first: f64, second: f64) -> Vec<f64> {
    let (a, b) = (RateKnown::Share(first), RateKnown::Share(second));
    (0..=start)
        .map(|end| (end..=start).map(|mid| a.chance(mid, start) * b.chance(end, mid)).sum())
        .collect()
}

fn stage(name: &str, rate: RateKnown) -> Stage {
    Stage { name: name.to_owned(), rate, rho: 0.0, yields: Yield::One }
}

#[test]
fn a_chain_agrees_with_the_sum_over_all_outcomes() {
    let stages = [stage("pods", RateKnown::Share(0.3)), stage("ripe pods", RateKnown::Share(0.6))];
    let found = follow(&stages, 12, 2, 0.8, 5).unwrap();
    let exact: f64 = enumerated(12, 0.3, 0.6)[2..].iter().sum();
    // Four standard errors of the draws.
    near(found.at_least, exact, 4.0 * found.at_least_se, "chance of two");
    near(found.stages[1].mean, 12.0 * 0.18, 0.05, "mean");
    let start = start_for(&stages, 2, 0.9, 1000, 5).unwrap();
    let chance = |n: u64| enumerated(n, 0.3, 0.6)[2..].iter().sum::<f64>();
    assert!(chance(start + 1) > 0.895 && chance(start - 1) < 0.905, "{start}");
    assert_eq!(follow(&stages, 12, 2, 0.8, 5).unwrap(), found, "the same seed, the same answer");
}

#[test]
fn a_rate_that_is_only_estimated_is_one_and_the_same_for_all() {
    let rate = RateKnown::Beta { alpha: 4.0, beta: 10.0 };
    let found = follow(&[stage("pods", rate)], 6, 1, 0.8, 1).unwrap();
    near(found.at_least, rate.at_least(1, 6), 4.0 * found.at_least_se, "beta-binomial");
    let seeds =
        Stage { yields: Yield::OneOf(vec![40, 60]), ..stage("seed", RateKnown::Share(1.0)) };
    let found = follow(&[stage("pods", rate), seeds], 10, 1, 0.8, 1).unwrap();
    // Four standard errors: the count has a standard deviation of about 85, over 20,000 draws.
    near(found.stages[1].mean, 10.0 * 4.0 / 14.0 * 50.0, 2.5, "mean seed");
}

#[test]
fn a_stage_that_cannot_be_used_is_named() {
    assert_eq!(follow(&[], 3, 1, 0.8, 1), Err(ChainError::Empty));
    let bad = follow(&[stage("pods", RateKnown::Share(1.5))], 3, 1, 0.8, 1).unwrap_err();
    assert!(bad.to_string().contains("“pods”: 1.5 is not a share"), "{bad}");
    let none = [stage("pods", RateKnown::Share(0.001))];
    let bad = start_for(&none, 5, 0.9, 100, 1).unwrap_err();
    assert!(matches!(bad, ChainError::OutOfReach { limit: 100, .. }), "{bad}");
}

#[test]
fn drawn_counts_have_the_mean_and_spread_of_the_binomial() {
    let mut random = Random::new(11);
    for (n, p) in [(5_u64, 0.3), (300, 0.02), (1000, 0.7)] {
        let draws: Vec<f64> = (0..20_000).map(|_| random.binomial(n, p) as f64).collect();
        let mean = draws.iter().sum::<f64>() / 20_000.0;
        let variance = draws.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / 19_999.0;
        let true_variance = n as f64 * p * (1.0 - p);
        near(mean, n as f64 * p, 4.0 * (true_variance / 20_000.0).sqrt(), "mean");
        // Four standard errors of a variance, near-normal draws.
        near(
            variance,
            true_variance,
            4.0 * true_variance * (2.0_f64 / 20_000.0).sqrt(),
            "variance",
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn chances_add_up_and_more_is_rarer(k in 0u64..30, n in 1u64..40, a in 0.2f64..20.0, b in 0.2f64..20.0) {
        let rate = RateKnown::Beta { alpha: a, beta: b };
        let total: f64 = (0..=n).map(|j| rate.chance(j, n)).sum();
        prop_assert!((total - 1.0).abs() < 1e-9);
        prop_assert!(rate.at_least(k + 1, n) <= rate.at_least(k, n) + 1e-12);
        prop_assert!(rate.at_least(k, n + 1) >= rate.at_least(k, n) - 1e-9);
        let slow: f64 = (k..=n).map(|j| rate.chance(j, n)).sum();
        prop_assert!((rate.at_least(k, n) - slow).abs() < 1e-9);
    }

    #[test]
    fn the_number_needed_is_the_smallest(share in 0.02f64..0.9, k in 1u64..6, confidence in 0.5f64..0.99) {
        let rate = RateKnown::share(share).unwrap();
        let n = needed(rate, k, confidence).unwrap().n;
        prop_assert!(rate.at_least(k, n) >= confidence - 1e-12);
        prop_assert!(n == k || rate.at_least(k, n - 1) < confidence);
    }
}
