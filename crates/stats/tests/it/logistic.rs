//! Logistic models with random effects against lme4, against published figures, and against slow and
//! obvious versions.

use proptest::prelude::*;
use serde_json::Value;
use stats::model::{Column, Frame, RandomSpec, Term};
use stats::random::Random;
use stats::success::{Batch, Logistic, Model, SuccessError, logistic};

use crate::{json, near, path};

/// Columns of a reference file, batches taken from two of them; all but `numeric` are words.
fn table(file: &str, successes: &str, trials: &str, numeric: &[&str]) -> (Vec<Batch>, Frame) {
    let mut reader = csv::Reader::from_path(path(file)).unwrap();
    let header: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let column = |name: &str| {
        let at = header.iter().position(|h| h == name).unwrap();
        rows.iter().map(|r| r[at].to_owned()).collect::<Vec<_>>()
    };
    let counts = |name: &str| column(name).iter().map(|c| c.parse().unwrap()).collect::<Vec<u64>>();
    let batches = counts(successes).into_iter().zip(counts(trials));
    let batches = batches.map(|(successes, trials)| Batch { successes, trials }).collect();
    let mut frame = Frame::new(rows.len());
    for name in &header {
        let words = column(name);
        let column = if numeric.contains(&name.as_str()) {
            Column::Numbers(words.iter().map(|w| w.parse().unwrap()).collect())
        } else {
            Column::Words(words)
        };
        frame = frame.with(name, column).unwrap();
    }
    (batches, frame)
}

fn model(terms: &[&str], random: &[&str]) -> Model {
    Model {
        terms: Term::read_all(terms).unwrap(),
        random: random.iter().flat_map(|r| RandomSpec::read(r).unwrap()).collect(),
        ..Model::default()
    }
}

/// Compares with a reference, coefficients in the order of the model.
fn agree(found: &Logistic, reference: &Value) {
    let tolerance = reference["tolerance"]["abs"].as_f64().unwrap();
    agree_within(found, reference, tolerance);
}

/// The same with another tolerance for the standard errors of fixed effects.
fn agree_within(found: &Logistic, reference: &Value, of_errors: f64) {
    let tolerance = reference["tolerance"]["abs"].as_f64().unwrap();
    let expected = &reference["expected"];
    let values = |what: &str| -> Vec<f64> {
        let object = expected[what].as_object();
        object.map_or(Vec::new(), |o| o.values().map(|v| v.as_f64().unwrap()).collect())
    };
    let estimates = values("fixef");
    assert_eq!(found.effects.len(), estimates.len());
    for (effect, expected) in found.effects.iter().zip(estimates) {
        near(effect.estimate, expected, tolerance, &effect.coefficient.label());
    }
    for (effect, expected) in found.effects.iter().zip(values("fixef_se")) {
        near(effect.se.unwrap(), expected, of_errors, &effect.coefficient.label());
    }
    for spread in &found.spreads {
        let sd = expected["re_sd"][&spread.group].as_f64().unwrap();
        near(spread.sd, sd, tolerance, &spread.group);
        let Some(levels) = expected["ranef"][&spread.group].as_array() else { continue };
        assert_eq!(levels.len(), spread.levels.len());
        for (mode, level) in spread.levels.iter().zip(levels) {
            assert_eq!(mode.level, level["level"].as_str().unwrap());
            near(mode.estimate, level["mode"].as_f64().unwrap(), tolerance, &mode.level);
            near(mode.se, level["cond_sd"].as_f64().unwrap(), tolerance, &mode.level);
        }
    }
    let tolerance = reference["tolerance"]["logLik_abs"].as_f64().unwrap();
    near(found.log_likelihood, expected["logLik"].as_f64().unwrap(), tolerance, "log-likelihood");
    assert!(found.gradient_norm < 1e-4, "{}", found.gradient_norm);
}

#[test]
fn contagious_disease_of_cattle_by_laplace_and_by_nine_nodes() {
    let (batches, frame) = table("cbpp.csv", "incidence", "size", &[]);
    let mut m = model(&["period"], &["herd"]);
    // The reference stops its inner iterations after two steps, where the curvature lags one step behind
    // the mode (see `two_steps.rs`): its standard errors are 0.0013 to 0.0054 smaller than those of
    // Laplace's approximation, which lie within 0.0012 of its own with nine nodes.
    let found = logistic(&batches, &frame, &m).unwrap();
    agree_within(&found, &json("cbpp_nagq1.json"), 0.006);
    m.nodes = 9;
    let nine = logistic(&batches, &frame, &m).unwrap();
    agree(&nine, &json("cbpp_nagq9.json"));
    for (laplace, nine) in found.effects.iter().zip(&nine.effects) {
        near(laplace.se.unwrap(), nine.se.unwrap(), 0.0012, "standard errors of the two methods");
    }
}

