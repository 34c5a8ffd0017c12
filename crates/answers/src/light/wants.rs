//! What plants want of light, and in which words an amount is said.

use culture::{
    Estimate,
    light::daily::{CLASSES, LightClass},
};
use serde::Serialize;
use texts::Texts;

/// Standard normal quantile of the shown intervals' ends.
const Z80: f64 = 1.281_551_565_544_600_4;

/// What a plant wants \[mol m⁻² d⁻¹\]. Which class a genus belongs to is common practice, no source;
/// the classes have their evidence in the calculator.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Wants {
    /// From here on it keeps what it has.
    pub hold_from: f64,
    /// From here on it grows.
    pub grow_from: f64,
    /// From here on it flowers.
    pub flower_from: f64,
    /// From here on more does not help.
    pub flower_to: f64,
}

const GESNERIADS: [&str; 18] = [
    "Aeschynanthus",
    "Achimenes",
    "Alsobia",
    "Agalmyla",
    "Chirita",
    "Codonanthe",
    "Columnea",
    "Episcia",
    "Gesneria",
    "Gloxinia",
    "Kohleria",
    "Nematanthus",
    "Petrocosmea",
    "Primulina",
    "Saintpaulia",
    "Sinningia",
    "Smithiantha",
    "Streptocarpus",
];
const CLIMBERS: [&str; 5] = ["Dischidia", "Ceropegia", "Passiflora", "Jasminum", "Stephanotis"];
const BRIGHT: [&str; 9] = [
    "Cattleya",
    "Vanda",
    "Echeveria",
    "Crassula",
    "Aloe",
    "Sedum",
    "Kalanchoe",
    "Mammillaria",
    "Laelia",
];

fn class(name: &str) -> &'static LightClass {
    static ALL: [LightClass; 6] = CLASSES;
    // The first stands for a name that is none of them; a test holds every name used here.
    ALL.iter().find(|c| c.name == name).unwrap_or(&ALL[0])
}

impl Wants {
    /// What a genus wants; foliage plants of the shade where it is none of those known.
    #[must_use]
    pub fn of_genus(genus: &str) -> Self {
        let flowering = if CLIMBERS.contains(&genus) {
            "flowering epiphytic climbers"
        } else if BRIGHT.contains(&genus) {
            "high-light orchids and succulents"
        } else {
            "flowering gesneriads"
        };
        let (flower_from, flower_to) = class(flowering).range();
        // Foliage of the shade, such as begonias, flowers at the upper end of what it grows in.
        let foliage = !GESNERIADS.contains(&genus) && flowering == "flowering gesneriads";
        let (grow_from, grow_to) = class("growth of shade foliage").range();
        let (from, to) = if foliage {
            (f64::midpoint(grow_from, grow_to), flower_to)
        } else {
            (flower_from, flower_to)
        };
        Self {
            hold_from: class("holding indoors").range().0,
            grow_from,
            flower_from: from,
            flower_to: to,
        }
    }

    /// The classes with the least light of each, the brightest first.
    #[must_use]
    pub fn steps(&self) -> [(Enough, f64); 4] {
        [
            (Enough::Flower, self.flower_from),
            (Enough::Grow, self.grow_from),
            (Enough::Hold, self.hold_from),
            (Enough::Survive, class("survival only").range().0),
        ]
    }

    /// The class of an amount.
    #[must_use]
    pub fn enough(&self, light: f64) -> Enough {
        self.steps().into_iter().find(|s| light >= s.1).map_or(Enough::Dark, |s| s.0)
    }
}

/// What light is enough for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Enough {
    /// Not even for survival.
    Dark,
    /// Survival only.
    Survive,
    /// Holding what there is.
    Hold,
    /// Growth.
    Grow,
    /// Flowers.
    Flower,
}

