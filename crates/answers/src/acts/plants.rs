//! Plants and clones: adding, naming, parents, which plants are pieces of one clone.

use dates::Edtf;
use journal::{Journal, Known, SubjectKind, Uid};
use serde_json::{Value, json};

use super::{ParentInput, Pen, name_claim};
use crate::{AskError, Hand, Result};

/// What is known of a plant when it is added; all of it may be left open.
#[derive(Debug, Clone, Default)]
pub struct NewPlant {
    /// Its number, or the next free one.
    pub number: Option<i64>,
    /// Its name as typed.
    pub name: Option<String>,
    /// `as_received`, `believed`, `determined`, `doubted`.
    pub standing: Option<String>,
    /// Doubts about the name.
    pub doubt: Option<String>,
    /// What it is suspected to be.
    pub suspected: Option<String>,
    /// Whom it came from.
    pub keeper: Option<String>,
    /// Raised here.
    pub own: bool,
    /// When it came.
    pub came: Option<Edtf>,
    /// How the arrival is known.
    pub known: Known,
    /// As what it came.
    pub received_as: Option<String>,
    /// Price as `{"amount", "currency"}`.
    pub price: Option<Value>,
    /// What was given for it.
    pub swapped_for: Option<String>,
    /// Whether it was a gift.
    pub free: bool,
    /// Where it stands.
    pub place: Option<String>,
    /// Its pot as typed.
    pub pot: Option<String>,
    /// Its container, if it has no size.
    pub container: Option<String>,
    /// The keeper's own tag.
    pub tag: Option<String>,
    /// Words that belong to its arrival.
    pub note: Option<String>,
    /// Its seed parent.
    pub seed: ParentInput,
    /// Its pollen parent.
    pub pollen: ParentInput,
    /// The clone it is a piece of.
    pub clone: Option<Uid>,
    /// `dead`, `gone`, `unknown`, or nothing for alive.
    pub state: Option<String>,
    /// Why it died or went.
    pub state_why: Option<String>,
    /// How many plants like this there are; at least one.
    pub count: usize,
}

/// What was added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Added {
    /// The operation, for undo.
    pub op: journal::OpId,
    /// Numbers of the plants.
    pub numbers: Vec<i64>,
}

/// Adds a plant.
///
/// # Errors
/// If a field cannot be read or the number is used already; nothing is written then.
pub fn add_plant(journal: &Journal, hand: &Hand, new: &NewPlant) -> Result<Added> {
    add_plants(journal, hand, std::slice::from_ref(new))
}

/// Adds several plants in one operation.
///
/// # Errors
/// If one of them cannot be written; nothing is written then.
pub fn add_plants(journal: &Journal, hand: &Hand, new: &[NewPlant]) -> Result<Added> {
    let (operation, plants) = journal_read(journal, |reader| {
        let about = new.first().and_then(|n| n.name.clone()).unwrap_or_default();
        let mut pen = Pen::new(reader, hand, "add", &about);
        let mut plants = Vec::new();
        for one in new {
            plants.extend(write_plant(&mut pen, hand, one)?);
        }
        Ok((pen.draft.finish(), plants))
    })?;
    journal.write(&operation)?;
    let numbers = numbers_of(journal, &plants)?;
    Ok(Added { op: operation.id, numbers })
}

