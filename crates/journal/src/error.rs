//! What can go wrong with the record, and what to do next.

use std::path::{Path, PathBuf};

use crate::{BlockError, PhotoError, QuantityError, Uid};

/// The result of everything that touches the record.
pub type Result<T, E = Error> = std::result::Result<T, E>;

/// An error of the record. Whenever one is returned, the record is as it was.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// SQLite reported an error: a full disk, a file that cannot be read, and the like.
    #[error(
        "the record could not be read or written: {0}. Nothing was changed; check that the disk has space and can be written, then try again"
    )]
    Sqlite(#[from] rusqlite::Error),
    /// The file system reported an error.
    #[error("{path}: {source}. Nothing was changed in the record")]
    File {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The file is not a record of Umbel.
    #[error(
        "{path} is not a record of Umbel ({why}). It was not touched. Choose a .umbel file, or a backup"
    )]
    NotARecord {
        /// The file.
        path: PathBuf,
        /// What was found instead.
        why: String,
    },
    /// The file was written by a later version.
    #[error(
        "{path} has file form {found}; this Umbel reads forms up to {known}. It was not touched. Bring this machine to a later Umbel, then open it again"
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// The form of the file.
        found: i64,
        /// The newest form that this program reads.
        known: i64,
    },
    /// The file is damaged.
    #[error(
        "{path} is damaged: {why}. It was not touched. Restore the newest backup; `umbel doctor` says what can still be read"
    )]
    Damaged {
        /// The file.
        path: PathBuf,
        /// The first lines of what the check found.
        why: String,
    },
    /// One change of an operation cannot be written; none of the operation was.
    #[error("change {index} of {count} cannot be written: {problem}")]
    Change {
        /// Position in the operation, from 1.
        index: usize,
        /// How many changes the operation holds.
        count: usize,
        /// What is wrong.
        problem: ChangeError,
    },
    /// An operation that is to be undone is not in the record, or is undone already.
    #[error("there is nothing to undo: {0}")]
    NothingToUndo(String),
    /// Later operations rest on the one that is to be undone.
    #[error("{} later steps rest on this one; undo those first, or undo it together with them", .0.len())]
    RestsOn(Vec<crate::Resting>),
    /// Something asked for is not in the record.
    #[error("{0} is not in the record")]
    Missing(String),
    /// An exported folder cannot be read in.
    #[error("{file}, row {row}, column “{column}”: “{value}” {problem}")]
    Table {
        /// The file of the folder.
        file: String,
        /// Row in the file, the header being row 1.
        row: usize,
        /// The column.
        column: String,
        /// The value as found.
        value: String,
        /// What is wrong with it and what was expected.
        problem: String,
    },
    /// Readings of a logger that were damaged in the file.
    #[error(
        "the readings of logger “{logger}” cannot be read: {why}. Nothing was changed; `umbel doctor` says which blocks are damaged, and a backup has them whole"
    )]
    Readings {
        /// The logger.
        logger: String,
        /// What is wrong.
        why: BlockError,
    },
    /// A photo cannot be taken in.
    #[error(transparent)]
    Photo(#[from] PhotoError),
    /// A backup cannot be verified.
    #[error(
        "the backup {path} is not good: {why}. It was set aside; the record itself was not touched"
    )]
    BadBackup {
        /// The backup.
        path: PathBuf,
        /// What differs.
        why: String,
    },
}

impl Error {
    /// Says which file it is when SQLite found the file damaged, or found in it what no record
    /// holds.
    pub(crate) fn at(self, path: &Path) -> Self {
        match self {
            Self::Sqlite(e) if is_damage(&e) => {
                Self::Damaged { path: path.to_path_buf(), why: e.to_string() }
            }
            other => other,
        }
    }

    pub(crate) fn file(path: impl Into<PathBuf>) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.into();
        move |source| Self::File { path, source }
    }
}

fn is_damage(e: &rusqlite::Error) -> bool {
    use rusqlite::{Error as E, ErrorCode};
    match e {
        E::SqliteFailure(failure, words) => {
            matches!(failure.code, ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase)
                // The statements are all of this crate: what they name is missing from the file.
                || words.as_deref().is_some_and(|w| w.starts_with("no such "))
        }
        E::SqlInputError { msg, .. } => msg.starts_with("no such "),
        E::FromSqlConversionFailure(..)
        | E::InvalidColumnType(..)
        | E::IntegralValueOutOfRange(..)
        | E::Utf8Error(..) => true,
        _ => false,
    }
}

/// Why one change cannot be written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ChangeError {
    /// The subject is not in the record.
    #[error("its subject {0} is not in the record")]
    NoSubject(Uid),
    /// A target to withdraw is not in the record.
    #[error("{0} is not in the record, so it cannot be withdrawn")]
    NoTarget(Uid),
    /// An entry that would stand in place of itself, or an operation that would undo itself.
    #[error("{0} would take itself back")]
    OfItself(Uid),
    /// An identifier is used twice.
    #[error("the identifier {0} is used already")]
    UsedTwice(Uid),
    /// A number is used already. Numbers are never given twice.
    #[error("{kind} number {number} is used already; take another, the next free one is {next}")]
    NumberUsed {
        /// What has the number.
        kind: &'static str,
        /// The number.
        number: i64,
        /// The next free number.
        next: i64,
    },
    /// An entry of a kind that this program does not know.
    #[error("“{0}” is not a kind of entry; `umbel log --help` lists the kinds")]
    UnknownKind(String),
    /// An entry of this kind cannot be about such a subject.
    #[error("an entry “{kind}” cannot be about a {subject}; it can be about {allowed}")]
    WrongSubject {
        /// The kind of entry.
        kind: &'static str,
        /// The kind of subject.
        subject: &'static str,
        /// What it can be about.
        allowed: String,
    },
    /// A field is missing, not known, or holds what it cannot.
    #[error("{kind}: {field}: {problem}")]
    Field {
        /// The kind of entry, or the kind of subject for a claim.
        kind: String,
        /// The field.
        field: String,
        /// What is wrong with which value, and what was expected.
        problem: String,
    },
    /// A quantity cannot be read.
    #[error("{field}: {source}")]
    Quantity {
        /// The field.
        field: String,
        /// What is wrong.
        source: QuantityError,
    },
    /// The entry would lie in the future.
    #[error(
        "“{happened}” lies after {today}, the day it is written on; the journal holds what has happened"
    )]
    Future {
        /// The date of the entry.
        happened: String,
        /// The day of recording.
        today: String,
    },
    /// Readings of a logger that cannot be kept.
    #[error("{0}")]
    Block(BlockError),
    /// A parentage that runs in a circle.
    #[error("this would make a plant its own ancestor: {0}. Change one of these parents")]
    Loop(String),
}
