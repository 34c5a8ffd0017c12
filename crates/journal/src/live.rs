//! Which rows still hold: those whose operation is not reversed and that no operation that holds
//! has withdrawn.

use rusqlite::{Connection, OptionalExtension as _, params};

use crate::{SubjectKind, Uid, derive::Touched};

/// Tables whose rows can be withdrawn, with the column of the subject that they are about.
const ITEMS: [(&str, Option<&str>); 7] = [
    ("entry", Some("subject")),
    ("claim", Some("subject")),
    ("statement", Some("subject")),
    ("question", Some("subject")),
    ("leftover", None),
    ("series", None),
    ("refused", None),
];

/// Settles whether one item holds, and notes what it touches. Returns whether there is one.
pub(crate) fn settle_item(
    tx: &Connection,
    uid: &Uid,
    touched: &mut Touched,
) -> rusqlite::Result<bool> {
    for (table, subject) in ITEMS {
        let column = subject.unwrap_or("NULL");
        let found: Option<(i64, Option<i64>)> = tx
            .prepare_cached(&format!("SELECT id, {column} FROM {table} WHERE uid = ?1"))?
            .query_row([uid], |r| Ok((r.get(0)?, r.get(1)?)))
            .optional()?;
        if let Some((id, subject)) = found {
            settle_row(tx, table, id)?;
            touch_readings(tx, table, id, touched)?;
            if let Some(subject) = subject {
                touch(tx, subject, touched)?;
            }
            return Ok(true);
        }
    }
    Ok(false)
}

fn settle_row(tx: &Connection, table: &str, id: i64) -> rusqlite::Result<()> {
    tx.prepare_cached(&format!(
        "UPDATE {table} SET live =
           (SELECT o.live FROM operation o WHERE o.seq = {table}.op)
           AND NOT EXISTS(SELECT 1 FROM withdrawal w JOIN operation o ON o.seq = w.op
                          WHERE w.target = {table}.uid AND o.live)
         WHERE id = ?1"
    ))?
    .execute([id])?;
    Ok(())
}

/// Notes the days of a block of readings.
fn touch_readings(
    tx: &Connection,
    table: &str,
    id: i64,
    touched: &mut Touched,
) -> rusqlite::Result<()> {
    if table == "series" {
        tx.prepare_cached("SELECT subject, logger, east, first, last FROM series WHERE id = ?1")?
            .query_row([id], |r| {
            let (place, logger): (i64, String) = (r.get(0)?, r.get(1)?);
            touched.readings(place, &logger, r.get(2)?, r.get(3)?, r.get(4)?);
            Ok(())
        })?;
    }
    Ok(())
}

fn touch(tx: &Connection, subject: i64, touched: &mut Touched) -> rusqlite::Result<()> {
    let (word, of): (String, Option<i64>) = tx
        .prepare_cached("SELECT kind, of FROM subject WHERE id = ?1")?
        .query_row([subject], |r| Ok((r.get(0)?, r.get(1)?)))?;
    if let Some(kind) = SubjectKind::of_word(&word) {
        touched.add(kind, subject);
        if let (SubjectKind::Part | SubjectKind::Pollination, Some(plant)) = (kind, of) {
            touched.add(SubjectKind::Plant, plant);
        }
    }
    Ok(())
}

