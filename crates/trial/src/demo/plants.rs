//! What came: the list that the record begins with, later arrivals, and what did not stay.

use journal::{Change, Known, LeftOver};
use serde_json::{Value, json};

use super::{
    Day,
    crosses::core,
    scribe::{About, Pen, line},
    stock::{CULTIVARS, DOUBTFUL, LOSSES, MIXES, SPECIES},
    timeline::{date, month, on, remembered},
    world::{End, World},
};
use crate::rng::Rng;

const LIST: &str = "shelf-list.csv";

/// One plant that comes, before it is there.
struct Coming {
    name: String,
    /// Standing and doubt of its name.
    standing: &'static str,
    doubt: &'static str,
    /// Parents to claim, as in the table of cultivars.
    parents: Option<(&'static str, &'static str)>,
    /// A clone of its own even if there is one of this name.
    apart: bool,
}

impl Coming {
    fn species(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            standing: "as_received",
            doubt: "",
            parents: None,
            apart: false,
        }
    }
}

/// Where plants of a genus stand: the better places twice.
pub(super) fn place_for(genus: &str, rng: &mut Rng) -> usize {
    match genus {
        "Begonia" => rng.pick(&[0, 1, 2, 2, 3, 3, 4, 7]),
        "Aeschynanthus" => rng.pick(&[2, 5, 5, 6, 6, 7]),
        "Streptocarpus" => rng.pick(&[0, 1, 5, 7, 8, 8]),
        _ => rng.pick(&[2, 3, 6, 6]),
    }
}

/// Splits everything that comes into what was there at the start and what came later.
fn all_coming(world: &World) -> (Vec<Coming>, Vec<Coming>) {
    let mut rng = world.rng("coming");
    let core = core();
    let (mut early, mut later) = (Vec::new(), Vec::new());
    for name in SPECIES {
        let list = if rng.chance(0.6) || core.contains(&name) { &mut early } else { &mut later };
        list.push(Coming::species(name));
    }
    for (name, seed, pollen) in CULTIVARS {
        let coming =
            Coming { standing: "believed", parents: Some((seed, pollen)), ..Coming::species(name) };
        let list = if rng.chance(0.55) || core.contains(&name) { &mut early } else { &mut later };
        list.push(coming);
    }
    for (name, doubt) in DOUBTFUL {
        let coming = Coming { standing: "doubted", doubt, ..Coming::species(name) };
        if rng.chance(0.4) { early.push(coming) } else { later.push(coming) }
    }
    // A second clone of some species, from somebody else.
    for _ in 0..16 {
        later.push(Coming { apart: true, ..Coming::species(rng.pick(&SPECIES)) });
    }
    rng.shuffle(&mut early);
    rng.shuffle(&mut later);
    (early, later)
}

/// The plants that were there when the record began, brought in from a list.
pub(super) fn first_list(world: &mut World) {
    let (early, _) = all_coming(world);
    let start = world.start;
    let pen = world.scribe.act("bring_in", About::Words(LIST.to_owned()), start);
    let mut rng = world.rng("first list");
    let mut parents = Vec::new();
    for (row, coming) in (2..).zip(early) {
        let clone = world.clone(pen, &coming.name, coming.standing, coming.doubt);
        let came = start - rng.range(30, 2600);
        let plant = enter(world, pen, clone, came, start, &mut rng);
        let uid = world.plants[plant].uid;
        let origin = format!("{LIST}, row {row}");
        let fingerprint = format!("{:016x}{:016x}", rng.next(), rng.next());
        world.scribe.change(pen, Change::BroughtIn { fingerprint, subject: uid, origin });
        parents.extend(coming.parents.map(|p| (clone, p)));
    }
    left_over(world, pen);
    let pen =
        world.scribe.act("parents", About::Words("names on old labels".to_owned()), start + 2);
    for (clone, (seed, pollen)) in parents {
        world.parents(pen, clone, seed, pollen);
    }
}

