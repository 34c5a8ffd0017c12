//! Crosses in every stage, from a pollination of last week to a named seedling.

use dates::Edtf;
use journal::{SubjectKind, Uid};
use serde_json::json;

use super::{
    Day,
    plants::{place_for, pot},
    scribe::{About, Grounds, line},
    timeline::{date, on},
    world::World,
};
use crate::{
    rng::Rng,
    truth::{CrossTruth, FLOWER_SHAPE},
};

/// What becomes of a cross, if it is old enough.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fate {
    Grows,
    PodLost,
    NothingComesUp,
    OneIsNamed(&'static str),
}

/// The number of the first cross; those before it were in a notebook that got lost.
const FIRST: i64 = 11;

/// Seed parent, pollen parent (`=` is a self, `?` is open, `a|b` is one of several), days before
/// the end of the record at which it was pollinated, fate.
const PLANS: [(&str, &str, Day, Fate); 18] = [
    (
        "Streptocarpus 'Bathtub Regatta'",
        "Streptocarpus 'Inkspill Sonata'",
        1010,
        Fate::OneIsNamed("Streptocarpus 'Wednesday Ferry'"),
    ),
    ("Streptocarpus 'Inkspill Sonata'", "Streptocarpus 'Bathtub Regatta'", 1004, Fate::Grows),
    ("Begonia 'Silt Choir'", "Begonia 'Chalk Sermon'", 930, Fate::Grows),
    ("Begonia 'Moth Inventory'", "=", 860, Fate::Grows),
    ("Aeschynanthus 'Ferryman's Match'", "Aeschynanthus 'Glowworm Tariff'", 815, Fate::PodLost),
    ("Aeschynanthus 'Zündholz'", "Aeschynanthus 'Brasa'", 800, Fate::Grows),
    ("Streptocarpus 'Linge Propre'", "?", 660, Fate::Grows),
    ("Dischidia 'Pocket Change'", "Dischidia ruscifolia", 610, Fate::NothingComesUp),
    ("Streptocarpus 'Violet Overdraft'", "Streptocarpus 'Wet Sleeve'", 560, Fate::Grows),
    ("Begonia 'Slow Harbour'", "Begonia 'Rost und Regen'|Begonia 'Chalk Sermon'", 340, Fate::Grows),
    ("Aeschynanthus 'Brasa'", "Aeschynanthus 'Zündholz'", 170, Fate::Grows),
    ("Streptocarpus 'Kreidefähre'", "Streptocarpus 'Blaue Stunde am Steg'", 152, Fate::Grows),
    ("Begonia ferox", "Begonia 'Rost und Regen'", 93, Fate::Grows),
    ("Streptocarpus 'Bathtub Regatta'", "Streptocarpus 'Violet Overdraft'", 64, Fate::Grows),
    ("Begonia 'Lampfever'", "Begonia maculata", 52, Fate::Grows),
    ("Aeschynanthus 'Glowworm Tariff'", "Aeschynanthus longicaulis", 44, Fate::PodLost),
    ("Streptocarpus 'Wet Sleeve'", "Streptocarpus 'Linge Propre'", 26, Fate::Grows),
    ("Begonia 'Chalk Sermon'", "Begonia 'Umbrella Thief'", 5, Fate::Grows),
];

/// Names that must be there from the first day, because they are crossed.
pub(super) fn core() -> Vec<&'static str> {
    PLANS
        .iter()
        .flat_map(|(seed, pollen, ..)| std::iter::once(*seed).chain(pollen.split('|')))
        .filter(|name| name.len() > 1)
        .collect()
}

/// Days from pollination to a ripe pod, from sowing to the first seedling, to pricking out, to
/// pots and to the first flower, by genus. Invented, of the order that growers tell.
struct Pace {
    ripe: Day,
    up: Day,
    out: Day,
    potted: Day,
    flower: Day,
}

fn pace(genus: &str) -> Pace {
    match genus {
        "Streptocarpus" => Pace { ripe: 55, up: 13, out: 58, potted: 105, flower: 300 },
        "Begonia" => Pace { ripe: 45, up: 17, out: 65, potted: 130, flower: 430 },
        "Aeschynanthus" => Pace { ripe: 118, up: 16, out: 80, potted: 160, flower: 520 },
        _ => Pace { ripe: 95, up: 12, out: 60, potted: 120, flower: 500 },
    }
}

