use culture::light::{
    LightError,
    day::{Course, YearDay, sun_day},
    sun::{Moment, Place, apparent, position},
};
use proptest::prelude::*;

use super::{date, moment};
use crate::reference::{json, near, table};

#[test]
fn position_of_the_sun_agrees_with_the_published_example() {
    // Reda & Andreas, NREL/TP-560-34302, table A5.1, reproduced with another library.
    let case = json("light/nrel_spa_example.json");
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let number = |v: &serde_json::Value| v.as_f64().unwrap();
    let place = Place::new(number(&inputs["lat"]), number(&inputs["lon"]))
        .unwrap()
        .at_height(number(&inputs["elev_m"]))
        .unwrap();
    let moment = Moment::utc((2003, 10, 17), (19, 30, 30.0))
        .unwrap()
        .with_delta_t(number(&inputs["delta_t_s"]));
    let tolerance = number(&case["tolerance"]["abs_deg_full_SPA"]);
    let seen = apparent(place, moment, number(&inputs["pressure_hPa"]), number(&inputs["temp_C"]))
        .unwrap();
    near(seen.zenith, number(&expected["apparent_zenith"]), tolerance);
    near(seen.azimuth, number(&expected["azimuth"]), tolerance);
    let geometric = position(place, moment).unwrap();
    near(geometric.zenith, number(&expected["geometric_zenith"]), tolerance);
    near(geometric.altitude(), 90.0 - geometric.zenith, 0.0);
}

#[test]
fn positions_agree_with_the_reference_grid() {
    let tolerance = json("light/solar_position_open.json")["tolerance"].clone();
    for row in table("light/solar_position_open.csv").rows() {
        let place = Place::new(row.number("lat"), row.number("lon")).unwrap();
        let sun = position(place, moment(row.text("utc"))).unwrap();
        near(sun.zenith, row.number("zenith"), tolerance["abs_deg"].as_f64().unwrap());
        // Straight overhead a compass direction has no meaning.
        if sun.zenith >= 3.0 {
            let off = (sun.azimuth - row.number("azimuth") + 180.0).rem_euclid(360.0) - 180.0;
            near(off, 0.0, tolerance["abs_deg_azimuth"].as_f64().unwrap());
        }
    }
}

#[test]
fn radiation_and_daylight_agree_with_the_handbook() {
    // FAO-56, examples 8 and 9.
    let case = json("light/fao56_example_8_9.json");
    let day = YearDay::new(-20.0, 246).unwrap();
    let full = &case["expected"]["full"];
    let printed = &case["expected"];
    let found = [
        ("Ra", day.extraterrestrial(), 0.05),
        ("N", day.daylight_hours(), 0.05),
        ("dr", day.inverse_distance_squared(), 0.0005),
        ("delta", day.declination(), 0.0005),
        ("ws", day.sunset_hour_angle(), 0.0005),
    ];
    for (name, value, tolerance) in found {
        near(value, printed[name].as_f64().unwrap(), tolerance);
        near(value, full[name].as_f64().unwrap(), 1e-6);
    }
}

#[test]
fn radiation_and_daylight_agree_with_the_reference_grid() {
    for row in table("light/fao_ra_open.csv").rows() {
        let doy = row.text("doy").parse().unwrap();
        let day = YearDay::new(row.number("lat"), doy).unwrap();
        near(day.extraterrestrial(), row.number("Ra_MJ"), 1e-4);
        near(day.daylight_hours(), row.number("N_h"), 1e-4);
    }
}

#[test]
fn day_lengths_and_sunrises_agree_with_the_reference() {
    for row in table("light/daylength_open.csv").rows() {
        let place = Place::new(row.number("lat"), row.number("lon")).unwrap();
        let day = sun_day(place, date(row.text("date_utc"))).unwrap();
        near(day.hours_above_minus0p833, row.number("hours_sun_above_minus0p833"), 0.06);
        near(day.hours_above_minus6, row.number("hours_above_minus6"), 0.06);
        for (found, column) in [(day.sunrise, "sunrise_utc"), (day.sunset, "sunset_utc")] {
            let expected = moment(row.text(column)).unix_seconds();
            near(found.unwrap().unix_seconds(), expected, 150.0);
        }
        assert_eq!(day.course, Course::Crosses);
    }
}

#[test]
fn hours_with_twilight_by_day_of_year() {
    // Computed from the stated formula, not published: 52° N.
    for (doy, twilight, sun) in [(80, 13.25, 12.13), (172, 18.36, 16.73), (355, 9.11, 7.74)] {
        let day = YearDay::new(52.0, doy).unwrap();
        near(day.hours_above(-6.0), twilight, 0.01);
        near(day.hours_above(-0.833), sun, 0.01);
    }
}

