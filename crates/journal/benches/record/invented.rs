//! A large invented record: 3,000 names, 200 keepers, 40 places, ten entries for each plant, a
//! note on one entry in ten.

use std::path::Path;

use dates::Edtf;
use jiff::Timestamp;
use journal::{Draft, Journal, Known, Operation, PlantFilter, PlantSort, SubjectKind, Uid};
use serde_json::{Map, Value, json};

pub fn now() -> Timestamp {
    "2025-11-21T18:00:00Z".parse().unwrap()
}

/// The multiplicative generator of Knuth's MMIX: enough for invented data.
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub fn below(&mut self, n: usize) -> usize {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap() % n
    }

    fn day(&mut self, from: i32) -> Edtf {
        let days = from + i32::try_from(self.below(300)).unwrap();
        Edtf::from_day(dates::from_days(days).unwrap())
    }
}

const SYLLABLES: [&str; 20] = [
    "zo", "ra", "pe", "la", "mi", "tu", "ca", "ne", "lo", "vi", "sa", "du", "be", "ri", "fo", "na",
    "ge", "ti", "mo", "xa",
];
const GENERA: [&str; 8] = [
    "Begonia",
    "Begonia",
    "Begonia",
    "Begonia",
    "Streptocarpus",
    "Aeschynanthus",
    "Dischidia",
    "Peperomia",
];

fn word(mut i: usize, syllables: usize) -> String {
    let mut out = String::new();
    for _ in 0..syllables {
        out.push_str(SYLLABLES[i % 20]);
        i /= 20;
    }
    out
}

/// The `i`-th of 3,000 names.
fn name(i: usize) -> (String, &'static str) {
    let genus = GENERA[i % GENERA.len()];
    (format!("{genus} {}", word(i * 53 % 160_000, 4)), genus)
}

struct House {
    keepers: Vec<Uid>,
    places: Vec<Uid>,
    clones: Vec<Uid>,
}

fn map(value: Value) -> Map<String, Value> {
    value.as_object().unwrap().clone()
}

fn draft(act: &str) -> Draft {
    Draft::new(act, "invented", "Ines", "bench", now())
}

fn note(dice: &mut Dice) -> Option<String> {
    if dice.below(10) > 0 {
        return None;
    }
    Some((0..6).map(|_| word(dice.below(2_000), 3)).collect::<Vec<_>>().join(" "))
}

fn entries(d: &mut Draft, house: &House, plant: Uid, dice: &mut Dice) {
    let keeper = house.keepers[dice.below(house.keepers.len())].to_string();
    let place = house.places[dice.below(house.places.len())].to_string();
    let first = 18_000 + i32::try_from(dice.below(1_500)).unwrap();
    let mut log = |kind: &str, from: i32, detail: Value, dice: &mut Dice| {
        let note = note(dice);
        d.entry(plant, kind, dice.day(from), Known::Seen, map(detail), note);
    };
    log("arrived", first, json!({"from": keeper, "received_as": "cutting"}), dice);
    log("placed", first, json!({"place": place}), dice);
    log("potted", first, json!({"pot": "9 cm", "mix": {"bark": 2, "perlite": 1}}), dice);
    for _ in 0..4 {
        log("watered", first + 300, json!({"amount": "200 ml"}), dice);
    }
    log("opened", first + 300, json!({"part": "flower"}), dice);
    log("ended", first + 600, json!({"part": "flower"}), dice);
    match dice.below(20) {
        0 => log("lost", first + 600, json!({"why": "rot"}), dice),
        _ => log("checked", first + 600, json!({"found": "dry"}), dice),
    }
}

fn plants(house: &House, count: usize, dice: &mut Dice) -> Operation {
    let mut d = draft("bring_in");
    for _ in 0..count {
        let plant = d.create(SubjectKind::Plant, None);
        d.claim(plant, "clone", json!(house.clones[dice.below(house.clones.len())].to_string()));
        entries(&mut d, house, plant, dice);
    }
    d.finish()
}

