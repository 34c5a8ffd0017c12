//! Chances, quantiles and the typical time.

use stats::survival::{Bounds, Interval, KaplanMeier, Method, Time, Turnbull, typical};

use crate::near;

fn days(values: &[f64]) -> Vec<Time> {
    values.iter().map(|&t| Time::exact(t)).collect()
}

#[test]
fn the_chance_of_the_event_given_that_it_has_not_come() {
    let times = days(&[2.0, 4.0, 6.0, 8.0, 10.0]);
    let curve = KaplanMeier::fit(&times, 0.8, Interval::LogLog).unwrap().curve();
    let chance = |by, now| curve.chance_by(by, now).unwrap();
    near(chance(4.0, 0.0).most, 0.4, 1e-12, "two of five");
    near(chance(8.0, 4.0).least, 2.0 / 3.0, 1e-12, "two of the three left");
    assert_eq!(chance(4.0, 4.0), Bounds { least: 0.0, most: 0.0 });
    assert_eq!(curve.chance_by(20.0, 10.0), None);
}

#[test]
fn beyond_the_last_record_the_chance_is_only_bounded() {
    let times = [Time::exact(3.0), Time::open(5.0)];
    let curve = KaplanMeier::fit(&times, 0.8, Interval::LogLog).unwrap().curve();
    assert_eq!(curve.chance_by(20.0, 0.0), Some(Bounds { least: 0.5, most: 1.0 }));
    assert_eq!(curve.quantile(0.9), (5.0, None));
    assert_eq!(curve.quantile_value(0.9), None);
}

#[test]
fn between_looks_the_chance_is_only_bounded() {
    let curve = Turnbull::fit(&[Time::between(7.0, 14.0)]).unwrap().curve();
    assert_eq!(curve.survival(10.0), Bounds { least: 0.0, most: 1.0 });
    assert_eq!(curve.survival(14.0), Bounds { least: 0.0, most: 0.0 });
    assert_eq!(curve.quantile(0.5), (7.0, Some(14.0)));
    assert_eq!(curve.quantile_value(0.5), Some(10.5));
}

#[test]
fn exact_flowers_are_read_by_kaplan_meier() {
    let found = typical(&days(&[5.0, 6.0, 7.0, 8.0, 9.0]), 0.8, 1).unwrap();
    assert_eq!((found.method, found.median), (Method::KaplanMeier, Some(7.0)));
    assert_eq!((found.n, found.events), (5, 5));
    let (lower, upper) = (found.lower.unwrap(), found.upper.unwrap());
    assert!(lower < 7.0 && upper > 7.0, "{lower} {upper}");
}

#[test]
fn weekly_looks_never_claim_a_day() {
    // Seven flowers that all ended in the second week.
    let found = typical(&vec![Time::between(7.0, 14.0); 7], 0.8, 1).unwrap();
    assert_eq!((found.lower, found.upper), (Some(7.0), Some(14.0)));
    assert_eq!(found.method, Method::Turnbull);
}

#[test]
fn an_upper_end_that_is_not_reached_is_not_given() {
    let times = [Time::between(3.0, 6.0), Time::open(5.0), Time::open(8.0), Time::open(9.0)];
    let found = typical(&times, 0.8, 1).unwrap();
    assert_eq!((found.median, found.upper), (None, None));
    assert_eq!(found.events, 1);
}

#[test]
fn the_same_seed_gives_the_same_interval() {
    let times: Vec<Time> =
        [1, 3, 4, 4, 6, 9, 9].map(|d| Time::between(f64::from(d), f64::from(d) + 4.0)).into();
    assert_eq!(typical(&times, 0.8, 7), typical(&times, 0.8, 7));
}

#[test]
fn the_next_event_needs_nine_events_for_four_in_five() {
    let curve = |n: u32| {
        let times: Vec<Time> = (1..=n).map(|d| Time::exact(d.into())).collect();
        KaplanMeier::fit(&times, 0.8, Interval::LogLog).unwrap().curve()
    };
    assert_eq!(curve(8).next_event(0.0, 0.8), None);
    let next = curve(9).next_event(0.0, 0.8).unwrap();
    // First to ninth of nine: (9 + 1 − 2)/(9 + 1) = 80 %.
    assert_eq!((next.lower, next.middle, next.upper), (1.0, Some(5.0), Some(9.0)));
    let next = curve(19).next_event(0.0, 0.8).unwrap();
    assert_eq!((next.lower, next.upper, next.events), (2.0, Some(18.0), 19));
    let later = curve(19).next_event(10.0, 0.8).unwrap();
    assert_eq!((later.lower, later.upper, later.events), (11.0, Some(19.0), 9));
}
