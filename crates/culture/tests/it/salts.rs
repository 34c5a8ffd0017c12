//! Leaching, flushing, salts that stay.

use culture::feed::{
    Budget, Event, PotWater, drainage_alarm, flush_share, leaching_fraction, leaching_requirement,
    steady_drainage, volumes_to_flush,
};
use proptest::prelude::*;

use crate::support::near;

#[test]
fn examples() {
    // FAO 29: LR = ECw / (5 ECe − ECw). 0.8 and 1.5: 0.12, computed from the formula. Maize on
    // loam, 1.2 and 2.5: 0.10 (Ayers & Westcot 1985, example 2, from memory, printed to 0.01).
    near(leaching_requirement(0.8, 1.5).unwrap(), 0.12, 0.001);
    near(leaching_requirement(1.2, 2.5).unwrap(), 0.10, 0.0075);
    near(leaching_fraction(1000.0, 150.0).unwrap(), 0.15, 1e-12);
    near(steady_drainage(0.6, 0.2).unwrap(), 3.0, 1e-12);
    for (volumes, percent) in [(1.0, 63.0), (2.0, 86.0), (3.0, 95.0)] {
        near(100.0 * flush_share(volumes), percent, 0.5);
    }
    assert!(drainage_alarm(1.6) && !drainage_alarm(1.4));
    near(volumes_to_flush(3.0, 1.0, 0.2).unwrap(), (2.8_f64 / 0.8).ln(), 1e-12);
}

#[test]
fn what_cannot_be_is_refused() {
    assert!(leaching_fraction(100.0, 120.0).is_err());
    assert!(leaching_requirement(4.0, 1.5).is_err());
    assert!(steady_drainage(1.0, 0.0).is_err());
    assert!(volumes_to_flush(2.0, 0.1, 0.2).is_err() && volumes_to_flush(2.0, 3.0, 0.2).is_err());
    let mut pot = PotWater::drained(300.0, 100.0).unwrap();
    let mut budget = Budget::default();
    assert!(pot.step(Event::Dry(299.0), &mut budget).is_err());
    assert!(pot.step(Event::Uptake(31.0), &mut budget).is_err());
    assert_eq!((budget, pot.water), (Budget::default(), 300.0));
}

#[test]
fn without_drainage_salts_build_up_and_with_it_they_settle() {
    let run = |poured: f64, times: usize| {
        let mut pot = PotWater::drained(300.0, 100.0).unwrap();
        let mut budget = Budget::default();
        for _ in 0..times {
            pot.step(Event::Dry(150.0), &mut budget).unwrap();
            pot.step(Event::Pour { volume: poured, concentration: 100.0 }, &mut budget).unwrap();
        }
        (pot, budget)
    };
    // Nothing drains: 30 mg at first, 15 mg more each time.
    let (pot, budget) = run(150.0, 10);
    near(pot.salt, 30.0 + 150.0, 1e-9);
    near(budget.drained, 0.0, 0.0);
    // A quarter drains: the drainage settles at EC in / LF, here 400 mg/L.
    let (mut pot, mut budget) = run(200.0, 400);
    let before = budget;
    pot.step(Event::Dry(150.0), &mut budget).unwrap();
    pot.step(Event::Pour { volume: 200.0, concentration: 100.0 }, &mut budget).unwrap();
    let drainage =
        1000.0 * (budget.salt_drained - before.salt_drained) / (budget.drained - before.drained);
    near(drainage, 1000.0 * 0.1 * steady_drainage(1.0, 0.25).unwrap(), 0.01);
}

#[test]
fn flushing_in_one_pour_is_the_exponential() {
    let mut pot = PotWater::drained(300.0, 1000.0).unwrap();
    let mut budget = Budget::default();
    pot.step(Event::Pour { volume: 600.0, concentration: 0.0 }, &mut budget).unwrap();
    near(pot.salt, 300.0 * (1.0 - flush_share(2.0)), 1e-9);
    // The slow way: drop by drop.
    let mut salt = 300.0;
    for _ in 0..600_000 {
        salt -= salt / 300.0 * 0.001;
    }
    near(pot.salt, salt, 1e-3);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn water_and_salts_are_all_accounted_for(
        events in proptest::collection::vec((0..3_u8, 0.0..1.0_f64, 0.0..800.0_f64), 1..40),
    ) {
        let mut pot = PotWater::drained(300.0, 120.0).unwrap();
        let (water, salt) = (pot.water, pot.salt);
        let mut budget = Budget::default();
        for (kind, share, concentration) in events {
            let event = match kind {
                0 => Event::Pour { volume: 500.0 * share, concentration },
                1 => Event::Dry(share * (pot.water - 0.01 * pot.capacity).max(0.0)),
                _ => Event::Uptake(share * pot.salt),
            };
            pot.step(event, &mut budget).unwrap();
            prop_assert!(pot.water > 0.0 && pot.water <= pot.capacity + 1e-9 && pot.salt >= -1e-9);
        }
        let water_now = water + budget.poured - budget.drained - budget.dried;
        prop_assert!((pot.water - water_now).abs() < 1e-6);
        let salt_now = salt + budget.salt_in - budget.salt_drained - budget.taken_up;
        prop_assert!((pot.salt - salt_now).abs() < 1e-6);
    }
}
