//! Counts of kinds among seedlings: whether they fit a ratio, which of several ratios they speak for,
//! and which shares parents of known genotype give.
//!
//! | question | function |
//! |---|---|
//! | do these counts fit 3 : 1 | [`fit`], exactly [`exact`] |
//! | do several families fit it, and one another | [`families`] |
//! | with which of these ratios are they consistent | [`compare`] |
//! | how many seedlings tell two ratios apart | [`tell_apart`] |
//! | what does a duplex parent give | [`gametes`], [`Offspring::of`] |
//! | which share of the seedlings is `aabb` | [`Plant::read`], [`share_of`] |
//!
//! How many seedlings give at least so many of a kind is asked of [`crate::success::needed`].

mod apart;
mod dosage;
mod error;
mod exact;
mod families;
mod fraction;
mod hypotheses;
mod loci;
mod ratio;

pub use apart::{Apart, LARGEST_FAMILY, tell_apart};
pub use dosage::{
    Gametes, LARGEST_PLOIDY, Offspring, dosage_name, gametes, most_double_reduction, read_dosage,
};
pub use error::GeneticsError;
pub use exact::{DRAWS, Exact, How, MOST_OUTCOMES, exact};
pub use families::{Families, Family, Part, families};
pub use fraction::Fraction;
pub use hypotheses::{Hypothesis, compare};
pub use loci::{LocusShare, Plant, Wanted, share_of};
pub use ratio::{Fit, Ratio, fit};
