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

use std::sync::{Mutex, PoisonError};

use journal::{PlantRow, Reader};

use crate::{Answer, Hand, Result, acts::plants::need_plant};

pub use again::{Again, AgainFit, Bud, Flowering, Gap, fit_again, flowerings, gaps};
pub use bloom::{Bloom, FlowerKind, Happening, What, clusters, follow};
pub use compare::{Beside, By, Comparison, compare};
pub(crate) use kept::BESIDE;
pub use kept::Flowers;
pub use lasts::flower_life_of;
pub use life::{Followed, LifeFit, LifePrior, Weather, fit_life};
pub use likely::{Course, Likely, Meeting, Rests, course, likely, likely_in_flower};
pub use months::{Month, Months, Piece, flower_months_of, months_of};
pub use read::Grown;
pub use returns::flowers_again_of;
pub use view::{
    AHEAD, Curve, CurvePoint, Lived, Meetings, PlantFlowers, Side, Sides, Together, Week,
    WeeksAhead, plant_flowers, weeks_ahead,
};

/// Answers one of the questions about flowers for the plant of this number.
fn ask(reader: &Reader<'_>, key: &str, number: i64, hand: &Hand) -> Result<Answer> {
    ask_kept(&Mutex::default(), reader, key, number, hand)
}

/// The same with what is kept of flowers.
pub(crate) fn ask_kept(
    kept: &Mutex<Flowers>,
    reader: &Reader<'_>,
    key: &str,
    number: i64,
    hand: &Hand,
) -> Result<Answer> {
    let plant = need_plant(reader, number)?;
    let grown = kept.lock().unwrap_or_else(PoisonError::into_inner).of(reader, &plant, hand)?;
    answer_of(&grown, reader, key, &plant, hand)
}

/// Answers a question from what was read of a genus.
fn answer_of(
    grown: &Grown,
    reader: &Reader<'_>,
    key: &str,
    plant: &PlantRow,
    hand: &Hand,
) -> Result<Answer> {
    let or = lasts::or_unfitted;
    match key {
        "flowers_again" => or(
            "flowers_again",
            "When it flowers again: {value}",
            flowers_again_of(grown, plant, hand),
        ),
        "flower_months" => or(
            "flower_months",
            "When it is in flower: {value}",
            flower_months_of(reader, grown, plant, hand),
        ),
        _ => or(
            "flower_life",
            "How long a flower lasts: {value}",
            flower_life_of(grown, plant, hand),
        ),
    }
}

pub(crate) fn flower_life(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<Answer> {
    ask(reader, "flower_life", number, hand)
}

pub(crate) fn flowers_again(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<Answer> {
    ask(reader, "flowers_again", number, hand)
}

pub(crate) fn flower_months(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<Answer> {
    ask(reader, "flower_months", number, hand)
}
