//! Time to event, success rates, mixed models, selection.
//!
//! Plain numbers in, plain numbers out; nothing here knows plants, files or the clock.

mod dense;
pub mod diallel;
pub mod genetics;
pub mod laplace;
pub mod mixed;
pub mod model;
pub mod optimise;
pub mod pedigree;
pub mod prior;
pub mod quadrature;
pub mod random;
pub mod scores;
pub mod selection;
pub mod sparse;
pub mod special;
pub mod success;
pub mod survival;
