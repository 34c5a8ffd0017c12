//! Cuttings: taken, rooted or not, potted as plants of the same clone, given on.

use journal::SubjectKind;
use serde_json::json;

use super::{
    Day,
    plants::{place_for, pot},
    scribe::{About, line},
    timeline::on,
    world::World,
};
use crate::{rng::Rng, truth::BatchTruth};

/// How many jars.
const JARS: usize = 26;

/// Chance to root and median time to roots \[d\], by genus. Invented.
fn rooting(genus: &str) -> (f64, f64) {
    match genus {
        "Begonia" => (0.85, 24.0),
        "Aeschynanthus" => (0.75, 30.0),
        "Streptocarpus" => (0.7, 40.0),
        _ => (0.9, 20.0),
    }
}

pub(super) fn all(world: &mut World) {
    let mut rng = world.rng("cuttings");
    let mut from: Vec<usize> = (0..world.plants.len())
        .filter(|&i| {
            let clone = &world.clones[world.plants[i].clone];
            world.plants[i].since < world.last - 300 && clone.name.contains(' ')
        })
        .collect();
    rng.shuffle(&mut from);
    for (rank, plant) in from.into_iter().take(JARS).enumerate() {
        // The last jars stand there unrooted today.
        let last = if rank < 3 { world.last - 8 } else { world.last - 130 };
        let first = if rank < 3 { world.last - 30 } else { world.plants[plant].since + 60 };
        let day = rng.range(first, last.max(first));
        world.plants[plant].story = true;
        jar(world, plant, day, &mut rng);
    }
}

fn jar(world: &mut World, plant: usize, day: Day, rng: &mut Rng) {
    let p = world.plants[plant].clone();
    let genus = world.clones[p.clone].genus.clone();
    let (chance, median) = rooting(&genus);
    let taken = rng.range(2, 8) as u32;
    let pen = world.scribe.log(day);
    let batch = world.scribe.create(pen, SubjectKind::Batch, Some(p.uid));
    world.scribe.claim(pen, batch, "what", json!("cuttings"));
    let jar_name = format!("jar {}", world.batches.len() + 1);
    world.scribe.claim(pen, batch, "name", json!(jar_name));
    let (part, method) = match genus.as_str() {
        "Streptocarpus" => ("leaf", "half leaves on the midrib"),
        "Begonia" => rng.pick(&[("leaf", "leaf with stalk"), ("tip", "tip with two nodes")]),
        _ => ("stem", "two nodes, lower one bare"),
    };
    let medium = rng.pick(&["water", "sphagnum", "perlite", "leaf mould"]);
    let detail = json!({
        "count": taken, "part": part, "medium": medium, "method": method, "batch": batch.to_string(),
    });
    world.scribe.put(pen, line(p.uid, "cuttings_taken", on(day), detail));
    let times: Vec<f64> = (0..taken)
        .map(|_| if rng.chance(chance) { rng.log_normal(median, 0.3) } else { f64::INFINITY })
        .collect();
    let mut rooted = 0;
    for look in [14, 24, 38, 60, 85] {
        if day + look > world.last || rooted == taken {
            break;
        }
        rooted = times.iter().filter(|t| **t <= f64::from(look)).count() as u32;
        let dead = if look >= 60 { taken - rooted } else { 0 };
        let detail = json!({"rooted": rooted, "not_yet": taken - rooted - dead, "dead": dead});
        let pen = world.scribe.log(day + look);
        world.scribe.put(pen, line(batch, "rooted", on(day + look), detail));
        if dead > 0 {
            break;
        }
    }
    world.batches.push(BatchTruth { uid: batch, taken, rooting: chance, root_days: median });
    if day + 95 <= world.last {
        pot_up(world, plant, day + 95, rooted, rng);
    }
}

fn pot_up(world: &mut World, mother: usize, day: Day, rooted: u32, rng: &mut Rng) {
    let p = world.plants[mother].clone();
    let genus = world.clones[p.clone].genus.clone();
    let kept = rooted.min(rng.range(1, 2) as u32);
    for _ in 0..kept {
        let pen = world.scribe.act("add", About::Plant(p.uid), day);
        let place = place_for(&genus, rng);
        let plant = world.plant(pen, p.clone, place, day, day);
        let uid = world.plants[plant].uid;
        let detail = json!({
            "own": true, "received_as": "rooted_cutting", "piece_of": p.uid.to_string(),
        });
        world.scribe.put(pen, line(uid, "arrived", on(day), detail));
        let there = json!({"place": world.places[place].to_string()});
        world.scribe.put(pen, line(uid, "placed", on(day), there));
        let detail = pot(&genus, rng, 6, 8);
        world.scribe.put(pen, line(uid, "potted", on(day), detail));
    }
    let pen = world.scribe.log(day);
    for _ in kept..rooted {
        let to = world.keepers[rng.range(0, 9) as usize].to_string();
        let l = match rng.range(0, 3) {
            0 => line(p.uid, "promised", on(day), json!({"to": to, "what": "a rooted cutting"})),
            1 => line(
                p.uid,
                "sold",
                on(day),
                json!({
                    "to": to, "what": "rooted cutting", "count": 1,
                    "price": {"amount": f64::from(rng.range(3, 12)), "currency": "GBP"},
                }),
            ),
            2 => line(
                p.uid,
                "swapped",
                on(day),
                json!({
                    "to": to, "what": "rooted cutting", "count": 1, "for": "a leaf of something violet",
                }),
            ),
            _ => line(
                p.uid,
                "given",
                on(day),
                json!({"to": to, "what": "rooted cutting", "count": 1}),
            ),
        };
        world.scribe.put(pen, l);
    }
}
