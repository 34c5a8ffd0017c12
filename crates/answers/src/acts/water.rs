//! Watering a place in one go, and how each plant likes its water.

use journal::{Journal, Known, PlantFilter, Uid};
use serde_json::{Map, Value, json};

use super::{
    entries::Logged,
    plants::{journal_read, need_plant, write},
    read_date,
};
use crate::{AskError, Hand, Result, water::Wish};

/// A round of a place: all watered but those that are named otherwise.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Round {
    /// The number of the place.
    pub place: i64,
    /// When, as typed; empty for today.
    pub when: String,
    /// Numbers of plants that were still wet and got nothing.
    pub still_wet: Vec<i64>,
    /// Numbers of plants that were limp; they were watered.
    pub limp: Vec<i64>,
    /// Numbers of plants that nobody looked at.
    pub left_out: Vec<i64>,
    /// What the water held, in words; empty for none.
    pub feed: String,
    /// How it is known.
    pub known: Known,
}

/// Logs a round: one entry for each living plant of the place, in one operation.
///
/// # Errors
/// If the place is not there or empty, a number does not stand there, or a plant is named twice.
pub fn round(journal: &Journal, hand: &Hand, round: &Round) -> Result<Logged> {
    let happened = read_date(&round.when, hand)?;
    let here = journal_read(journal, |r| {
        let place = r.place(round.place)?.ok_or_else(|| AskError::NotThere {
            kind: "place",
            which: round.place.to_string(),
            next: "the list of places shows which there are",
        })?;
        let filter = PlantFilter {
            place: Some(place.number),
            state: Some("alive".to_owned()),
            ..PlantFilter::default()
        };
        let numbers = r.plant_numbers(&filter)?;
        numbers.into_iter().map(|n| Ok((n, need_plant(r, n)?.uid))).collect::<Result<Vec<_>>>()
    })?;
    check_named(round, &here)?;
    let mut draft = hand.draft("round", &format!("place {}", round.place));
    let mut entries = 0;
    for (number, uid) in &here {
        if round.left_out.contains(number) {
            continue;
        }
        let mut detail = Map::from_iter([("round".to_owned(), Value::Bool(true))]);
        let kind = if round.still_wet.contains(number) {
            detail.insert("found".to_owned(), json!("wet"));
            "checked"
        } else {
            if !round.feed.trim().is_empty() {
                detail.insert("feed".to_owned(), json!(round.feed.trim()));
            }
            "watered"
        };
        if round.limp.contains(number) {
            detail.insert("limp".to_owned(), Value::Bool(true));
        }
        draft.entry(*uid, kind, happened.clone(), round.known, detail, None);
        entries += 1;
    }
    if entries == 0 {
        let field = round.place.to_string();
        return Err(AskError::field(
            "place",
            &field,
            "has no plant to water; put plants there first",
        ));
    }
    let op = write(journal, draft)?;
    Ok(Logged { op, entries })
}

fn check_named(round: &Round, here: &[(i64, Uid)]) -> Result<()> {
    let lists =
        [("still wet", &round.still_wet), ("limp", &round.limp), ("left out", &round.left_out)];
    for (field, list) in lists {
        if let Some(strange) = list.iter().find(|n| here.iter().all(|(h, _)| h != *n)) {
            let problem = "does not stand there; write the numbers of plants of this place";
            return Err(AskError::field(field, &strange.to_string(), problem));
        }
    }
    if let Some(both) =
        round.left_out.iter().find(|n| round.still_wet.contains(n) || round.limp.contains(n))
    {
        let problem = "is named as looked at and as left out; keep one of the two";
        return Err(AskError::field("left out", &both.to_string(), problem));
    }
    Ok(())
}

/// Says how dry a plant is let become before it gets water.
///
/// # Errors
/// If the plant is not there.
pub fn set_wish(journal: &Journal, hand: &Hand, plant: i64, wish: Wish) -> Result<journal::OpId> {
    let uid = journal_read(journal, |r| Ok(need_plant(r, plant)?.uid))?;
    let mut draft = hand.draft("wish", &format!("plant {plant}"));
    draft.claim(uid, "wish", json!(wish.as_str()));
    write(journal, draft)
}
