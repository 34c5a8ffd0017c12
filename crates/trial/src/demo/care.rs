//! Watering, checks, pots, readings, weights and measures.

use jiff::civil::Weekday;
use journal::Known;
use serde_json::{Value, json};

use super::{
    Day,
    plants::pot,
    scribe::{About, line},
    shelf,
    stock::{NOTES, PLACES},
    timeline::{date, drying_season, on, winter},
    world::World,
};
use crate::{rng::Rng, truth::SAME_DRYING};

/// How many plants have every watering written down.
const FOLLOWED: usize = 26;
/// How many of them are weighed.
const WEIGHED: usize = 6;

pub(super) fn all(world: &mut World) {
    places(world);
    let mut rng = world.rng("followed");
    let mut order: Vec<usize> = (0..world.plants.len())
        .filter(|&i| world.plants[i].until - world.plants[i].since > 400)
        .collect();
    rng.shuffle(&mut order);
    for (rank, &plant) in order.iter().take(FOLLOWED).enumerate() {
        world.plants[plant].followed = true;
        follow(world, plant, rank < WEIGHED);
    }
    for plant in 0..world.plants.len() {
        let mut rng = world.rng(&format!("care {plant}"));
        if !world.plants[plant].followed {
            now_and_then(world, plant, &mut rng);
        }
        repot(world, plant, &mut rng);
        measure(world, plant, &mut rng);
        remarks(world, plant, &mut rng);
    }
    for place in 0..world.places.len() {
        rounds(world, place);
    }
    states(world);
}

/// For so many days every pot that is not followed by itself has been in a round \[d\].
const ROUNDS: Day = 75;

/// The rounds of a place on Wednesdays and Saturdays: what was still wet is named, the rest got
/// water. A round waters what is not wet, also what is only moist; one look in thirty is misread.
fn rounds(world: &mut World, place: usize) {
    let mut rng = world.rng(&format!("rounds {place}"));
    let mut at_can = world.rng(&format!("meter {place}"));
    let first = world.last - ROUNDS;
    let here: Vec<usize> = (0..world.plants.len())
        .filter(|&i| {
            let p = &world.plants[i];
            p.place == place && !p.followed && p.until >= world.last && p.since < first
        })
        .collect();
    // When each was watered and how long it then takes.
    let mut pots: Vec<(Day, f64)> = here.iter().map(|_| (first - 1, 2.0)).collect();
    for day in first..world.last {
        let weekday = date(day).weekday();
        if away(day) || !matches!(weekday, Weekday::Wednesday | Weekday::Saturday) {
            continue;
        }
        let fed = winter(day) < 0.5 && rng.chance(0.4);
        let pen = world.scribe.act("round", About::Words(format!("place {}", place + 1)), day);
        for (k, &plant) in here.iter().enumerate() {
            let (watered, dry_in) = pots[k];
            let share = f64::from(day - watered) / dry_in;
            let wet = if rng.chance(1.0 / 30.0) { share >= 1.0 } else { share < 1.0 };
            let p = &world.plants[plant];
            let mut detail = json!({"round": true});
            if wet {
                detail["found"] = json!("wet");
                world.scribe.put(pen, line(p.uid, "checked", on(day), detail));
                continue;
            }
            if fed {
                detail["feed"] = json!("balanced liquid feed");
                detail["feed_rate"] = json!("half strength");
                shelf::meter(&mut detail, &mut at_can);
            }
            if share > 2.2 && rng.chance(0.5) {
                detail["limp"] = json!(true);
            }
            world.scribe.put(pen, line(p.uid, "watered", on(day), detail));
            pots[k] = (day, rng.log_normal(p.dry_days * drying_season(day), SAME_DRYING));
        }
    }
}

/// The days of rounds, how a few plants like their water, and which rest or have no roots.
fn states(world: &mut World) {
    let mut rng = world.rng("states");
    let pen =
        world.scribe.act("rounds", About::Words("all places".to_owned()), world.last - ROUNDS);
    for place in world.places.clone() {
        world.scribe.claim(pen, place, "rounds", json!(["wed", "sat"]));
    }
    let pen = world.scribe.act(
        "wish",
        About::Words("several plants".to_owned()),
        world.last - ROUNDS + 1,
    );
    for i in 0..world.plants.len() {
        let (uid, followed) = (world.plants[i].uid, world.plants[i].followed);
        let there = world.plants[i].since < world.last - ROUNDS - 5;
        if followed || !there || world.plants[i].until < world.last {
            continue;
        }
        let genus = &world.clones[world.plants[i].clone].genus;
        if genus == "Dischidia" && rng.chance(0.2) {
            world.scribe.claim(pen, uid, "wish", json!("never_dry"));
        } else if rng.chance(0.03) {
            world.scribe.claim(pen, uid, "growth", json!(rng.pick(&["resting", "rootless"])));
        }
    }
}

/// The fortnight in August when nobody is at home.
fn away(day: Day) -> bool {
    let d = date(day);
    d.month() == 8 && (4..=17).contains(&d.day())
}

