//! Parentage: composition, kinship, inbreeding, clones.
//!
//! Plain rows in ([`Individual`], any order), plain answers out. Diploid, autosomal: each parent
//! gives half. A parent that is unknown counts as an unrelated founder and is reported as such.
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
mod error;
mod founders;
mod individual;
mod inverse;
mod kinship;
mod pedigree;
mod relation;
mod report;
mod tree;

pub use error::{Link, Loop, LoopStep, NoSuchIndividual, PedigreeError, Singular};
pub use founders::{Founder, Fraction, Share};
pub use individual::{Individual, Parent, Side};
pub use inverse::InverseEntry;
pub use pedigree::Pedigree;
pub use relation::Relation;
pub use report::{
    IndividualReport, PairReport, Report, ReportError, ReportOptions, ShareReport, report,
};
pub use tree::{Node, Tree};
