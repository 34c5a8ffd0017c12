//! Attempts that belong to two parents at once, and to their pair: few records, many levels, and
//! thousands of pairs to be scored from one fit.
//!
//! The logarithm of the odds of one trial is a sum of coefficients with normal beliefs, one level of
//! each crossed term, an effect of the pair and one of the batch. Coefficients and effects are held
//! as one normal distribution that lies as close as such a one can to the posterior (the variational
//! approximation of Opper & Archambeau 2009, Neural Computation 21:786–792; from memory), so that a
//! pair that never took is not put where its mode is but where its mean is. The standard deviations
//! of the terms are summed over: points drawn evenly from their beliefs, then as many where the
//! first ones weigh (an adaptive importance sum; the balance weights are of Veach & Guibas 1995,
//! from memory). Effects of pairs are eliminated, so that the work grows with the parents.

mod fit;
mod points;
mod predict;
mod row;

use super::SuccessError;
use crate::prior::{NormalPrior, SpreadPrior};

pub use fit::crossed;
pub use predict::{Joined, Mixture, mean_rate};

/// What one trial belongs to: numbers for the coefficients, a level of each term, and its pair.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Place {
    /// A number for each coefficient.
    pub x: Vec<f64>,
    /// For each term the level, counted from 0; none where it is not known or was never seen.
    pub levels: Vec<Option<usize>>,
    /// The pair, counted from 0; none for a pair that was never tried.
    pub pair: Option<usize>,
}

/// One batch of trials.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// How many succeeded.
    pub successes: u64,
    /// How many there were.
    pub trials: u64,
    /// To what they belong. Every batch has a pair.
    pub place: Place,
    /// How much the batch counts, from 0 to 1: the chance that it belongs to this model at all.
    pub counts: f64,
}

/// A crossed term: what is believed of the spread of its levels.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossedTerm {
    /// What it is called.
    pub name: String,
    /// How many levels were seen.
    pub levels: usize,
    /// What is believed of their standard deviation.
    pub spread: SpreadPrior,
}

/// What is believed before the records are seen.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossedBeliefs {
    /// Of the coefficients, on the scale of log odds.
    pub coefficients: Vec<NormalPrior>,
    /// Of the terms.
    pub terms: Vec<CrossedTerm>,
    /// How many pairs were tried.
    pub pairs: usize,
    /// Of the standard deviation between pairs.
    pub pair: SpreadPrior,
    /// Of the standard deviation between batches of one pair.
    pub batch: SpreadPrior,
}

/// The posterior of a standard deviation.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct CrossedSpread {
    /// The term; `(pair)` and `(batch)` for the last two.
    pub name: String,
    /// Mean.
    pub mean: f64,
    /// Whether it stands at the median of its belief, since fewer than five levels say nothing of
    /// a spread.
    pub fixed: bool,
}

/// A fit.
#[derive(Debug, Clone)]
pub struct Crossed {
    pub(super) points: Vec<points::Point>,
    pub(super) width: usize,
    pub(super) offsets: Vec<usize>,
    /// What was learnt of the spreads.
    pub spreads: Vec<CrossedSpread>,
    /// How many unweighted points the sum over spreads is worth.
    pub effective: f64,
    /// Largest change of a mean in the last step of any point.
    pub last_step: f64,
    /// Batches.
    pub batches: usize,
}

/// Fewer levels than this tell nothing of their spread.
pub const FEW: usize = 5;

impl CrossedBeliefs {
    /// # Errors
    /// A belief that cannot be one, counts that cannot be, or places of another shape.
    fn check(&self, tried: &[Tried]) -> Result<(), SuccessError> {
        self.coefficients.iter().try_for_each(NormalPrior::check)?;
        for spread in self.terms.iter().map(|t| &t.spread).chain([&self.pair, &self.batch]) {
            spread.check()?;
        }
        for (i, t) in tried.iter().enumerate() {
            let (row, successes, trials) = (i + 1, t.successes, t.trials);
            if successes > trials {
                return Err(SuccessError::TooManySuccesses { row, successes, trials });
            }
            let shape = t.place.x.len() == self.coefficients.len()
                && t.place.levels.len() == self.terms.len()
                && t.place.pair.is_some_and(|p| p < self.pairs)
                && t.place.x.iter().all(|x| x.is_finite())
                && (0.0..=1.0).contains(&t.counts)
                && (t.place.levels.iter().zip(&self.terms))
                    .all(|(l, term)| l.is_none_or(|l| l < term.levels));
            if !shape {
                return Err(SuccessError::Place { row });
            }
        }
        Ok(())
    }
}
