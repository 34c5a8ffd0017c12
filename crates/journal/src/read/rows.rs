//! What comes back from the record.

use rusqlite::Row;
use serde::Serialize;
use serde_json::{Map, Value};

use dates::Edtf;

use crate::{Known, ParentClaim, SubjectKind, Uid};

/// A page of a longer list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PageOf<T> {
    /// The rows of this page.
    pub rows: Vec<T>,
    /// How many rows the whole list has.
    pub total: i64,
}

/// One plant, as lists show it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlantRow {
    /// Row in the file; not for exchange.
    #[serde(skip)]
    pub id: i64,
    /// Its identifier.
    pub uid: Uid,
    /// Its number.
    pub number: i64,
    /// Its permanent code.
    pub code: String,
    /// Row of its clone.
    #[serde(skip)]
    pub clone: i64,
    /// What it is believed to be; empty when nobody has said.
    pub name: String,
    /// Genus, or empty.
    pub genus: String,
    /// Names of its parents in words, or empty.
    pub parents: String,
    /// Row of its place.
    #[serde(skip)]
    pub place_id: Option<i64>,
    /// Where it stands, or empty.
    pub place: String,
    /// Row of the keeper it came from.
    #[serde(skip)]
    pub keeper_id: Option<i64>,
    /// Whom it came from, or empty.
    pub keeper: String,
    /// Whether it was raised here.
    pub own: bool,
    /// `alive`, `dead`, `gone` or `unknown`.
    pub state: String,
    /// When it came.
    pub came: Option<Edtf>,
    /// As what it came.
    pub received_as: Option<String>,
    /// The keeper's own tag, or empty.
    pub tag: String,
    /// Its pot as typed, or empty.
    pub pot: String,
    /// Day of the latest entry \[days since 1970-01-01\].
    pub last_day: Option<i64>,
    /// How many entries it has.
    pub entries: i64,
}

pub(super) const PLANT_COLUMNS: &str = "p.id, s.uid, p.number, p.code, p.clone, p.name, p.genus, p.parents, p.place, p.place_name, p.keeper, p.keeper_name, p.own, p.state, p.came, p.received_as, p.tag, p.pot, p.last_day, p.entries";

pub(super) fn plant(r: &Row<'_>) -> rusqlite::Result<PlantRow> {
    Ok(PlantRow {
        id: r.get(0)?,
        uid: r.get(1)?,
        number: r.get(2)?,
        code: r.get(3)?,
        clone: r.get(4)?,
        name: r.get(5)?,
        genus: r.get(6)?,
        parents: r.get(7)?,
        place_id: r.get(8)?,
        place: r.get(9)?,
        keeper_id: r.get(10)?,
        keeper: r.get(11)?,
        own: r.get(12)?,
        state: r.get(13)?,
        came: edtf(r.get(14)?),
        received_as: r.get(15)?,
        tag: r.get(16)?,
        pot: r.get(17)?,
        last_day: r.get(18)?,
        entries: r.get(19)?,
    })
}

fn edtf(text: Option<String>) -> Option<Edtf> {
    text.and_then(|t| Edtf::parse(&t).ok())
}

/// Which plants a list shows. All conditions must hold.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PlantFilter {
    /// Words to be found.
    pub words: Option<String>,
    /// Genus.
    pub genus: Option<String>,
    /// Number of the place.
    pub place: Option<i64>,
    /// Number of the keeper they came from.
    pub keeper: Option<i64>,
    /// `alive`, `dead`, `gone`, `unknown`; none for every state.
    pub state: Option<String>,
    /// `cutting`, `seed` and so on.
    pub received_as: Option<String>,
    /// Number of the clone.
    pub clone: Option<i64>,
    /// Only plants raised here, or only others.
    pub own: Option<bool>,
    /// Only these plant numbers.
    pub numbers: Vec<i64>,
    /// Only plants without a name, origin date, parents, or place.
    pub missing: Option<String>,
}

/// In which order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum PlantSort {
    /// By name.
    #[default]
    Name,
    /// By number.
    Number,
    /// Newest arrival first.
    Came,
    /// Latest entry first.
    Last,
    /// By place, then name.
    Place,
    /// By keeper, then name.
    Keeper,
}

impl PlantSort {
    /// The order of this word, `name` if there is none.
    #[must_use]
    pub fn of_word(word: &str) -> Self {
        match word {
            "number" => Self::Number,
            "came" => Self::Came,
            "last" => Self::Last,
            "place" => Self::Place,
            "keeper" => Self::Keeper,
            _ => Self::Name,
        }
    }

