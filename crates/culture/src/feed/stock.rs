//! Stock solutions, injectors, US customary rules.

use serde::Serialize;

use crate::{
    Basis, Constant, Spread,
    limits::{OutOfRange, within},
};

const OUNCE: Constant = exact("ounce", 28.349_523_125, "g");
const GALLON: Constant = exact("us_gallon", 3.785_411_784, "L");
/// One ounce of a pure nutrient in 100 US gallons gives 74.89 mg/L, which the trade rounds.
const RULE_75: Constant = Constant {
    name: "ounce_in_100_gallons",
    value: 75.0,
    unit: "mg/L",
    spread: Spread::Range(74.89, 75.0),
    basis: Basis::Published,
    source: "UMass Extension, Fertilizer Calculations for Greenhouse Crops; Texas A&M \
             hortipm.tamu.edu, nutrient calculations",
};
const READY_MIX: Constant = Constant {
    name: "stock_limit_unknown_fertiliser",
    value: 200.0,
    unit: "g/L",
    spread: Spread::Range(200.0, 300.0),
    basis: Basis::CommonPractice,
    source: "",
};

const fn exact(name: &'static str, value: f64, unit: &'static str) -> Constant {
    Constant {
        name,
        value,
        unit,
        spread: Spread::None,
        basis: Basis::Definition,
        source: "US customary units",
    }
}

/// How much of a salt dissolves at 20 °C.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Solubility {
    /// The salt.
    pub salt: &'static str,
    /// Dissolves \[g/L\].
    pub most: Constant,
    /// Whether it brings calcium.
    pub calcium: bool,
    /// Whether it brings sulphate.
    pub sulphate: bool,
    /// Whether it brings phosphate.
    pub phosphate: bool,
}

macro_rules! salt {
    ($salt:literal, $most:literal $(, $brings:ident)?) => {
        Solubility {
            most: Constant {
                name: concat!($salt, ", solubility"),
                value: $most,
                unit: "g/L",
                spread: Spread::LogSd(0.15),
                basis: Basis::Published,
                source: "table of fertilizer solubility, dramarnathgiri.blogspot.com, 15 August \
                         2015; makers differ",
            },
            $($brings: true,)?
            ..Solubility { salt: $salt, most: READY_MIX, calcium: false, sulphate: false,
                           phosphate: false }
        }
    };
}

/// Solubility of single salts at 20 °C.
pub const SOLUBILITIES: [Solubility; 9] = [
    salt!("potassium nitrate", 209.0),
    salt!("ammonium nitrate", 1920.0),
    salt!("ammonium sulphate", 750.0, sulphate),
    salt!("calcium nitrate", 1290.0, calcium),
    salt!("magnesium nitrate", 710.0),
    salt!("monoammonium phosphate", 374.0, phosphate),
    salt!("monopotassium phosphate", 230.0, phosphate),
    salt!("potassium chloride", 264.0),
    salt!("potassium sulphate", 111.0, sulphate),
];

pub(super) fn constants() -> Vec<Constant> {
    let mut all = vec![OUNCE, GALLON, RULE_75, READY_MIX];
    all.extend(SOLUBILITIES.iter().map(|s| s.most));
    all
}

/// Strength of a stock solution \[g/L\] that an injector thins 1 : `ratio`, for nitrogen \[mg/L\]
/// of a fertiliser with so much nitrogen \[%\].
///
/// # Errors
/// When a number is out of range.
pub fn stock_strength(nitrogen: f64, percent: f64, ratio: f64) -> Result<f64, OutOfRange> {
    within("nitrogen wanted", nitrogen, "mg/L", 0.0, 10_000.0)?;
    within("N of the label", percent, "%", 1e-6, 100.0)?;
    within("ratio of the injector", ratio, "1", 1.0, 10_000.0)?;
    Ok(nitrogen * ratio / (10.0 * percent))
}

/// Nutrient \[mg/L\] of one ounce of a fertiliser with so much of it \[%\] in 100 US gallons, by
/// the rule of 75.
pub fn ppm_from_ounces_in_100_gallons(percent: f64, ounces: f64) -> f64 {
    RULE_75.value * percent / 100.0 * ounces
}

/// Ounces in 100 US gallons for nitrogen \[mg/L\] of a fertiliser with so much nitrogen \[%\], by
/// the rule of 75 or exactly.
///
/// # Errors
/// When there is no nitrogen in it.
pub fn ounces_per_100_gallons(
    nitrogen: f64,
    percent: f64,
    exactly: bool,
) -> Result<f64, OutOfRange> {
    within("N of the label", percent, "%", 1e-6, 100.0)?;
    let ounce = if exactly { 10.0 * OUNCE.value / GALLON.value } else { RULE_75.value };
    Ok(nitrogen / (percent / 100.0 * ounce))
}

/// Ounces in a US gallon of stock that an injector thins 1 : `ratio`, by the rule of 75.
///
/// # Errors
/// When there is no nitrogen in it.
pub fn ounces_per_gallon_of_stock(
    nitrogen: f64,
    percent: f64,
    ratio: f64,
) -> Result<f64, OutOfRange> {
    within("N of the label", percent, "%", 1e-6, 100.0)?;
    Ok(nitrogen * ratio / (percent * RULE_75.value))
}

/// What is wrong with a stock solution.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StockProblem {
    /// More of a salt than dissolves at 20 °C; colder water takes less.
    TooStrong {
        /// The salt.
        salt: &'static str,
        /// Wanted \[g/L\].
        wanted: f64,
        /// Dissolves \[g/L\].
        most: f64,
    },
    /// A strong solution of an unknown fertiliser: look up what dissolves.
    MayNotDissolve {
        /// Wanted \[g/L\].
        wanted: f64,
        /// Usual limit \[g/L\].
        most: f64,
    },
    /// Calcium with sulphate settles as gypsum: keep them in two stocks.
    CalciumWithSulphate,
    /// Calcium with phosphate settles: keep them in two stocks.
    CalciumWithPhosphate,
}

/// Looks at the salts of one stock solution: name and strength \[g/L\]. Names that are not in
/// [`SOLUBILITIES`] are judged by their strength alone.
pub fn check_stock(salts: &[(&str, f64)]) -> Vec<StockProblem> {
    let mut problems = Vec::new();
    let known = |name: &str| SOLUBILITIES.iter().find(|s| s.salt == name);
    for (name, wanted) in salts {
        match known(name) {
            Some(s) if *wanted > s.most.value => problems.push(StockProblem::TooStrong {
                salt: s.salt,
                wanted: *wanted,
                most: s.most.value,
            }),
            None if *wanted > READY_MIX.value => problems
                .push(StockProblem::MayNotDissolve { wanted: *wanted, most: READY_MIX.value }),
            _ => {}
        }
    }
    let any = |of: fn(&Solubility) -> bool| salts.iter().filter_map(|s| known(s.0)).any(of);
    if any(|s| s.calcium) && any(|s| s.sulphate) {
        problems.push(StockProblem::CalciumWithSulphate);
    }
    if any(|s| s.calcium) && any(|s| s.phosphate) {
        problems.push(StockProblem::CalciumWithPhosphate);
    }
    problems
}
