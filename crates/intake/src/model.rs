//! What comes out: rows as understood, rows skipped, questions.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::Language;

/// Caps on what is read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Limits {
    /// Longest text file \[bytes\].
    pub text_bytes: usize,
    /// Largest workbook once unpacked \[bytes\].
    pub archive_bytes: usize,
    /// Most parts in a workbook's archive.
    pub archive_entries: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self { text_bytes: 64 << 20, archive_bytes: 256 << 20, archive_entries: 4000 }
    }
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the words are those of the record")]
pub enum Role {
    Name,
    Genus,
    Species,
    Cultivar,
    SeedParent,
    PollenParent,
    Parents,
    Source,
    Date,
    /// The date is when seed was sown.
    Sown,
    ReceivedAs,
    Price,
    Currency,
    Pot,
    Place,
    State,
    Tag,
    Count,
    Notes,
    /// Kept with the row, not understood.
    Ignore,
}

/// How the columns of one sheet are read; remembered for the next list from the same hand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mapping {
    /// Name of the sheet; `None` for a text file.
    pub sheet: Option<String>,
    /// 1-based row of the header; `None` if the sheet has none.
    pub header_row: Option<u32>,
    /// The header words, for recognising the same layout again.
    pub header: Vec<String>,
    /// One role for each column.
    pub columns: Vec<Role>,
}

/// How a file is to be read.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// Mappings given by the reader or remembered; a sheet without one is recognised.
    pub mappings: Vec<Mapping>,
    /// Answers to questions of an earlier reading.
    pub answers: Answers,
    /// The day of reading; it only bounds years written with two digits.
    pub read_on: Option<Date>,
    /// The language, if it is not to be recognised.
    pub language: Option<Language>,
    /// Caps.
    pub limits: Limits,
}

/// An amount as told for one plant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Price {
    /// Amount for one plant \[currency\].
    pub amount: f64,
    /// ISO 4217 code; `None` where a bare `$` could be any dollar.
    pub currency: Option<String>,
}

/// A pot's size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Pot {
    /// Diameter or volume \[unit\].
    pub value: f64,
    /// `cm`, `mm`, `in` or `l`.
    pub unit: String,
}

/// A part of a row that was corrected or filled in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the words are those of the row")]
pub enum Part {
    Name,
    SeedParent,
    PollenParent,
    Source,
    Acquired,
    Price,
    Pot,
    Place,
    State,
}

/// A tie between two rows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Relation {
    /// Kind of tie.
    pub kind: RelationKind,
    /// Position of the other row in [`crate::Understood::rows`].
    pub to: usize,
}

/// How two rows belong together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RelationKind {
    /// The same plant entered twice.
    Duplicate,
    /// Perhaps entered twice; to be asked.
    PossibleDuplicate,
    /// Another plant of the same clone.
    SameClone,
    /// Perhaps of the same clone; to be asked.
    PossibleClone,
    /// The name was completed from the other row.
    CompletedFrom,
    /// The parents were taken from the other row.
    ParentsFrom,
    /// Both bear the same number.
    SameNumber,
}

/// One row as understood.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// 1-based row (a record counts once even if a cell has a line break).
    pub row: u32,
    /// Sheet of a workbook.
    pub sheet: Option<String>,
    /// Full name without author, or what is safe to write meanwhile.
    pub name: Option<String>,
    /// Whether the name must be asked about.
    pub needs_a_person: bool,
    /// Full name, or `unknown` where told to be unknown.
    pub seed_parent: Option<String>,
    /// Full name, or `unknown` where told to be unknown.
    pub pollen_parent: Option<String>,
    /// From whom; `own` for the owner's own.
    pub source: Option<String>,
    /// When, in EDTF.
    pub acquired: Option<String>,
    /// Whether the order of the numbers in the date cannot be known.
    pub acquired_ambiguous: bool,
    /// `cutting`, `rooted_cutting`, `plant`, `seed`, `seedling` or `division`.
    pub received_as: Option<String>,
    /// Price of one plant.
    pub price: Option<Price>,
    /// Size of the pot.
    pub pot: Option<Pot>,
    /// Place as typed.
    pub place: Option<String>,
    /// `alive`, `dead`, `given_away` or `unknown`.
    pub state: String,
    /// The owner's number for the plant.
    pub tag: Option<String>,
    /// What was corrected, assumed or must be asked, as codes.
    pub problems: Vec<String>,
    /// The cells as they stood in the file.
    pub cells: Vec<String>,
    /// Remarks kept word for word.
    pub notes: Vec<String>,
    /// Parts that were corrected or filled in.
    pub corrected: Vec<Part>,
    /// How many plants the row stands for.
    pub count: u32,
    /// Ties to other rows.
    pub relations: Vec<Relation>,
    /// The same for the same row of the same list, however often it is read.
    pub fingerprint: String,
}

/// A line that did not become a row.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Skipped {
    /// 1-based row.
    pub row: u32,
    /// Sheet of a workbook.
    pub sheet: Option<String>,
    /// Why, in words.
    pub why: String,
    /// What stood there.
    pub text: String,
}

/// Something only the owner can settle, once for all its rows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Question {
    /// Stable key under which the answer is given.
    pub id: String,
    /// What is asked.
    pub ask: Ask,
    /// Positions in [`crate::Understood::rows`] the answer settles.
    pub rows: Vec<usize>,
    /// The answers that can be chosen; `leave` is always allowed besides.
    pub choices: Vec<String>,
}

/// The kinds of question.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Ask {
    /// Which comes first, day or month; choices `day_first`, `month_first`.
    DateOrder {
        /// A date it matters for, as typed.
        example: String,
    },
    /// Whose dollar; choices are currency codes.
    Currency {
        /// A price as typed.
        example: String,
    },
    /// Whether two spellings are one keeper; choices `one`, `two`.
    Keeper {
        /// The spelling kept.
        kept: String,
        /// The other spelling.
        other: String,
    },
    /// Two rows: choices `one_plant`, `one_clone`, `two_plants`.
    SamePlant {
        /// Position of the earlier row.
        first: usize,
        /// Position of the later row.
        second: usize,
    },
    /// Which genus a shortened one stands for; choices are genera.
    Genus {
        /// The genus as typed.
        typed: String,
    },
    /// Which name is meant; choices are names, any other may be typed.
    Name {
        /// The name cell as typed.
        typed: String,
    },
    /// A date that cannot stand; an EDTF date is the answer.
    Date {
        /// The date as typed.
        typed: String,
    },
}

/// Answers by the id of their question.
pub type Answers = BTreeMap<String, String>;
