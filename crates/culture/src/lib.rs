//! Physics of light, air, water, feed and heat, as far as it reaches a plant in a pot.
//!
//! Plain numbers in, plain numbers out; nothing here knows plants, files or the clock. Every
//! constant is a [`Constant`]: it says where it comes from and how far off it may be.

pub mod air;
pub mod clock;
mod constant;
mod estimate;
pub mod evapotranspiration;
pub mod feed;
pub mod heat;
pub mod light;
mod limits;
pub mod machine;
pub mod reservoir;
pub mod substrate;

pub use constant::{Basis, Constant, Spread};
pub use estimate::Estimate;
pub use limits::OutOfRange;
