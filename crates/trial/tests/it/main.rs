//! The demo and the lists, from the outside.

mod breeders;
mod demo;
mod lists;
mod water;
