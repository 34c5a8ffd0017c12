//! Crossed attempts: against sums over a fine grid, against a fit by another way, and in numbers
//! that the normal approximation must keep.

use proptest::prelude::*;
use stats::model::{Coefficient, Column, Frame, RandomSpec};
use stats::prior::{NormalPrior, SpreadPrior};
use stats::quadrature::GaussHermite;
use stats::random::Random;
use stats::success::{
    Batch, Beliefs, Crossed, CrossedBeliefs, CrossedTerm, Model, Place, SuccessError, Tried,
    crossed, logistic_small,
};

use crate::near;

fn half(scale: f64) -> SpreadPrior {
    SpreadPrior::HalfNormal { scale }
}

fn beliefs(seeds: usize, pollens: usize, pairs: usize) -> CrossedBeliefs {
    CrossedBeliefs {
        coefficients: vec![NormalPrior { mean: -1.0, sd: 1.0 }],
        terms: vec![
            CrossedTerm { name: "seed".to_owned(), levels: seeds, spread: half(1.0) },
            CrossedTerm { name: "pollen".to_owned(), levels: pollens, spread: half(0.7) },
        ],
        pairs,
        pair: half(0.7),
        batch: half(0.5),
    }
}

fn tried(seed: usize, pollen: usize, pair: usize, successes: u64, trials: u64) -> Tried {
    let place = Place { x: vec![1.0], levels: vec![Some(seed), Some(pollen)], pair: Some(pair) };
    Tried { successes, trials, place, counts: 1.0 }
}

fn chance(k: u64, n: u64, eta: f64) -> f64 {
    let p = 1.0 / (1.0 + (-eta).exp());
    p.powi(k as i32) * (1.0 - p).powi((n - k) as i32)
}

/// Mean and standard deviation of the log odds of a pair, of its rate, and ln of the marginal
/// likelihood without coefficients: one seed parent, one pollen parent, one pair; the four effects
/// add up to one normal variable, and the batch's is summed over inside.
fn one_pair(k: u64, n: u64) -> [f64; 3] {
    let median = |scale: f64| 0.674_489_750_196_08 * scale;
    let variance = 1.0 + median(1.0).powi(2) + 2.0 * median(0.7).powi(2);
    let rule = GaussHermite::new(60);
    let mut sums = [0.0; 4];
    for i in -4000..4000 {
        let eta = -1.0 + f64::from(i) * 0.003;
        let prior = (-0.5 * (eta + 1.0f64).powi(2) / variance).exp();
        let like = rule.expectation(eta, median(0.5), |e| chance(k, n, e));
        let w = prior * like;
        let rate = 1.0 / (1.0 + (-eta).exp());
        for (s, v) in sums.iter_mut().zip([1.0, eta, eta * eta, rate]) {
            *s += w * v;
        }
    }
    let mean = sums[1] / sums[0];
    [mean, (sums[2] / sums[0] - mean * mean).sqrt(), sums[3] / sums[0]]
}

#[test]
fn one_pair_agrees_with_a_fine_sum_also_where_nothing_or_everything_took() {
    for (k, n) in [(0, 1), (0, 15), (1, 4), (3, 12), (6, 6), (20, 60)] {
        let fit = crossed(&[tried(0, 0, 0, k, n)], &beliefs(1, 1, 1)).unwrap();
        let place = tried(0, 0, 0, 0, 0).place;
        let found = fit.predict(&place);
        let [mean, sd, rate] = one_pair(k, n);
        let (m, s) = found.log_odds();
        // A normal in place of a slightly bent curve: a tenth of the standard deviation.
        near(m, mean, 0.1 * sd, &format!("{k} of {n}, mean"));
        near(s, sd, 0.1 * sd, &format!("{k} of {n}, sd"));
        near(found.mean(), rate, 0.015, &format!("{k} of {n}, rate"));
        assert!(fit.spreads.iter().all(|s| s.fixed), "one level says nothing of a spread");
        assert!(fit.last_step < 1e-3);
    }
}

