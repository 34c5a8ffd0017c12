//! Physics of light, air, water, feed and heat, as far as it reaches a plant in a pot.
//!
//! Plain numbers in, plain numbers out; nothing here knows plants, files or the clock. Every
//! constant is a [`Constant`]: it says where it comes from and how far off it may be.

mod constant;

pub use constant::{Basis, Constant, Spread};
