//! Fits with priors: against brute-force integration, and calibrated by simulation.

use stats::model::{Coefficient, Column, Frame, RandomSpec, Term};
use stats::prior::{NormalPrior, PriorError, SpreadPrior};
use stats::quadrature::GaussHermite;
use stats::random::Random;
use stats::special::normal_quantile;
use stats::success::{Batch, Beliefs, Model, Small, SuccessError, logistic_small};

use crate::near;

fn intercept() -> Coefficient {
    Coefficient { term: "(intercept)".to_owned(), level: None }
}

fn groups(of: &[usize]) -> Frame {
    let words = of.iter().map(|g| format!("g{g}")).collect();
    Frame::new(of.len()).with("g", Column::Words(words)).unwrap()
}

fn by_group(nodes: usize) -> Model {
    Model { random: RandomSpec::read("g").unwrap(), nodes, ..Model::default() }
}

fn beliefs(spread: SpreadPrior) -> Beliefs {
    let normal = NormalPrior { mean: -0.5, sd: 1.0 };
    Beliefs { coefficients: vec![(intercept(), normal)], spreads: vec![("g".to_owned(), spread)] }
}

fn fit(batches: &[Batch], frame: &Frame, spread: SpreadPrior, nodes: usize) -> Small {
    logistic_small(batches, frame, &by_group(nodes), &beliefs(spread), None, 0.8, 1).unwrap()
}

fn binomial(k: u64, n: u64, eta: f64) -> f64 {
    let p = 1.0 / (1.0 + (-eta).exp());
    p.powi(k as i32) * (1.0 - p).powi((n - k) as i32)
}

/// Posterior means and standard deviations of the intercept and the spread, and the mean effect of the
/// first level, by sums over a fine grid with 40 nodes for each level.
fn brute(batches: &[Batch], of: &[usize], spread: SpreadPrior) -> [f64; 5] {
    let rule = GaussHermite::new(40);
    let levels = of.iter().max().unwrap() + 1;
    let mut sums = [0.0; 6];
    for i in 0..160 {
        let beta = -0.5 + (f64::from(i) - 79.5) * 0.0625;
        let prior = (-0.5 * (beta + 0.5f64).powi(2)).exp();
        for j in 0..200 {
            let sd = (f64::from(j) + 0.5) * 0.03;
            let mut w = prior * spread.log_density(sd).0.exp();
            let mut first = 0.0;
            for level in 0..levels {
                let (mut whole, mut moment) = (0.0, 0.0);
                for (x, weight) in rule.nodes.iter().zip(&rule.weights) {
                    let rows = batches.iter().zip(of).filter(|(_, g)| **g == level);
                    let like: f64 =
                        rows.map(|(b, _)| binomial(b.successes, b.trials, beta + sd * x)).product();
                    whole += weight * like;
                    moment += weight * like * sd * x;
                }
                if level == 0 {
                    first = moment / whole;
                }
                w *= whole;
            }
            for (sum, v) in sums.iter_mut().zip([1.0, beta, beta * beta, sd, sd * sd, first]) {
                *sum += w * v;
            }
        }
    }
    let [w, b, bb, s, ss, first] = sums;
    let (b, s) = (b / w, s / w);
    [b, (bb / w - b * b).sqrt(), s, (ss / w - s * s).sqrt(), first / w]
}

#[test]
fn agrees_with_brute_force_where_a_maximum_would_collapse() {
    let of = [0, 0, 1, 1, 2, 2];
    let cases = [
        // All alike: the likelihood has its maximum at no spread.
        ([(2, 5), (2, 5), (2, 5), (2, 5), (2, 5), (2, 5)], SpreadPrior::HalfNormal { scale: 1.0 }),
        ([(0, 4), (0, 3), (2, 6), (3, 5), (1, 4), (2, 3)], SpreadPrior::HalfNormal { scale: 0.7 }),
        (
            [(0, 4), (0, 3), (4, 4), (5, 5), (1, 4), (2, 3)],
            SpreadPrior::Gamma { shape: 2.0, rate: 2.0 },
        ),
    ];
    for (counts, spread) in cases {
        let batches = counts.map(|(successes, trials)| Batch { successes, trials });
        let expected = brute(&batches, &of, spread);
        let found = fit(&batches, &groups(&of), spread, 15);
        assert!(found.effective > 400.0, "{}", found.effective);
        let (effect, sd) = (&found.effects[0].summary, &found.spreads[0].summary);
        let first = &found.spreads[0].levels[0];
        let values = [effect.mean, effect.sd, sd.mean, sd.sd, first.estimate];
        let names = ["intercept", "its sd", "spread", "its sd", "first level"];
        // Some 1,000 independent draws: four standard errors of a mean are an eighth of the sd; the
        // mirrored draws do better. A level's effect is a mode given the rest, its mean in the sum.
        let scale = [expected[1], expected[1], expected[3], expected[3], expected[3]];
        for ((value, name), (e, s)) in values.iter().zip(names).zip(expected.iter().zip(scale)) {
            near(*value, *e, 0.12 * s, &format!("{name}, {spread:?}"));
        }
        assert!(sd.mean > 0.1, "the spread collapsed to {}", sd.mean);
        assert!(effect.lower < effect.mean && effect.mean < effect.upper);
    }
}

