//! What two plants are to each other, in words a grower uses.

use std::collections::HashMap;
use std::fmt;

use crate::error::NoSuchIndividual;
use crate::individual::Side;
use crate::pedigree::Pedigree;

/// What `a` is to `b`, as far as the pedigree knows. The closest relation is given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Relation {
    /// One and the same id.
    Same,
    /// Pieces of one clone.
    SameClone,
    /// `a` is both parents of `b`.
    SelfedParent,
    /// `a` is a parent of `b`, on this side.
    Parent(Side),
    /// `a` is a seedling of `b`, selfed.
    SelfedSeedling,
    /// `a` is a seedling of `b`, which was the parent on this side.
    Seedling(Side),
    /// Both parents in common.
    FullSibs,
    /// One parent in common.
    HalfSibs,
    /// `a` is an ancestor of `b`, this many generations up by the shortest line (2 or more).
    Ancestor(u32),
    /// `a` is a descendant of `b`, this many generations down by the shortest line (2 or more).
    Descendant(u32),
    /// They share an ancestor further back.
    Related,
    /// No common ancestor on record; with gaps in the pedigree they may still be related.
    NotKnownToBeRelated,
}

impl fmt::Display for Relation {
    /// English words for the place of `a` in "a is … b".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Relation::Same => "the same plant as",
            Relation::SameClone => "the same clone as",
            Relation::SelfedParent => "both parents of",
            Relation::Parent(Side::Seed) => "the seed parent of",
            Relation::Parent(Side::Pollen) => "the pollen parent of",
            Relation::SelfedSeedling => "a selfed seedling of",
            Relation::Seedling(_) => "a seedling of",
            Relation::FullSibs => "a full sib of",
            Relation::HalfSibs => "a half sib of",
            Relation::Ancestor(2) => "a grandparent of",
            Relation::Ancestor(n) => return write!(f, "an ancestor, {n} generations up, of"),
            Relation::Descendant(2) => "a grandchild of",
            Relation::Descendant(n) => {
                return write!(f, "a descendant, {n} generations down, of");
            }
            Relation::Related => "related to",
            Relation::NotKnownToBeRelated => "not known to be related to",
        })
    }
}

impl Pedigree {
    /// What `a` is to `b`, by parents that are known for certain.
    ///
    /// # Errors
    /// When one of them is not in the pedigree.
    pub fn relation(&self, a: &str, b: &str) -> Result<Relation, NoSuchIndividual> {
        let (x, y) = (self.genet(a)?, self.genet(b)?);
        if x == y {
            return Ok(if a == b { Relation::Same } else { Relation::SameClone });
        }
        let (of_x, of_y) = (self.known_parents(x), self.known_parents(y));
        if let Some(side) = sides(of_y, x) {
            return Ok(side.map_or(Relation::SelfedParent, Relation::Parent));
        }
        if let Some(side) = sides(of_x, y) {
            return Ok(side.map_or(Relation::SelfedSeedling, Relation::Seedling));
        }
        Ok(self.sibs(of_x, of_y).unwrap_or_else(|| self.distant(x, y)))
    }

    fn sibs(&self, of_x: [Option<u32>; 2], of_y: [Option<u32>; 2]) -> Option<Relation> {
        let crossed = [of_y[1], of_y[0]];
        let all_known = of_x.iter().chain(&of_y).all(Option::is_some);
        if all_known && (of_x == of_y || of_x == crossed) {
            return Some(Relation::FullSibs);
        }
        let common = of_x.into_iter().flatten().any(|p| of_y.contains(&Some(p)));
        common.then_some(Relation::HalfSibs)
    }

    fn distant(&self, x: u32, y: u32) -> Relation {
        let (above_x, above_y) = (self.generations_up(x), self.generations_up(y));
        if let Some(&n) = above_y.get(&x) {
            return Relation::Ancestor(n);
        }
        if let Some(&n) = above_x.get(&y) {
            return Relation::Descendant(n);
        }
        if above_x.keys().any(|g| above_y.contains_key(g)) {
            Relation::Related
        } else {
            Relation::NotKnownToBeRelated
        }
    }

    /// Each ancestor with the length of the shortest line to it.
    pub(crate) fn generations_up(&self, genet: u32) -> HashMap<u32, u32> {
        let mut found = HashMap::from([(genet, 0)]);
        let mut here = vec![genet];
        let mut n = 0;
        while !here.is_empty() {
            n += 1;
            let mut above = Vec::new();
            for parent in here.iter().flat_map(|&g| self.known_parents(g)).flatten() {
                found.entry(parent).or_insert_with(|| {
                    above.push(parent);
                    n
                });
            }
            here = above;
        }
        found
    }
}

/// On which side `who` is among the parents: `Some(None)` for both.
fn sides(parents: [Option<u32>; 2], who: u32) -> Option<Option<Side>> {
    match parents.map(|p| p == Some(who)) {
        [true, true] => Some(None),
        [true, false] => Some(Some(Side::Seed)),
        [false, true] => Some(Some(Side::Pollen)),
        [false, false] => None,
    }
}
