//! What a label says, in mg/L.

use serde::Serialize;

use crate::{
    Basis, Constant, Estimate, Spread,
    limits::{OutOfRange, within},
};

const PHOSPHORUS: Constant = weights("phosphorus_in_oxide", 0.436_427);
const POTASSIUM: Constant = weights("potassium_in_oxide", 0.830_151);
const SPOON: Constant = Constant {
    name: "level_teaspoon",
    value: 5.5,
    unit: "g",
    spread: Spread::Range(4.1, 6.9),
    basis: Basis::CommonPractice,
    source: "",
};
const UREA_FLAG: Constant = flag("urea_share_flagged", 25.0);
const AMMONIACAL_FLAG: Constant = flag("ammonium_and_urea_share_flagged", 40.0);

const PH_DOWN: Constant = flag("ammoniacal_share_ph_down_above", 55.0);
const PH_UP: Constant = flag("ammoniacal_share_ph_up_below", 25.0);

const fn weights(name: &'static str, value: f64) -> Constant {
    Constant {
        name,
        value,
        unit: "g/g",
        spread: Spread::None,
        basis: Basis::Definition,
        source: "IUPAC atomic weights",
    }
}

const fn flag(name: &'static str, value: f64) -> Constant {
    Constant {
        name,
        value,
        unit: "% of N",
        spread: Spread::Sd(5.0),
        basis: Basis::CommonPractice,
        source: "",
    }
}

pub(super) const CONSTANTS: [Constant; 7] =
    [PHOSPHORUS, POTASSIUM, SPOON, UREA_FLAG, AMMONIACAL_FLAG, PH_DOWN, PH_UP];

/// The analysis on a label, % by mass: nitrogen, phosphorus and potassium as oxides, and calcium
/// and magnesium as elements.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Label {
    /// N \[%\].
    pub nitrogen: f64,
    /// P₂O₅ \[%\].
    pub phosphate: f64,
    /// K₂O \[%\].
    pub potash: f64,
    /// Ca \[%\].
    pub calcium: f64,
    /// Mg \[%\].
    pub magnesium: f64,
}

/// Elements \[mg/L\].
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Nutrients {
    /// Nitrogen.
    pub nitrogen: f64,
    /// Phosphorus.
    pub phosphorus: f64,
    /// Potassium.
    pub potassium: f64,
    /// Calcium.
    pub calcium: f64,
    /// Magnesium.
    pub magnesium: f64,
}

impl Label {
    /// A label with N–P₂O₅–K₂O alone.
    ///
    /// # Errors
    /// When a share is outside of 0 to 100 %, or all together are above 100 %.
    pub fn npk(nitrogen: f64, phosphate: f64, potash: f64) -> Result<Self, OutOfRange> {
        Self { nitrogen, phosphate, potash, ..Self::default() }.checked()
    }

    /// The same label after a look at its numbers.
    ///
    /// # Errors
    /// When a share is outside of 0 to 100 %, or all together are above 100 %.
    pub fn checked(self) -> Result<Self, OutOfRange> {
        within("N of the label", self.nitrogen, "%", 0.0, 100.0)?;
        within("P2O5 of the label", self.phosphate, "%", 0.0, 100.0)?;
        within("K2O of the label", self.potash, "%", 0.0, 100.0)?;
        within("Ca of the label", self.calcium, "%", 0.0, 100.0)?;
        within("Mg of the label", self.magnesium, "%", 0.0, 100.0)?;
        let sum = self.nitrogen + self.phosphate + self.potash + self.calcium + self.magnesium;
        within("sum of the label", sum, "%", 0.0, 100.0)?;
        Ok(self)
    }

    /// Elements \[mg/L\] of so much fertiliser \[g/L\].
    pub fn at(&self, grams_per_litre: f64) -> Nutrients {
        let each = 10.0 * grams_per_litre;
        Nutrients {
            nitrogen: each * self.nitrogen,
            phosphorus: each * self.phosphate * PHOSPHORUS.value,
            potassium: each * self.potash * POTASSIUM.value,
            calcium: each * self.calcium,
            magnesium: each * self.magnesium,
        }
    }

