//! Against the definition with dense matrices, and against the general mixed model.

use faer::{Mat, Side, linalg::solvers::Solve as _};
use proptest::prelude::*;
use stats::{
    mixed::{InverseRelation, Random, Settings, fit},
    model::{Fixed, RandomTerm},
    pedigree::{Effect, Options, PedigreeFit},
    random::Random as Dice,
};

use super::{Case, made, relationship, without_factor};
use crate::near;

/// What the definition says: V = σ²ₐ·Z·A·Zᵀ + σ²ₚ·W·Wᵀ + σ²·diag(1/w).
pub struct Dense {
    pub b: Vec<f64>,
    pub b_covariance: Mat<f64>,
    pub log_likelihood: f64,
    /// Breeding values, then lasting effects.
    pub u: Vec<f64>,
    /// Their prediction error covariance, and that given the coefficients.
    pub pev: Mat<f64>,
    pub conditional: Mat<f64>,
    /// Covariance of errors of effects and coefficients.
    pub across: Mat<f64>,
}

impl Dense {
    pub fn of(case: &Case) -> Dense {
        let (n, p, q) = (case.response.len(), case.fixed.width(), case.parents.len());
        let a = relationship(&case.parents);
        let lasting = case.permanent.as_ref();
        let levels = lasting.map_or(0, |l| *l.iter().max().unwrap() as usize + 1);
        let mut g = Mat::<f64>::zeros(q + levels, q + levels);
        for i in 0..q {
            for j in 0..q {
                g[(i, j)] = case.given.additive * a[i][j];
            }
        }
        (0..levels).for_each(|l| g[(q + l, q + l)] = case.given.permanent);
        let mut z = Mat::<f64>::zeros(n, q + levels);
        for r in 0..n {
            z[(r, case.individual[r] as usize)] = 1.0;
            if let Some(l) = lasting {
                z[(r, q + l[r] as usize)] = 1.0;
            }
        }
        let mut v = &z * &g * z.transpose();
        for r in 0..n {
            v[(r, r)] += case.given.residual / case.weights.as_ref().map_or(1.0, |w| w[r]);
        }
        let x = Mat::from_fn(n, p, |i, j| case.fixed.column(j)[i]);
        let y = Mat::from_fn(n, 1, |i, _| case.response[i]);
        let llt = v.llt(Side::Lower).unwrap();
        let (vx, vy) = (llt.solve(&x), llt.solve(&y));
        let small = (x.transpose() * &vx).llt(Side::Lower).unwrap();
        let b = small.solve(x.transpose() * &vy);
        let py = &vy - &vx * &b;
        let gz = &g * z.transpose();
        let u = &gz * &py;
        let conditional = &g - &gz * llt.solve(gz.transpose());
        let follow = &gz * &vx;
        let cov = small.solve(Mat::<f64>::identity(p, p));
        let across = &follow * &cov * faer::Scale(-1.0);
        let pev = &conditional + &follow * &cov * follow.transpose();
        let log =
            |l: faer::MatRef<'_, f64>| (0..l.nrows()).map(|i| 2.0 * l[(i, i)].ln()).sum::<f64>();
        let quadratic = (y.transpose() * &py)[(0, 0)];
        let constant = (n - p) as f64 * (2.0 * std::f64::consts::PI).ln();
        let log_likelihood = -0.5 * (constant + log(llt.L()) + log(small.L()) + quadratic);
        Dense {
            b: (0..p).map(|j| b[(j, 0)]).collect(),
            b_covariance: cov,
            log_likelihood,
            u: (0..q + levels).map(|i| u[(i, 0)]).collect(),
            pev,
            conditional,
            across,
        }
    }
}

