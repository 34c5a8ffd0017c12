//! Labels read back from the file: their words, places and squares.

mod errors;
mod measures;
mod names;
mod squares;
mod support;
