//! Turnbull's curve against an independent run to the optimum, by hand, and against Kaplan–Meier.

use proptest::prelude::*;
use stats::survival::{Interval, KaplanMeier, Mass, Time, Turnbull, turnbull_report};

use crate::{json, near, path};

fn germination() -> Vec<(String, Time)> {
    let mut reader = csv::Reader::from_path(path("germ_interval_open.csv")).unwrap();
    let records = reader.records().map(|r| {
        let r = r.unwrap();
        let cell = |i: usize| (!r[i].is_empty()).then(|| r[i].parse().unwrap());
        (r[2].to_owned(), Time { left: cell(4), right: cell(5), entry: 0.0 })
    });
    records.collect()
}

#[test]
fn germination_between_looks() {
    let reference = json("germ_interval_open_turnbull.json");
    let on_curve = reference["tolerance"]["abs_S"].as_f64().unwrap();
    let on_likelihood = reference["tolerance"]["logLik_abs"].as_f64().unwrap();
    let rows = germination();
    let report = turnbull_report(&rows).unwrap();
    assert_eq!(report.groups.len(), 2);
    for group in &report.groups {
        let expected = &reference["expected"][&group.group];
        near(
            group.log_likelihood,
            expected["logLik"].as_f64().unwrap(),
            on_likelihood,
            &group.group,
        );
        let times: Vec<Time> = rows.iter().filter(|r| r.0 == group.group).map(|r| r.1).collect();
        let curve = Turnbull::fit(&times).unwrap().curve();
        let at = expected["S_time"].as_array().unwrap();
        let values = expected["S_value"].as_array().unwrap();
        assert!(at.len() > 20);
        for (t, s) in at.iter().zip(values) {
            let bounds = curve.survival(t.as_f64().unwrap());
            let what = format!("{} at {t}", group.group);
            near(bounds.most, s.as_f64().unwrap(), on_curve, &what);
            near(bounds.least, s.as_f64().unwrap(), on_curve, &what);
        }
        let lefts: Vec<f64> = group.masses.iter().map(|m| m.left).collect();
        let wanted: Vec<f64> =
            expected["left"].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect();
        assert_eq!(lefts, wanted);
        assert_eq!(group.masses.last().unwrap().right, None);
    }
}

fn masses(times: &[Time]) -> Vec<Mass> {
    Turnbull::fit(times).unwrap().masses.into_iter().filter(|m| m.mass > 1e-6).collect()
}

#[test]
fn three_overlapping_records_by_hand() {
    // (0,2], (1,3], (2,4]: innermost (1,2] and (2,3]. With p in the first the likelihood is
    // p·1·(1−p), at its highest for p = 1/2.
    let found =
        masses(&[Time::between(0.0, 2.0), Time::between(1.0, 3.0), Time::between(2.0, 4.0)]);
    assert_eq!(found.len(), 2);
    assert_eq!((found[0].left, found[0].right), (1.0, Some(2.0)));
    assert_eq!((found[1].left, found[1].right), (2.0, Some(3.0)));
    // 1e-6: an iteration, stopped by its optimality condition.
    near(found[0].mass, 0.5, 1e-6, "mass");
}

#[test]
fn an_exact_time_at_the_closed_end_lies_inside_and_at_the_open_end_outside() {
    let inside = masses(&[Time::exact(7.0), Time::between(3.0, 7.0)]);
    assert_eq!(inside.len(), 1);
    assert_eq!((inside[0].left, inside[0].right), (7.0, Some(7.0)));
    let outside = masses(&[Time::exact(3.0), Time::between(3.0, 7.0)]);
    assert_eq!(outside.len(), 2);
    near(outside[1].mass, 0.5, 1e-6, "mass");
}

#[test]
fn before_the_first_look_begins_at_zero() {
    let found = masses(&[Time::before(5.0)]);
    assert_eq!((found[0].left, found[0].right, found[0].mass), (0.0, Some(5.0), 1.0));
}

#[test]
fn twenty_thousand_records_settle() {
    // A daily grid of looks every three days, half of them still open at the end.
    let times: Vec<Time> = (0..20_000u32)
        .map(|i| {
            let day = f64::from(i.wrapping_mul(2_654_435_761) >> 24) / 4.0;
            if day > 40.0 {
                Time::open(40.0)
            } else {
                Time::between(day.floor(), day.floor() + 3.0)
            }
        })
        .collect();
    let fit = Turnbull::fit(&times).unwrap();
    assert!(fit.excess <= 1e-9);
    let total: f64 = fit.masses.iter().map(|m| m.mass).sum();
    near(total, 1.0, 1e-12, "total");
}

proptest! {
    #[test]
    fn exact_and_open_times_give_kaplan_meier(raw in prop::collection::vec((1..30u8, any::<bool>()), 1..30)) {
        let times: Vec<Time> = raw
            .iter()
            .map(|&(t, seen)| if seen { Time::exact(t.into()) } else { Time::open(t.into()) })
            .collect();
        let km = KaplanMeier::fit(&times, 0.8, Interval::Log).unwrap().curve();
        let turnbull = Turnbull::fit(&times).unwrap().curve();
        for t in 0..=30u8 {
            let (a, b) = (km.survival(t.into()), turnbull.survival(t.into()));
            // 1e-5: the iteration stops at its optimality condition, not at digits of the curve.
            prop_assert!((a.most - b.most).abs() < 1e-5, "at {}: {:?} {:?}", t, a, b);
        }
    }

    #[test]
    fn the_order_of_records_and_the_unit_of_time_do_not_matter(
        raw in prop::collection::vec((0..20u8, 0..8u8), 2..25),
    ) {
        let times = |scale: f64| -> Vec<Time> {
            raw.iter()
                .map(|&(l, w)| {
                    let (l, r) = (scale * f64::from(l), scale * f64::from(l + w));
                    if w == 7 { Time::open(l) } else { Time::between(l, r) }
                })
                .collect()
        };
        let one = Turnbull::fit(&times(1.0)).unwrap();
        let mut turned = times(3.0);
        turned.reverse();
        let other = Turnbull::fit(&turned).unwrap();
        prop_assert!((one.log_likelihood - other.log_likelihood).abs() < 1e-6);
    }
}

#[test]
fn thousands_of_ends_that_are_all_different_reach_the_optimum() {
    let mut random = stats::random::Random::new(3);
    let times: Vec<Time> = (0..3_000)
        .map(|_| {
            let t = 20.0 * (0.5 * random.normal()).exp();
            let mut look = 0.0;
            loop {
                let next = look + 1.0 + 9.0 * random.unit();
                if t <= next {
                    return if look == 0.0 {
                        Time::before(next)
                    } else {
                        Time::between(look, next)
                    };
                }
                if next > 60.0 {
                    return Time::open(next);
                }
                look = next;
            }
        })
        .collect();
    let fit = Turnbull::fit(&times).unwrap();
    // The optimality condition itself; each unit of it is a unit of log-likelihood a record.
    assert!(fit.excess <= 1e-9, "{}", fit.excess);
    // The law that the times were drawn from: median 20; the standard error of the share is 0.01.
    let half = fit.curve().survival(20.0);
    assert!(half.least < 0.56 && half.most > 0.44, "{half:?}");
}
