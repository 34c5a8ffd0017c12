//! Which deficit suits what, with the evidence for it.

use serde::Serialize;

use crate::{Basis, Constant, Spread};

/// A band of the leaf's vapour pressure deficit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DeficitClass {
    /// For what.
    pub purpose: &'static str,
    /// From \[kPa\].
    pub least: Constant,
    /// To \[kPa\].
    pub most: Constant,
}

const fn bound(name: &'static str, value: f64, basis: Basis, source: &'static str) -> Constant {
    Constant { name, value, unit: "kPa", spread: Spread::Sd(0.1), basis, source }
}

macro_rules! class {
    ($purpose:literal, $name:literal, $least:literal, $most:literal) => {
        DeficitClass {
            purpose: $purpose,
            least: bound(concat!($name, "_least"), $least, Basis::CommonPractice, ""),
            most: bound(concat!($name, "_most"), $most, Basis::CommonPractice, ""),
        }
    };
}

const CLASSES: [DeficitClass; 4] = [
    class!("cuttings without roots, seedlings just pricked out", "deficit_cuttings", 0.2, 0.5),
    class!("cuttings with roots", "deficit_rooted", 0.4, 0.8),
    class!("thin-leaved aroids, begonias, gesneriads", "deficit_thin", 0.5, 1.0),
    class!("thick-leaved epiphytes", "deficit_thick", 0.7, 1.3),
];
const STRESS: Constant = bound("deficit_stress_day_mean", 1.6, Basis::CommonPractice, "");
const DISEASE: Constant = bound("deficit_disease", 0.2, Basis::CommonPractice, "");
const DISEASE_HOURS: Constant = Constant {
    name: "disease_hours",
    value: 6.0,
    unit: "h",
    spread: Spread::Range(4.0, 10.0),
    basis: Basis::CommonPractice,
    source: "",
};
const DISEASE_HUMIDITY: Constant = Constant {
    name: "disease_humidity",
    value: 90.0,
    unit: "%",
    spread: Spread::Sd(3.0),
    basis: Basis::Published,
    source: "HDC project PC 301, summary: long spells above 90 % raise the risk of Botrytis, also \
             without condensation",
};

pub(super) fn constants() -> Vec<Constant> {
    let mut all: Vec<_> = CLASSES.iter().flat_map(|c| [c.least, c.most]).collect();
    all.extend([STRESS, DISEASE, DISEASE_HOURS, DISEASE_HUMIDITY]);
    all
}

/// The bands, all of them common practice: they overlap, and a species may want another.
pub fn classes() -> &'static [DeficitClass] {
    &CLASSES
}

/// The bands that a daily mean of the leaf's deficit \[kPa\] is in.
pub fn classes_of(deficit: f64) -> Vec<&'static DeficitClass> {
    CLASSES.iter().filter(|c| (c.least.value..=c.most.value).contains(&deficit)).collect()
}

/// Whether a daily mean of the leaf's deficit \[kPa\] is worth a look for dropped buds: above 1.6,
/// common practice.
pub fn stress_watch(day_mean: f64) -> bool {
    day_mean > STRESS.value
}

/// Whether a spell of so many hours at this mean leaf deficit \[kPa\] and relative humidity \[%\]
/// is worth a look for mould.
pub fn disease_watch(hours: f64, deficit: f64, humidity: f64) -> bool {
    hours > DISEASE_HOURS.value && (deficit < DISEASE.value || humidity > DISEASE_HUMIDITY.value)
}
