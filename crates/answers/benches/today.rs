//! Today for 3,000 plants with ten years of journal: about a million entries.
//!
//! The record is invented with a fixed seed, written through the same operations as any other, and
//! kept under the target folder, so that it is made once. In its last 430 days every plant is looked
//! at on two rounds a week; before that a watering is written every other week.

#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::{
    path::{Path, PathBuf},
    time::Instant,
};

use answers::{Hand, due::Lines, water::Water};
use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use dates::Edtf;
use journal::{Draft, Journal, Known, SubjectKind, Uid};
use serde_json::{Map, Value, json};

const PLANTS: usize = 3_000;
const PLACES: usize = 20;
const YEARS: i64 = 10;
const ROUNDS_SINCE: i64 = 430;

/// The multiplicative generator of Knuth's MMIX: enough for invented data.
struct Dice(u64);

impl Dice {
    fn share(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

fn hand() -> Hand {
    Hand {
        who: "Ines".to_owned(),
        device: "bench".to_owned(),
        now: "2025-11-21T18:00:00Z".parse().unwrap(),
        today: jiff::civil::date(2025, 11, 21),
        lang: texts::Lang::En,
        op: None,
    }
}

fn map(value: Value) -> Map<String, Value> {
    value.as_object().unwrap().clone()
}

struct Pot {
    uid: Uid,
    usual: f64,
    left: f64,
}

fn invent(path: &Path) {
    let (journal, _) = Journal::open(path).unwrap();
    let (mut dice, hand) = (Dice(11), hand());
    let draft = |act: &str| Draft::new(act, "invented", "Ines", "bench", hand.now);
    let today = hand.today_number();
    let first = today - YEARS * 365;
    let on = |day: i64| Edtf::from_day(dates::from_days(i32::try_from(day).unwrap()).unwrap());
    let mut d = draft("add");
    let places: Vec<Uid> = (0..PLACES)
        .map(|i| {
            let uid = d.create(SubjectKind::Place, None);
            d.claim(uid, "name", json!(format!("shelf {}", i + 1)));
            d.claim(uid, "rounds", json!(["tue", "fri"]));
            uid
        })
        .collect();
    let feed = d.create(SubjectKind::Supply, None);
    d.claim(feed, "what", json!("water"));
    d.claim(feed, "name", json!("tap"));
    journal.write(&d.finish()).unwrap();
    let genera = ["Begonia", "Streptocarpus", "Aeschynanthus", "Dischidia", "Peperomia"];
    let mut pots = Vec::new();
    for chunk in 0..PLANTS / 100 {
        let mut d = draft("bring_in");
        for i in chunk * 100..chunk * 100 + 100 {
            let clone = d.create(SubjectKind::Clone, None);
            let name = format!(
                "{} invented{}",
                genera[i % 5],
                "abcdefghijklmnopqrst".as_bytes()[i / 5 % 20] as char
            );
            d.claim(clone, "name", json!({"text": name, "genus": genera[i % 5]}));
            let uid = d.create(SubjectKind::Plant, None);
            d.claim(uid, "clone", json!(clone.to_string()));
            d.entry(uid, "arrived", on(first), Known::Seen, Map::new(), None);
            let at = json!({"place": places[i % PLACES].to_string()});
            d.entry(uid, "placed", on(first), Known::Seen, map(at), None);
            for year in 0..YEARS / 2 {
                let pot = json!({"pot": format!("{} cm", 7 + year)});
                let when = on(first + 730 * year + (i % 300) as i64);
                d.entry(uid, "potted", when, Known::Seen, map(pot), None);
            }
            if i % 40 == 0 {
                let seen = json!({"pest": "mealybug"});
                d.entry(
                    uid,
                    "pest_seen",
                    on(today - (i % 900) as i64),
                    Known::Seen,
                    map(seen),
                    None,
                );
            }
            let usual = 6.0 * (0.5 * (dice.share() - 0.5)).exp();
            pots.push(Pot { uid, usual, left: usual });
        }
        journal.write(&d.finish()).unwrap();
    }
    // Sixteen rounds to an operation: what is derived of a plant is derived once in each.
    let (mut day, mut d, mut rounds) = (first, draft("round"), 0u32);
    while day < today {
        let close = day > today - ROUNDS_SINCE;
        let step = if !close {
            14
        } else if (day - first) % 7 < 3 {
            3
        } else {
            4
        };
        for pot in &mut pots {
            pot.left -= step as f64;
            let (kind, detail) = if pot.left <= 0.0 || !close {
                pot.left = pot.usual * (0.4 * (dice.share() + dice.share() - 1.0)).exp();
                ("watered", if close { json!({"round": true}) } else { json!({}) })
            } else {
                ("checked", json!({"round": true, "found": "moist"}))
            };
            d.entry(pot.uid, kind, on(day), Known::Seen, map(detail), None);
        }
        day += step;
        rounds += 1;
        if rounds.is_multiple_of(16) || day >= today {
            journal.write(&d.finish()).unwrap();
            d = draft("round");
        }
    }
}

fn file() -> PathBuf {
    let exe = std::env::current_exe().unwrap();
    // …/release/deps/today-… → …/ten-years
    let folder = exe.ancestors().nth(3).unwrap().join("ten-years");
    let file = folder.join("collection.umbel");
    if !folder.join("done").exists() {
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(&folder).unwrap();
        let start = Instant::now();
        invent(&file);
        println!("made {} in {:.0} s", file.display(), start.elapsed().as_secs_f64());
        std::fs::write(folder.join("done"), "").unwrap();
    }
    println!("file {} MB", std::fs::metadata(&file).unwrap().len() / 1_000_000);
    file
}

fn today(c: &mut Criterion) {
    let (journal, _) = Journal::open(file()).unwrap();
    let hand = hand();
    let once =
        |what: &str, start: Instant| println!("{what}: {:.2} s", start.elapsed().as_secs_f64());
    let start = Instant::now();
    let mut water = journal.read(|r| Ok(Water::read(r, &hand).unwrap())).unwrap();
    once("first: every pot read and learnt from", start);
    let start = Instant::now();
    let walk = water.today(&hand);
    once("first: every pot counted for today", start);
    println!("{} places, {} dryings", walk.places.len(), walk.rests_on.0);
    let start = Instant::now();
    let mut lines = journal.read(|r| Ok(Lines::read(r, &hand).unwrap())).unwrap();
    once("first: what else wants doing", start);
    let mut group = c.benchmark_group("3,000 plants, ten years");
    group.sample_size(10);
    group.bench_function("Today, nothing new", |b| {
        b.iter(|| {
            journal
                .read(|r| {
                    water.refresh(r, &hand).unwrap();
                    lines.refresh(r, &hand).unwrap();
                    Ok((water.today(&hand), lines.all(r, &hand).unwrap()))
                })
                .unwrap()
        });
    });
    let mut n = 0;
    group.bench_function("Today, after an entry", |b| {
        b.iter_batched(
            || {
                n = n % 3_000 + 1;
                let input = answers::acts::EntryInput {
                    kind: "watered".to_owned(),
                    detail: map(json!({"found": "dry"})),
                    confirmed: true,
                    ..answers::acts::EntryInput::default()
                };
                answers::acts::log(&journal, &hand, &[answers::acts::Target::Plant(n)], &input)
                    .unwrap();
            },
            |()| {
                journal
                    .read(|r| {
                        water.refresh(r, &hand).unwrap();
                        lines.refresh(r, &hand).unwrap();
                        Ok((water.today(&hand), lines.all(r, &hand).unwrap()))
                    })
                    .unwrap()
            },
            BatchSize::PerIteration,
        );
    });
    group.bench_function("all pots learnt from anew", |b| {
        b.iter(|| water.learn(hand.today_number()).unwrap());
    });
    group.finish();
}

criterion_group!(benches, today);
criterion_main!(benches);