pub(super) fn all(world: &mut World) {
    for (number, plan) in (FIRST..).zip(PLANS) {
        one(world, number, plan);
    }
}

/// The line of one cross while it is written.
struct Line<'w> {
    world: &'w mut World,
    rng: Rng,
    cross: Uid,
    number: i64,
    stage: &'static str,
    genus: String,
    parents: serde_json::Value,
    truth: (f64, f64, f64),
}

impl Line<'_> {
    /// Writes one entry of the line unless it lies in the future; returns whether it was written.
    fn step(
        &mut self,
        subject: Uid,
        kind: &'static str,
        day: Day,
        detail: serde_json::Value,
    ) -> bool {
        if day > self.world.last {
            return false;
        }
        let pen = self.world.scribe.log(day);
        self.world.scribe.put(pen, line(subject, kind, on(day), detail));
        self.stage = kind;
        true
    }
}

fn one(world: &mut World, number: i64, (seed, pollen, ago, fate): (&str, &str, Day, Fate)) {
    let mut rng = world.rng(&format!("cross {number}"));
    let day = world.last - ago;
    let Some(mother) = world.plant_named(seed) else { return };
    world.plants[mother].story = true;
    let pen = world.scribe.log(day);
    let father = match pollen {
        "=" => seed,
        other => other,
    };
    let parents = json!({"seed": world.parent(pen, seed), "pollen": world.parent(pen, father)});
    let cross = world.scribe.create_numbered(pen, SubjectKind::Cross, None, Some(number));
    world.scribe.claim(pen, cross, "parents", parents.clone());
    let mother_uid = world.plants[mother].uid;
    let pollination = world.scribe.create(pen, SubjectKind::Pollination, Some(mother_uid));
    world.scribe.claim(pen, pollination, "cross", json!(cross.to_string()));
    let flowers = rng.range(2, 7) as u32;
    let mut detail = json!({
        "flowers": flowers,
        "cross": cross.to_string(),
        "method": rng.pick(&["brush", "whole anther", "tweezers", "finger"]),
    });
    let uid_of = |world: &World, name: &str| world.clones[world.by_name[name]].uid.to_string();
    match pollen {
        "=" => detail["pollen"] = json!("self"),
        "?" => detail["pollen"] = json!("open"),
        several if several.contains('|') => {
            detail["pollen"] = json!("one_of");
            let list: Vec<_> = several.split('|').map(|n| uid_of(world, n)).collect();
            detail["pollen_one_of"] = json!(list);
        }
        one => {
            detail["pollen"] = json!("known");
            detail["pollen_of"] = json!(uid_of(world, one));
            if rng.chance(0.5) {
                detail["pollen_age"] = json!(format!("{} d", rng.range(1, 30)));
            }
            if number % 6 == 5 {
                detail["pollen_lot"] = json!(pollen_lot(world, one, day).to_string());
            }
        }
    }
    let genus = world.clones[world.plants[mother].clone].genus.clone();
    let truth = (rng.between(0.35, 0.85), rng.between(0.45, 0.9), rng.between(0.3, 0.85));
    let mut l = Line { world, rng, cross, number, stage: "pollinated", genus, parents, truth };
    l.step(pollination, "pollinated", day, detail);
    pods(&mut l, pollination, day, flowers, fate);
    let Line { stage, truth: (set, full, germination), world, .. } = l;
    let stage = stage.to_owned();
    world.crosses.push(CrossTruth { uid: cross, number, set, full, germination, stage });
}

fn pollen_lot(world: &mut World, clone: &str, day: Day) -> Uid {
    let uid = world.clones[world.by_name[clone]].uid;
    let pen = world.scribe.log(day - 9);
    let lot = world.scribe.create(pen, SubjectKind::PollenLot, Some(uid));
    let l = line(lot, "arrived", on(day - 9), json!({"own": true}));
    world.scribe.put(pen, l.note("Anthers in a paper fold, on silica gel in the fridge door."));
    lot
}

