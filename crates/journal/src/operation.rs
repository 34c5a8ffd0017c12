//! Operations and the changes they hold: the form in which everything is written and exchanged.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use dates::Edtf;

use crate::{Block, Code, EntryRow, OpId, Uid};

/// What an entry, claim or statement can be about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SubjectKind {
    /// One pot, mount or tray position: what has a label.
    Plant,
    /// A stem, peduncle, umbel or flower, pod or leaf of a plant.
    Part,
    /// The genetic individual that plants are pieces of.
    Clone,
    /// A tray of seedlings or a jar of cuttings, counted as a whole.
    Batch,
    /// Seed parent × pollen parent.
    Cross,
    /// One pollination of a cross, followed to its pod.
    Pollination,
    /// Stored pollen of one clone.
    PollenLot,
    /// A spot on a shelf, sill, cabinet or bench.
    Place,
    /// A person or nursery that plants come from or go to.
    Keeper,
    /// A photo, known by the hash of its content.
    Photo,
    /// A saved way of looking at the list of plants.
    View,
    /// Something kept on the shelf for the plants: a feed, a water, a material or a mix.
    Supply,
}

impl SubjectKind {
    /// All kinds, in the order of the data description.
    pub const ALL: [Self; 12] = [
        Self::Plant,
        Self::Part,
        Self::Clone,
        Self::Batch,
        Self::Cross,
        Self::Pollination,
        Self::PollenLot,
        Self::Place,
        Self::Keeper,
        Self::Photo,
        Self::View,
        Self::Supply,
    ];

    /// The word in code, tables and files.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Plant => "plant",
            Self::Part => "part",
            Self::Clone => "clone",
            Self::Batch => "batch",
            Self::Cross => "cross",
            Self::Pollination => "pollination",
            Self::PollenLot => "pollen_lot",
            Self::Place => "place",
            Self::Keeper => "keeper",
            Self::Photo => "photo",
            Self::View => "view",
            Self::Supply => "supply",
        }
    }

    /// The kind of this word.
    #[must_use]
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|k| k.as_str() == word)
    }
}

/// How an entry came to be known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Known {
    /// Seen then, and written down at the time.
    #[default]
    Seen,
    /// Remembered later.
    Remembered,
    /// Read from a photo.
    Photo,
    /// Told by somebody else.
    Told,
}

impl Known {
    /// The word in tables and files.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Seen => "seen",
            Self::Remembered => "remembered",
            Self::Photo => "photo",
            Self::Told => "told",
        }
    }

    /// The value of this word.
    #[must_use]
    pub fn of_word(word: &str) -> Option<Self> {
        [Self::Seen, Self::Remembered, Self::Photo, Self::Told]
            .into_iter()
            .find(|k| k.as_str() == word)
    }
}

/// What is claimed about one parent of a clone or cross.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ParentClaim {
    /// Nobody has said anything.
    #[default]
    NotTold,
    /// Said to be unknown: bees, open pollination, a lost label.
    Unknown,
    /// This clone.
    Clone(Uid),
    /// One of these clones.
    OneOf(Vec<Uid>),
}

/// A new entry of the journal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NewEntry {
    /// Its identifier.
    pub uid: Uid,
    /// What it is about.
    pub subject: Uid,
    /// The kind, one of [`crate::KINDS`].
    pub kind: String,
    /// When it happened, as vague as memory is.
    pub happened: Edtf,
    /// How it is known.
    #[serde(default)]
    pub known: Known,
    /// The fields of its kind.
    #[serde(default, skip_serializing_if = "Map::is_empty")]
    pub detail: Map<String, Value>,
    /// Free words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// The entry that this one stands in place of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub replaces: Option<Uid>,
}

/// What somebody else said or wrote.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NewStatement {
    /// Its identifier.
    pub uid: Uid,
    /// What it is about.
    pub subject: Uid,
    /// The words.
    pub text: String,
    /// The keeper who said it, if known here.
    #[serde(default)]
    pub keeper: Option<Uid>,
    /// Who said it, in words.
    #[serde(default)]
    pub said_by: Option<String>,
    /// Letter, message, talk, video, book, page, label, list.
    #[serde(default)]
    pub medium: Option<String>,
    /// Address of a page or video, or title of a book.
    #[serde(default)]
    pub address: Option<String>,
    /// Page of a book, or minute of a talk.
    #[serde(default)]
    pub spot: Option<String>,
    /// When it was said.
    #[serde(default)]
    pub said_on: Option<Edtf>,
    /// How far it is trusted here: `certain`, `probable`, `claimed`, `doubted`, `refuted`.
    #[serde(default)]
    pub trust: Option<String>,
    /// The question that it answers.
    #[serde(default)]
    pub answers: Option<Uid>,
}