/// Settles whether an operation holds, and all that follows from it. Returns whether there is one.
pub(crate) fn settle_operation(
    tx: &Connection,
    uid: &Uid,
    touched: &mut Touched,
) -> rusqlite::Result<bool> {
    let mut waiting = vec![*uid];
    let mut found_any = false;
    while let Some(uid) = waiting.pop() {
        let found: Option<(i64, bool)> = tx
            .prepare_cached("SELECT seq, live FROM operation WHERE uid = ?1")?
            .query_row([uid], |r| Ok((r.get(0)?, r.get(1)?)))
            .optional()?;
        let Some((seq, before)) = found else { continue };
        found_any = true;
        let now: bool = tx
            .prepare_cached(
                "SELECT NOT EXISTS(SELECT 1 FROM reversal r JOIN operation o ON o.seq = r.op
                                   WHERE r.target = ?1 AND o.live)",
            )?
            .query_row([uid], |r| r.get(0))?;
        if now == before {
            continue;
        }
        tx.execute("UPDATE operation SET live = ?2 WHERE seq = ?1", params![seq, now])?;
        settle_rows_of(tx, seq, touched)?;
        let mut withdrawn = tx.prepare_cached("SELECT target FROM withdrawal WHERE op = ?1")?;
        let targets: Vec<Uid> =
            withdrawn.query_map([seq], |r| r.get(0))?.collect::<rusqlite::Result<_>>()?;
        for target in targets {
            settle_item(tx, &target, touched)?;
        }
        let mut reversed = tx.prepare_cached("SELECT target FROM reversal WHERE op = ?1")?;
        let targets: Vec<Uid> =
            reversed.query_map([seq], |r| r.get(0))?.collect::<rusqlite::Result<_>>()?;
        waiting.extend(targets);
    }
    Ok(found_any)
}

fn settle_rows_of(tx: &Connection, seq: i64, touched: &mut Touched) -> rusqlite::Result<()> {
    tx.execute(
        "UPDATE subject SET live = (SELECT live FROM operation WHERE seq = subject.op) WHERE op = ?1",
        [seq],
    )?;
    tx.execute(
        "UPDATE brought_in SET live = (SELECT live FROM operation WHERE seq = brought_in.op) WHERE op = ?1",
        [seq],
    )?;
    let mut stmt = tx.prepare_cached("SELECT id FROM subject WHERE op = ?1")?;
    let made: Vec<i64> = stmt.query_map([seq], |r| r.get(0))?.collect::<rusqlite::Result<_>>()?;
    for id in made {
        touch(tx, id, touched)?;
    }
    for (table, subject) in ITEMS {
        let column = subject.unwrap_or("NULL");
        let mut stmt =
            tx.prepare_cached(&format!("SELECT id, {column} FROM {table} WHERE op = ?1"))?;
        let rows: Vec<(i64, Option<i64>)> = stmt
            .query_map([seq], |r| Ok((r.get(0)?, r.get(1)?)))?
            .collect::<rusqlite::Result<_>>()?;
        for (id, subject) in rows {
            settle_row(tx, table, id)?;
            touch_readings(tx, table, id, touched)?;
            if let Some(subject) = subject {
                touch(tx, subject, touched)?;
            }
        }
    }
    Ok(())
}

/// Settles every row of the record, the operation written last first: a reversal is always written
/// after what it reverses. Identifiers would not do, since the clocks of two devices may differ.
pub(crate) fn settle_all(tx: &Connection) -> rusqlite::Result<()> {
    let mut stmt = tx.prepare("SELECT seq, uid FROM operation ORDER BY seq DESC")?;
    let ops: Vec<(i64, Uid)> =
        stmt.query_map([], |r| Ok((r.get(0)?, r.get(1)?)))?.collect::<rusqlite::Result<_>>()?;
    for (seq, uid) in ops {
        tx.prepare_cached(
            "UPDATE operation SET live =
               NOT EXISTS(SELECT 1 FROM reversal r JOIN operation o ON o.seq = r.op
                          WHERE r.target = ?2 AND o.live) WHERE seq = ?1",
        )?
        .execute(params![seq, uid])?;
    }
    for table in ["subject", "brought_in"] {
        tx.execute_batch(&format!(
            "UPDATE {table} SET live = (SELECT live FROM operation WHERE seq = {table}.op)"
        ))?;
    }
    for (table, _) in ITEMS {
        tx.execute_batch(&format!(
            "UPDATE {table} SET live =
               (SELECT o.live FROM operation o WHERE o.seq = {table}.op)
               AND NOT EXISTS(SELECT 1 FROM withdrawal w JOIN operation o ON o.seq = w.op
                              WHERE w.target = {table}.uid AND o.live)"
        ))?;
    }
    Ok(())
}
