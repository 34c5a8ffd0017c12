//! Dates as vague as memory: EDTF levels 0 and 1, computed with as intervals.
//!
//! A date is kept as the text it was written as and as what that text means:
//! the first and the last day it can be. Nothing here ever picks a day in
//! between. The notation is EDTF (ISO 8601-2:2019) level 0 (`2024`, `2024-05`,
//! `2024-05-07`, `2024-05/2024-06`), level 1 (`?`, `~`, `%`, `198X`, `2024-XX`,
//! seasons 21-24, open `..` and unknown ends) and, of level 2, the one-of set
//! `[2019,2020]` and the seasons 25-32 that name their hemisphere.

mod days;
mod edtf;
mod error;
mod parse;
mod point;
mod say;

pub use days::{from_days, to_days};
pub use edtf::{Edtf, Precision};
pub use error::EdtfError;
pub use point::Hemisphere;
pub use say::{Lang, say};
