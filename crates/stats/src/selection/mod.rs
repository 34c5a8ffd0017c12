//! Selection on several traits at once, and how strong a selection is.
//!
//! [`Index`] weighs traits into one number: by what they are worth (Smith 1936; Hazel 1943), by the
//! gains that are wanted (Pesek & Baker 1969), or with some traits held still (Kempthorne &
//! Nordskog 1959). [`intensity`] is the superiority of the best few of a group, in standard
//! deviations.

mod error;
mod index;
mod intensity;

pub use error::SelectionError;
pub use index::{Covariances, Index, Warning};
pub use intensity::{intensity, intensity_of_share};
