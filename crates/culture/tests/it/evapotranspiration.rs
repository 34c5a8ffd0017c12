//! FAO-56 examples, and transpiration indoors.

use culture::{
    air::saturation_pressure,
    evapotranspiration::{
        Canopy, PlantDay, Weather, daylight_hours, extraterrestrial, led_radiation,
        mean_saturation, mean_vapour_pressure, plant_day, pressure, psychrometric_constant,
        radiation_from_sunshine, vapour_pressure_by_psychrometer, wind_at_2m,
    },
};
use proptest::prelude::*;
use serde_json::Value;

use crate::support::{json, near, near_rel, number};

/// Compares with the unrounded value to 1e-9, and with the printed one to half a unit of its last
/// digit and one more unit for rounding between steps.
fn both(case: &Value, name: &str, found: f64) {
    near(found, number(case, &format!("/expected/full/{name}")), 1e-9);
    let printed = case.pointer(&format!("/expected/published/{name}")).unwrap();
    let digits = printed.to_string().split('.').nth(1).map_or(0, str::len);
    let unit = 10_f64.powi(-i32::try_from(digits).unwrap());
    near(found, printed.as_f64().unwrap(), 1.5 * unit);
}

#[test]
fn examples_2_to_6() {
    let two = json(include_str!("../data/air/fao56_ex2.json"));
    let kpa = pressure(number(&two, "/inputs/elev"));
    both(&two, "P", kpa);
    both(&two, "gamma", psychrometric_constant(kpa));

    let three = json(include_str!("../data/air/fao56_ex3.json"));
    let (warm, cold) = (number(&three, "/inputs/tmax"), number(&three, "/inputs/tmin"));
    both(&three, "e_tmax", saturation_pressure(warm));
    both(&three, "e_tmin", saturation_pressure(cold));
    both(&three, "es", mean_saturation(warm, cold));

    let four = json(include_str!("../data/air/fao56_ex4.json"));
    let i = |n: &str| number(&four, &format!("/inputs/{n}"));
    both(&four, "P", pressure(i("elev")));
    both(&four, "e_twet", saturation_pressure(i("twet")));
    let vapour =
        vapour_pressure_by_psychrometer(i("tdry"), i("twet"), i("apsy"), pressure(i("elev")));
    both(&four, "ea", vapour);

    let five = json(include_str!("../data/air/fao56_ex5.json"));
    let i = |n: &str| number(&five, &format!("/inputs/{n}"));
    both(&five, "e_tmin", saturation_pressure(i("tmin")));
    both(&five, "e_tmax", saturation_pressure(i("tmax")));
    let vapour = mean_vapour_pressure(i("tmax"), i("tmin"), i("rhmax"), i("rhmin"));
    both(&five, "ea", vapour);
    let mean = 0.5 * (i("rhmax") + i("rhmin")) / 100.0;
    both(&five, "ea_from_rhmean", mean * mean_saturation(i("tmax"), i("tmin")));

    let six = json(include_str!("../data/air/fao56_ex6.json"));
    both(&six, "vpd", mean_saturation(i("tmax"), i("tmin")) - vapour);
}

fn example_18() -> (Value, Weather) {
    let case = json(include_str!("../data/air/fao56_ex18.json"));
    let i = |n: &str| number(&case, &format!("/inputs/{n}"));
    let weather = Weather {
        latitude: i("lat"),
        day_of_year: i("doy"),
        elevation: i("elev"),
        warmest: i("tmax"),
        coldest: i("tmin"),
        moistest: i("rhmax"),
        driest: i("rhmin"),
        wind: wind_at_2m(i("u10"), 10.0),
        radiation: radiation_from_sunshine(i("lat"), i("doy"), i("sunshine_h")),
    };
    (case, weather)
}

