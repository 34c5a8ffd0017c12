//! Success rates: intervals for a proportion.

mod proportion;

pub use proportion::{Proportion, ProportionError, proportion};