fn left_over(world: &mut World, pen: Pen) {
    let rows = [
        (
            [LIST, ", row 139"].concat(),
            vec!["S. 'Unreadable (coffee)'", "Dorian?", "31/02/2022", "cutting", ""],
            "31/02/2022 is no day: February 2022 has 28; write the day or only the month",
        ),
        (
            [LIST, ", row 144"].concat(),
            vec!["D. major or A. something", "exchange", "autumn", "", "landing"],
            "“D. major or A. something” names two plants; make two rows or keep one name",
        ),
    ];
    for (origin, cells, why) in rows {
        let uid = world.scribe.uid(i64::from(world.start) * 86_400_000 + 57_700_000);
        let cells = cells.into_iter().map(str::to_owned).collect();
        let left = LeftOver { uid, origin, cells, why: why.to_owned() };
        world.scribe.change(pen, Change::LeftOver(left));
    }
}

/// Makes a plant with arrival, place and pot, each as well as it is remembered.
fn enter(world: &mut World, pen: Pen, clone: usize, came: Day, since: Day, rng: &mut Rng) -> usize {
    let genus = world.clones[clone].genus.clone();
    let place = place_for(&genus, rng);
    let plant = world.plant(pen, clone, place, came, since);
    let uid = world.plants[plant].uid;
    let old = came < since - 20;
    let known = if old { Known::Remembered } else { Known::Seen };
    let happened = if old {
        remembered(rng, came)
    } else if rng.chance(0.9) {
        on(came)
    } else {
        month(came)
    };
    // Of some nobody remembers how they came; it is put off, and of a few it comes back later.
    if !(old && rng.chance(0.08)) {
        let mut l = line(uid, "arrived", happened, origin(world, rng)).known(known);
        if rng.chance(0.12) {
            l = l.note(rng.pick(&[
                "Wrapped in wet newspaper, one leaf broken.",
                "Third try with this one.",
                "The envelope had been opened by customs.",
                "Thrown in for free with another order.",
                "Carried home on the train inside a coat.",
            ]));
        }
        world.scribe.put(pen, l);
    } else if rng.chance(0.7) {
        let day = since + rng.range(100, 500);
        let later = world.scribe.act("log", About::Plant(uid), day);
        let detail = origin(world, rng);
        let l = line(uid, "arrived", remembered(rng, came), detail)
            .known(Known::Remembered)
            .note("Found the receipt in the drawer with the seed packets.");
        world.scribe.put(later, l);
    }
    let place = json!({"place": world.places[place].to_string()});
    world.scribe.put(pen, line(uid, "placed", on(since), place));
    if rng.chance(0.85) {
        let when = if old { remembered(rng, came + 10) } else { on(since) };
        let detail = pot(&genus, rng, 7, 12);
        world.scribe.put(pen, line(uid, "potted", when, detail).known(known));
    }
    if rng.chance(0.15) {
        let tag = json!(format!("{}{}", rng.pick(&["K", "OT", "B", "x"]), rng.range(3, 480)));
        world.scribe.claim(pen, uid, "tag", tag);
    }
    plant
}

/// From whom, as what, for how much or in exchange for what.
fn origin(world: &World, rng: &mut Rng) -> Value {
    let keeper =
        rng.pick(&[0usize, 1, 1, 2, 3, 3, 4, 5, 5, 5, 6, 6, 7, 8, 9, 10, 10, 11, 11, 12, 12, 13]);
    let received = match keeper {
        10 | 11 | 13 => rng.pick(&["plant", "plant", "rooted_cutting", "division"]),
        _ => rng.pick(&[
            "cutting",
            "cutting",
            "rooted_cutting",
            "plant",
            "division",
            "seedling",
            "seed",
        ]),
    };
    let mut detail = json!({"received_as": received});
    if rng.chance(0.94) {
        detail["from"] = json!(world.keepers[keeper].to_string());
    }
    let currency = match keeper {
        0 => "NOK",
        1 | 2 | 7 | 11 => "EUR",
        4 | 13 => "SEK",
        9 => "CHF",
        _ => "GBP",
    };
    let scale = if matches!(currency, "NOK" | "SEK") { 11.0 } else { 1.0 };
    if matches!(keeper, 10..=13) || rng.chance(0.15) {
        let amount = (f64::from(rng.range(5, 44)) * 0.5 * scale * 2.0).round() / 2.0;
        detail["price"] = json!({"amount": amount, "currency": currency});
    } else if keeper == 8 || rng.chance(0.4) {
        let given = rng.pick(&SPECIES);
        detail["swapped_for"] = json!(format!("a cutting of {given}"));
    } else if rng.chance(0.7) {
        detail["free"] = json!(true);
    }
    if keeper == 11 {
        detail["passport"] =
            json!(format!("batch {}-{:04}", rng.range(20, 60), rng.range(1, 9999)));
    }
    detail
}

