//! A simulated breeder as a record.

use dates::Edtf;
use jiff::{Timestamp, civil::Date};
use journal::{Draft, Journal, Known, SubjectKind, Uid};
use serde_json::{Map, Value, json};

use super::{Breeder, Garden};

/// Names of the species, in turn.
const SPECIES: [&str; 8] = [
    "Streptocarpus rexii",
    "Streptocarpus cyaneus",
    "Streptocarpus dunnii",
    "Streptocarpus primulifolius",
    "Streptocarpus johannis",
    "Streptocarpus formosus",
    "Streptocarpus candidus",
    "Streptocarpus gardenii",
];

/// Days after a pollination on which the keeper looks whether it took.
const LOOKS_AFTER: i64 = 24;

/// Writes the clones of a breeder with names, parents and plants; each clone and its plant.
fn write_clones(journal: &Journal, breeder: &Breeder) -> Result<Vec<(Uid, Uid)>, journal::Error> {
    let first = breeder.world.first_day;
    let mut draft = begin("add", "plants", first);
    let mut clones: Vec<(Uid, Uid)> = Vec::new();
    for (i, clone) in breeder.clones.iter().enumerate() {
        let uid = draft.create(SubjectKind::Clone, None);
        let name = match breeder.species_of(i) {
            Some(species) => SPECIES[species % SPECIES.len()].to_owned(),
            None => "Streptocarpus".to_owned(),
        };
        draft.claim(uid, "name", json!({"text": name, "normal": name, "genus": "Streptocarpus"}));
        if let Some([a, b]) = clone.parents {
            let of = |c: usize| json!({"clone": clones[c].0.to_string()});
            draft.claim(uid, "parents", json!({"seed": of(a), "pollen": of(b)}));
        }
        let plant = draft.create(SubjectKind::Plant, None);
        draft.claim(plant, "clone", json!(uid.to_string()));
        draft.entry(plant, "arrived", date(first), Known::Seen, Map::new(), None);
        clones.push((uid, plant));
    }
    journal.write(&draft.finish())?;
    Ok(clones)
}

/// Writes the clones of a garden and what they were scored for `size`; what was pollinated is not
/// written. Returns the clones.
///
/// # Errors
/// Those of writing an operation.
pub fn write_garden(journal: &Journal, garden: &Garden) -> Result<Vec<Uid>, journal::Error> {
    let clones = write_clones(journal, &garden.breeder)?;
    let day = garden.breeder.world.first_day + 1;
    let mut draft = begin("log", "scores", day);
    for ((_, plant), scores) in clones.iter().zip(&garden.scores) {
        for score in scores {
            let detail = map(&json!({"trait": "size", "score": score}));
            draft.entry(*plant, "scored", date(day), Known::Seen, detail, None);
        }
    }
    journal.write(&draft.finish())?;
    Ok(clones.into_iter().map(|c| c.0).collect())
}

/// Writes seedlings that flowered and were scored once: seed parent, pollen parent, score.
///
/// # Errors
/// Those of writing an operation.
pub fn write_seedlings(
    journal: &Journal,
    clones: &[Uid],
    seedlings: &[(usize, usize, f64)],
    day: i64,
) -> Result<(), journal::Error> {
    let mut draft = begin("log", "seedlings", day);
    for (seed, pollen, score) in seedlings {
        let uid = draft.create(SubjectKind::Clone, None);
        let of = |c: usize| json!({"clone": clones[c].to_string()});
        draft.claim(uid, "parents", json!({"seed": of(*seed), "pollen": of(*pollen)}));
        let plant = draft.create(SubjectKind::Plant, None);
        draft.claim(plant, "clone", json!(uid.to_string()));
        let detail = map(&json!({"trait": "size", "score": score}));
        draft.entry(plant, "scored", date(day), Known::Seen, detail, None);
    }
    journal.write(&draft.finish())?;
    Ok(())
}

/// Writes a breeder into a record: clones with names, parents and plants, one cross for each pair and
/// an entry for each pollination and its outcome, where it was told. Returns the clones.
///
/// # Errors
/// Those of writing an operation; the operations before it have been written then.
pub fn write_breeder(journal: &Journal, breeder: &Breeder) -> Result<Vec<Uid>, journal::Error> {
    let clones = write_clones(journal, breeder)?;
    let mut crosses: Vec<((usize, usize), Uid)> = Vec::new();
    for p in &breeder.pollinations {
        // Written with its outcome: nothing is written before it came about.
        let mut draft = begin("pollinate", "one pollination", p.day + LOOKS_AFTER);
        let pair = (p.seed, p.pollen);
        let cross = match crosses.iter().find(|c| c.0 == pair) {
            Some((_, uid)) => *uid,
            None => {
                let uid = draft.create(SubjectKind::Cross, None);
                let of = |c: usize| json!({"clone": clones[c].0.to_string()});
                draft.claim(uid, "parents", json!({"seed": of(p.seed), "pollen": of(p.pollen)}));
                crosses.push((pair, uid));
                uid
            }
        };
        let pollination = draft.create(SubjectKind::Pollination, Some(clones[p.seed].1));
        draft.claim(pollination, "cross", json!(cross.to_string()));
        let mut detail = json!({
            "pollen": if p.seed == p.pollen { "self" } else { "known" },
            "pollen_of": clones[p.pollen].0.to_string(),
            "flowers": p.flowers,
            "cross": cross.to_string(),
        });
        if p.age > 0 {
            detail["pollen_age"] = json!(format!("{} d", p.age));
        }
        draft.entry(pollination, "pollinated", date(p.day), Known::Seen, map(&detail), None);
        if p.told {
            let seen = map(&json!({"count": p.took}));
            let day = date(p.day + LOOKS_AFTER);
            draft.entry(pollination, "pod_seen", day, Known::Seen, seen, None);
        }
        journal.write(&draft.finish())?;
    }
    Ok(clones.into_iter().map(|c| c.0).collect())
}

fn map(value: &Value) -> Map<String, Value> {
    value.as_object().cloned().unwrap_or_default()
}

fn date(day: i64) -> Edtf {
    Edtf::from_day(i32::try_from(day).ok().and_then(dates::from_days).unwrap_or(Date::ZERO))
}

/// An operation in the evening of a day.
fn begin(act: &str, about: &str, day: i64) -> Draft {
    let at = Timestamp::from_second(day * 86_400 + 68_000).unwrap_or(Timestamp::UNIX_EPOCH);
    Draft::new(act, about, crate::grower(), "bench", at)
}
