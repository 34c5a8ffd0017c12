//! Keepers, places, and what was said and is to be asked.

use rusqlite::{OptionalExtension as _, Row, params};

use super::{
    Reader,
    rows::{KeeperRow, PlaceRow, QuestionRow, StatementRow, parse_edtf},
};
use crate::{Result, SubjectKind};

fn keeper(r: &Row<'_>) -> rusqlite::Result<KeeperRow> {
    Ok(KeeperRow {
        id: r.get(0)?,
        uid: r.get(1)?,
        number: r.get(2)?,
        name: r.get(3)?,
        plants: r.get(4)?,
    })
}

fn place(r: &Row<'_>) -> rusqlite::Result<PlaceRow> {
    Ok(PlaceRow {
        id: r.get(0)?,
        uid: r.get(1)?,
        number: r.get(2)?,
        name: r.get(3)?,
        order: r.get(4)?,
        plants: r.get(5)?,
    })
}

const KEEPER: &str =
    "SELECT k.id, s.uid, s.number, k.name, k.plants FROM keeper k JOIN subject s ON s.id = k.id";
const PLACE: &str = "SELECT p.id, s.uid, p.number, p.name, p.ord, p.plants FROM place p JOIN subject s ON s.id = p.id";
const STATEMENT: &str = "SELECT t.uid, s.uid, t.text, ifnull(k.name, ifnull(t.said_by, '')), t.medium, t.address, t.spot, t.said_on, t.trust, t.answers, t.live, o.recorded
  FROM statement t JOIN subject s ON s.id = t.subject JOIN operation o ON o.seq = t.op LEFT JOIN keeper k ON k.id = t.keeper";
const QUESTION: &str = "SELECT q.uid, s.uid, s.kind, s.number, ifnull(p.name, ifnull(c.name, '')), q.text, ifnull(k.name, ''),
    EXISTS(SELECT 1 FROM statement t WHERE t.answers = q.uid AND t.live), o.recorded
  FROM question q JOIN subject s ON s.id = q.subject JOIN operation o ON o.seq = q.op
  LEFT JOIN plant p ON p.id = q.subject LEFT JOIN clone c ON c.id = q.subject LEFT JOIN keeper k ON k.id = q.keeper";

fn statement(r: &Row<'_>) -> rusqlite::Result<StatementRow> {
    Ok(StatementRow {
        uid: r.get(0)?,
        subject: r.get(1)?,
        text: r.get(2)?,
        said_by: r.get(3)?,
        medium: r.get(4)?,
        address: r.get(5)?,
        spot: r.get(6)?,
        said_on: parse_edtf(r.get(7)?),
        trust: r.get(8)?,
        answers: r.get(9)?,
        live: r.get(10)?,
        recorded: r.get(11)?,
    })
}

fn question(r: &Row<'_>) -> rusqlite::Result<QuestionRow> {
    let kind: String = r.get(2)?;
    Ok(QuestionRow {
        uid: r.get(0)?,
        subject: r.get(1)?,
        subject_kind: SubjectKind::of_word(&kind).unwrap_or(SubjectKind::View),
        subject_number: r.get(3)?,
        about: r.get(4)?,
        text: r.get(5)?,
        keeper: r.get(6)?,
        answered: r.get(7)?,
        recorded: r.get(8)?,
    })
}

