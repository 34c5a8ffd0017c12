//! Three stories of pests that are not over: mealybug on a sill, thrips and a bottle without a
//! label, and two newcomers that stay apart.

use journal::SubjectKind;
use serde_json::json;

use super::{
    Day,
    scribe::{About, line},
    timeline::on,
    world::{End, World},
};

const SILL: usize = 0;
const BENCH: usize = 5;

pub(super) fn all(world: &mut World) {
    mealybug(world);
    thrips(world);
    newcomers(world);
}

/// Living plants of a place that nothing else is told about.
fn quiet(world: &World, place: usize, count: usize) -> Vec<usize> {
    let lives = |p: &super::world::PlantSim| p.end == End::Alive && p.since < world.last - 150;
    (0..world.plants.len())
        .filter(|&i| {
            let p = &world.plants[i];
            p.place == place && !p.story && lives(p)
        })
        .take(count)
        .collect()
}

/// Found on two plants of the kitchen sill, treated once, looked at twice since.
fn mealybug(world: &mut World) {
    let plants = quiet(world, SILL, 2);
    let place = world.places[SILL];
    let found: Day = world.last - 36;
    let pen = world.scribe.log(found - 20);
    let clean = json!({"how": "lens"});
    world.scribe.put(pen, line(place, "clean", on(found - 20), clean));
    for (&plant, many) in plants.iter().zip(["few", "one"]) {
        world.plants[plant].story = true;
        let seen = json!({"pest": "mealybug", "how_many": many, "where": "leaf axils"});
        let uid = world.plants[plant].uid;
        let pen = world.scribe.log(found);
        world.scribe.put(pen, line(uid, "pest_seen", on(found), seen));
    }
    let treated = json!({
        "product": "soft soap, ready to use", "label_group": "UNM", "against": "mealybug",
        "how": "sprayed", "label_days_between": 7, "label_most_a_year": 5,
        "label_says": "repeat after 7 days at the earliest; not on hairy leaves",
    });
    let pen = world.scribe.log(found + 1);
    world.scribe.put(pen, line(place, "treated", on(found + 1), treated));
    for day in [found + 13, found + 25] {
        let pen = world.scribe.log(day);
        let clean = json!({"looked_for": "mealybug", "how": "lens"});
        world.scribe.put(pen, line(place, "clean", on(day), clean));
    }
}

/// Thrips on the long bench, sprayed from a bottle without a label; a week later a leaf is burnt.
fn thrips(world: &mut World) {
    let plants = quiet(world, BENCH, 3);
    let (Some(&first), Some(&burnt)) = (plants.first(), plants.get(1)) else { return };
    let place = world.places[BENCH];
    let found: Day = world.last - 11;
    let uid = world.plants[first].uid;
    let seen = json!({"pest": "thrips", "how_many": "few", "where": "flowers"});
    let pen = world.scribe.log(found);
    world.scribe.put(pen, line(uid, "pest_seen", on(found), seen));
    let treated = json!({"unknown_product": true, "against": "thrips", "how": "sprayed"});
    let pen = world.scribe.log(found + 1);
    let l = line(place, "treated", on(found + 1), treated);
    let note = "The bottle from Mrs Ottery's shed, label gone. It smelt of lamp oil.";
    world.scribe.put(pen, l.note(note));
    if let Some(&third) = plants.get(2) {
        let with = [world.plants[third].uid.to_string()];
        let shared = json!({"what": "tray", "with": with});
        let pen = world.scribe.log(found - 6);
        world.scribe.put(pen, line(uid, "shared", on(found - 6), shared));
    }
    let damaged = world.plants[burnt].uid;
    let day = found + 7;
    let detail = json!({"damage": "burnt_edge", "leaves": 3, "part": "leaf"});
    let pen = world.scribe.log(day);
    world.scribe.put(pen, line(damaged, "damage_seen", on(day), detail));
    for plant in plants {
        world.plants[plant].story = true;
    }
}

/// Two begonias from an exchange, on a sill of their own.
fn newcomers(world: &mut World) {
    let day: Day = world.last - 19;
    let pen = world.scribe.act("add", About::Words("two begonias".to_owned()), day);
    let place = world.scribe.create(pen, SubjectKind::Place, None);
    world.scribe.claim(pen, place, "name", json!("guest room sill"));
    world.scribe.claim(pen, place, "note", json!("North window. What came new stays here."));
    world.scribe.claim(pen, place, "order", json!(world.places.len() + 1));
    world.places.push(place);
    let at = world.places.len() - 1;
    for name in ["Begonia soli-mutata", "Begonia versicolor"] {
        let clone = world.clone_named(pen, name);
        let plant = world.plant(pen, clone, at, day, day);
        let uid = world.plants[plant].uid;
        world.plants[plant].story = true;
        let from = json!({"from": world.keepers[3].to_string(), "received_as": "rooted_cutting"});
        world.scribe.put(pen, line(uid, "arrived", on(day), from));
        let placed = json!({"place": place.to_string()});
        world.scribe.put(pen, line(uid, "placed", on(day), placed));
        world.scribe.put(pen, line(uid, "kept_apart", on(day), json!({})));
    }
    for look in [day + 7, day + 15] {
        let pen = world.scribe.log(look);
        let clean = json!({"how": "lens"});
        world.scribe.put(pen, line(place, "clean", on(look), clean));
    }
    // Last spring's newcomers went in with the others after their weeks.
    let Some(old) = quiet(world, 2, 1).first().copied() else { return };
    let (uid, since) = (world.plants[old].uid, world.plants[old].since);
    let pen = world.scribe.log(since + 52);
    world.scribe.put(pen, line(uid, "let_in", on(since + 52), json!({})));
}
