//! What must hold whatever the records.

use proptest::prelude::*;
use stats::mixed::MixedFit;

use super::{Case, crossed, records};
use crate::near;

/// The same but for a constant and a unit of the response.
fn same(a: &MixedFit, b: &MixedFit, unit: f64, constant: f64) {
    // Both searches end within 1e-6 of the top's standard errors.
    for (x, y) in a.variances.iter().zip(&b.variances) {
        near(
            y.variance,
            unit * unit * x.variance,
            1e-5 * unit * unit * (1.0 + x.variance),
            &x.group,
        );
        assert_eq!(x.boundary, y.boundary);
    }
    for (j, (x, y)) in a.terms.iter().zip(&b.terms).enumerate() {
        let moved = unit * x.estimate + if j == 0 { constant } else { 0.0 };
        near(
            y.estimate,
            moved,
            1e-5 * unit * (1.0 + x.estimate.abs()) + 1e-12 * constant,
            "coefficient",
        );
        near(y.se, unit * x.se, 1e-5 * unit * (1.0 + x.se), "its error");
    }
    for (x, y) in a.levels.iter().zip(&b.levels) {
        near(y.estimate, unit * x.estimate, 1e-5 * unit * (1.0 + x.estimate.abs()), &x.level);
    }
    let degrees = (a.n - a.terms.len()) as f64;
    let expected = a.log_restricted_likelihood - degrees * unit.ln();
    near(b.log_restricted_likelihood, expected, 1e-7 * (1.0 + expected.abs()), "log-likelihood");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn a_constant_moves_the_intercept_alone_and_a_unit_scales_everything(
        seed in any::<u64>(), constant in -1e6f64..1e6, unit in 1e-4f64..1e4, a in 3usize..10,
    ) {
        let case = crossed(seed, 80, a, 6, [1.0, 0.5, 1.0]);
        let base = case.fit();
        let moved = Case { response: case.response.iter().map(|y| y + constant).collect(), ..case.clone() };
        same(&base, &moved.fit(), 1.0, constant);
        let scaled = Case { response: case.response.iter().map(|y| y * unit).collect(), ..case.clone() };
        same(&base, &scaled.fit(), unit, 0.0);
    }

    #[test]
    fn reliabilities_are_shares_and_errors_are_ordered(seed in any::<u64>(), a in 3usize..12) {
        let fit = crossed(seed, 60, a, 5, [0.7, 0.3, 1.0]).fit();
        for l in &fit.levels {
            let variance = fit.variance(&l.group).unwrap();
            prop_assert!(l.reliability.is_none_or(|r| (0.0..=1.0).contains(&r)));
            prop_assert_eq!(l.reliability.is_none(), variance == 0.0);
            prop_assert!(l.pev >= 0.0 && l.pev <= variance * (1.0 + 1e-9), "{} of {}", l.pev, variance);
            prop_assert!(l.conditional_sd.powi(2) <= l.pev * (1.0 + 1e-9) + 1e-15);
        }
        // Given an intercept the effects of each term sum to zero: they are Zᵀ·P·y, and P·1 = 0.
        for group in ["A", "B"] {
            let sum: f64 = fit.levels.iter().filter(|l| l.group == group).map(|l| l.estimate).sum();
            near(sum, 0.0, 1e-9, group);
        }
        prop_assert!(fit.gradient_norm < 1e-4, "{}", fit.gradient_norm);
        prop_assert!(fit.iterations < 40, "{}", fit.iterations);
    }
}

#[test]
fn effects_of_a_balanced_term_sum_to_zero() {
    for (file, response, group) in
        [("dyestuff.csv", "Yield", "Batch"), ("rail.csv", "travel", "Rail")]
    {
        let (y, frame) = records(file, response);
        let fit = Case::of(y, &frame, &[], group).fit();
        let sum: f64 = fit.levels.iter().map(|l| l.estimate).sum();
        near(sum, 0.0, 1e-9 * fit.variances[0].sd, group);
    }
}