/// Adds feed in the months of growth.
fn feed(detail: &mut Value, day: Day, rng: &mut Rng) {
    if winter(day) < 0.5 && rng.chance(0.4) {
        detail["feed"] = json!(rng.pick(&["tomato feed", "balanced liquid feed", "orchid feed"]));
        detail["feed_rate"] = json!(rng.pick(&["1 ml to the litre", "half strength", "a capful"]));
    }
}

fn places(world: &mut World) {
    for (index, (name, _, warmth, swing, air, june, december)) in PLACES.into_iter().enumerate() {
        let mut rng = world.rng(&format!("place {name}"));
        let uid = world.places[index];
        let mut day = world.start + rng.range(3, 20);
        while day <= world.last {
            let w = winter(day);
            let light = (june + december) / 2.0 + (december - june) / 2.0 * w;
            let mut detail = json!({
                "temperature": format!("{:.1} °C", warmth - swing * w + 0.8 * rng.normal()),
                "humidity": format!("{:.0} %", (air - 4.0 * w + 4.0 * rng.normal()).clamp(25.0, 98.0)),
                "at": rng.pick(&["8:10", "13:00", "17:30", "21:15"]),
            });
            if rng.chance(0.5) {
                detail["illuminance"] = json!(format!("{:.0} lx", rng.log_normal(light, 0.15)));
            }
            if rng.chance(0.2) {
                detail["photon_flux"] =
                    json!(format!("{:.0} µmol", rng.log_normal(light / 70.0, 0.1)));
            }
            if rng.chance(0.25) {
                detail["conductivity"] = json!(format!("{:.2} mS/cm", rng.between(0.25, 1.4)));
            }
            let pen = world.scribe.log(day);
            world.scribe.put(pen, line(uid, "reading", on(day), detail));
            day += rng.range(14, 30);
        }
        if matches!(index, 2 | 3 | 8) {
            reservoir(world, index, &mut rng);
        }
    }
}

fn reservoir(world: &mut World, place: usize, rng: &mut Rng) {
    let (uid, mut day, mut level) = (world.places[place], world.start + 4, 9.0);
    while day <= world.last {
        let mut detail = json!({"level": format!("{level:.1} cm"), "filled": level < 3.5});
        if rng.chance(0.3) {
            detail["conductivity"] = json!(format!("{:.2} mS/cm", rng.between(0.5, 1.2)));
        }
        let pen = world.scribe.log(day);
        world.scribe.put(pen, line(uid, "reservoir", on(day), detail));
        let step = rng.range(6, 12);
        level = if level < 3.5 { 9.0 } else { level };
        level = (level - f64::from(step) * rng.between(0.2, 0.35)).max(0.2);
        day += step;
    }
}

/// Every watering and many checks of one plant. Wet up to 0.35 of the drying time, moist up to 1,
/// dry up to 1.45, bone dry after that.
fn follow(world: &mut World, plant: usize, weighed: bool) {
    let mut rng = world.rng(&format!("follow {plant}"));
    let mut at_drain = world.rng(&format!("drain {plant}"));
    let p = world.plants[plant].clone();
    let wet_weight = rng.between(320.0, 900.0);
    let mut watered = p.since + 1;
    let mut dry_in = 0.0;
    let mut day = watered;
    let end = p.until.min(world.last);
    while day <= end {
        if away(day) {
            day += 1;
            continue;
        }
        let elapsed = f64::from(day - watered);
        let share = if dry_in > 0.0 { elapsed / dry_in } else { 1.2 };
        let found = match share {
            s if s < 0.35 => "wet",
            s if s < 1.0 => "moist",
            s if s < 1.45 => "dry",
            _ => "bone_dry",
        };
        let pen = world.scribe.log(day);
        if share >= 1.0 {
            let mut detail = json!({"found": found});
            if rng.chance(0.3) {
                detail["amount"] = json!(format!("{} ml", rng.range(3, 12) * 25));
                detail["water"] = json!(rng.pick(&["rain", "tap", "mixed"]));
            }
            feed(&mut detail, day, &mut rng);
            if weighed {
                let dry = wet_weight * (0.62 + 0.02 * rng.normal());
                let weight = format!("{dry:.0} g");
                world.scribe.put(pen, line(p.uid, "weighed", on(day), json!({"weight": weight})));
                detail["weight_after"] =
                    json!(format!("{:.0} g", wet_weight * (1.0 + 0.02 * rng.normal())));
                if at_drain.chance(0.12) {
                    let months = f64::from((day - p.since) % 400) / 30.4;
                    shelf::drain(&mut detail, months, &mut at_drain);
                }
            }
            world.scribe.put(pen, line(p.uid, "watered", on(day), detail));
            watered = day;
            dry_in = rng.log_normal(p.dry_days * drying_season(day), SAME_DRYING);
        } else if elapsed > 0.0 && rng.chance(0.45) {
            let mut detail = json!({"found": found});
            if rng.chance(0.05) {
                detail["limp"] = json!(true);
            }
            world.scribe.put(pen, line(p.uid, "checked", on(day), detail));
        }
        day += rng.range(1, 3);
    }
}

