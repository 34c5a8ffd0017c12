//! The exact test of counts against a ratio, for families too small for chi-square.

use serde::Serialize;

use super::{GeneticsError, Ratio};
use crate::random::Random;

/// Up to this many outcomes are gone through; beyond, outcomes are drawn.
pub const MOST_OUTCOMES: f64 = 5e7;

/// Outcomes drawn where there are too many to go through.
pub const DRAWS: u64 = 100_000;

/// An outcome counts as equally likely when its chance is within this share of the observed one's
/// (as binomial tests commonly take it), so that rounding does not decide.
const ALIKE: f64 = 1e-7;

/// An exact test.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Exact {
    /// Chance of an outcome that is no likelier than the observed one, if the ratio holds
    /// \[0 to 1\]. For two classes this is the two-sided binomial test.
    pub p: f64,
    /// How it was found.
    #[serde(flatten)]
    pub how: How,
}

/// How an exact test was made.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(tag = "by", rename_all = "snake_case")]
pub enum How {
    /// All outcomes were gone through.
    Enumeration {
        /// How many there are.
        outcomes: f64,
    },
    /// Outcomes were drawn, the observed one being counted among them.
    Draws {
        /// How many.
        draws: u64,
        /// The seed; the same seed gives the same answer.
        seed: u64,
        /// Standard error of the chance that is due to drawing.
        standard_error: f64,
    },
}

/// The chance of an outcome no likelier than the observed one: by going through all outcomes of the
/// multinomial where there are at most [`MOST_OUTCOMES`], otherwise by [`DRAWS`] draws from `seed`.
///
/// # Errors
/// Another number of counts than of parts, or no plant.
pub fn exact(observed: &[u64], ratio: &Ratio, seed: u64) -> Result<Exact, GeneticsError> {
    let plants = ratio.plants(observed)?;
    // The likeliest classes last: outcomes are cut off early by the rare ones.
    let mut classes: Vec<(f64, u64)> =
        ratio.shares().into_iter().zip(observed.iter().copied()).collect();
    classes.sort_by(|a, b| a.0.total_cmp(&b.0));
    let shares: Vec<f64> = classes.iter().map(|c| c.0).collect();
    let counts: Vec<u64> = classes.iter().map(|c| c.1).collect();
    let outcomes = outcomes(plants, shares.len());
    if outcomes <= MOST_OUTCOMES {
        let p = enumerated(&shares, &counts, plants).min(1.0);
        return Ok(Exact { p, how: How::Enumeration { outcomes } });
    }
    let p = drawn(&shares, &counts, plants, seed);
    let standard_error = (p * (1.0 - p) / DRAWS as f64).sqrt();
    Ok(Exact { p, how: How::Draws { draws: DRAWS, seed, standard_error } })
}

/// Ways to spread n plants over so many classes.
fn outcomes(plants: u64, classes: usize) -> f64 {
    (1..classes).map(|i| (plants as f64 + i as f64) / i as f64).product::<f64>().round()
}

fn ln_factorial(n: u64) -> f64 {
    puruspe::ln_gamma(n as f64 + 1.0)
}

/// Logarithm of the chance of an outcome.
fn ln_chance(shares: &[f64], counts: &[u64], plants: u64) -> f64 {
    let terms = shares.iter().zip(counts).map(|(s, k)| *k as f64 * s.ln() - ln_factorial(*k));
    ln_factorial(plants) + terms.sum::<f64>()
}

/// What stays the same while outcomes are gone through.
struct Walk<'a> {
    shares: &'a [f64],
    /// Share of this class and all later ones.
    rest: Vec<f64>,
    /// Outcomes up to this chance count.
    most: f64,
}

fn enumerated(shares: &[f64], counts: &[u64], plants: u64) -> f64 {
    let most = ln_chance(shares, counts, plants).exp() * (1.0 + ALIKE);
    let rest = (0..shares.len()).map(|i| shares[i..].iter().sum()).collect();
    Walk { shares, rest, most }.from(0, plants, ln_factorial(plants))
}

impl Walk<'_> {
    /// Chance of the outcomes that count among those that begin with the classes before `class`,
    /// of which `prefix` holds the logarithms.
    fn from(&self, class: usize, left: u64, prefix: f64) -> f64 {
        let together = (prefix + left as f64 * self.rest[class].ln() - ln_factorial(left)).exp();
        if together <= self.most {
            // None of them can be likelier than all of them.
            return together;
        }
        if class + 2 == self.shares.len() {
            return self.last_two(left, together);
        }
        let ln_share = self.shares[class].ln();
        (0..=left)
            .map(|k| self.from(class + 1, left - k, prefix + k as f64 * ln_share - ln_factorial(k)))
            .sum()
    }

    /// The last two classes share out what is left: a binomial, gone through from its top to both
    /// sides until what remains is below 1e-25 of the whole.
    fn last_two(&self, left: u64, together: f64) -> f64 {
        let share = self.shares[self.shares.len() - 2] / self.rest[self.shares.len() - 2];
        let odds = share / (1.0 - share);
        let top = (((left + 1) as f64 * share).floor() as u64).min(left);
        let pair = [share, 1.0 - share];
        let at_top = ln_chance(&pair, &[top, left - top], left).exp() * together;
        let counted = |chance: f64| if chance <= self.most { chance } else { 0.0 };
        let mut sum = counted(at_top);
        let mut chance = at_top;
        for k in top..left {
            chance *= (left - k) as f64 / (k + 1) as f64 * odds;
            if chance < 1e-25 * self.most.min(1.0) {
                break;
            }
            sum += counted(chance);
        }
        chance = at_top;
        for k in (0..top).rev() {
            chance *= (k + 1) as f64 / (left - k) as f64 / odds;
            if chance < 1e-25 * self.most.min(1.0) {
                break;
            }
            sum += counted(chance);
        }
        sum
    }
}

/// The share of drawn outcomes that are no likelier, the observed one counted among them so that
/// the answer is never 0 (Davison & Hinkley 1997, section 4.2; from memory).
fn drawn(shares: &[f64], counts: &[u64], plants: u64, seed: u64) -> f64 {
    let most = ln_chance(shares, counts, plants) + ALIKE;
    let mut random = Random::new(seed);
    let mut outcome = vec![0; shares.len()];
    let mut count = 1_u64;
    for _ in 0..DRAWS {
        let (mut left, mut rest) = (plants, 1.0);
        for (class, share) in shares.iter().enumerate() {
            let last = class + 1 == shares.len();
            let k = if last { left } else { random.binomial(left, (share / rest).clamp(0.0, 1.0)) };
            outcome[class] = k;
            left -= k;
            rest -= share;
        }
        count += u64::from(ln_chance(shares, &outcome, plants) <= most);
    }
    count as f64 / (DRAWS + 1) as f64
}
