//! Subjects, clones, parts, claims, histories.

use rusqlite::{OptionalExtension as _, Row, params};

use super::{
    Reader,
    rows::{
        ClaimRow, CloneRow, HistoryRow, OperationRow, PartRow, PedigreeRow, SubjectRow, known,
        parse_edtf,
    },
};
use crate::{Result, SubjectKind, Uid};

const CLONE: &str = "SELECT c.id, s.uid, s.number, c.name, c.genus, c.seed, c.pollen, c.crossing, c.seedling, c.pieces FROM clone c JOIN subject s ON s.id = c.id";

fn clone(r: &Row<'_>) -> rusqlite::Result<CloneRow> {
    let (seed, pollen): (String, String) = (r.get(5)?, r.get(6)?);
    Ok(CloneRow {
        id: r.get(0)?,
        uid: r.get(1)?,
        number: r.get(2)?,
        name: r.get(3)?,
        genus: r.get(4)?,
        seed: serde_json::from_str(&seed).unwrap_or_default(),
        pollen: serde_json::from_str(&pollen).unwrap_or_default(),
        crossing: r.get(7)?,
        seedling: r.get(8)?,
        pieces: r.get(9)?,
    })
}

fn claim(r: &Row<'_>) -> rusqlite::Result<ClaimRow> {
    let (value, known_word): (String, String) = (r.get(2)?, r.get(6)?);
    Ok(ClaimRow {
        uid: r.get(0)?,
        field: r.get(1)?,
        value: serde_json::from_str(&value).unwrap_or_default(),
        as_of: parse_edtf(r.get(3)?),
        said_by: r.get(4)?,
        reason: r.get(5)?,
        known: known(&known_word),
        live: r.get(7)?,
        recorded: r.get(8)?,
        who: r.get(9)?,
    })
}

