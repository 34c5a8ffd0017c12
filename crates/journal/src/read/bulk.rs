//! What is read of all plants at once.

use std::collections::BTreeSet;

use serde_json::{Map, Value};

use dates::Edtf;

use super::{
    Reader,
    rows::{PLANT_COLUMNS, PlantRow, known, parse_edtf, plant},
};
use crate::{Known, Result, SubjectKind};

/// An entry about a plant, as far as a calculation over all of them needs it.
#[derive(Debug, Clone, PartialEq)]
pub struct PlainEntry {
    /// Row of the plant.
    pub plant: i64,
    /// Its kind.
    pub kind: String,
    /// First possible day \[days since 1970-01-01\].
    pub day_from: Option<i64>,
    /// Last possible day \[days since 1970-01-01\].
    pub day_to: Option<i64>,
    /// How it is known.
    pub known: Known,
    /// The fields of its kind.
    pub detail: Map<String, Value>,
}

/// What changed since an operation.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Touched {
    /// The place in the file of the last operation; ask with it the next time.
    pub last: i64,
    /// Rows of the plants that entries or claims were written about, or taken back.
    pub plants: Vec<i64>,
    /// Whether something about other subjects (places, clones, batches) changed too.
    pub others: bool,
    /// What changed about any of them: kinds of entries, fields that were claimed, `readings` of
    /// loggers, and `new` with the kind of a subject that came or went.
    pub what: BTreeSet<String>,
}

fn plain(r: &rusqlite::Row<'_>) -> rusqlite::Result<PlainEntry> {
    let (known_word, detail): (String, String) = (r.get(4)?, r.get(5)?);
    Ok(PlainEntry {
        plant: r.get(0)?,
        kind: r.get(1)?,
        day_from: r.get(2)?,
        day_to: r.get(3)?,
        known: known(&known_word),
        detail: serde_json::from_str(&detail).unwrap_or_default(),
    })
}

