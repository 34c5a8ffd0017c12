//! The demo and the lists, from the outside.

mod demo;
mod lists;
mod water;