#[test]
fn the_figures_printed_in_the_help_of_the_reference_library() {
    // lme4's help page of glmer prints (Laplace) −1.3983, −0.9919, −1.1282, −1.5797 with standard errors
    // 0.2312, 0.3032, 0.3228, 0.4220 and standard deviation 0.6421 (from memory).
    let (batches, frame) = table("cbpp.csv", "incidence", "size", &[]);
    let found = logistic(&batches, &frame, &model(&["period"], &["herd"])).unwrap();
    let printed = [(-1.3983, 0.2312), (-0.9919, 0.3032), (-1.1282, 0.3228), (-1.5797, 0.4220)];
    for (effect, (estimate, se)) in found.effects.iter().zip(printed) {
        // Its two inner steps: see `two_steps.rs`.
        near(effect.estimate, estimate, 0.0007, "estimate");
        near(effect.se.unwrap(), se, 0.006, "standard error");
    }
    near(found.spreads[0].sd, 0.6421, 0.0003, "herd");
}

#[test]
fn fruit_set_with_crossed_parents() {
    let (batches, frame) = table("gca_crossed_open.csv", "fruit", "pollinations", &["humid"]);
    let m = model(&["humid"], &["seed_parent", "pollen_parent"]);
    agree(&logistic(&batches, &frame, &m).unwrap(), &json("gca_crossed_open.json"));
}

#[test]
fn seeds_on_twenty_one_plates() {
    let numeric = ["seed", "extract", "interaction"];
    let (batches, frame) = table("crowder_seeds.csv", "germinated", "sown", &numeric);
    let mut m = model(&numeric, &["plate"]);
    m.nodes = 61;
    let exact = logistic(&batches, &frame, &m).unwrap();
    agree(&exact, &json("crowder_seeds.json"));
    // Breslow & Clayton 1993 (JASA 88:9–25) print as maximum likelihood −0.548 (0.167), 0.097 (0.278),
    // 1.337 (0.237), −0.811 (0.385), σ 0.236 (from memory).
    let printed = [(-0.548, 0.167), (0.097, 0.278), (1.337, 0.237), (-0.811, 0.385)];
    for (effect, (estimate, se)) in exact.effects.iter().zip(printed) {
        near(effect.estimate, estimate, 0.0006, "estimate");
        near(effect.se.unwrap(), se, 0.0006, "standard error");
    }
    near(exact.spreads[0].sd, 0.236, 0.0006, "plate");
    // One plate a row: the same as overdispersion.
    let mut rows = model(&numeric, &[]);
    rows.overdispersion = true;
    rows.nodes = 61;
    let same = logistic(&batches, &frame, &rows).unwrap();
    near(same.log_likelihood, exact.log_likelihood, 1e-9, "overdispersion");
    assert_eq!(same.spreads[0].group, "(row)");
}

#[test]
fn the_interaction_written_as_a_term_is_the_column_of_products() {
    let (batches, frame) = table("crowder_seeds.csv", "germinated", "sown", &["interaction"]);
    let a = logistic(&batches, &frame, &model(&["seed", "extract", "seed:extract"], &["plate"]));
    let (batches, frame) =
        table("crowder_seeds.csv", "germinated", "sown", &["seed", "extract", "interaction"]);
    let b = logistic(&batches, &frame, &model(&["seed", "extract", "interaction"], &["plate"]));
    let (a, b) = (a.unwrap(), b.unwrap());
    near(a.log_likelihood, b.log_likelihood, 1e-8, "log-likelihood");
    near(a.effects[3].estimate, b.effects[3].estimate, 1e-5, "interaction");
}

