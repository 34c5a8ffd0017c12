//! Entries of the journal.

use rusqlite::{Row, ToSql, params};

use super::{
    Reader,
    rows::{EntryRow, known, parse_edtf},
};
use crate::{Result, SubjectKind, derive::LAST_POSSIBLE_DAY};

const COLUMNS: &str = "e.uid, s.uid, s.kind, s.number, e.plant, e.kind, e.happened, e.day_from, e.day_to, e.known, e.detail, e.note, e.live, o.uid, o.recorded, o.who,
  (SELECT w.why FROM withdrawal w JOIN operation wo ON wo.seq = w.op WHERE w.target = e.uid AND wo.live AND w.why IS NOT NULL LIMIT 1)";
const TABLES: &str = "entry e JOIN subject s ON s.id = e.subject JOIN operation o ON o.seq = e.op";

fn entry(r: &Row<'_>) -> rusqlite::Result<EntryRow> {
    let kind: String = r.get(2)?;
    let known_word: String = r.get(9)?;
    let detail: String = r.get(10)?;
    Ok(EntryRow {
        uid: r.get(0)?,
        subject: r.get(1)?,
        subject_kind: SubjectKind::of_word(&kind).unwrap_or(SubjectKind::View),
        subject_number: r.get(3)?,
        plant: r.get(4)?,
        kind: r.get(5)?,
        happened: parse_edtf(r.get(6)?).unwrap_or_else(dates::Edtf::unknown),
        day_from: r.get(7)?,
        day_to: r.get(8)?,
        known: known(&known_word),
        detail: serde_json::from_str(&detail).unwrap_or_default(),
        note: r.get(11)?,
        live: r.get(12)?,
        op: r.get(13)?,
        recorded: r.get(14)?,
        who: r.get(15)?,
        withdrawn_why: r.get(16)?,
    })
}

