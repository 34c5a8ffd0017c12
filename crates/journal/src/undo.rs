//! Undo: a new operation that says an earlier one no longer holds.

use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension as _, Transaction};

use crate::{Change, Draft, Error, Journal, OpId, Result, Uid, apply};

/// A later operation that rests on one which is to be undone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Resting {
    /// Its identifier.
    pub id: OpId,
    /// What it did.
    pub act: String,
    /// To what.
    pub about: String,
}

/// What was undone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Undone {
    /// The undoing operation; undoing it brings everything back.
    pub by: OpId,
    /// What the undone operation did.
    pub act: String,
    /// To what.
    pub about: String,
    /// Later operations that were undone together with it.
    pub together: Vec<Resting>,
}

impl Journal {
    /// Undoes an operation. If later ones rest on it (they are about something it made), they
    /// are undone too when `together` is set, and are listed as an error otherwise.
    ///
    /// # Errors
    /// If there is no such operation, it does not hold, or others rest on it.
    pub fn undo(
        &self,
        op: OpId,
        together: bool,
        who: &str,
        device: &str,
        now: Timestamp,
    ) -> Result<Undone> {
        self.change(|tx| undo(tx, op, together, Draft::new("undo", "", who, device, now)))
    }

    /// What a later undo of an operation would take with it.
    ///
    /// # Errors
    /// If there is no such operation.
    pub fn resting_on(&self, op: OpId) -> Result<Vec<Resting>> {
        let conn = self.writer();
        let seq: Option<i64> = conn
            .query_row("SELECT seq FROM operation WHERE uid = ?1", [op], |r| r.get(0))
            .optional()?;
        match seq {
            Some(seq) => resting_on(&conn, seq),
            None => Err(Error::Missing(format!("operation {op}"))),
        }
    }
}

/// Reverses an operation, and what rests on it, by the operation that `draft` becomes.
fn undo(tx: &Transaction<'_>, op: OpId, together: bool, mut draft: Draft) -> Result<Undone> {
    let found: Option<(i64, String, String, bool)> = tx
        .query_row("SELECT seq, act, about, live FROM operation WHERE uid = ?1", [op], |r| {
            Ok((r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?))
        })
        .optional()?;
    let Some((seq, act, about, live)) = found else {
        return Err(Error::NothingToUndo(format!("{op} is not in the record")));
    };
    if !live {
        return Err(Error::NothingToUndo(format!("“{act}: {about}” is undone already")));
    }
    let resting = resting_on(tx, seq)?;
    if !together && !resting.is_empty() {
        return Err(Error::RestsOn(resting));
    }
    for later in resting.iter().rev() {
        draft.push(Change::Reverse { op: later.id });
    }
    draft.push(Change::Reverse { op });
    let mut operation = draft.finish();
    operation.act = if act == "undo" { "redo" } else { "undo" }.to_owned();
    operation.about = format!("{act}: {about}");
    apply::apply(tx, &operation)?;
    Ok(Undone { by: operation.id, act, about, together: resting })
}

/// Live later operations that are about a subject which this one made or mention it, or
/// withdraw or answer something that it wrote.
fn resting_on(conn: &Connection, seq: i64) -> Result<Vec<Resting>> {
    let mut all = std::collections::BTreeMap::<i64, Resting>::new();
    let mut waiting = vec![seq];
    while let Some(seq) = waiting.pop() {
        let mut stmt = conn.prepare_cached(
            "WITH made(id) AS (SELECT id FROM subject WHERE op = ?1),
             later(op) AS (
               SELECT op FROM entry WHERE subject IN made
               UNION SELECT op FROM entry WHERE plant IN made
               UNION SELECT op FROM claim WHERE subject IN made
               UNION SELECT op FROM statement WHERE subject IN made
               UNION SELECT op FROM question WHERE subject IN made
               UNION SELECT op FROM series WHERE subject IN made
               UNION SELECT op FROM refused WHERE subject IN made
               UNION SELECT op FROM subject WHERE of IN made
               UNION SELECT op FROM refers WHERE subject IN made
               UNION SELECT op FROM statement WHERE answers IN
                 (SELECT uid FROM question WHERE op = ?1)
               UNION SELECT op FROM withdrawal WHERE target IN
                 (SELECT uid FROM entry WHERE op = ?1 UNION SELECT uid FROM claim WHERE op = ?1
                  UNION SELECT uid FROM statement WHERE op = ?1
                  UNION SELECT uid FROM question WHERE op = ?1
                  UNION SELECT uid FROM series WHERE op = ?1))
             SELECT o.seq, o.uid, o.act, o.about FROM operation o
             WHERE o.seq IN later AND o.seq > ?1 AND o.live ORDER BY o.seq",
        )?;
        let found: Vec<(i64, Uid, String, String)> = stmt
            .query_map([seq], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?)))?
            .collect::<rusqlite::Result<_>>()?;
        for (later, id, act, about) in found {
            if all.insert(later, Resting { id, act, about }).is_none() {
                waiting.push(later);
            }
        }
    }
    Ok(all.into_values().collect())
}