/// Batches of crossed and nested groups with true effects.
fn crossed(seed: u64, n: usize) -> (Vec<Batch>, Frame) {
    let mut random = Random::new(seed);
    let mut normal = move || stats::special::normal_quantile(random.unit().max(1e-12));
    let effects: Vec<f64> = (0..12).map(|_| 0.8 * normal()).collect();
    let mut random = Random::new(seed + 1);
    let (mut batches, mut g, mut h, mut x) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for _ in 0..n {
        let (a, b) = (random.below(7), random.below(5));
        let number = (8.0 * random.unit()).round() / 4.0 - 1.0;
        let eta = -0.3 + 0.5 * number + effects[a] + effects[7 + b];
        let trials = 3 + random.below(12) as u64;
        let p = 1.0 / (1.0 + (-eta).exp());
        let successes = (0..trials).filter(|_| random.unit() < p).count() as u64;
        batches.push(Batch { successes, trials });
        g.push(format!("g{a}"));
        h.push(format!("h{b}"));
        x.push(number);
    }
    let frame = Frame::new(n).with("g", Column::Words(g)).unwrap();
    let frame = frame.with("h", Column::Words(h)).unwrap();
    (batches, frame.with("x", Column::Numbers(x)).unwrap())
}

fn permuted(batches: &[Batch], frame: &Frame, order: &[usize]) -> (Vec<Batch>, Frame) {
    let mut out = Frame::new(order.len());
    for name in ["g", "h", "x"] {
        out = out
            .with(
                name,
                match frame.column(name).unwrap() {
                    Column::Numbers(v) => Column::Numbers(order.iter().map(|i| v[*i]).collect()),
                    Column::Words(v) => {
                        Column::Words(order.iter().map(|i| v[*i].clone()).collect())
                    }
                },
            )
            .unwrap();
    }
    (order.iter().map(|i| batches[*i]).collect(), out)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]

    #[test]
    fn rows_in_another_order_and_rows_split_into_single_trials_say_the_same(seed in 0u64..500) {
        let (batches, frame) = crossed(seed, 40);
        let m = model(&["x"], &["g", "h"]);
        let Ok(found) = logistic(&batches, &frame, &m) else { return Ok(()) };
        let mut order: Vec<usize> = (0..40).collect();
        let mut random = Random::new(seed);
        for i in (1..40).rev() {
            order.swap(i, random.below(i + 1));
        }
        let (other, shuffled) = permuted(&batches, &frame, &order);
        let again = logistic(&other, &shuffled, &m).unwrap();
        near(again.log_likelihood, found.log_likelihood, 1e-7, "order");
        let single: Vec<usize> =
            (0..40).flat_map(|i| vec![i; batches[i].trials as usize]).collect();
        let (mut ones, split) = permuted(&batches, &frame, &single);
        let mut left: Vec<u64> = batches.iter().map(|b| b.successes).collect();
        for (one, i) in ones.iter_mut().zip(&single) {
            let successes = u64::from(left[*i] > 0);
            left[*i] -= successes;
            *one = Batch { successes, trials: 1 };
        }
        let bernoulli = logistic(&ones, &split, &m).unwrap();
        for other in [&again, &bernoulli] {
            for (a, b) in other.effects.iter().zip(&found.effects) {
                near(a.estimate, b.estimate, 1e-4, "estimate");
                near(a.se.unwrap(), b.se.unwrap(), 1e-4, "standard error");
            }
            for (a, b) in other.spreads.iter().zip(&found.spreads) {
                near(a.sd, b.sd, 1e-4, "spread");
            }
        }
    }

    #[test]
    fn levels_lie_between_their_raw_share_and_the_mean(seed in 0u64..500) {
        let (batches, frame) = crossed(seed, 60);
        let Ok(found) = logistic(&batches, &frame, &model(&[], &["g"])) else { return Ok(()) };
        let Column::Words(groups) = frame.column("g").unwrap() else { panic!("words") };
        for mode in &found.spreads[0].levels {
            let rows = groups.iter().zip(&batches).filter(|(g, _)| **g == mode.level);
            let (k, n) = rows.fold((0, 0), |(k, n), (_, b)| (k + b.successes, n + b.trials));
            let raw = (k as f64 / (n - k) as f64).ln() - found.effects[0].estimate;
            let shrunk = mode.estimate;
            prop_assert!(shrunk * raw >= 0.0 && shrunk.abs() <= raw.abs() + 1e-9, "{shrunk} {raw}");
        }
    }
}

