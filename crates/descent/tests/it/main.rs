//! Tests of the `descent` crate.

#![allow(clippy::unwrap_used, reason = "a test that panics has failed, which is its job")]

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
