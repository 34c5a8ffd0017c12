//! Who is dry, who will be, and how sure that is.

mod clocks;
mod drying;
mod house;
mod looks;
mod night;
mod pots;
mod predictions;
mod state;
mod today;
mod words;

pub use crate::feed::Growth;
pub use clocks::{Climate, Clocks, Shared};
pub(crate) use drying::drying;
pub use drying::drying_of;
pub use house::{DAYS, Housed, Learnt, Water};
pub(crate) use looks::happening;
pub use looks::{Drying, Found, Happening, Looks, What, Wish, follow};
pub use night::{Night, Unit, night};
pub use pots::{Facts, Pot};
pub use predictions::{Predictions, Told, predictions};
pub use state::{ODD, PotNow};
pub use today::{LeftOut, PlaceToday, PlantToday, RestsOn, WaterToday, line};
pub use words::{dry_words, odd_words, percent, reason};
