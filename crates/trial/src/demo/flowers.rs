//! Flowers and umbels that are followed from bud to end by looks some days apart.

use journal::{Known, SubjectKind};
use serde_json::json;

use super::{
    Day,
    scribe::line,
    timeline::{between, date, on},
    world::World,
};
use crate::{
    rng::Rng,
    truth::{FLOWER_SHAPE, FlowerTruth, LOOK_DAYS},
};

pub(super) fn all(world: &mut World) {
    for plant in 0..world.plants.len() {
        let mut rng = world.rng(&format!("flowers {plant}"));
        let p = world.plants[plant].clone();
        let clone = &world.clones[p.clone];
        let (share, most) = match clone.genus.as_str() {
            "Aeschynanthus" | "Streptocarpus" => (0.7, 4),
            "Begonia" => (0.55, 2),
            "Dischidia" => (0.35, 2),
            _ => (0.0, 0),
        };
        let bloom = clone.bloom;
        if !rng.chance(share) {
            continue;
        }
        let first = date(world.start).year();
        for year in first..=date(world.last).year() {
            let flush = rng.range(1, most);
            for _ in 0..flush {
                let spread = (22.0 * rng.normal()) as Day;
                let opens = dates::to_days(jiff::civil::date(year, 1, 1)) + bloom + spread;
                if opens > p.since + 25 && opens < p.until.min(world.last) {
                    one(world, plant, opens, &mut rng);
                }
            }
        }
        // Something that is open now.
        if rng.chance(0.25) && p.until == world.last && p.since < world.last - 60 {
            let opens = world.last - rng.range(1, 14);
            one(world, plant, opens, &mut rng);
        }
    }
}

/// A note that flowers of one plant get now and then.
const NOTES: [&str; 8] = [
    "Paler than last year.",
    "Throat with two dark lines, the sister has three.",
    "Scent in the evening only.",
    "Opened on the side away from the window.",
    "Half the size of the spring flowers.",
    "Colour as on Jorunn's photo, at last.",
    "Pollen already shed when it opened.",
    "First flower on this plant here.",
];

fn one(world: &mut World, plant: usize, opens: Day, rng: &mut Rng) {
    let p = world.plants[plant].clone();
    let clone = &world.clones[p.clone];
    let (clone_uid, median) = (clone.uid, clone.flower_days);
    let what = if clone.genus == "Dischidia" { "umbel" } else { "flower" };
    // Nothing here lasts less than three days; that cuts off less than one life in a hundred.
    let life = rng.weibull(median, FLOWER_SHAPE).max(3.0);
    let ends = opens + life as Day;
    let end = p.until.min(world.last);
    let first_look = opens + rng.range(0, 2).min(end - opens);
    let bud = (opens - rng.range(6, 16)).max(p.since);
    let with_bud = rng.chance(0.4);
    let pen = world.scribe.log(if with_bud { bud } else { first_look });
    let part = world.scribe.create(pen, SubjectKind::Part, Some(p.uid));
    world.scribe.claim(pen, part, "what", json!(what));
    if with_bud {
        world.scribe.put(pen, line(part, "bud_seen", on(bud), json!({})));
    }
    let known = match rng.range(0, 39) {
        0 | 1 => Known::Photo,
        2 | 3 => Known::Remembered,
        4 => Known::Told,
        _ => Known::Seen,
    };
    // Seen open for the first time; if it was looked at the day before, the day is certain.
    let not_yet = opens - if rng.chance(0.6) { 0 } else { rng.range(1, 5) };
    let happened = if not_yet == opens && first_look == opens {
        on(opens)
    } else {
        between(not_yet.min(opens - 1).max(p.since), first_look)
    };
    let mut l = line(part, "opened", happened, json!({})).known(known);
    if rng.chance(0.06) {
        l = l.note(rng.pick(&NOTES));
    }
    let pen = world.scribe.log(first_look);
    world.scribe.put(pen, l);
    let censored = looks(world, part, (first_look, ends, end), known, rng);
    world.flowers.push(FlowerTruth {
        part,
        plant: p.uid,
        clone: clone_uid,
        opened: date(opens),
        life,
        censored,
    });
}

/// Looks at an open flower until it is over or nobody looks any more; returns whether it was still
/// open at the last look. A flower is closed on the day `ends` and open on the day before.
fn looks(
    world: &mut World,
    part: journal::Uid,
    (first, ends, end): (Day, Day, Day),
    known: Known,
    rng: &mut Rng,
) -> bool {
    let mut seen_open = first;
    loop {
        let look = seen_open + rng.range(LOOK_DAYS.0, LOOK_DAYS.1);
        if look > end || (rng.chance(0.015) && look < ends) {
            // The last look: yesterday, or when the plant left, or when it was forgotten.
            let last = look.min(end).min(ends - 1);
            if last > seen_open {
                let pen = world.scribe.log(last);
                world.scribe.put(pen, line(part, "still_open", on(last), json!({})));
            }
            return true;
        }
        let pen = world.scribe.log(look);
        if look < ends {
            if rng.chance(0.8) {
                world.scribe.put(pen, line(part, "still_open", on(look), json!({})));
                seen_open = look;
            }
            continue;
        }
        let how = rng.pick(&["faded", "faded", "dropped", "dropped", "dropped", "cut"]);
        // Sometimes it falls before one's eyes, and the day is certain.
        let when =
            if rng.chance(0.15) && ends > seen_open { on(ends) } else { between(seen_open, look) };
        world.scribe.put(pen, line(part, "ended", when, json!({"how": how})).known(known));
        return false;
    }
}
