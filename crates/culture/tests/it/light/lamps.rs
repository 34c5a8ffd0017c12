use culture::light::lamp::{
    Emitter, Lamp, LampKind, Leaf, aged, beam_exponent, photon_flux, together,
};
use proptest::prelude::*;

use crate::reference::{near, table};

fn panel(width: f64, length: f64, flux: f64) -> Lamp {
    Lamp::new(Emitter::Panel { width, length }, flux, [0.0; 3]).unwrap()
}

#[test]
fn light_under_a_panel_agrees_with_the_reference() {
    for row in table("light/led_panel_open.csv").rows() {
        let lamp =
            panel(row.number("width_m"), row.number("length_m"), row.number("photon_flux_umol_s"));
        let point = [row.number("x_m"), row.number("y_m"), -row.number("z_m")];
        let (factor, expected) = (row.number("view_factor"), row.number("PPFD"));
        near(lamp.view_factor(point).unwrap(), factor, 1e-6 * factor);
        near(lamp.ppfd(point, Leaf::FLAT), expected, 1e-6 * expected);
    }
}

#[test]
fn worked_figures_of_lamps() {
    // Computed from the stated formulas, not published.
    let square = panel(0.30, 0.30, 44.0);
    for (height, centre, aside) in [(0.15, 271.0, 34.0), (0.30, 117.0, 41.0), (0.45, 60.0, 33.0)] {
        near(square.ppfd([0.0, 0.0, -height], Leaf::FLAT), centre, 0.5);
        near(square.ppfd([0.30, 0.0, -height], Leaf::FLAT), aside, 0.5);
    }
    let bar = panel(0.03, 0.90, 30.0);
    near(bar.ppfd([0.0, 0.0, -0.30], Leaf::FLAT), 51.0, 0.05);
    near(bar.ppfd([0.0, 0.45, -0.30], Leaf::FLAT), 27.4, 0.05);
    near(bar.ppfd([0.20, 0.0, -0.30], Leaf::FLAT), 28.2, 0.05);
    let bulb = Lamp::new(Emitter::Bulb { beam: 60.0 }, 28.5, [0.0; 3]).unwrap();
    near(beam_exponent(60.0), 4.82, 0.005);
    near(beam_exponent(120.0), 1.0, 1e-12);
    near(bulb.ppfd([0.0, 0.0, -0.60], Leaf::FLAT), 73.0, 0.5);
    near(bulb.ppfd([0.30, 0.0, -0.60], Leaf::FLAT), 31.0, 0.5);
}

#[test]
fn photons_from_watts_age_and_dust() {
    // Computed from the stated formula, not published: 20 W at 2.2 µmol/J would be 44 µmol/s.
    near(photon_flux(LampKind::PlantBar, 20.0, 0.0, 1.0).unwrap(), 46.0, 1e-9);
    near(aged(20_000.0, 36_000.0).unwrap(), 0.943, 0.0005);
    near(aged(36_000.0, 36_000.0).unwrap(), 0.9, 1e-12);
    let old = photon_flux(LampKind::WhiteLed, 18.0, 20_000.0, 0.95).unwrap();
    near(old, 18.0 * 1.6 * 0.9431 * 0.95, 0.01);
    for kind in LampKind::ALL {
        let culture::Spread::Range(low, high) = kind.efficacy().spread else { panic!("{kind:?}") };
        assert!(low < kind.efficacy().value && kind.efficacy().value < high);
    }
    assert!(photon_flux(LampKind::WhiteLed, -1.0, 0.0, 1.0).is_err());
    assert!(photon_flux(LampKind::WhiteLed, 18.0, 0.0, 95.0).is_err());
    assert!(aged(f64::NAN, 36_000.0).is_err());
}

#[test]
fn lamps_that_cannot_be_are_refused() {
    let said = Lamp::new(Emitter::Panel { width: 0.0, length: 1.0 }, 5.0, [0.0; 3])
        .unwrap_err()
        .to_string();
    assert!(said.contains("width 0 is not above zero"), "{said}");
    assert!(Lamp::new(Emitter::Bulb { beam: 180.0 }, 5.0, [0.0; 3]).is_err());
    assert!(Lamp::new(Emitter::Bulb { beam: 60.0 }, -5.0, [0.0; 3]).is_err());
    assert!(Lamp::new(Emitter::Bulb { beam: 60.0 }, 5.0, [f64::NAN, 0.0, 0.0]).is_err());
    assert!(Leaf::tilted(190.0, 0.0).is_err());
}