pub fn invent(path: &Path, count: usize) {
    let (journal, _) = Journal::open(path).unwrap();
    let mut dice = Dice::new(7);
    let mut d = draft("add");
    let mut named = |kind: SubjectKind, name: String| {
        let uid = d.create(kind, None);
        d.claim(uid, "name", json!(name));
        uid
    };
    let keepers = (0..200)
        .map(|i| named(SubjectKind::Keeper, format!("{} {}", word(i, 2), word(i * 31, 3))))
        .collect();
    let spots = ["sill", "shelf", "bench", "cabinet"];
    let places = (0..40)
        .map(|i| named(SubjectKind::Place, format!("{} {}", spots[i % 4], word(i, 2))))
        .collect();
    journal.write(&d.finish()).unwrap();
    let mut d = draft("add");
    let mut clones: Vec<Uid> = Vec::new();
    // Ten pieces of each clone on average; every other clone is a seedling of two earlier ones.
    for i in 0..count / 10 {
        let clone = d.create(SubjectKind::Clone, None);
        let (name, genus) = name(i % 3_000);
        d.claim(clone, "name", json!({"text": name, "normal": name, "genus": genus}));
        if i > 10 && i % 2 == 0 {
            let seed = clones[dice.below(i)].to_string();
            let pollen = clones[dice.below(i)].to_string();
            d.claim(
                clone,
                "parents",
                json!({"seed": {"clone": seed}, "pollen": {"clone": pollen}}),
            );
        }
        clones.push(clone);
    }
    journal.write(&d.finish()).unwrap();
    let house = House { keepers, places, clones };
    for _ in 0..count / 1_000 {
        journal.write(&plants(&house, 1_000, &mut dice)).unwrap();
    }
}

/// One watering of one of the plants.
pub fn entry_for(journal: &Journal, n: usize) -> Operation {
    let number = i64::try_from(n * 7_919 % 100_000).unwrap() + 1;
    let plant = journal.read(|r| r.plant(number)).unwrap().unwrap();
    let mut d = draft("log");
    let note = n.is_multiple_of(10).then(|| "dry again after three days".to_owned());
    let day = Edtf::parse("2025-11-20").unwrap();
    d.entry(plant.uid, "watered", day, Known::Seen, map(json!({"amount": "200 ml"})), note);
    d.finish()
}

/// What bringing in a list of so many plants writes: each a new clone with name, keeper and place.
pub fn operation_of(journal: &Journal, count: usize) -> Operation {
    let (keepers, places, _) = journal
        .read(|r| {
            let page = r.plants(&PlantFilter::default(), PlantSort::Number, 0, 1)?;
            Ok((r.keepers()?, r.places()?, page))
        })
        .unwrap();
    let mut dice = Dice::new(11);
    let mut d = draft("bring_in");
    for i in 0..count {
        let clone = d.create(SubjectKind::Clone, None);
        let (name, genus) = name(dice.below(3_000));
        d.claim(clone, "name", json!({"text": name, "normal": name, "genus": genus}));
        let plant = d.create(SubjectKind::Plant, None);
        d.claim(plant, "clone", json!(clone.to_string()));
        d.claim(plant, "tag", json!(format!("T{i}")));
        let from = keepers[dice.below(keepers.len())].uid.to_string();
        let place = places[dice.below(places.len())].uid.to_string();
        d.entry(
            plant,
            "arrived",
            dice.day(19_000),
            Known::Remembered,
            map(json!({"from": from})),
            None,
        );
        d.entry(plant, "placed", dice.day(19_300), Known::Seen, map(json!({"place": place})), None);
        d.push(journal::Change::BroughtIn {
            fingerprint: format!("{i:032x}"),
            subject: plant,
            origin: format!("list.csv, row {i}"),
        });
    }
    d.finish()
}
