//! The two true laws by which a pot dries.

use super::{Air, Law, Material, Pot, World, pots::volume};
use crate::rng::Rng;

/// Numbers of the world of the demand clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClockLaw {
    /// Median days on the clock of a plain pot of half a litre, a year after potting \[d\].
    pub median: f64,
    /// Exponent of the deficit over 0.9 kPa.
    pub deficit: f64,
    /// Exponent of 0.3 + 0.7 times the light over 5 mol/(m² d).
    pub light: f64,
    /// How ln of the time follows ln of the volume; a larger pot has a larger plant.
    pub volume: f64,
    /// What terracotta adds to ln of the time.
    pub terracotta: f64,
    /// How ln of the time follows ln of the days since potting and thirty.
    pub since_potting: f64,
    /// Standard deviation of ln of the time from one watering to the next.
    pub event: f64,
}

/// The world of the demand clock, by its numbers.
pub const CLOCK: ClockLaw = ClockLaw {
    median: 6.0,
    deficit: 0.7,
    light: 0.5,
    volume: 0.4,
    terracotta: -0.25,
    since_potting: -0.1,
    event: 0.2,
};

/// How a pot looks to who looks rightly. A pot is dry at dryness 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum State {
    Wet,
    Moist,
    Dry,
    BoneDry,
}

impl State {
    /// The word of an entry.
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Wet => "wet",
            Self::Moist => "moist",
            Self::Dry => "dry",
            Self::BoneDry => "bone_dry",
        }
    }
}

/// A pot while it dries.
#[derive(Debug, Clone)]
pub(super) struct Soil {
    law: Law,
    pot: Pot,
    width: f64,
    potted: i64,
    /// How many days this drying takes on the clock, and how many of them are over.
    length: f64,
    gone: f64,
    /// Share of the water that the mix can hold against gravity.
    pub content: f64,
    /// Leaf area \[cm²\].
    leaves: f64,
    /// Share of the water that is there when this pot is dry.
    limit: f64,
    /// Water that the mix holds \[ml\].
    pub holds: f64,
}

/// Water held by a litre of mix for the plant to use \[ml\].
const HELD: f64 = 300.0;
/// Transpiration of a cm² of leaf on a standard day \[ml/d\], and the share that follows light.
const LEAF: f64 = 0.024;
const BY_LIGHT: f64 = 0.45;
/// Evaporation of a cm² of wet mix and of wet terracotta on a standard day \[ml/d\].
const SURFACE: f64 = 0.04;
const WALL: f64 = 0.02;
/// Below this share of the water leaves close.
const CLOSING: f64 = 0.5;

impl Soil {
    pub(super) fn new(world: &World, pot: &Pot, rng: &mut Rng) -> Self {
        let volume = volume(pot.width);
        let own = (-pot.species_effect - pot.plant_effect).exp();
        Self {
            law: world.law,
            pot: *pot,
            width: pot.width,
            potted: pot.potted,
            length: 1.0,
            gone: 1.0,
            content: 0.3,
            // A pot of half a litre has some 500 cm² of leaves (common practice, no source).
            leaves: 500.0 * (volume / 0.5).powf(0.6) * own,
            limit: (0.35 * rng.log_normal(1.0, 0.08)).min(0.5),
            holds: HELD * volume,
        }
    }

    /// New mix and a wider pot.
    pub(super) fn pot_on(&mut self, day: i64) {
        self.potted = day;
        self.width += 2.0;
        self.holds = HELD * volume(self.width);
    }

    pub(super) fn width(&self) -> f64 {
        self.width
    }

    /// Water is given at a moment.
    pub(super) fn water(&mut self, moment: f64, rng: &mut Rng) {
        let since = moment - self.potted as f64;
        let mut eta = CLOCK.median.ln()
            + CLOCK.volume * (volume(self.width) / 0.5).ln()
            + CLOCK.since_potting * ((since + 30.0) / 395.0).ln()
            + self.pot.species_effect
            + self.pot.plant_effect;
        if self.pot.material == Material::Terracotta {
            eta += CLOCK.terracotta;
        }
        self.length = (eta + CLOCK.event * rng.normal()).exp();
        self.gone = 0.0;
        // Now and then in a hurry: what runs through does not stay.
        let fill = if rng.chance(0.08) { rng.between(0.72, 0.9) } else { 1.0 };
        let filled = fill - 0.06 * rng.normal().abs();
        self.content = self.content.max(filled);
    }

    /// Lives through a short time \[d\] at a moment.
    pub(super) fn pass(&mut self, moment: f64, time: f64, air: &Air) {
        let lost = self.pot.loses_roots.is_some_and(|day| moment >= day as f64);
        let speed = if lost { self.pot.without_roots } else { 1.0 };
        let dryness = air.deficit / 0.9;
        match self.law {
            Law::DemandClock => {
                let light = 0.3 + 0.7 * air.light / 5.0;
                let rate = dryness.powf(CLOCK.deficit) * light.powf(CLOCK.light);
                self.gone += rate * speed * time;
            }
            Law::WaterBalance => {
                let open = (self.content / CLOSING).min(1.0);
                let leaf = LEAF * (BY_LIGHT * air.light / 5.0 + (1.0 - BY_LIGHT) * dryness);
                let rim = std::f64::consts::PI * self.width * self.width / 4.0;
                let wall = match self.pot.material {
                    Material::Plastic => 0.0,
                    // The wall of the cone's stump, nearly.
                    Material::Terracotta => 0.79 * std::f64::consts::PI * self.width * self.width,
                };
                let bare = (SURFACE * rim + WALL * wall) * dryness * self.content;
                let out = (self.leaves * leaf * open + bare) * speed * time;
                self.content = (self.content - out / self.holds).max(0.0);
                // Leaves grow by the light, by a quarter to a third in a year.
                if !lost {
                    self.leaves *= 1.0 + 0.0008 * (air.light / 5.0).min(1.5) * time;
                }
            }
        }
    }

    /// 0 for wet, 1 for dry, more beyond.
    pub(super) fn dryness(&self) -> f64 {
        match self.law {
            Law::DemandClock => self.gone / self.length,
            Law::WaterBalance => (1.0 - self.content) / (1.0 - self.limit),
        }
    }

    /// What a look sees that is not misread. In the balance the finger is not always the same.
    pub(super) fn state(&self, rng: &mut Rng) -> State {
        match self.law {
            Law::DemandClock => match self.dryness() {
                d if d < 0.35 => State::Wet,
                d if d < 1.0 => State::Moist,
                d if d < 1.45 => State::Dry,
                _ => State::BoneDry,
            },
            Law::WaterBalance => match self.content / (self.limit * rng.log_normal(1.0, 0.06)) {
                c if c > 2.0 => State::Wet,
                c if c > 1.0 => State::Moist,
                c if c > 0.35 => State::Dry,
                _ => State::BoneDry,
            },
        }
    }
}
