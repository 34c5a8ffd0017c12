use culture::light::{
    day::YearDay,
    sky::{self, Outdoors, clear_day, clear_sky, diffuse_share, haurwitz, on_facade},
    sun::{Place, Sun},
};
use proptest::prelude::*;

use super::date;
use crate::reference::{json, near, table};

#[test]
fn light_on_an_upright_plane_agrees_with_the_reference_at_each_moment() {
    // Isotropic columns of another library, given its zenith, azimuth and light outdoors.
    let tolerance = json("light/window_open.json")["tolerance"]["instant_transposition_abs_Wm2"]
        .as_f64()
        .unwrap();
    for row in table("light/window_open_instant.csv").rows() {
        let sun = Sun { zenith: row.number("apparent_zenith"), azimuth: row.number("azimuth") };
        let light = Outdoors {
            global: row.number("ghi"),
            beam: row.number("dni"),
            diffuse: row.number("dhi"),
        };
        let face = on_facade(sun, light, row.number("window_azimuth"), 0.2).unwrap();
        near(face.direct, row.number("iso_direct"), tolerance);
        near(face.sky, row.number("iso_sky"), tolerance);
        near(face.ground, row.number("iso_ground"), tolerance);
        near(face.total(), row.number("iso_total"), tolerance);
    }
}

#[test]
fn a_clear_sky_agrees_with_the_reference_at_each_moment() {
    for row in table("light/window_open_instant.csv").rows() {
        let light = clear_sky(row.number("apparent_zenith"), 3.0, 0.0, 1364.0).unwrap();
        near(light.global, row.number("ghi"), 0.5);
        near(light.beam, row.number("dni"), 0.5);
        near(light.diffuse, row.number("dhi"), 0.5);
    }
}

#[test]
fn a_clear_day_on_a_window_agrees_with_the_reference() {
    // The same clear-sky model: 2 %; where almost nothing falls, 0.01 MJ.
    for row in table("light/window_open_daily.csv").rows() {
        let place = Place::new(row.number("lat"), row.number("lon")).unwrap();
        let day =
            clear_day(place, date(row.text("solar_date")), row.number("window_azimuth"), 3.0, 0.2)
                .unwrap();
        for (found, column) in [
            (day.global, "GHI_MJ"),
            (day.beam, "DNI_MJ"),
            (day.diffuse, "DHI_MJ"),
            (day.facade.direct, "iso_direct_MJ"),
            (day.facade.sky, "iso_sky_MJ"),
            (day.facade.ground, "iso_ground_MJ"),
            (day.facade.total(), "iso_total_MJ"),
        ] {
            let expected = row.number(column);
            near(found, expected, (0.02 * expected).max(0.01));
        }
        near(day.direct_hours, row.number("hours_direct_sun_on_window"), 0.35);
    }
}

#[test]
fn two_models_of_a_clear_sky_differ_by_less_than_a_quarter() {
    // The simpler model, day sums of the reference: computed here with the same steps.
    for row in table("light/window_open_daily.csv").rows() {
        let place = Place::new(row.number("lat"), row.number("lon")).unwrap();
        let midnight =
            culture::light::day::solar_midnight(place, date(row.text("solar_date"))).unwrap();
        let sum: f64 = (0..144)
            .map(|s| midnight.plus_days((f64::from(s) + 0.5) / 144.0))
            .map(|m| culture::light::sun::apparent(place, m, 1013.25, 12.0).unwrap())
            .map(|sun| haurwitz(sun.zenith) * 600.0 / 1e6)
            .sum();
        let expected = row.number("haurwitz_GHI_MJ");
        near(sum, expected, 0.02 * expected);
        near(sum / row.number("GHI_MJ"), 1.0, 0.25);
    }
}

#[test]
fn diffuse_share_of_a_dark_december() {
    // Computed from the stated formula, not published: 52° N, 21 December, clearness 0.30.
    let day = YearDay::new(52.0, 355).unwrap();
    let global = 0.30 * day.extraterrestrial();
    near(global, 1.89, 0.005);
    near(diffuse_share(day, 0.30), 0.642, 0.001);
    near(diffuse_share(day, 0.30) * global * sky::photons_per_megajoule(), 2.47, 0.005);
    // Outside of the range of the formula its end is taken.
    near(diffuse_share(day, 0.1), diffuse_share(day, 0.3), 0.0);
    near(diffuse_share(day, 0.95), diffuse_share(day, 0.8), 0.0);
}

