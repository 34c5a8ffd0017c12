//! A share that never has the event and misread looks: simulated tables of known truth.

use stats::model::{Column, Fixed, Frame};
use stats::random::Random;
use stats::survival::Time;
use stats::survival::parametric::{Fit, Law, Misread, Options, ParametricError, fit};

use crate::near;
use crate::parametric::design;

/// ln of 20 days, and the spread of ln time.
const ETA: f64 = 2.995_732_273_553_991;
const SCALE: f64 = 0.4;

fn logit(p: f64) -> f64 {
    (p / (1.0 - p)).ln()
}

/// Cuttings looked at every week until the last day; of firm ones 85 % ever root, of soft ones 45 %.
fn cuttings(n: usize, last: f64, seed: u64) -> (Vec<Time>, Frame) {
    let mut random = Random::new(seed);
    let mut kinds = Vec::new();
    let mut one = |i: usize| {
        let firm = i.is_multiple_of(2);
        kinds.push(if firm { "firm" } else { "soft" }.to_owned());
        let ever = random.unit() < if firm { 0.85 } else { 0.45 };
        let t = (ETA + SCALE * random.normal()).exp();
        let left = 7.0 * (t / 7.0).floor();
        if !ever || left + 7.0 > last { Time::open(last) } else { Time::between(left, left + 7.0) }
    };
    let times = (0..n).map(&mut one).collect();
    (times, Frame::new(n).with("kind", Column::Words(kinds)).unwrap())
}

fn with_share(times: &[Time], frame: &Frame) -> Result<Fit, ParametricError> {
    let alone = Fixed::build(frame, &[]).unwrap();
    let options = Options { cure: Some(design(frame, &["kind"])), ..Options::default() };
    fit(times, &alone, Law::Lognormal, &options)
}

fn within_four(value: f64, se: f64, truth: f64, what: &str) {
    assert!(se > 0.0 && se.is_finite(), "{what}: standard error {se}");
    near(value, truth, 4.0 * se, what);
}

#[test]
fn shares_by_kind_are_found_again() {
    let n = 600;
    let (times, frame) = cuttings(n, 140.0, 41);
    let found = with_share(&times, &frame).unwrap();
    assert!(found.plateau.unwrap().identified, "{:?}", found.plateau);
    let first = found.share_place();
    assert_eq!(found.share.len(), 2);
    assert_eq!(found.share[1].level.as_deref(), Some("soft"));
    let share = |j: usize| (found.parameters[first + j], found.se(first + j));
    within_four(share(0).0, share(0).1, logit(0.85), "logit of the share of firm cuttings");
    within_four(share(1).0, share(1).1, logit(0.45) - logit(0.85), "soft against firm");
    within_four(found.parameters[0], found.se(0), ETA, "ln of the median");
    within_four(found.parameters[1], found.se(1), SCALE.ln(), "ln scale");
    // Followed far beyond the last event each share is that of a count: 1/√(n·p·(1 − p)).
    let half = n as f64 / 2.0;
    let rooted = |kind: usize| {
        times.iter().skip(kind).step_by(2).filter(|t| !t.is_open()).count() as f64 / half
    };
    let se = |p: f64| 1.0 / (half * p * (1.0 - p)).sqrt();
    near(share(0).0, logit(rooted(0)), 1e-3, "the count of firm cuttings");
    near(share(0).1, se(rooted(0)), 1e-3, "its standard error");
    near(share(1).1, se(rooted(0)).hypot(se(rooted(1))), 1e-3, "that of the difference");
    let two = Column::Words(["firm", "soft"].map(str::to_owned).to_vec());
    let new = Frame::new(2).with("kind", two).unwrap();
    let rows = design(&new, &["kind"]);
    let alone = Fixed::build(&new, &[]).unwrap();
    let predicted = found.predict(&alone, Some(&rows), &[0.5], None, 0.8).unwrap();
    let ever: Vec<f64> = predicted.iter().map(|p| p.ever.unwrap()).collect();
    near(ever[0], rooted(0), 1e-3, "predicted for firm ones");
    near(ever[1], rooted(1), 1e-3, "predicted for soft ones");
    assert!(predicted[0].quantiles[0].estimate.is_some(), "half of the firm ones root");
    assert_eq!(predicted[1].quantiles[0].estimate, None, "half of the soft ones never do");
}

#[test]
fn a_follow_up_cut_short_does_not_tell_never_from_late() {
    let mut fitted = 0;
    for seed in 0..6 {
        // The last look comes before half of those that root have done so.
        let (times, frame) = cuttings(300, 21.0, seed);
        match with_share(&times, &frame) {
            Ok(found) => {
                fitted += 1;
                let plateau = found.plateau.unwrap();
                assert!(!plateau.identified, "seed {seed}: {plateau:?}");
                assert_eq!((plateau.last_event, plateau.open_beyond), (21.0, 0));
            }
            Err(error) => {
                let said = matches!(
                    error,
                    ParametricError::NotDetermined { .. }
                        | ParametricError::Unbounded { .. }
                        | ParametricError::NotReached { .. }
                );
                assert!(said, "seed {seed}: {error}");
            }
        }
    }
    assert!(fitted >= 1, "at least one of the six has an optimum to speak of");
}

/// Each pot looked at once, on a day of its own; one look in `1 / rate` is misread.
fn single_looks(n: usize, rate: f64, seed: u64) -> Vec<Time> {
    let mut random = Random::new(seed);
    let mut one = |_| {
        let t = (ETA + SCALE * random.normal()).exp();
        let day = (ETA + 2.0 * (2.0 * random.unit() - 1.0)).exp();
        let misread = random.unit() < rate;
        if (t <= day) != misread { Time::before(day) } else { Time::open(day) }
    };
    (0..n).map(&mut one).collect()
}

#[test]
fn the_rate_of_misread_looks_is_found_again() {
    let rate = 0.06;
    let times = single_looks(1_500, rate, 5);
    let alone = Fixed::build(&Frame::new(times.len()), &[]).unwrap();
    let run =
        |misread| fit(&times, &alone, Law::Lognormal, &Options { cure: None, misread }).unwrap();
    let learnt = run(Misread::Estimated);
    let found = learnt.misread.unwrap();
    let se = found.se.unwrap();
    within_four(found.rate, se, rate, "rate");
    assert!(se < 0.02, "the rate is known well: {se}");
    within_four(learnt.parameters[0], learnt.se(0), ETA, "ln of the median");
    within_four(learnt.parameters[1], learnt.se(1), SCALE.ln(), "ln scale");
    // The rate given as it is found gives the same fit, with no error of its own.
    let given = run(Misread::Fixed(found.rate));
    assert_eq!(given.misread.unwrap().se, None);
    near(given.misread.unwrap().rate, found.rate, 0.0, "the given rate");
    near(given.log_likelihood, learnt.log_likelihood, 1e-7, "log-likelihood");
    near(given.parameters[0], learnt.parameters[0], 1e-5, "ln of the median");
    assert!(given.se(1) < learnt.se(1), "a rate that has to be learnt costs certainty");
    // Misread looks that are taken as right make single pots seem to differ more.
    let never = run(Misread::Never);
    assert!(never.parameters[1] > SCALE.ln() + 4.0 * never.se(1), "{}", never.scale);
    assert!(never.log_likelihood < learnt.log_likelihood - 5.0);
}
