//! Who stood beside a pest, and how much.

use serde::Serialize;

use crate::{Constant, heat::quarantine::habit};

const TOUCHING: Constant = habit("exposure_touching", 1.0, 0.7, 1.5);
const SAME_PLACE: Constant = habit("exposure_same_place", 0.5, 0.2, 0.8);
const NEXT_PLACE: Constant = habit("exposure_next_place", 0.2, 0.05, 0.4);
const ROOM: Constant = habit("exposure_same_room", 0.1, 0.0, 0.2);
const FLIER: Constant = habit("exposure_same_room_flier", 0.3, 0.1, 0.6);

/// A tool, tray or water that was shared once counts as so many days of touching \[d\]. Common
/// practice, no source.
pub const SHARED_DAYS: f64 = 7.0;

pub(super) const CONSTANTS: [Constant; 5] = [TOUCHING, SAME_PLACE, NEXT_PLACE, ROOM, FLIER];

/// How near two plants stood.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Near {
    /// On the same spot, leaf to leaf.
    Touching,
    /// At the same place.
    SamePlace,
    /// At the next place of the walk: the shelf above or below.
    NextPlace,
    /// Somewhere else in the house.
    Elsewhere,
}

impl Near {
    /// What a day so near counts, in days of touching.
    #[must_use]
    pub fn weight(self, flies: bool) -> f64 {
        match self {
            Self::Touching => TOUCHING.value,
            Self::SamePlace => SAME_PLACE.value,
            Self::NextPlace if flies => FLIER.value,
            Self::NextPlace => NEXT_PLACE.value,
            Self::Elsewhere if flies => FLIER.value,
            Self::Elsewhere => ROOM.value,
        }
    }
}

/// Chance that the pest had begun by a day: uniform from the last clean look or the earliest day
/// that its development allows, to the day it was found \[d\].
#[must_use]
pub fn begun(earliest: f64, found: f64, day: f64) -> f64 {
    if day >= found {
        1.0
    } else if day <= earliest {
        0.0
    } else {
        (day - earliest) / (found - earliest)
    }
}

/// Exposure in days of touching: Σ P(there that day) · weight over the days.
#[must_use]
pub fn exposure(days: impl IntoIterator<Item = (f64, Near)>, flies: bool) -> f64 {
    days.into_iter().map(|(chance, near)| chance * near.weight(flies)).sum()
}
