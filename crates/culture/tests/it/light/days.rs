use culture::light::{
    acclimatise::{Danger, bleach_index, danger, steps},
    daily::{CLASSES, Stretch, classes, dli, energy, hours_for, photoperiod},
    meter::Light,
};
use proptest::prelude::*;

use crate::reference::{json, near};

#[test]
fn daily_light_agrees_with_the_reference() {
    let case = json("light/dli.json");
    let tolerance = case["tolerance"]["abs"].as_f64().unwrap();
    let cases = case["inputs"]["cases"].as_array().unwrap();
    for (input, expected) in cases.iter().zip(case["expected"]["dli"].as_array().unwrap()) {
        let n = |key: &str| input[key].as_f64().unwrap();
        near(dli(n("ppfd"), n("hours")).unwrap(), expected.as_f64().unwrap(), tolerance);
    }
    // Computed from the stated formula, not published.
    near(dli(80.0, 12.0).unwrap(), 3.456, 1e-9);
    near(hours_for(4.0, 80.0).unwrap().unwrap(), 13.9, 0.02);
    assert_eq!(hours_for(40.0, 80.0).unwrap(), None);
    assert_eq!(hours_for(4.0, 0.0).unwrap(), None);
    assert_eq!(hours_for(0.0, 0.0).unwrap(), Some(0.0));
    assert!(dli(80.0, 25.0).is_err() && dli(-1.0, 5.0).is_err());
    near(energy(18.0, 12.0, 30.0).unwrap(), 6.48, 1e-12);
    assert!(energy(18.0, 30.0, 30.0).is_err());
}

#[test]
fn lamps_and_daylight_together_make_the_photoperiod() {
    let s = |from, to| Stretch::new(from, to).unwrap();
    // A lamp from six to six does not shorten a day in June.
    near(photoperiod(&[s(6.0, 18.0), s(3.2, 21.6)]), 18.4, 1e-12);
    near(photoperiod(&[s(22.0, 2.0), s(1.0, 5.0)]), 7.0, 1e-12);
    near(photoperiod(&[s(8.0, 10.0), s(14.0, 16.0)]), 4.0, 1e-12);
    near(photoperiod(&[s(0.0, 24.0), s(5.0, 6.0)]), 24.0, 1e-12);
    near(photoperiod(&[]), 0.0, 0.0);
    near(photoperiod(&[s(6.0, 6.0)]), 0.0, 0.0);
    assert!(Stretch::new(6.0, 25.0).is_err());
}

#[test]
fn conversions_agree_with_the_published_table() {
    let case = json("light/par_conversion.json");
    let kinds = [
        ("sun_sky", Light::Sunlight),
        ("blue_sky", Light::BlueSky),
        ("metal_halide", Light::MetalHalide),
        ("hps", Light::HighPressureSodium),
        ("cool_white_fluorescent", Light::CoolWhiteFluorescent),
        ("incandescent", Light::Incandescent),
    ];
    for (key, light) in kinds {
        let expected = |table: &str| case["expected"][table][key].as_f64().unwrap();
        near(light.lux_per_umol().unwrap().value, expected("lux_per_umol"), 0.0);
        near(light.photons_per_joule().unwrap(), expected("umol_per_J"), 0.0);
    }
    // A maker's page: 2000 µmol of sunlight are 108,000 lx.
    near(Light::Sunlight.lux_from_ppfd(2000.0).unwrap(), 108_000.0, 1e-9);
    // The spectrum AM1.5G, any daylight within 4 %.
    let spectrum = case["expected"]["AM15G"]["lux_per_umol"].as_f64().unwrap();
    near(Light::Sunlight.lux_per_umol().unwrap().value / spectrum, 1.0, 0.04);
    let photons = case["expected"]["AM15G"]["umol_per_J_PAR"].as_f64().unwrap();
    near(Light::Sunlight.photons_per_joule().unwrap() / photons, 1.0, 0.04);
}

#[test]
fn foot_candles_and_lumens_are_converted() {
    // Computed from the stated formula: a foot-candle of sunlight is 0.199 µmol.
    near(Light::Sunlight.ppfd_from_foot_candles(1.0).unwrap(), 0.199, 0.0005);
    near(Light::WhiteLed3000.photon_flux_from_lumens(1400.0).unwrap(), 20.0, 1e-12);
    for light in Light::ALL {
        if light == Light::Purple {
            continue;
        }
        let there = light.lux_from_ppfd(120.0).unwrap();
        near(light.ppfd_from_lux(there).unwrap(), 120.0, 1e-9);
        assert!(light.ppfd_from_lux(-1.0).is_err());
    }
}

#[test]
fn lux_of_purple_light_is_refused() {
    let said = Light::Purple.ppfd_from_lux(900.0).unwrap_err().to_string();
    assert!(said.contains("red and blue diodes") && said.contains("quantum sensor"), "{said}");
    assert!(Light::Purple.lux_per_umol().is_err());
    assert!(Light::Purple.photon_flux_from_lumens(900.0).is_err());
}

