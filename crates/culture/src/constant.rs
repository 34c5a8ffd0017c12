//! Constants that say where they come from.

use serde::Serialize;

/// Where a constant comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Read in the published text that `source` names.
    Published,
    /// From memory of the reference that `source` names; not re-read there.
    Memory,
    /// What growers commonly do or assume; no source.
    CommonPractice,
    /// Follows from a definition or from other constants.
    Definition,
}

/// How far off a constant may be.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Spread {
    /// Exact by definition.
    None,
    /// Standard deviation, in the unit of the constant.
    Sd(f64),
    /// Standard deviation of the natural logarithm, for what is wrong by a factor.
    LogSd(f64),
    /// From the least to the most that is plausible, in the unit of the constant.
    Range(f64, f64),
}

/// A number on which a calculation rests, with its unit, basis, source and uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Constant {
    /// A short fixed name, such as `photon_efficacy_bar`.
    pub name: &'static str,
    /// The value, in `unit`.
    pub value: f64,
    /// The unit, in SI notation; `1` for none.
    pub unit: &'static str,
    /// How far off it may be.
    pub spread: Spread,
    /// Where it comes from.
    pub basis: Basis,
    /// The reference; empty for common practice.
    pub source: &'static str,
}
