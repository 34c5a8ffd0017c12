//! Success rates: intervals for a proportion, logistic models with random effects.

mod beta_binomial;
mod binomial;
mod chain;
mod counts;
mod crossed;
mod error;
mod logistic;
mod proportion;
mod rate;
mod separation;
mod small;

pub use beta_binomial::{BetaBinomial, BetaBinomialError, beta_binomial};
pub use binomial::{Batch, Binomial};
pub use chain::{Chain, ChainError, Stage, StageCount, Yield, follow, start_for};
pub use counts::{CountError, ExpectedCount, MOST, Needed, RateKnown, expected_count, needed};
pub use crossed::{
    Crossed, CrossedBeliefs, CrossedSpread, CrossedTerm, FEW, Joined, Mixture, Place, Tried,
    crossed, mean_rate,
};
pub use error::SuccessError;
pub use logistic::{Effect, Logistic, Model, ROW, SlopeSpread, Spread, SpreadTest, logistic};
pub use proportion::{Proportion, ProportionError, proportion};
pub use rate::{NextCount, Rate, next_count};
pub use small::{Beliefs, Believed, BelievedSpread, Small, logistic_small};
