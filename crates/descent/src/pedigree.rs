//! The pedigree itself: rows read into genetic individuals, parents before their progeny.

use std::collections::HashMap;
use std::sync::OnceLock;

use crate::build;
use crate::error::{NoSuchIndividual, PedigreeError};
use crate::individual::{Individual, Side};

/// A checked pedigree: no loops, every plant assigned to one genetic individual (clone).
///
/// Rows may be given in any order. Plants that are pieces of one clone share everything that is
/// computed. Building takes time proportional to the number of rows and no recursion, so that a
/// hundred thousand generations in a row do not exhaust the stack.
#[derive(Debug)]
pub struct Pedigree {
    /// Every id, rows first in their order, then ids that are only mentioned.
    pub(crate) ids: Vec<String>,
    /// How many of `ids` had a row.
    pub(crate) rows: usize,
    pub(crate) index: HashMap<String, usize>,
    /// For each id, its genetic individual.
    pub(crate) genet_of: Vec<u32>,
    /// The genetic individuals, parents before progeny.
    pub(crate) genets: Vec<Genet>,
    /// Inbreeding of each genetic individual, filled when first needed.
    pub(crate) inbreeding: Vec<OnceLock<f64>>,
}

/// One genetic individual.
#[derive(Debug, Clone)]
pub(crate) struct Genet {
    /// Index into `ids` of the plant that the clone is called by.
    pub id: usize,
    pub seed: Origin,
    pub pollen: Origin,
}

/// One parent of a genetic individual.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Origin {
    /// `named` is the id as the row gave it (it may be a piece of the parent clone).
    Known {
        genet: u32,
        named: usize,
    },
    Unknown,
    /// Ids of the candidates.
    OneOf(Vec<usize>),
}

impl Origin {
    pub fn genet(&self) -> Option<u32> {
        match self {
            Origin::Known { genet, .. } => Some(*genet),
            Origin::Unknown | Origin::OneOf(_) => None,
        }
    }
}

impl Genet {
    /// Both parents' genetic individuals, seed parent first.
    pub fn parents(&self) -> [Option<u32>; 2] {
        [self.seed.genet(), self.pollen.genet()]
    }

    pub fn origin(&self, side: Side) -> &Origin {
        match side {
            Side::Seed => &self.seed,
            Side::Pollen => &self.pollen,
        }
    }

    /// True when nothing at all is known about the parents.
    pub fn is_founder(&self) -> bool {
        self.seed == Origin::Unknown && self.pollen == Origin::Unknown
    }
}

impl Pedigree {
    /// Reads and checks rows, in any order.
    ///
    /// # Errors
    /// A blank or repeated id, a plant that is a clone of two things, pieces of one clone with
    /// different parents, or a loop (a plant that would be its own ancestor), named in full.
    pub fn new(individuals: Vec<Individual>) -> Result<Self, PedigreeError> {
        build::build(individuals)
    }

    /// The number of different ids, those that are only mentioned as parents included.
    pub fn len(&self) -> usize {
        self.ids.len()
    }

    /// True when there is no individual at all.
    pub fn is_empty(&self) -> bool {
        self.ids.is_empty()
    }

    /// The number of genetic individuals: clones count once.
    pub fn clones(&self) -> usize {
        self.genets.len()
    }

    /// All ids: those with a row in the order of the rows, then those only mentioned.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.ids.iter().map(String::as_str)
    }

    /// True when `id` has a row or is mentioned in one.
    pub fn contains(&self, id: &str) -> bool {
        self.index.contains_key(id)
    }

    /// The id by which the clone of `id` is known: the plant all its pieces go back to.
    ///
    /// # Errors
    /// When `id` is not in the pedigree.
    pub fn clone_id(&self, id: &str) -> Result<&str, NoSuchIndividual> {
        Ok(self.genet_id(self.genet(id)?))
    }

    pub(crate) fn genet(&self, id: &str) -> Result<u32, NoSuchIndividual> {
        match self.index.get(id) {
            Some(&i) => Ok(self.genet_of[i]),
            None => Err(NoSuchIndividual { id: id.to_owned() }),
        }
    }

    pub(crate) fn at(&self, genet: u32) -> &Genet {
        &self.genets[genet as usize]
    }

    pub(crate) fn genet_id(&self, genet: u32) -> &str {
        &self.ids[self.at(genet).id]
    }
}
