//! Plant names: read, judge, correct and typeset.
//!
//! [`read`] takes a name as somebody typed it and gives a [`Reading`]: what kind of name it is, its
//! parts, whether it is well formed, the one repair where there is one, and every rule that was
//! touched. A reading typesets itself (HTML, Typst, plain text), gives a key to sort by, and can be
//! read again from its normal form without change.
//!
//! The module [`checklist`] holds lists of accepted names with their native areas, and
//! [`compare_epithets`] says whether two cultivar epithets could be mistaken for each other.
//!
//! Nothing here knows a file system, a clock or a network: the date whose rules apply is part of the
//! [`Context`], and tables of synonyms, genera and Groups are handed in as plain data.

pub mod checklist;
mod confuse;
mod context;
mod judge;
mod nearest;
mod read;
mod reading;
mod rules;
mod tables;
mod text;
mod write;

pub use confuse::{
    ClassException, Confusable, compare_epithets, denomination_class, denomination_class_with,
    epithet_key, sound_key,
};
pub use context::{Context, KnownGroup, Synonym};
pub use nearest::{NameList, nearest};
pub use read::read;
pub use reading::{
    Epithet, HybridSign, Infra, Kind, Parts, Problem, Qualifier, Rank, Reading, Severity, Sex,
    Verdict,
};
pub use write::{Span, Style};
