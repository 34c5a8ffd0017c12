//! What an individual received from each parent: how many copies, and how alike they may be.

use serde::{Deserialize, Serialize};

use crate::individual::Side;

/// The gametes that made an individual, after Hamilton & Kerr 2017 (Theor. Appl. Genet.
/// 131:851–860; formulas from memory).
///
/// The ploidy of the individual is the sum of both gametes' copies. `Gametes::default()` is a
/// diploid from two haploid gametes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Gametes {
    /// Copies of each gene in the gamete of the seed parent and of the pollen parent
    /// \[0 to [`Gametes::MOST`]\]: 1 and 1 for a diploid, 2 and 2 for a tetraploid.
    pub copies: [u8; 2],
    /// Chance that two copies in that gamete are one and the same gene of the parent, by double
    /// reduction \[0 to 1\]. Without meaning, and ignored, for gametes of fewer than two copies.
    pub double_reduction: [f64; 2],
}

impl Default for Gametes {
    fn default() -> Self {
        Gametes { copies: [1, 1], double_reduction: [0.0, 0.0] }
    }
}

impl Gametes {
    /// The most copies in one gamete.
    pub const MOST: u8 = 32;

    /// Copies of each gene in the individual.
    pub fn ploidy(&self) -> u8 {
        self.copies[0] + self.copies[1]
    }

    /// The same with 0 for what has no meaning.
    pub(crate) fn tidy(mut self) -> Self {
        for i in 0..2 {
            if self.copies[i] < 2 {
                self.double_reduction[i] = 0.0;
            }
        }
        self
    }

    /// The share of the individual that comes from this side.
    pub(crate) fn weight(&self, side: usize) -> f64 {
        f64::from(self.copies[side]) / f64::from(self.ploidy())
    }

    /// Ordered pairs of copies within that gamete, over all ordered pairs drawn with replacement.
    pub(crate) fn within(&self, side: usize) -> f64 {
        let (t, k) = (f64::from(self.copies[side]), f64::from(self.ploidy()));
        t * (t - 1.0) / (k * k)
    }

    /// What is wrong with the numbers themselves, if anything.
    pub(crate) fn fault(&self) -> Option<GameteFault> {
        if self.ploidy() == 0 {
            return Some(GameteFault::NoCopies);
        }
        for (side, i) in [(Side::Seed, 0), (Side::Pollen, 1)] {
            if self.copies[i] > Self::MOST {
                return Some(GameteFault::TooManyCopies(side, self.copies[i]));
            }
            let lambda = self.double_reduction[i];
            if !(0.0..=1.0).contains(&lambda) {
                return Some(GameteFault::DoubleReduction(side, lambda));
            }
        }
        None
    }

    /// The least double reduction of a gamete with `copies` from a parent with `ploidy`: with more
    /// copies than the parent has genes, some must be alike.
    pub(crate) fn least_double_reduction(copies: u8, ploidy: u8) -> f64 {
        let (t, k) = (f64::from(copies), f64::from(ploidy));
        if t <= k { 0.0 } else { (t - k) / (k * (t - 1.0)) }
    }
}

/// What can be wrong with gametes.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum GameteFault {
    /// Both gametes are empty.
    #[error("neither gamete has a copy; give at least one side a number of copies above 0")]
    NoCopies,
    /// More copies than any plant has.
    #[error("a {} gamete of {} copies; give at most 32", .0.word(), .1)]
    TooManyCopies(Side, u8),
    /// Not a probability.
    #[error("double reduction {} in the {} gamete; give a number from 0 to 1", .1, .0.word())]
    DoubleReduction(Side, f64),
    /// More copies than the parent has, said to be different.
    #[error(
        "a {} gamete of {copies} copies from a parent with {ploidy}; some copies must be alike, so \
         give double reduction of at least {least}, or fewer copies", .side.word()
    )]
    TooFewToDrawFrom {
        /// Which gamete.
        side: Side,
        /// Its copies.
        copies: u8,
        /// Copies of the parent.
        ploidy: u8,
        /// The least double reduction that is possible.
        least: f64,
    },
}
