//! The shelf: two feeds, two waters, the materials of mixes; and what the meter showed.

use journal::SubjectKind;
use serde_json::{Value, json};

use super::{Day, scribe::About, world::World};
use crate::rng::Rng;

/// Conductivity of what runs from the tap and of rain \[mS/cm\].
const TAP: f64 = 0.62;
const RAIN: f64 = 0.04;

pub(super) fn all(world: &mut World) {
    let day = world.start + 9;
    type Kept<'a> = (&'a str, &'a str, &'a [(&'a str, Value)]);
    let kept: [Kept<'_>; 4] = [
        (
            "feed",
            "balanced liquid feed",
            &[
                (
                    "label",
                    json!({"n": 7.0, "p2o5": 3.0, "k2o": 6.0, "mg": 0.5, "nitrate": 3.1,
                           "ammonium": 1.7, "urea": 2.2, "density": 1.15, "usual": 1.15}),
                ),
                ("price", json!({"amount": 11.0, "currency": "EUR", "litres": 1.0})),
            ],
        ),
        (
            "feed",
            "orchid feed",
            &[(
                "label",
                json!({"n": 13.0, "p2o5": 3.0, "k2o": 15.0, "ca": 8.0, "mg": 2.0, "nitrate": 12.4,
                       "ammonium": 0.6, "scoop": 2.1, "usual": 0.5, "at": [100.0, 0.72]}),
            )],
        ),
        (
            "water",
            "kitchen tap",
            &[(
                "report",
                json!({"kind": "tap", "alkalinity": 214.0, "conductivity": TAP, "calcium": 82.0,
                       "magnesium": 12.0, "sodium": 19.0, "how": "report"}),
            )],
        ),
        (
            "water",
            "rain butt",
            &[(
                "report",
                json!({"kind": "rain", "alkalinity": 8.0, "conductivity": RAIN, "how": "strip"}),
            )],
        ),
    ];
    for (what, name, claims) in kept {
        keep(world, day, what, name, claims);
    }
    for (name, amount, litres) in
        [("bark", 14.0, 40.0), ("perlite", 24.0, 100.0), ("coir", 8.0, 70.0)]
    {
        let price = json!({"amount": amount, "currency": "EUR", "litres": litres});
        keep(world, day + 30, "material", name, &[("price", price)]);
    }
    let recipe = json!({"bark": 4, "perlite": 3, "coir": 2, "charcoal": 1});
    let test = json!({"volume": 600.0, "filled": 412.0, "drained": 196.0, "height": 9.0});
    keep(world, day + 60, "mix", "open mix", &[("recipe", recipe), ("test", test)]);
}

fn keep(world: &mut World, day: Day, what: &str, name: &str, claims: &[(&str, Value)]) {
    let pen = world.scribe.act("keep", About::Words(format!("{what} {name}")), day);
    let uid = world.scribe.create(pen, SubjectKind::Supply, None);
    world.scribe.claim(pen, uid, "what", json!(what));
    world.scribe.claim(pen, uid, "name", json!(name));
    for (field, value) in claims {
        world.scribe.claim(pen, uid, field, value.clone());
    }
}

/// What the meter showed in the can, now and then: what feed and water bring, and once in eight
/// times a heaped scoop.
pub(super) fn meter(detail: &mut Value, rng: &mut Rng) {
    if !rng.chance(0.3) {
        return;
    }
    let water = match detail["water"].as_str() {
        Some("tap") => TAP,
        Some("rain") => RAIN,
        _ => return,
    };
    let strength = match detail["feed_rate"].as_str() {
        Some("half strength") => 0.5,
        Some("a capful") => 1.3,
        _ => 1.0,
    };
    let heaped = if rng.chance(0.125) { 1.7 } else { 1.0 };
    // Nitrogen in mg/L and what 100 of it bring; urea brings nothing.
    let feed = match detail["feed"].as_str() {
        Some("balanced liquid feed") => 0.8 * 0.69 * strength * heaped * 0.7,
        Some("orchid feed") => 0.65 * 0.72 * strength * heaped,
        Some(_) => return,
        None => 0.0,
    };
    let shown = (water + feed) * (1.0 + 0.04 * rng.normal());
    detail["conductivity"] = json!(format!("{shown:.2} mS/cm"));
}

/// What ran out of a pot, and what the meter showed in it: saltier with the months since potting.
pub(super) fn drain(detail: &mut Value, months: f64, rng: &mut Rng) {
    let poured = rng.range(8, 14) * 25;
    detail["amount"] = json!(format!("{poured} ml"));
    detail["drained"] = json!(format!("{} ml", poured * rng.range(8, 20) / 100));
    let shown = (0.7 + 0.07 * months) * (0.1 * rng.normal()).exp();
    detail["drain_conductivity"] = json!(format!("{shown:.2} mS/cm"));
}

/// How far roots have come, so many months after potting in a pot that they fill in so many.
pub(super) fn roots(months: f64, fills_in: f64) -> &'static str {
    match months / fills_in {
        s if s < 0.45 => "few",
        s if s < 1.0 => "at_wall",
        _ => "circling",
    }
}

/// Months in which roots fill a pot of a genus, for one pot.
pub(super) fn fills_in(genus: &str, rng: &mut Rng) -> f64 {
    let usual = match genus {
        "Begonia" => 11.0,
        "Aeschynanthus" | "Streptocarpus" => 13.0,
        _ => 20.0,
    };
    rng.log_normal(usual, 0.3)
}
