use culture::light::{
    day::YearDay,
    glass::Glazing,
    sky,
    window::{
        DULL_SKY, Outside, Pose, Spot, Window, any_direction, average_daylight_factor, day,
        usual_clearness, view, year,
    },
};
use proptest::prelude::*;

use crate::reference::near;

const SOUTH: f64 = 180.0;

fn sill(distance: f64) -> Spot {
    Spot { distance, sill: 0.0, sideways: 0.0, pose: Pose::Flat }
}

fn december() -> (YearDay, Outside) {
    let day = YearDay::new(52.0, 355).unwrap();
    (day, Outside::of_month(day, 0.30).unwrap())
}

#[test]
fn worked_figures_of_a_december_window() {
    // Computed from the stated formula, not published: 52° N, clearness 0.30, double glass
    // (0.68 there, 0.69 here), 1.2 × 1.2 m, leaf at the height of the sill.
    let (date, outside) = december();
    near(outside.diffuse, 2.47, 0.01);
    let window = Window::new(0.0, 1.2, 1.2);
    for (distance, expected) in [(0.3, 0.48), (1.0, 0.15)] {
        let found = day(&window, &sill(distance), date, outside).unwrap();
        near(found.sky, expected, 0.01);
        // To the north there is no sun in December.
        near(found.beam, 0.0, 0.0);
        near(found.direct_minutes, 0.0, 0.0);
    }
    // DF = T A θ / (A (1 − R²)): T 0.68, 1.44 m², 65°, 60 m², R 0.5.
    near(average_daylight_factor(0.68, 1.44, 65.0, 60.0, 0.5).unwrap(), 1.41, 0.006);
}

#[test]
fn a_leaf_turned_to_the_glass_sees_ground_below_its_horizon() {
    let window = Window::new(SOUTH, 1.2, 1.2);
    let middle = Spot { distance: 0.05, sill: -0.6, sideways: 0.0, pose: Pose::ToGlass };
    let seen = view(&window, &middle).unwrap();
    near(seen.sky, seen.ground, 1e-12);
    assert!(seen.sky > 0.49 && seen.sky < 0.5);
    // A flat leaf has no view below its horizon.
    let flat = view(&window, &Spot { pose: Pose::Flat, ..middle }).unwrap();
    near(flat.ground, 0.0, 0.0);
    // Tilting goes from one to the other without a jump.
    for (tilt, pose) in [(0.0, Pose::Flat), (90.0, Pose::ToGlass)] {
        let tilted = view(&window, &Spot { pose: Pose::Tilted(tilt), ..middle }).unwrap();
        let plain = view(&window, &Spot { pose, ..middle }).unwrap();
        near(tilted.sky, plain.sky, 1e-9);
        near(tilted.ground, plain.ground, 1e-9);
    }
}

#[test]
fn houses_before_a_window_hide_sky_from_below() {
    let open = Window::new(SOUTH, 1.2, 1.2);
    let street = Window { obstruction: 40.0, ..open };
    let spot = sill(0.5);
    let (a, b) = (view(&open, &spot).unwrap(), view(&street, &spot).unwrap());
    near(b.sky + b.obstruction, a.sky, 1e-12);
    assert!(b.sky < a.sky && b.obstruction > 0.0);
    let wall = view(&Window { obstruction: 90.0, ..open }, &spot).unwrap();
    near(wall.sky, 0.0, 0.0);
    near(wall.obstruction, a.sky, 1e-12);
    // At 0.5 m a sun below 40° no longer comes in: none at noon in December at 52° N.
    let (date, outside) = december();
    assert!(day(&open, &spot, date, outside).unwrap().direct_minutes > 120.0);
    near(day(&street, &spot, date, outside).unwrap().direct_minutes, 0.0, 0.0);
}