#[test]
fn both_sides_of_a_cross_share_one_effect_of_each_parent() {
    // A plant gives the same push whether it bears or sires: with mm() the pair in the other order is
    // the same pair.
    let parents = ["Ada", "Bodil", "Cleo", "Dag"];
    let (mut batches, mut a, mut b) = (Vec::new(), Vec::new(), Vec::new());
    let push: [f64; 4] = [0.9, 0.2, -0.4, -0.8];
    for i in 0..4 {
        for j in 0..4 {
            if i != j {
                let p: f64 = 1.0 / (1.0 + (0.3 - push[i] - push[j]).exp());
                batches.push(Batch { successes: (40.0 * p).round() as u64, trials: 40 });
                a.push(parents[i].to_owned());
                b.push(parents[j].to_owned());
            }
        }
    }
    let frame = |a: &[String], b: &[String]| {
        let frame = Frame::new(12).with("seed", Column::Words(a.to_vec())).unwrap();
        frame.with("pollen", Column::Words(b.to_vec())).unwrap()
    };
    let m = model(&[], &["mm(seed,pollen)"]);
    let found = logistic(&batches, &frame(&a, &b), &m).unwrap();
    let turned = logistic(&batches, &frame(&b, &a), &m).unwrap();
    near(found.log_likelihood, turned.log_likelihood, 1e-8, "turned");
    assert_eq!(found.spreads[0].levels.len(), 4);
    let order: Vec<f64> = found.spreads[0].levels.iter().map(|l| l.estimate).collect();
    assert!(order.windows(2).all(|w| w[0] > w[1]), "{order:?}");
    // Its predictor is the sum of both effects.
    let new = Frame::new(1).with("seed", Column::Words(vec!["Ada".into()])).unwrap();
    let new = new.with("pollen", Column::Words(vec!["Dag".into()])).unwrap();
    let rate = found.rates(&new, 0.8).unwrap()[0];
    near(rate.log_odds, found.effects[0].estimate + order[0] + order[3], 1e-9, "sum");
}

#[test]
fn separation_is_named() {
    let words = |w: &[&str]| Column::Words(w.iter().map(|s| (*s).to_owned()).collect());
    let batch = |(successes, trials)| Batch { successes, trials };
    // All cuttings in sand failed: quasi-complete.
    let mixes = words(&["bark", "bark", "moss", "moss", "sand", "sand"]);
    let shelves = words(&["a", "b", "a", "b", "a", "b"]);
    let frame = Frame::new(6).with("mix", mixes).unwrap().with("shelf", shelves).unwrap();
    let some = [(3, 5), (2, 6), (4, 7), (1, 4), (0, 5), (0, 8)].map(batch);
    let error = logistic(&some, &frame, &model(&["mix"], &["shelf"])).unwrap_err();
    assert!(error.is_unfinished());
    assert_eq!(
        error.to_string(),
        "mix = sand separates success from failure: 0 of 13 trials succeeded there, so its effect has \
         no finite estimate; leave it out, join its levels, or give a prior"
    );
    // The reference level itself.
    let first = [(0, 5), (0, 6), (4, 7), (1, 4), (2, 5), (3, 8)].map(batch);
    match logistic(&first, &frame, &model(&["mix"], &[])).unwrap_err() {
        SuccessError::Separation { term, level, complete, .. } => {
            assert_eq!((term.as_str(), level.as_deref()), ("mix", Some("bark")));
            assert!(!complete);
        }
        other => panic!("{other}"),
    }
    // A number that tells every outcome: complete.
    let heat = Column::Numbers(vec![1.0, 2.0, 3.0, 4.0, 5.0, 6.0]);
    let frame = frame.with("heat", heat).unwrap();
    let told = [(0, 2), (0, 3), (0, 1), (2, 2), (3, 3), (1, 1)].map(batch);
    match logistic(&told, &frame, &model(&["heat"], &[])).unwrap_err() {
        SuccessError::Separation { term, level, complete, .. } => {
            assert_eq!((term.as_str(), level), ("heat", None));
            assert!(complete);
        }
        other => panic!("{other}"),
    }
    // One exception, and there is an estimate.
    let nearly = [(0, 2), (1, 3), (0, 1), (2, 2), (2, 3), (1, 1)].map(batch);
    assert!(logistic(&nearly, &frame, &model(&["heat"], &[])).is_ok());
    // Nothing ever rooted.
    let none = [(0, 2); 6].map(batch);
    match logistic(&none, &frame, &model(&[], &["shelf"])).unwrap_err() {
        SuccessError::Separation { term, successes, trials, complete, .. } => {
            assert_eq!((term.as_str(), successes, trials, complete), ("(intercept)", 0, 12, true));
        }
        other => panic!("{other}"),
    }
    // A combination of two levels that no single one shows.
    let a = words(&["p", "p", "q", "q", "p", "q"]);
    let b = words(&["u", "v", "u", "v", "u", "v"]);
    let frame = Frame::new(6).with("a", a).unwrap().with("b", b).unwrap();
    let cell = [(0, 4), (2, 4), (3, 5), (2, 5), (0, 2), (1, 3)].map(batch);
    let error = logistic(&cell, &frame, &model(&["a", "b", "a:b"], &[])).unwrap_err();
    assert!(matches!(error, SuccessError::Separation { .. }), "{error}");
}

