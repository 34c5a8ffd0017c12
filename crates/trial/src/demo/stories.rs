//! What goes wrong with names and labels, and how it is put right.

use journal::Change;
use serde_json::json;

use super::{
    Day,
    scribe::{About, Grounds, line},
    timeline::on,
    world::World,
};

pub(super) fn all(world: &mut World) {
    one_clone(world);
    determined(world);
    labels_swapped(world);
    suspected(world);
    undone(world);
}

/// A plant of some clone that nothing else is told about.
fn quiet(world: &World, genus: &str, skip: usize) -> Option<usize> {
    (0..world.plants.len())
        .filter(|&i| {
            let p = &world.plants[i];
            !p.story && p.since == world.start && world.clones[p.clone].genus == genus
        })
        .nth(skip)
}

/// Two plants that came under one name from two people turn out to be one clone.
fn one_clone(world: &mut World) {
    let Some(first) = quiet(world, "Begonia", 2) else { return };
    let name = world.clones[world.plants[first].clone].name.clone();
    let day = world.start + 130;
    let pen = world.scribe.act("add", About::Words(name.clone()), day);
    let clone = world.clone(pen, &name, "as_received", "");
    let second = world.plant(pen, clone, 5, day, day);
    let uid = world.plants[second].uid;
    let from =
        json!({"from": world.keepers[9].to_string(), "received_as": "cutting", "free": true});
    world.scribe.put(pen, line(uid, "arrived", on(day), from));
    let place = json!({"place": world.places[5].to_string()});
    world.scribe.put(pen, line(uid, "placed", on(day), place));
    let later = day + 540;
    let pen = world.scribe.act("rename", About::Plant(uid), later);
    let grounds = Grounds {
        as_of: Some(on(later)),
        said_by: Some("Gudrun Tiefental".to_owned()),
        reason: Some(
            "flowered side by side without a difference; Gudrun's came from Wilf, as mine did"
                .to_owned(),
        ),
    };
    let same = world.plants[first].clone;
    let value = json!(world.clones[same].uid.to_string());
    world.scribe.claim_on(pen, uid, "clone", value, grounds);
    world.plants[second].clone = same;
    world.plants[second].story = true;
    world.plants[first].story = true;
}

/// A plant gets another name after it was determined.
fn determined(world: &mut World) {
    let day = world.start + 20;
    let pen =
        world.scribe.act("add", About::Words("Dischidia sp. from the stairwell".to_owned()), day);
    let clone = world.clone(pen, "Dischidia nummularia", "as_received", "");
    let plant = world.plant(pen, clone, 6, day, day);
    let uid = world.plants[plant].uid;
    world.plants[plant].story = true;
    let from = json!({"from": world.keepers[7].to_string(), "received_as": "division"});
    world.scribe.put(pen, line(uid, "arrived", on(day), from));
    let place = json!({"place": world.places[6].to_string()});
    world.scribe.put(pen, line(uid, "placed", on(day), place));
    let later = day + 410;
    let pen = world.scribe.act("rename", About::Plant(uid), later);
    let grounds = Grounds {
        as_of: Some(on(later)),
        said_by: Some("Sunniva Lindekrantz".to_owned()),
        reason: Some(
            "leaves hairy on both sides, flower brick red; seen in flower here".to_owned(),
        ),
    };
    world.rename(pen, clone, "Dischidia hirsuta", "determined", grounds);
    let named = json!({"name": "Dischidia hirsuta", "by": "Sunniva Lindekrantz"});
    world.scribe.put(pen, line(uid, "named", on(later), named));
}

/// The labels of two plants were exchanged at a repotting; the plants' clones are put right and
/// the entries that belong to the other plant are written again there.
fn labels_swapped(world: &mut World) {
    let (Some(a), Some(b)) = (quiet(world, "Streptocarpus", 0), quiet(world, "Streptocarpus", 1))
    else {
        return;
    };
    let day: Day = world.start + 300;
    let (ua, ub) = (world.plants[a].uid, world.plants[b].uid);
    let pen = world.scribe.log(day);
    let what = "length of the longest leaf";
    let detail = |cm: &str| json!({"what": what, "length": cm});
    let wrong_a = world.scribe.put(pen, line(ua, "measured", on(day), detail("27.5 cm")));
    let wrong_b = world.scribe.put(pen, line(ub, "measured", on(day), detail("11.0 cm")));
    let pen = world.scribe.act("rename", About::Plant(ua), day + 45);
    let why = "labels of these two were swapped at the repotting; the long leaf gives it away";
    let (ca, cb) = (world.plants[a].clone, world.plants[b].clone);
    for (plant, clone) in [(ua, cb), (ub, ca)] {
        let grounds = Grounds { reason: Some(why.to_owned()), ..Grounds::default() };
        let value = json!(world.clones[clone].uid.to_string());
        world.scribe.claim_on(pen, plant, "clone", value, grounds);
    }
    let right = line(ub, "measured", on(day), detail("27.5 cm")).replaces(wrong_a);
    world.scribe.put(pen, right.note("Belongs here: labels swapped."));
    let right = line(ua, "measured", on(day), detail("11.0 cm")).replaces(wrong_b);
    world.scribe.put(pen, right.note("Belongs here: labels swapped."));
    (world.plants[a].clone, world.plants[b].clone) = (cb, ca);
    (world.plants[a].story, world.plants[b].story) = (true, true);
}

/// Sold as a species, suspected to be a hybrid.
fn suspected(world: &mut World) {
    let Some(plant) = world.plant_named("sold as Begonia listada") else { return };
    world.plants[plant].story = true;
    let (uid, since) = (world.plants[plant].uid, world.plants[plant].since);
    let clone = world.clones[world.plants[plant].clone].uid;
    let pen = world.scribe.act("rename", About::Plant(uid), since + 30);
    let grounds = Grounds {
        reason: Some("leaf twice the size, hairs sparse, flowers pink".to_owned()),
        ..Grounds::default()
    };
    world.scribe.claim_on(pen, clone, "suspected", json!("a hybrid of Begonia listada"), grounds);
}

/// An entry made on the wrong plant, and taken back.
fn undone(world: &mut World) {
    let Some(plant) = quiet(world, "Begonia", 6) else { return };
    world.plants[plant].story = true;
    let uid = world.plants[plant].uid;
    let day = world.last - 60;
    let pen = world.scribe.act("log", About::Plant(uid), day);
    let wrong = world
        .scribe
        .put(pen, line(uid, "pest_seen", on(day), json!({"pest": "thrips", "how_many": "one"})));
    let pen = world.scribe.act("log", About::Plant(uid), day + 1);
    let why = Some("it was a crumb".to_owned());
    world.scribe.change(pen, Change::Withdraw { target: wrong, why });
}