#[test]
fn polar_day_and_polar_night_have_no_sunrise() {
    let tromso = Place::new(69.65, 18.96).unwrap();
    let summer = sun_day(tromso, (2024, 6, 21)).unwrap();
    assert_eq!(summer.course, Course::PolarDay);
    near(summer.hours_above_minus0p833, 24.0, 1e-9);
    near(summer.hours_above_minus6, 24.0, 1e-9);
    assert_eq!((summer.sunrise, summer.sunset), (None, None));
    let winter = sun_day(tromso, (2024, 12, 21)).unwrap();
    assert_eq!(winter.course, Course::PolarNight);
    near(winter.hours_above_minus0p833, 0.0, 1e-9);
    // Around noon it is light enough to read although the sun does not rise.
    assert!(winter.hours_above_minus6 > 2.0 && winter.hours_above_minus6 < 8.0);
    for (latitude, doy, hours, radiation) in [(69.65, 172, 24.0, true), (69.65, 355, 0.0, false)] {
        let day = YearDay::new(latitude, doy).unwrap();
        near(day.daylight_hours(), hours, 1e-9);
        assert_eq!(day.extraterrestrial() > 1e-9, radiation);
    }
    for (latitude, doy, hours) in [(90.0, 172, 24.0), (90.0, 355, 0.0), (-90.0, 355, 24.0)] {
        near(YearDay::new(latitude, doy).unwrap().daylight_hours(), hours, 1e-9);
    }
}

#[test]
fn what_is_nowhere_or_never_is_refused() {
    let refused = Place::new(95.0, 0.0).unwrap_err();
    let said = refused.to_string();
    assert!(said.contains("latitude 95 is not between -90 and 90"), "{said}");
    assert!(Place::new(0.0, 181.0).is_err());
    assert!(Place::new(f64::NAN, 0.0).is_err());
    assert!(Place::new(0.0, 0.0).unwrap().at_height(20_000.0).is_err());
    assert!(matches!(Moment::utc((2023, 2, 29), (0, 0, 0.0)), Err(LightError::Time { .. })));
    assert!(YearDay::new(10.0, 0).is_err());
    assert!(YearDay::new(10.0, 367).is_err());
    let place = Place::new(0.0, 0.0).unwrap();
    let noon = Moment::utc((2024, 3, 20), (12, 0, 0.0)).unwrap();
    assert!(apparent(place, noon, -5.0, 12.0).is_err());
}

/// Hours above an altitude by looking at the sun once a minute.
fn hours_by_looking(place: Place, start: Moment, altitude: f64) -> f64 {
    let above = (0..1440)
        .filter(|m| {
            let at = start.plus_days((f64::from(*m) + 0.5) / 1440.0);
            position(place, at).unwrap().altitude() > altitude
        })
        .count();
    above as f64 / 60.0
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// The crossings of the horizon agree with a look every minute, the polar summer included.
    #[test]
    fn hours_agree_with_a_look_every_minute(
        latitude in -89.0..89.0, longitude in -179.0..179.0, month in 1u32..=12, day in 1u32..=28
    ) {
        let place = Place::new(latitude, longitude).unwrap();
        let found = sun_day(place, (2025, month, day)).unwrap();
        let start =
            Moment::utc((2025, month, day), (0, 0, 0.0)).unwrap().plus_days(-longitude / 360.0);
        let slow = hours_by_looking(place, start, -0.833);
        prop_assert!((found.hours_above_minus0p833 - slow).abs() < 0.06, "{found:?} {slow}");
        prop_assert!(found.hours_above_minus6 >= found.hours_above_minus0p833 - 1e-9);
    }

    /// The simple sun of a day of the year stays close to the exact one in true solar time: its
    /// declination is off by up to 1.2° in September.
    #[test]
    fn the_simple_sun_stays_close_to_the_exact_one(
        latitude in -65.0..65.0, doy in 1u32..=365, hour in -12.0..12.0f64
    ) {
        let simple = YearDay::new(latitude, doy).unwrap();
        let zenith_at_noon = simple.sun(0.0).zenith;
        let place = Place::new(latitude, 0.0).unwrap();
        let start = Moment::utc((2025, 1, 1), (0, 0, 0.0)).unwrap().plus_days(f64::from(doy) - 1.0);
        // True noon: the highest sun of the day, on a grid of minutes.
        let noon = (0..1440)
            .map(|m| start.plus_days(f64::from(m) / 1440.0))
            .min_by(|a, b| {
                let z = |m: &Moment| position(place, *m).unwrap().zenith;
                z(a).total_cmp(&z(b))
            })
            .unwrap();
        prop_assert!((position(place, noon).unwrap().zenith - zenith_at_noon).abs() < 1.3);
        let exact = position(place, noon.plus_days(hour / 24.0)).unwrap();
        prop_assert!((exact.zenith - simple.sun(hour).zenith).abs() < 1.8);
    }

    /// Night and day change places between the hemispheres, and the mean day has twelve hours.
    #[test]
    fn daylight_is_symmetric(latitude in 0.0..90.0, doy in 1u32..=365) {
        let north = YearDay::new(latitude, doy).unwrap().daylight_hours();
        let south = YearDay::new(-latitude, doy).unwrap().daylight_hours();
        prop_assert!((north + south - 24.0).abs() < 1e-9);
        let radiation = YearDay::new(latitude, doy).unwrap().extraterrestrial();
        prop_assert!((0.0..60.0).contains(&radiation) || radiation.abs() < 1e-9);
    }
}
