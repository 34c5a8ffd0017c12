//! The demand clock.

use culture::clock::{Clock, DayClimate, Exponents, demand};
use proptest::prelude::*;

use crate::support::near;

fn day(deficit: f64, light: f64) -> DayClimate {
    DayClimate { deficit: Some(deficit), light: Some(light) }
}

#[test]
fn a_standard_day_counts_one_and_what_is_unknown_counts_as_standard() {
    let e = Exponents::default();
    let of = |c: DayClimate| demand(c, &e).unwrap();
    near(of(day(0.9, 5.0)).value, 1.0, 1e-12);
    near(of(DayClimate::default()).value, 1.0, 1e-12);
    // From the formula: (1.8/0.9)^0.7 · (0.3 + 0.7·2)^0.5.
    near(of(day(1.8, 10.0)).value, 2.0_f64.powf(0.7) * 1.7_f64.sqrt(), 1e-12);
    near(of(DayClimate { deficit: Some(1.8), light: None }).value, 2.0_f64.powf(0.7), 1e-12);
    // A standard day is certain; the further from it, the less so.
    let (near_by, far) = (of(day(1.0, 5.5)), of(day(2.0, 15.0)));
    near(of(day(0.9, 5.0)).upper, 1.0, 1e-12);
    assert!(far.upper / far.value > near_by.upper / near_by.value);
    near(of(day(0.0, 5.0)).value, 0.0, 0.0);
    assert!(demand(day(-0.1, 5.0), &e).is_err() && demand(day(1.0, 90.0), &e).is_err());
}

#[test]
fn a_hot_week_runs_fast_and_dates_come_sooner() {
    let clock = Clock::new(100, vec![1.3; 7]).unwrap();
    near(clock.speed(100.0, 107.0).unwrap(), 1.3, 1e-12);
    near(clock.between(98.0, 109.0), 2.0 + 9.1 + 2.0, 1e-12);
    near(clock.reached(100.0, 6.5), 105.0, 1e-12);
    near(clock.reached(98.0, 1.5), 99.5, 1e-12);
    near(clock.reached(106.0, 3.3), 109.0, 1e-12);
    assert!(clock.speed(100.0, 100.0).is_none());
    near(Clock::standard().between(3.0, 8.5), 5.5, 1e-12);
    assert!(Clock::new(0, vec![1.0, -0.1]).is_err());
}

#[test]
fn a_clock_that_stood_still_gives_the_first_time() {
    let clock = Clock::new(0, vec![1.0, 0.0, 0.0, 1.0]).unwrap();
    near(clock.reached(0.0, 1.0), 1.0, 1e-12);
    near(clock.reached(0.0, 1.5), 3.5, 1e-12);
    near(clock.reached(2.0, 0.0), 2.0, 1e-12);
}

#[test]
fn from_climate() {
    let climate = [day(0.9, 5.0), DayClimate::default(), day(1.8, 5.0)];
    let clock = Clock::from_climate(10, &climate, &Exponents::default()).unwrap();
    near(clock.between(10.0, 13.0), 2.0 + 2.0_f64.powf(0.7), 1e-12);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn reached_is_the_inverse_and_steps_agree(
        rates in proptest::collection::vec(0.05..4.0_f64, 0..20),
        from in -5.0..25.0_f64,
        wanted in 0.0..30.0_f64,
    ) {
        let clock = Clock::new(0, rates.clone()).unwrap();
        let to = clock.reached(from, wanted);
        prop_assert!((clock.between(from, to) - wanted).abs() < 1e-9);
        // The slow way: in steps of a thousandth of a day.
        let steps = 4000;
        let width = (to - from) / f64::from(steps);
        let slow: f64 = (0..steps)
            .map(|i| {
                let t = from + (f64::from(i) + 0.5) * width;
                let day = t.floor();
                let rate = if day >= 0.0 { rates.get(day as usize).copied() } else { None };
                rate.unwrap_or(1.0) * width
            })
            .sum();
        prop_assert!((slow - wanted).abs() < 0.05 + 0.01 * wanted, "{slow} {wanted}");
    }
}
