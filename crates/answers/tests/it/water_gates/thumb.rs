//! What growers say by rule of thumb. Common practice, no source: none of it is a reference.

use std::collections::BTreeMap;

use answers::water::{Facts, Happening, Pot, What, Wish, night};
use culture::{air::Air, clock::DayClimate};
use journal::Known;

/// At 23 to 24 °C and 70 % the deficit is held to be about 0.9 kPa. The formula gives 0.84 to 0.90.
#[test]
fn a_room_of_23_degrees_and_70_percent() {
    for (celsius, expected) in [(23.0, 0.84), (23.5, 0.87), (24.0, 0.90)] {
        let deficit = Air::new(celsius, 70.0).unwrap().deficit();
        assert!((deficit - expected).abs() < 0.01, "{celsius} °C: {deficit}");
    }
}

/// A thick-leaved climber in a small pot by a lamp, in summer: a look every five or six days. This is
/// what is said of a pot of 9 cm before anything was seen of it, in that room and with 5 mol of light.
#[test]
fn a_climber_by_a_lamp() {
    let watered = What::Look { found: None, watered: true, limp: false, full: None };
    let pot = Pot {
        key: 1,
        species: "Dischidia nummularia".to_owned(),
        genus: "Dischidia".to_owned(),
        wish: Wish::JustDry,
        happenings: vec![Happening { from: 100, to: 100, what: watered, known: Known::Seen }],
        facts: Facts { litres: Some(0.4), ..Facts::default() },
        places: vec![(0, 1)],
    };
    let deficit = Some(Air::new(23.5, 70.0).unwrap().deficit());
    let day = DayClimate { deficit, light: Some(5.0) };
    let climates = BTreeMap::from([(1, (90, vec![day; 11]))]);
    let night = night(std::slice::from_ref(&pot), &climates, 100).unwrap();
    let middle = night.now(&pot).due(0.5).unwrap() - 100.0;
    assert!((5.0..=6.0).contains(&middle), "{middle} days");
}
