//! Chains of stages: flowers pollinated, pods, full seed, seedlings, first flowers.

use serde::Serialize;

use super::counts::RateKnown;
use crate::random::Random;

/// One stage: of what enters it, a share goes on; of each that goes on, so many come out.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    /// What comes out of it.
    pub name: String,
    /// The share that goes on.
    pub rate: RateKnown,
    /// How alike the fates within one batch are \[0 to below 1\]; the whole stage is one batch.
    pub rho: f64,
    /// How many come out of each that goes on; for a pod, its seed.
    pub yields: Yield,
}

/// How many come out of one that goes on.
#[derive(Debug, Clone, PartialEq)]
pub enum Yield {
    /// One: a seed becomes a seedling.
    One,
    /// As many as one of these, drawn with replacement: the seed counts of earlier pods.
    OneOf(Vec<u64>),
}

/// What was found for one stage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StageCount {
    /// What comes out of it.
    pub name: String,
    /// Mean count.
    pub mean: f64,
    /// Lower end of the interval.
    pub lower: u64,
    /// Middle.
    pub median: u64,
    /// Upper end.
    pub upper: u64,
    /// Chance of none at all.
    pub none: f64,
}

/// A chain followed from its start.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Chain {
    /// Each stage in turn.
    pub stages: Vec<StageCount>,
    /// Chance of at least as many at the end as were asked for.
    pub at_least: f64,
    /// Standard error of that chance, from the number of draws.
    pub at_least_se: f64,
    /// How many draws.
    pub draws: usize,
    /// The seed of the draws.
    pub seed: u64,
}

/// Why a chain cannot be followed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ChainError {
    /// No stage.
    #[error("a chain needs at least one stage")]
    Empty,
    /// A stage whose numbers cannot be used.
    #[error("stage “{stage}”: {problem}")]
    Stage {
        /// The stage.
        stage: String,
        /// What is wrong, and what to do.
        problem: String,
    },
    /// A confidence that is none.
    #[error("confidence {0}: expected a number between 0 and 1, such as 0.8")]
    Confidence(f64),
    /// No number up to the limit reaches the chance.
    #[error(
        "even {limit} to start with give at least {wanted} with a chance of {chance:.3} only; \
         ask for fewer or for a smaller chance"
    )]
    OutOfReach {
        /// The largest number tried.
        limit: u64,
        /// Wanted at the end.
        wanted: u64,
        /// The chance reached.
        chance: f64,
    },
}

/// Draws for one answer: the standard error of a chance is at most 0.004.
const DRAWS: usize = 20_000;

/// Follows a chain from `start`, by drawing with a fixed seed.
///
/// A rate that is a beta distribution is drawn once for each draw of the chain: it is one and the
/// same unknown rate for all that enter the stage.
///
/// # Errors
/// Stages that cannot be used.
pub fn follow(
    stages: &[Stage],
    start: u64,
    wanted: u64,
    confidence: f64,
    seed: u64,
) -> Result<Chain, ChainError> {
    let drawn = draw(stages, start, confidence, seed)?;
    let last = drawn.last().ok_or(ChainError::Empty)?;
    let at_least = share_from(last, wanted);
    let found = stages.iter().zip(&drawn).map(|(stage, counts)| summary(stage, counts, confidence));
    Ok(Chain {
        stages: found.collect(),
        at_least,
        at_least_se: (at_least * (1.0 - at_least) / DRAWS as f64).sqrt(),
        draws: DRAWS,
        seed,
    })
}

/// The smallest number to start with so that at least `wanted` come out with this chance.
///
/// # Errors
/// Stages that cannot be used, or a chance that no number up to `limit` reaches.
pub fn start_for(
    stages: &[Stage],
    wanted: u64,
    chance: f64,
    limit: u64,
    seed: u64,
) -> Result<u64, ChainError> {
    // The same seed for every number makes the draws alike, so the chance rises smoothly.
    let reached = |n: u64| -> Result<f64, ChainError> {
        let drawn = draw(stages, n, chance, seed)?;
        Ok(drawn.last().map_or(0.0, |last| share_from(last, wanted)))
    };
    let mut high = 1;
    let mut found = reached(high)?;
    while found < chance {
        if high == limit {
            return Err(ChainError::OutOfReach { limit, wanted, chance: found });
        }
        high = (high * 2).min(limit);
        found = reached(high)?;
    }
    let mut low = high / 2;
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if reached(middle)? >= chance { high = middle } else { low = middle }
    }
    Ok(high)
}

fn share_from(counts: &[u64], wanted: u64) -> f64 {
    counts.iter().filter(|c| **c >= wanted).count() as f64 / counts.len() as f64
}

fn draw(
    stages: &[Stage],
    start: u64,
    confidence: f64,
    seed: u64,
) -> Result<Vec<Vec<u64>>, ChainError> {
    if stages.is_empty() {
        return Err(ChainError::Empty);
    }
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(ChainError::Confidence(confidence));
    }
    let rates: Vec<RateKnown> = stages.iter().map(usable).collect::<Result<_, _>>()?;
    let mut drawn = vec![Vec::with_capacity(DRAWS); stages.len()];
    for i in 0..DRAWS {
        // A stream of its own for each draw: what one draw uses up does not shift the next.
        let mut random = Random::new(seed ^ (i as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15));
        let mut count = start;
        for ((stage, rate), out) in stages.iter().zip(&rates).zip(&mut drawn) {
            let p = match *rate {
                RateKnown::Share(p) => p,
                RateKnown::Beta { alpha, beta } => random.beta(alpha, beta),
            };
            count = random.binomial(count, p);
            if let Yield::OneOf(counts) = &stage.yields {
                count = (0..count).map(|_| counts[random.below(counts.len())]).sum();
            }
            out.push(count);
        }
    }
    Ok(drawn)
}

fn usable(stage: &Stage) -> Result<RateKnown, ChainError> {
    let bad = |problem: String| ChainError::Stage { stage: stage.name.clone(), problem };
    match stage.rate {
        RateKnown::Share(p) if !(0.0..=1.0).contains(&p) => {
            return Err(bad(format!("{p} is not a share; write a number from 0 to 1")));
        }
        RateKnown::Beta { alpha, beta } if !(alpha > 0.0 && beta > 0.0) => {
            return Err(bad(format!("Beta({alpha}, {beta}) needs two numbers above 0")));
        }
        _ => {}
    }
    if matches!(&stage.yields, Yield::OneOf(counts) if counts.is_empty()) {
        return Err(bad("no count to draw from; give the counts of earlier ones".to_owned()));
    }
    stage.rate.in_one_batch(stage.rho).map_err(|e| bad(e.to_string()))
}

fn summary(stage: &Stage, counts: &[u64], confidence: f64) -> StageCount {
    let mut sorted = counts.to_vec();
    sorted.sort_unstable();
    let at = |q: f64| sorted[((q * sorted.len() as f64) as usize).min(sorted.len() - 1)];
    let tail = 0.5 * (1.0 - confidence);
    StageCount {
        name: stage.name.clone(),
        mean: counts.iter().map(|c| *c as f64).sum::<f64>() / counts.len() as f64,
        lower: at(tail),
        median: at(0.5),
        upper: at(1.0 - tail),
        none: counts.iter().filter(|c| **c == 0).count() as f64 / counts.len() as f64,
    }
}
