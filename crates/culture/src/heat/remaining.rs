//! Whether some of a pest are still there, after treatments and looks that found nothing.

use serde::Serialize;

use crate::{
    Constant,
    heat::{Detection, quarantine::habit},
};

const UNTREATED: Constant = habit("still_there_untreated", 0.95, 0.85, 0.99);
const ONE_TREATMENT: Constant = habit("still_there_after_one_treatment", 0.5, 0.3, 0.7);
const DIFFICULTY: Constant = habit("found_by_a_look_range", 0.5, 0.3, 0.7);
/// Below this chance a trouble is taken to be over, a newcomer to be clean. Common practice.
pub const TARGET: f64 = 0.05;
/// Two numbers of a Beta distribution that add up to this: a guess, wide.
const WEIGHT: f64 = 4.0;

pub(super) const CONSTANTS: [Constant; 3] = [UNTREATED, ONE_TREATMENT, DIFFICULTY];

/// How one looked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LookKind {
    /// It is not said: as with a lens.
    Unsaid,
    /// With the naked eye.
    NakedEye,
    /// With a lens.
    Lens,
    /// Out of the pot, for what lives on roots.
    Unpotted,
    /// In the pot, for what lives on roots.
    RootsUnseen,
}

impl LookKind {
    /// Chance that such a look finds what is there: mean 0.5 with a lens or out of the pot, 0.3
    /// with the naked eye, 0.1 for roots unseen; each uncertain as a Beta distribution of weight 4.
    /// Common practice.
    #[must_use]
    pub fn detection(self) -> Detection {
        match self {
            Self::Unsaid | Self::Lens | Self::Unpotted => Detection::lens(),
            Self::NakedEye => around(0.3),
            Self::RootsUnseen => around(0.1),
        }
    }

    /// The same with the guess moved down (−1) or up (+1) to the end of its range.
    fn moved(self, to: f64) -> Detection {
        match self {
            Self::Unsaid | Self::Lens | Self::Unpotted => around(0.5 + 0.2 * to),
            Self::NakedEye => around(if to < 0.0 { 0.15 } else { 0.5 }),
            Self::RootsUnseen => around(if to < 0.0 { 0.02 } else { 0.2 }),
        }
    }
}

fn around(mean: f64) -> Detection {
    Detection::Beta(WEIGHT * mean, WEIGHT * (1.0 - mean))
}

/// Looks of one kind that found nothing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Looks {
    /// How one looked.
    pub kind: LookKind,
    /// How often.
    pub count: u32,
}

/// A chance, with what it would be if the guesses behind it were at the ends of their ranges.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Chance {
    /// The chance, 0 to 1.
    pub value: f64,
    /// With the guesses at their kind end.
    pub lower: f64,
    /// With the guesses at their unkind end.
    pub upper: f64,
}

/// Chance that some are there before anybody looked, after so many treatments: 0.95 without; each
/// treatment leaves some behind with a chance q ~ Beta(2, 2), the same for all, so that n of them
/// do with E\[qⁿ\]: 0.5, 0.3, 0.2. Common practice.
fn before(treatments: u32, to: f64) -> f64 {
    if treatments == 0 {
        return match to {
            t if t < 0.0 => 0.85,
            t if t > 0.0 => 0.99,
            _ => UNTREATED.value,
        };
    }
    // What is left by n treatments is missed by n “looks” that each catch 1 − q.
    around(1.0 - (ONE_TREATMENT.value + 0.2 * to)).missed(treatments)
}

fn after(before: f64, missed: f64) -> f64 {
    let left = before * missed;
    left / (left + 1.0 - before)
}

fn missed(looks: &[Looks], detection: impl Fn(LookKind) -> Detection) -> f64 {
    looks.iter().map(|l| detection(l.kind).missed(l.count)).product()
}

/// Chance that some are still there after treatments since the last find, and looks that found
/// nothing: π m / (π m + 1 − π), m the chance that all looks miss them. The chance of a look is
/// the same for looks of one kind, and independent between kinds.
///
/// `known`: the chance before looking, 0 to 1, where it is not one of treatments (a newcomer), with
/// the ends of its range.
#[must_use]
pub fn still_there(known: Option<[f64; 3]>, treatments: u32, looks: &[Looks]) -> Chance {
    let start = |at: usize, to: f64| known.map_or_else(|| before(treatments, to), |k| k[at]);
    Chance {
        value: after(start(1, 0.0), missed(looks, LookKind::detection)),
        lower: after(start(0, -1.0), missed(looks, |k| k.moved(1.0))),
        upper: after(start(2, 1.0), missed(looks, |k| k.moved(-1.0))),
    }
}

/// How many more looks of a kind, all finding nothing, bring the chance below a target; `None`
/// when a hundred do not.
#[must_use]
pub fn more_looks(
    known: Option<[f64; 3]>,
    treatments: u32,
    looks: &[Looks],
    kind: LookKind,
    target: f64,
) -> Option<u32> {
    (0..=100).find(|more| {
        let mut all: Vec<Looks> = looks.to_vec();
        match all.iter_mut().find(|l| l.kind == kind) {
            Some(same) => same.count += more,
            None => all.push(Looks { kind, count: *more }),
        }
        still_there(known, treatments, &all).value < target
    })
}
