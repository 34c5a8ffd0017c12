//! Tests of the workspace as a whole.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed, which is its job")]

mod boundaries;
mod sources;
mod texts;
mod tokens;
mod workspace;
