//! What is held of a group of plants before its own records speak.

use serde::Serialize;

/// A range within which four of five are expected, with its unit in the field's name.
pub type Range = (f64, f64);

/// Groups whose flowers are crossed in one way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Group {
    /// Milkweeds with pollinia: climbers and stem succulents.
    Asclepiad,
    /// Begonias.
    Begonia,
    /// African violets.
    Violet,
    /// Gesneriads with dry pods.
    Gesneriad,
    /// Gesneriads of trees.
    Climber,
    /// Everything else.
    Other,
}

/// What is held of a group.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GroupFacts {
    /// The group.
    pub group: Group,
    /// Its name, in words of the catalogue.
    pub name: &'static str,
    /// Share of treated flowers that make a pod.
    pub take: f64,
    /// From pollination to a ripe pod \[d\].
    pub ripe: Range,
    /// How long seed keeps alive on the shelf \[d\].
    pub seed_life: f64,
    /// From sowing to the first and the last seedling \[d\].
    pub up: Range,
    /// Seeds of one pod.
    pub seeds: Range,
    /// From sowing to the first flower \[d\].
    pub flower: Range,
    /// For how many days from opening on a flower takes pollen \[d\].
    pub receptive: Range,
    /// Half-life of pollen in a room, a refrigerator and a freezer \[d\].
    pub pollen: [f64; 3],
    /// What its own pollen takes off the log odds.
    pub own: f64,
    /// Whether own pollen in the flower harms the cross.
    pub pollinia: bool,
    /// How to see that a pod is ripe, in words of the catalogue.
    pub sign: &'static str,
}

/// Where these numbers come from: the ranges of times and the ways of working are from memory of
/// general practice; shares are common practice without a source. The half-life of pollen at
/// −20 °C in the climbers is that of *Aeschynanthus radicans* (Damayanti et al. 2021, Biodiversitas
/// 22:1940: 58 to 13.5 % in 77 days); no figure for stored pollinia of milkweeds was found, so theirs
/// is a guess. That selfs of milkweeds mostly fail: Broyles & Wyatt 1993 (*Asclepias exaltata*, none
/// of the selfs; own pollinia beside the foreign ones cut the set by 29 to 81 %), and Huebner 2003
/// (stapeliads).
pub const FACTS: [GroupFacts; 6] = [
    GroupFacts {
        group: Group::Asclepiad,
        name: "milkweeds with pollinia",
        take: 0.08,
        ripe: (60.0, 150.0),
        seed_life: 60.0,
        up: (3.0, 10.0),
        seeds: (20.0, 80.0),
        flower: (730.0, 1460.0),
        receptive: (0.0, 5.0),
        pollen: [3.0, 20.0, 60.0],
        own: -2.0,
        pollinia: true,
        sign: "the seam of the pod pales; it splits fast and the seeds fly",
    },
    GroupFacts {
        group: Group::Begonia,
        name: "begonias",
        take: 0.4,
        ripe: (21.0, 56.0),
        seed_life: 540.0,
        up: (10.0, 30.0),
        seeds: (100.0, 600.0),
        flower: (240.0, 600.0),
        receptive: (1.0, 8.0),
        pollen: [7.0, 30.0, 120.0],
        own: -0.3,
        pollinia: false,
        sign: "the capsule is brown and dry",
    },
    GroupFacts {
        group: Group::Violet,
        name: "African violets",
        take: 0.4,
        ripe: (120.0, 210.0),
        seed_life: 300.0,
        up: (8.0, 21.0),
        seeds: (50.0, 400.0),
        flower: (240.0, 540.0),
        receptive: (2.0, 7.0),
        pollen: [14.0, 45.0, 120.0],
        own: -0.3,
        pollinia: false,
        sign: "the pod shrivels",
    },
    GroupFacts {
        group: Group::Gesneriad,
        name: "gesneriads with dry pods",
        take: 0.4,
        ripe: (35.0, 70.0),
        seed_life: 450.0,
        up: (7.0, 20.0),
        seeds: (50.0, 500.0),
        flower: (180.0, 540.0),
        receptive: (2.0, 7.0),
        pollen: [10.0, 40.0, 120.0],
        own: -0.3,
        pollinia: false,
        sign: "the pod twists or splits",
    },
    GroupFacts {
        group: Group::Climber,
        name: "gesneriads of trees",
        take: 0.25,
        ripe: (90.0, 180.0),
        seed_life: 60.0,
        up: (10.0, 20.0),
        seeds: (30.0, 200.0),
        flower: (365.0, 900.0),
        receptive: (2.0, 8.0),
        pollen: [7.0, 25.0, 41.0],
        own: -0.3,
        pollinia: false,
        sign: "the capsule splits, or the berry is soft",
    },
    GroupFacts {
        group: Group::Other,
        name: "other plants",
        take: 0.25,
        ripe: (30.0, 150.0),
        seed_life: 180.0,
        up: (7.0, 30.0),
        seeds: (10.0, 200.0),
        flower: (240.0, 1460.0),
        receptive: (0.0, 5.0),
        pollen: [7.0, 30.0, 90.0],
        own: -0.5,
        pollinia: false,
        sign: "the pod dries, pales or splits",
    },
];

/// Genera of a group, from memory.
const GENERA: [(Group, &[&str]); 5] = [
    (
        Group::Asclepiad,
        &[
            "Asclepias",
            "Ceropegia",
            "Dischidia",
            "Dischidiopsis",
            "Hoya",
            "Huernia",
            "Marsdenia",
            "Orbea",
            "Stapelia",
            "Stephanotis",
        ],
    ),
    (Group::Begonia, &["Begonia", "Hillebrandia"]),
    (Group::Violet, &["Saintpaulia"]),
    (
        Group::Gesneriad,
        &[
            "Achimenes",
            "Chirita",
            "Episcia",
            "Gloxinia",
            "Kohleria",
            "Petrocosmea",
            "Primulina",
            "Sinningia",
            "Smithiantha",
            "Streptocarpus",
        ],
    ),
    (
        Group::Climber,
        &["Aeschynanthus", "Agalmyla", "Codonanthe", "Columnea", "Drymonia", "Nematanthus"],
    ),
];

impl Group {
    /// The group of a genus.
    #[must_use]
    pub fn of_genus(genus: &str) -> Self {
        GENERA
            .iter()
            .find(|(_, genera)| genera.contains(&genus))
            .map_or(Self::Other, |(group, _)| *group)
    }

    /// What is held of it.
    #[must_use]
    pub fn facts(self) -> &'static GroupFacts {
        FACTS.iter().find(|f| f.group == self).unwrap_or(&FACTS[FACTS.len() - 1])
    }

    /// The family, where all of the group belong to one.
    #[must_use]
    pub const fn family(self) -> Option<&'static str> {
        match self {
            Self::Asclepiad => Some("Apocynaceae"),
            Self::Begonia => Some("Begoniaceae"),
            Self::Violet | Self::Gesneriad | Self::Climber => Some("Gesneriaceae"),
            Self::Other => None,
        }
    }

    /// Whether two groups are known to belong to two families: nothing is known to come of that.
    #[must_use]
    pub fn other_family(self, other: Self) -> bool {
        self.family().zip(other.family()).is_some_and(|(a, b)| a != b)
    }

    /// The word in keys.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Asclepiad => "asclepiad",
            Self::Begonia => "begonia",
            Self::Violet => "violet",
            Self::Gesneriad => "gesneriad",
            Self::Climber => "climber",
            Self::Other => "other",
        }
    }
}
