//! What a plant is made of: shares of its founders.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use crate::error::NoSuchIndividual;
use crate::fraction::{Fraction, Sum};
use crate::individual::Side;
use crate::pedigree::{Origin, Pedigree};

/// A founder's expected share in an individual, if each parent gave what its gamete held: half, in a
/// diploid.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// Who it is.
    pub founder: Founder,
    /// The share \[over 0 to 1\]. The shares of one individual add up to 1.
    pub share: f64,
    /// The share as an exact fraction, when it is known and its denominator is at most 2³⁰.
    pub fraction: Option<Fraction>,
}

/// Where a line of descent ends.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Founder {
    /// An individual about whose parents nothing is known.
    Known(String),
    /// The missing parent of an individual whose other parent is on record.
    Unknown {
        /// The individual.
        of: String,
        /// Which of its parents is missing.
        side: Side,
    },
    /// A parent known only to be one of several.
    OneOf {
        /// The individual.
        of: String,
        /// Which of its parents is in doubt.
        side: Side,
        /// The candidates.
        candidates: Vec<String>,
    },
}

impl fmt::Display for Founder {
    /// The id, or `?id:seed`, `?id:pollen` for a parent that is missing or in doubt.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Founder::Known(id) => f.write_str(id),
            Founder::Unknown { of, side } | Founder::OneOf { of, side, .. } => {
                write!(f, "?{of}:{}", side.word())
            }
        }
    }
}

/// What has been added up for one ancestor or founder.
#[derive(Clone, Copy)]
struct Part {
    share: f64,
    /// Kept for pedigrees whose shares are no binary fractions.
    exact: Option<Sum>,
    /// The longest line of descent.
    length: u32,
}

impl Pedigree {
    /// Shares of the founders in an individual: known founders first, largest share first, then what
    /// is in doubt, then what is missing. A founder is all itself.
    ///
    /// # Errors
    /// When `id` is not in the pedigree.
    pub fn founders(&self, id: &str) -> Result<Vec<Share>, NoSuchIndividual> {
        let start = self.genet(id)?;
        let exact = (!self.lineage.all_diploid()).then_some(Sum::ALL);
        // Ancestors not yet visited.
        let mut waiting = BTreeMap::from([(start, Part { share: 1.0, exact, length: 0 })]);
        let mut shares = Vec::new();
        while let Some((genet, part)) = waiting.pop_last() {
            let of = self.genet_id(genet);
            if self.is_founder(genet) {
                shares.push(share_of(Founder::Known(of.to_owned()), part));
                continue;
            }
            let gametes = self.lineage.gametes(genet);
            for side in Side::BOTH {
                let copies = gametes.copies[side as usize];
                if copies == 0 {
                    continue;
                }
                let part = Part {
                    share: gametes.weight(side as usize) * part.share,
                    exact: part.exact.map(|e| e.times(copies, gametes.ploidy())),
                    length: part.length + 1,
                };
                let of = of.to_owned();
                let founder = match self.origin(genet, side) {
                    Origin::Known { genet, .. } => {
                        let nothing =
                            Part { share: 0.0, exact: exact.map(|_| Sum::NOTHING), length: 0 };
                        let sum = waiting.entry(genet).or_insert(nothing);
                        sum.share += part.share;
                        sum.exact = sum.exact.zip(part.exact).map(|(a, b)| a.plus(b));
                        sum.length = sum.length.max(part.length);
                        continue;
                    }
                    Origin::Unknown => Founder::Unknown { of, side },
                    Origin::OneOf(list) => Founder::OneOf {
                        of,
                        side,
                        candidates: list.iter().map(|&i| self.ids.get(i).to_owned()).collect(),
                    },
                };
                shares.push(share_of(founder, part));
            }
        }
        shares.sort_by(in_reading_order);
        Ok(shares)
    }

    /// Ancestors of an individual that are known for certain (clones once), itself left out.
    ///
    /// # Errors
    /// When `id` is not in the pedigree.
    pub fn known_ancestors(&self, id: &str) -> Result<BTreeSet<&str>, NoSuchIndividual> {
        let start = self.genet(id)?;
        let all = self.known_ancestry(start);
        Ok(all.into_iter().filter(|&g| g != start).map(|g| self.genet_id(g)).collect())
    }

    /// An individual and its ancestors that are known for certain.
    pub(crate) fn known_ancestry(&self, of: u32) -> Vec<u32> {
        let mut waiting = BTreeSet::from([of]);
        let mut found = Vec::new();
        while let Some(genet) = waiting.pop_last() {
            found.push(genet);
            waiting.extend(self.known_parents(genet).into_iter().flatten());
        }
        found
    }
}

/// Sums of halves are exact in double precision while no line of descent is longer than its 53
/// binary digits; beyond that a share could look like a short fraction without being one.
fn share_of(founder: Founder, part: Part) -> Share {
    let fraction = match part.exact {
        Some(exact) => exact.fraction(),
        None if part.length <= 52 => Fraction::exactly(part.share),
        None => None,
    };
    Share { founder, share: part.share, fraction }
}

fn in_reading_order(a: &Share, b: &Share) -> Ordering {
    let class = |s: &Share| match s.founder {
        Founder::Known(_) => 0,
        Founder::OneOf { .. } => 1,
        Founder::Unknown { .. } => 2,
    };
    (class(a).cmp(&class(b)))
        .then(b.share.total_cmp(&a.share))
        .then_with(|| a.founder.cmp(&b.founder))
}
