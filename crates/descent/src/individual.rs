//! What is known about one plant's parents, as plain data.

use serde::{Deserialize, Serialize};

/// One row of a pedigree: a plant (or another genetic individual) and what is known of its parents.
///
/// Ids are free text and compared exactly. A parent or mother clone need not have a row of its own:
/// an id that is only mentioned is a founder.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Individual {
    /// The name by which other rows refer to this one; not blank.
    pub id: String,
    /// The plant that bore the seed.
    pub seed_parent: Parent,
    /// The plant that gave the pollen.
    pub pollen_parent: Parent,
    /// The individual of which this one is a cutting, division or other piece.
    ///
    /// A piece has the parents of its clone. If its row names parents too, they must not
    /// contradict those of the clone; where the clone's row is silent, they are used.
    pub clone_of: Option<String>,
}

impl Individual {
    /// A plant with both parents unknown.
    pub fn founder(id: impl Into<String>) -> Self {
        Individual { id: id.into(), ..Individual::default() }
    }

    /// A seedling of two known parents.
    pub fn seedling(
        id: impl Into<String>,
        seed_parent: impl Into<String>,
        pollen_parent: impl Into<String>,
    ) -> Self {
        Individual {
            id: id.into(),
            seed_parent: Parent::Known(seed_parent.into()),
            pollen_parent: Parent::Known(pollen_parent.into()),
            clone_of: None,
        }
    }

    /// A piece of another plant, of the same clone.
    pub fn piece(id: impl Into<String>, of: impl Into<String>) -> Self {
        Individual { id: id.into(), clone_of: Some(of.into()), ..Individual::default() }
    }
}

/// What is known of one parent.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Parent {
    /// This individual.
    Known(String),
    /// Nothing is known; taken as unrelated to everything and not inbred.
    #[default]
    Unknown,
    /// One of these, it is not known which, each as likely as the others. Kinship is what is to be
    /// expected over the candidates; in the shares of founders it is a gap of its own, with the
    /// candidates. An empty list is the same as unknown. Unequal chances:
    /// [`PedigreeBuilder::candidates`](crate::PedigreeBuilder::candidates).
    OneOf(Vec<String>),
}

impl Parent {
    /// A known parent, or unknown when the text is blank.
    pub fn from_cell(cell: &str) -> Self {
        let id = cell.trim();
        if id.is_empty() { Parent::Unknown } else { Parent::Known(id.to_owned()) }
    }
}

/// Which of the two parents.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// The seed parent.
    Seed,
    /// The pollen parent.
    Pollen,
}

impl Side {
    /// Both sides, in the order in which parents are written.
    pub const BOTH: [Side; 2] = [Side::Seed, Side::Pollen];

    /// "seed" or "pollen".
    pub fn word(self) -> &'static str {
        match self {
            Side::Seed => "seed",
            Side::Pollen => "pollen",
        }
    }
}
