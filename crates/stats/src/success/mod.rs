//! Success rates: intervals for a proportion, logistic models with random effects.

mod binomial;
mod proportion;

pub use binomial::{Batch, Binomial};
pub use proportion::{Proportion, ProportionError, proportion};
