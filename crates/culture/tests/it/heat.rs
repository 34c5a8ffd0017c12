//! Degree-days, windows, quarantine.

use culture::heat::{
    Detection, HeatSeries, Newcomer, PESTS, Stage, Thresholds, infested_after, looks_needed,
    repeat_window, stage, stage_dates,
};
use proptest::prelude::*;

use crate::support::near;

fn thresholds(base: f64, upper: Option<f64>) -> Thresholds {
    Thresholds::new(base, upper).unwrap()
}

fn constant(temperature: f64, days: f64) -> HeatSeries {
    HeatSeries::new(vec![(0.0, temperature), (days, temperature)]).unwrap()
}

fn total(samples: &[(f64, f64)], base: f64, upper: Option<f64>) -> f64 {
    let series = HeatSeries::new(samples.to_vec()).unwrap();
    *series.sums(&thresholds(base, upper)).last().unwrap()
}

#[test]
fn printed_examples() {
    // University of California, citrus pest table 1: mean 64 °F, threshold 53 °F: 11 °F-days.
    // Computed in °F, which the integral does not mind.
    near(total(&[(0.0, 64.0 - 32.0), (1.0, 64.0 - 32.0)], 53.0 - 32.0, None), 11.0, 1e-9);
    // Haby, "Heating and cooling degree days": mean 75 °F above 65 °F: 10; mean 45 °F: none.
    near(total(&[(0.0, 75.0 - 32.0), (1.0, 75.0 - 32.0)], 65.0 - 32.0, None), 10.0, 1e-9);
    near(total(&[(0.0, 45.0 - 32.0), (1.0, 45.0 - 32.0)], 65.0 - 32.0, None), 0.0, 0.0);
    // Met Éireann, degree-days, case I: the mean above the base. 10 and 20 °C above 8: 7.
    near(total(&[(0.0, 10.0), (0.5, 20.0), (1.0, 10.0)], 8.0, None), 7.0, 1e-9);
    // Case II: never above the base.
    near(total(&[(0.0, 3.0), (0.5, 7.0), (1.0, 3.0)], 8.0, None), 0.0, 0.0);
    // Cases III and IV are approximations; the triangle that they stand for, 6 to 12 °C around
    // 8: two thirds of the day above, 2 on the mean of them: 1.33, their 1/2·4 − 1/4·2 = 1.5.
    let triangle = total(&[(0.0, 6.0), (0.5, 12.0), (1.0, 6.0)], 8.0, None);
    near(triangle, 4.0 / 3.0, 1e-9);
    near(triangle, 0.5 * 4.0 - 0.25 * 2.0, 0.2);
}

#[test]
fn days_at_constant_temperature_as_in_the_table() {
    // Computed from K / (T − T0): days at 20, 22, 24 °C.
    for (pest, name, days) in [
        ("Planococcus citri", "egg to adult", [58.0, 49.0, 43.0]),
        ("Planococcus citri", "nymph", [33.0, 28.0, 25.0]),
        ("Planococcus citri", "adult to first eggs", [32.0, 27.0, 24.0]),
        ("Pseudococcus longispinus", "nymph", [35.0, 30.0, 26.0]),
        ("Paracoccus marginatus", "egg to adult", [48.0, 36.0, 29.0]),
        ("Tetranychus urticae", "generation", [19.5, 15.4, 12.7]),
        ("Frankliniella occidentalis", "egg to adult", [22.0, 19.0, 17.0]),
        ("Thrips palmi", "egg to adult", [20.0, 16.0, 14.0]),
        ("Scatopsciara", "egg to adult", [33.0, 28.0, 24.0]),
        ("Saissetia coffeae", "egg to adult", [68.0, 52.0, 43.0]),
    ] {
        let stage = stage(pest, name).unwrap();
        for (t, expected) in [20.0, 22.0, 24.0].into_iter().zip(days) {
            near(stage.days_at(t).unwrap(), expected, 0.8);
            let series = constant(t, 100.0);
            let limits = thresholds(stage.base.value, None);
            let reached = series.reached(0.0, stage.heat.value, &limits).unwrap();
            near(reached, stage.days_at(t).unwrap(), 1e-9);
        }
    }
    // Measured: shore fly 14.5 days at 20 °C (Ugine 2007).
    near(stage("Scatella stagnalis", "egg to adult").unwrap().days_at(20.0).unwrap(), 14.5, 0.05);
    assert!(stage("Thrips palmi", "egg to adult").unwrap().days_at(10.0).is_none());
    assert!(Stage::linear_at(22.0) && !Stage::linear_at(35.0));
    assert!(PESTS.iter().all(|s| !s.heat.source.is_empty()));
}