impl Reader<'_> {
    /// A subject by its identifier.
    ///
    /// # Errors
    /// Those of the file.
    pub fn subject(&self, uid: Uid) -> Result<Option<SubjectRow>> {
        self.one_subject("uid = ?1", params![uid])
    }

    /// A subject by its kind and number, live or not.
    ///
    /// # Errors
    /// Those of the file.
    pub fn subject_numbered(&self, kind: SubjectKind, number: i64) -> Result<Option<SubjectRow>> {
        self.one_subject(
            "kind = ?1 AND number = ?2 ORDER BY live DESC",
            params![kind.as_str(), number],
        )
    }

    /// A subject by its row.
    ///
    /// # Errors
    /// Those of the file.
    pub fn subject_by_id(&self, id: i64) -> Result<Option<SubjectRow>> {
        self.one_subject("id = ?1", params![id])
    }

    fn one_subject(
        &self,
        condition: &str,
        values: &[&dyn rusqlite::ToSql],
    ) -> Result<Option<SubjectRow>> {
        let mut stmt = self.conn().prepare_cached(&format!(
            "SELECT id, uid, kind, number, of, live FROM subject WHERE {condition} LIMIT 1"
        ))?;
        Ok(stmt.query_row(values, subject_row).optional()?)
    }

    /// Subjects of a kind that belong to another, by number.
    ///
    /// # Errors
    /// Those of the file.
    pub fn subjects_of(&self, of: i64, kind: SubjectKind) -> Result<Vec<SubjectRow>> {
        let mut stmt = self.conn().prepare_cached(
            "SELECT id, uid, kind, number, of, live FROM subject
             WHERE of = ?1 AND kind = ?2 AND live ORDER BY number",
        )?;
        Ok(stmt
            .query_map(params![of, kind.as_str()], subject_row)?
            .collect::<rusqlite::Result<_>>()?)
    }

    /// All live subjects of a kind, by number.
    ///
    /// # Errors
    /// Those of the file.
    pub fn subjects_of_kind(&self, kind: SubjectKind) -> Result<Vec<SubjectRow>> {
        let mut stmt = self.conn().prepare_cached(
            "SELECT id, uid, kind, number, of, live FROM subject
             WHERE kind = ?1 AND live ORDER BY number",
        )?;
        Ok(stmt.query_map([kind.as_str()], subject_row)?.collect::<rusqlite::Result<_>>()?)
    }

    /// The clone in this row.
    ///
    /// # Errors
    /// Those of the file.
    pub fn clone_by_id(&self, id: i64) -> Result<Option<CloneRow>> {
        let mut stmt = self.conn().prepare_cached(&format!("{CLONE} WHERE c.id = ?1"))?;
        Ok(stmt.query_row([id], clone).optional()?)
    }

    /// The clone of this identifier.
    ///
    /// # Errors
    /// Those of the file.
    pub fn clone_by_uid(&self, uid: Uid) -> Result<Option<CloneRow>> {
        let mut stmt = self.conn().prepare_cached(&format!("{CLONE} WHERE s.uid = ?1"))?;
        Ok(stmt.query_row([uid], clone).optional()?)
    }

    /// Clones whose name sorts as this key does.
    ///
    /// # Errors
    /// Those of the file.
    pub fn clones_sorted_as(&self, sort: &str) -> Result<Vec<CloneRow>> {
        let mut stmt =
            self.conn().prepare_cached(&format!("{CLONE} WHERE c.sort = ?1 ORDER BY s.number"))?;
        Ok(stmt.query_map([sort], clone)?.collect::<rusqlite::Result<_>>()?)
    }

    /// Clones with this name exactly.
    ///
    /// # Errors
    /// Those of the file.
    pub fn clones_named(&self, name: &str) -> Result<Vec<CloneRow>> {
        let mut stmt =
            self.conn().prepare_cached(&format!("{CLONE} WHERE c.name = ?1 ORDER BY s.number"))?;
        Ok(stmt.query_map([name], clone)?.collect::<rusqlite::Result<_>>()?)
    }

    /// All clones of a genus, by name: what a new epithet is compared with.
    ///
    /// # Errors
    /// Those of the file.
    pub fn clones_of_genus(&self, genus: &str) -> Result<Vec<CloneRow>> {
        let mut stmt =
            self.conn().prepare_cached(&format!("{CLONE} WHERE c.genus = ?1 ORDER BY c.sort"))?;
        Ok(stmt.query_map([genus], clone)?.collect::<rusqlite::Result<_>>()?)
    }

    /// Seedlings of a clone, as seed parent or pollen parent.
    ///
    /// # Errors
    /// Those of the file.
    pub fn children(&self, id: i64) -> Result<Vec<CloneRow>> {
        let mut stmt = self.conn().prepare_cached(&format!(
            "{CLONE} WHERE c.seed_clone = ?1 OR c.pollen_clone = ?1 ORDER BY c.sort, s.number"
        ))?;
        Ok(stmt.query_map([id], clone)?.collect::<rusqlite::Result<_>>()?)
    }

    /// A clone and all its ancestors, for the calculators of descent.
    ///
    /// # Errors
    /// Those of the file.
    pub fn ancestry(&self, starts: &[Uid]) -> Result<Vec<PedigreeRow>> {
        let mut out = Vec::new();
        let mut seen = std::collections::HashSet::new();
        let mut waiting: Vec<Uid> = starts.to_vec();
        while let Some(uid) = waiting.pop() {
            if !seen.insert(uid) {
                continue;
            }
            let Some(row) = self.clone_by_uid(uid)? else { continue };
            for side in [&row.seed, &row.pollen] {
                match side {
                    crate::ParentClaim::Clone(parent) => waiting.push(*parent),
                    crate::ParentClaim::OneOf(list) => waiting.extend(list),
                    _ => {}
                }
            }
            out.push(PedigreeRow { uid, name: row.name, seed: row.seed, pollen: row.pollen });
        }
        Ok(out)
    }

    /// Parts of a plant, by number.
    ///
    /// # Errors
    /// Those of the file.
    pub fn parts(&self, plant: i64) -> Result<Vec<PartRow>> {
        let mut out = Vec::new();
        for s in self.subjects_of(plant, SubjectKind::Part)? {
            out.push(PartRow {
                uid: s.uid,
                number: s.number,
                what: self.claimed_words(s.id, "what")?,
                name: self.claimed_words(s.id, "name")?,
            });
        }
        Ok(out)
    }

    /// The latest live claim of a field, if it is words; empty otherwise.
    ///
    /// # Errors
    /// Those of the file.
    pub fn claimed_words(&self, subject: i64, field: &str) -> Result<String> {
        Ok(crate::derive::latest_claim(self.conn(), subject, field)?
            .and_then(|v| v.as_str().map(str::to_owned))
            .unwrap_or_default())
    }

    /// The latest live claim of a field.
    ///
    /// # Errors
    /// Those of the file.
    pub fn claimed(&self, subject: i64, field: &str) -> Result<Option<serde_json::Value>> {
        Ok(crate::derive::latest_claim(self.conn(), subject, field)?)
    }

    /// All claims of a field about a subject, the newest first, withdrawn ones included.
    ///
    /// # Errors
    /// Those of the file.
    pub fn claims(&self, subject: i64, field: &str) -> Result<Vec<ClaimRow>> {
        let mut stmt = self.conn().prepare_cached(
            "SELECT c.uid, c.field, c.value, c.as_of, c.said_by, c.reason, c.known, c.live, o.recorded, o.who
             FROM claim c JOIN operation o ON o.seq = c.op
             WHERE c.subject = ?1 AND c.field = ?2 AND o.live ORDER BY c.uid DESC",
        )?;
        Ok(stmt.query_map(params![subject, field], claim)?.collect::<rusqlite::Result<_>>()?)
    }

    /// Everything that was ever written about a subject, the newest first.
    ///
    /// # Errors
    /// Those of the file.
    pub fn history(&self, subject: i64, limit: usize) -> Result<Vec<HistoryRow>> {
        let mut stmt = self.conn().prepare_cached(
            "WITH lines(op, what, field, value, live) AS (
               SELECT op, 'created', kind, number, live FROM subject WHERE id = ?1
               UNION ALL SELECT op, 'claim', field, value, live FROM claim WHERE subject = ?1
               UNION ALL SELECT op, 'entry', kind, happened || ' ' || detail || ' ' || ifnull(note, ''), live
                 FROM entry WHERE subject = ?1
               UNION ALL SELECT op, 'statement', ifnull(said_by, ''), text, live FROM statement WHERE subject = ?1
               UNION ALL SELECT op, 'question', '', text, live FROM question WHERE subject = ?1
               UNION ALL SELECT w.op, 'withdrawn', e.kind, e.happened || ' ' || ifnull(w.why, ''), 1
                 FROM withdrawal w JOIN entry e ON e.uid = w.target WHERE e.subject = ?1
               UNION ALL SELECT w.op, 'withdrawn', c.field, c.value || ' ' || ifnull(w.why, ''), 1
                 FROM withdrawal w JOIN claim c ON c.uid = w.target WHERE c.subject = ?1)
             SELECT o.uid, o.recorded, o.who, o.device, o.act, o.about, o.live,
                    l.what, l.field, CAST(l.value AS TEXT), l.live
             FROM lines l JOIN operation o ON o.seq = l.op ORDER BY o.seq DESC LIMIT ?2",
        )?;
        let limit = i64::try_from(limit).unwrap_or(i64::MAX);
        Ok(stmt
            .query_map(params![subject, limit], |r| {
                Ok(HistoryRow {
                    operation: OperationRow {
                        uid: r.get(0)?,
                        recorded: r.get(1)?,
                        who: r.get(2)?,
                        device: r.get(3)?,
                        act: r.get(4)?,
                        about: r.get(5)?,
                        live: r.get(6)?,
                    },
                    what: r.get(7)?,
                    field: r.get(8)?,
                    value: r.get(9)?,
                    live: r.get(10)?,
                })
            })?
            .collect::<rusqlite::Result<_>>()?)
    }
}

fn subject_row(r: &Row<'_>) -> rusqlite::Result<SubjectRow> {
    let kind: String = r.get(2)?;
    Ok(SubjectRow {
        id: r.get(0)?,
        uid: r.get(1)?,
        kind: SubjectKind::of_word(&kind).unwrap_or(SubjectKind::View),
        number: r.get(3)?,
        of: r.get(4)?,
        live: r.get(5)?,
    })
}