#[test]
fn the_same_records_give_the_same_answer_and_a_rate_comes_with_its_interval() {
    let of = [0, 1, 2, 3];
    let batches = [(0, 4), (1, 3), (2, 6), (3, 5)];
    let batches = batches.map(|(successes, trials)| Batch { successes, trials });
    let frame = groups(&of);
    let new = groups(&[0, 9]);
    let spread = SpreadPrior::HalfNormal { scale: 1.0 };
    let run = || {
        logistic_small(&batches, &frame, &by_group(1), &beliefs(spread), Some(&new), 0.8, 5)
            .unwrap()
    };
    let (a, b) = (run(), run());
    assert_eq!(a.posterior, b.posterior);
    let (known, fresh) = (a.rate(0, 0.8), a.rate(1, 0.8));
    for (mean, lower, upper) in [known, fresh] {
        assert!(0.0 < lower && lower < mean && mean < upper && upper < 1.0);
    }
    // Nothing of four: below the average, and an interval that does not end at 0.
    assert!(known.0 < fresh.0);
    assert!(fresh.2 - fresh.1 > known.2 - known.1, "an unseen level is less sure");
    let wider = a.rate(1, 0.95);
    assert!(wider.1 < fresh.1 && wider.2 > fresh.2);
    let next = a.next_count(0, 10, 0.8).unwrap();
    near(next.expected, 10.0 * known.0, 1e-9, "expected");
    assert!(next.lower <= next.upper && next.upper < 10);
}

#[test]
fn a_prior_takes_care_of_separation() {
    let of = [0, 1, 2];
    let none = [Batch { successes: 0, trials: 5 }; 3];
    let found = fit(&none, &groups(&of), SpreadPrior::HalfNormal { scale: 0.5 }, 1);
    let effect = found.effects[0].summary;
    assert!(effect.mean < -0.5 && effect.mean > -4.0, "{}", effect.mean);
}

#[test]
fn priors_that_cannot_be_are_refused() {
    let frame = groups(&[0, 1, 2]);
    let batches = [Batch { successes: 1, trials: 5 }; 3];
    let run = |beliefs: &Beliefs| {
        logistic_small(&batches, &frame, &by_group(1), beliefs, None, 0.8, 1).unwrap_err()
    };
    let bad = beliefs(SpreadPrior::HalfNormal { scale: 0.0 });
    assert_eq!(run(&bad), SuccessError::Prior(PriorError { name: "scale", value: 0.0 }));
    let mut bad = beliefs(SpreadPrior::Gamma { shape: 2.0, rate: 1.0 });
    bad.spreads[0].0 = "shelf".to_owned();
    assert_eq!(run(&bad).to_string(), "there is no shelf to have a prior; the model has g");
    let mut bad = beliefs(SpreadPrior::Gamma { shape: 2.0, rate: 1.0 });
    bad.coefficients[0].1.sd = -1.0;
    assert_eq!(run(&bad), SuccessError::Prior(PriorError { name: "sd", value: -1.0 }));
    bad.coefficients[0].0.term = "mix".to_owned();
    assert!(matches!(run(&bad), SuccessError::PriorOfNothing { .. }));
}

#[test]
fn medians_of_priors() {
    // Half-normal: 0.6745 of its scale; gamma with shape 1 is exponential: ln 2 / rate.
    near(SpreadPrior::HalfNormal { scale: 2.0 }.median(), 2.0 * 0.674_489_750_196, 1e-10, "half");
    near(SpreadPrior::Gamma { shape: 1.0, rate: 4.0 }.median(), 2f64.ln() / 4.0, 1e-8, "gamma");
}

/// Worlds drawn from the prior: where the truth lies in each posterior is uniform (Talts, Betancourt,
/// Simpson, Vehtari & Gelman 2018, arXiv:1804.06788; from memory).
fn calibration(worlds: usize) -> [Vec<f64>; 2] {
    let mut random = Random::new(31_415);
    let mut normal = move || normal_quantile(random.unit().clamp(1e-12, 1.0 - 1e-12));
    let mut chance = Random::new(92_653);
    let mut places = [Vec::new(), Vec::new()];
    let of: Vec<usize> = (0..16).map(|i| i / 2).collect();
    let spread = SpreadPrior::HalfNormal { scale: 1.0 };
    for world in 0..worlds {
        let (beta, sd) = (-0.5 + normal(), normal().abs());
        let effects: Vec<f64> = (0..8).map(|_| sd * normal()).collect();
        let batch = |g: &usize| {
            let trials = 2 + chance.below(7) as u64;
            let p = 1.0 / (1.0 + (-(beta + effects[*g])).exp());
            let successes = (0..trials).filter(|_| chance.unit() < p).count() as u64;
            Batch { successes, trials }
        };
        let batches: Vec<Batch> = of.iter().map(batch).collect();
        let found = logistic_small(
            &batches,
            &groups(&of),
            &by_group(7),
            &beliefs(spread),
            None,
            0.8,
            world as u64,
        )
        .unwrap();
        places[0].push(found.posterior.below(0, beta));
        places[1].push(found.posterior.below(1, sd));
    }
    places
}

