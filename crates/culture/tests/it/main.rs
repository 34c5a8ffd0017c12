//! Tests against published and independently computed values.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod air;
mod constants;
mod support;
