//! Success rates: intervals for a proportion, logistic models with random effects.

mod binomial;
mod error;
mod logistic;
mod proportion;
mod rate;
mod separation;
mod small;

pub use binomial::{Batch, Binomial};
pub use error::SuccessError;
pub use logistic::{Effect, Logistic, Model, ROW, SlopeSpread, Spread, SpreadTest, logistic};
pub use proportion::{Proportion, ProportionError, proportion};
pub use rate::{NextCount, Rate, next_count};
pub use small::{Beliefs, Believed, BelievedSpread, Small, logistic_small};