/// From the pod to the seed.
fn pods(l: &mut Line<'_>, pollination: Uid, day: Day, flowers: u32, fate: Fate) {
    let p = pace(&l.genus);
    let seen = day + l.rng.range(10, 18);
    let set = l.rng.binomial(flowers, l.truth.0).max(1);
    let length = format!("{:.1} cm", l.rng.between(0.8, 3.2));
    if !l.step(pollination, "pod_seen", seen, json!({"count": set, "length": length})) {
        return;
    }
    if fate == Fate::PodLost {
        let lost = seen + l.rng.range(6, 20);
        let why = l.rng.pick(&["shrivelled and dropped", "knocked off while turning the pot"]);
        l.step(pollination, "pod_lost", lost, json!({"count": set, "why": why}));
        return;
    }
    if set > 2 {
        let early = seen + 9;
        l.step(
            pollination,
            "pod_lost",
            early,
            json!({"count": 1, "why": "yellow, fell at a touch"}),
        );
    }
    let ripe = day + p.ripe + l.rng.range(-5, 6);
    let left = if set > 2 { set - 1 } else { set };
    if !l.step(pollination, "pod_ripe", ripe, json!({"count": left})) {
        return;
    }
    let total = left * l.rng.range(25, 60) as u32;
    let full = l.rng.binomial(total, l.truth.1);
    if !l.step(pollination, "seeds_counted", ripe + 4, json!({"full": full, "empty": total - full}))
    {
        return;
    }
    let sown = ripe + l.rng.range(9, 20);
    sow(l, sown, full.min(80), fate);
}

/// From seed to seedlings in a tray.
fn sow(l: &mut Line<'_>, day: Day, seeds: u32, fate: Fate) {
    if day > l.world.last {
        return;
    }
    let p = pace(&l.genus);
    let pen = l.world.scribe.log(day);
    let batch = l.world.scribe.create(pen, SubjectKind::Batch, Some(l.cross));
    l.world.scribe.claim(pen, batch, "what", json!("seedlings"));
    let name = format!("tray of cross {}", l.number);
    l.world.scribe.claim(pen, batch, "name", json!(name));
    let medium = l.rng.pick(&["sieved leaf mould", "sphagnum, chopped", "vermiculite"]);
    l.step(batch, "sown", day, json!({
        "count": seeds, "medium": medium, "method": "on the surface, under glass", "warmth": "22 °C",
    }));
    let place = json!({"place": l.world.places[4].to_string()});
    l.step(batch, "placed", day, place);
    l.stage = "sown";
    if fate == Fate::NothingComesUp {
        l.step(batch, "germinated", day + 30, json!({"so_far": 0}));
        l.step(batch, "lost", day + 95, json!({"why": "nothing came up in three months"}));
        return;
    }
    let will = l.rng.binomial(seeds, l.truth.2).max(6);
    for (after, share) in [(0, 0.2), (4, 0.55), (9, 0.85), (18, 1.0)] {
        let so_far = (f64::from(will) * share).round() as u32;
        if !l.step(batch, "germinated", day + p.up + after, json!({"so_far": so_far})) {
            return;
        }
    }
    let out = (will * 2 / 3).clamp(6, 24);
    if !l.step(batch, "pricked_out", day + p.out, json!({"count": out, "left": will - out})) {
        return;
    }
    let after = day + p.out + 12;
    if l.rng.chance(0.6) && after <= l.world.last {
        let pen = l.world.scribe.log(after);
        let damped = line(batch, "lost", on(after), json!({"count": 2, "why": "damped off"}));
        l.world.scribe.put(pen, damped.note("Too wet under the glass. Lid off from now on."));
    }
    potted(l, day, fate);
}