#[test]
fn a_horizontal_cut_off_counts_no_faster() {
    near(total(&[(0.0, 35.0), (2.0, 35.0)], 10.0, Some(30.0)), 40.0, 1e-9);
    // Straight from 0 to 40 °C in a day, base 10, upper 30: half of 20 on a half day, and 20 on
    // the last quarter.
    near(total(&[(0.0, 0.0), (1.0, 40.0)], 10.0, Some(30.0)), 5.0 + 5.0, 1e-9);
}

#[test]
fn times_are_found_between_samples_and_after_the_last() {
    let series = HeatSeries::new(vec![(0.0, 10.0), (1.0, 20.0), (4.0, 20.0)]).unwrap();
    let limits = thresholds(10.0, None);
    // On the slope: 5 t² = 1.25 at half a day.
    near(series.reached(0.0, 1.25, &limits).unwrap(), 0.5, 1e-9);
    near(series.reached(0.0, 15.0, &limits).unwrap(), 2.0, 1e-9);
    near(series.reached(2.0, 15.0, &limits).unwrap(), 3.5, 1e-9);
    assert!(series.reached(0.0, 36.0, &limits).is_none());
    near(series.reached_with(0.0, 45.0, &limits, 15.0).unwrap(), 6.0, 1e-9);
    assert!(series.reached_with(0.0, 45.0, &limits, 9.0).is_none());
    near(series.between(0.5, 2.0, &limits), 3.75 + 10.0, 1e-9);
    near(series.longest_gap(), 3.0, 1e-12);
}

#[test]
fn series_that_cannot_be_are_refused() {
    assert!(HeatSeries::new(vec![]).is_err());
    assert!(HeatSeries::new(vec![(1.0, 20.0), (1.0, 21.0)]).is_err());
    assert!(HeatSeries::new(vec![(0.0, 20.0), (f64::NAN, 21.0)]).is_err());
    assert!(HeatSeries::new(vec![(0.0, 99.0)]).is_err());
    assert!(Thresholds::new(10.0, Some(10.0)).is_err());
}

#[test]
fn the_window_for_mites_at_24_degrees() {
    // Computed: egg 5.7 days, hatching to adult 7.1 days; one repeat fits only at mean rates.
    let stages: Vec<&Stage> = ["larva", "protonymph", "deutonymph"]
        .into_iter()
        .map(|s| stage("Tetranychus urticae", s).unwrap())
        .collect();
    let egg = stage("Tetranychus urticae", "egg").unwrap();
    let series = constant(24.0, 60.0);
    let window = repeat_window(egg, &stages, &series, 0.0, 24.0).unwrap().unwrap();
    near(window.eggs.usual, 5.7, 0.05);
    near(window.hatch_to_adult.usual, 7.1, 0.06);
    assert!(window.one_would_do_at_usual_speed);
    let fast = (-1.281_551_565_5 * 0.2_f64).exp();
    near(window.interval, window.hatch_to_adult.usual * fast, 1e-6);
    near(window.eggs.slow, window.eggs.usual / fast, 1e-6);
    assert!(window.eggs.slow > window.interval);
    assert_eq!(window.repeats, 2);
    // Too cold for any of it.
    assert!(repeat_window(egg, &stages, &constant(5.0, 60.0), 0.0, 5.0).unwrap().is_none());
}

#[test]
fn mealybug_from_crawler_to_first_eggs() {
    // Computed: 24.6 + 23.6 = 48 days at 24 °C: looks every 12 days see it four times.
    let both = [
        stage("Planococcus citri", "nymph").unwrap(),
        stage("Planococcus citri", "adult to first eggs").unwrap(),
    ];
    let dates = stage_dates(&both, &constant(24.0, 100.0), 0.0, 24.0).unwrap().unwrap();
    near(dates.usual, 48.2, 0.1);
    assert!(dates.fast < 38.0 && dates.slow > 62.0);
    assert!(dates.fast / 12.0 >= 3.0);
}

