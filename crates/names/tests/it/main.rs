//! Tests of the whole crate from outside.

// Helpers of tests may fail a test like the tests themselves.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod agreement;
mod api;
mod checklist;
mod properties;
mod synthetic;
mod typesetting;