#[test]
fn glass_lets_less_through_at_a_slant() {
    let kinds = [Glazing::Single, Glazing::Double, Glazing::LowEmissivityDouble, Glazing::Triple];
    let mut above = 1.0;
    for kind in kinds {
        let t = kind.transmission();
        near(t.diffuse(), kind.diffuse().unwrap().value, 1e-12);
        assert!(t.diffuse() < above, "{kind:?}");
        above = t.diffuse();
        let mut last = t.beam(0.0);
        assert!(last > t.diffuse() && last < 0.95, "{kind:?} {last}");
        for degree in 1..=90 {
            let now = t.beam(f64::from(degree).to_radians());
            assert!(now <= last + 1e-6 || degree < 45, "{kind:?} {degree}: {now} after {last}");
            last = now;
        }
        near(last, 0.0, 1e-9);
    }
    near(Glazing::None.transmission().beam(1.2), 1.0, 0.0);
    // Four hundredths are reflected at each face of a pane of index 1.5: physics of glass.
    let once = ((1.526_f64 - 1.0) / (1.526 + 1.0)).powi(2);
    near(once, 0.043, 0.0005);
}

#[test]
fn sun_through_the_glass_agrees_with_looking_at_every_minute() {
    // The slow way: each minute, where does the ray from the leaf to the sun meet the wall?
    let window = Window { glazing: Glazing::None, dirt: 1.0, ..Window::new(200.0, 1.0, 1.4) };
    let spot = Spot { distance: 0.8, sill: -0.2, sideways: 0.3, pose: Pose::Flat };
    for number in [80, 172, 266, 355] {
        let date = YearDay::new(48.0, number).unwrap();
        let mut minutes = 0.0;
        for minute in 0..1440 {
            let sun = date.sun((f64::from(minute) + 0.5) / 60.0 - 12.0);
            let turn = (sun.azimuth - 200.0).to_radians();
            if sun.altitude() <= 0.0 || turn.cos() <= 0.0 {
                continue;
            }
            let aside = 0.8 * turn.tan();
            let up = 0.8 * sun.altitude().to_radians().tan() / turn.cos();
            let inside = (aside - 0.3).abs() <= 0.5 && (-0.2..=1.2).contains(&up);
            minutes += if inside { 1.0 } else { 0.0 };
        }
        let outside = Outside { global: 30.0, diffuse: 10.0 };
        let found = day(&window, &spot, date, outside).unwrap();
        near(found.direct_minutes, minutes, 20.0);
        assert_eq!(found.beam > 0.0, found.direct_minutes > 0.0);
    }
}

#[test]
fn a_leaf_outdoors_gets_all_the_beam() {
    // An opening so large that the leaf sees half of the sky through it, towards the sun.
    let window = Window { glazing: Glazing::None, dirt: 1.0, ..Window::new(SOUTH, 4000.0, 4000.0) };
    let (date, outside) = december();
    let found = day(&window, &sill(0.01), date, outside).unwrap();
    near(found.beam, outside.global - outside.diffuse, 1e-3);
    near(found.sky, outside.diffuse / 2.0, 1e-3);
}

#[test]
fn a_year_has_its_light_in_summer() {
    let clearness = usual_clearness(52.0).unwrap();
    let spot = sill(0.4);
    let months = year(&Window::new(SOUTH, 1.2, 1.2), &spot, 52.0, &clearness).unwrap();
    assert_eq!(months.len(), 12);
    assert!(months[11].dli() < months[5].dli());
    // South of the equator the year is turned round.
    let south = usual_clearness(-52.0).unwrap();
    let turned = year(&Window::new(0.0, 1.2, 1.2), &spot, -52.0, &south).unwrap();
    assert!(turned[5].dli() < turned[11].dli());
    let range = any_direction(&Window::new(SOUTH, 1.2, 1.2), &spot, 52.0, &clearness).unwrap();
    for (month, (low, high)) in months.iter().zip(&range) {
        assert!(*low < *high && (*low - 1e-12..=*high + 1e-12).contains(&month.dli()));
    }
}

#[test]
fn curtain_dirt_and_dull_sky_take_light_away() {
    let (date, outside) = december();
    let plain = Window::new(SOUTH, 1.2, 1.2);
    let spot = sill(0.4);
    let of = |w: Window| day(&w, &spot, date, outside).unwrap();
    let clean = of(plain);
    near(of(Window { net_curtain: true, ..plain }).dli(), clean.dli() / 2.0, 1e-12);
    near(of(Window { dirt: 0.45, ..plain }).dli(), clean.dli() / 2.0, 1e-12);
    let dull = of(Window { sky: DULL_SKY.value, ..plain });
    near(dull.sky, 0.8 * clean.sky, 1e-12);
    near(dull.beam, clean.beam, 0.0);
}

