//! Keepers, places and crosses.

use rusqlite::{Connection, OptionalExtension as _, params};

use super::{Parents, clones::single, is_live, latest_claim};

fn word(value: Option<serde_json::Value>) -> String {
    value.and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default()
}

/// Derives a keeper; returns whether its name changed.
pub(super) fn refresh_keeper(tx: &Connection, id: i64) -> rusqlite::Result<bool> {
    let before: Option<String> = tx
        .prepare_cached("SELECT name FROM keeper WHERE id = ?1")?
        .query_row([id], |r| r.get(0))
        .optional()?;
    if !is_live(tx, id)? {
        tx.prepare_cached("DELETE FROM keeper WHERE id = ?1")?.execute([id])?;
        return Ok(before.is_some());
    }
    let name = word(latest_claim(tx, id, "name")?);
    tx.prepare_cached(
        "INSERT OR REPLACE INTO keeper(id, name, sort, plants)
         VALUES(?1, ?2, ?3, (SELECT count(*) FROM plant WHERE keeper = ?1))",
    )?
    .execute(params![id, name, name.to_lowercase()])?;
    Ok(before != Some(name))
}

/// Derives a place; returns whether its name changed.
pub(super) fn refresh_place(tx: &Connection, id: i64) -> rusqlite::Result<bool> {
    let before: Option<String> = tx
        .prepare_cached("SELECT name FROM place WHERE id = ?1")?
        .query_row([id], |r| r.get(0))
        .optional()?;
    if !is_live(tx, id)? {
        tx.prepare_cached("DELETE FROM place WHERE id = ?1")?.execute([id])?;
        return Ok(before.is_some());
    }
    let name = word(latest_claim(tx, id, "name")?);
    let order = latest_claim(tx, id, "order")?.and_then(|v| v.as_f64());
    tx.prepare_cached(
        "INSERT OR REPLACE INTO place(id, number, name, ord, plants)
         SELECT id, number, ?2, ifnull(?3, number),
                (SELECT count(*) FROM plant WHERE place = ?1 AND state IN ('alive','unknown'))
         FROM subject WHERE id = ?1",
    )?
    .execute(params![id, name, order])?;
    Ok(before != Some(name))
}

/// Derives a cross.
pub(super) fn refresh_cross(tx: &Connection, id: i64) -> rusqlite::Result<()> {
    if !is_live(tx, id)? {
        tx.prepare_cached("DELETE FROM crossing WHERE id = ?1")?.execute([id])?;
        return Ok(());
    }
    let parents: Parents = latest_claim(tx, id, "parents")?
        .and_then(|v| serde_json::from_value(v).ok())
        .unwrap_or_default();
    tx.prepare_cached(
        "INSERT OR REPLACE INTO crossing(id, number, seed, pollen, seed_clone, pollen_clone)
         SELECT id, number, ?2, ?3, ?4, ?5 FROM subject WHERE id = ?1",
    )?
    .execute(params![
        id,
        serde_json::to_string(&parents.seed).unwrap_or_default(),
        serde_json::to_string(&parents.pollen).unwrap_or_default(),
        single(tx, &parents.seed)?,
        single(tx, &parents.pollen)?
    ])?;
    Ok(())
}