/// Something typed that did not fit and waits to be mended.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LeftOver {
    /// Its identifier.
    pub uid: Uid,
    /// Where it came from: a file, sheet and row, or a form.
    pub origin: String,
    /// What was typed, cell by cell.
    pub cells: Vec<String>,
    /// Why it did not fit, and what would mend it.
    pub why: String,
}

/// Up to [`Block::MOST`] readings of a logger at a place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NewSeries {
    /// Its identifier.
    pub uid: Uid,
    /// The place.
    pub subject: Uid,
    /// What the logger is called there.
    pub logger: String,
    /// The file they came from.
    pub origin: String,
    /// The readings.
    pub block: Block,
}

/// A line of a logger's file that was not taken, or not whole.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RefusedLine {
    /// Line of the file, from 1.
    pub row: u32,
    /// Why, as a word: `no_time`, `impossible`, `spike` and so on.
    pub why: String,
    /// The line as it stood there.
    pub text: String,
}

/// Lines of a logger's file that were not taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NewRefused {
    /// Its identifier.
    pub uid: Uid,
    /// The place.
    pub subject: Uid,
    /// What the logger is called there.
    pub logger: String,
    /// The file they came from.
    pub origin: String,
    /// The lines.
    pub lines: Vec<RefusedLine>,
}

/// One change. What it makes is never altered, only withdrawn.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "change", rename_all = "snake_case")]
pub enum Change {
    /// A new subject.
    Create {
        /// Its identifier.
        uid: Uid,
        /// Its kind.
        kind: SubjectKind,
        /// Its number among its kind, or within `of`; given out when it is written if left open.
        #[serde(default)]
        number: Option<i64>,
        /// Its permanent code (plants only); made from the identifier if left open.
        #[serde(default)]
        code: Option<Code>,
        /// What it belongs to: the plant of a part, the cross of a pollination or seedling batch.
        #[serde(default)]
        of: Option<Uid>,
    },
    /// A dated, doubtable statement of our own about a subject: its name, parents, clone, place in
    /// an order. The latest that is not withdrawn holds.
    Claim {
        /// Its identifier.
        uid: Uid,
        /// What it is about.
        subject: Uid,
        /// Which property.
        field: String,
        /// What is claimed.
        value: Value,
        /// Since or as of when.
        #[serde(default)]
        as_of: Option<Edtf>,
        /// On whose word.
        #[serde(default)]
        said_by: Option<String>,
        /// Why.
        #[serde(default)]
        reason: Option<String>,
        /// How it is known.
        #[serde(default)]
        known: Known,
    },
    /// A dated happening.
    Entry(NewEntry),
    /// What somebody else said or wrote.
    Statement(NewStatement),
    /// Something to ask.
    Question {
        /// Its identifier.
        uid: Uid,
        /// What it is about.
        subject: Uid,
        /// What to ask.
        text: String,
        /// Whom.
        #[serde(default)]
        keeper: Option<Uid>,
    },
    /// Something typed that did not fit.
    LeftOver(LeftOver),
    /// A row of a list that was brought in, so that the same list adds nothing twice.
    BroughtIn {
        /// The fingerprint of the row.
        fingerprint: String,
        /// What it became.
        subject: Uid,
        /// File, sheet and row.
        origin: String,
    },
    /// Readings of a logger.
    Series(NewSeries),
    /// Lines of a logger's file that were not taken.
    Refused(NewRefused),
    /// An entry, claim, statement, question, left-over row or block of readings no longer holds.
    Withdraw {
        /// What no longer holds.
        target: Uid,
        /// Why.
        #[serde(default)]
        why: Option<String>,
    },
    /// A whole operation no longer holds.
    Reverse {
        /// The operation.
        op: OpId,
    },
}

