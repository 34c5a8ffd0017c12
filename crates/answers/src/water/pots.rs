//! A pot as drying sees it: what it is made of, where it stood, and what was seen.

use serde::Serialize;
use serde_json::{Map, Value};

use super::looks::{Happening, Wish};

/// What a pot is, as far as its drying goes. What is not known is absent.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Facts {
    /// Volume \[L\].
    pub litres: Option<f64>,
    /// Water leaves through the wall: terracotta, wood, net.
    pub breathing: bool,
    /// No pot at all: a mount or a basket.
    pub open: bool,
    /// It stands in a reservoir.
    pub reservoir: bool,
    /// Share of coarse parts in the mix, 0 to 1.
    pub coarse: Option<f64>,
}

/// A pot as tall as nine tenths of its width, a little narrower at the foot, holds so much \[L\] for
/// each cubed centimetre of its width. Common practice, no source: 9 cm are 0.41 L, 12 cm 0.98 L.
const LITRES_OF_WIDTH: f64 = 0.000_565;

/// Words of a mix that say “coarse”.
const COARSE: [&str; 14] = [
    "bark", "perlite", "leca", "clay", "pumice", "lava", "charcoal", "chips", "seramis", "gravel",
    "stone", "cork", "fern", "husk",
];

impl Facts {
    /// What an entry about potting says; what it leaves out stays as it was.
    #[must_use]
    pub fn potted(mut self, detail: &Map<String, Value>) -> Self {
        let word = |key: &str| detail.get(key).and_then(Value::as_str);
        if let Some(pot) = detail.get("pot")
            && let (Some(value), Some(unit)) =
                (pot.get("value").and_then(Value::as_f64), pot.get("unit").and_then(Value::as_str))
        {
            self.litres = Some(if unit == "cm" { LITRES_OF_WIDTH * value.powi(3) } else { value });
        }
        if let Some(material) = word("material") {
            self.breathing = matches!(material, "terracotta" | "wood" | "net");
        }
        if let Some(container) = word("container") {
            self.open = matches!(container, "mount" | "basket");
            self.reservoir = false;
        }
        if let Some(mix) = detail.get("mix").and_then(Value::as_object) {
            let parts = |(word, v): (&String, &Value)| {
                let coarse = COARSE.iter().any(|c| word.to_lowercase().contains(c));
                v.as_f64().map(|v| (v, if coarse { v } else { 0.0 }))
            };
            let (all, coarse) = mix
                .iter()
                .filter_map(parts)
                .fold((0.0, 0.0), |sum, part| (sum.0 + part.0, sum.1 + part.1));
            self.coarse = (all > 0.0).then(|| coarse / all);
        }
        self
    }
}

/// Everything about one plant that its drying hangs on.
#[derive(Debug, Clone, PartialEq)]
pub struct Pot {
    /// What it is known by: the row of the plant, or any number of one's own.
    pub key: i64,
    /// Plants of one species borrow from each other first; empty if nothing is known.
    pub species: String,
    /// Then plants of one genus.
    pub genus: String,
    /// How dry it is let become.
    pub wish: Wish,
    /// What was seen and done, earliest first.
    pub happenings: Vec<Happening>,
    /// What the pot was before the first potting among the happenings.
    pub facts: Facts,
    /// Where it stood: from which day on \[days since 1970-01-01\], and the key of the place.
    pub places: Vec<(i64, i64)>,
}

impl Pot {
    /// Where it stood on a day.
    #[must_use]
    pub fn place_on(&self, day: i64) -> Option<i64> {
        let later = self.places.partition_point(|p| p.0 <= day);
        self.places.get(later.saturating_sub(1)).map(|p| p.1)
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn potted(detail: &Value) -> Facts {
        Facts::default().potted(detail.as_object().unwrap())
    }

    #[test]
    fn a_potting_tells_what_the_pot_is() {
        let facts = potted(&json!({
            "pot": {"typed": "12 cm", "value": 12.0, "unit": "cm"},
            "material": "terracotta", "container": "pot", "mix": {"Bark": 4, "perlite": 2, "coir": 2},
        }));
        // 12³ × 0.000565, by hand.
        assert!((facts.litres.unwrap() - 0.976).abs() < 0.001);
        assert!(facts.breathing && !facts.open && !facts.reservoir);
        assert_eq!(facts.coarse, Some(0.75));
        let litres = potted(&json!({"pot": {"typed": "2 l", "value": 2.0, "unit": "l"}}));
        assert_eq!(litres.litres, Some(2.0));
        assert!(potted(&json!({"container": "mount"})).open);
    }

    #[test]
    fn what_a_potting_leaves_out_stays() {
        let before = Facts { litres: Some(0.5), breathing: true, ..Facts::default() };
        assert_eq!(before.potted(&Map::new()), before);
    }

    #[test]
    fn a_plant_stands_where_it_was_last_put() {
        let pot = Pot {
            key: 1,
            species: String::new(),
            genus: String::new(),
            wish: Wish::JustDry,
            happenings: Vec::new(),
            facts: Facts::default(),
            places: vec![(10, 7), (20, 8)],
        };
        // Before the first move it is taken to have stood where it is first known to be.
        let found = [5, 10, 19, 20, 99].map(|d| pot.place_on(d));
        assert_eq!(found, [Some(7), Some(7), Some(7), Some(8), Some(8)]);
        assert_eq!(Pot { places: Vec::new(), ..pot }.place_on(5), None);
    }
}
