//! Watering a place in one go, and how each plant likes its water.

use journal::{Journal, Known, PlantFilter, Uid};
use serde_json::{Map, Value, json};

use super::{
    entries::Logged,
    plants::{journal_read, need_plant, write},
    read_date,
};
use crate::{
    AskError, Hand, Result,
    water::{DAYS, Growth, Wish},
};

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

/// Says whether a plant drinks as usual, rests, or has no roots.
///
/// # Errors
/// If the plant is not there.
pub fn set_growth(
    journal: &Journal,
    hand: &Hand,
    plant: i64,
    growth: Growth,
) -> Result<journal::OpId> {
    let uid = journal_read(journal, |r| Ok(need_plant(r, plant)?.uid))?;
    let mut draft = hand.draft("growth", &format!("plant {plant}"));
    draft.claim(uid, "growth", json!(growth.as_str()));
    write(journal, draft)
}

/// Says on which days of the week the rounds of places are: words such as `wed`; none for no fixed
/// days.
///
/// # Errors
/// If a place is not there, or a word is no day.
pub fn set_rounds(
    journal: &Journal,
    hand: &Hand,
    places: &[i64],
    days: &[String],
) -> Result<journal::OpId> {
    let mut kept: Vec<&str> = Vec::new();
    for (word, _) in DAYS {
        if days.iter().any(|d| d.eq_ignore_ascii_case(word)) {
            kept.push(word);
        }
    }
    if let Some(strange) = days.iter().find(|d| DAYS.iter().all(|k| !d.eq_ignore_ascii_case(k.0))) {
        let problem = "is no day of the week; write mon, tue, wed, thu, fri, sat or sun";
        return Err(AskError::field("rounds", strange, problem));
    }
    let uids = journal_read(journal, |r| {
        let one = |n: &i64| {
            r.place(*n)?.map(|p| p.uid).ok_or_else(|| AskError::NotThere {
                kind: "place",
                which: n.to_string(),
                next: "the list of places shows which there are",
            })
        };
        places.iter().map(one).collect::<Result<Vec<Uid>>>()
    })?;
    let about = match places {
        [one] => format!("place {one}"),
        many => format!("{} places", many.len()),
    };
    let mut draft = hand.draft("rounds", &about);
    for uid in uids {
        draft.claim(uid, "rounds", json!(kept));
    }
    write(journal, draft)
}
