//! A day's light: its sum, its length, whether it is enough, and what it costs.

use serde::Serialize;

use super::{LightError, amount, within};
use crate::{Basis, Constant, Spread};

const SECONDS: f64 = 3600.0 / 1e6;

/// Daily light integral \[mol m⁻² d⁻¹\] of so many photons \[µmol m⁻² s⁻¹\] for so many hours
/// \[h, 0 to 24\].
///
/// # Errors
/// When the photons are negative or the hours not those of a day.
pub fn dli(ppfd: f64, hours: f64) -> Result<f64, LightError> {
    let next = "a day has 24 hours";
    let hours = within("hours", hours, (0.0, 24.0), "from 0 to 24", next)?;
    Ok(amount("photons", ppfd)? * hours * SECONDS)
}

/// Hours \[h\] that so many photons \[µmol m⁻² s⁻¹\] need for a daily light integral
/// \[mol m⁻² d⁻¹\]; none when a day is too short for it.
///
/// # Errors
/// When one of them is negative.
pub fn hours_for(dli: f64, ppfd: f64) -> Result<Option<f64>, LightError> {
    let hours = amount("daily light", dli)? / (amount("photons", ppfd)? * SECONDS);
    Ok(Some(hours).filter(|h| *h <= 24.0).or((dli == 0.0).then_some(0.0)))
}

/// What a lamp uses \[kWh\]: watts \[W\], hours a day \[h, 0 to 24\], days.
///
/// # Errors
/// When one of them is negative or the hours not those of a day.
pub fn energy(watts: f64, hours: f64, days: f64) -> Result<f64, LightError> {
    let next = "a day has 24 hours";
    let hours = within("hours", hours, (0.0, 24.0), "from 0 to 24", next)?;
    Ok(amount("watts", watts)? * hours * amount("days", days)? / 1000.0)
}

/// A stretch of the day in hours of one clock \[h, 0 to 24\]; when it ends before it begins, it goes
/// over midnight; when both are equal it is empty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    from: f64,
    to: f64,
}

impl Stretch {
    /// From an hour to an hour \[0 to 24\].
    ///
    /// # Errors
    /// When one of them is not within a day.
    pub fn new(from: f64, to: f64) -> Result<Self, LightError> {
        let hour = |h| within("hour", h, (0.0, 24.0), "from 0 to 24", "write half past six as 6.5");
        Ok(Self { from: hour(from)?, to: hour(to)? })
    }
}

/// Hours of the day in which at least one stretch holds \[h\]: lamps and the day from dawn to dusk
/// together. A lamp from six to six does not shorten a day in June.
#[must_use]
pub fn photoperiod(stretches: &[Stretch]) -> f64 {
    let mut parts: Vec<(f64, f64)> = Vec::with_capacity(stretches.len() + 1);
    for s in stretches {
        if s.from <= s.to {
            parts.push((s.from, s.to));
        } else {
            parts.extend([(s.from, 24.0), (0.0, s.to)]);
        }
    }
    parts.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut hours, mut end) = (0.0, 0.0_f64);
    for (from, to) in parts {
        hours += (to - from.max(end)).max(0.0);
        end = end.max(to);
    }
    hours
}

/// What an amount of daily light is enough for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LightClass {
    /// In words.
    pub name: &'static str,
    /// Daily light \[mol m⁻² d⁻¹\]: its middle, from and to, and where that is known from.
    pub dli: Constant,
    /// What stands behind it.
    pub evidence: &'static str,
}

const fn class(
    name: &'static str,
    (low, high): (f64, f64),
    basis: Basis,
    source: &'static str,
) -> Constant {
    Constant {
        name,
        value: (low + high) / 2.0,
        unit: "mol m-2 d-1",
        spread: Spread::Range(low, high),
        basis,
        source,
    }
}

const SURVIVAL: Constant = class(
    "class_survival",
    (0.1, 0.5),
    Basis::Published,
    "acclimatisation of Leea coccinea and L. rubra, HortScience (about 1992), abstract",
);
const HOLDING: Constant = class(
    "class_holding",
    (0.5, 1.5),
    Basis::Published,
    "interior trials with Ficus at 16 umol m-2 s-1; extension classes of 100 to 250 foot-candles",
);
const SHADE_FOLIAGE: Constant = class("class_shade_foliage", (2.0, 5.0), Basis::CommonPractice, "");
const GESNERIADS: Constant = class(
    "class_gesneriads_flowering",
    (4.0, 8.0),
    Basis::Memory,
    "African violet 4 to 6 (quoted by others); about 1000 foot-candles bright (UF/IFAS)",
);
const CLIMBERS: Constant =
    class("class_climbers_flowering", (6.0, 12.0), Basis::CommonPractice, "");
const HIGH_LIGHT: Constant = class("class_high_light", (10.0, 20.0), Basis::CommonPractice, "");

pub(super) const CONSTANTS: &[Constant] =
    &[SURVIVAL, HOLDING, SHADE_FOLIAGE, GESNERIADS, CLIMBERS, HIGH_LIGHT];

/// Classes of daily light, from the darkest; they overlap, as plants do.
pub const CLASSES: [LightClass; 6] = [
    LightClass {
        name: "survival only",
        dli: SURVIVAL,
        evidence: "Leea kept alive at 0.26 and at 0.09 mol m-2 d-1 once its compensation point had \
                   fallen by three quarters within 25 days; Ficus benjamina died there",
    },
    LightClass {
        name: "holding indoors",
        dli: HOLDING,
        evidence: "Ficus held its leaves at 16 umol m-2 s-1; public advice calls 15 to 40 medium",
    },
    LightClass {
        name: "growth of shade foliage",
        dli: SHADE_FOLIAGE,
        evidence: "common practice, no source; shade houses give Dracaena and Cordyline 1500 to \
                   4500 foot-candles at noon",
    },
    LightClass {
        name: "flowering gesneriads",
        dli: GESNERIADS,
        evidence: "African violets do well at 4 to 6; leaves pale above some 1000 foot-candles",
    },
    LightClass {
        name: "flowering epiphytic climbers",
        dli: CLIMBERS,
        evidence: "common practice, no source; in their forests a third to two thirds of daylight",
    },
    LightClass {
        name: "high-light orchids and succulents",
        dli: HIGH_LIGHT,
        evidence: "common practice, no source",
    },
];

impl LightClass {
    /// Daily light from and to \[mol m⁻² d⁻¹\].
    #[must_use]
    pub const fn range(&self) -> (f64, f64) {
        match self.dli.spread {
            Spread::Range(low, high) => (low, high),
            _ => (self.dli.value, self.dli.value),
        }
    }

    /// Photons over twelve hours that give it, from and to \[µmol m⁻² s⁻¹\].
    #[must_use]
    pub fn ppfd_over_twelve_hours(&self) -> (f64, f64) {
        let (low, high) = self.range();
        (low / (12.0 * SECONDS), high / (12.0 * SECONDS))
    }
}

/// The classes that a daily light integral \[mol m⁻² d⁻¹\] lies in: none, one or two.
///
/// # Errors
/// When it is negative.
pub fn classes(dli: f64) -> Result<Vec<&'static LightClass>, LightError> {
    static ALL: [LightClass; 6] = CLASSES;
    let dli = amount("daily light", dli)?;
    let holds = |class: &&LightClass| {
        let (low, high) = class.range();
        (low..=high).contains(&dli)
    };
    Ok(ALL.iter().filter(holds).collect())
}
