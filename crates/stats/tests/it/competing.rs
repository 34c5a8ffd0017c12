//! Competing endings: by hand, against R survival 3.5.3, and against slow obvious sums.

use std::collections::BTreeMap;

use proptest::prelude::*;
use stats::survival::{
    AalenJohansen, Ending, Interval, KaplanMeier, SurvivalError, Time, competing_report,
};

use crate::{near, path};

fn fit(records: &[Ending]) -> AalenJohansen {
    AalenJohansen::fit(records, 0.95, Interval::LogLog).unwrap()
}

fn cut(t: f64) -> Ending {
    Ending::by("cut", t)
}

fn dropped(t: f64) -> Ending {
    Ending::by("dropped", t)
}

#[test]
fn five_flowers_by_hand() {
    let found = fit(&[cut(1.0), dropped(2.0), Ending::open(2.0), cut(3.0), Ending::open(4.0)]);
    // S: 4/5, 3/5, 3/10. Cut: 1/5, then 3/5·1/2 more. Dropped: 4/5·1/4.
    let incidences: Vec<Vec<f64>> =
        found.causes.iter().map(|c| c.steps.iter().map(|s| s.incidence).collect()).collect();
    near(incidences[0][0], 0.2, 1e-12, "cut by 1");
    near(incidences[0][1], 0.5, 1e-12, "cut by 3");
    near(incidences[1][0], 0.2, 1e-12, "dropped by 2");
    // Nothing was left out before 3: shares of five. At 3, with p = 1/2 of two and S = 3/5 with
    // variance 0.048 and covariance −0.6·0.2/5 with the cut ones:
    // 0.032 + 2·½·(−0.024) + ¼·0.048 + 0.36·¼/2 = 0.065.
    let se = |c: usize, s: usize| found.causes[c].steps[s].se.unwrap();
    near(se(0, 0), (0.2_f64 * 0.8 / 5.0).sqrt(), 1e-12, "se of cut by 1");
    near(se(1, 0), (0.2_f64 * 0.8 / 5.0).sqrt(), 1e-12, "se of dropped");
    near(se(0, 1), 0.065_f64.sqrt(), 1e-12, "se of cut by 3");
    assert_eq!(found.causes[0].steps.iter().map(|s| s.at_risk).collect::<Vec<_>>(), [5, 2]);
    near(found.causes[0].at(2.9), 0.2, 1e-12, "constant between");
    near(found.causes[0].at(0.5), 0.0, 0.0, "nothing before");
}

#[test]
fn endings_of_one_day_share_the_day() {
    // Three at one time for two causes, and one more that leaves then: at risk all four.
    let found = fit(&[cut(2.0), cut(2.0), dropped(2.0), Ending::open(2.0)]);
    near(found.causes[0].at(2.0), 0.5, 1e-12, "cut");
    near(found.causes[1].at(2.0), 0.25, 1e-12, "dropped");
    near(found.causes[0].steps[0].se.unwrap(), 0.25, 1e-12, "√(½·½/4)");
}

fn patients() -> Vec<(String, f64, Ending)> {
    let mut reader = csv::Reader::from_path(path("mgus2.csv")).unwrap();
    let rows = reader.deserialize::<(String, f64, f64, String)>().map(|row| {
        let (sex, age, months, ending) = row.unwrap();
        let cause = Some(ending).filter(|e| !e.is_empty());
        (sex, age, Ending { time: months, entry: 0.0, cause })
    });
    rows.collect()
}

#[test]
fn gammopathy_by_sex() {
    // R survival 3.5.3, survfit; its infinitesimal jackknife equals the formula of Greenwood's
    // type where nobody enters late. Closed forms: 1e-9.
    let rows: Vec<(String, Ending)> = patients().into_iter().map(|(s, _, e)| (s, e)).collect();
    let report = competing_report(&rows, 0.95, Interval::LogLog).unwrap();
    let mut seen = 0;
    for row in csv::Reader::from_path(path("mgus2_incidence.csv")).unwrap().deserialize() {
        let (sex, cause, time, incidence, se): (String, String, f64, f64, f64) = row.unwrap();
        let group = report.groups.iter().find(|g| g.group == sex).unwrap();
        let curve = group.causes.iter().find(|c| c.cause == cause).unwrap();
        let step = curve.steps.iter().take_while(|s| s.time <= time).last().unwrap();
        near(step.incidence, incidence, 1e-9, &format!("{sex} {cause} {time}"));
        near(step.se.unwrap(), se, 1e-9, &format!("se {sex} {cause} {time}"));
        seen += 1;
    }
    assert_eq!(seen, 120);
}

