//! Keepers, places, photos and saved views.

use journal::{Journal, Known, OpId, SubjectKind, Uid};
use serde_json::json;

use super::{
    entries::Target,
    plants::{journal_read, need_plant, numbers_of, write},
    read_date,
};
use crate::{AskError, Hand, Result};

fn named(name: &str) -> Result<&str> {
    Some(name.trim())
        .filter(|n| !n.is_empty())
        .ok_or_else(|| AskError::field("name", name, "has no words; write a name"))
}

fn add(journal: &Journal, hand: &Hand, kind: SubjectKind, name: &str) -> Result<(OpId, i64)> {
    let name = named(name)?;
    let mut draft = hand.draft("add", &format!("{} {name}", kind.as_str()));
    let uid = draft.create(kind, None);
    draft.claim(uid, "name", json!(name));
    let op = write(journal, draft)?;
    Ok((op, numbers_of(journal, &[uid])?.first().copied().unwrap_or(0)))
}

/// Adds a keeper; returns its number.
///
/// # Errors
/// If the name has no words or is that of a keeper already.
pub fn add_keeper(journal: &Journal, hand: &Hand, name: &str) -> Result<(OpId, i64)> {
    if let Some(k) = journal_read(journal, |r| Ok(r.keeper_named(name)?))? {
        return Err(AskError::field("name", name, format!("is keeper {} already", k.number)));
    }
    add(journal, hand, SubjectKind::Keeper, name)
}

/// Adds a place; returns its number.
///
/// # Errors
/// If the name has no words or is that of a place already.
pub fn add_place(journal: &Journal, hand: &Hand, name: &str) -> Result<(OpId, i64)> {
    if let Some(p) = journal_read(journal, |r| Ok(r.place_named(name)?))? {
        return Err(AskError::field("name", name, format!("is place {} already", p.number)));
    }
    add(journal, hand, SubjectKind::Place, name)
}

fn claim(
    journal: &Journal,
    hand: &Hand,
    (kind, number): (SubjectKind, i64),
    act: &str,
    claims: &[(&str, serde_json::Value)],
) -> Result<OpId> {
    let uid = journal_read(journal, |r| {
        r.subject_numbered(kind, number)?.map(|s| s.uid).ok_or_else(|| AskError::NotThere {
            kind: kind.as_str(),
            which: number.to_string(),
            next: "look up its number on its page",
        })
    })?;
    let mut draft = hand.draft(act, &format!("{} {number}", kind.as_str()));
    for (field, value) in claims {
        draft.claim(uid, field, value.clone());
    }
    write(journal, draft)
}

/// Gives a keeper another name.
///
/// # Errors
/// If there is none or the name has no words.
pub fn rename_keeper(journal: &Journal, hand: &Hand, number: i64, name: &str) -> Result<OpId> {
    claim(journal, hand, (SubjectKind::Keeper, number), "rename", &[("name", json!(named(name)?))])
}

/// Says what kind of keeper it is, and notes.
///
/// # Errors
/// If there is none.
pub fn describe_keeper(
    journal: &Journal,
    hand: &Hand,
    number: i64,
    kind: &str,
    note: &str,
) -> Result<OpId> {
    let claims = [("kind", json!(kind.trim())), ("note", json!(note.trim()))];
    claim(journal, hand, (SubjectKind::Keeper, number), "describe", &claims)
}

/// Gives a place another name.
///
/// # Errors
/// If there is none or the name has no words.
pub fn rename_place(journal: &Journal, hand: &Hand, number: i64, name: &str) -> Result<OpId> {
    claim(journal, hand, (SubjectKind::Place, number), "rename", &[("name", json!(named(name)?))])
}

/// Notes about a place: its lamps, window and air.
///
/// # Errors
/// If there is none.
pub fn describe_place(journal: &Journal, hand: &Hand, number: i64, note: &str) -> Result<OpId> {
    claim(journal, hand, (SubjectKind::Place, number), "describe", &[("note", json!(note.trim()))])
}

