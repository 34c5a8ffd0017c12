//! From a pollination to seedlings with numbers of their own.

use journal::{Journal, Known, OpId, ParentClaim, Reader, SubjectKind, Uid};
use serde_json::{Value, json};

use super::{
    ParentInput, Pen, name_claim,
    plants::{journal_read, need_plant, numbers_of},
    read_date,
};
use crate::{
    AskError, Hand, Result,
    crossing::{Group, check, kept},
};

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
    /// The number of the pollen lot, where the pollen was stored.
    pub lot: Option<i64>,
    /// Whether the anthers were taken out before.
    pub emasculated: bool,
    /// Whether its own pollen got into the flower as well.
    pub own_pollen: bool,
    /// Whether it was left to insects.
    pub open: bool,
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
        let lot = new.lot.map(|n| lot(reader, n, &pollen, &when)).transpose()?;
        let age = match (&new.pollen_age, &lot) {
            (Some(typed), _) => Some(typed.clone()),
            (None, Some((_, days))) => Some(format!("{days} d")),
            (None, None) => None,
        };
        if let Some(typed) = &age {
            let days = journal::Quantity::read(typed, journal::Dimension::Time)
                .map_err(|e| AskError::field("age of the pollen", typed, e.to_string()))?
                .value;
            check::pollen_age(Group::of_genus(&plant.genus), days)?;
        }
        let pollination = pen.draft.create(SubjectKind::Pollination, Some(plant.uid));
        pen.draft.claim(pollination, "cross", json!(cross.to_string()));
        let (word, of, one_of) = match &pollen {
            ParentClaim::Clone(uid) if pollen == seed => ("self", Some(uid.to_string()), None),
            ParentClaim::Clone(uid) => ("known", Some(uid.to_string()), None),
            ParentClaim::OneOf(list) => {
                ("one_of", None, Some(list.iter().map(Uid::to_string).collect::<Vec<_>>()))
            }
            ParentClaim::Unknown | ParentClaim::NotTold if new.open => ("open", None, None),
            ParentClaim::Unknown | ParentClaim::NotTold => ("unknown", None, None),
        };
        let detail = json!({
            "pollen": word, "pollen_of": of, "pollen_one_of": one_of, "flowers": new.flowers,
            "flower": new.flower, "pollen_age": age, "method": new.method,
            "pollen_lot": lot.map(|l| l.0.to_string()),
            "emasculated": new.emasculated.then_some(true),
            "own_pollen": new.own_pollen.then_some(true),
            "cross": cross.to_string(),
        });
        pen.entry(pollination, "pollinated", when, Known::Seen, detail, new.note.clone());
        Ok((pen.draft.finish(), cross))
    })?;
    journal.write(&operation)?;
    let number = numbers_of(journal, &[cross])?.first().copied().unwrap_or(0);
    Ok((operation.id, number))
}

/// A lot of pollen by its number, and its age in days at a pollination.
fn lot(
    reader: &Reader<'_>,
    number: i64,
    pollen: &ParentClaim,
    when: &dates::Edtf,
) -> Result<(Uid, i64)> {
    let lot = kept(reader)?.into_iter().find(|l| l.number == number);
    let lot = lot.ok_or_else(|| AskError::NotThere {
        kind: "pollen lot",
        which: number.to_string(),
        next: "put the pollen by first, or leave the lot out",
    })?;
    if matches!(pollen, ParentClaim::Clone(uid) if *uid != lot.clone) {
        let problem = "holds pollen of another clone; choose its plant, or another lot";
        return Err(AskError::field("pollen lot", &number.to_string(), problem));
    }
    let day = when.latest().map_or(lot.since, |d| i64::from(dates::to_days(d)));
    if day < lot.since {
        let problem = "was gathered after that day; correct one of the two dates";
        return Err(AskError::field("pollen lot", &number.to_string(), problem));
    }
    Ok((lot.uid, day - lot.since))
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
        if let Some(count) = detail.get("count").and_then(Value::as_u64) {
            check::sowing(reader, row.id, count)?;
        }
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
        check::seedling_age(reader, &row, &when)?;
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
