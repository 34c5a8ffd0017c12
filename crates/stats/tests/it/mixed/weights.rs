//! Records that weigh differently, and draws from the posterior.

use faer::{Mat, Side, linalg::solvers::Solve as _};
use stats::{
    mixed::{MixedError, MixedFit, Settings, chance_best, draws, fit},
    random::Random as Dice,
};

use super::{Case, crossed, normal, records};
use crate::near;

fn with(case: &Case, weights: Vec<f64>, given: &[(&str, f64)]) -> Result<MixedFit, MixedError> {
    let given = given.iter().map(|(n, v)| ((*n).to_owned(), *v)).collect();
    let settings = Settings { given, weights: Some(weights), ..Settings::default() };
    fit(&case.response, &case.fixed, &case.random, &settings)
}

/// Restricted log-likelihood and coefficients by the definition, for terms without slopes.
fn dense(case: &Case, weights: &[f64], variances: &[f64]) -> (f64, Vec<f64>) {
    let (n, p) = (case.response.len(), case.fixed.width());
    let mut v = Mat::<f64>::zeros(n, n);
    for i in 0..n {
        for j in 0..n {
            for (r, s) in case.random.iter().zip(variances) {
                if r.term.of_row(i) == r.term.of_row(j) {
                    v[(i, j)] += s;
                }
            }
        }
        v[(i, i)] += variances[variances.len() - 1] / weights[i];
    }
    let x = Mat::from_fn(n, p, |i, j| case.fixed.column(j)[i]);
    let y = Mat::from_fn(n, 1, |i, _| case.response[i]);
    let llt = v.llt(Side::Lower).unwrap();
    let (vx, vy) = (llt.solve(&x), llt.solve(&y));
    let small = (x.transpose() * &vx).llt(Side::Lower).unwrap();
    let b = small.solve(x.transpose() * &vy);
    let log = |l: faer::MatRef<'_, f64>| (0..l.nrows()).map(|i| 2.0 * l[(i, i)].ln()).sum::<f64>();
    let quadratic = (y.transpose() * (&vy - &vx * &b))[(0, 0)];
    let constant = (n - p) as f64 * (2.0 * std::f64::consts::PI).ln();
    let l = -0.5 * (constant + log(llt.L()) + log(small.L()) + quadratic);
    (l, (0..p).map(|j| b[(j, 0)]).collect())
}

#[test]
fn weighted_records_have_the_likelihood_of_the_definition_and_its_top() {
    for seed in 1..4 {
        let case = crossed(seed, 70, 8, 5, [1.0, 0.6, 1.0]);
        let mut dice = Dice::new(seed);
        let weights: Vec<f64> = (0..70).map(|_| 0.2 + 4.0 * dice.unit()).collect();
        let found = with(&case, weights.clone(), &[]).unwrap();
        let at: Vec<f64> = found.variances.iter().map(|v| v.variance).collect();
        let (l, b) = dense(&case, &weights, &at);
        near(found.log_restricted_likelihood, l, 1e-8, "log-likelihood");
        for (t, b) in found.terms.iter().zip(b) {
            near(t.estimate, b, 1e-8, "coefficient");
        }
        // No variances near by are more likely.
        for k in 0..at.len() {
            for by in [0.97, 1.03] {
                let mut other = at.clone();
                other[k] = other[k] * by + if other[k] == 0.0 { 0.01 } else { 0.0 };
                assert!(dense(&case, &weights, &other).0 < l + 1e-9, "{k} {by}");
            }
        }
    }
}

#[test]
fn a_unit_of_the_weights_is_a_unit_of_the_residual_variance() {
    let case = crossed(4, 70, 8, 5, [1.0, 0.6, 1.0]);
    let mut dice = Dice::new(4);
    let weights: Vec<f64> = (0..70).map(|_| 0.2 + 4.0 * dice.unit()).collect();
    let a = with(&case, weights.clone(), &[]).unwrap();
    let b = with(&case, weights.iter().map(|w| 7.0 * w).collect(), &[]).unwrap();
    near(a.log_restricted_likelihood, b.log_restricted_likelihood, 1e-8, "log-likelihood");
    let (x, y) = (a.variance("residual").unwrap(), b.variance("residual").unwrap());
    near(7.0 * x, y, 1e-5 * y, "residual");
    near(a.variances[0].variance, b.variances[0].variance, 1e-5, "between levels");
    for (x, y) in a.levels.iter().zip(&b.levels) {
        near(x.estimate, y.estimate, 1e-5, "effect");
    }
}

