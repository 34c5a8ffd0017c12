//! Tests of the `descent` crate.

#![allow(clippy::unwrap_used, reason = "a test that panics has failed, which is its job")]
#![allow(
    clippy::needless_range_loop,
    reason = "matrices are read by their places, as formulas are"
)]

mod build;
mod diversity;
mod drops;
mod founders;
mod numpy_dice;
mod obvious;
mod ploidy;
mod properties;
mod reference;
mod registers;
mod relation;
mod report;
