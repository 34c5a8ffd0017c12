//! The record: one SQLite file of dated operations about living plants.
//!
//! Everything that was ever written is kept as an *operation*: a set of changes made at one
//! instant by one person on one device. Nothing is edited in place. A change is withdrawn by a
//! later change and an operation is reversed by a later operation, so that every step can be
//! seen and undone. The tables `plant`, `clone`, `place`, `keeper`, `crossing` and `search` are
//! a *projection*: they can be dropped and derived again from the operations alone.
//!
//! This crate knows SQL, and no other crate does. It knows no statistics and no HTML. Readings of
//! loggers are kept packed, and what a day was like at a place is part of the projection.

mod apply;
mod backup;
mod code;
mod derive;
mod error;
mod export;
mod id;
mod kinds;
mod live;
mod odd;
mod operation;
mod photos;
mod quantity;
mod read;
mod restore;
mod schema;
mod search;
mod series;
mod store;
mod undo;

pub use apply::Written;
pub use backup::{BackupReport, Health, backup_due};
pub use code::{CODE_ALPHABET, Code, CodeError};
pub use error::{ChangeError, Error, Result};
pub use export::{ExportReport, TABLES, TableDescription};
pub use id::{OpId, Uid};
pub use kinds::{EntryKind, FieldSpec, FieldType, KINDS, entry_kind};
pub use odd::Oddity;
pub use operation::{
    Change, Draft, Known, LeftOver, NewEntry, NewRefused, NewSeries, NewStatement, Operation,
    ParentClaim, RefusedLine, SubjectKind,
};
pub use photos::{PhotoError, PhotoFile};
pub use quantity::{Dimension, Quantity, QuantityError};
pub use read::{
    AirDayRow, ClaimRow, CloneRow, CrossRow, EntryRow, HistoryRow, KeeperRow, LeftOverRow,
    LoggerRow, OperationRow, PageOf, PartRow, PedigreeRow, PhotoRow, PlaceRow, PlainEntry,
    PlantFilter, PlantRow, PlantSort, QuestionRow, Reader, RefusedRow, StatementRow, SubjectRow,
    Timed, Touched, ViewRow,
};
pub use search::Found;
pub use series::{AirReading, Block, BlockError, Correction};
pub use store::{Journal, Opened};
pub use undo::{Resting, Undone};