#[test]
fn nothing_arrives_beside_or_above_a_lamp() {
    for lamp in
        [panel(0.3, 0.3, 40.0), Lamp::new(Emitter::Bulb { beam: 60.0 }, 40.0, [0.0; 3]).unwrap()]
    {
        near(lamp.ppfd([0.0, 0.0, 0.2], Leaf::FLAT), 0.0, 0.0);
        near(lamp.ppfd([0.0, 0.4, 0.0], Leaf::FLAT), 0.0, 0.0);
    }
}

/// What passes through a closed box around a lamp: its floor, and its four walls seen as upright
/// leaves turned to the inside.
fn through_a_box(lamp: &Lamp, half: f64, depth: f64, n: u32) -> f64 {
    let step = 2.0 * half / f64::from(n);
    let across = |i: u32| -half + (f64::from(i) + 0.5) * step;
    let mut sum = 0.0;
    for i in 0..n {
        for j in 0..n {
            sum += lamp.ppfd([across(i), across(j), -depth], Leaf::FLAT) * step * step;
        }
    }
    let down = depth / f64::from(n);
    for (at, towards) in [(half, 180.0), (-half, 0.0)] {
        for i in 0..n {
            for j in 0..n {
                let z = -(f64::from(j) + 0.5) * down;
                let wall = |t: f64| Leaf::tilted(90.0, t).unwrap();
                sum += lamp.ppfd([at, across(i), z], wall(towards)) * step * down;
                sum += lamp.ppfd([across(i), at, z], wall(towards + 90.0)) * step * down;
            }
        }
    }
    sum
}

#[test]
fn what_a_lamp_gives_off_arrives_somewhere() {
    let lamps = [
        panel(0.6, 0.2, 50.0),
        panel(0.03, 0.9, 50.0),
        Lamp::new(Emitter::Bulb { beam: 40.0 }, 50.0, [0.0; 3]).unwrap(),
        Lamp::new(Emitter::Bulb { beam: 120.0 }, 50.0, [0.0; 3]).unwrap(),
    ];
    for lamp in lamps {
        near(through_a_box(&lamp, 1.2, 0.8, 160), 50.0, 0.05);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Far away a panel is a point; a wide bulb is one at any distance. A leaf that stands edge-on sees
    /// a part of the panel, but all of the point or nothing of it, so those are left out.
    #[test]
    fn far_away_a_panel_is_a_point(x in -2.0..2.0f64, y in -2.0..2.0f64, tilt in 0.0..60.0) {
        let leaf = Leaf::tilted(tilt, 30.0).unwrap();
        let n = leaf.normal();
        let distance = (x * x + y * y + 4.0f64).sqrt();
        // The panel is half a degree wide from here.
        prop_assume!(((2.0 * n[2] - x * n[0] - y * n[1]) / distance).abs() > 0.02);
        let small = panel(0.02, 0.02, 20.0);
        let bulb = Lamp::new(Emitter::Bulb { beam: 120.0 }, 20.0, [0.0; 3]).unwrap();
        let (a, b) = (small.ppfd([x, y, -2.0], leaf), bulb.ppfd([x, y, -2.0], leaf));
        prop_assert!((a - b).abs() <= 1e-3 * b + 1e-9, "{a} {b}");
    }

    /// Lamps add up, and a panel is the sum of its halves.
    #[test]
    fn a_panel_is_the_sum_of_its_halves(
        x in -1.0..1.0f64, y in -1.0..1.0f64, z in 0.05..2.0f64, tilt in 0.0..120.0, turn in 0.0..360.0
    ) {
        let leaf = Leaf::tilted(tilt, turn).unwrap();
        let whole = panel(0.8, 0.3, 40.0);
        let half = Emitter::Panel { width: 0.4, length: 0.3 };
        let halves = [-0.2, 0.2].map(|at| Lamp::new(half, 20.0, [at, 0.0, 0.0]).unwrap());
        let point = [x, y, -z];
        let (one, two) = (whole.ppfd(point, leaf), together(&halves, point, leaf));
        prop_assert!((one - two).abs() < 1e-7, "{one} {two}");
        let flat = together(&halves, point, Leaf::FLAT);
        prop_assert!((flat - whole.ppfd(point, Leaf::FLAT)).abs() < 1e-9);
    }
}
