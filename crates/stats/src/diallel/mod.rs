//! Parents crossed in all combinations: Griffing's analysis (1956, Aust. J. Biol. Sci. 9:463–493),
//! fixed model.
//!
//! The mean of a cross is μ + gᵢ + gⱼ + sᵢⱼ + rᵢⱼ: what each parent gives on the average of all its
//! crosses, what the pair adds, and what depends on which of the two bore the seed. Which entries
//! there are makes the [`Method`]. For sets with gaps there is the mixed model with one effect for
//! each parent, whichever side (`mm(a,b)` of [`crate::model`]).

mod analyse;
mod cells;
mod error;

pub use analyse::analyse;
pub use error::DiallelError;

use serde::Serialize;

/// One measured plant or plot of a cross.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The parent that bore the seed.
    pub seed_parent: String,
    /// The parent that gave the pollen.
    pub pollen_parent: String,
    /// The complete block it stood in, if there are any.
    pub block: Option<String>,
    /// What was measured.
    pub y: f64,
}

/// Which entries a set has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Parents selfed, crosses and their reciprocals: all p² entries.
    Full,
    /// Parents selfed and crosses in one direction: p(p + 1)/2.
    SelfsAndCrosses,
    /// Crosses and their reciprocals: p(p − 1).
    CrossesAndReciprocals,
    /// Crosses in one direction alone: p(p − 1)/2.
    Crosses,
}

impl Method {
    /// By Griffing's number, 1 to 4.
    pub fn number(n: u8) -> Option<Self> {
        match n {
            1 => Some(Method::Full),
            2 => Some(Method::SelfsAndCrosses),
            3 => Some(Method::CrossesAndReciprocals),
            4 => Some(Method::Crosses),
            _ => None,
        }
    }

    /// Whether parents selfed take part.
    pub fn selfs(self) -> bool {
        matches!(self, Method::Full | Method::SelfsAndCrosses)
    }

    /// Whether crosses are made both ways.
    pub fn both_ways(self) -> bool {
        matches!(self, Method::Full | Method::CrossesAndReciprocals)
    }
}

/// What a set of crosses says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Diallel {
    /// The mean of all entries (each cross counts once).
    pub mean: f64,
    /// General combining ability, in the order in which parents first appear; they sum to 0.
    pub gca: Vec<General>,
    /// Specific combining ability of each pair (for methods 1 and 2 also of each parent selfed).
    pub sca: Vec<Pair>,
    /// Half of (a as seed parent − b as seed parent); empty for methods 2 and 4.
    pub reciprocal: Vec<Pair>,
    /// Analysis of variance on entry means.
    pub anova: Vec<Source>,
    /// Replicates of an entry: their harmonic mean where they differ.
    pub replicates: f64,
    /// Whether every entry has as many replicates.
    pub balanced: bool,
    /// Whether the error is that within complete blocks.
    pub blocks: bool,
}

/// General combining ability of a parent.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct General {
    /// The parent.
    pub parent: String,
    /// The effect.
    pub effect: f64,
    /// Its standard error; none without replicates.
    pub se: Option<f64>,
}

/// The effect of a pair of parents.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pair {
    /// The parent that appears first in the records.
    pub a: String,
    /// The other.
    pub b: String,
    /// The effect.
    pub effect: f64,
    /// Its standard error; none without replicates.
    pub se: Option<f64>,
}

/// A line of the analysis of variance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Source {
    /// `gca`, `sca`, `reciprocal` or `error`.
    pub source: &'static str,
    /// Degrees of freedom.
    pub df: u64,
    /// Sum of squares, on entry means.
    pub ss: f64,
    /// Mean square; none with no degree of freedom.
    pub ms: Option<f64>,
    /// Mean square over that of the error; none without replicates.
    pub f: Option<f64>,
    /// Probability of a larger ratio if all effects were 0.
    pub p: Option<f64>,
}
