//! What can be wrong with a pedigree.

use std::fmt;

use crate::gametes::GameteFault;

/// A pedigree that no plants can have, or whose rows contradict each other.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PedigreeError {
    /// A row without an id.
    #[error("row {row}: the id is blank; give the plant an id")]
    BlankId {
        /// Row number, from 1.
        row: usize,
    },
    /// Two rows with the same id.
    #[error(
        "rows {first} and {second}: both are \"{id}\"; keep one, or give the second another id"
    )]
    Duplicate {
        /// The id.
        id: String,
        /// The earlier row, from 1.
        first: usize,
        /// The later row, from 1.
        second: usize,
    },
    /// One plant said to be a piece of two clones.
    #[error(
        "row {row}: \"{id}\" is said to be a clone of \"{first}\" and of \"{second}\"; \
         keep the one that is right, or make \"{first}\" and \"{second}\" one clone"
    )]
    CloneOfTwo {
        /// The plant.
        id: String,
        /// The first clone named.
        first: String,
        /// The second clone named.
        second: String,
        /// The row that names the second, from 1.
        row: usize,
    },
    /// Two pieces of one clone with different parents.
    #[error(
        "\"{id}\" and \"{other}\" are one clone but are given different parents \
         (\"{parent}\" and \"{other_parent}\"); correct one row, or say that they are two clones"
    )]
    PiecesDisagree {
        /// One piece.
        id: String,
        /// The parent given for it.
        parent: String,
        /// The other piece.
        other: String,
        /// The parent given for the other piece.
        other_parent: String,
    },
    /// Pieces of one clone with different gametes.
    #[error(
        "\"{id}\" and \"{other}\" are one clone but are given different gametes; correct one row, \
         or say that they are two clones"
    )]
    GametesDisagree {
        /// One piece.
        id: String,
        /// The other piece.
        other: String,
    },
    /// Numbers of copies or double reduction that cannot be.
    #[error("row {row}: \"{id}\" has {fault}")]
    Gametes {
        /// Row number, from 1.
        row: usize,
        /// The plant.
        id: String,
        /// What is wrong.
        fault: GameteFault,
    },
    /// Candidates whose weights are no weights.
    #[error(
        "row {row}: \"{parent}\" as a candidate of \"{id}\" has the weight {weight}; give a number \
         above 0"
    )]
    Weight {
        /// Row number, from 1.
        row: usize,
        /// The plant.
        id: String,
        /// The candidate.
        parent: String,
        /// Its weight.
        weight: f64,
    },
    /// More text or more ids than the numbering has room for (4 GB, one thousand million).
    #[error("the pedigree is too large; leave out what is not needed")]
    TooLarge,
    /// A plant that would be its own ancestor, or a piece of itself.
    #[error("the parentage runs in a circle: {0}; one of these links is wrong")]
    Circle(Loop),
}

/// A closed chain of links, in the order in which it is followed; the last leads back to the first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Loop(pub Vec<LoopStep>);

/// One link of a loop: `plant` has the relation `link` to `other`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LoopStep {
    /// The plant that the link starts from.
    pub plant: String,
    /// How it is linked.
    pub link: Link,
    /// The plant that the link leads to.
    pub other: String,
}

/// The kinds of link that a loop can be made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Link {
    /// `other` is the seed parent.
    SeedParent,
    /// `other` is the pollen parent.
    PollenParent,
    /// `other` may be the seed parent.
    PossibleSeedParent,
    /// `other` may be the pollen parent.
    PossiblePollenParent,
    /// The plant is a piece of `other`.
    CloneOf,
    /// The two are pieces of one clone.
    SameClone,
}

impl fmt::Display for Loop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, LoopStep { plant, link, other }) in self.0.iter().enumerate() {
            if i > 0 {
                f.write_str(", ")?;
            }
            match link {
                Link::SeedParent => write!(f, "\"{plant}\" has seed parent \"{other}\"")?,
                Link::PollenParent => write!(f, "\"{plant}\" has pollen parent \"{other}\"")?,
                Link::PossibleSeedParent => {
                    write!(f, "\"{plant}\" has possible seed parent \"{other}\"")?;
                }
                Link::PossiblePollenParent => {
                    write!(f, "\"{plant}\" has possible pollen parent \"{other}\"")?;
                }
                Link::CloneOf => write!(f, "\"{plant}\" is a clone of \"{other}\"")?,
                Link::SameClone => write!(f, "\"{plant}\" is the same clone as \"{other}\"")?,
            }
        }
        Ok(())
    }
}

/// A question about a plant that is in no row and is nobody's parent.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{id}\" is not in the pedigree; check the spelling or add a row for it")]
pub struct NoSuchIndividual {
    /// The id that was asked for.
    pub id: String,
}

/// The inverse of the relationship matrix does not exist.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error(
    "\"{id}\" adds nothing to its parents (inbreeding {inbreeding}): the relationship matrix has \
     no inverse; leave \"{id}\" out or treat it as a clone of its parent"
)]
pub struct Singular {
    /// The individual whose Mendelian variance vanishes.
    pub id: String,
    /// Its inbreeding coefficient.
    pub inbreeding: f64,
}
