//! Colours from photographs.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod cards;
mod comparing;
mod leaves;
mod properties;
mod published;
mod reference;