#[test]
fn spreads_that_run_away_or_are_none() {
    // Each shelf is all or nothing, by the hundred: the spread has no bound.
    let shelf: Vec<String> = (0..12).map(|i| format!("s{}", i % 6)).collect();
    let frame = Frame::new(12).with("shelf", Column::Words(shelf)).unwrap();
    let all_or_nothing: Vec<Batch> =
        (0..12).map(|i| Batch { successes: 500 * (i % 2), trials: 500 }).collect();
    let error = logistic(&all_or_nothing, &frame, &model(&[], &["shelf"])).unwrap_err();
    assert!(matches!(error, SuccessError::Unbounded { .. }), "{error}");
    assert!(error.is_unfinished());
    // All alike: a spread of 0, on the boundary, without a standard error, and its test says p = 1.
    let alike: Vec<Batch> = (0..12).map(|i| Batch { successes: 4 + i / 6, trials: 10 }).collect();
    let mut m = model(&[], &["shelf"]);
    m.test_spread = true;
    let found = logistic(&alike, &frame, &m).unwrap();
    let spread = &found.spreads[0];
    assert!(spread.boundary && spread.sd == 0.0 && spread.se.is_none());
    assert!(spread.levels.iter().all(|l| l.estimate == 0.0 && l.se == 0.0));
    near(spread.test.unwrap().chi_square, 0.0, 1e-8, "statistic");
    assert!(spread.test.unwrap().p >= 0.499);
    // Herds differ: half of the tail of one degree of freedom.
    let (batches, frame) = table("cbpp.csv", "incidence", "size", &[]);
    let mut m = model(&["period"], &["herd"]);
    m.test_spread = true;
    let test = logistic(&batches, &frame, &m).unwrap().spreads[0].test.unwrap();
    let plain = logistic(&batches, &frame, &model(&["period"], &[])).unwrap();
    near(test.chi_square, 2.0 * (-92.0262818647571 - plain.log_likelihood), 1e-6, "statistic");
    near(test.p, 0.5 * stats::special::chi_square_tail(test.chi_square, 1), 1e-12, "p");
}

#[test]
fn rates_and_the_next_count() {
    let (batches, frame) = table("cbpp.csv", "incidence", "size", &[]);
    let found = logistic(&batches, &frame, &model(&["period"], &["herd"])).unwrap();
    let words = |w: &[&str]| Column::Words(w.iter().map(|s| (*s).to_owned()).collect());
    let new = Frame::new(2).with("period", words(&["2", "2"])).unwrap();
    let new = new.with("herd", words(&["7", "a new one"])).unwrap();
    let rates = found.rates(&new, 0.9).unwrap();
    let eta = found.effects[0].estimate + found.effects[1].estimate;
    near(
        rates[0].log_odds,
        eta + found.spreads[0].levels[6].estimate,
        1e-9,
        "a herd that is known",
    );
    near(rates[1].log_odds, eta, 1e-9, "one that is not");
    let sd = found.spreads[0].sd;
    assert!(rates[1].sd > sd, "{} is not above the spread {sd}", rates[1].sd);
    for rate in &rates {
        assert!(rate.lower < rate.estimate && rate.estimate < rate.upper);
        let (few, many) = (rate.next_count(5, 0.9).unwrap(), rate.next_count(50, 0.9).unwrap());
        near(many.expected, 50.0 * rate.estimate, 1e-9, "expected");
        assert!(few.lower <= few.upper && many.upper <= 50);
        assert!(many.at_least_one > few.at_least_one);
    }
    // With no uncertainty of the rate: the binomial quantiles of 10 at one half, P(K ≤ 1) = 11/1024 and
    // P(K ≤ 2) = 56/1024.
    let sure = stats::success::next_count(&[(0.0, 0.0, 1.0)], 10, 0.9).unwrap();
    assert_eq!((sure.lower, sure.upper), (2, 8));
    near(sure.at_least_one, 1.0 - 0.5f64.powi(10), 1e-12, "one");
    let unknown = found.rates(&Frame::new(1).with("period", words(&["9"])).unwrap(), 0.9);
    assert!(matches!(unknown, Err(SuccessError::Model(_))));
    assert_eq!(found.rates(&new, 90.0), Err(SuccessError::Confidence(90.0)));
}

