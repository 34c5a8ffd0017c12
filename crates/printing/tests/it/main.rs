//! Labels read back from the file: their words, places and squares.

#![allow(clippy::unwrap_used)] // A helper that fails fails its test.

mod errors;
mod measures;
mod names;
mod squares;
mod support;
