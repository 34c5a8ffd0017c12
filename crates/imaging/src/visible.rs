//! How large a difference somebody sees, with where each figure comes from.

use serde::Serialize;

/// How well a figure is founded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Read in the published text.
    Published,
    /// From memory of a published text, not read again.
    Memory,
    /// Common practice, no source.
    CommonPractice,
}

/// The unit of a difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Difference {
    /// CIEDE2000.
    #[serde(rename = "dE00")]
    DeltaE00,
    /// CIELAB 1976.
    #[serde(rename = "dEab")]
    DeltaEab,
}

/// A figure with its source.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Threshold {
    /// How large.
    pub value: f64,
    /// In which unit.
    pub unit: Difference,
    /// What it means.
    pub meaning: &'static str,
    /// How it is founded.
    pub basis: Basis,
    /// Where it comes from.
    pub source: &'static str,
}

/// Half of the observers see it.
pub const PERCEPTIBLE: Threshold = Threshold {
    value: 0.8,
    unit: Difference::DeltaE00,
    meaning: "half of the observers see it, side by side under controlled light",
    basis: Basis::Memory,
    source: "Paravina et al. 2015, dental shades",
};

/// Half of the observers mind it.
pub const ACCEPTABLE: Threshold = Threshold {
    value: 1.8,
    unit: Difference::DeltaE00,
    meaning: "half of the observers mind it, side by side under controlled light",
    basis: Basis::Memory,
    source: "Paravina et al. 2015, dental shades",
};

/// Seen in photographs.
pub const IN_PICTURES: Threshold = Threshold {
    value: 2.5,
    unit: Difference::DeltaEab,
    meaning: "a mean difference above it is seen between two pictures",
    basis: Basis::Published,
    source: "Song & Luo 2001",
};

/// Two colours count as different only above it, and only if the test says so.
pub const DIFFERENT: Threshold = Threshold {
    value: 2.0,
    unit: Difference::DeltaE00,
    meaning: "worth calling two flowers different",
    basis: Basis::CommonPractice,
    source: "common practice, no source; just above what half of the observers mind",
};

/// The scatter of one phone photograph on each axis of Lab after balancing with a card, where
/// nothing better is known: it makes two photographs of one flower differ by 3.4 ΔE*ab on average, in
/// the middle of the usual 2 to 5 (common practice, no source).
pub const PHONE_ERROR: f64 = 1.5;

/// All of them, for whoever asks on what the words rest.
pub const ALL: [Threshold; 4] = [PERCEPTIBLE, ACCEPTABLE, IN_PICTURES, DIFFERENT];
