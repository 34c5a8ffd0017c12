//! Tests of the `descent` crate.

#![allow(clippy::unwrap_used, reason = "a test that panics has failed, which is its job")]

mod build;
mod founders;
mod obvious;
mod properties;
mod reference;
mod relation;
mod report;