impl Reader<'_> {
    fn entries_where(&self, condition: &str, values: &[&dyn ToSql]) -> Result<Vec<EntryRow>> {
        let mut stmt = self
            .conn()
            .prepare_cached(&format!("SELECT {COLUMNS} FROM {TABLES} WHERE {condition}"))?;
        Ok(stmt.query_map(values, entry)?.collect::<rusqlite::Result<_>>()?)
    }

    /// The journal of a plant and its parts, the latest happening first, withdrawn entries
    /// included (those of undone operations are not).
    ///
    /// # Errors
    /// Those of the file.
    pub fn journal_of_plant(&self, plant: i64, limit: usize) -> Result<Vec<EntryRow>> {
        let limit = i64::try_from(limit).unwrap_or(i64::MAX);
        self.entries_where(
            &format!(
                "e.plant = ?1 AND o.live ORDER BY {LAST_POSSIBLE_DAY} DESC, e.uid DESC LIMIT ?2"
            ),
            &[&plant, &limit],
        )
    }

    /// First and last possible days of the live entries about a plant and its parts, without those
    /// that name no day, each once and the earliest first.
    ///
    /// # Errors
    /// Those of the file.
    pub fn days_written(&self, plant: i64) -> Result<Vec<(i64, i64)>> {
        let mut stmt = self.conn().prepare_cached(
            "SELECT DISTINCT day_from, day_to FROM entry WHERE plant = ?1 AND live
               AND day_from IS NOT NULL AND day_to IS NOT NULL ORDER BY day_from, day_to",
        )?;
        let days = stmt.query_map(params![plant], |r| Ok((r.get(0)?, r.get(1)?)))?;
        Ok(days.collect::<rusqlite::Result<_>>()?)
    }

    /// The plants that have a live entry of a kind, by their rows.
    ///
    /// # Errors
    /// Those of the file.
    pub fn plants_with(&self, kind: &str) -> Result<Vec<i64>> {
        let mut stmt = self.conn().prepare_cached(
            "SELECT DISTINCT plant FROM entry
             WHERE kind = ?1 AND live AND plant IS NOT NULL ORDER BY plant",
        )?;
        Ok(stmt.query_map(params![kind], |r| r.get(0))?.collect::<rusqlite::Result<_>>()?)
    }

    /// Live entries of one kind of a plant and its parts, the earliest first.
    ///
    /// # Errors
    /// Those of the file.
    pub fn entries_of_kinds(&self, plant: i64, kinds: &[&str]) -> Result<Vec<EntryRow>> {
        let list = serde_json::Value::from(kinds.to_vec()).to_string();
        self.entries_where(
            "e.plant = ?1 AND e.live AND e.kind IN (SELECT value FROM json_each(?2))
             ORDER BY ifnull(e.day_from, -1000000), e.uid",
            &[&plant, &list],
        )
    }

    /// Live entries about any subject, the latest first.
    ///
    /// # Errors
    /// Those of the file.
    pub fn entries_about(&self, subject: i64, limit: usize) -> Result<Vec<EntryRow>> {
        let limit = i64::try_from(limit).unwrap_or(i64::MAX);
        self.entries_where(
            &format!(
                "e.subject = ?1 AND o.live ORDER BY {LAST_POSSIBLE_DAY} DESC, e.uid DESC LIMIT ?2"
            ),
            &[&subject, &limit],
        )
    }

    /// One entry.
    ///
    /// # Errors
    /// Those of the file.
    pub fn entry(&self, uid: crate::Uid) -> Result<Option<EntryRow>> {
        Ok(self.entries_where("e.uid = ?1", &[&uid])?.pop())
    }

    /// The latest entries recorded, of all subjects.
    ///
    /// # Errors
    /// Those of the file.
    pub fn latest_entries(&self, limit: usize) -> Result<Vec<EntryRow>> {
        let limit = i64::try_from(limit).unwrap_or(i64::MAX);
        self.entries_where("e.live ORDER BY e.id DESC LIMIT ?1", &[&limit])
    }

    /// Live entries of one kind, of all subjects, the earliest first.
    ///
    /// # Errors
    /// Those of the file.
    pub fn all_of_kind(&self, kind: &str) -> Result<Vec<EntryRow>> {
        self.entries_where(
            "e.kind = ?1 AND e.live AND s.live ORDER BY ifnull(e.day_from, -1000000), e.uid",
            &[&kind],
        )
    }

    /// The latest live entries of one kind in which a field holds something, the newest first.
    ///
    /// # Errors
    /// Those of the file.
    pub fn latest_with(&self, kind: &str, field: &str, limit: usize) -> Result<Vec<EntryRow>> {
        let path = format!("$.{field}");
        let limit = i64::try_from(limit).unwrap_or(i64::MAX);
        self.entries_where(
            &format!(
                "e.kind = ?1 AND e.live AND s.live AND json_extract(e.detail, ?2) IS NOT NULL
                 ORDER BY {LAST_POSSIBLE_DAY} DESC, e.uid DESC LIMIT ?3"
            ),
            &[&kind, &path, &limit],
        )
    }

    /// Live entries of some kinds about the plants of a genus or a clone: what is borrowed where
    /// one plant has too little.
    ///
    /// # Errors
    /// Those of the file.
    pub fn entries_of_clone(&self, clone: i64, kinds: &[&str]) -> Result<Vec<EntryRow>> {
        let list = serde_json::Value::from(kinds.to_vec()).to_string();
        self.entries_where(
            "e.plant IN (SELECT id FROM plant WHERE clone = ?1) AND e.live
             AND e.kind IN (SELECT value FROM json_each(?2))
             ORDER BY ifnull(e.day_from, -1000000), e.uid",
            &[&clone, &list],
        )
    }

    /// Live entries of some kinds of plants of a genus, the earliest first: of those `plants` that
    /// had an entry of the first kind most recently.
    ///
    /// # Errors
    /// Those of the file.
    pub fn entries_of_genus(
        &self,
        genus: &str,
        kinds: &[&str],
        plants: usize,
    ) -> Result<Vec<EntryRow>> {
        let list = serde_json::Value::from(kinds.to_vec()).to_string();
        let first = kinds.first().copied().unwrap_or("");
        let plants = i64::try_from(plants).unwrap_or(i64::MAX);
        self.entries_where(
            "e.plant IN (
               SELECT x.plant FROM
                 (SELECT plant, max(id) AS newest FROM entry WHERE kind = ?4 GROUP BY plant) x
               JOIN plant p ON p.id = x.plant WHERE p.genus = ?1 ORDER BY x.newest DESC LIMIT ?3)
             AND e.live AND e.kind IN (SELECT value FROM json_each(?2))
             ORDER BY ifnull(e.day_from, -1000000), e.uid",
            &[&genus, &list, &plants, &first],
        )
    }

    /// How many live entries of each kind a plant has.
    ///
    /// # Errors
    /// Those of the file.
    pub fn kinds_of_plant(&self, plant: i64) -> Result<Vec<(String, i64)>> {
        let mut stmt = self.conn().prepare_cached(
            "SELECT kind, count(*) FROM entry WHERE plant = ?1 AND live GROUP BY kind ORDER BY kind",
        )?;
        Ok(stmt
            .query_map(params![plant], |r| Ok((r.get(0)?, r.get(1)?)))?
            .collect::<rusqlite::Result<_>>()?)
    }
}