impl Reader<'_> {
    /// All keepers, by name.
    ///
    /// # Errors
    /// Those of the file.
    pub fn keepers(&self) -> Result<Vec<KeeperRow>> {
        let mut stmt =
            self.conn().prepare_cached(&format!("{KEEPER} ORDER BY k.sort, s.number"))?;
        Ok(stmt.query_map([], keeper)?.collect::<rusqlite::Result<_>>()?)
    }

    /// The keeper of this number.
    ///
    /// # Errors
    /// Those of the file.
    pub fn keeper(&self, number: i64) -> Result<Option<KeeperRow>> {
        let mut stmt = self.conn().prepare_cached(&format!("{KEEPER} WHERE s.number = ?1"))?;
        Ok(stmt.query_row([number], keeper).optional()?)
    }

    /// The keeper of this name, whatever its capitals.
    ///
    /// # Errors
    /// Those of the file.
    pub fn keeper_named(&self, name: &str) -> Result<Option<KeeperRow>> {
        let mut stmt =
            self.conn().prepare_cached(&format!("{KEEPER} WHERE k.sort = ?1 ORDER BY s.number"))?;
        Ok(stmt.query_row([name.trim().to_lowercase()], keeper).optional()?)
    }

    /// All places, in walking order.
    ///
    /// # Errors
    /// Those of the file.
    pub fn places(&self) -> Result<Vec<PlaceRow>> {
        let mut stmt = self.conn().prepare_cached(&format!("{PLACE} ORDER BY p.ord, p.number"))?;
        Ok(stmt.query_map([], place)?.collect::<rusqlite::Result<_>>()?)
    }

    /// The place of this number.
    ///
    /// # Errors
    /// Those of the file.
    pub fn place(&self, number: i64) -> Result<Option<PlaceRow>> {
        let mut stmt = self.conn().prepare_cached(&format!("{PLACE} WHERE p.number = ?1"))?;
        Ok(stmt.query_row([number], place).optional()?)
    }

    /// The place of this name, whatever its capitals.
    ///
    /// # Errors
    /// Those of the file.
    pub fn place_named(&self, name: &str) -> Result<Option<PlaceRow>> {
        let name = name.trim().to_lowercase();
        Ok(self.places()?.into_iter().find(|p| p.name.to_lowercase() == name))
    }

    /// What was said about a subject, the newest first, withdrawn statements included.
    ///
    /// # Errors
    /// Those of the file.
    pub fn statements(&self, subject: i64) -> Result<Vec<StatementRow>> {
        let mut stmt = self.conn().prepare_cached(&format!(
            "{STATEMENT} WHERE t.subject = ?1 AND o.live ORDER BY t.uid DESC"
        ))?;
        Ok(stmt.query_map([subject], statement)?.collect::<rusqlite::Result<_>>()?)
    }

    /// What a keeper said about anything.
    ///
    /// # Errors
    /// Those of the file.
    pub fn statements_by(&self, keeper: i64) -> Result<Vec<StatementRow>> {
        let mut stmt = self.conn().prepare_cached(&format!(
            "{STATEMENT} WHERE t.keeper = ?1 AND t.live ORDER BY t.uid DESC"
        ))?;
        Ok(stmt.query_map([keeper], statement)?.collect::<rusqlite::Result<_>>()?)
    }

    /// Questions about a subject.
    ///
    /// # Errors
    /// Those of the file.
    pub fn questions(&self, subject: i64) -> Result<Vec<QuestionRow>> {
        let mut stmt = self.conn().prepare_cached(&format!(
            "{QUESTION} WHERE q.subject = ?1 AND q.live ORDER BY q.uid"
        ))?;
        Ok(stmt.query_map([subject], question)?.collect::<rusqlite::Result<_>>()?)
    }

    /// Questions that wait for an answer, for one keeper or all.
    ///
    /// # Errors
    /// Those of the file.
    pub fn open_questions(&self, keeper: Option<i64>) -> Result<Vec<QuestionRow>> {
        let mut stmt = self.conn().prepare_cached(&format!(
            "{QUESTION} WHERE q.live AND s.live AND (?1 IS NULL OR q.keeper = ?1)
             AND NOT EXISTS(SELECT 1 FROM statement t WHERE t.answers = q.uid AND t.live)
             ORDER BY k.sort, q.uid"
        ))?;
        Ok(stmt.query_map(params![keeper], question)?.collect::<rusqlite::Result<_>>()?)
    }
}
