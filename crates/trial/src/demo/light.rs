//! Windows and lamps of the nine places, where some plants stand on them, and readings with a meter.

use serde_json::{Value, json};

use super::{
    Day,
    scribe::{About, Grounds, line},
    stock::PLACES,
    timeline::on,
    world::{End, World},
};

/// The house of the demo stands in no real street: latitude, longitude, price of a kilowatt-hour.
pub(crate) const HOUSE: [(&str, &str); 3] =
    [("latitude", "53.6"), ("longitude", "10.1"), ("price_per_kwh", "0.34 EUR")];

/// A plant bar over the cabinet: watts, middle from the back and height \[cm\], hours.
fn bar(watts: f64, y: f64, height: f64, hours: f64) -> Value {
    json!({"kind": "plant_bar", "watts": watts, "width": 90.0, "depth": 3.0, "height": height,
           "y": y, "hours": hours, "dusty": false})
}

fn tube(y: f64) -> Value {
    json!({"kind": "white_led", "watts": 18.0, "width": 110.0, "depth": 3.0, "height": 30.0, "y": y,
           "hours": 14.0, "dusty": true})
}

fn described(place: usize) -> Value {
    match place {
        0 => json!({"width": 120.0, "depth": 25.0, "window": {"direction": "east", "width": 110.0,
            "height": 100.0, "distance": 4.0, "sill": -12.0, "glass": "double", "view": "houses",
            "angle": 20.0}}),
        1 => json!({"width": 80.0, "depth": 30.0, "window": {"direction": "north", "width": 80.0,
            "height": 60.0, "distance": 60.0, "sill": 80.0, "glass": "single", "view": "open"}}),
        2 => json!({"width": 100.0, "depth": 40.0, "walls": "white",
            "lamps": [bar(24.0, 12.0, 22.0, 12.0), bar(24.0, 28.0, 22.0, 12.0)]}),
        3 => json!({"width": 100.0, "depth": 40.0, "walls": "white",
            "lamps": [bar(24.0, 20.0, 24.0, 12.0)]}),
        // Nobody ever looked at the plug of this one.
        4 => json!({"width": 100.0, "depth": 40.0, "lamps": [{"kind": "white_led", "width": 60.0,
            "depth": 3.0, "height": 35.0, "hours": 12.0}]}),
        5 => json!({"width": 240.0, "depth": 60.0, "window": {"direction": "south", "width": 200.0,
            "height": 130.0, "distance": 20.0, "sill": -10.0, "glass": "double", "curtain": true,
            "view": "trees", "angle": 20.0}, "lamps": [{"kind": "white_led", "watts": 36.0,
            "width": 120.0, "depth": 4.0, "height": 60.0, "hours": 6.0, "summer_hours": 0.0}]}),
        6 => json!({"width": 240.0, "depth": 20.0, "window": {"direction": "south", "width": 200.0,
            "height": 130.0, "distance": 40.0, "sill": -80.0, "glass": "double", "curtain": true,
            "view": "trees", "angle": 20.0}}),
        7 => json!({"width": 70.0, "depth": 20.0, "window": {"direction": "west", "width": 60.0,
            "height": 80.0, "distance": 4.0, "sill": -10.0, "glass": "single"}}),
        _ => json!({"width": 120.0, "depth": 45.0, "lamps": [tube(8.0), tube(22.0), tube(37.0)]}),
    }
}

/// Readings: place, days before the last, photons \[µmol m⁻² s⁻¹\], spot, what shone.
const READINGS: [(usize, Day, &str, &str, &str); 5] = [
    (2, 30, "131 µmol", "50, 20", "lamps"),
    (2, 30, "96 µmol", "18, 22", "lamps"),
    (2, 29, "64 µmol", "94, 9", "lamps"),
    (8, 41, "88 µmol", "60, 22", "lamps"),
    (0, 12, "52 µmol", "60, 14", "daylight"),
];

pub(super) fn all(world: &mut World) {
    for place in 0..PLACES.len() {
        let uid = world.places[place];
        let words = About::Words(format!("light of place {}", place + 1));
        let pen = world.scribe.act("describe_light", words, world.start + 2);
        if place == 2 {
            // The upper shelf of the cabinet had one bar until a year ago.
            let mut before = described(place);
            before["lamps"] = json!([bar(24.0, 20.0, 24.0, 12.0)]);
            world.scribe.claim(pen, uid, "light", before);
            let day = world.last - 380;
            let words = About::Words("light of place 3".to_owned());
            let pen = world.scribe.act("describe_light", words, day);
            let since = Grounds { as_of: Some(on(day)), ..Grounds::default() };
            world.scribe.claim_on(pen, uid, "light", described(place), since);
        } else {
            world.scribe.claim(pen, uid, "light", described(place));
        }
    }
    readings(world);
    for place in [0, 2, 5, 8] {
        spots(world, place);
    }
}

fn readings(world: &mut World) {
    for (place, ago, flux, spot, by) in READINGS {
        let (uid, day) = (world.places[place], world.last - ago);
        let detail = json!({"photon_flux": flux, "spot": spot, "by": by, "at": "13:00"});
        let pen = world.scribe.log(day);
        world.scribe.put(pen, line(uid, "reading", on(day), detail));
    }
}

/// Says where the first plants of a place stand on it, in rows; the others wait for it.
fn spots(world: &mut World, place: usize) {
    let size = described(place);
    let side = |key: &str| size[key].as_f64().unwrap_or(100.0);
    let (width, depth) = (side("width"), side("depth"));
    let here: Vec<_> = world
        .plants
        .iter()
        .filter(|p| p.place == place && p.end == End::Alive && p.since < world.last - 20)
        .map(|p| p.uid)
        .take(12)
        .collect();
    let mut rng = world.rng(&format!("spots {place}"));
    let day = world.last - 18;
    let target = world.places[place].to_string();
    for (k, uid) in here.into_iter().enumerate() {
        let (column, row) = (k % 6, k / 6);
        let x = width * (column as f64 + 0.5) / 6.0 + rng.between(-4.0, 4.0);
        let y = depth * (row as f64 + 0.5) / 2.0 + rng.between(-3.0, 3.0);
        let spot = format!("{:.0}, {:.0}", x.clamp(4.0, width - 4.0), y.clamp(4.0, depth - 4.0));
        let pen = world.scribe.log(day);
        let detail = json!({"place": target, "spot": spot});
        world.scribe.put(pen, line(uid, "placed", on(day), detail));
    }
}
