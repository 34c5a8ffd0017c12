//! The record, from the outside.

mod house;
mod operations;
