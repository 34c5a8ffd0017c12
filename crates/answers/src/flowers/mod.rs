//! How long flowers last, when they come again, in which months, and who flowers together.
//!
//! [`Grown`] is what was read of one genus; [`Flowers`] keeps them.

mod again;
mod bloom;
mod compare;
mod kept;
mod lasts;
mod life;
mod likely;
mod months;
mod read;
mod returns;
mod view;

pub use again::{Again, AgainFit, Bud, Flowering, Gap, fit_again, flowerings, gaps};
pub use bloom::{Bloom, FlowerKind, Happening, What, clusters, follow};
pub use compare::{Beside, By, Comparison, compare};
pub use kept::Flowers;
pub use lasts::flower_life_of;
pub use life::{Followed, LifeFit, LifePrior, Weather, fit_life};
pub use likely::{Course, Likely, Meeting, Rests, course, likely, likely_in_flower};
pub use months::{Month, Months, Piece, flower_months_of, months_of};
pub use read::Grown;
pub use returns::flowers_again_of;
pub use view::{
    Curve, CurvePoint, Lived, PlantFlowers, Side, Sides, Together, Week, WeeksAhead, plant_flowers,
    weeks_ahead,
};

pub(crate) use lasts::flower_life;
pub(crate) use months::flower_months;
pub(crate) use returns::flowers_again;
