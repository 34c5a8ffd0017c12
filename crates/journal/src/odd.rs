//! Entries that are possible but odd: they are asked about, not refused.

use rusqlite::{OptionalExtension as _, params};

use crate::{Change, Journal, NewEntry, Operation, Result, apply::look_up};

/// Something odd about one change of an operation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Oddity {
    /// Position of the change in the operation, from 1.
    pub index: usize,
    /// What is odd, as a word that can be translated: `before_arrival`, `after_loss`,
    /// `long_ago`, `same_again`.
    pub what: &'static str,
    /// The other date that it does not fit with.
    pub against: String,
}

/// An entry that lies this many days back, and is not vague, is worth a second look: a year
/// typed wrong is the commonest slip of the pen. Common practice, no source.
const LONG_AGO_DAYS: i64 = 40 * 366;

impl Journal {
    /// What is odd about an operation that is about to be written.
    ///
    /// # Errors
    /// Those of the file.
    pub fn oddities(&self, operation: &Operation) -> Result<Vec<Oddity>> {
        let conn = self.writer();
        let today = operation.recorded.as_second().div_euclid(86_400);
        let mut out = Vec::new();
        for (i, change) in operation.changes.iter().enumerate() {
            let Change::Entry(entry) = change else { continue };
            let Some((id, ..)) = look_up(&conn, &entry.subject)? else { continue };
            if let Some((what, against)) = odd(&conn, id, entry, today)? {
                out.push(Oddity { index: i + 1, what, against });
            }
        }
        Ok(out)
    }
}

fn odd(
    conn: &rusqlite::Connection,
    plant: i64,
    entry: &NewEntry,
    today: i64,
) -> Result<Option<(&'static str, String)>> {
    let from = entry.happened.earliest().map(|d| i64::from(dates::to_days(d)));
    let to = entry.happened.latest().map(|d| i64::from(dates::to_days(d)));
    if let Some(to) = to {
        if entry.kind != "arrived" && to < today - LONG_AGO_DAYS {
            return Ok(Some(("long_ago", entry.happened.to_string())));
        }
        let arrived: Option<(String, Option<i64>)> = conn
            .prepare_cached(
                "SELECT happened, day_from FROM entry
                 WHERE subject = ?1 AND kind = 'arrived' AND live ORDER BY uid DESC LIMIT 1",
            )?
            .query_row([plant], |r| Ok((r.get(0)?, r.get(1)?)))
            .optional()?;
        if let Some((happened, Some(first))) = arrived
            && entry.kind != "arrived"
            && to < first
        {
            return Ok(Some(("before_arrival", happened)));
        }
    }
    if let Some(from) = from {
        let lost: Option<(String, Option<i64>)> = conn
            .prepare_cached(
                "SELECT happened, day_to FROM entry
                 WHERE subject = ?1 AND kind = 'lost' AND live ORDER BY uid DESC LIMIT 1",
            )?
            .query_row([plant], |r| Ok((r.get(0)?, r.get(1)?)))
            .optional()?;
        if let Some((happened, Some(last))) = lost
            && from > last
        {
            return Ok(Some(("after_loss", happened)));
        }
    }
    let again: bool = conn
        .prepare_cached(
            "SELECT EXISTS(SELECT 1 FROM entry WHERE subject = ?1 AND kind = ?2 AND happened = ?3
               AND live AND kind NOT IN ('note','photo','measured','scored','reading'))",
        )?
        .query_row(params![plant, entry.kind, entry.happened.as_str()], |r| r.get(0))?;
    Ok(again.then(|| ("same_again", entry.happened.to_string())))
}