#[test]
fn gammopathy_on_the_scale_of_age() {
    // The same with delayed entry: incidences only, since the jackknife of the reference takes one
    // person as a unit and differs there.
    let rows = patients().into_iter().map(|(_, age, e)| {
        let entry = 12.0 * age;
        Ending { time: entry + e.time, entry, ..e }
    });
    let found = fit(&rows.collect::<Vec<_>>());
    let mut seen = 0;
    for row in csv::Reader::from_path(path("mgus2_by_age.csv")).unwrap().deserialize() {
        let (cause, time, incidence): (String, f64, f64) = row.unwrap();
        let curve = found.causes.iter().find(|c| c.cause == cause).unwrap();
        near(curve.at(time), incidence, 1e-9, &format!("{cause} {time}"));
        seen += 1;
    }
    assert_eq!(seen, 26);
}

#[test]
fn what_cannot_be_used_is_named() {
    let fit = |records: &[Ending]| AalenJohansen::fit(records, 0.95, Interval::Plain).unwrap_err();
    assert_eq!(fit(&[]), SurvivalError::Empty);
    assert_eq!(fit(&[Ending::open(2.0)]), SurvivalError::NoEnding);
    assert_eq!(fit(&[cut(1.0), cut(-3.0)]), SurvivalError::BadTime { row: 2, value: -3.0 });
    assert!(matches!(fit(&[cut(f64::NAN)]), SurvivalError::BadTime { row: 1, .. }));
    assert_eq!(
        fit(&[cut(1.0), dropped(2.0).entered(2.0)]),
        SurvivalError::LateEntry { row: 2, entry: 2.0, last: 2.0 }
    );
    let bad = AalenJohansen::fit(&[cut(1.0)], 1.0, Interval::Plain);
    assert_eq!(bad, Err(SurvivalError::Confidence(1.0)));
    let rows = [("b".to_owned(), cut(1.0)), ("a".to_owned(), cut(-1.0))];
    let bad = competing_report(&rows, 0.9, Interval::Plain).unwrap_err();
    assert_eq!(bad, SurvivalError::BadTime { row: 2, value: -1.0 });
}

#[test]
fn when_all_early_ones_have_ended_nothing_more_is_claimed() {
    // One plant until day 1, the next bought on day 1: the estimate is used up before it begins.
    let found = fit(&[cut(1.0), dropped(5.0).entered(1.0)]);
    let step = found.causes[1].steps[0];
    assert_eq!((step.at_risk, step.events, step.incidence), (1, 1, 0.0));
    assert_eq!((step.se, step.lower, step.upper), (None, None, None));
    assert_eq!(found.causes[0].at(5.0), 1.0);
}

#[test]
fn chances_of_a_simulation_lie_inside_the_interval() {
    // Two constant hazards 0.1 and 0.2 and one of leaving: the true incidence at 5 is
    // h/(0.3)·(1 − e^(−1.5)). 95 % intervals of 400 samples of 60: four standard errors of 0.95.
    let mut random = stats::random::Random::new(3);
    let truth = 0.1 / 0.3 * (1.0 - (-1.5_f64).exp());
    let mut covered = 0;
    for _ in 0..400 {
        let records: Vec<Ending> = (0..60)
            .map(|_| {
                let mut draw = |hazard: f64| -(1.0 - random.unit()).ln() / hazard;
                let (a, b, leaves) = (draw(0.1), draw(0.2), draw(0.1));
                match () {
                    () if leaves < a.min(b) => Ending::open(leaves),
                    () if a < b => cut(a),
                    () => dropped(b),
                }
            })
            .collect();
        let found = fit(&records);
        let step = found.causes[0].steps.iter().take_while(|s| s.time <= 5.0).last().unwrap();
        covered += usize::from(step.lower.unwrap() <= truth && truth <= step.upper.unwrap());
    }
    near(covered as f64 / 400.0, 0.95, 4.0 * (0.95_f64 * 0.05 / 400.0).sqrt(), "coverage");
}

/// Incidence and variance of one cause by direct sums over pairs of times, from the closed form
/// of the covariance: each time's multinomial, weighted by how the end depends on it.
fn slow(records: &[Ending], cause: &str, t: f64) -> (f64, f64) {
    let mut at: BTreeMap<u64, (f64, f64, f64)> = BTreeMap::new();
    for r in records.iter().filter(|r| r.cause.is_some() && r.time <= t) {
        let under = |o: &&Ending| o.time >= r.time && (o.entry == 0.0 || o.entry < r.time);
        let slot = at.entry(r.time.to_bits()).or_insert((0.0, 0.0, 0.0));
        slot.0 = records.iter().filter(under).count() as f64;
        slot.1 += 1.0;
        slot.2 += f64::from(u8::from(r.cause.as_deref() == Some(cause)));
    }
    let steps: Vec<_> = at.into_values().collect();
    let survival = |of: &[(f64, f64, f64)]| of.iter().map(|s| 1.0 - s.1 / s.0).product::<f64>();
    let risen = |of: &[(f64, f64, f64)]| {
        (0..of.len()).map(|i| survival(&of[..i]) * of[i].2 / of[i].0).sum::<f64>()
    };
    let variance = (0..steps.len()).map(|i| {
        let (n, all, own) = steps[i];
        let before = survival(&steps[..i]);
        // The end falls by `later` for each one more that ends here, and rises by 1 for the cause.
        let later = risen(&steps[i + 1..]);
        let (p, q) = (own / n, (all - own) / n);
        let mean = p * (1.0 - later) - q * later;
        let square = p * (1.0 - later).powi(2) + q * later.powi(2);
        before * before * (square - mean * mean) / n
    });
    (risen(&steps), variance.sum())
}

