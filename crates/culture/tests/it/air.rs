//! Humidity: grids, worked examples, slow versions, properties.

use culture::air::{
    Air, GLAZINGS, Glass, LeafOffset, Odd, Reading, STANDARD_PRESSURE, SaltTest, WetSpan,
    classes_of, daily_deficits, disease_watch, glass_inner_face, leaf_may_be_wet, nights_with_dew,
    odd_readings, saturation_pressure, saturation_pressure_over_ice, saturation_slope,
    stress_watch, wet_spans,
};
use proptest::prelude::*;

use crate::support::{near, near_rel, table};

fn air(temperature: f64, humidity: f64) -> Air {
    Air::new(temperature, humidity).unwrap()
}

#[test]
fn the_grid_of_humidity() {
    // Tetens columns to 1e-9; the others are ASHRAE's formulas by PsychroLib 2.5.0: pressures
    // within 0.4 %, dew point 0.1 K, wet bulb 0.15 K, absolute humidity 0.5 %.
    let rows = table(include_str!("../data/air/humidity_open.csv"));
    assert_eq!(rows.len(), 12);
    let mut largest = [0.0_f64; 2];
    for row in rows {
        let found = air(row["T_C"], row["RH_pct"]);
        let leaf = found.leaf_deficit(row["leaf_minus_air"]);
        near(found.saturation(), row["es_tetens_kPa"], 1e-9);
        near(found.deficit(), row["VPD_tetens_kPa"], 1e-9);
        near(leaf, row["leafVPD_tetens_kPa"], 1e-9);
        near_rel(found.saturation(), row["es_ashrae_kPa"], 0.004);
        near_rel(found.deficit(), row["VPD_ashrae_kPa"], 0.004);
        near_rel(leaf, row["leafVPD_ashrae_kPa"], 0.004);
        let dew = found.dew_point().unwrap().temperature;
        near(dew, row["dewpoint_C"], 0.1);
        let wet = found.wet_bulb(row["P_Pa"] / 1000.0);
        near(wet, row["wetbulb_C"], 0.1);
        near_rel(found.absolute_humidity(), row["abs_humidity_g_m3"], 0.005);
        largest[0] = largest[0].max((dew - row["dewpoint_C"]).abs());
        largest[1] = largest[1].max((wet - row["wetbulb_C"]).abs());
    }
    // What methods/air-and-water.md says was reached.
    assert!(largest[0] < 0.011 && largest[1] < 0.004, "{largest:?}");
}

#[test]
fn printed_examples_of_others() {
    // Doerken, glossary "Dew point": 30 °C and 55 % settles on a surface of 20 °C.
    near(air(30.0, 55.0).dew_point().unwrap().temperature, 20.0, 0.5);
    // Dry 68 °F, wet 62 °F: 71 % (TM 5-3610-285-14, psychrometric table, whole per cent).
    let celsius = |f: f64| (f - 32.0) / 1.8;
    let humidity = (0..1000)
        .map(|i| f64::from(i) / 10.0)
        .find(|h| air(celsius(68.0), *h).wet_bulb(101.325) >= celsius(62.0))
        .unwrap();
    near(humidity, 71.0, 1.0);
    // Dry 20 °C, wet 12 °C: dew point 5 °C, 37.5 % (atmospheric science laboratory ATSC 110L,
    // read from a chart).
    let dry = air(20.0, 37.5);
    near(dry.wet_bulb(101.325), 12.0, 0.3);
    near(dry.dew_point().unwrap().temperature, 5.0, 0.3);
}

#[test]
fn examples_computed_from_the_stated_formula() {
    // temperature, humidity, leaf minus air, deficit
    for (t, h, leaf, expected) in [
        (24.0, 60.0, 0.0, 1.19),
        (24.0, 60.0, -1.0, 1.02),
        (24.0, 60.0, -2.0, 0.85),
        (22.0, 85.0, 0.0, 0.40),
        (26.0, 45.0, 0.0, 1.85),
    ] {
        near(air(t, h).leaf_deficit(leaf), expected, 0.005);
    }
    near(air(22.0, 75.0).dew_point().unwrap().temperature, 17.4, 0.05);
    near(air(24.0, 60.0).dew_point().unwrap().temperature, 15.8, 0.05);
    let frost = air(10.0, 35.0).dew_point().unwrap();
    assert!(frost.frost);
    near(frost.temperature, -4.20, 0.005);
    near(air(22.0, 75.0).brought_to(18.0).unwrap().humidity(), 96.0, 0.5);
    // 3 points of humidity at 22 °C are 0.08 kPa.
    let estimate = air(22.0, 75.0).deficit_estimate(0.0, 3.0);
    near((estimate.upper - estimate.value) / 1.281_551_565_5, 0.08, 0.001);
}

