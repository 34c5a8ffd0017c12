//! What growers say by rule of thumb. Common practice, no source: none of it is a reference.

use answers::flowers::{FlowerKind, LifePrior, Weather, fit_life};

/// Single umbels last from four days in warm dry rooms to a week and more in mild, moist ones. This
/// is what is said of an umbel before anything was seen of it.
#[test]
fn an_umbel_in_warm_dry_and_in_mild_moist_rooms() {
    let fit = fit_life(&[], LifePrior::of("Dischidia", FlowerKind::Umbel)).unwrap();
    let lasts = |warmth: f64, deficit: f64| {
        let air = Weather { warmth: Some(warmth), deficit: Some(deficit) };
        fit.typical(1, air).unwrap()
    };
    let (warm, mild) = (lasts(28.0, 1.8), lasts(20.0, 0.4));
    assert!((3.0..=5.0).contains(&warm[1]), "{warm:?}");
    assert!((7.0..=10.0).contains(&mild[1]), "{mild:?}");
    // By the formula alone: 6.5 · exp(−ln 2 · 6/10 − 0.15 · 1.0) = 3.69 days.
    assert!((warm[1] - 3.69).abs() < 0.02, "{warm:?}");
    // A default may be far off: a factor of 1.28 standard deviations of 0.5 and more either way.
    assert!(warm[2] / warm[0] > 3.0, "{warm:?}");
}

/// Twelve days at 22 °C are 9.1 at 26 °C and 7.9 at 28 °C, computed from the stated Q₁₀ of 2.
#[test]
fn warmth_shortens_by_the_stated_factor() {
    let prior = LifePrior { median: 12.0, off: 0.3, source: None };
    let fit = fit_life(&[], prior).unwrap();
    for (warmth, days) in [(22.0, 12.0), (26.0, 9.1), (28.0, 7.9)] {
        let air = Weather { warmth: Some(warmth), deficit: Some(0.8) };
        let found = fit.typical(1, air).unwrap()[1];
        assert!((found - days).abs() < 0.05, "{warmth} °C: {found} against {days}");
    }
}

/// Gesneriads were found to last 10 to 18 days (Folia Hort. 2023, doi 10.2478/fhort-2023-0009): the
/// default holds both.
#[test]
fn gesneriads_last_as_published() {
    let prior = LifePrior::of("Streptocarpus", FlowerKind::Flower);
    assert!(prior.source.is_some());
    let [low, middle, high] = fit_life(&[], prior).unwrap().typical(1, Weather::default()).unwrap();
    assert!(low < 10.0 && 18.0 < high && (10.0..18.0).contains(&middle), "{low} {middle} {high}");
}
