//! What a plant is made of: shares of its founders.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use serde::{Serialize, Serializer};

use crate::error::NoSuchIndividual;
use crate::individual::Side;
use crate::pedigree::{Origin, Pedigree};

/// A founder's expected share in an individual, if each parent gave half.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// Who it is.
    pub founder: Founder,
    /// The share \[over 0 to 1\]. The shares of one individual add up to 1.
    pub share: f64,
    /// The share as an exact fraction, when its denominator is at most 2³⁰.
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
            Founder::Unknown { of, side } | Founder::OneOf { of, side, .. } => match side {
                Side::Seed => write!(f, "?{of}:seed"),
                Side::Pollen => write!(f, "?{of}:pollen"),
            },
        }
    }
}

/// An exact fraction in lowest terms, with a denominator that is a power of two up to 2³⁰.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Fraction {
    num: u32,
    log2_den: u8,
}

impl Fraction {
    /// The whole.
    pub const ONE: Fraction = Fraction { num: 1, log2_den: 0 };
    const MAX_LOG2: u8 = 30;

    /// `value` as a fraction, if it is exactly one with a denominator up to 2³⁰ \[0 to 1\].
    pub fn exactly(value: f64) -> Option<Self> {
        let scaled = value * f64::from(1u32 << Self::MAX_LOG2);
        if !(0.0..=f64::from(1u32 << Self::MAX_LOG2)).contains(&scaled) || scaled.fract() != 0.0 {
            return None;
        }
        Some(Self::lowest(scaled as u32, Self::MAX_LOG2))
    }

    /// 1/2ⁿ, for a parent (1), grandparent (2) and so on up to 30 generations.
    pub fn of_generation(n: u8) -> Option<Self> {
        (n <= Self::MAX_LOG2).then_some(Fraction { num: 1, log2_den: n })
    }

    fn lowest(num: u32, log2_den: u8) -> Self {
        if num == 0 {
            return Fraction { num: 0, log2_den: 0 };
        }
        let cut = num.trailing_zeros().min(u32::from(log2_den)) as u8;
        Fraction { num: num >> cut, log2_den: log2_den - cut }
    }

    /// Numerator.
    pub fn num(self) -> u32 {
        self.num
    }

    /// Denominator, a power of two.
    pub fn den(self) -> u32 {
        1 << self.log2_den
    }

    /// The sum, unless it is over 1. Used to add up founders that are one species.
    pub fn plus(self, other: Self) -> Option<Self> {
        let den = self.log2_den.max(other.log2_den);
        let num = (u64::from(self.num) << (den - self.log2_den))
            + (u64::from(other.num) << (den - other.log2_den));
        (num <= 1 << den).then(|| Self::lowest(num as u32, den))
    }

    /// As a decimal number, exactly.
    pub fn value(self) -> f64 {
        f64::from(self.num) / f64::from(self.den())
    }
}

impl PartialOrd for Fraction {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Fraction {
    fn cmp(&self, other: &Self) -> Ordering {
        let left = u64::from(self.num) << other.log2_den;
        left.cmp(&(u64::from(other.num) << self.log2_den))
    }
}

impl fmt::Display for Fraction {
    /// "3/8"; "1" and "0" without a denominator.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.log2_den == 0 {
            write!(f, "{}", self.num)
        } else {
            write!(f, "{}/{}", self.num, self.den())
        }
    }
}

impl Serialize for Fraction {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl Pedigree {
    /// Shares of the founders in an individual, if each parent gave half: known founders first,
    /// largest share first, then what is in doubt, then what is missing. A founder is all itself.
    ///
    /// # Errors
    /// When `id` is not in the pedigree.
    pub fn founders(&self, id: &str) -> Result<Vec<Share>, NoSuchIndividual> {
        let start = self.genet(id)?;
        // Share and longest line of descent of each ancestor not yet visited.
        let mut waiting = BTreeMap::from([(start, (1.0f64, 0u32))]);
        let mut shares = Vec::new();
        while let Some((genet, (share, length))) = waiting.pop_last() {
            let of = self.genet_id(genet);
            let node = self.at(genet);
            if node.is_founder() {
                shares.push(share_of(Founder::Known(of.to_owned()), share, length));
                continue;
            }
            for side in [Side::Seed, Side::Pollen] {
                let (half, length) = (0.5 * share, length + 1);
                let of = of.to_owned();
                let founder = match node.origin(side) {
                    Origin::Known { genet, .. } => {
                        let entry = waiting.entry(*genet).or_insert((0.0, 0));
                        entry.0 += half;
                        entry.1 = entry.1.max(length);
                        continue;
                    }
                    Origin::Unknown => Founder::Unknown { of, side },
                    Origin::OneOf(list) => Founder::OneOf {
                        of,
                        side,
                        candidates: list.iter().map(|&i| self.ids[i].clone()).collect(),
                    },
                };
                shares.push(share_of(founder, half, length));
            }
        }
        shares.sort_by(in_reading_order);
        Ok(shares)
    }

    /// Known ancestors of an individual (clones once), itself left out.
    ///
    /// # Errors
    /// When `id` is not in the pedigree.
    pub fn known_ancestors(&self, id: &str) -> Result<BTreeSet<&str>, NoSuchIndividual> {
        let start = self.genet(id)?;
        let all = self.ancestry(&[start]);
        Ok(all.into_iter().filter(|&g| g != start).map(|g| self.genet_id(g)).collect())
    }
}

/// Sums of halves are exact in double precision while no line of descent is longer than its 53
/// binary digits; beyond that a share could look like a short fraction without being one.
fn share_of(founder: Founder, share: f64, longest_line: u32) -> Share {
    let fraction = if longest_line <= 52 { Fraction::exactly(share) } else { None };
    Share { founder, share, fraction }
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