    /// The word in an address.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Name => "name",
            Self::Number => "number",
            Self::Came => "came",
            Self::Last => "last",
            Self::Place => "place",
            Self::Keeper => "keeper",
        }
    }
}

/// One clone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CloneRow {
    /// Row in the file.
    #[serde(skip)]
    pub id: i64,
    /// Its identifier.
    pub uid: Uid,
    /// Its number.
    pub number: i64,
    /// What it is believed to be, or empty.
    pub name: String,
    /// Genus, or empty.
    pub genus: String,
    /// Its seed parent.
    pub seed: ParentClaim,
    /// Its pollen parent.
    pub pollen: ParentClaim,
    /// Row of the cross that it is a seedling of.
    #[serde(skip)]
    pub crossing: Option<i64>,
    /// Its number among the seedlings of that cross.
    pub seedling: Option<i64>,
    /// How many living plants here are pieces of it.
    pub pieces: i64,
}

/// One clone of the pedigree.
#[derive(Debug, Clone, PartialEq)]
pub struct PedigreeRow {
    /// Its identifier.
    pub uid: Uid,
    /// Its name, or empty.
    pub name: String,
    /// Its seed parent.
    pub seed: ParentClaim,
    /// Its pollen parent.
    pub pollen: ParentClaim,
}

/// One claim.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClaimRow {
    /// Its identifier.
    pub uid: Uid,
    /// The property.
    pub field: String,
    /// What is claimed.
    pub value: Value,
    /// Since or as of when.
    pub as_of: Option<Edtf>,
    /// On whose word.
    pub said_by: Option<String>,
    /// Why.
    pub reason: Option<String>,
    /// How it is known.
    pub known: Known,
    /// Whether it still holds.
    pub live: bool,
    /// When it was recorded \[ms since 1970 UTC\].
    pub recorded: i64,
    /// Who recorded it.
    pub who: String,
}

/// One entry.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EntryRow {
    /// Its identifier.
    pub uid: Uid,
    /// What it is about.
    pub subject: Uid,
    /// The kind of subject.
    pub subject_kind: SubjectKind,
    /// The number of the subject.
    pub subject_number: i64,
    /// The plant it belongs to, if any.
    pub plant: Option<i64>,
    /// Its kind.
    pub kind: String,
    /// When it happened.
    pub happened: Edtf,
    /// First possible day \[days since 1970-01-01\].
    pub day_from: Option<i64>,
    /// Last possible day \[days since 1970-01-01\].
    pub day_to: Option<i64>,
    /// How it is known.
    pub known: Known,
    /// The fields of its kind.
    pub detail: Map<String, Value>,
    /// Free words.
    pub note: Option<String>,
    /// Whether it still holds.
    pub live: bool,
    /// Why it was withdrawn, if it was and somebody said.
    pub withdrawn_why: Option<String>,
    /// The operation that wrote it.
    pub op: Uid,
    /// When it was recorded \[ms since 1970 UTC\].
    pub recorded: i64,
    /// Who recorded it.
    pub who: String,
}

/// One statement by somebody else.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StatementRow {
    /// Its identifier.
    pub uid: Uid,
    /// What it is about.
    pub subject: Uid,
    /// The words.
    pub text: String,
    /// The keeper's name, or who said it in words.
    pub said_by: String,
    /// Letter, message, talk, video, book, page, label, list.
    pub medium: Option<String>,
    /// Address or title.
    pub address: Option<String>,
    /// Page or minute.
    pub spot: Option<String>,
    /// When it was said.
    pub said_on: Option<Edtf>,
    /// How far it is trusted.
    pub trust: Option<String>,
    /// The question it answers.
    pub answers: Option<Uid>,
    /// Whether it still holds.
    pub live: bool,
    /// When it was recorded \[ms since 1970 UTC\].
    pub recorded: i64,
}

/// One question to ask.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct QuestionRow {
    /// Its identifier.
    pub uid: Uid,
    /// What it is about.
    pub subject: Uid,
    /// The kind of subject.
    pub subject_kind: SubjectKind,
    /// The number of the subject.
    pub subject_number: i64,
    /// The name of the plant or clone it is about, or empty.
    pub about: String,
    /// What to ask.
    pub text: String,
    /// Whom, or empty.
    pub keeper: String,
    /// Whether it was answered.
    pub answered: bool,
    /// When it was recorded \[ms since 1970 UTC\].
    pub recorded: i64,
}