/// The rest are looked at when something makes one look.
fn now_and_then(world: &mut World, plant: usize, rng: &mut Rng) {
    let p = world.plants[plant].clone();
    let mut day = p.since + rng.range(4, 60);
    // From the first round on the rounds say how it was found.
    while day <= p.until.min(world.last - ROUNDS - 1) {
        let found = rng.pick(&["dry", "dry", "moist", "moist", "moist", "wet", "bone_dry"]);
        let kind = if rng.chance(0.5) { "watered" } else { "checked" };
        let pen = world.scribe.log(day);
        world.scribe.put(pen, line(p.uid, kind, on(day), json!({"found": found})));
        day += rng.range(25, 80);
    }
}

fn repot(world: &mut World, plant: usize, rng: &mut Rng) {
    let p = world.plants[plant].clone();
    let genus = world.clones[p.clone].genus.clone();
    let mut day = p.since + rng.range(90, 420);
    let mut size = rng.range(8, 11);
    let mut at_roots = world.rng(&format!("roots {plant}"));
    let (mut before, mut fills) = (p.since, shelf::fills_in(&genus, &mut at_roots));
    let months = |from: Day, to: Day| f64::from(to - from) / 30.4;
    while day < p.until.min(world.last) {
        let mut detail = pot(&genus, rng, size, size + 1);
        if at_roots.chance(0.35) {
            detail["roots"] = json!(shelf::roots(months(before, day), fills));
        }
        look_at_roots(world, plant, (before, day), fills, &mut at_roots);
        (before, fills) = (day, shelf::fills_in(&genus, &mut at_roots));
        detail["why"] = json!(rng.pick(&[
            "roots at the holes",
            "mix had gone to mud",
            "dried out within a day",
            "stale, white crust on top",
            "wanted it off the wick",
        ]));
        let pen = world.scribe.log(day);
        let mut l = line(p.uid, "potted", on(day), detail);
        if rng.chance(0.2) {
            l = l.note("Half the old ball was dead. Smaller pot than planned.");
        }
        world.scribe.put(pen, l);
        if rng.chance(0.25) {
            world.plants[plant].place = super::plants::place_for(&genus, rng);
            let place = json!({"place": world.places[world.plants[plant].place].to_string()});
            world.scribe.put(pen, line(p.uid, "placed", on(day), place));
        }
        day += rng.range(260, 460);
        size += 1;
    }
    look_at_roots(world, plant, (before, p.until.min(world.last)), fills, &mut at_roots);
}

/// A look at the roots of one pot in four, some time between potting and the next.
fn look_at_roots(
    world: &mut World,
    plant: usize,
    (from, to): (Day, Day),
    fills: f64,
    rng: &mut Rng,
) {
    if to - from < 60 || !rng.chance(0.25) {
        return;
    }
    let day = from + 40 + rng.range(0, to - from - 50);
    let roots = shelf::roots(f64::from(day - from) / 30.4, fills);
    let pen = world.scribe.log(day);
    let uid = world.plants[plant].uid;
    world.scribe.put(pen, line(uid, "checked_roots", on(day), json!({"roots": roots})));
}

/// Leaves and stems of about one plant in six, every six weeks or so.
fn measure(world: &mut World, plant: usize, rng: &mut Rng) {
    if !rng.chance(0.17) {
        return;
    }
    let p = world.plants[plant].clone();
    let genus = &world.clones[p.clone].genus;
    let (what, mut size, growth) = match genus.as_str() {
        "Begonia" => ("length of the longest leaf", rng.between(5.0, 14.0), 0.02),
        "Streptocarpus" => ("length of the longest leaf", rng.between(9.0, 20.0), 0.03),
        _ => ("length of the longest stem", rng.between(12.0, 40.0), 0.06),
    };
    let mut day = p.since + rng.range(10, 50);
    while day <= p.until.min(world.last) {
        let measured = (size + 0.2 * rng.normal()).max(1.0);
        let pen = world.scribe.log(day);
        let detail = json!({"what": what, "length": format!("{measured:.1} cm")});
        world.scribe.put(pen, line(p.uid, "measured", on(day), detail));
        if rng.chance(0.2) {
            let detail = json!({"what": "leaves", "count": rng.range(4, 40)});
            world.scribe.put(pen, line(p.uid, "measured", on(day), detail));
        }
        let step = rng.range(35, 60);
        size += growth * f64::from(step) * (1.0 - 0.6 * winter(day)) * rng.between(0.4, 1.2);
        day += step;
    }
}

/// What one scribbles in the margin.
fn remarks(world: &mut World, plant: usize, rng: &mut Rng) {
    let p = world.plants[plant].clone();
    let mut day = p.since + rng.range(20, 300);
    while day <= p.until.min(world.last) {
        let pen = world.scribe.log(day);
        let known = if rng.chance(0.06) { Known::Remembered } else { Known::Seen };
        let l = line(p.uid, "note", on(day), json!({})).note(rng.pick(&NOTES)).known(known);
        world.scribe.put(pen, l);
        day += rng.range(90, 420);
    }
}
