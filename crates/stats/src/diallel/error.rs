//! Why a set of crosses cannot be analysed.

/// Why a set of crosses cannot be analysed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DiallelError {
    /// Too few parents.
    #[error("{found} parents; combining abilities need at least {least} with this method")]
    FewParents {
        /// How many there are.
        found: usize,
        /// The least number.
        least: usize,
    },
    /// Entries that the method needs and that are not there.
    #[error(
        "there is no record of {names}; add them, leave out a parent, or use a mixed model with \
         mm(seed_parent,pollen_parent)"
    )]
    Missing {
        /// The first of them, with commas.
        names: String,
    },
    /// A parent selfed, where the method has none.
    #[error(
        "{parent} is selfed, and this method has crosses alone; use method 1 or 2, or leave it out"
    )]
    Selfed {
        /// The parent.
        parent: String,
    },
    /// A cross both ways, where the method has one.
    #[error(
        "{a} and {b} are crossed both ways, and this method has one; use method 1 or 3, or leave one out"
    )]
    BothWays {
        /// One parent.
        a: String,
        /// The other.
        b: String,
    },
    /// A measurement that is infinite or not a number.
    #[error("record {record}: {value} is not a finite number; correct it")]
    NotFinite {
        /// Which record, from 1.
        record: usize,
        /// Its value.
        value: f64,
    },
    /// A record without one of its parents.
    #[error("record {record} does not name both parents; fill them in, or leave the record out")]
    NoParent {
        /// Which record, from 1.
        record: usize,
    },
    /// Blocks of which one does not hold every entry exactly once.
    #[error(
        "block {block} has {found} records of {seed_parent} × {pollen_parent} where a complete block has \
         one; correct it, or analyse without blocks"
    )]
    Block {
        /// The block.
        block: String,
        /// Seed parent of the entry.
        seed_parent: String,
        /// Its pollen parent.
        pollen_parent: String,
        /// How many records it has there.
        found: usize,
    },
}
