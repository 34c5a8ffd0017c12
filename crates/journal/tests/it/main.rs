//! The record, from the outside.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod house;
mod operations;