#[test]
fn records_of_known_variance_are_pooled_as_in_a_summary_of_trials() {
    // Random-effects summary of trials: with given variances the mean is Σ y/(v + τ²) over
    // Σ 1/(v + τ²), in closed form.
    let mut dice = Dice::new(5);
    let n = 12;
    let v: Vec<f64> = (0..n).map(|_| 0.1 + dice.unit()).collect();
    let y: Vec<f64> = v.iter().map(|v| 1.0 + normal(&mut dice) * (v + 0.4f64).sqrt()).collect();
    let words = (0..n).map(|i| format!("t{i:02}")).collect();
    let frame =
        stats::model::Frame::new(n).with("trial", stats::model::Column::Words(words)).unwrap();
    let case = Case::of(y.clone(), &frame, &[], "trial");
    let weights: Vec<f64> = v.iter().map(|v| 1.0 / v).collect();
    let found = with(&case, weights.clone(), &[("trial", 0.4), ("residual", 1.0)]).unwrap();
    let whole: f64 = v.iter().map(|v| 1.0 / (v + 0.4)).sum();
    let mean = y.iter().zip(&v).map(|(y, v)| y / (v + 0.4)).sum::<f64>() / whole;
    near(found.terms[0].estimate, mean, 1e-12, "mean");
    near(found.terms[0].se, (1.0 / whole).sqrt(), 1e-12, "its error");
    for ((l, y), v) in found.levels.iter().zip(&y).zip(&v) {
        near(l.estimate, 0.4 / (0.4 + v) * (y - mean), 1e-12, "shrunk");
    }
    // The variance between trials alone is estimated as well: at its top the derivative is 0.
    let found = with(&case, weights, &[("residual", 1.0)]).unwrap();
    let t = found.variance("trial").unwrap();
    let l = |t: f64| dense(&case, &v.iter().map(|v| 1.0 / v).collect::<Vec<_>>(), &[t, 1.0]).0;
    near(found.log_restricted_likelihood, l(t), 1e-9, "log-likelihood");
    assert!(t == 0.0 || l(t) >= l(t * 1.02).max(l(t * 0.98)));
}

#[test]
fn odd_weights_are_refused() {
    let case = crossed(6, 40, 6, 4, [1.0, 0.6, 1.0]);
    for odd in [0.0, -1.0, f64::INFINITY] {
        let mut weights = vec![1.0; 40];
        weights[7] = odd;
        let e = with(&case, weights, &[]).unwrap_err();
        assert_eq!(e, MixedError::Weight { row: 8, value: odd });
    }
    let e = with(&case, vec![1.0; 3], &[]).unwrap_err();
    assert_eq!(e, MixedError::Weights { weights: 3, records: 40 });
}

#[test]
fn draws_have_the_mean_and_the_errors_of_the_predictions() {
    let crossed = crossed(7, 40, 5, 4, [1.0, 0.7, 1.0]);
    let (y, frame) = records("sleepstudy.csv", "Reaction");
    let slopes = Case::of(y, &frame, &["Days"], "Days|Subject");
    for (case, what) in [(crossed, "crossed"), (slopes, "slopes")] {
        let settings = Settings::default();
        let found = case.fit();
        let count = 4_000;
        let mut dice = Dice::new(8);
        let drawn =
            draws(&case.response, &case.fixed, &case.random, &settings, count, &mut dice).unwrap();
        let n = count as f64;
        let check = |column: &dyn Fn(usize) -> f64, mean: f64, variance: f64| {
            let sum: f64 = (0..count).map(column).sum();
            // Four standard errors.
            near(sum / n, mean, 4.0 * (variance / n).sqrt(), what);
            let square: f64 = (0..count).map(|d| (column(d) - mean).powi(2)).sum();
            near(square / n, variance, 4.0 * variance * (2.0 / n).sqrt(), what);
        };
        for (j, t) in found.terms.iter().enumerate() {
            check(&|d| drawn.terms[d][j], t.estimate, t.se * t.se);
        }
        for (j, l) in found.levels.iter().enumerate() {
            check(&|d| drawn.levels[d][j], l.estimate, l.pev);
        }
        let together: f64 = (0..count)
            .map(|d| {
                (drawn.terms[d][0] - found.terms[0].estimate)
                    * (drawn.terms[d][1] - found.terms[1].estimate)
            })
            .sum();
        let (c, a, b) = (found.covariance[0][1], found.covariance[0][0], found.covariance[1][1]);
        near(together / n, c, 4.0 * ((a * b + c * c) / n).sqrt(), "coefficients together");
    }
}

#[test]
fn how_often_each_is_the_best() {
    // Five candidates with means (1.2, .9, .8, .3, 0) and deviations (.5, .5, .5, .6, .2): by
    // integration ∫ φ(z)·Π Φ((mᵢ + sᵢ·z − mⱼ)/sⱼ) dz.
    let (m, s) = ([1.2, 0.9, 0.8, 0.3, 0.0], [0.5, 0.5, 0.5, 0.6, 0.2]);
    let mut dice = Dice::new(9);
    let n = 40_000;
    let drawn: Vec<Vec<f64>> =
        (0..n).map(|_| (0..5).map(|i| m[i] + s[i] * dice.normal()).collect()).collect();
    let found = chance_best(&["c"; 5], &drawn);
    near(found.iter().sum(), 1.0, 1e-12, "sum");
    for i in 0..5 {
        let h = 0.01;
        let exact: f64 = (-800..=800)
            .map(|k| {
                let z = f64::from(k) * h;
                let others = (0..5)
                    .filter(|j| *j != i)
                    .map(|j| stats::special::normal_cdf((m[i] + s[i] * z - m[j]) / s[j]));
                h * (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt()
                    * others.product::<f64>()
            })
            .sum();
        near(found[i], exact, 4.0 * (exact * (1.0 - exact) / n as f64).sqrt() + 1e-4, "chance");
    }
    // Groups are judged apart.
    assert_eq!(chance_best(&["a", "a", "b"], &[vec![1.0, 2.0, 0.0]]), [0.0, 1.0, 1.0]);
}