/// A small table of crosses with parents that differ.
fn table(seed: u64, parents: usize) -> Vec<Tried> {
    let mut random = Random::new(seed);
    let effects: Vec<f64> = (0..2 * parents).map(|_| 0.9 * random.normal()).collect();
    let mut out = Vec::new();
    for i in 0..parents {
        for j in 0..parents {
            if i == j || random.unit() < 0.4 {
                continue;
            }
            let eta = -0.8 + effects[i] + effects[parents + j] + 0.5 * random.normal();
            let trials = 2 + random.below(5) as u64;
            let successes = random.binomial(trials, 1.0 / (1.0 + (-eta).exp()));
            let pair = out.len();
            out.push(tried(i, j, pair, successes, trials));
        }
    }
    out
}

/// The other engine of small records: Laplace around modes, spreads on a lattice, draws. It has no
/// term for pairs here, since each pair has one row and its overdispersion is the same thing.
#[test]
fn agrees_with_the_fit_by_draws() {
    let rows = table(3, 7);
    let mut own = beliefs(7, 7, rows.len());
    // The batch of a pair with one batch is the pair: as good as none.
    own.batch = half(1e-3);
    own.pair = half(1e-3);
    let fit = crossed(&rows, &own).unwrap();
    let words = |k: usize| -> Vec<String> {
        rows.iter().map(|r| format!("p{}", r.place.levels[k].unwrap())).collect()
    };
    let frame = Frame::new(rows.len())
        .with("seed", Column::Words(words(0)))
        .unwrap()
        .with("pollen", Column::Words(words(1)))
        .unwrap();
    let batches: Vec<Batch> =
        rows.iter().map(|r| Batch { successes: r.successes, trials: r.trials }).collect();
    let model = Model {
        random: ["seed", "pollen"].iter().flat_map(|t| RandomSpec::read(t).unwrap()).collect(),
        ..Model::default()
    };
    let intercept = Coefficient { term: "(intercept)".to_owned(), level: None };
    let other = Beliefs {
        coefficients: vec![(intercept, NormalPrior { mean: -1.0, sd: 1.0 })],
        spreads: vec![("seed".to_owned(), half(1.0)), ("pollen".to_owned(), half(0.7))],
    };
    let small = logistic_small(&batches, &frame, &model, &other, None, 0.8, 1).unwrap();
    let (mean, sd) = fit.coefficient(0);
    let theirs = small.effects[0].summary;
    // Draws worth some hundreds: four standard errors, and as much for two approximations.
    let slack = 8.0 / small.effective.sqrt();
    near(mean, theirs.mean, slack.max(0.15) * theirs.sd, "intercept");
    near(sd, theirs.sd, 0.15 * theirs.sd, "its sd");
    for (t, spread) in small.spreads.iter().take(2).enumerate() {
        near(fit.spreads[t].mean, spread.summary.mean, 0.3 * spread.summary.sd, &spread.group);
        for level in &spread.levels {
            let k: usize = level.level[1..].parse().unwrap();
            let (m, s) = fit.level(t, k);
            near(m, level.estimate, 0.2 * level.se, &format!("{} {}", spread.group, level.level));
            near(s, level.se, 0.2 * level.se, &format!("{} {}, sd", spread.group, level.level));
        }
    }
}

fn tables() -> (CrossedBeliefs, Crossed) {
    let rows = table(5, 6);
    let own = beliefs(6, 6, rows.len());
    let fit = crossed(&rows, &own).unwrap();
    (own, fit)
}

#[test]
fn without_a_record_the_beliefs_come_back() {
    let mut own = beliefs(0, 0, 0);
    own.terms.clear();
    let fit = crossed(&[], &own).unwrap();
    let found = fit.predict(&Place { x: vec![1.0], ..Place::default() });
    let (mean, sd) = found.log_odds();
    near(mean, -1.0, 1e-9, "mean");
    near(sd, (1.0f64 + (0.674_489_750_196_08f64 * 0.7).powi(2)).sqrt(), 1e-9, "sd");
}