/// Reads with errors of this crate.
pub(crate) fn journal_read<T>(
    journal: &Journal,
    ask: impl FnOnce(&journal::Reader<'_>) -> Result<T>,
) -> Result<T> {
    journal.read(|reader| Ok(ask(reader)))?
}

pub(crate) fn numbers_of(journal: &Journal, plants: &[Uid]) -> Result<Vec<i64>> {
    journal_read(journal, |r| {
        let mut out = Vec::new();
        for uid in plants {
            out.extend(r.subject(*uid)?.map(|s| s.number));
        }
        Ok(out)
    })
}

/// Writes one plant (or several alike) into an operation; returns the plants.
pub(crate) fn write_plant(pen: &mut Pen<'_, '_>, hand: &Hand, new: &NewPlant) -> Result<Vec<Uid>> {
    let clone = match new.clone {
        Some(uid) => uid,
        None => {
            let uid = pen.draft.create(SubjectKind::Clone, None);
            if let Some(name) = new.name.as_deref().filter(|n| !n.trim().is_empty()) {
                let claim = name_claim(name, new.standing.as_deref(), new.doubt.as_deref());
                pen.draft.claim(uid, "name", claim);
                pen.remember_clone(name, uid);
            }
            uid
        }
    };
    let (seed, pollen) = (pen.parent(&new.seed)?, pen.parent(&new.pollen)?);
    pen.claim_parents(clone, &seed, &pollen);
    if let Some(words) = new.suspected.as_deref().filter(|w| !w.trim().is_empty()) {
        pen.draft.claim(clone, "suspected", json!(words.trim()));
    }
    let keeper = match new.keeper.as_deref().filter(|k| !k.trim().is_empty()) {
        Some(name) => Some(pen.keeper(name)?),
        None => None,
    };
    let place = match new.place.as_deref().filter(|p| !p.trim().is_empty()) {
        Some(name) => Some(pen.place(name)?),
        None => None,
    };
    let mut plants = Vec::new();
    for i in 0..new.count.max(1) {
        let number = new.number.filter(|_| i == 0);
        plants.push(write_one(pen, hand, new, (clone, keeper, place), number));
    }
    Ok(plants)
}

fn write_one(
    pen: &mut Pen<'_, '_>,
    hand: &Hand,
    new: &NewPlant,
    (clone, keeper, place): (Uid, Option<Uid>, Option<Uid>),
    number: Option<i64>,
) -> Uid {
    let plant = pen.draft.create_numbered(SubjectKind::Plant, None, number);
    pen.draft.claim(plant, "clone", json!(clone.to_string()));
    if let Some(tag) = new.tag.as_deref().filter(|t| !t.trim().is_empty()) {
        pen.draft.claim(plant, "tag", json!(tag.trim()));
    }
    let came = new.came.clone().unwrap_or_else(Edtf::unknown);
    let flag = |yes: bool| if yes { json!(true) } else { Value::Null };
    let arrived = json!({
        "from": keeper.map(|k| k.to_string()),
        "received_as": new.received_as,
        "price": new.price,
        "swapped_for": new.swapped_for,
        "free": flag(new.free),
        "own": flag(new.own),
    });
    let told = arrived.as_object().is_some_and(|m| m.values().any(|v| !v.is_null()));
    if told || new.came.is_some() || new.note.is_some() {
        pen.entry(plant, "arrived", came.clone(), new.known, arrived, new.note.clone());
    }
    if let Some(place) = place {
        // Where it stands is known today; since when is not, unless it came just now.
        let since = if came.day() == Some(hand.today) { came.clone() } else { before(hand) };
        pen.entry(plant, "placed", since, new.known, json!({"place": place.to_string()}), None);
    }
    if new.pot.is_some() || new.container.is_some() {
        let detail = json!({"pot": new.pot, "container": new.container});
        let since = if came.day() == Some(hand.today) { came.clone() } else { before(hand) };
        pen.entry(plant, "potted", since, new.known, detail, None);
    }
    let why = new.state_why.clone();
    match new.state.as_deref() {
        Some("dead") => {
            pen.entry(plant, "lost", before(hand), Known::Remembered, json!({"why": why}), None);
        }
        Some("gone") => {
            let detail = json!({"whole": true, "what": why});
            pen.entry(plant, "given", before(hand), Known::Remembered, detail, None);
        }
        Some("unknown") => {
            pen.entry(
                plant,
                "doubtful",
                before(hand),
                Known::Remembered,
                json!({"why": why}),
                None,
            );
        }
        _ => {}
    }
    plant
}

/// “Some time up to today.”
pub(crate) fn before(hand: &Hand) -> Edtf {
    Edtf::parse(&format!("/{}", hand.today)).unwrap_or_else(|_| Edtf::unknown())
}

/// Gives a clone another name; the old one stays in its history.
///
/// # Errors
/// If the plant is not there or the name has no words.
pub fn rename_clone(
    journal: &Journal,
    hand: &Hand,
    plant: i64,
    name: &str,
    standing: Option<&str>,
    said_by: Option<&str>,
    reason: Option<&str>,
) -> Result<journal::OpId> {
    if name.trim().is_empty() {
        return Err(AskError::field("name", name, "has no words; write at least the genus"));
    }
    let clone = clone_of(journal, plant)?;
    let mut draft = hand.draft("rename", &format!("plant {plant}"));
    let words = |w: Option<&str>| w.map(str::trim).filter(|w| !w.is_empty()).map(str::to_owned);
    draft.push(journal::Change::Claim {
        uid: Uid::new(),
        subject: clone,
        field: "name".to_owned(),
        value: name_claim(name, standing, None),
        as_of: Some(Edtf::from_day(hand.today)),
        said_by: words(said_by),
        reason: words(reason),
        known: Known::Seen,
    });
    write(journal, draft)
}

/// Says what a clone is suspected to be; empty words take the suspicion back.
///
/// # Errors
/// If the plant is not there.
pub fn suspect(journal: &Journal, hand: &Hand, plant: i64, words: &str) -> Result<journal::OpId> {
    let clone = clone_of(journal, plant)?;
    let mut draft = hand.draft("suspect", &format!("plant {plant}"));
    draft.claim(clone, "suspected", json!(words.trim()));
    write(journal, draft)
}

/// Claims the parents of a plant's clone.
///
/// # Errors
/// If a parent cannot be found, or the plant would become its own ancestor.
pub fn set_parents(
    journal: &Journal,
    hand: &Hand,
    plant: i64,
    seed: &ParentInput,
    pollen: &ParentInput,
    reason: Option<&str>,
) -> Result<journal::OpId> {
    let clone = clone_of(journal, plant)?;
    let operation = journal_read(journal, |reader| {
        let mut pen = Pen::new(reader, hand, "parents", &format!("plant {plant}"));
        let (seed, pollen) = (pen.parent(seed)?, pen.parent(pollen)?);
        pen.draft.push(journal::Change::Claim {
            uid: Uid::new(),
            subject: clone,
            field: "parents".to_owned(),
            value: json!({"seed": seed, "pollen": pollen}),
            as_of: Some(Edtf::from_day(hand.today)),
            said_by: None,
            reason: reason.map(str::trim).filter(|r| !r.is_empty()).map(str::to_owned),
            known: Known::Seen,
        });
        Ok(pen.draft.finish())
    })?;
    journal.write(&operation)?;
    Ok(operation.id)
}

/// Says that a plant is a piece of the same clone as another.
///
/// # Errors
/// If one of them is not there or they are one clone already.
pub fn join_clones(
    journal: &Journal,
    hand: &Hand,
    plant: i64,
    other: i64,
    reason: Option<&str>,
) -> Result<journal::OpId> {
    let (here, there) = (clone_of(journal, plant)?, clone_of(journal, other)?);
    if here == there {
        return Err(AskError::field(
            "plant",
            &other.to_string(),
            "is a piece of the same clone already",
        ));
    }
    claim_clone(journal, hand, "join", plant, there, reason)
}

/// Says that a plant is no piece of the clone it was held to be: it becomes a clone of its own.
///
/// # Errors
/// If the plant is not there.
pub fn split_clone(
    journal: &Journal,
    hand: &Hand,
    plant: i64,
    reason: Option<&str>,
) -> Result<journal::OpId> {
    let operation = journal_read(journal, |reader| {
        let row = need_plant(reader, plant)?;
        let mut draft = hand.draft("split", &format!("plant {plant}"));
        let clone = draft.create(SubjectKind::Clone, None);
        if !row.name.is_empty() {
            draft.claim(clone, "name", name_claim(&row.name, Some("doubted"), None));
        }
        draft.push(journal::Change::Claim {
            uid: Uid::new(),
            subject: row.uid,
            field: "clone".to_owned(),
            value: json!(clone.to_string()),
            as_of: Some(Edtf::from_day(hand.today)),
            said_by: None,
            reason: reason.map(str::to_owned),
            known: Known::Seen,
        });
        Ok(draft.finish())
    })?;
    journal.write(&operation)?;
    Ok(operation.id)
}

fn claim_clone(
    journal: &Journal,
    hand: &Hand,
    act: &str,
    plant: i64,
    clone: Uid,
    reason: Option<&str>,
) -> Result<journal::OpId> {
    let uid = journal_read(journal, |r| Ok(need_plant(r, plant)?.uid))?;
    let mut draft = hand.draft(act, &format!("plant {plant}"));
    draft.push(journal::Change::Claim {
        uid: Uid::new(),
        subject: uid,
        field: "clone".to_owned(),
        value: json!(clone.to_string()),
        as_of: Some(Edtf::from_day(hand.today)),
        said_by: None,
        reason: reason.map(str::to_owned),
        known: Known::Seen,
    });
    write(journal, draft)
}

/// Gives a plant its keeper's own tag; empty words take it away.
///
/// # Errors
/// If the plant is not there.
pub fn tag_plant(journal: &Journal, hand: &Hand, plant: i64, tag: &str) -> Result<journal::OpId> {
    let uid = journal_read(journal, |r| Ok(need_plant(r, plant)?.uid))?;
    let mut draft = hand.draft("tag", &format!("plant {plant}"));
    draft.claim(uid, "tag", json!(tag.trim()));
    write(journal, draft)
}

pub(crate) fn need_plant(reader: &journal::Reader<'_>, number: i64) -> Result<journal::PlantRow> {
    reader.plant(number)?.ok_or_else(|| AskError::NotThere {
        kind: "plant",
        which: number.to_string(),
        next: "write its number as it stands on the label",
    })
}

fn clone_of(journal: &Journal, plant: i64) -> Result<Uid> {
    journal_read(journal, |r| {
        let row = need_plant(r, plant)?;
        r.clone_by_id(row.clone)?.map(|c| c.uid).ok_or_else(|| AskError::NotThere {
            kind: "clone",
            which: row.clone.to_string(),
            next: "`umbel doctor` looks the record over",
        })
    })
}

pub(crate) fn write(journal: &Journal, draft: journal::Draft) -> Result<journal::OpId> {
    let operation = draft.finish();
    journal.write(&operation)?;
    Ok(operation.id)
}
