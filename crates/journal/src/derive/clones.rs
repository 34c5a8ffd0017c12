//! Clones: what they are believed to be and whose seedlings they are.

use rusqlite::{Connection, OptionalExtension as _, params};
use serde_json::Value;

use super::{Parents, is_live, latest_claim};
use crate::{ParentClaim, Uid};

/// What sorts after every name.
pub(crate) const NAMELESS: &str = "~";

/// Derives a clone; returns whether something that its seedlings show may have changed.
pub(crate) fn refresh(tx: &Connection, id: i64) -> rusqlite::Result<bool> {
    let before: Option<(String, String, String, String)> = tx
        .prepare_cached("SELECT name, sort, seed, pollen FROM clone WHERE id = ?1")?
        .query_row([id], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?)))
        .optional()?;
    if !is_live(tx, id)? {
        tx.prepare_cached("DELETE FROM clone WHERE id = ?1")?.execute([id])?;
        return Ok(before.is_some());
    }
    let name = latest_claim(tx, id, "name")?.unwrap_or(Value::Null);
    let text = |key: &str| name.get(key).and_then(Value::as_str).unwrap_or("").to_owned();
    let shown = match text("normal") {
        n if n.is_empty() => text("text"),
        n => n,
    };
    let sort = match text("sort") {
        s if s.is_empty() && shown.is_empty() => NAMELESS.to_owned(),
        s if s.is_empty() => shown.to_lowercase(),
        s => s,
    };
    let parents: Parents = latest_claim(tx, id, "parents")?
        .and_then(|v| serde_json::from_value(v).ok())
        .unwrap_or_default();
    let seed = serde_json::to_string(&parents.seed).unwrap_or_default();
    let pollen = serde_json::to_string(&parents.pollen).unwrap_or_default();
    let (crossing, seedling) = match latest_claim(tx, id, "seedling")? {
        Some(v) => (
            v.get("cross")
                .and_then(Value::as_str)
                .map(|s| row_of_text(tx, s))
                .transpose()?
                .flatten(),
            v.get("number").and_then(Value::as_i64),
        ),
        None => (None, None),
    };
    let pieces: i64 = tx
        .prepare_cached("SELECT count(*) FROM plant WHERE clone = ?1 AND state <> 'dead'")?
        .query_row([id], |r| r.get(0))?;
    tx.prepare_cached(
        "INSERT OR REPLACE INTO clone(id,name,sort,genus,seed,pollen,seed_clone,pollen_clone,crossing,seedling,pieces)
         VALUES(?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11)",
    )?
    .execute(params![
        id,
        shown,
        sort,
        text("genus"),
        seed,
        pollen,
        single(tx, &parents.seed)?,
        single(tx, &parents.pollen)?,
        crossing,
        seedling,
        pieces
    ])?;
    Ok(before != Some((shown, sort, seed, pollen)))
}

fn row_of_text(tx: &Connection, uid: &str) -> rusqlite::Result<Option<i64>> {
    match uid.parse::<Uid>() {
        Ok(uid) => row_of(tx, &uid),
        Err(_) => Ok(None),
    }
}

/// The row of a subject.
pub(super) fn row_of(tx: &Connection, uid: &Uid) -> rusqlite::Result<Option<i64>> {
    tx.prepare_cached("SELECT id FROM subject WHERE uid = ?1")?
        .query_row([uid], |r| r.get(0))
        .optional()
}

pub(super) fn single(tx: &Connection, parent: &ParentClaim) -> rusqlite::Result<Option<i64>> {
    match parent {
        ParentClaim::Clone(uid) => row_of(tx, uid),
        _ => Ok(None),
    }
}

/// Whether a clone is its own ancestor; if so, the loop in words.
pub(crate) fn loop_through(tx: &Connection, clone: i64) -> rusqlite::Result<Option<String>> {
    // Walks from child to parent with the path kept, so that the error can name the whole loop.
    let mut stack: Vec<(i64, usize)> = vec![(clone, 0)];
    let mut path: Vec<i64> = Vec::new();
    let mut seen = std::collections::HashSet::new();
    while let Some((at, depth)) = stack.pop() {
        path.truncate(depth);
        if depth > 0 && at == clone {
            path.push(at);
            let names: rusqlite::Result<Vec<String>> =
                path.iter().map(|id| label(tx, *id)).collect();
            return Ok(Some(names?.join(" ← ")));
        }
        if !seen.insert(at) {
            continue;
        }
        path.push(at);
        let parents: Parents = latest_claim(tx, at, "parents")?
            .and_then(|v| serde_json::from_value(v).ok())
            .unwrap_or_default();
        for uid in parents.mentioned() {
            if let Some(row) = row_of(tx, &uid)? {
                stack.push((row, depth + 1));
            }
        }
    }
    Ok(None)
}

fn label(tx: &Connection, id: i64) -> rusqlite::Result<String> {
    let name: Option<String> = tx
        .prepare_cached("SELECT name FROM clone WHERE id = ?1")?
        .query_row([id], |r| r.get(0))
        .optional()?;
    match name.filter(|n| !n.is_empty()) {
        Some(name) => Ok(name),
        None => tx
            .prepare_cached("SELECT 'clone ' || number FROM subject WHERE id = ?1")?
            .query_row([id], |r| r.get(0)),
    }
}