impl Reader<'_> {
    /// What changed since the operation at this place in the file (0: since the beginning). What
    /// was undone, brought back or withdrawn counts as changed.
    ///
    /// # Errors
    /// Those of the file.
    pub fn touched_since(&self, seq: i64) -> Result<Touched> {
        // An undone operation is touched; one whose undoing was undone is so too.
        const OPERATIONS: &str = "WITH RECURSIVE changed(op) AS (
               SELECT seq FROM operation WHERE seq > ?1
               UNION SELECT o.seq FROM changed c JOIN reversal r ON r.op = c.op
                 JOIN operation o ON o.uid = r.target),
             taken(uid) AS (SELECT w.target FROM changed c JOIN withdrawal w ON w.op = c.op),
             about(subject, what) AS (
               SELECT ifnull(e.plant, e.subject), e.kind FROM changed c JOIN entry e ON e.op = c.op
               UNION SELECT l.subject, l.field FROM changed c JOIN claim l ON l.op = c.op
               UNION SELECT s.id, 'new ' || s.kind FROM changed c JOIN subject s ON s.op = c.op
               UNION SELECT r.subject, 'readings' FROM changed c JOIN series r ON r.op = c.op
               UNION SELECT ifnull(e.plant, e.subject), e.kind
                 FROM taken t JOIN entry e ON e.uid = t.uid
               UNION SELECT l.subject, l.field FROM taken t JOIN claim l ON l.uid = t.uid)
             SELECT s.id, s.kind, a.what FROM about a JOIN subject s ON s.id = a.subject
             ORDER BY s.id";
        let last =
            self.conn().query_row("SELECT ifnull(max(seq), 0) FROM operation", [], |r| r.get(0))?;
        let mut touched = Touched { last, ..Touched::default() };
        if last == seq {
            return Ok(touched);
        }
        let mut stmt = self.conn().prepare_cached(OPERATIONS)?;
        let mut rows = stmt.query([seq])?;
        while let Some(r) = rows.next()? {
            let kind: String = r.get(1)?;
            touched.what.insert(r.get(2)?);
            if kind == SubjectKind::Plant.as_str() {
                let id = r.get(0)?;
                if touched.plants.last() != Some(&id) {
                    touched.plants.push(id);
                }
            } else {
                touched.others = true;
            }
        }
        Ok(touched)
    }

    /// Hands over the live entries of some kinds about living plants themselves (not their parts),
    /// plant by plant, each plant's earliest first; those that may be later than `since` only.
    ///
    /// # Errors
    /// Those of the file.
    pub fn each_entry_of_the_living(
        &self,
        kinds: &[&str],
        since: i64,
        mut each: impl FnMut(PlainEntry),
    ) -> Result<()> {
        let list = Value::from(kinds.to_vec()).to_string();
        let mut stmt = self.conn().prepare_cached(
            "SELECT e.plant, e.kind, e.day_from, e.day_to, e.known, e.detail
             FROM entry e JOIN plant p ON p.id = e.plant
             WHERE e.plant IS NOT NULL AND e.subject = e.plant AND e.live AND p.state = 'alive'
               AND e.day_to >= ?2 AND e.kind IN (SELECT value FROM json_each(?1))
             ORDER BY e.plant, e.day_to, e.uid",
        )?;
        let mut rows = stmt.query(rusqlite::params![list, since])?;
        while let Some(r) = rows.next()? {
            each(plain(r)?);
        }
        Ok(())
    }

    /// Hands over the live entries of some kinds about those living plants of which at least one
    /// such entry has a field, with the genus of each; plant by plant, each plant's earliest first.
    ///
    /// # Errors
    /// Those of the file.
    pub fn each_entry_of_plants_with(
        &self,
        kinds: &[&str],
        field: &str,
        mut each: impl FnMut(&str, PlainEntry),
    ) -> Result<()> {
        let list = Value::from(kinds.to_vec()).to_string();
        let mut stmt = self.conn().prepare_cached(
            "SELECT e.plant, e.kind, e.day_from, e.day_to, e.known, e.detail, p.genus
             FROM entry e JOIN plant p ON p.id = e.plant
             WHERE e.subject = e.plant AND e.live AND p.state = 'alive'
               AND e.kind IN (SELECT value FROM json_each(?1))
               AND e.plant IN (
                 SELECT plant FROM entry WHERE live AND kind IN (SELECT value FROM json_each(?1))
                   AND json_extract(detail, ?2) IS NOT NULL)
             ORDER BY e.plant, e.day_to, e.uid",
        )?;
        let mut rows = stmt.query(rusqlite::params![list, format!("$.{field}")])?;
        while let Some(r) = rows.next()? {
            let genus: String = r.get(6)?;
            each(&genus, plain(r)?);
        }
        Ok(())
    }

    /// The latest live claim of a field about each subject of a kind that has one: row of the
    /// subject, value, as of when.
    ///
    /// # Errors
    /// Those of the file.
    pub fn claims_of_all(
        &self,
        kind: SubjectKind,
        field: &str,
    ) -> Result<Vec<(i64, Value, Option<Edtf>)>> {
        let mut stmt = self.conn().prepare_cached(
            "SELECT c.subject, c.value, c.as_of FROM claim c JOIN subject s ON s.id = c.subject
             WHERE s.kind = ?1 AND s.live AND c.field = ?2 AND c.live ORDER BY c.subject, c.uid",
        )?;
        let mut out: Vec<(i64, Value, Option<Edtf>)> = Vec::new();
        let mut rows = stmt.query([kind.as_str(), field])?;
        while let Some(r) = rows.next()? {
            let (subject, value, as_of): (i64, String, Option<String>) =
                (r.get(0)?, r.get(1)?, r.get(2)?);
            let claim =
                (subject, serde_json::from_str(&value).unwrap_or(Value::Null), parse_edtf(as_of));
            match out.last_mut().filter(|last| last.0 == subject) {
                Some(last) => *last = claim,
                None => out.push(claim),
            }
        }
        Ok(out)
    }

    /// All living plants, in the order of their numbers.
    ///
    /// # Errors
    /// Those of the file.
    pub fn living(&self) -> Result<Vec<PlantRow>> {
        self.in_state("alive")
    }

    /// All plants that are `alive`, `dead`, `gone` or `unknown`, by number.
    ///
    /// # Errors
    /// If the file cannot be read.
    pub fn in_state(&self, state: &str) -> Result<Vec<PlantRow>> {
        let mut stmt = self.conn().prepare_cached(&format!(
            "SELECT {PLANT_COLUMNS} FROM plant p JOIN subject s ON s.id = p.id
             WHERE p.state = ?1 ORDER BY p.number"
        ))?;
        Ok(stmt.query_map([state], plant)?.collect::<rusqlite::Result<_>>()?)
    }
}