#[test]
fn windows_that_cannot_be_are_refused() {
    let (date, outside) = december();
    let plain = Window::new(SOUTH, 1.2, 1.2);
    let windows = [
        Window { width: 0.0, ..plain },
        Window { height: f64::NAN, ..plain },
        Window { obstruction: 95.0, ..plain },
        Window { albedo: 1.5, ..plain },
        Window { dirt: -0.1, ..plain },
        Window { sky: 2.0, ..plain },
        Window { direction: f64::INFINITY, ..plain },
    ];
    for window in windows {
        assert!(day(&window, &sill(0.4), date, outside).is_err(), "{window:?}");
    }
    let spots = [
        sill(0.0),
        Spot { sill: f64::NAN, ..sill(0.4) },
        Spot { pose: Pose::Tilted(120.0), ..sill(0.4) },
    ];
    for spot in spots {
        assert!(view(&plain, &spot).is_err(), "{spot:?}");
    }
    let strange = Outside { global: 3.0, diffuse: 4.0 };
    assert!(day(&plain, &sill(0.4), date, strange).is_err());
    let said = Outside::of_month(date, 30.0).unwrap_err().to_string();
    assert!(said.contains("clearness 30 is not a share"), "{said}");
    assert!(average_daylight_factor(0.68, 1.44, 65.0, 60.0, 1.0).is_err());
    assert!(average_daylight_factor(0.68, 1.44, 95.0, 60.0, 0.5).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// What a leaf sees is at most its hemisphere, and a flat leaf gets no more than open ground.
    #[test]
    fn no_window_gives_more_than_there_is_outside(
        direction in 0.0..360.0, width in 0.1..4.0, height in 0.1..3.0, distance in 0.02..4.0,
        sill in -2.0..2.0, sideways in -3.0..3.0, obstruction in 0.0..80.0, tilt in 0.0..90.0,
        latitude in -66.0..66.0, number in 1u32..=365, clearness in 0.2..0.8
    ) {
        let window = Window { obstruction, ..Window::new(direction, width, height) };
        let spot = Spot { distance, sill, sideways, pose: Pose::Tilted(tilt) };
        let seen = view(&window, &spot).unwrap();
        prop_assert!(seen.sky + seen.obstruction + seen.ground <= 1.0 + 1e-9);
        let date = YearDay::new(latitude, number).unwrap();
        let outside = Outside::of_month(date, clearness).unwrap();
        prop_assert!(outside.diffuse <= outside.global);
        let flat = Spot { pose: Pose::Flat, ..spot };
        let found = day(&window, &flat, date, outside).unwrap();
        prop_assert!(found.dli() <= outside.global + 1e-9, "{found:?}");
        prop_assert!(found.sky <= outside.diffuse + 1e-9);
        prop_assert!(found.sky >= 0.0 && found.beam >= 0.0 && found.obstruction >= 0.0);
        // Farther from the glass the sky gets smaller.
        let back = view(&window, &Spot { distance: distance + 0.5, sill: 0.0, sideways: 0.0, ..flat });
        let near_by = view(&window, &Spot { sill: 0.0, sideways: 0.0, ..flat });
        prop_assert!(back.unwrap().sky <= near_by.unwrap().sky + 1e-12);
    }
}

#[test]
fn photons_of_daylight_agree_with_the_solar_spectrum() {
    // ASTM G173 AM1.5G: 1.977 µmol per joule of global radiation; 4 % for any daylight.
    let case = crate::reference::json("light/par_conversion.json");
    let spectrum = case["expected"]["AM15G"]["umol_per_J_global"].as_f64().unwrap();
    near(sky::photons_per_megajoule() / spectrum, 1.0, 0.04);
    let share = case["expected"]["AM15G"]["PAR_fraction"].as_f64().unwrap();
    near(sky::PAR_SHARE.value / share, 1.0, 0.04);
}
