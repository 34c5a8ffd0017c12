//! The kinds of entry. A new kind is one declaration in [`KINDS`]; forms, the command, the export
//! and its description, and the check of what is typed all follow from it.

mod check;
mod declared;

use crate::{Dimension, SubjectKind};

pub(crate) use check::check_entry;
pub use declared::KINDS;

/// What a field of an entry holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FieldType {
    /// Free words.
    Words,
    /// One of these words.
    Choice(&'static [&'static str]),
    /// A value with its unit.
    Quantity(Dimension),
    /// A whole number that is not negative.
    Count,
    /// A number in this range.
    Number(f64, f64),
    /// Another subject of one of these kinds, by identifier.
    Subject(&'static [SubjectKind]),
    /// Several other subjects of one of these kinds.
    Subjects(&'static [SubjectKind]),
    /// Yes or no.
    Flag,
    /// An amount with an ISO 4217 currency, which may be left open: `{"amount":8.5,"currency":"GBP"}`.
    Money,
    /// A substrate as parts by volume: `{"bark":4,"perlite":3}`.
    Mix,
}

/// One field of a kind of entry.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FieldSpec {
    /// The word in code, tables and files.
    pub key: &'static str,
    /// What it holds.
    pub holds: FieldType,
    /// Whether an entry without it says nothing.
    pub needed: bool,
}

/// A kind of entry.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EntryKind {
    /// The word in code, tables and files.
    pub key: &'static str,
    /// What it can be about.
    pub about: &'static [SubjectKind],
    /// Its fields.
    pub fields: &'static [FieldSpec],
    /// Whether the plant is gone after it.
    pub ends: bool,
}

impl EntryKind {
    /// The field of this key.
    #[must_use]
    pub fn field(&self, key: &str) -> Option<&'static FieldSpec> {
        self.fields.iter().find(|f| f.key == key)
    }
}

/// The kind of this key.
#[must_use]
pub fn entry_kind(key: &str) -> Option<&'static EntryKind> {
    KINDS.iter().find(|k| k.key == key)
}
