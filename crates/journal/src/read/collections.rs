//! Crosses, photos, saved views, what was brought in and what was left over.

use std::collections::HashMap;

use rusqlite::{OptionalExtension as _, Row};

use super::{
    Reader,
    rows::{CrossRow, LeftOverRow, PhotoRow, ViewRow, parse_edtf},
};
use crate::{Result, SubjectKind, Uid};

const CROSS: &str = "SELECT x.id, s.uid, x.number, x.seed, x.pollen, (SELECT count(*) FROM clone c WHERE c.crossing = x.id) FROM crossing x JOIN subject s ON s.id = x.id";

fn cross(r: &Row<'_>) -> rusqlite::Result<CrossRow> {
    let (seed, pollen): (String, String) = (r.get(3)?, r.get(4)?);
    Ok(CrossRow {
        id: r.get(0)?,
        uid: r.get(1)?,
        number: r.get(2)?,
        seed: serde_json::from_str(&seed).unwrap_or_default(),
        pollen: serde_json::from_str(&pollen).unwrap_or_default(),
        seedlings: r.get(5)?,
    })
}

impl Reader<'_> {
    /// All crosses, by number.
    ///
    /// # Errors
    /// Those of the file.
    pub fn crosses(&self) -> Result<Vec<CrossRow>> {
        let mut stmt = self.conn().prepare_cached(&format!("{CROSS} ORDER BY x.number"))?;
        Ok(stmt.query_map([], cross)?.collect::<rusqlite::Result<_>>()?)
    }

    /// The cross of this number.
    ///
    /// # Errors
    /// Those of the file.
    pub fn cross(&self, number: i64) -> Result<Option<CrossRow>> {
        let mut stmt = self.conn().prepare_cached(&format!("{CROSS} WHERE x.number = ?1"))?;
        Ok(stmt.query_row([number], cross).optional()?)
    }

    /// The cross in this row.
    ///
    /// # Errors
    /// Those of the file.
    pub fn cross_by_id(&self, id: i64) -> Result<Option<CrossRow>> {
        let mut stmt = self.conn().prepare_cached(&format!("{CROSS} WHERE x.id = ?1"))?;
        Ok(stmt.query_row([id], cross).optional()?)
    }

    /// Seedlings of a cross that have a number of their own: row of the clone and that number.
    ///
    /// # Errors
    /// Those of the file.
    pub fn seedlings(&self, cross: i64) -> Result<Vec<(i64, i64)>> {
        let mut stmt = self.conn().prepare_cached(
            "SELECT id, ifnull(seedling, 0) FROM clone WHERE crossing = ?1 ORDER BY seedling",
        )?;
        Ok(stmt
            .query_map([cross], |r| Ok((r.get(0)?, r.get(1)?)))?
            .collect::<rusqlite::Result<_>>()?)
    }

    /// What rows of lists became, by fingerprint, as far as that still holds.
    ///
    /// # Errors
    /// Those of the file.
    pub fn brought_in(&self, fingerprints: &[String]) -> Result<HashMap<String, Uid>> {
        let list = serde_json::Value::from(fingerprints.to_vec()).to_string();
        let mut stmt = self.conn().prepare_cached(
            "SELECT b.fingerprint, s.uid FROM brought_in b JOIN subject s ON s.id = b.subject
             WHERE b.live AND b.fingerprint IN (SELECT value FROM json_each(?1))",
        )?;
        Ok(stmt
            .query_map([list], |r| Ok((r.get(0)?, r.get(1)?)))?
            .collect::<rusqlite::Result<_>>()?)
    }

    /// The row of the list that a subject was brought in from.
    ///
    /// # Errors
    /// Those of the file.
    pub fn origin_of(&self, subject: i64) -> Result<Option<String>> {
        Ok(self
            .conn()
            .prepare_cached("SELECT origin FROM brought_in WHERE subject = ?1 AND live LIMIT 1")?
            .query_row([subject], |r| r.get(0))
            .optional()?)
    }

    /// What waits to be mended, the oldest first.
    ///
    /// # Errors
    /// Those of the file.
    pub fn left_over(&self) -> Result<Vec<LeftOverRow>> {
        let mut stmt = self.conn().prepare_cached(
            "SELECT l.uid, l.origin, l.cells, l.why, o.recorded
             FROM leftover l JOIN operation o ON o.seq = l.op WHERE l.live ORDER BY l.id",
        )?;
        Ok(stmt
            .query_map([], |r| {
                let cells: String = r.get(2)?;
                Ok(LeftOverRow {
                    uid: r.get(0)?,
                    origin: r.get(1)?,
                    cells: serde_json::from_str(&cells).unwrap_or_default(),
                    why: r.get(3)?,
                    recorded: r.get(4)?,
                })
            })?
            .collect::<rusqlite::Result<_>>()?)
    }

    /// Saved views, by name.
    ///
    /// # Errors
    /// Those of the file.
    pub fn views(&self) -> Result<Vec<ViewRow>> {
        let mut out = Vec::new();
        for s in self.subjects_of_kind(SubjectKind::View)? {
            out.push(ViewRow {
                uid: s.uid,
                name: self.claimed_words(s.id, "name")?,
                query: self.claimed_words(s.id, "query")?,
            });
        }
        out.sort_by_key(|v| v.name.to_lowercase());
        Ok(out)
    }

    /// The photo with this content.
    ///
    /// # Errors
    /// Those of the file.
    pub fn photo_by_hash(&self, hash: &str) -> Result<Option<Uid>> {
        Ok(self
            .conn()
            .prepare_cached(
                "SELECT s.uid FROM claim c JOIN subject s ON s.id = c.subject
                 WHERE s.kind = 'photo' AND s.live AND c.live AND c.field = 'content'
                 AND json_extract(c.value, '$.hash') = ?1 LIMIT 1",
            )?
            .query_row([hash], |r| r.get(0))
            .optional()?)
    }

    /// Photos of a plant and its parts, the newest first.
    ///
    /// # Errors
    /// Those of the file.
    pub fn photos_of_plant(&self, plant: i64) -> Result<Vec<PhotoRow>> {
        let mut out = Vec::new();
        let mut entries = self.entries_of_kinds(plant, &["photo"])?;
        entries.reverse();
        for entry in entries {
            let uid: Option<Uid> =
                entry.detail.get("photo").and_then(|v| v.as_str()).and_then(|s| s.parse().ok());
            let Some(subject) = uid.map(|u| self.subject(u)).transpose()?.flatten() else {
                continue;
            };
            let content = self.claimed(subject.id, "content")?.unwrap_or_default();
            let word =
                |key: &str| content.get(key).and_then(|v| v.as_str()).unwrap_or("").to_owned();
            out.push(PhotoRow {
                uid: subject.uid,
                hash: word("hash"),
                ending: word("ending"),
                credit: self.claimed_words(subject.id, "credit")?,
                may_show: self
                    .claimed(subject.id, "may_show")?
                    .and_then(|v| v.as_bool())
                    .unwrap_or(false),
                happened: parse_edtf(Some(entry.happened.to_string())),
                note: entry.note,
            });
        }
        Ok(out)
    }
}