#[test]
fn quarantine() {
    // Computed from the formula: prior 0.2, half found at each look.
    for (looks, percent) in [(1, 11.0), (2, 5.9), (3, 3.0), (4, 1.5), (6, 0.4)] {
        let found = infested_after(0.2, Detection::Fixed(0.5), looks).unwrap();
        near(100.0 * found, percent, 0.15);
    }
    for (looks, percent) in [(4, 3.4), (6, 2.0)] {
        let found = infested_after(0.2, Detection::lens(), looks).unwrap();
        near(100.0 * found, percent, 0.06);
    }
    assert_eq!(looks_needed(0.2, Detection::Fixed(0.5), 0.02).unwrap(), Some(4));
    // With the rate itself uncertain: 0.2041 % more than the target after six.
    assert_eq!(looks_needed(0.2, Detection::lens(), 0.02).unwrap(), Some(7));
    // A look does not find a virus.
    near(infested_after(0.2, Detection::Fixed(0.0), 9).unwrap(), 0.2, 1e-12);
    assert_eq!(looks_needed(0.2, Detection::Fixed(0.0), 0.02).unwrap(), None);
    assert!(infested_after(1.2, Detection::Fixed(0.5), 1).is_err());
    assert!(infested_after(0.2, Detection::Fixed(1.5), 1).is_err());
}

#[test]
fn uncertain_looks_by_summing_over_the_rate() {
    // The slow way: the Beta(2, 2) density 6 s (1 − s), on a fine grid.
    let steps = 100_000;
    for looks in [1, 4, 9] {
        let missed: f64 = (0..steps)
            .map(|i| {
                let s = (f64::from(i) + 0.5) / f64::from(steps);
                6.0 * s * (1.0 - s) * (1.0 - s).powi(looks) / f64::from(steps)
            })
            .sum();
        let slow = 0.2 * missed / (0.2 * missed + 0.8);
        let found = infested_after(0.2, Detection::Beta(2.0, 2.0), looks as u32).unwrap();
        near(found, slow, 1e-8);
    }
}

#[test]
fn release_needs_both_time_and_looks() {
    let suspects = [
        stage("Planococcus citri", "egg to adult").unwrap(),
        stage("Tetranychus urticae", "generation").unwrap(),
    ];
    let ask = |today: f64, clean_looks: u32| {
        let newcomer = Newcomer {
            suspects: suspects.to_vec(),
            arrived: 0.0,
            before: 0.2,
            detection: Detection::lens(),
            clean_looks,
        };
        newcomer.release(&constant(22.0, 60.0), today, 22.0, 0.03).unwrap()
    };
    let generation = ask(50.0, 5).generation.unwrap();
    near(generation, 667.0 / 13.5, 1e-9);
    assert!(ask(50.0, 5).ready && !ask(40.0, 5).ready && !ask(50.0, 2).ready);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn sums_and_times_agree_with_minutes(
        steps in proptest::collection::vec((0.02..0.9_f64, 0.0..45.0_f64), 2..12),
        base in 5.0..20.0_f64, width in 2.0..25.0_f64, share in 0.05..0.95_f64,
    ) {
        let mut time = 0.0;
        let samples: Vec<(f64, f64)> =
            steps.iter().map(|(d, t)| { time += d; (time, *t) }).collect();
        let series = HeatSeries::new(samples.clone()).unwrap();
        let limits = thresholds(base, Some(base + width));
        let sums = series.sums(&limits);
        prop_assert!(sums.windows(2).all(|p| p[1] >= p[0]));
        // The slow way: minute by minute.
        let (from, to) = (samples[0].0, samples[samples.len() - 1].0);
        let minutes = ((to - from) * 1440.0).ceil() as u32;
        let minute = (to - from) / f64::from(minutes);
        let at = |t: f64| {
            let i = samples.windows(2).position(|p| t <= p[1].0).unwrap();
            let (a, b) = (samples[i], samples[i + 1]);
            a.1 + (b.1 - a.1) * (t - a.0) / (b.0 - a.0)
        };
        let slow: f64 = (0..minutes)
            .map(|i| limits.rate(at(from + (f64::from(i) + 0.5) * minute)) * minute)
            .sum();
        let all = sums[sums.len() - 1];
        prop_assert!((all - slow).abs() < 1e-3, "{all} {slow}");
        if all > 0.1 {
            let reached = series.reached(from, share * all, &limits).unwrap();
            prop_assert!((series.between(from, reached, &limits) - share * all).abs() < 1e-7);
        }
    }

    #[test]
    fn each_clean_look_lowers_the_chance(
        before in 0.01..0.99_f64, a in 0.2..5.0_f64, b in 0.2..5.0_f64, looks in 0..20_u32,
    ) {
        let chance = |k| infested_after(before, Detection::Beta(a, b), k).unwrap();
        prop_assert!(chance(looks + 1) < chance(looks));
        // An uncertain rate is never better than its mean.
        let fixed = infested_after(before, Detection::Fixed(a / (a + b)), looks).unwrap();
        prop_assert!(chance(looks) >= fixed - 1e-12);
    }
}
