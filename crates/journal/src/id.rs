//! Identifiers made where the thing is made, so that an operation can arrive twice and count once.

use std::{fmt, str::FromStr};

use rusqlite::{
    ToSql,
    types::{FromSql, FromSqlError, FromSqlResult, ToSqlOutput, ValueRef},
};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// The identifier of a subject, claim, entry, statement, question or left-over row.
///
/// A UUID version 7: its order is the order in which things were made on one device, and is
/// used as the order of claims, so that two devices derive the same record.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Uid(Uuid);

/// The identifier of an operation.
pub type OpId = Uid;

impl Uid {
    /// A new identifier, later than all that this process made before.
    #[must_use]
    pub fn new() -> Self {
        Self(Uuid::now_v7())
    }

    /// The identifier with these sixteen bytes, for records that were made elsewhere.
    #[must_use]
    pub fn from_bytes(bytes: [u8; 16]) -> Self {
        Self(Uuid::from_bytes(bytes))
    }

    /// When it was made, by the clock of the device that made it \[ms since 1970 UTC\]; nothing if it
    /// is no UUID of version 7 (RFC 9562, section 5.7).
    #[must_use]
    pub fn made(&self) -> Option<i64> {
        if self.0.get_version_num() != 7 {
            return None;
        }
        let (seconds, nanoseconds) = self.0.get_timestamp()?.to_unix();
        i64::try_from(seconds).ok().map(|s| s * 1000 + i64::from(nanoseconds / 1_000_000))
    }

    /// The sixteen bytes.
    #[must_use]
    pub fn as_bytes(&self) -> &[u8; 16] {
        self.0.as_bytes()
    }
}

impl Default for Uid {
    fn default() -> Self {
        Self::new()
    }
}

impl fmt::Display for Uid {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl fmt::Debug for Uid {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl FromStr for Uid {
    type Err = uuid::Error;

    fn from_str(s: &str) -> Result<Self, Self::Err> {
        Uuid::parse_str(s).map(Self)
    }
}

impl ToSql for Uid {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(ToSqlOutput::Borrowed(ValueRef::Blob(self.0.as_bytes())))
    }
}

impl FromSql for Uid {
    fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
        let bytes = value.as_blob()?;
        Uuid::from_slice(bytes).map(Self).map_err(|e| FromSqlError::Other(Box::new(e)))
    }
}