fn some_records() -> impl Strategy<Value = Vec<Ending>> {
    let one = (1u32..9, 0u32..4, 0u32..8).prop_map(|(time, cause, entry)| Ending {
        time: f64::from(time),
        entry: f64::from(if entry < time { entry } else { 0 }),
        cause: ["cut", "dropped", "rotted"].get(cause as usize).map(|c| (*c).to_owned()),
    });
    prop::collection::vec(one, 2..24)
        .prop_filter("one has ended", |records| records.iter().any(|r| r.cause.is_some()))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn incidences_and_survival_add_up_and_rise(records in some_records()) {
        let found = fit(&records);
        let times: Vec<Time> = records.iter().map(|r| {
            let time = if r.cause.is_some() { Time::exact(r.time) } else { Time::open(r.time) };
            time.entered(r.entry)
        }).collect();
        let km = KaplanMeier::fit(&times, 0.95, Interval::LogLog).unwrap();
        for step in &km.steps {
            let all: f64 = found.causes.iter().map(|c| c.at(step.time)).sum();
            prop_assert!((all + step.survival - 1.0).abs() < 1e-12);
        }
        for curve in &found.causes {
            prop_assert_eq!(curve.events, curve.steps.iter().map(|s| s.events).sum::<usize>());
            prop_assert!(curve.steps.windows(2).all(|w| w[0].incidence <= w[1].incidence));
            for step in &curve.steps {
                let (incidence, variance) = slow(&records, &curve.cause, step.time);
                prop_assert!((step.incidence - incidence).abs() < 1e-12);
                if let Some(se) = step.se {
                    prop_assert!((se * se - variance).abs() < 1e-12, "{} {}", se * se, variance);
                }
            }
        }
        let mut turned = records.clone();
        turned.reverse();
        prop_assert_eq!(fit(&turned), found);
    }

    #[test]
    fn one_cause_is_kaplan_meier_upside_down(records in some_records(), which in 0usize..3) {
        let interval = [Interval::Plain, Interval::Log, Interval::LogLog][which];
        let one: Vec<Ending> = records.iter().map(|r| Ending {
            cause: r.cause.as_ref().map(|_| "any".to_owned()), ..r.clone()
        }).collect();
        let times: Vec<Time> = one.iter().map(|r| {
            let time = if r.cause.is_some() { Time::exact(r.time) } else { Time::open(r.time) };
            time.entered(r.entry)
        }).collect();
        let found = AalenJohansen::fit(&one, 0.9, interval).unwrap();
        let km = KaplanMeier::fit(&times, 0.9, interval).unwrap();
        prop_assert_eq!(found.causes[0].steps.len(), km.steps.len());
        for (a, k) in found.causes[0].steps.iter().zip(&km.steps) {
            prop_assert_eq!((a.time, a.at_risk, a.events), (k.time, k.at_risk, k.events));
            prop_assert!((a.incidence - (1.0 - k.survival)).abs() < 1e-12);
            // What is left is small after many steps, and its relative error with it.
            let near = |x: Option<f64>, y: Option<f64>| match (x, y) {
                (Some(x), Some(y)) => (x - y).abs() < 1e-9,
                (x, y) => x.is_none() && y.is_none(),
            };
            prop_assert!(near(a.se, k.se), "{a:?} {k:?}");
            prop_assert!(near(a.lower, k.upper.map(|u| 1.0 - u)), "{a:?} {k:?}");
            prop_assert!(near(a.upper, k.lower.map(|l| 1.0 - l)), "{a:?} {k:?}");
        }
    }

    #[test]
    fn intervals_hold_the_incidence_and_lie_within_each_other(records in some_records()) {
        let narrow = AalenJohansen::fit(&records, 0.8, Interval::LogLog).unwrap();
        let wide = AalenJohansen::fit(&records, 0.95, Interval::LogLog).unwrap();
        for (a, b) in narrow.causes.iter().zip(&wide.causes) {
            for (s, w) in a.steps.iter().zip(&b.steps) {
                let (Some(low), Some(high)) = (s.lower, s.upper) else { continue };
                // Rounding, where both are points.
                prop_assert!(w.lower.unwrap() <= low + 1e-12 && high <= w.upper.unwrap() + 1e-12);
                prop_assert!(low <= s.incidence + 1e-12 && s.incidence <= high + 1e-12);
                prop_assert!(0.0 <= w.lower.unwrap() && w.upper.unwrap() <= 1.0);
            }
        }
    }
}
