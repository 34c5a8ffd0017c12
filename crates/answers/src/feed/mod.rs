//! Feed: what stands on the shelf, what goes into a can, what the meter showed, whether salts build
//! up, and how much a plant wants now.

mod can;
mod kept;
mod meter;
mod need;
mod rate;
mod salts;
mod salts_model;
mod shelf;
mod strength;

pub use can::{Can, CanInput, Line, Stock, can};
pub use kept::{
    EcAt, FeedKept, Growth, Kept, MaterialKept, MixKept, MixTest, Price, WaterKept, kept,
};
pub use meter::{Metered, metered};
pub use rate::{RateLine, rates};
pub use shelf::{Shelf, ShelfLine, shelf};

pub(crate) use can::number;
pub(crate) use need::need;
pub(crate) use rate::{group_key, group_words};
pub(crate) use salts::{Pots, salts};

use crate::Caution;

/// What must stand beside every number of this page.
pub const CAUTIONS: [Caution; 4] = [
    Caution {
        lead: "Keep feed locked away.",
        text: "Dry, in its labelled package, away from children, pets, food and fuel: nitrates feed a fire. What the label and local rules say comes first.",
    },
    Caution {
        lead: "Nothing into the drain.",
        text: "Pour leftovers on other plants: nitrate that runs off poisons water.",
    },
    Caution {
        lead: "Not on the leaves.",
        text: "Never spray leaves with more than 100 mg/L of nitrogen.",
    },
    Caution {
        lead: "Pale is not always hungry.",
        text: "Lost roots look like a lack of iron or magnesium: look at the roots before feeding more.",
    },
];