/// Puts places into walking order, first to last.
///
/// # Errors
/// If one is not there.
pub fn order_places(journal: &Journal, hand: &Hand, numbers: &[i64]) -> Result<OpId> {
    let uids = journal_read(journal, |r| {
        numbers
            .iter()
            .map(|n| {
                r.place(*n)?.map(|p| p.uid).ok_or_else(|| AskError::NotThere {
                    kind: "place",
                    which: n.to_string(),
                    next: "the list of places shows which there are",
                })
            })
            .collect::<Result<Vec<_>>>()
    })?;
    let mut draft = hand.draft("order", "places");
    for (uid, position) in uids.iter().zip(1..) {
        draft.claim(*uid, "order", json!(position));
    }
    write(journal, draft)
}

/// Keeps a view of the list of plants under a name.
///
/// # Errors
/// If the name has no words.
pub fn save_view(journal: &Journal, hand: &Hand, name: &str, query: &str) -> Result<OpId> {
    let name = named(name)?;
    let mut draft = hand.draft("save_view", name);
    let uid = draft.create(SubjectKind::View, None);
    draft.claim(uid, "name", json!(name));
    draft.claim(uid, "query", json!(query.trim_start_matches('?')));
    write(journal, draft)
}

/// Forgets a saved view, by undoing the operation that made it.
///
/// # Errors
/// If there is none.
pub fn remove_view(journal: &Journal, hand: &Hand, view: Uid) -> Result<OpId> {
    let op = journal_read(journal, |r| {
        let row = r.subject(view)?.ok_or_else(|| AskError::NotThere {
            kind: "view",
            which: view.to_string(),
            next: "open the list of plants again",
        })?;
        Ok(r.history(row.id, 1000)?
            .into_iter()
            .find(|h| h.what == "created")
            .map(|h| h.operation.uid))
    })?;
    let op = op.ok_or_else(|| AskError::field("view", &view.to_string(), "has no history"))?;
    Ok(journal.undo(op, true, &hand.who, &hand.device, hand.now)?.by)
}

/// Keeps a photo and says what it shows.
///
/// # Errors
/// If it is no photo, or what it shows is not there.
pub fn add_photo(
    journal: &Journal,
    hand: &Hand,
    bytes: &[u8],
    shows: &[Target],
    when: &str,
    credit: &str,
    note: Option<String>,
) -> Result<OpId> {
    let happened = read_date(when, hand)?;
    let file = journal.keep_photo(bytes)?;
    let operation = journal_read(journal, |reader| {
        let mut draft = hand.draft("photo", &format!("{} bytes", file.size));
        let photo = match reader.photo_by_hash(&file.hash)? {
            Some(uid) => uid,
            None => {
                let uid = draft.create(SubjectKind::Photo, None);
                draft.claim(uid, "content", json!({"hash": file.hash, "ending": file.ending}));
                if !credit.trim().is_empty() {
                    draft.claim(uid, "credit", json!(credit.trim()));
                }
                uid
            }
        };
        for target in shows {
            let subject = match target {
                Target::Plant(n) | Target::Part(n, ..) => need_plant(reader, *n)?.uid,
                Target::Numbered(kind, n) => {
                    let found = reader.subject_numbered(*kind, *n)?;
                    found.map(|s| s.uid).ok_or_else(|| AskError::NotThere {
                        kind: kind.as_str(),
                        which: n.to_string(),
                        next: "look up its number on its page",
                    })?
                }
            };
            let mut detail = serde_json::Map::new();
            detail.insert("photo".to_owned(), json!(photo.to_string()));
            draft.entry(subject, "photo", happened.clone(), Known::Seen, detail, note.clone());
        }
        Ok(draft.finish())
    })?;
    journal.write(&operation)?;
    Ok(operation.id)
}
