//! Pests with the heat that their stages need.

use serde::Serialize;

use crate::{Basis, Constant, Spread};

const HEAT_SPREAD: f64 = 0.2;

/// From this temperature on development is a straight line \[°C\].
const LINEAR_FROM: Constant = linear("linear_development_from", 15.0);
/// Up to this temperature development is a straight line \[°C\].
pub(super) const LINEAR_TO: Constant = linear("linear_development_to", 30.0);

const fn linear(name: &'static str, value: f64) -> Constant {
    Constant {
        name,
        value,
        unit: "°C",
        spread: Spread::Sd(2.0),
        basis: Basis::CommonPractice,
        source: "",
    }
}

/// A stage of a pest.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stage {
    /// The species.
    pub pest: &'static str,
    /// From what to what.
    pub stage: &'static str,
    /// Below this nothing develops \[°C\].
    pub base: Constant,
    /// Heat needed \[degree-days\]: hosts and strains differ by a fifth to a third.
    pub heat: Constant,
}

macro_rules! stage {
    ($pest:literal, $stage:literal, $base:literal, $heat:literal, $basis:ident, $source:expr) => {
        Stage {
            pest: $pest,
            stage: $stage,
            base: Constant {
                name: concat!($pest, ", ", $stage, ", base"),
                value: $base,
                unit: "°C",
                spread: Spread::Sd(0.5),
                basis: Basis::$basis,
                source: $source,
            },
            heat: Constant {
                name: concat!($pest, ", ", $stage, ", heat"),
                value: $heat,
                unit: "K d",
                spread: Spread::LogSd(HEAT_SPREAD),
                basis: Basis::$basis,
                source: $source,
            },
        }
    };
}

/// How the 268 degree-days from egg to adult fall on the stages: 24, 48 and 28 %.
const SHARES: &str = "shares of the stages at 25 °C, handbooks of glasshouse thrips, of the sum \
                      in McDonald 1998";

/// The table. Derived rows rest on two temperatures only. Of *Coccus hesperidum* only about 60
/// days for a generation are known, which is no heat sum.
pub const PESTS: [Stage; 22] = [
    stage!("Planococcus citri", "egg to adult", 8.5, 667.0, Published, "Karacaoglu & Satar 2017"),
    stage!(
        "Planococcus citri",
        "egg",
        8.5,
        130.0,
        Memory,
        "eggs hatch in 6 to 10 days at 25 °C; handbooks of glasshouse pests"
    ),
    stage!("Planococcus citri", "nymph", 7.7, 401.0, Published, "Arai 1996"),
    stage!("Planococcus citri", "adult to first eggs", 8.0, 378.0, Published, "Arai 1996"),
    stage!(
        "Pseudococcus longispinus",
        "nymph",
        8.0,
        422.0,
        Published,
        "Universidade Federal de Viçosa, study on coffee"
    ),
    stage!("Paracoccus marginatus", "egg to adult", 13.9, 294.0, Published, "Amarasekare 2008"),
    stage!(
        "Tetranychus urticae",
        "generation",
        12.5,
        146.5,
        Published,
        "Egyptian Academic Journal of Biological Sciences"
    ),
    stage!(
        "Tetranychus urticae",
        "egg",
        12.87,
        63.4,
        Published,
        "Egyptian Academic Journal of Biological Sciences"
    ),
    stage!(
        "Tetranychus urticae",
        "larva",
        12.92,
        26.8,
        Published,
        "Egyptian Academic Journal of Biological Sciences"
    ),
    stage!(
        "Tetranychus urticae",
        "protonymph",
        9.45,
        31.0,
        Published,
        "Egyptian Academic Journal of Biological Sciences"
    ),
    stage!(
        "Tetranychus urticae",
        "deutonymph",
        13.94,
        26.2,
        Published,
        "Egyptian Academic Journal of Biological Sciences"
    ),
    stage!("Frankliniella occidentalis", "egg to adult", 7.9, 268.0, Published, "McDonald 1998"),
    stage!(
        "Frankliniella occidentalis",
        "egg to adult, second source",
        9.5,
        194.0,
        Published,
        "Katayama 1997"
    ),
    stage!("Frankliniella occidentalis", "egg", 7.9, 64.0, Memory, SHARES),
    stage!("Frankliniella occidentalis", "larva", 7.9, 129.0, Memory, SHARES),
    stage!("Frankliniella occidentalis", "pupa", 7.9, 75.0, Memory, SHARES),
    stage!("Thrips palmi", "egg to adult", 10.1, 194.0, Published, "McDonald 1998"),
    stage!(
        "Scatella stagnalis",
        "egg to adult",
        9.35,
        154.4,
        Published,
        "Ugine 2007; base derived from the days at 20 °C"
    ),
    stage!(
        "Scatopsciara",
        "egg to adult",
        9.3,
        355.0,
        Published,
        "derived from two temperatures for a gnat on liverworts; use 21 to 28 days for the common \
         gnats indoors, whose heat sum has not been published"
    ),
    stage!(
        "Saissetia coffeae",
        "egg to adult",
        13.1,
        464.0,
        Published,
        "derived from 95.2 days at 18 °C and 31.2 days at 28 °C, Ibrahim 1985 via CTAHR; another \
         source says 8 weeks at 30 °C"
    ),
    stage!("Myzus persicae", "birth to adult", 4.0, 133.0, Memory, "Whalon & Smilowitz 1979"),
    stage!("Trialeurodes vaporariorum", "egg to adult", 8.3, 380.0, Memory, "Osborne 1982"),
];

pub(super) fn constants() -> Vec<Constant> {
    let mut all: Vec<_> = PESTS.iter().flat_map(|s| [s.base, s.heat]).collect();
    all.extend([LINEAR_FROM, LINEAR_TO]);
    all
}

/// A stage of a pest by name.
pub fn stage(pest: &str, stage: &str) -> Option<&'static Stage> {
    PESTS.iter().find(|s| s.pest == pest && s.stage == stage)
}

impl Stage {
    /// Days at a constant temperature \[°C\]; `None` at and below the base. It is a straight line
    /// between 15 and 30 °C only; outside of them see [`Stage::linear_at`].
    pub fn days_at(&self, temperature: f64) -> Option<f64> {
        (temperature > self.base.value).then(|| self.heat.value / (temperature - self.base.value))
    }

    /// Whether the straight line holds at a temperature \[°C\].
    pub fn linear_at(temperature: f64) -> bool {
        (LINEAR_FROM.value..=LINEAR_TO.value).contains(&temperature)
    }
}