impl Enough {
    /// In words.
    #[must_use]
    pub fn words(self, t: Texts) -> &'static str {
        match self {
            Self::Dark => t.t("too dark to live"),
            Self::Survive => t.t("survival only"),
            Self::Hold => t.t("holding"),
            Self::Grow => t.t("enough to grow"),
            Self::Flower => t.t("enough to flower"),
        }
    }
}

/// The chance that the light is at least this much.
#[must_use]
pub(crate) fn chance(light: &Estimate, least: f64) -> f64 {
    if light.value <= 0.0 {
        return f64::from(u8::from(least <= 0.0));
    }
    let sd = (light.upper / light.value).ln() / Z80;
    if sd <= 0.0 {
        return f64::from(u8::from(light.value >= least));
    }
    normal((light.value / least).ln() / sd)
}

/// The normal distribution, by the formula 26.2.17 of Abramowitz & Stegun (from memory; it is off
/// by less than 1e-7).
fn normal(z: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.231_641_9 * z.abs());
    let poly = t
        * (0.319_381_530
            + t * (-0.356_563_782
                + t * (1.781_477_937 + t * (-1.821_255_978 + t * 1.330_274_429))));
    let tail = (-z * z / 2.0).exp() / std::f64::consts::TAU.sqrt() * poly;
    if z >= 0.0 { 1.0 - tail } else { tail }
}

/// An amount in words, as sure as it is: plain from four in five, “likely” from three in five.
#[must_use]
pub(crate) fn said(light: &Estimate, wants: &Wants, t: Texts) -> (Enough, String) {
    for (enough, least) in wants.steps() {
        let chance = chance(light, least);
        if chance >= 0.8 {
            return (enough, enough.words(t).to_owned());
        }
        if chance >= 0.6 {
            return (enough, t.f("likely {enough}", &[("enough", &enough.words(t))]));
        }
        if chance >= 0.4 {
            let words = t.f("as likely as not {enough}", &[("enough", &enough.words(t))]);
            return (enough, words);
        }
    }
    (Enough::Dark, Enough::Dark.words(t).to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use texts::Lang;

    #[test]
    fn every_class_used_is_one_of_the_calculator() {
        for name in [
            "survival only",
            "holding indoors",
            "growth of shade foliage",
            "flowering gesneriads",
            "flowering epiphytic climbers",
            "high-light orchids and succulents",
        ] {
            assert_eq!(class(name).name, name);
        }
        let climbing = Wants::of_genus("Dischidia");
        assert!(climbing.flower_from > Wants::of_genus("Streptocarpus").flower_from);
        assert!(
            Wants::of_genus("Begonia").flower_from < Wants::of_genus("Streptocarpus").flower_from
        );
    }

    #[test]
    fn the_normal_distribution_is_that_of_the_tables() {
        // Abramowitz & Stegun, table 26.1: the formula claims 7.5e-8.
        for (z, p) in
            [(0.0, 0.5), (1.0, 0.841_344_746), (-1.96, 0.024_997_895), (3.0, 0.998_650_102)]
        {
            assert!((normal(z) - p).abs() < 1e-7, "{z}: {}", normal(z));
        }
    }

    #[test]
    fn words_are_no_surer_than_the_light() {
        let (t, wants) = (Texts::new(Lang::En), Wants::of_genus("Streptocarpus"));
        let words = |value, sd| said(&Estimate::lognormal(value, sd), &wants, t).1;
        assert_eq!(words(8.0, 0.3), "enough to flower");
        assert_eq!(words(4.4, 0.3), "likely enough to flower");
        assert_eq!(words(4.0, 0.3), "as likely as not enough to flower");
        assert_eq!(words(3.0, 0.3), "enough to grow");
        assert_eq!(words(0.8, 0.3), "holding");
        assert_eq!(words(0.2, 0.1), "survival only");
        assert_eq!(words(0.01, 0.1), "too dark to live");
        assert_eq!(said(&Estimate::exact(0.0), &wants, t).1, "too dark to live");
    }
}