/// The variance of a predictor against a likelihood in which that predictor is the coefficient.
#[test]
fn the_error_of_a_mean_does_not_depend_on_how_it_is_coded() {
    let (batches, frame) = table("cbpp.csv", "incidence", "size", &[]);
    let found = logistic(&batches, &frame, &model(&["period"], &["herd"])).unwrap();
    let turned = frame.clone().reference("period", "3");
    let other = logistic(&batches, &turned, &model(&["period"], &["herd"])).unwrap();
    let words = |w: &str| Column::Words(vec![w.to_owned()]);
    let new = Frame::new(1).with("period", words("3")).unwrap().with("herd", words("?")).unwrap();
    let rate = found.rates(&new, 0.9).unwrap()[0];
    let variance = rate.sd.powi(2) - found.spreads[0].sd.powi(2);
    near(variance.sqrt(), other.effects[0].se.unwrap(), 1e-5, "standard error of period 3");
}

#[test]
fn slopes_and_nesting() {
    let (batches, frame) = crossed(77, 120);
    let slope = logistic(&batches, &frame, &model(&["x"], &["x|g"])).unwrap();
    let plain = logistic(&batches, &frame, &model(&["x"], &["g"])).unwrap();
    assert!(slope.log_likelihood >= plain.log_likelihood - 1e-7);
    let part = slope.spreads[0].slope.as_ref().unwrap();
    assert!(part.sd >= 0.0 && part.correlation.is_none_or(|c| c.abs() <= 1.0 + 1e-12));
    let nested = logistic(&batches, &frame, &model(&["x"], &["g/h"])).unwrap();
    let names: Vec<&str> = nested.spreads.iter().map(|s| s.group.as_str()).collect();
    assert_eq!(names, ["g", "g:h"]);
    assert!(nested.log_likelihood >= plain.log_likelihood - 1e-7);
}

#[test]
fn what_cannot_be_is_refused() {
    let (batches, frame) = crossed(1, 10);
    let mut bad = batches.clone();
    bad[3] = Batch { successes: 9, trials: 4 };
    assert_eq!(
        logistic(&bad, &frame, &model(&[], &["g"])).unwrap_err(),
        SuccessError::TooManySuccesses { row: 4, successes: 9, trials: 4 }
    );
    let empty = vec![Batch { successes: 0, trials: 0 }; 10];
    let error = logistic(&empty, &frame, &model(&[], &[])).unwrap_err();
    assert_eq!(error, SuccessError::NoTrials);
    let error = logistic(&batches[..9], &frame, &model(&[], &[])).unwrap_err();
    assert_eq!(error, SuccessError::Lengths { batches: 9, rows: 10 });
    let one = frame.clone().with("g", Column::Words(vec!["only".into(); 10])).unwrap();
    let error = logistic(&batches, &one, &model(&[], &["g"])).unwrap_err();
    assert!(matches!(error, SuccessError::OneLevel { .. }));
    let mut two = model(&[], &["g", "h"]);
    two.nodes = 5;
    assert!(matches!(logistic(&batches, &frame, &two).unwrap_err(), SuccessError::Fit(_)));
    let double = frame.with(
        "y",
        match crossed(1, 10).1.column("x").unwrap() {
            Column::Numbers(v) => Column::Numbers(v.iter().map(|x| 2.0 * x).collect()),
            Column::Words(_) => panic!("numbers"),
        },
    );
    let error = logistic(&batches, &double.unwrap(), &model(&["x", "y"], &[])).unwrap_err();
    assert!(error.to_string().contains("singular design"), "{error}");
}
