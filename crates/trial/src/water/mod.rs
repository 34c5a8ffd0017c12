//! Simulated growers of whom it is known when each pot really became dry.
//!
//! [`House::new`] makes one house for one [`World`]: places with light and air of their own, pots,
//! a true law of drying, and a keeper who looks on some days, forgets others and misreads what is
//! seen. What the keeper wrote comes as plain data ([`Written`]) and, by [`write_house`], as a
//! record; what was true stands beside it ([`HouseTruth`]).
//!
//! Two laws are to be had, since a simulation that shares the form of what is fitted to it proves
//! only the algebra: [`Law::DemandClock`] has the very form that the program fits, and
//! [`Law::WaterBalance`] is a bookkeeping of water that has none of it.
//!
//! Time is counted in days since 1970-01-01; a day is that which begins at its number.

mod keeper;
mod pots;
mod record;
mod soil;
mod weather;

use serde_json::{Map, Value};

pub use pots::{Material, Pot};
pub use record::write_house;
pub use soil::{CLOCK, ClockLaw};
pub use weather::{Air, Kind, Place};

use crate::rng::Rng;

/// The true law by which pots dry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Law {
    /// Log-normal on the demand clock, with effects of species, plant, pot and time since potting.
    DemandClock,
    /// Water in and out: leaves that grow transpire by light and deficit and less as the pot dries,
    /// the mix and a terracotta wall lose by deficit, and no watering fills a pot like the last.
    WaterBalance,
}

/// How carefully somebody keeps the plants.
#[derive(Debug, Clone, PartialEq)]
pub struct Keeper {
    /// Days of the week with a round, 0 for the one on which the record begins.
    pub rounds: Vec<i64>,
    /// Chance that a round does not take place.
    pub forgets_round: f64,
    /// Chance that for a week nothing is done or written.
    pub forgets_week: f64,
    /// Chance that a round is done without looking: everything gets water.
    pub hurries: f64,
    /// Chance that a plant is passed over on a round.
    pub passes_over: f64,
    /// Chance, on a day without round, to look at a plant for no reason.
    pub looks_anyway: f64,
    /// Chance, on a day without round, to look at a plant that is believed dry.
    pub looks_on_suspicion: f64,
    /// Chance, on any day, to water a plant that is believed dry without looking.
    pub waters_unseen: f64,
    /// Chance that a look at a pot that was not dry is written down, outside of rounds.
    pub writes_moist: f64,
    /// Chance that a look at a pot near the limit is misread.
    pub misreads: f64,
    /// Share of the plants that are weighed.
    pub weighs: f64,
    /// Whether there is a holiday of 8 to 16 days in each year, with everything watered before.
    pub holidays: bool,
}

impl Default for Keeper {
    /// Two rounds a week, and human (common practice, no source).
    fn default() -> Self {
        Self {
            rounds: vec![0, 4],
            forgets_round: 0.08,
            forgets_week: 0.02,
            hurries: 0.05,
            passes_over: 0.03,
            looks_anyway: 0.08,
            looks_on_suspicion: 0.35,
            waters_unseen: 0.03,
            writes_moist: 0.7,
            misreads: 0.03,
            weighs: 0.1,
            holidays: true,
        }
    }
}

/// One world: everything that is settled before the first day.
#[derive(Debug, Clone, PartialEq)]
pub struct World {
    /// The same seed gives the same house.
    pub seed: u64,
    /// By which law pots dry.
    pub law: Law,
    /// How many plants.
    pub plants: usize,
    /// Of how many species; every species has a plant where there are enough.
    pub species: usize,
    /// At how many places.
    pub places: usize,
    /// The first day \[days since 1970-01-01\].
    pub first_day: i64,
    /// How many days.
    pub days: i64,
    /// Who keeps them.
    pub keeper: Keeper,
    /// Share of the plants that lose their roots, on some day of the last third.
    pub lose_roots: f64,
    /// Share of the places whose light and air nobody writes down.
    pub without_logger: f64,
}

impl World {
    /// A year and a bit of 24 plants of 4 species at 3 places, all of them logged in the world of
    /// the demand clock and two thirds in the other.
    #[must_use]
    pub fn small(seed: u64, law: Law) -> Self {
        Self {
            seed,
            law,
            plants: 24,
            species: 4,
            places: 3,
            // 2023-03-01.
            first_day: 19_417,
            days: 400,
            keeper: Keeper::default(),
            lose_roots: 0.0,
            without_logger: match law {
                Law::DemandClock => 0.0,
                Law::WaterBalance => 1.0 / 3.0,
            },
        }
    }
}

/// An entry as the keeper wrote it, in the shape of the record's kinds.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// The day \[days since 1970-01-01\].
    pub day: i64,
    /// Which plant, from 0.
    pub plant: usize,
    /// `potted`, `watered`, `checked` or `weighed`.
    pub kind: &'static str,
    /// The fields of that kind.
    pub detail: Map<String, Value>,
}

/// One drying as it really was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrueDrying {
    /// Which plant, from 0.
    pub plant: usize,
    /// The day of the watering \[days since 1970-01-01\].
    pub watered: i64,
    /// The moment of the watering \[d since 1970-01-01\].
    pub moment: f64,
    /// The moment at which the pot was dry, or would have been without the next watering
    /// \[d since 1970-01-01\].
    pub dry: f64,
}

/// What is true in a simulated house.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct HouseTruth {
    /// Every drying of every plant, in the order in which they began.
    pub dryings: Vec<TrueDrying>,
    /// The day on which a plant lost its roots \[days since 1970-01-01\]; from then on its pot dries
    /// at least twice as slowly.
    pub lost_roots: Vec<Option<i64>>,
    /// How many looks the keeper misread.
    pub misread: usize,
}

/// A simulated house.
#[derive(Debug, Clone, PartialEq)]
pub struct House {
    /// By what it was made.
    pub world: World,
    /// Places with their days.
    pub places: Vec<Place>,
    /// Pots at the beginning.
    pub pots: Vec<Pot>,
    /// What the keeper wrote, oldest first.
    pub written: Vec<Written>,
    /// What was true.
    pub truth: HouseTruth,
}

/// How many days of weather there are beyond the last of the record, in which pots dry up that were
/// watered late.
const BEYOND: i64 = 240;

impl House {
    /// Lives through a world.
    #[must_use]
    pub fn new(world: &World) -> Self {
        let places = weather::places(world, world.days + BEYOND);
        let pots = pots::pots(world, &places);
        let (written, truth) = keeper::live(world, &places, &pots);
        Self { world: world.clone(), places, pots, written, truth }
    }
}

/// A stream of random numbers for one thing of a world.
fn stream(world: &World, label: &str) -> Rng {
    Rng::stream(world.seed, label)
}