    /// Fertiliser \[g/L\] for so much nitrogen \[mg/L\].
    ///
    /// # Errors
    /// When there is no nitrogen in it, or the target is outside of 0 to 10,000 mg/L.
    pub fn for_nitrogen(&self, target: f64) -> Result<f64, OutOfRange> {
        within("nitrogen wanted", target, "mg/L", 0.0, 10_000.0)?;
        within("N of the label", self.nitrogen, "%", 1e-6, 100.0)?;
        Ok(target / (10.0 * self.nitrogen))
    }
}

/// Elements \[mg/L\] of several fertilisers in one tank: label and amount \[g/L\].
pub fn tank(parts: &[(Label, f64)]) -> Nutrients {
    parts.iter().fold(Nutrients::default(), |sum, (label, grams)| {
        let more = label.at(*grams);
        Nutrients {
            nitrogen: sum.nitrogen + more.nitrogen,
            phosphorus: sum.phosphorus + more.phosphorus,
            potassium: sum.potassium + more.potassium,
            calcium: sum.calcium + more.calcium,
            magnesium: sum.magnesium + more.magnesium,
        }
    })
}

/// A spoon used as a measure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spoon {
    /// What it holds \[g\].
    pub grams: Estimate,
}

impl Spoon {
    /// A level teaspoon of powder or crystals: 5.5 g, from 4.1 to 6.9.
    pub fn level_teaspoon() -> Self {
        Self { grams: Estimate::spread(SPOON.value, SPOON.spread) }
    }

    /// Nitrogen \[mg/L\] of so many spoons in so many litres.
    ///
    /// # Errors
    /// When spoons or litres are out of range.
    pub fn nitrogen(
        &self,
        label: &Label,
        spoons: f64,
        litres: f64,
    ) -> Result<Estimate, OutOfRange> {
        within("spoons", spoons, "spoons", 0.0, 1e4)?;
        within("water", litres, "L", 1e-3, 1e6)?;
        Ok(self.grams.map(|g| label.at(g * spoons / litres).nitrogen))
    }
}

/// Nitrogen of a label by its form, % by mass.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Nitrogen {
    /// As nitrate.
    pub nitrate: f64,
    /// As ammonium.
    pub ammonium: f64,
    /// As urea.
    pub urea: f64,
}

/// Where a feed moves the pH of the root zone; the shares from which it does are common practice.
/// Only the direction can be said: how far depends on
/// alkalinity, lime and growth.
///
/// Source: Mattson, Leatherwood & Peters 2009, GMPro June, "Nitrogen: all forms are not equal";
/// Currey, "Know your nitrogen", Greenhouse Management.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PhDirection {
    /// More ammonium and urea than nitrate: downwards.
    Down,
    /// More nitrate: upwards, while the plant grows.
    Up,
    /// About as much of both.
    Unclear,
}

impl Nitrogen {
    /// All nitrogen \[%\].
    pub fn total(&self) -> f64 {
        self.nitrate + self.ammonium + self.urea
    }

    /// Share of the nitrogen that is urea \[%\]; it does not conduct, so no meter shows it.
    pub fn urea_share(&self) -> f64 {
        100.0 * self.urea / self.total()
    }

    /// Share of the nitrogen that is ammonium or urea \[%\].
    pub fn ammoniacal_share(&self) -> f64 {
        100.0 * (self.ammonium + self.urea) / self.total()
    }

    /// Whether it is slow in a substrate without microbes: urea above 25 %, or ammonium and urea
    /// above 40 % of the nitrogen. Common practice.
    pub fn slow_without_microbes(&self) -> bool {
        self.urea_share() > UREA_FLAG.value || self.ammoniacal_share() > AMMONIACAL_FLAG.value
    }

    /// Where it moves the pH.
    pub fn ph_direction(&self) -> PhDirection {
        match self.ammoniacal_share() {
            share if share > PH_DOWN.value => PhDirection::Down,
            share if share < PH_UP.value => PhDirection::Up,
            _ => PhDirection::Unclear,
        }
    }
}