#[test]
fn moist_air_in_frost_has_its_frost_point_above_it() {
    // Humidity is told over water; over ice this air is beyond saturation, and halving between
    // dew point and temperature had its ends the wrong way round.
    let found = air(-15.0, 99.0);
    let frost = found.dew_point().unwrap();
    assert!(frost.frost && frost.temperature > -15.0);
    let wet = found.wet_bulb(STANDARD_PRESSURE.value);
    assert!(-15.0 < wet && wet < frost.temperature, "{wet}");
}

#[test]
fn glass() {
    for (inside, outside, u, expected) in
        [(22.0, 0.0, 2.8, 14.0), (22.0, 0.0, 1.1, 18.9), (22.0, -5.0, 5.6, 2.3)]
    {
        near(glass_inner_face(inside, outside, u), expected, 0.06);
    }
    let room = air(22.0, 75.0);
    let wet: Vec<bool> = GLAZINGS
        .iter()
        .map(|g| Glass::new(&room, 0.0, g.transmittance.value).unwrap().wet())
        .collect();
    assert_eq!(wet, [true, true, false, false]);
    let double = Glass::new(&room, 0.0, 2.8).unwrap();
    near(double.wet_by.value, double.dew_point - double.face, 1e-12);
    assert!(double.wet_by.lower < double.wet_by.value && double.wet_by.value < double.wet_by.upper);
    assert!(Glass::new(&air(20.0, 0.0), 0.0, 2.8).is_none());
}

#[test]
fn dew_hours_begin_and_end_where_the_margin_crosses() {
    let room = air(22.0, 75.0);
    let dew = room.dew_point().unwrap().temperature;
    let glass = |hour: f64, above: f64| (hour, room, dew + above);
    // Falls through the dew point at 2.5 h, rises through it at 6.25 h; a gap of 5 h says nothing.
    let spans = wet_spans(&[
        glass(1.0, 3.0),
        glass(2.0, 1.0),
        glass(3.0, -1.0),
        glass(4.0, -1.0),
        glass(5.0, -1.0),
        glass(6.0, -1.0),
        glass(7.0, 3.0),
        glass(12.0, -3.0),
    ]);
    assert_eq!(spans.len(), 1);
    near(spans[0].from, 2.5, 1e-9);
    near(spans[0].to, 6.25, 1e-9);
    // From noon to noon: one spell over midnight is one night, one over noon is two.
    let night = |from: f64, to: f64| WetSpan { from, to };
    assert_eq!(nights_with_dew(&[night(23.0, 28.0)], 3.0), 1);
    assert_eq!(nights_with_dew(&[night(30.0, 41.0)], 3.0), 2);
    assert_eq!(nights_with_dew(&[night(23.0, 24.0), night(47.0, 52.0)], 3.0), 1);
    assert!(leaf_may_be_wet(&room, dew + 0.4) && !leaf_may_be_wet(&room, dew + 0.6));
}

#[test]
fn the_mean_of_deficits_is_not_the_deficit_of_means() {
    // 12 h at 16 °C and 90 %, 12 h at 28 °C and 50 %, light from 6 to 18.
    let readings: Vec<Reading> = (0..=24)
        .map(|h| {
            let lit = (6..18).contains(&h);
            let air = if lit { air(28.0, 50.0) } else { air(16.0, 90.0) };
            Reading { hour: f64::from(h), air, lit }
        })
        .collect();
    let days = daily_deficits(&readings, LeafOffset { lit: 0.0, dark: 0.0 });
    assert_eq!(days.len(), 1);
    let day = &days[0];
    assert!(day.enough);
    near(day.hours, 24.0, 1e-9);
    // By trapezoids: eleven hours of each kind and two of their mean.
    let (warm, cool) = (air(28.0, 50.0).deficit(), air(16.0, 90.0).deficit());
    near(day.air, (11.0 * warm + 11.0 * cool + 2.0 * (warm + cool) / 2.0) / 24.0, 1e-9);
    assert!(day.air > air(22.0, 70.0).deficit());
    assert!(day.leaf_lit.unwrap() > 5.0 * day.leaf_dark.unwrap());
}

#[test]
fn days_are_split_at_midnight_and_gaps_are_missing() {
    let reading = |hour: f64, h: f64| Reading { hour, air: air(20.0, h), lit: false };
    let days = daily_deficits(
        &[reading(23.0, 50.0), reading(25.0, 70.0), reading(30.0, 70.0)],
        LeafOffset::default(),
    );
    assert_eq!(days.len(), 2);
    let full = saturation_pressure(20.0);
    near(days[0].air, full * 0.45, 1e-9);
    near(days[1].air, full * 0.35, 1e-9);
    near(days[1].hours, 1.0, 1e-9);
    assert!(!days[0].enough && days[0].leaf_lit.is_none());
}

