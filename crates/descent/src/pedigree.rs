//! The pedigree itself: rows read into genetic individuals, parents before their progeny.

use std::sync::atomic::{AtomicU64, Ordering};

use crate::builder::PedigreeBuilder;
use crate::error::{NoSuchIndividual, PedigreeError};
use crate::gametes::Gametes;
use crate::individual::{Individual, Side};
use crate::lineage::Lineage;
use crate::names::{NONE, Names};

/// A checked pedigree: no loops, every plant assigned to one genetic individual (clone).
///
/// Rows may be given in any order. Plants that are pieces of one clone share everything that is
/// computed. Building takes time proportional to the number of rows and no recursion, so that a
/// hundred thousand generations in a row do not exhaust the stack.
#[derive(Debug)]
pub struct Pedigree {
    /// Every id, rows first in their order, then ids that are only mentioned.
    pub(crate) ids: Names,
    /// How many of `ids` had a row.
    pub(crate) rows: usize,
    /// For each id, its genetic individual: a node of the lineage.
    pub(crate) genet_of: Vec<u32>,
    pub(crate) lineage: Lineage,
    /// For each node the id that the clone is called by; nothing for a parent in doubt.
    pub(crate) name: Vec<u32>,
    /// For each node the ids of its parents as a row gave them (they may be pieces).
    pub(crate) named: Vec<[u32; 2]>,
    /// Bits of the inbreeding of each node, filled when first needed; for a parent in doubt, of the
    /// kinship of two candidates drawn independently.
    pub(crate) inbreeding: Vec<AtomicU64>,
}

/// No number that is ever computed has these bits.
pub(crate) const NOT_YET: u64 = u64::MAX;

/// One parent of a genetic individual.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Origin<'a> {
    /// `named` is the id as the row gave it (it may be a piece of the parent clone).
    Known {
        genet: u32,
        named: u32,
    },
    Unknown,
    /// Ids of the candidates.
    OneOf(&'a [u32]),
}

impl Origin<'_> {
    fn genet(self) -> Option<u32> {
        match self {
            Origin::Known { genet, .. } => Some(genet),
            Origin::Unknown | Origin::OneOf(_) => None,
        }
    }
}

impl Pedigree {
    /// Reads and checks rows, in any order.
    ///
    /// # Errors
    /// A blank or repeated id, a plant that is a clone of two things, pieces of one clone with
    /// different parents, or a loop (a plant that would be its own ancestor), named in full.
    pub fn new(individuals: Vec<Individual>) -> Result<Self, PedigreeError> {
        let mut rows = PedigreeBuilder::with_capacity(individuals.len(), 0);
        for individual in &individuals {
            rows.individual(individual)?;
        }
        rows.build()
    }

    /// The number of different ids, those that are only mentioned as parents included.
    pub fn len(&self) -> usize {
        self.ids.len()
    }

    /// True when there is no individual at all.
    pub fn is_empty(&self) -> bool {
        self.ids.len() == 0
    }

    /// The number of ids that had a row; they are the first of [`Pedigree::ids`].
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// The number of genetic individuals: clones count once.
    pub fn clones(&self) -> usize {
        self.lineage.len() - self.lineage.doubts()
    }

    /// All ids: those with a row in the order of the rows, then those only mentioned.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.ids.iter()
    }

    /// True when `id` has a row or is mentioned in one.
    pub fn contains(&self, id: &str) -> bool {
        self.ids.find(id).is_some()
    }

    /// The id by which the clone of `id` is known: the plant all its pieces go back to.
    ///
    /// # Errors
    /// When `id` is not in the pedigree.
    pub fn clone_id(&self, id: &str) -> Result<&str, NoSuchIndividual> {
        Ok(self.genet_id(self.genet(id)?))
    }

    /// From which gametes the clone of `id` came.
    ///
    /// # Errors
    /// When `id` is not in the pedigree.
    pub fn gametes(&self, id: &str) -> Result<Gametes, NoSuchIndividual> {
        Ok(self.lineage.gametes(self.genet(id)?))
    }

    /// Whether every individual is a diploid from two haploid gametes.
    pub fn all_diploid(&self) -> bool {
        self.lineage.all_diploid()
    }

    pub(crate) fn genet(&self, id: &str) -> Result<u32, NoSuchIndividual> {
        match self.ids.find(id) {
            Some(i) => Ok(self.genet_of[i as usize]),
            None => Err(NoSuchIndividual { id: id.to_owned() }),
        }
    }

    pub(crate) fn genet_id(&self, genet: u32) -> &str {
        match self.name[genet as usize] {
            NONE => "",
            id => self.ids.get(id),
        }
    }

    pub(crate) fn origin(&self, genet: u32, side: Side) -> Origin<'_> {
        let Some(parent) = self.lineage.parents(genet)[side as usize] else {
            // An empty gamete leaves no trace in the lineage, though its parent may be on record.
            return match self.named[genet as usize][side as usize] {
                NONE => Origin::Unknown,
                named => Origin::Known { genet: self.genet_of[named as usize], named },
            };
        };
        match self.lineage.doubt(parent) {
            Some(doubt) => Origin::OneOf(&doubt.ids),
            None => {
                Origin::Known { genet: parent, named: self.named[genet as usize][side as usize] }
            }
        }
    }

    /// Both parents that are known for certain, seed parent first.
    pub(crate) fn known_parents(&self, genet: u32) -> [Option<u32>; 2] {
        Side::BOTH.map(|side| self.origin(genet, side).genet())
    }

    /// True when nothing at all is known about the parents.
    pub(crate) fn is_founder(&self, genet: u32) -> bool {
        Side::BOTH.iter().all(|&side| self.origin(genet, side) == Origin::Unknown)
    }

    /// Inbreeding already computed; 0 if not, which callers exclude.
    pub(crate) fn f(&self, node: u32) -> f64 {
        match self.inbreeding[node as usize].load(Ordering::Relaxed) {
            NOT_YET => 0.0,
            bits => f64::from_bits(bits),
        }
    }

    pub(crate) fn has_f(&self, node: u32) -> bool {
        self.inbreeding[node as usize].load(Ordering::Relaxed) != NOT_YET
    }

    /// Another thread may write the same value meanwhile; that does no harm.
    pub(crate) fn set_f(&self, node: u32, f: f64) {
        self.inbreeding[node as usize].store(f.to_bits(), Ordering::Relaxed);
    }

    /// The part of a node's kinship with itself that its parents do not explain.
    pub(crate) fn own(&self, node: u32) -> f64 {
        self.lineage.own(node, &|g| self.f(g), || self.f(node))
    }

    pub(crate) fn self_kinship_of(&self, node: u32) -> f64 {
        self.lineage.self_kinship(node, &|g| self.f(g))
    }

    /// Whether sums along the pedigree are sums of binary fractions.
    pub(crate) fn is_plain(&self) -> bool {
        self.lineage.all_diploid() && self.lineage.doubts() == 0
    }
}