/// A pot of `low` to `high` cm with a mix for this genus.
pub(super) fn pot(genus: &str, rng: &mut Rng, low: i32, high: i32) -> Value {
    let mixes: Vec<_> = MIXES.iter().filter(|(g, _)| *g == genus).collect();
    let mut detail = json!({"pot": format!("{} cm", rng.range(low, high))});
    if !mixes.is_empty() {
        let parts: serde_json::Map<String, Value> =
            rng.pick(&mixes).1.iter().map(|(what, n)| ((*what).to_owned(), json!(n))).collect();
        detail["mix"] = Value::Object(parts);
    }
    if rng.chance(0.6) {
        detail["container"] = json!(if genus == "Aeschynanthus" { "basket" } else { "pot" });
        detail["material"] = json!(rng.pick(&["plastic", "plastic", "terracotta", "net"]));
    }
    detail
}

/// Everything that came in the course of the record, one operation each.
pub(super) fn arrivals(world: &mut World) {
    let (_, later) = all_coming(world);
    let mut rng = world.rng("arrivals");
    let span = world.last - world.start - 12;
    let mut days: Vec<Day> = later.iter().map(|_| world.start + 5 + rng.range(0, span)).collect();
    days.sort_unstable();
    for (coming, day) in later.into_iter().zip(days) {
        let about = About::Words(coming.name.clone());
        let pen = world.scribe.act("add", about, day);
        let known = world.by_name.get(&coming.name).copied().filter(|_| !coming.apart);
        let clone = match known {
            Some(index) => index,
            None => world.clone(pen, &coming.name, coming.standing, coming.doubt),
        };
        if let Some((seed, pollen)) = coming.parents {
            world.parents(pen, clone, seed, pollen);
        }
        let since = day;
        enter(world, pen, clone, day, since, &mut rng);
    }
}

/// Losses, plants given away whole, and some of which nobody knows whether they live.
pub(super) fn endings(world: &mut World) {
    let mut rng = world.rng("endings");
    let mut open: Vec<usize> = (0..world.plants.len())
        .filter(|&i| !world.plants[i].story && world.plants[i].since < world.last - 120)
        .collect();
    rng.shuffle(&mut open);
    let plan = [(End::Dead, 19), (End::Gone, 10), (End::Unknown, 5)];
    let mut open = open.into_iter();
    for (end, count) in plan {
        for plant in open.by_ref().take(count) {
            let (uid, since) = (world.plants[plant].uid, world.plants[plant].since);
            let day = rng.range(since + 60, world.last - 3);
            let pen = world.scribe.act("state", About::Plant(uid), day);
            let l = match end {
                End::Dead => line(uid, "lost", on(day), json!({"why": rng.pick(&LOSSES)})),
                End::Unknown => line(
                    uid,
                    "doubtful",
                    month(day),
                    json!({"why": rng.pick(&["bare stem, perhaps alive below", "not seen since the shelves were moved", "dormant or dead"])}),
                ),
                End::Alive | End::Gone => away(world, &mut rng, uid, day),
            };
            world.scribe.put(pen, l);
            let p = &mut world.plants[plant];
            (p.until, p.end) = (day, end);
        }
    }
}

fn away(world: &World, rng: &mut Rng, uid: journal::Uid, day: Day) -> super::scribe::Line {
    let to = world.keepers[rng.range(0, 9) as usize].to_string();
    match rng.range(0, 2) {
        0 => line(uid, "given", on(day), json!({"to": to, "whole": true}))
            .note("Too large for the rail; it has a hall to itself now."),
        1 => line(
            uid,
            "sold",
            on(day),
            json!({"to": to, "whole": true, "price": {"amount": f64::from(rng.range(6, 30)), "currency": "GBP"}}),
        ),
        _ => line(
            uid,
            "swapped",
            on(day),
            json!({"to": to, "whole": true, "for": format!("seed of the {} harvest", date(day).year())}),
        ),
    }
}
