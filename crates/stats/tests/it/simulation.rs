//! Do the intervals hold what they say? Simulated flowers with a known truth.

use stats::random::Random;
use stats::survival::{Interval, KaplanMeier, Time, typical};

/// A flower's life of about nine days: Weibull, shape 4.
fn life(random: &mut Random) -> f64 {
    10.0 * (-(1.0 - random.unit()).ln()).powf(0.25)
}

const MEDIAN: f64 = 9.124_443_057_840_285; // 10·(ln 2)^¼

/// Share of 300 worlds in which the 80 % interval holds the true median.
fn coverage(n: usize, observe: impl Fn(f64, &mut Random) -> Time) -> f64 {
    let mut random = Random::new(20_251);
    let worlds = 300;
    let held = (0..worlds).filter(|&seed| {
        let times: Vec<Time> = (0..n)
            .map(|_| {
                let t = life(&mut random);
                observe(t, &mut random)
            })
            .collect();
        let found = typical(&times, 0.8, seed).unwrap();
        found.lower.is_none_or(|l| l <= MEDIAN) && found.upper.is_none_or(|u| u >= MEDIAN)
    });
    held.count() as f64 / worlds as f64
}

// Four standard errors of a share of 0.8 in 300 worlds are 0.092: less than 0.70 would show an
// interval that claims too much.
const LEAST: f64 = 0.70;

#[test]
fn exact_times() {
    let c = coverage(12, |t, _| Time::exact(t));
    assert!((LEAST..=0.95).contains(&c), "{c}");
}

#[test]
fn a_third_still_open() {
    let c = coverage(15, |t, random| {
        let stop = 6.0 + 8.0 * random.unit();
        if t > stop { Time::open(stop) } else { Time::exact(t) }
    });
    assert!(c >= LEAST, "{c}");
}

#[test]
fn looks_every_three_days_from_a_random_day_on() {
    let c = coverage(12, |t, random| {
        let first = 3.0 * random.unit();
        let before = ((t - first) / 3.0).floor();
        if before < 0.0 {
            Time::before(first)
        } else {
            Time::between(first + 3.0 * before, first + 3.0 * (before + 1.0))
        }
    });
    assert!(c >= LEAST, "{c}");
}

#[test]
fn the_next_flower_falls_into_its_interval() {
    let mut random = Random::new(7);
    let worlds = 600;
    let held = (0..worlds).filter(|_| {
        let times: Vec<Time> = (0..14).map(|_| Time::exact(life(&mut random))).collect();
        let curve = KaplanMeier::fit(&times, 0.8, Interval::LogLog).unwrap().curve();
        let next = curve.next_event(0.0, 0.8).unwrap();
        let t = life(&mut random);
        next.lower <= t && next.upper.is_some_and(|u| t <= u)
    });
    let share = held.count() as f64 / worlds as f64;
    // 14 events, first to last: (14 + 1 − 2)/(14 + 1) = 0.867; four standard errors are 0.056.
    assert!((share - 13.0 / 15.0).abs() < 0.056, "{share}");
}