/// A set of changes made at one instant by one person on one device: all or nothing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Operation {
    /// Its identifier.
    pub id: OpId,
    /// When it was recorded \[UTC\].
    pub recorded: Timestamp,
    /// Who recorded it.
    pub who: String,
    /// On which device.
    pub device: String,
    /// What was done, as a word: `log`, `bring_in`, `rename` and so on.
    pub act: String,
    /// What it was done to, in words a reader can place: `plant 214`, `shelf-list.csv`.
    pub about: String,
    /// The changes.
    pub changes: Vec<Change>,
}

/// An operation in the making.
#[derive(Debug, Clone)]
pub struct Draft {
    operation: Operation,
}

impl Draft {
    /// Begins an operation.
    #[must_use]
    pub fn new(act: &str, about: &str, who: &str, device: &str, recorded: Timestamp) -> Self {
        Self {
            operation: Operation {
                id: Uid::new(),
                recorded,
                who: who.to_owned(),
                device: device.to_owned(),
                act: act.to_owned(),
                about: about.to_owned(),
                changes: Vec::new(),
            },
        }
    }

    /// Under an identifier that was made where the operation was begun, such as on a phone: sent
    /// twice, it counts once.
    #[must_use]
    pub fn with_id(mut self, id: OpId) -> Self {
        self.operation.id = id;
        self
    }

    /// Adds a change as it is.
    pub fn push(&mut self, change: Change) {
        self.operation.changes.push(change);
    }

    /// A new subject with the next free number.
    pub fn create(&mut self, kind: SubjectKind, of: Option<Uid>) -> Uid {
        self.create_numbered(kind, of, None)
    }

    /// A new subject with this number.
    pub fn create_numbered(
        &mut self,
        kind: SubjectKind,
        of: Option<Uid>,
        number: Option<i64>,
    ) -> Uid {
        let uid = Uid::new();
        self.push(Change::Create { uid, kind, number, code: None, of });
        uid
    }

    /// A claim of our own.
    pub fn claim(&mut self, subject: Uid, field: &str, value: Value) -> Uid {
        let uid = Uid::new();
        self.push(Change::Claim {
            uid,
            subject,
            field: field.to_owned(),
            value,
            as_of: None,
            said_by: None,
            reason: None,
            known: Known::Seen,
        });
        uid
    }

    /// An entry with fields.
    pub fn entry(
        &mut self,
        subject: Uid,
        kind: &str,
        happened: Edtf,
        known: Known,
        detail: Map<String, Value>,
        note: Option<String>,
    ) -> Uid {
        let uid = Uid::new();
        self.push(Change::Entry(NewEntry {
            uid,
            subject,
            kind: kind.to_owned(),
            happened,
            known,
            detail,
            note,
            replaces: None,
        }));
        uid
    }

    /// Says that an entry belongs to another subject: it is written there again, as it was, and
    /// taken back where it stood. Returns the identifier of the new entry.
    pub fn move_entry(&mut self, entry: EntryRow, to: Uid) -> Uid {
        let uid = Uid::new();
        self.push(Change::Entry(NewEntry {
            uid,
            subject: to,
            kind: entry.kind,
            happened: entry.happened,
            known: entry.known,
            detail: entry.detail,
            note: entry.note,
            replaces: Some(entry.uid),
        }));
        uid
    }

    /// Claims that a plant is a piece of a clone. Two clones are merged by claiming it for every
    /// piece of one of them, and one is split by claiming another clone for some of its pieces.
    pub fn belongs_to(&mut self, plant: Uid, clone: Uid, reason: Option<&str>) -> Uid {
        let uid = Uid::new();
        self.push(Change::Claim {
            uid,
            subject: plant,
            field: "clone".to_owned(),
            value: Value::String(clone.to_string()),
            as_of: None,
            said_by: None,
            reason: reason.map(str::to_owned),
            known: Known::Seen,
        });
        uid
    }

    /// How many changes it holds so far.
    #[must_use]
    pub fn len(&self) -> usize {
        self.operation.changes.len()
    }

    /// Whether it holds none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.operation.changes.is_empty()
    }

    /// Says what the operation is about, once that is known.
    pub fn about(&mut self, about: &str) {
        about.clone_into(&mut self.operation.about);
    }

    /// The finished operation.
    #[must_use]
    pub fn finish(self) -> Operation {
        self.operation
    }
}
