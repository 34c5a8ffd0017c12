//! Colour and scale from photographs: the numbers.
//!
//! From pixels to linear light ([`srgb`]), made neutral with a card in the picture ([`balance`]), to
//! colours as eyes see them ([`lab`]), how far two of them are apart ([`difference`]), and whether
//! that is more than the photographs' own scatter ([`sample`], [`compare()`]). Leaves have an index of
//! their own ([`greenness`]).
//!
//! Plain numbers in, plain numbers out; nothing here knows plants, files or the clock.

pub mod balance;
pub mod compare;
pub mod difference;
mod error;
pub mod greenness;
pub mod lab;
mod matrix;
mod random;
pub mod sample;
pub mod srgb;
mod tails;
pub mod visible;

pub use compare::{Comparison, Spread, Verdict, compare};
pub use difference::ciede2000;
pub use error::{Channel, ColourError};
pub use lab::{Lab, Xyz};
pub use matrix::{Matrix3, Vector3};
pub use sample::ColourMean;
pub use srgb::{Linear, Srgb8};
