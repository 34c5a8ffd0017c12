//! Parentage: composition, kinship, inbreeding, clones.
//!
//! Plain rows in ([`Individual`] or [`PedigreeBuilder`], any order), plain answers out. Autosomal;
//! diploid unless a row says from which [`Gametes`] it came. A parent that is unknown counts as an
//! unrelated founder and is reported as such; one of several is expected by its weights.
//!
//! ```
//! use descent::{Individual, Pedigree};
//!
//! let pedigree = Pedigree::new(vec![
//!     Individual::seedling("Fen Candle", "Low Lantern", "Marl Evening"),
//!     Individual::seedling("Marl Evening", "Low Lantern", "Grey Ferry"),
//! ])?;
//! assert_eq!(pedigree.inbreeding("Fen Candle")?, 0.25);
//! let shares = pedigree.founders("Fen Candle")?;
//! assert_eq!(shares[0].founder.to_string(), "Low Lantern");
//! assert_eq!(shares[0].fraction.map(|f| f.to_string()).as_deref(), Some("3/4"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod build;
mod builder;
mod column;
mod common;
mod diversity;
mod drop;
mod error;
mod founders;
mod fraction;
mod front;
mod gametes;
mod individual;
mod inverse;
mod kinship;
mod lineage;
mod loops;
mod names;
mod order;
mod pedigree;
mod relation;
mod report;
mod schedule;
mod tree;
mod walk;

pub use builder::PedigreeBuilder;
pub use common::CommonAncestor;
pub use diversity::{
    Contribution, Diversity, DiversityError, Draws, effective_founders, genome_equivalents,
};
pub use drop::CannotBeDrawn;
pub use error::{Link, Loop, LoopStep, NoSuchIndividual, PedigreeError, Singular};
pub use founders::{Founder, Share};
pub use fraction::Fraction;
pub use gametes::{GameteFault, Gametes};
pub use individual::{Individual, Parent, Side};
pub use inverse::InverseEntry;
pub use pedigree::Pedigree;
pub use relation::Relation;
pub use report::{
    CommonReport, IndividualReport, PairReport, Report, ReportError, ReportOptions, ShareReport,
    report,
};
pub use tree::{Node, Tree};