#[test]
fn classes_and_watches() {
    let uses: Vec<_> = classes_of(0.75).iter().map(|c| c.purpose).collect();
    assert_eq!(uses.len(), 3, "{uses:?}");
    assert!(classes_of(0.1).is_empty() && classes_of(1.9).is_empty());
    assert!(stress_watch(1.7) && !stress_watch(1.5));
    assert!(disease_watch(7.0, 0.15, 80.0) && disease_watch(7.0, 0.3, 92.0));
    assert!(!disease_watch(5.0, 0.1, 95.0) && !disease_watch(9.0, 0.3, 85.0));
}

#[test]
fn readings_that_are_odd() {
    let mut readings = vec![(0.0, 20.0, 50.0), (0.05, 29.0, 50.0), (1.0, 38.0, 50.0)];
    readings.push((1.1, 37.0, 106.0));
    // A sensor that stands still from hour 2 on.
    readings.extend((2..=9).map(|h| (f64::from(h), 21.0, 55.0)));
    assert_eq!(odd_readings(&readings), [(1, Odd::Jump), (3, Odd::Impossible), (11, Odd::Flat)]);
    assert!(odd_readings(&[]).is_empty());
}

#[test]
fn salt_test() {
    let test = SaltTest::new(78.3, 25.0, 0.5).unwrap();
    near(test.offset, -3.0, 1e-9);
    near(test.sd, 0.2_f64.hypot(0.5), 1e-12);
    near(test.corrected(60.0).value, 57.0, 1e-9);
    assert!(SaltTest::new(75.0, 5.0, 0.5).is_err());
}

#[test]
fn impossible_air_is_refused() {
    for (t, h) in [(f64::NAN, 50.0), (20.0, 100.1), (20.0, -1.0), (61.0, 50.0)] {
        assert!(Air::new(t, h).is_err(), "{t} {h}");
    }
    let refused = Air::new(20.0, 140.0).unwrap_err();
    assert!(refused.to_string().contains("140 %"), "{refused}");
    near(Air::from_sensor(20.0, 103.0).unwrap().humidity(), 100.0, 0.0);
    assert!(Air::from_sensor(20.0, 106.0).is_err() && Air::from_sensor(-11.0, 50.0).is_err());
    assert!(air(20.0, 0.0).dew_point().is_none());
}

/// The slow way: where a rising function is 0, by halving.
fn halving(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if f(middle) > 0.0 { high = middle } else { low = middle }
    }
    0.5 * (low + high)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn dew_point_and_wet_bulb_by_halving(t in -20.0..50.0_f64, h in 1.0..100.0_f64) {
        let found = air(t, h);
        let actual = found.vapour_pressure();
        let dew = found.dew_point().unwrap();
        let slow = if actual < saturation_pressure(0.0) {
            halving(-90.0, 0.0, |d| saturation_pressure_over_ice(d) - actual)
        } else {
            halving(0.0, 60.0, |d| saturation_pressure(d) - actual)
        };
        prop_assert!((dew.temperature - slow).abs() < 1e-9, "{dew:?} {slow}");
        // By enthalpy: cooling the air to its wet bulb changes nothing but for the heat that the
        // added water, or ice, brought along.
        let ratio = |e: f64| 0.621_945 * e / (101.325 - e);
        let enthalpy = |t: f64, w: f64| 1.006 * t + w * (2501.0 + 1.86 * t);
        let lost = |wet: f64| {
            let (e, brought) = if wet < 0.0 {
                (saturation_pressure_over_ice(wet), 2501.0 - 2830.0 + 2.1 * wet)
            } else {
                (saturation_pressure(wet), 4.186 * wet)
            };
            let (w, saturated) = (ratio(actual), ratio(e));
            enthalpy(wet, saturated) - enthalpy(t, w) - (saturated - w) * brought
        };
        let wet = found.wet_bulb(STANDARD_PRESSURE.value);
        prop_assert!(lost(wet).abs() < 1e-8, "{wet} {}", lost(wet));
        if wet >= 0.0 {
            prop_assert!((wet - halving(0.0, t, lost)).abs() < 1e-8);
        }
    }

    #[test]
    fn order_of_temperatures(t in 0.0..50.0_f64, h in 5.0..100.0_f64) {
        let found = air(t, h);
        let wet = found.wet_bulb(STANDARD_PRESSURE.value);
        let dew = found.dew_point().unwrap();
        prop_assert!(found.deficit() >= 0.0);
        prop_assert!(wet <= t + 1e-9);
        prop_assert!(dew.temperature <= t + 1e-9);
        prop_assert!(dew.temperature <= wet + 1e-9);
        let slope = (saturation_pressure(t + 1e-4) - saturation_pressure(t - 1e-4)) / 2e-4;
        prop_assert!((saturation_slope(t) / slope - 1.0).abs() < 1e-6);
    }
}