#[test]
fn usual_clearness_turns_with_the_hemisphere() {
    let at = |latitude, month| sky::usual_clearness(latitude, month).unwrap();
    near(at(52.0, 12).value, 0.30, 1e-12);
    near(at(52.0, 6).value, 0.45, 1e-12);
    near(at(-52.0, 6).value, 0.30, 1e-12);
    near(at(10.0, 3).value, 0.50, 1e-12);
    assert_eq!(at(52.0, 3).basis, culture::Basis::CommonPractice);
    assert!(sky::usual_clearness(52.0, 13).is_err());
    assert!(sky::usual_clearness(152.0, 1).is_err());
}

#[test]
fn light_that_cannot_be_is_refused() {
    let sun = Sun { zenith: 40.0, azimuth: 180.0 };
    let light = Outdoors { global: 500.0, beam: 400.0, diffuse: 100.0 };
    let said = on_facade(sun, light, 180.0, 1.2).unwrap_err().to_string();
    assert!(said.contains("albedo 1.2 is not a share from 0 to 1; write 20 % as 0.2"), "{said}");
    assert!(on_facade(sun, Outdoors { beam: -1.0, ..light }, 180.0, 0.2).is_err());
    assert!(clear_sky(40.0, 0.5, 0.0, 1364.0).is_err());
    assert!(clear_sky(40.0, f64::INFINITY, 0.0, 1364.0).is_err());
}

/// Light on an upright plane under an even sky over an even ground, piece by piece of the
/// hemisphere before it.
fn hemisphere(diffuse: f64, global: f64, albedo: f64) -> (f64, f64) {
    const N: u32 = 600;
    let step = std::f64::consts::PI / f64::from(N);
    let (mut sky, mut ground) = (0.0, 0.0);
    for i in 0..N {
        // Altitude from -90 to 90 degrees, azimuth from the plane's left to its right.
        let altitude = -std::f64::consts::FRAC_PI_2 + (f64::from(i) + 0.5) * step;
        for j in 0..N {
            let turn = -std::f64::consts::FRAC_PI_2 + (f64::from(j) + 0.5) * step;
            let part = altitude.cos().powi(2) * turn.cos() * step * step / std::f64::consts::PI;
            if altitude > 0.0 {
                sky += diffuse * part;
            } else {
                ground += albedo * global * part;
            }
        }
    }
    (sky, ground)
}

#[test]
fn an_upright_plane_agrees_with_adding_up_the_hemisphere() {
    let light = Outdoors { global: 420.0, beam: 0.0, diffuse: 300.0 };
    let face = on_facade(Sun { zenith: 30.0, azimuth: 0.0 }, light, 90.0, 0.25).unwrap();
    let (sky, ground) = hemisphere(300.0, 420.0, 0.25);
    near(face.sky, sky, 0.01);
    near(face.ground, ground, 0.01);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Sky and ground on two planes back to back add up to what an even sphere would give, and the
    /// sun shines on one of them only, with no more than its beam.
    #[test]
    fn light_on_planes_back_to_back_is_conserved(
        zenith in 0.0..90.0f64, azimuth in 0.0..360.0, direction in 0.0..360.0,
        beam in 0.0..1000.0, diffuse in 0.0..400.0, albedo in 0.0..1.0
    ) {
        let sun = Sun { zenith, azimuth };
        let global = diffuse + beam * zenith.to_radians().cos();
        let light = Outdoors { global, beam, diffuse };
        let front = on_facade(sun, light, direction, albedo).unwrap();
        let back = on_facade(sun, light, direction + 180.0, albedo).unwrap();
        prop_assert!((front.sky + back.sky - diffuse).abs() < 1e-9);
        prop_assert!((front.ground + back.ground - albedo * global).abs() < 1e-9);
        prop_assert!(front.direct.min(back.direct) < 1e-9);
        prop_assert!(front.direct.max(back.direct) <= beam * zenith.to_radians().sin() + 1e-9);
        // Four planes to the four sides never get more beam than a box can catch.
        let sides = [0.0, 90.0, 180.0, 270.0].map(|turn| {
            on_facade(sun, light, direction + turn, albedo).unwrap().direct
        });
        let caught: f64 = sides.iter().map(|d| d * d).sum::<f64>();
        prop_assert!((caught.sqrt() - beam * zenith.to_radians().sin()).abs() < 1e-6);
    }

    /// A clear sky is never brighter than the sun above the air, and its parts add up.
    #[test]
    fn a_clear_sky_keeps_its_books(zenith in 0.0..120.0f64, turbidity in 1.5..8.0) {
        let light = clear_sky(zenith, turbidity, 0.0, 1364.0).unwrap();
        let cosine = zenith.to_radians().cos().max(0.0);
        prop_assert!(light.global <= 1364.0 * cosine + 1e-9);
        prop_assert!((light.beam * cosine + light.diffuse - light.global).abs() < 1e-6);
        prop_assert!(light.beam >= 0.0 && light.diffuse >= 0.0);
    }
}
