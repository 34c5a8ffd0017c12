//! Humidifiers and dehumidifiers.

use culture::{
    Estimate,
    air::Air,
    machine::{Room, load, size_for, warming},
};

use crate::support::near;

fn air(temperature: f64, humidity: f64) -> Air {
    Air::new(temperature, humidity).unwrap()
}

#[test]
fn the_plants_decide_not_the_air_in_the_room() {
    // Computed from the stated formula: 30 m³ from 85 to 65 % at 22 °C once: 116 g. A hundred
    // plants of 30 g a day go on giving 3 kg a day.
    let room = Room { volume: 30.0, air_changes: 0.0 };
    let (now, target) = (air(22.0, 85.0), air(22.0, 65.0));
    let found = load(&room, &now, &target, &air(5.0, 90.0), 3000.0).unwrap();
    near(found.once, 116.0, 1.0);
    near(found.per_hour.value, 125.0, 1e-9);
    near(found.per_day.value, 3.0, 1e-9);
    assert!(found.per_day.lower < 3.0 && found.per_day.upper > 4.0);
    near(found.by_air.value, 0.0, 0.0);
}

#[test]
fn dry_air_from_outside_asks_for_a_humidifier() {
    let room = Room { volume: 40.0, air_changes: 0.5 };
    let found = load(&room, &air(21.0, 40.0), &air(21.0, 60.0), &air(0.0, 80.0), 0.0).unwrap();
    assert!(found.per_hour.value < 0.0 && found.once < 0.0);
    // Mass balance: what the air takes away in an hour.
    let away = 20.0 * (air(21.0, 60.0).absolute_humidity() - air(0.0, 80.0).absolute_humidity());
    near(found.by_air.value, -away, 1e-9);
    assert!(found.by_air.lower < found.by_air.value && found.by_air.value < found.by_air.upper);
    assert!(
        load(
            &Room { volume: -1.0, air_changes: 0.5 },
            &air(20.0, 50.0),
            &air(20.0, 50.0),
            &air(20.0, 50.0),
            0.0
        )
        .is_err()
    );
}

#[test]
fn a_compressor_warms_by_its_power() {
    // 300 W, walls of 60 W/K, half an air change of 40 m³: 300 / (60 + 6.6).
    let room = Room { volume: 40.0, air_changes: 0.5 };
    near(warming(300.0, 60.0, &room).unwrap(), 300.0 / 66.6, 1e-9);
    assert!(warming(300.0, 0.0, &Room { volume: 40.0, air_changes: 0.0 }).is_err());
}

#[test]
fn sizes_are_chosen_by_the_upper_end() {
    let size = size_for(&Estimate { value: 3.0, lower: 1.8, upper: 5.0 }).unwrap();
    near(size.rated, 10.0, 0.0);
    near(size.at_room.value, 5.0, 1e-12);
    assert!(size_for(&Estimate::exact(80.0)).is_none());
}