#[test]
fn an_untried_pair_is_less_sure_and_one_normal_says_nearly_the_same() {
    let (_, fit) = tables();
    let joined = fit.joined();
    let known = Place { x: vec![1.0], levels: vec![Some(0), Some(1)], pair: None };
    let strange = Place { x: vec![1.0], levels: vec![None, None], pair: None };
    let (a, b) = (fit.predict(&known), fit.predict(&strange));
    assert!(b.log_odds().1 > a.log_odds().1);
    for place in [&known, &strange] {
        let (m, s) = fit.predict(place).log_odds();
        let (jm, jv) = joined.untried(place);
        near(jm, m, 1e-9, "mean");
        near(jv.sqrt(), s, 1e-9, "sd");
    }
    let found = a.next_count(6, 0.8).unwrap();
    let none = a.chance(0, 6);
    near(found.at_least_one, 1.0 - none, 1e-6, "none of six");
    let sum: f64 = (0..=6).map(|k| a.chance(k, 6)).sum();
    near(sum, 1.0, 1e-6, "all counts");
    assert!(a.quantile(0.1) < a.mean() && a.mean() < a.quantile(0.9));
    near(a.under(a.quantile(0.3)), 0.3, 1e-6, "a share below its own quantile");
}

#[test]
fn what_would_teach_is_what_a_refit_finds() {
    let (own, fit) = tables();
    let joined = fit.joined();
    let places: Vec<Place> = (0..6)
        .flat_map(|i| {
            (0..6).map(move |j| Place { x: vec![1.0], levels: vec![Some(i), Some(j)], pair: None })
        })
        .collect();
    let teaches = joined.teaches(&places);
    // The slow way: write the one flower down as failed and as taken, fit again, add up variances.
    let rows = table(5, 6);
    let total = |fit: &Crossed| -> f64 {
        let joined = fit.joined();
        places.iter().map(|p| joined.untried(p).1).sum()
    };
    let before = total(&fit);
    let mut fell: Vec<f64> = Vec::new();
    for place in places.iter().step_by(5) {
        let p = fit.predict(place).mean();
        let mut after = 0.0;
        for (successes, chance) in [(0, 1.0 - p), (1, p)] {
            let mut more = rows.clone();
            let place = Place { pair: Some(own.pairs), ..place.clone() };
            more.push(Tried { successes, trials: 1, place, counts: 1.0 });
            let wider = CrossedBeliefs { pairs: own.pairs + 1, ..own.clone() };
            after += chance * total(&crossed(&more, &wider).unwrap());
        }
        fell.push(before - after);
    }
    // The order is what is used: it agrees but for near ties. The refit also moves the spreads.
    let quick: Vec<f64> = teaches.iter().step_by(5).copied().collect();
    let mut agree = 0;
    let mut pairs = 0;
    for i in 0..fell.len() {
        for j in 0..i {
            pairs += 1;
            agree += i32::from((fell[i] > fell[j]) == (quick[i] > quick[j]));
        }
    }
    assert!(f64::from(agree) >= 0.7 * f64::from(pairs), "{agree} of {pairs}: {fell:?} {quick:?}");
}

#[test]
fn what_cannot_be_is_refused() {
    let own = beliefs(1, 1, 1);
    let error = crossed(&[tried(0, 0, 0, 3, 2)], &own).unwrap_err();
    assert_eq!(error, SuccessError::TooManySuccesses { row: 1, successes: 3, trials: 2 });
    let bad = [tried(1, 0, 0, 0, 2), tried(0, 0, 1, 0, 2)];
    for row in bad {
        assert_eq!(crossed(&[row], &own).unwrap_err(), SuccessError::Place { row: 1 });
    }
    let mut wrong = own;
    wrong.coefficients[0].sd = 0.0;
    assert!(matches!(crossed(&[], &wrong), Err(SuccessError::Prior(_))));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    /// More success with the same trials never lowers the pair's rate, and the order in which the
    /// batches are written says nothing.
    #[test]
    fn more_success_is_more_and_order_is_nothing(seed in 0u64..1000, k in 0u64..5) {
        let mut rows = table(seed, 4);
        prop_assume!(rows.len() > 3);
        rows[0].trials = 6;
        let own = beliefs(4, 4, rows.len());
        let rate = |rows: &[Tried]| crossed(rows, &own).unwrap().predict(&rows[0].place).mean();
        rows[0].successes = k;
        let fewer = rate(&rows);
        let turned: Vec<Tried> = rows[1..].iter().rev().chain(&rows[..1]).cloned().collect();
        let again = crossed(&turned, &own).unwrap().predict(&rows[0].place).mean();
        prop_assert!((fewer - again).abs() < 1e-3, "{fewer} {again}");
        rows[0].successes = k + 1;
        prop_assert!(rate(&rows) > fewer);
    }
}