/// Seedlings in pots of their own, their flowers and scores.
fn potted(l: &mut Line<'_>, sown: Day, fate: Fate) {
    let p = pace(&l.genus);
    let day = sown + p.potted;
    if day > l.world.last {
        return;
    }
    let count = l.rng.range(6, 9);
    let about = About::Words(format!("seedlings of cross {}", l.number));
    let pen = l.world.scribe.act("add", about, day);
    let mut best: Option<(f64, usize)> = None;
    for seedling in 1..=count {
        let clone = l.world.clone(pen, &l.genus, "determined", "");
        let uid = l.world.clones[clone].uid;
        let value = json!({"cross": l.cross.to_string(), "number": seedling});
        l.world.scribe.claim(pen, uid, "seedling", value);
        l.world.scribe.claim(pen, uid, "parents", l.parents.clone());
        let place = place_for(&l.genus, &mut l.rng);
        let plant = l.world.plant(pen, clone, place, day, day);
        let uid = l.world.plants[plant].uid;
        let tag = format!("{}-{seedling}", l.number);
        l.world.scribe.claim(pen, uid, "tag", json!(tag));
        let arrived = json!({"own": true, "received_as": "seedling"});
        l.world.scribe.put(pen, line(uid, "arrived", on(day), arrived));
        let there = json!({"place": l.world.places[place].to_string()});
        l.world.scribe.put(pen, line(uid, "placed", on(day), there));
        let detail = pot(&l.genus, &mut l.rng, 6, 7);
        l.world.scribe.put(pen, line(uid, "potted", on(day), detail));
        if let Some(score) = flower(l, plant, sown + p.flower)
            && best.is_none_or(|(b, _)| score > b)
        {
            best = Some((score, plant));
        }
        if l.stage == "sown" || l.stage == "germinated" {
            l.stage = "pricked_out";
        }
    }
    if let (Fate::OneIsNamed(name), Some((_, plant))) = (fate, best) {
        name_it(l, plant, sown + p.flower + 170, name);
    }
}

/// The first flower of a seedling and its scores \[0 to 10\]; returns the mean of the scores.
fn flower(l: &mut Line<'_>, plant: usize, around: Day) -> Option<f64> {
    let day = around + l.rng.range(-30, 90);
    let uid = l.world.plants[plant].uid;
    if day + 3 > l.world.last || l.rng.chance(0.12) {
        return None;
    }
    let pen = l.world.scribe.log(day);
    let part = l.world.scribe.create(pen, SubjectKind::Part, Some(uid));
    l.world.scribe.claim(pen, part, "what", json!("flower"));
    l.world
        .scribe
        .put(pen, line(part, "opened", on(day), json!({})).note("First flower of this seedling."));
    let clone = l.world.plants[plant].clone;
    let life = l.rng.weibull(l.world.clones[clone].flower_days, FLOWER_SHAPE).max(3.0);
    let ends = day + life as Day;
    let censored = ends > l.world.last;
    if censored {
        let pen = l.world.scribe.log(l.world.last);
        l.world.scribe.put(pen, line(part, "still_open", on(l.world.last), json!({})));
    } else {
        let pen = l.world.scribe.log(ends);
        l.world.scribe.put(pen, line(part, "ended", on(ends), json!({"how": "faded"})));
    }
    l.world.flowers.push(crate::FlowerTruth {
        part,
        plant: uid,
        clone: l.world.clones[clone].uid,
        opened: date(day),
        life,
        censored,
    });
    let mut total = 0.0;
    for (name, mean) in
        [("size of flower", 5.5), ("purity of colour", 5.0), ("habit", 6.0), ("vigour", 6.5)]
    {
        let score = (mean + 1.6 * l.rng.normal()).round().clamp(1.0, 10.0);
        total += score;
        l.step(
            uid,
            "scored",
            day + 3,
            json!({"trait": name, "score": score, "stage": "first flower"}),
        );
    }
    Some(total / 4.0)
}

/// The one that is kept gets a name, and the others go on living.
fn name_it(l: &mut Line<'_>, plant: usize, day: Day, name: &str) {
    if day > l.world.last {
        return;
    }
    let (uid, clone) = (l.world.plants[plant].uid, l.world.plants[plant].clone);
    l.world.plants[plant].story = true;
    let pen = l.world.scribe.act("rename", About::Plant(uid), day);
    let grounds = Grounds {
        as_of: Some(Edtf::from_day(date(day))),
        said_by: Some(super::stock::GROWER.to_owned()),
        reason: Some("best of its cross in both flushes; told apart by the dark eye".to_owned()),
    };
    l.world.rename(pen, clone, name, "determined", grounds);
    let detail = json!({"name": name, "by": super::stock::GROWER, "why": "kept, shown, asked for"});
    l.world.scribe.put(pen, line(l.world.clones[clone].uid, "named", on(day), detail));
    l.stage = "named";
}
