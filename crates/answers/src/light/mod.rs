//! How much light there is on a place, what it is enough for, and what a move would do.

mod arrange;
mod cautions;
mod course;
mod described;
mod model;
mod place;
mod readings;
mod spot;
mod wants;
mod what_if;
mod words;

pub use arrange::{ArrangeTyped, Arrangement, MoveAdvice, arrange};
pub(crate) use course::of_days;
pub(crate) use described::FIELD;
pub use described::{
    DIRECTIONS, Described, GLASS, LAMPS, LampSaid, LightTyped, MOST_LAMPS, PRESETS, SIDES, Side,
    Typed, VIEWS, View, WALLS, Walls, WindowSaid, read_description, read_lamp_words, typed_of,
};
pub(crate) use place::need_place;
pub use place::{
    Amount, Energy, LevelSaid, LightCase, MonthOfLight, PlaceLight, PlantLight, Standing,
    place_light,
};
pub use readings::ReadingUsed;
pub(crate) use spot::read as read_spot;
pub use wants::{Enough, Wants};
pub use what_if::{MoveStep, WhatIf, what_if};