/// Chi-square of ten equal classes, 9 degrees of freedom.
fn uniformity(places: &[f64]) -> f64 {
    let mut classes = [0.0; 10];
    places.iter().for_each(|p| classes[((p * 10.0) as usize).min(9)] += 1.0);
    let expected = places.len() as f64 / 10.0;
    classes.iter().map(|c| (c - expected) * (c - expected) / expected).sum()
}

#[test]
fn calibrated_in_sixty_worlds() {
    for places in calibration(60) {
        // Beyond 33.7 once in ten thousand.
        assert!(uniformity(&places) < 33.7, "{places:?}");
    }
}

#[test]
#[ignore = "a thousand fits"]
fn calibrated_in_a_thousand_worlds() {
    for places in calibration(1000) {
        let chi_square = uniformity(&places);
        println!("chi-square of 9 degrees of freedom: {chi_square:.2}");
        assert!(chi_square < 33.7, "{chi_square}");
        // Central 80 % intervals hold the truth 80 % of the time: four standard errors are 0.051.
        let held = places.iter().filter(|p| **p > 0.1 && **p < 0.9).count() as f64 / 1000.0;
        println!("80 % intervals hold {held:.3}");
        assert!((held - 0.8).abs() < 0.051, "{held}");
    }
}

#[test]
fn terms_and_priors_together() {
    let frame = groups(&[0, 0, 1, 1, 2, 2]);
    let mix: Vec<String> = ["a", "b"].repeat(3).iter().map(|s| (*s).to_owned()).collect();
    let frame = frame.with("mix", Column::Words(mix)).unwrap();
    let counts = [(1, 6), (3, 6), (2, 6), (5, 6), (0, 6), (2, 6)];
    let batches = counts.map(|(successes, trials)| Batch { successes, trials });
    let model = Model { terms: Term::read_all(&["mix"]).unwrap(), ..by_group(1) };
    let mut beliefs = beliefs(SpreadPrior::Gamma { shape: 2.0, rate: 2.0 });
    let tight = Coefficient { term: "mix".to_owned(), level: Some("b".to_owned()) };
    let slope = |beliefs: &Beliefs| {
        let found = logistic_small(&batches, &frame, &model, beliefs, None, 0.8, 1).unwrap();
        found.effects[1].summary
    };
    let flat = slope(&beliefs);
    beliefs.coefficients.push((tight, NormalPrior { mean: 0.0, sd: 0.3 }));
    let pulled = slope(&beliefs);
    assert!(flat.mean > 0.8 && pulled.mean > 0.0 && pulled.mean < 0.5 * flat.mean);
    assert!(pulled.sd < flat.sd);
}

#[test]
fn heart_surgery_of_children_in_twelve_hospitals() {
    // "Surgical: institutional ranking", BUGS Examples volume I (Spiegelhalter, Thomas, Best & Gilks
    // 1996); data and printed posterior means from memory. Their prior of the spread (gamma 0.001, 0.001
    // of the precision) is not ours, which moves rates by less than 0.006 and the spread by less than 0.05.
    let trials = [47, 148, 119, 810, 211, 196, 148, 215, 207, 97, 256, 360];
    let deaths = [0, 18, 8, 46, 8, 13, 9, 31, 14, 8, 29, 24];
    let printed = [
        0.0530, 0.1032, 0.0704, 0.0595, 0.0516, 0.0690, 0.0668, 0.1229, 0.0700, 0.0785, 0.1022,
        0.0686,
    ];
    let batch = |(successes, trials)| Batch { successes, trials };
    let batches: Vec<Batch> = deaths.into_iter().zip(trials).map(batch).collect();
    let frame = groups(&(10..22).collect::<Vec<usize>>());
    let beliefs = Beliefs {
        coefficients: Vec::new(),
        spreads: vec![("g".to_owned(), SpreadPrior::HalfNormal { scale: 1.0 })],
    };
    let found =
        logistic_small(&batches, &frame, &by_group(9), &beliefs, Some(&frame), 0.95, 1).unwrap();
    for (hospital, printed) in printed.iter().enumerate() {
        near(found.rate(hospital, 0.95).0, *printed, 0.006, &format!("hospital {hospital}"));
    }
    near(found.spreads[0].summary.mean, 0.40, 0.05, "spread");
    let mean = found.effects[0].summary.mean;
    near(1.0 / (1.0 + (-mean).exp()), 0.073, 0.003, "the usual hospital");
}