#[test]
fn classes_overlap_and_name_their_evidence() {
    let names = |d: f64| classes(d).unwrap().iter().map(|c| c.name).collect::<Vec<_>>();
    assert_eq!(names(0.3), ["survival only"]);
    assert_eq!(names(4.5), ["growth of shade foliage", "flowering gesneriads"]);
    assert_eq!(names(0.05), [""; 0]);
    assert_eq!(names(1.7), [""; 0]);
    assert!(classes(-1.0).is_err());
    for class in &CLASSES {
        let (low, high) = class.range();
        assert!(low < high && !class.evidence.is_empty());
        let (from, to) = class.ppfd_over_twelve_hours();
        near(dli(from, 12.0).unwrap(), low, 1e-9);
        near(dli(to, 12.0).unwrap(), high, 1e-9);
        if class.dli.basis == culture::Basis::CommonPractice {
            assert!(class.evidence.contains("common practice"), "{}", class.name);
        }
    }
}

#[test]
fn a_move_to_more_light_goes_in_steps() {
    let found = steps(2.0, 6.0, false).unwrap();
    assert_eq!(found.len(), 3);
    assert_eq!(found.iter().map(|s| s.day).collect::<Vec<_>>(), [0, 14, 28]);
    near(found[2].dli, 6.0, 0.0);
    near(found[1].dli / found[0].dli, 3.0_f64.cbrt(), 1e-12);
    assert_eq!(steps(2.0, 6.0, true).unwrap().len(), 5);
    assert_eq!(steps(2.0, 3.0, false).unwrap().len(), 1);
    assert_eq!(steps(2.0, 2.0, false).unwrap().len(), 0);
    // Downwards each halving takes three to four weeks.
    let down = steps(8.0, 2.0, false).unwrap();
    assert_eq!(down.iter().map(|s| s.day).collect::<Vec<_>>(), [0, 25]);
    near(down[0].dli, 4.0, 1e-12);
    assert!(steps(0.0, 2.0, false).is_err() && steps(1.0, f64::NAN, false).is_err());
}

#[test]
fn a_leap_in_light_endangers_leaves() {
    let mut days = vec![2.0; 30];
    near(bleach_index(&days).unwrap().unwrap(), 1.0, 1e-12);
    days.push(6.0);
    near(bleach_index(&days).unwrap().unwrap(), 3.0, 1e-12);
    assert_eq!(danger(3.0, 0.0).unwrap(), Danger::Alarm);
    assert_eq!(danger(1.8, 5.0).unwrap(), Danger::Warning);
    assert_eq!(danger(1.2, 30.0).unwrap(), Danger::Alarm);
    assert_eq!(danger(1.2, 5.0).unwrap(), Danger::None);
    // Two weeks of history are needed, and light to compare with.
    assert_eq!(bleach_index(&[2.0; 14]).unwrap(), None);
    assert_eq!(bleach_index(&[0.0; 30]).unwrap(), None);
    assert!(bleach_index(&[-1.0; 30]).is_err());
    assert!(danger(f64::NAN, 0.0).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Every step is within what is allowed, and the last one is the wanted light.
    #[test]
    fn steps_are_within_their_limit(from in 0.1..20.0, to in 0.1..20.0, tender in any::<bool>()) {
        let found = steps(from, to, tender).unwrap();
        let most = if tender { 1.25 } else { 1.5 };
        let mut now = from;
        for step in &found {
            prop_assert!(step.dli / now <= most + 1e-6 && step.dli / now >= 0.5 - 1e-6);
            now = step.dli;
        }
        prop_assert!((now - to).abs() < 1e-9 || found.is_empty() && (from / to - 1.0).abs() < 1e-6);
    }

    /// A plan of careful steps never raises the alarm.
    #[test]
    fn careful_steps_raise_no_alarm(from in 0.5..3.0, times in 1.1..4.0) {
        let plan = steps(from, from * times, false).unwrap();
        let mut days = vec![from; 40];
        for (k, step) in plan.iter().enumerate() {
            let until = plan.get(k + 1).map_or(step.day + 14, |next| next.day);
            days.extend(vec![step.dli; (until - step.day) as usize]);
            let index = bleach_index(&days).unwrap().unwrap();
            prop_assert!(danger(index, 0.0).unwrap() < Danger::Alarm, "{index}");
        }
    }

    /// A photoperiod is no longer than a day and no shorter than its longest stretch.
    #[test]
    fn a_photoperiod_fits_a_day(
        stretches in proptest::collection::vec((0.0..24.0, 0.0..24.0), 1..6)
    ) {
        let of: Vec<Stretch> =
            stretches.iter().map(|(a, b)| Stretch::new(*a, *b).unwrap()).collect();
        let hours = photoperiod(&of);
        let longest = of.iter().map(|s| photoperiod(&[*s])).fold(0.0, f64::max);
        prop_assert!(hours <= 24.0 + 1e-9 && hours >= longest - 1e-9);
        // The slow way: look every minute.
        let minutes = (0..1440)
            .filter(|m| {
                let at = (f64::from(*m) + 0.5) / 60.0;
                stretches.iter().any(|(a, b)| {
                    if a <= b { (*a..*b).contains(&at) } else { at >= *a || at < *b }
                })
            })
            .count();
        prop_assert!((hours - minutes as f64 / 60.0).abs() < 0.2);
    }
}
