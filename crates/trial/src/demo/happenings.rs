//! Pests, treatments, shows, promises, lookers-on.

use journal::Known;
use serde_json::json;

use super::{
    scribe::line,
    timeline::{month, on},
    world::World,
};

const PESTS: [&str; 6] =
    ["mealybug", "thrips", "fungus gnats", "red spider mite", "soft scale", "cyclamen mite"];
const SHOWS: [&str; 5] = [
    "table of the Marlsea exchange",
    "open kitchen, second Sunday of May",
    "members' evening at Elmsund",
    "Wilf's birthday, uninvited",
    "leaf class of the autumn meeting",
];

pub(super) fn all(world: &mut World) {
    let mut rng = world.rng("happenings");
    for plant in 0..world.plants.len() {
        let p = world.plants[plant].clone();
        let (from, to) = (p.since + 15, p.until.min(world.last) - 30);
        if from >= to {
            continue;
        }
        if rng.chance(0.3) {
            pest(world, p.uid, rng.range(from, to), p.until.min(world.last), &mut rng);
        }
        if rng.chance(0.1) {
            let day = rng.range(from, to);
            let pen = world.scribe.log(day);
            let mut detail = json!({"where": rng.pick(&SHOWS)});
            if rng.chance(0.5) {
                detail["result"] = json!(rng.pick(&[
                    "second of three",
                    "asked about twice",
                    "commended",
                    "nobody noticed"
                ]));
            }
            world.scribe.put(pen, line(p.uid, "shown", on(day), detail));
        }
        if rng.chance(0.12) {
            let day = rng.range(from, to);
            let to = world.keepers[rng.range(0, 9) as usize].to_string();
            let pen = world.scribe.log(day);
            let l = match rng.range(0, 2) {
                0 => {
                    line(p.uid, "promised", on(day), json!({"to": to, "what": "the next cutting"}))
                }
                1 => line(
                    p.uid,
                    "given",
                    month(day),
                    json!({"to": to, "what": "unrooted cutting", "count": 1}),
                )
                .known(Known::Remembered),
                _ => line(
                    p.uid,
                    "asked",
                    on(day),
                    json!({"whom": to, "what": "whether theirs has flowered"}),
                ),
            };
            world.scribe.put(pen, l);
        }
    }
}

/// A pest is seen, something is done, one looks again, and in the end it is clean or not.
fn pest(world: &mut World, plant: journal::Uid, day: i32, until: i32, rng: &mut crate::rng::Rng) {
    let name = rng.pick(&PESTS);
    let how_many = rng.pick(&["one", "few", "few", "many"]);
    let spot = rng.pick(&["leaf axils", "undersides", "in the mix", "flower buds", "roots"]);
    let pen = world.scribe.log(day);
    let seen = json!({"pest": name, "how_many": how_many, "where": spot});
    world.scribe.put(pen, line(plant, "pest_seen", on(day), seen));
    if rng.chance(0.75) {
        let mut detail = json!({"against": name});
        match rng.range(0, 4) {
            0 => detail["unknown_product"] = json!(true),
            1 => detail["product"] = json!("soft soap"),
            2 => detail["product"] = json!("predatory mites"),
            3 => detail["product"] = json!("yellow cards"),
            _ => detail["product"] = json!("washed under the tap"),
        }
        if rng.chance(0.5) {
            detail["look_again"] = json!("in a week");
        }
        let pen = world.scribe.log(day + 1);
        let mut l = line(plant, "treated", on(day + 1), detail);
        if rng.chance(0.2) {
            l = l.note("The bottle from Mrs Ottery's shed, label gone. Not again.");
        }
        world.scribe.put(pen, l);
    }
    // One in eight is not followed to its end.
    let looks = if rng.chance(0.125) { 3 } else { 8 };
    for (nth, look) in [8, 15, 23, 30, 37, 45, 52, 60].into_iter().take(looks).enumerate() {
        if day + look > until {
            break;
        }
        let pen = world.scribe.log(day + look);
        if nth > 2 || rng.chance(0.7) {
            world
                .scribe
                .put(pen, line(plant, "clean", on(day + look), json!({"looked_for": name})));
        } else {
            let detail = json!({"pest": name, "how_many": "one"});
            world.scribe.put(pen, line(plant, "pest_seen", on(day + look), detail));
        }
    }
}
