//! Lists of accepted names with their native areas.
//!
//! A list comes from a table: the extract that ships with the program ([`Checklist::shipped`]), or
//! the public download of the World Checklist of Vascular Plants ([`load_table`], [`load_zip`]).
//! Reading a table hands its rows to a [`Sink`]; [`Builder`] is the sink that makes a [`Checklist`],
//! a compact image that is searched where it lies, in memory or read from a file, without a database.
//!
//! Credit: World Checklist of Vascular Plants v2, R. Govaerts (ed.), Royal Botanic Gardens, Kew,
//! state of May 2022, CC BY; areas: World Geographical Scheme for Recording Plant Distributions,
//! ed. 2, Brummitt 2001, TDWG.

mod areas;
mod build;
mod check;
mod error;
mod image;
mod load;
mod lookup;
mod zipped;

pub use areas::{Area, Areas};
pub use build::Builder;
pub use check::{NameCheck, OriginCheck, Spelling, check_name};
pub use error::{LoadError, OpenError};
pub use image::{Checklist, Entry};
pub use load::{Progress, TableKind, load_table};
pub use zipped::load_zip;

use serde::Serialize;

/// Who is to be credited where the shipped extract is shown.
pub const CREDIT: &str = "World Checklist of Vascular Plants v2, R. Govaerts (ed.), Royal Botanic \
Gardens, Kew, state of May 2022, CC BY. Areas: World Geographical Scheme for Recording Plant \
Distributions, ed. 2, Brummitt 2001, TDWG.";

/// Standing of a name in a checklist.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
#[repr(u8)]
pub enum Status {
    /// The accepted name.
    Accepted = 0,
    /// A synonym of the accepted name.
    Synonym = 1,
    /// Published against the rules.
    Illegitimate = 2,
    /// Not validly published.
    Invalid = 3,
    /// Not placed by the editors.
    Unplaced = 4,
    /// Used by authors in another sense.
    Misapplied = 5,
    /// A spelling variant.
    Orthographic = 6,
    /// A name of an artificial hybrid.
    ArtificialHybrid = 7,
    /// Another word stood in the table.
    Other = 8,
}

impl Status {
    /// Read the word of a table, whatever its capitals.
    pub fn of(word: &str) -> Self {
        match word.trim().to_lowercase().as_str() {
            "accepted" => Status::Accepted,
            "synonym" | "homotypic synonym" | "heterotypic synonym" => Status::Synonym,
            "illegitimate" => Status::Illegitimate,
            "invalid" => Status::Invalid,
            "unplaced" | "unchecked" | "provisionally accepted" => Status::Unplaced,
            "misapplied" => Status::Misapplied,
            "orthographic" => Status::Orthographic,
            "artificial hybrid" => Status::ArtificialHybrid,
            _ => Status::Other,
        }
    }

    fn from_byte(byte: u8) -> Self {
        const ALL: [Status; 9] = [
            Status::Accepted,
            Status::Synonym,
            Status::Illegitimate,
            Status::Invalid,
            Status::Unplaced,
            Status::Misapplied,
            Status::Orthographic,
            Status::ArtificialHybrid,
            Status::Other,
        ];
        ALL.get(usize::from(byte)).copied().unwrap_or(Status::Other)
    }
}

/// How a plant occurs in an area.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
#[repr(u8)]
pub enum Occurrence {
    /// Native there.
    Native = 0,
    /// Brought there.
    Introduced = 1,
    /// Was native there.
    Extinct = 2,
    /// The record is doubtful.
    Doubtful = 3,
}

impl Occurrence {
    fn from_bits(bits: u16) -> Self {
        match bits & 3 {
            0 => Occurrence::Native,
            1 => Occurrence::Introduced,
            2 => Occurrence::Extinct,
            _ => Occurrence::Doubtful,
        }
    }
}

/// One name of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NameRecord<'r> {
    /// Number of the name within its table.
    pub id: u64,
    /// The name without author, hybrid signs as in the table.
    pub name: &'r str,
    /// Its authors; may be empty.
    pub authors: &'r str,
    /// Its family; may be empty.
    pub family: &'r str,
    /// Its rank as the table calls it; may be empty.
    pub rank: &'r str,
    /// Its identifier in the International Plant Names Index; may be empty.
    pub ipni: &'r str,
    /// Its standing.
    pub status: Status,
    /// Number of the accepted name, if the table tells one.
    pub accepted: Option<u64>,
}

/// One area of one name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AreaRecord<'r> {
    /// Number of the name within its table.
    pub name_id: u64,
    /// Level-3 code of the area.
    pub area: &'r str,
    /// How the plant occurs there.
    pub occurrence: Occurrence,
}

/// Where the rows of a table go. Names and areas may come in any order.
///
/// An error ends the reading; its text is reported with the row it came from.
pub trait Sink {
    /// Take a name.
    fn name(&mut self, record: NameRecord<'_>) -> Result<(), String>;
    /// Take an area of a name.
    fn area(&mut self, record: AreaRecord<'_>) -> Result<(), String>;
}
