//! The command as a whole: the built binary is run, its output and exit status are looked at.

// A helper that cannot set the stage fails the test that asked for it.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod bad_input;
mod calc;
mod crossing;
mod feed;
mod flowers;
mod help;
mod import;
mod light;
mod pests;
#[cfg(feature = "pages")]
mod phones;
mod readings;
mod record;
mod support;
