//! How strong a feed each group of plants wants, and to which group a genus belongs.

use culture::{
    Basis as Known, Spread,
    feed::{RATES, Rate},
};
use serde::Serialize;
use texts::Texts;

/// A group of plants with its rate, in words of the catalogue.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RateLine {
    /// The key of the group.
    pub key: &'static str,
    /// The group, in the reader's language.
    pub group: String,
    /// Nitrogen in every watering \[mg/L\].
    pub nitrogen: f64,
    /// From \[mg/L\].
    pub from: f64,
    /// To \[mg/L\].
    pub to: f64,
    /// Where it comes from, in words.
    pub basis: String,
}

/// The genera of each group, by family. Families: Plants of the World Online, from memory.
const GENERA: [(&str, &[&str]); 5] = [
    (
        "aroids",
        &[
            "Aglaonema",
            "Alocasia",
            "Amydrium",
            "Anthurium",
            "Caladium",
            "Cercestis",
            "Colocasia",
            "Dieffenbachia",
            "Epipremnum",
            "Homalomena",
            "Monstera",
            "Philodendron",
            "Rhaphidophora",
            "Scindapsus",
            "Spathiphyllum",
            "Syngonium",
            "Zamioculcas",
        ],
    ),
    ("thick-leaved epiphytic climbers", &["Dischidia", "Hoya", "Peperomia"]),
    (
        "gesneriads",
        &[
            "Achimenes",
            "Aeschynanthus",
            "Chirita",
            "Codonanthe",
            "Columnea",
            "Episcia",
            "Gesneria",
            "Gloxinia",
            "Kohleria",
            "Microchirita",
            "Nautilocalyx",
            "Nematanthus",
            "Petrocosmea",
            "Primulina",
            "Ramonda",
            "Saintpaulia",
            "Seemannia",
            "Sinningia",
            "Smithiantha",
            "Streptocarpus",
        ],
    ),
    ("begonias", &["Begonia"]),
    (
        "orchids",
        &[
            "Bulbophyllum",
            "Cattleya",
            "Cymbidium",
            "Dendrobium",
            "Epidendrum",
            "Masdevallia",
            "Oncidium",
            "Paphiopedilum",
            "Phalaenopsis",
            "Vanda",
        ],
    ),
];

/// Daily light at which a group's rate is meant \[mol/(m² d)\]: the middle of its class of growing
/// light. Common practice, no source.
fn growing_light(group: &str) -> f64 {
    match group {
        "foliage in low light" => 1.5,
        "aroids" | "begonias" => 3.5,
        "gesneriads" => 5.0,
        "orchids" => 8.0,
        _ => 6.0,
    }
}

/// A rate with the light it is meant for \[mol/(m² d)\].
#[derive(Debug, Clone, Copy)]
pub(crate) struct GroupRate {
    pub rate: &'static Rate,
    pub light: f64,
}

impl GroupRate {
    pub(crate) fn range(&self) -> (f64, f64) {
        match self.rate.nitrogen.spread {
            Spread::Range(from, to) => (from, to),
            _ => (self.rate.nitrogen.value, self.rate.nitrogen.value),
        }
    }
}

/// The key of the group of a genus.
pub(crate) fn group_key(genus: &str) -> Option<&'static str> {
    Some(GENERA.iter().find(|(_, genera)| genera.contains(&genus))?.0)
}

/// The rate of a group by its key.
pub(crate) fn rate_of(key: &str) -> Option<GroupRate> {
    let rate = RATES.iter().find(|r| r.plants == key)?;
    Some(GroupRate { rate, light: growing_light(rate.plants) })
}

/// The group of a genus; `None` where this program knows none.
pub(crate) fn group_of(genus: &str) -> Option<GroupRate> {
    rate_of(group_key(genus)?)
}

pub(crate) fn group_words(key: &str, t: Texts) -> &str {
    match key {
        "foliage in low light" => t.t("foliage in low light"),
        "aroids" => t.t("aroids"),
        "thick-leaved epiphytic climbers" => t.t("thick-leaved climbers"),
        "gesneriads" => t.t("gesneriads"),
        "begonias" => t.t("begonias"),
        "orchids" => t.t("orchids"),
        _ => t.t("other plants"),
    }
}

pub(crate) fn basis_words(rate: &Rate, t: Texts) -> String {
    match rate.nitrogen.basis {
        Known::Published => t.f("published: {source}", &[("source", &rate.nitrogen.source)]),
        Known::Memory => t.f("from memory: {source}", &[("source", &rate.nitrogen.source)]),
        _ => t.t("common practice, no source").to_owned(),
    }
}

/// The rates of all groups.
#[must_use]
pub fn rates(t: Texts) -> Vec<RateLine> {
    RATES
        .iter()
        .map(|rate| {
            let light = growing_light(rate.plants);
            let (from, to) = GroupRate { rate, light }.range();
            RateLine {
                key: rate.plants,
                group: group_words(rate.plants, t).to_owned(),
                nitrogen: rate.nitrogen.value,
                from,
                to,
                basis: basis_words(rate, t),
            }
        })
        .collect()
}
