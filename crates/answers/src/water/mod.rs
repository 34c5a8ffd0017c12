//! Who is dry, who will be, and how sure that is.

mod drying;
mod looks;

pub(crate) use drying::drying;
pub use looks::{Drying, Found, Looks, Wish};
pub(crate) use looks::{follow, happening};