/// One keeper.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeeperRow {
    /// Row in the file.
    #[serde(skip)]
    pub id: i64,
    /// Its identifier.
    pub uid: Uid,
    /// Its number.
    pub number: i64,
    /// The name.
    pub name: String,
    /// How many plants here came from them.
    pub plants: i64,
}

/// One place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlaceRow {
    /// Row in the file.
    #[serde(skip)]
    pub id: i64,
    /// Its identifier.
    pub uid: Uid,
    /// Its number.
    pub number: i64,
    /// The name.
    pub name: String,
    /// Its position in walking order.
    pub order: f64,
    /// How many living plants stand there.
    pub plants: i64,
}

/// One cross.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CrossRow {
    /// Row in the file.
    #[serde(skip)]
    pub id: i64,
    /// Its identifier.
    pub uid: Uid,
    /// Its number.
    pub number: i64,
    /// Its seed parent.
    pub seed: ParentClaim,
    /// Its pollen parent.
    pub pollen: ParentClaim,
    /// How many seedlings with a number of their own it has.
    pub seedlings: i64,
}

/// One part of a plant.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PartRow {
    /// Its identifier.
    pub uid: Uid,
    /// Its number within the plant.
    pub number: i64,
    /// Stem, umbel, flower and so on, or empty.
    pub what: String,
    /// Its own name, or empty.
    pub name: String,
}

/// Something that left the import or a form and waits to be mended.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeftOverRow {
    /// Its identifier.
    pub uid: Uid,
    /// File, sheet and row, or a form.
    pub origin: String,
    /// What was typed.
    pub cells: Vec<String>,
    /// Why it did not fit.
    pub why: String,
    /// When it was recorded \[ms since 1970 UTC\].
    pub recorded: i64,
}

/// A photo.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PhotoRow {
    /// Its identifier.
    pub uid: Uid,
    /// SHA-256 of its content, in hexadecimal.
    pub hash: String,
    /// `jpg`, `png` or `webp`.
    pub ending: String,
    /// Who took it, or empty.
    pub credit: String,
    /// Whether it may be shown to others.
    pub may_show: bool,
    /// When it was taken or filed.
    pub happened: Option<Edtf>,
    /// Words under it.
    pub note: Option<String>,
}

/// A saved view of the list of plants.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ViewRow {
    /// Its identifier.
    pub uid: Uid,
    /// Its name.
    pub name: String,
    /// The address part after the question mark.
    pub query: String,
}

/// Any subject.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SubjectRow {
    /// Row in the file.
    #[serde(skip)]
    pub id: i64,
    /// Its identifier.
    pub uid: Uid,
    /// Its kind.
    pub kind: SubjectKind,
    /// Its number.
    pub number: i64,
    /// What it belongs to.
    #[serde(skip)]
    pub of: Option<i64>,
    /// Whether it holds.
    pub live: bool,
}

/// One operation.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OperationRow {
    /// Its identifier.
    pub uid: Uid,
    /// When it was recorded \[ms since 1970 UTC\].
    pub recorded: i64,
    /// Who recorded it.
    pub who: String,
    /// On which device.
    pub device: String,
    /// What was done.
    pub act: String,
    /// To what.
    pub about: String,
    /// Whether it holds.
    pub live: bool,
}

pub(super) fn operation(r: &Row<'_>) -> rusqlite::Result<OperationRow> {
    Ok(OperationRow {
        uid: r.get(0)?,
        recorded: r.get(1)?,
        who: r.get(2)?,
        device: r.get(3)?,
        act: r.get(4)?,
        about: r.get(5)?,
        live: r.get(6)?,
    })
}

/// One line in the history of a subject.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HistoryRow {
    /// The operation.
    pub operation: OperationRow,
    /// `created`, `claim`, `entry`, `statement`, `question`, `withdrawn`.
    pub what: String,
    /// The property or the kind of entry.
    pub field: String,
    /// What was written, as kept.
    pub value: String,
    /// Whether it holds.
    pub live: bool,
}

pub(super) fn known(word: &str) -> Known {
    Known::of_word(word).unwrap_or_default()
}

pub(super) fn parse_edtf(text: Option<String>) -> Option<Edtf> {
    edtf(text)
}