/// Effects against the definition; the tolerance is that of closed forms on this scale.
fn compare(case: &Case) -> PedigreeFit {
    let (found, dense) = (case.fit(Options::default()), Dense::of(case));
    let q = case.parents.len();
    for (j, t) in found.terms.iter().enumerate() {
        near(t.estimate, dense.b[j], 1e-9, "coefficient");
        near(t.se, dense.b_covariance[(j, j)].sqrt(), 1e-9, "its error");
        for k in 0..found.terms.len() {
            near(found.covariance[j][k], dense.b_covariance[(j, k)], 1e-9, "covariance");
        }
    }
    near(found.log_restricted_likelihood.unwrap(), dense.log_likelihood, 1e-9, "log-likelihood");
    let each = found.additive.iter().chain(&found.permanent).enumerate();
    for (i, e) in each {
        near(e.estimate, dense.u[i], 1e-9, "effect");
        near(e.pev.unwrap(), dense.pev[(i, i)], 1e-9, "prediction error variance");
        near(e.conditional_sd.unwrap().powi(2), dense.conditional[(i, i)], 1e-9, "conditional");
        let variance = if i < q {
            case.given.additive * (1.0 + case.inbreeding[i])
        } else {
            case.given.permanent
        };
        near(e.reliability.unwrap(), 1.0 - dense.pev[(i, i)] / variance, 1e-9, "reliability");
    }
    assert_eq!(found.additive.len() + found.permanent.len(), dense.u.len());
    assert!(found.residual < 1e-12, "{}", found.residual);
    found
}

#[test]
fn everything_is_as_defined() {
    for seed in 1..6 {
        compare(&made(seed, 40, 60, 0, false));
        compare(&made(seed, 40, 60, 0, true));
        compare(&made(seed, 30, 70, 1, false));
        // Two plants of each individual, with a lasting effect each.
        compare(&made(seed, 30, 80, 2, true));
    }
    // No parents at all.
    let mut alone = made(9, 25, 60, 0, false);
    alone.parents = vec![[None; 2]; 25];
    alone.inbreeding = vec![0.0; 25];
    let found = compare(&alone);
    assert_eq!(found.fill, Some(0));
}

#[test]
fn the_general_model_says_the_same() {
    let case = made(11, 60, 90, 1, true);
    let found = case.fit(Options::default());
    let inverse = {
        let a = relationship(&case.parents);
        let n = a.len();
        let m = Mat::from_fn(n, n, |i, j| a[i][j]);
        let inverse = m.llt(Side::Lower).unwrap().solve(Mat::<f64>::identity(n, n));
        let cells = (0..n).flat_map(|j| (j..n).map(move |i| (i, j)));
        let triplets: Vec<_> = cells.map(|(i, j)| (i, j, inverse[(i, j)])).collect();
        InverseRelation::new(n, &triplets).unwrap()
    };
    let term = |name: &str, index: &[u32], levels: usize| RandomTerm {
        name: name.to_owned(),
        levels: (0..levels).map(|l| l.to_string()).collect(),
        index: index.to_vec(),
        members: 1,
        slope: None,
    };
    let permanent = case.permanent.as_ref().unwrap();
    let lasting = found.permanent.len();
    let random = [
        Random::related("additive", term("additive", &case.individual, 60), inverse),
        Random::independent(term("permanent", permanent, lasting)),
    ];
    let given = [("additive", case.given.additive), ("permanent", 0.7), ("residual", 2.1)];
    let given = given.map(|(n, v)| (n.to_owned(), v)).to_vec();
    let settings = Settings { given, weights: case.weights.clone(), ..Settings::default() };
    let general = fit(&case.response, &case.fixed, &random, &settings).unwrap();
    near(
        general.log_restricted_likelihood,
        found.log_restricted_likelihood.unwrap(),
        1e-9,
        "log-likelihood",
    );
    let each: Vec<&Effect> = found.additive.iter().chain(&found.permanent).collect();
    assert_eq!(each.len(), general.levels.len());
    for (e, l) in each.into_iter().zip(&general.levels) {
        near(e.estimate, l.estimate, 1e-9, &l.level);
        near(e.pev.unwrap(), l.pev, 1e-9, &l.level);
        near(e.conditional_sd.unwrap(), l.conditional_sd, 1e-8, &l.level);
        near(e.reliability.unwrap(), l.reliability.unwrap(), 1e-8, &l.level);
    }
}

