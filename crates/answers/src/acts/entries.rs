//! Entries: logging, mending, withdrawing.

use journal::{Change, Journal, Known, NewEntry, Oddity, OpId, Reader, SubjectKind, Uid};
use serde_json::{Map, Value};

use super::{
    plants::{journal_read, need_plant, write},
    read_date,
};
use crate::{AskError, Hand, Result};

/// What an entry is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Target {
    /// A plant by its number.
    Plant(i64),
    /// A part of a plant: plant number and part number. A part that is not there yet is made.
    Part(i64, Option<i64>, String),
    /// Anything by its kind and number.
    Numbered(SubjectKind, i64),
}

/// What is to be logged.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct EntryInput {
    /// The kind of entry.
    pub kind: String,
    /// When, as typed; empty for today.
    pub when: String,
    /// How it is known.
    pub known: Known,
    /// Its fields.
    pub detail: Map<String, Value>,
    /// Free words.
    pub note: Option<String>,
    /// Whether odd things were confirmed.
    pub confirmed: bool,
}

/// What was logged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Logged {
    /// The operation, for undo.
    pub op: OpId,
    /// How many entries.
    pub entries: usize,
}

/// Logs one entry for each target, all or none.
///
/// # Errors
/// If the date or a field cannot be read, a target is not there, or something is odd and was not
/// confirmed.
pub fn log(
    journal: &Journal,
    hand: &Hand,
    targets: &[Target],
    input: &EntryInput,
) -> Result<Logged> {
    let happened = read_date(&input.when, hand)?;
    let operation = journal_read(journal, |reader| {
        let mut draft = hand.draft("log", &about(input, targets));
        for target in targets {
            let mut detail = input.detail.clone();
            let subject = match target {
                Target::Plant(n) => need_plant(reader, *n)?.uid,
                Target::Part(plant, number, what) => {
                    if entry_has_part(&input.kind) && !what.is_empty() {
                        detail.entry("part").or_insert_with(|| Value::from(what.as_str()));
                    }
                    part(reader, &mut draft, *plant, *number, what)?
                }
                Target::Numbered(kind, n) => numbered(reader, *kind, *n)?,
            };
            crate::crossing::check::entry(reader, subject, &input.kind, &happened, &detail)?;
            draft.entry(
                subject,
                &input.kind,
                happened.clone(),
                input.known,
                detail,
                input.note.clone().filter(|n| !n.trim().is_empty()),
            );
        }
        Ok(draft.finish())
    })?;
    if !input.confirmed {
        let odd = journal.oddities(&operation)?;
        if let Some(first) = odd.first() {
            return Err(AskError::Odd(odd_words(first, odd.len(), hand)));
        }
    }
    journal.write(&operation)?;
    Ok(Logged { op: operation.id, entries: targets.len() })
}

fn entry_has_part(kind: &str) -> bool {
    journal::entry_kind(kind).is_some_and(|k| k.field("part").is_some())
}

fn about(input: &EntryInput, targets: &[Target]) -> String {
    match targets {
        [Target::Plant(n) | Target::Part(n, ..)] => format!("{}, plant {n}", input.kind),
        [Target::Numbered(kind, n)] => format!("{}, {} {n}", input.kind, kind.as_str()),
        many => format!("{}, {} plants", input.kind, many.len()),
    }
}

fn odd_words(odd: &Oddity, count: usize, hand: &Hand) -> String {
    let t = hand.texts();
    let against = [("date", &odd.against as &dyn std::fmt::Display)];
    let words = match odd.what {
        "before_arrival" => t.f("it lies before the plant came ({date})", &against),
        "after_loss" => t.f("it lies after the plant was lost ({date})", &against),
        "long_ago" => t.f("{date} is more than forty years ago", &against),
        _ => t.f("the same was written for that plant and date already ({date})", &against),
    };
    if count > 1 {
        format!("{words}; {}", t.f("one such entry|{n} such entries", &[("n", &count)]))
    } else {
        words
    }
}

fn numbered(reader: &Reader<'_>, kind: SubjectKind, number: i64) -> Result<Uid> {
    reader.subject_numbered(kind, number)?.map(|s| s.uid).ok_or_else(|| AskError::NotThere {
        kind: kind.as_str(),
        which: number.to_string(),
        next: "look up its number on its page",
    })
}

/// The part of this number, or a new one.
fn part(
    reader: &Reader<'_>,
    draft: &mut journal::Draft,
    plant: i64,
    number: Option<i64>,
    what: &str,
) -> Result<Uid> {
    let row = need_plant(reader, plant)?;
    if let Some(n) = number
        && let Some(found) = reader.parts(row.id)?.into_iter().find(|p| p.number == n)
    {
        return Ok(found.uid);
    }
    let uid = draft.create_numbered(SubjectKind::Part, Some(row.uid), number);
    if !what.is_empty() {
        draft.claim(uid, "what", Value::from(what));
    }
    Ok(uid)
}

/// Withdraws an entry, claim, statement, question or left-over row.
///
/// # Errors
/// If it is not there.
pub fn withdraw(
    journal: &Journal,
    hand: &Hand,
    target: Uid,
    about: &str,
    why: Option<&str>,
) -> Result<OpId> {
    let mut draft = hand.draft("withdraw", about);
    draft.push(Change::Withdraw {
        target,
        why: why.map(str::trim).filter(|w| !w.is_empty()).map(str::to_owned),
    });
    write(journal, draft)
}

/// Puts a mended entry in place of another.
///
/// # Errors
/// If the old one is not there or the new one cannot be written.
pub fn replace_entry(journal: &Journal, hand: &Hand, old: Uid, input: &EntryInput) -> Result<OpId> {
    let happened = read_date(&input.when, hand)?;
    let before = need_entry(journal, old)?;
    let mut draft = hand.draft("mend", &format!("{}, {}", before.kind, before.happened));
    draft.push(Change::Entry(NewEntry {
        uid: Uid::new(),
        subject: before.subject,
        kind: before.kind,
        happened,
        known: input.known,
        detail: input.detail.clone(),
        note: input.note.clone(),
        replaces: Some(old),
    }));
    write(journal, draft)
}

/// Says that an entry belongs to another plant.
///
/// # Errors
/// If the entry or the plant is not there.
pub fn move_entry(journal: &Journal, hand: &Hand, entry: Uid, plant: i64) -> Result<OpId> {
    let before = need_entry(journal, entry)?;
    let uid = journal_read(journal, |r| Ok(need_plant(r, plant)?.uid))?;
    let mut draft = hand.draft("move_entry", &format!("{}, to plant {plant}", before.kind));
    draft.push(Change::Withdraw { target: entry, why: Some(format!("meant for plant {plant}")) });
    draft.push(Change::Entry(NewEntry {
        uid: Uid::new(),
        subject: uid,
        kind: before.kind,
        happened: before.happened,
        known: before.known,
        detail: before.detail,
        note: before.note,
        replaces: None,
    }));
    write(journal, draft)
}

fn need_entry(journal: &Journal, uid: Uid) -> Result<journal::EntryRow> {
    journal_read(journal, |r| {
        r.entry(uid)?.ok_or_else(|| AskError::NotThere {
            kind: "entry",
            which: uid.to_string(),
            next: "open the plant's journal again",
        })
    })
}
