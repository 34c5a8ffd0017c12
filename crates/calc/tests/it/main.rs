//! Calculators by their plain face.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod rows;
mod support;
