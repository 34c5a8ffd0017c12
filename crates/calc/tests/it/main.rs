//! Calculators by their plain face.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod colour;
mod competing;
mod culture;
mod descent;
mod diallel;
mod dosage;
mod index;
mod light;
mod mixed;
mod permutation;
mod progeny;
mod ratio;
mod rows;
mod success;
mod support;
mod time_to_event;
mod time_to_event_refused;