#[test]
fn conjugate_gradients_reach_the_same() {
    for seed in 20..24 {
        let case = made(seed, 400, 700, 1, true);
        let (a, b) = (case.fit(Options::default()), case.fit(without_factor()));
        assert!(a.fill.is_some() && a.steps == 0 && b.fill.is_none() && b.steps > 0);
        assert!(b.residual <= 1e-10);
        assert!(b.log_restricted_likelihood.is_none());
        for (x, y) in
            a.additive.iter().chain(&a.permanent).zip(b.additive.iter().chain(&b.permanent))
        {
            near(x.estimate, y.estimate, 1e-8, "effect");
            assert_eq!((y.pev, y.conditional_sd, y.reliability), (None, None, None));
        }
        for (x, y) in a.terms.iter().zip(&b.terms) {
            near(x.estimate, y.estimate, 1e-8, "coefficient");
            near(x.se, y.se, 1e-8, "its error");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn reliabilities_are_shares(seed in any::<u64>(), n in 8usize..60) {
        let found = made(seed, n, 2 * n, (seed % 3) as usize, seed % 2 == 0).fit(Options::default());
        for e in found.additive.iter().chain(&found.permanent) {
            prop_assert!((0.0..=1.0).contains(&e.reliability.unwrap()));
            let sd = e.conditional_sd.unwrap();
            prop_assert!(sd * sd <= e.pev.unwrap() * (1.0 + 1e-9));
        }
    }

    #[test]
    fn numbering_individuals_otherwise_changes_nothing(seed in any::<u64>(), n in 8usize..60) {
        let case = made(seed, n, 2 * n, 1, true);
        let mut dice = Dice::new(seed ^ 5);
        let mut to: Vec<u32> = (0..n as u32).collect();
        (1..n).rev().for_each(|i| to.swap(i, dice.below(i + 1)));
        let mut other = case.clone();
        for (i, at) in to.iter().enumerate() {
            let at = *at as usize;
            other.parents[at] = case.parents[i].map(|p| p.map(|p| to[p as usize]));
            other.inbreeding[at] = case.inbreeding[i];
        }
        other.individual = case.individual.iter().map(|i| to[*i as usize]).collect();
        other.permanent = Some(other.individual.clone());
        let (a, b) = (case.fit(Options::default()), other.fit(Options::default()));
        let (l, m) = (a.log_restricted_likelihood.unwrap(), b.log_restricted_likelihood.unwrap());
        near(l, m, 1e-9, "log-likelihood");
        for (x, at) in a.additive.iter().zip(&to) {
            let y = b.additive[*at as usize];
            near(x.estimate, y.estimate, 1e-9, "effect");
            near(x.pev.unwrap(), y.pev.unwrap(), 1e-9, "prediction error variance");
        }
    }

    #[test]
    fn a_weight_is_a_number_of_equal_records(seed in any::<u64>()) {
        let mut one = made(seed, 20, 40, 1, false);
        let mut dice = Dice::new(seed ^ 6);
        let times: Vec<usize> = (0..40).map(|_| 1 + dice.below(3)).collect();
        one.weights = Some(times.iter().map(|t| *t as f64).collect());
        let rows: Vec<usize> =
            times.iter().enumerate().flat_map(|(r, t)| std::iter::repeat_n(r, *t)).collect();
        // The intercept is there already.
        let columns = (1..one.fixed.width()).map(|j| {
            let column = rows.iter().map(|r| one.fixed.column(j)[*r]).collect();
            (format!("x{j}"), column)
        });
        let fixed = Fixed::of_columns(rows.len(), columns).unwrap();
        let mut many = one.clone();
        many.weights = None;
        many.response = rows.iter().map(|r| one.response[*r]).collect();
        many.individual = rows.iter().map(|r| one.individual[*r]).collect();
        many.permanent = Some(rows.iter().map(|r| one.permanent.as_ref().unwrap()[*r]).collect());
        many.fixed = fixed;
        let (a, b) = (one.fit(Options::default()), many.fit(Options::default()));
        for (x, y) in a.additive.iter().chain(&a.permanent).zip(b.additive.iter().chain(&b.permanent)) {
            near(x.estimate, y.estimate, 1e-9, "effect");
            near(x.pev.unwrap(), y.pev.unwrap(), 1e-9, "prediction error variance");
        }
    }
}
