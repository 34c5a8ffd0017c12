//! Who is dry, who will be, and how sure that is.

mod looks;

pub use looks::{Drying, Found, Looks, Wish};
