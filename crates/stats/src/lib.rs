//! Time to event, success rates, mixed models, selection.
//!
//! Plain numbers in, plain numbers out; nothing here knows plants, files or the clock.

pub mod model;
pub mod random;
pub mod special;
pub mod success;
pub mod survival;
