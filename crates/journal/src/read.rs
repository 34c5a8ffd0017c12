//! Questions that the record can answer without computing anything.

mod air;
mod bulk;
mod collections;
mod entries;
mod lists;
mod people;
mod rows;
mod subjects;

use rusqlite::{Connection, OptionalExtension as _};

use crate::{OpId, Result};

pub use air::{AirDayRow, LoggerRow, RefusedRow, Timed};
pub use bulk::{PlainEntry, Touched};
pub use rows::{
    ClaimRow, CloneRow, CrossRow, EntryRow, HistoryRow, KeeperRow, LeftOverRow, OperationRow,
    PageOf, PartRow, PedigreeRow, PhotoRow, PlaceRow, PlantFilter, PlantRow, PlantSort,
    QuestionRow, StatementRow, SubjectRow, ViewRow,
};

/// One consistent state of the record.
pub struct Reader<'c> {
    conn: &'c Connection,
}

impl<'c> Reader<'c> {
    pub(crate) fn new(conn: &'c Connection) -> Self {
        Self { conn }
    }

    pub(crate) fn conn(&self) -> &'c Connection {
        self.conn
    }

    /// A setting of the house.
    ///
    /// # Errors
    /// Those of the file.
    pub fn setting(&self, key: &str) -> Result<Option<String>> {
        Ok(self
            .conn
            .prepare_cached("SELECT value FROM house WHERE key = ?1")?
            .query_row([key], |r| r.get(0))
            .optional()?)
    }

    /// How many plants and entries there are.
    ///
    /// # Errors
    /// Those of the file.
    pub fn totals(&self) -> Result<(i64, i64)> {
        let plants = self.conn.query_row("SELECT count(*) FROM plant", [], |r| r.get(0))?;
        // Row identifiers of entries are given out in order and never freed: the largest is the
        // number of entries ever written, which is what the foot of a page says.
        let entries =
            self.conn.query_row("SELECT ifnull(max(id), 0) FROM entry", [], |r| r.get(0))?;
        Ok((plants, entries))
    }

    /// The newest operations, undone ones included.
    ///
    /// # Errors
    /// Those of the file.
    pub fn operations(&self, limit: usize) -> Result<Vec<OperationRow>> {
        let mut stmt = self.conn.prepare_cached(
            "SELECT uid, recorded, who, device, act, about, live FROM operation
             ORDER BY seq DESC LIMIT ?1",
        )?;
        let limit = i64::try_from(limit).unwrap_or(i64::MAX);
        Ok(stmt.query_map([limit], rows::operation)?.collect::<rusqlite::Result<_>>()?)
    }

    /// The newest operation that holds and is not itself an undoing.
    ///
    /// # Errors
    /// Those of the file.
    pub fn last_operation(&self) -> Result<Option<OperationRow>> {
        Ok(self
            .conn
            .prepare_cached(
                "SELECT uid, recorded, who, device, act, about, live FROM operation
                 WHERE live AND act NOT IN ('undo', 'redo') ORDER BY seq DESC LIMIT 1",
            )?
            .query_row([], rows::operation)
            .optional()?)
    }

    /// The newest undoing that still holds: what a redo would bring back.
    ///
    /// # Errors
    /// Those of the file.
    pub fn last_undo(&self) -> Result<Option<OperationRow>> {
        Ok(self
            .conn
            .prepare_cached(
                "SELECT uid, recorded, who, device, act, about, live FROM operation
                 WHERE live AND act = 'undo' ORDER BY seq DESC LIMIT 1",
            )?
            .query_row([], rows::operation)
            .optional()?)
    }

    /// One operation.
    ///
    /// # Errors
    /// Those of the file.
    pub fn operation(&self, id: OpId) -> Result<Option<OperationRow>> {
        Ok(self
            .conn
            .prepare_cached(
                "SELECT uid, recorded, who, device, act, about, live FROM operation WHERE uid = ?1",
            )?
            .query_row([id], rows::operation)
            .optional()?)
    }
}
