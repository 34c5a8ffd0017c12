//! From a pollination to seedlings with numbers of their own.

use journal::{Journal, Known, OpId, ParentClaim, SubjectKind, Uid};
use serde_json::{Value, json};

use super::{
    ParentInput, Pen, name_claim,
    plants::{journal_read, need_plant, numbers_of},
    read_date,
};
use crate::{AskError, Hand, Result};

/// A pollination as it is logged.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct NewPollination {
    /// Number of the plant that bears the flowers.
    pub seed_plant: i64,
    /// Whose pollen.
    pub pollen: ParentInput,
    /// How many flowers.
    pub flowers: Option<u64>,
    /// Which flowers, in words.
    pub flower: Option<String>,
    /// Age of the pollen, as typed.
    pub pollen_age: Option<String>,
    /// Method in words.
    pub method: Option<String>,
    /// When, as typed.
    pub when: String,
    /// Free words.
    pub note: Option<String>,
}

/// Logs a pollination; it joins the cross of the same two parents or begins a new one. Returns
/// the operation and the number of the cross.
///
/// # Errors
/// If a plant or parent is not there or the date cannot be read.
pub fn pollinate(journal: &Journal, hand: &Hand, new: &NewPollination) -> Result<(OpId, i64)> {
    let when = read_date(&new.when, hand)?;
    let (operation, cross) = journal_read(journal, |reader| {
        let plant = need_plant(reader, new.seed_plant)?;
        let seed = reader
            .clone_by_id(plant.clone)?
            .map_or(ParentClaim::NotTold, |c| ParentClaim::Clone(c.uid));
        let mut pen = Pen::new(reader, hand, "pollinate", &format!("plant {}", new.seed_plant));
        let pollen = pen.parent(&new.pollen)?;
        let known = matches!(pollen, ParentClaim::Clone(_));
        let same = reader
            .crosses()?
            .into_iter()
            .find(|c| known && c.seed == seed && c.pollen == pollen)
            .map(|c| c.uid);
        let cross = match same {
            Some(uid) => uid,
            None => {
                let uid = pen.draft.create(SubjectKind::Cross, None);
                pen.claim_parents(uid, &seed, &pollen);
                uid
            }
        };
        let pollination = pen.draft.create(SubjectKind::Pollination, Some(plant.uid));
        pen.draft.claim(pollination, "cross", json!(cross.to_string()));
        let (word, of, one_of) = match &pollen {
            ParentClaim::Clone(uid) if pollen == seed => ("self", Some(uid.to_string()), None),
            ParentClaim::Clone(uid) => ("known", Some(uid.to_string()), None),
            ParentClaim::OneOf(list) => {
                ("one_of", None, Some(list.iter().map(Uid::to_string).collect::<Vec<_>>()))
            }
            ParentClaim::Unknown | ParentClaim::NotTold => ("unknown", None, None),
        };
        let detail = json!({
            "pollen": word, "pollen_of": of, "pollen_one_of": one_of, "flowers": new.flowers,
            "flower": new.flower, "pollen_age": new.pollen_age, "method": new.method,
            "cross": cross.to_string(),
        });
        pen.entry(pollination, "pollinated", when, Known::Seen, detail, new.note.clone());
        Ok((pen.draft.finish(), cross))
    })?;
    journal.write(&operation)?;
    let number = numbers_of(journal, &[cross])?.first().copied().unwrap_or(0);
    Ok((operation.id, number))
}

/// Sows seed of a cross: a new batch. Returns the operation and the number of the batch.
///
/// # Errors
/// If there is no such cross or the date cannot be read.
pub fn sow(
    journal: &Journal,
    hand: &Hand,
    cross: i64,
    when: &str,
    detail: &Value,
    note: Option<String>,
) -> Result<(OpId, i64)> {
    let when = read_date(when, hand)?;
    let (operation, batch) = journal_read(journal, |reader| {
        let row = reader.cross(cross)?.ok_or_else(|| no_cross(cross))?;
        let mut pen = Pen::new(reader, hand, "sow", &format!("cross {cross}"));
        let batch = pen.draft.create(SubjectKind::Batch, Some(row.uid));
        pen.draft.claim(batch, "what", json!("seedlings"));
        pen.entry(batch, "sown", when, Known::Seen, detail.clone(), note);
        Ok((pen.draft.finish(), batch))
    })?;
    journal.write(&operation)?;
    let number = numbers_of(journal, &[batch])?.first().copied().unwrap_or(0);
    Ok((operation.id, number))
}

fn no_cross(number: i64) -> AskError {
    AskError::NotThere {
        kind: "cross",
        which: number.to_string(),
        next: "the list of crosses shows which there are",
    }
}

/// Pots seedlings of a cross: each becomes a clone and a plant of its own, numbered on. Returns
/// the operation and the numbers of the plants.
///
/// # Errors
/// If there is no such cross or the date cannot be read.
pub fn prick_out(
    journal: &Journal,
    hand: &Hand,
    cross: i64,
    count: usize,
    when: &str,
    place: Option<&str>,
) -> Result<(OpId, Vec<i64>)> {
    let when = read_date(when, hand)?;
    let (operation, plants) = journal_read(journal, |reader| {
        let row = reader.cross(cross)?.ok_or_else(|| no_cross(cross))?;
        let mut pen = Pen::new(reader, hand, "prick_out", &format!("cross {cross}"));
        let last = reader.seedlings(row.id)?.iter().map(|s| s.1).max().unwrap_or(0);
        let genus = match &row.seed {
            ParentClaim::Clone(uid) => {
                reader.clone_by_uid(*uid)?.map(|c| c.genus).unwrap_or_default()
            }
            _ => String::new(),
        };
        let place = match place.filter(|p| !p.trim().is_empty()) {
            Some(name) => Some(pen.place(name)?),
            None => None,
        };
        let mut plants = Vec::new();
        for n in (last + 1..).take(count) {
            let clone = pen.draft.create(SubjectKind::Clone, None);
            if !genus.is_empty() {
                pen.draft.claim(clone, "name", name_claim(&genus, None, None));
            }
            pen.claim_parents(clone, &row.seed, &row.pollen);
            pen.draft.claim(clone, "seedling", json!({"cross": row.uid.to_string(), "number": n}));
            let plant = pen.draft.create(SubjectKind::Plant, None);
            pen.draft.claim(plant, "clone", json!(clone.to_string()));
            let detail = json!({"own": true, "received_as": "seedling"});
            pen.entry(plant, "arrived", when.clone(), Known::Seen, detail, None);
            if let Some(place) = place {
                let detail = json!({"place": place.to_string()});
                pen.entry(plant, "placed", when.clone(), Known::Seen, detail, None);
            }
            plants.push(plant);
        }
        Ok((pen.draft.finish(), plants))
    })?;
    journal.write(&operation)?;
    Ok((operation.id, numbers_of(journal, &plants)?))
}