#[test]
fn where_a_slope_is_counted_from_changes_nothing_but_the_intercept() {
    let (y, frame) = records("sleepstudy.csv", "Reaction");
    let near_zero = Case::of(y.clone(), &frame, &["Days"], "Days|Subject").fit();
    let days: Vec<f64> =
        super::table("sleepstudy.csv")[1].1.iter().map(|d| d.parse().unwrap()).collect();
    let late = stats::model::Column::Numbers(days.iter().map(|d| d + 2_460_000.0).collect());
    let frame = frame.with("Days", late).unwrap();
    let far = Case::of(y, &frame, &["Days"], "Days|Subject").fit();
    near(
        far.log_restricted_likelihood,
        near_zero.log_restricted_likelihood,
        1e-6,
        "log-likelihood",
    );
    let (a, b) =
        (near_zero.variance("Subject:Days").unwrap(), far.variance("Subject:Days").unwrap());
    near(a, b, 1e-5 * a, "variance of slopes");
    near(far.terms[1].estimate, near_zero.terms[1].estimate, 1e-7, "slope");
    near(far.terms[1].se, near_zero.terms[1].se, 1e-6, "its error");
}

#[test]
fn variances_that_are_given_give_what_the_fit_found() {
    let case = crossed(8, 80, 9, 6, [1.0, 0.8, 1.0]);
    let fit = case.fit();
    let value = |name: &str| fit.variance(name).unwrap();
    let all = [("A", value("A")), ("B", value("B")), ("residual", value("residual"))];
    let given = case.with(&all).unwrap();
    assert_eq!(given.iterations, 0);
    assert!(given.variances.iter().all(|v| v.given && v.se.is_none()));
    near(given.log_restricted_likelihood, fit.log_restricted_likelihood, 1e-9, "log-likelihood");
    for (a, b) in fit.levels.iter().zip(&given.levels) {
        near(a.estimate, b.estimate, 1e-9, "effect");
        near(a.pev, b.pev, 1e-9, "prediction error variance");
    }
    // Some given, the rest found where it was.
    for some in [&all[..1], &all[1..2], &all[2..], &all[..2]] {
        let part = case.with(some).unwrap();
        for v in &part.variances {
            near(v.variance, value(&v.group), 1e-5, &v.group);
        }
        assert_eq!(part.variances.iter().filter(|v| v.given).count(), some.len());
    }
    let none = case.with(&[("B", 0.0)]).unwrap();
    assert!(none.log_restricted_likelihood < fit.log_restricted_likelihood);
    assert!(none.levels.iter().filter(|l| l.group == "B").all(|l| l.estimate == 0.0));
}

#[test]
fn without_random_terms_it_is_least_squares() {
    let (y, frame) = records("sleepstudy.csv", "Reaction");
    let fit = Case::of(y.clone(), &frame, &["Days"], "").fit();
    let x = frame.column("Days").unwrap();
    let stats::model::Column::Numbers(x) = x else { panic!("numbers") };
    let n = y.len() as f64;
    let mean = |v: &[f64]| v.iter().sum::<f64>() / n;
    let (mx, my) = (mean(x), mean(&y));
    let sxx: f64 = x.iter().map(|x| (x - mx).powi(2)).sum();
    let slope = x.iter().zip(&y).map(|(x, y)| (x - mx) * (y - my)).sum::<f64>() / sxx;
    let rss: f64 = x.iter().zip(&y).map(|(x, y)| (y - my - slope * (x - mx)).powi(2)).sum();
    near(fit.terms[1].estimate, slope, 1e-9, "slope");
    near(fit.variances[0].variance, rss / (n - 2.0), 1e-6, "residual variance");
    near(fit.terms[1].se, (rss / (n - 2.0) / sxx).sqrt(), 1e-9, "its error");
}