#[test]
fn example_18_with_all_that_it_is_made_of() {
    let (case, weather) = example_18();
    let found = weather.reference().unwrap();
    let daylight = daylight_hours(weather.latitude, weather.day_of_year);
    let mut largest = 0.0_f64;
    for (name, value) in [
        ("P", found.pressure),
        ("delta", found.delta),
        ("gamma", found.gamma),
        ("es", found.saturation),
        ("ea", found.vapour),
        ("Ra", found.extraterrestrial),
        ("Rso", found.clear_sky),
        ("Rns", found.net_short),
        ("Rnl", found.net_long),
        ("Rn", found.net),
        ("Rs", weather.radiation),
        ("N", daylight),
        ("ETo", found.evapotranspiration),
    ] {
        let expected = number(&case, &format!("/expected/full/{name}"));
        near_rel(value, expected, 0.005);
        largest = largest.max((value / expected - 1.0).abs());
    }
    // What methods/air-and-water.md says was reached.
    assert!(largest < 1e-9, "{largest}");
    near_rel(weather.wind, number(&case, "/expected/full/u2"), 1e-3);
    near(found.evapotranspiration, number(&case, "/expected/published/ETo"), 0.02);
    for (name, value) in [
        ("Rs", weather.radiation),
        ("Rn", found.net),
        ("u2", weather.wind),
        ("Ra", found.extraterrestrial),
        ("N", daylight),
    ] {
        near_rel(value, number(&case, &format!("/expected/published/{name}")), 0.005);
    }
}

#[test]
fn examples_8_and_9() {
    // FAO-56 examples 8 and 9: 20° S, 3 September: 32.2 MJ/(m² d), 11.7 h.
    near(extraterrestrial(-20.0, 246.0), 32.2, 0.05);
    near(daylight_hours(-20.0, 246.0), 11.7, 0.05);
}

#[test]
fn weather_that_cannot_be_is_refused() {
    let (_, weather) = example_18();
    assert!(Weather { warmest: 10.0, ..weather }.reference().is_err());
    assert!(Weather { moistest: 101.0, ..weather }.reference().is_err());
    assert!(Weather { wind: -1.0, ..weather }.reference().is_err());
    assert!(Weather { day_of_year: 0.0, ..weather }.reference().is_err());
    let refused = Weather { latitude: 95.0, ..weather }.reference().unwrap_err();
    assert_eq!(refused.quantity, "latitude");
    // The polar night has no clear sky, and still an answer.
    let night = Weather { latitude: 80.0, day_of_year: 355.0, radiation: 0.0, ..weather };
    assert!(night.reference().unwrap().evapotranspiration.is_finite());
}

#[test]
fn indoors_the_deficit_draws_most() {
    // Computed from the stated formula: G 20 W/m², D 1 kPa, LAI 2, A 0.6: 38.7 W/m², 57 g/(m² h).
    let canopy = Canopy { a: 0.6, ..Canopy::new(2.0) };
    near(canopy.latent_heat(20.0, 1.0), 38.7, 0.05);
    near(canopy.transpiration(20.0, 1.0), 57.0, 0.2);
    let by_deficit = canopy.latent_heat(0.0, 1.0) / canopy.latent_heat(20.0, 1.0);
    near(by_deficit, 0.75, 0.04);
    near(led_radiation(100.0), 20.4, 0.05);
}

#[test]
fn a_plant_that_shuts_by_day_drinks_at_night() {
    let plant = PlantDay {
        leaf_area: 0.05,
        leaf_area_index: 2.0,
        lit_hours: 12.0,
        radiation: 20.0,
        deficit_lit: 1.0,
        deficit_dark: 0.6,
        cam: false,
    };
    let canopy = Canopy::new(2.0);
    let (lit, dark) = (canopy.transpiration(20.0, 1.0), canopy.transpiration(0.0, 0.6));
    let ordinary = plant_day(&plant).unwrap();
    near(ordinary.value, 0.025 * 12.0 * (lit + 0.3 * dark), 1e-9);
    let cam = plant_day(&PlantDay { cam: true, ..plant }).unwrap();
    near(cam.value, 0.025 * 12.0 * (0.3 * lit + dark), 1e-9);
    assert!(ordinary.upper / ordinary.lower > 3.0);
    assert!(plant_day(&PlantDay { lit_hours: 25.0, ..plant }).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn drier_windier_brighter_takes_more(
        warm in 15.0..35.0_f64, dry in 20.0..60.0_f64, wind in 0.5..5.0_f64,
        radiation in 5.0..20.0_f64,
    ) {
        let weather = Weather {
            latitude: 45.0, day_of_year: 170.0, elevation: 100.0, warmest: warm,
            coldest: warm - 8.0, moistest: 80.0, driest: dry, wind, radiation,
        };
        let of = |w: Weather| w.reference().unwrap().evapotranspiration;
        let drier = Weather { driest: dry - 10.0, ..weather };
        let brighter = Weather { radiation: radiation + 3.0, ..weather };
        prop_assert!(of(drier) > of(weather));
        prop_assert!(of(brighter) > of(weather));
        let found = weather.reference().unwrap();
        prop_assert!((found.net_short - found.net_long - found.net).abs() < 1e-12);
    }
}
