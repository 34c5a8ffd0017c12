//! What a pot with its mix holds, from the words of an entry.

use std::collections::BTreeMap;

use culture::{
    Estimate,
    substrate::{Held, Material, Mix, Part, Pot, PotTest, material},
};
use serde::Serialize;
use serde_json::{Map, Value};

use crate::feed::Kept;

/// Height and floor of a common pot against its width at the top. Common practice, no source:
/// measured pots lie within a sixth of it, which `VOLUME` allows for.
const HEIGHT: f64 = 0.85;
const FLOOR: f64 = 0.75;
/// How far off the volume of a pot of a known width is, as a factor.
const VOLUME: f64 = 0.15;
/// Water that a mix of which nothing is known holds \[% of volume\]: bark mixes to peat. Common
/// practice, no source.
const NO_MIX: Estimate = Estimate { value: 40.0, lower: 25.0, upper: 65.0 };

/// Water that a pot holds after draining \[mL\].
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct HeldWater {
    /// Volume of the pot \[mL\].
    pub volume: Estimate,
    /// Water \[mL\].
    pub water: Estimate,
    /// Whether the mix was tested at the sink.
    pub tested: bool,
}

/// What a mix holds in a pot.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MixHeld {
    /// Air after draining \[% of volume\].
    pub air: Estimate,
    /// Water after draining \[% of volume\].
    pub water: Estimate,
    /// Whether it comes from a test at the sink.
    pub tested: bool,
    /// Materials of which nothing is known here; they were left out.
    pub unknown: Vec<String>,
}

/// The material that a word of a mix means, as far as this program has one measured. The words are
/// those of the trade in English and German.
fn material_of(word: &str) -> Option<&'static Material> {
    let word = word.trim().to_lowercase();
    let any = |words: &[&str]| words.iter().any(|w| word.contains(w));
    let name = if any(&["perlite", "perlit"]) {
        "coarse perlite"
    } else if any(&["pine bark fine", "fine bark", "feinrinde"]) {
        "pine bark"
    } else if any(&["bark", "rinde", "pinie"]) {
        "orchid bark 10-20 mm"
    } else if any(&["coir", "coco", "kokos"]) {
        "coir dust"
    } else if any(&["peat", "torf", "sphagnum", "moss", "moos"]) {
        "sphagnum peat"
    } else if any(&["leca", "clay", "ton"]) {
        "expanded clay 8-16 mm"
    } else {
        word.as_str()
    };
    material(name)
}

/// A common pot of this width at the top \[cm\].
pub(crate) fn common_pot(width: f64) -> Option<Pot> {
    Pot::tapered(HEIGHT * width, FLOOR * width, width).ok()
}

/// The pot of an entry: its shape, and its volume \[mL\].
pub(crate) fn pot_of(detail: &Map<String, Value>) -> Option<(Pot, Estimate)> {
    let pot = detail.get("pot")?;
    let value = pot.get("value").and_then(Value::as_f64).filter(|v| *v > 0.0)?;
    if pot.get("unit").and_then(Value::as_str) == Some("l") {
        // The width at which a common pot has this volume: it grows with the third power.
        let one = common_pot(10.0)?.volume();
        let width = 10.0 * (1000.0 * value / one).cbrt();
        return Some((common_pot(width)?, Estimate::exact(1000.0 * value)));
    }
    let shape = common_pot(value)?;
    Some((shape, Estimate::lognormal(shape.volume(), VOLUME)))
}

/// The recipe of an entry.
pub(crate) fn recipe_of(detail: &Map<String, Value>) -> BTreeMap<String, f64> {
    let mix = detail.get("mix").and_then(Value::as_object);
    mix.into_iter().flatten().filter_map(|(k, v)| Some((k.clone(), v.as_f64()?))).collect()
}

/// What a mix holds in a pot: from its test where there is one, otherwise from its parts, give or
/// take 10 points. `None` where nothing is known of any part.
pub fn mix_in_pot(recipe: &BTreeMap<String, f64>, pot: &Pot, kept: &Kept) -> Option<MixHeld> {
    if let Some(test) = kept.mix_of(recipe).and_then(|m| m.test) {
        let held = PotTest::result(&test.pot_test()).ok()?.in_pot(test.height, pot).ok()?;
        let Held { air, water } = held;
        return Some(MixHeld { air, water, tested: true, unknown: Vec::new() });
    }
    let mut parts = Vec::new();
    let mut unknown = Vec::new();
    for (word, n) in recipe {
        match material_of(word) {
            Some(material) => parts.push(Part { material, parts: *n }),
            None => unknown.push(word.clone()),
        }
    }
    let found = Mix::new(parts).ok()?.estimate();
    Some(MixHeld { air: found.air, water: found.capacity, tested: false, unknown })
}

/// Water that the pot of an entry holds; `None` where its size is not told.
pub(crate) fn held_water(detail: &Map<String, Value>, kept: &Kept) -> Option<HeldWater> {
    let (shape, volume) = pot_of(detail)?;
    let found = mix_in_pot(&recipe_of(detail), &shape, kept);
    let share = found.as_ref().map_or(NO_MIX, |f| f.water);
    let value = volume.value * share.value / 100.0;
    let side = |v: f64, s: f64| ((v / volume.value).ln()).hypot((s.max(1.0) / share.value).ln());
    let water = Estimate {
        value,
        lower: value / side(volume.lower, share.lower).exp(),
        upper: value * side(volume.upper, share.upper).exp(),
    };
    Some(HeldWater { volume, water, tested: found.is_some_and(|f| f.tested) })
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn detail(value: &Value) -> Map<String, Value> {
        value.as_object().cloned().unwrap()
    }

    #[test]
    fn a_pot_of_a_width_has_a_volume_and_a_volume_has_a_height() {
        let ten = detail(&json!({"pot": {"typed": "10 cm", "value": 10.0, "unit": "cm"}}));
        let (shape, volume) = pot_of(&ten).unwrap();
        // A cone's frustum: π/12 · 8.5 · (7.5² + 7.5 · 10 + 10²) = 514.6 mL.
        assert!((volume.value - 514.6).abs() < 0.1, "{volume:?}");
        assert!((shape.height() - 8.5).abs() < 1e-9);
        let two = detail(&json!({"pot": {"typed": "2 L", "value": 2.0, "unit": "l"}}));
        let (shape, volume) = pot_of(&two).unwrap();
        assert!((shape.volume() - 2000.0).abs() < 1e-6);
        assert!((volume.lower - 2000.0).abs() < 1e-9, "a volume as told is taken as told");
        assert!(pot_of(&Map::new()).is_none());
    }

    #[test]
    fn words_of_a_mix_are_known_materials_or_named_as_unknown() {
        let recipe: BTreeMap<String, f64> =
            [("bark", 4.0), ("perlite", 3.0), ("coir", 2.0), ("charcoal", 1.0)]
                .map(|(k, v)| (k.to_owned(), v))
                .into();
        let pot = common_pot(10.0).unwrap();
        let held = mix_in_pot(&recipe, &pot, &Kept::default()).unwrap();
        // By shares of the nine known parts: (4 · 20 + 3 · 25 + 2 · 76.5)/9 = 34.2 % water.
        assert!((held.water.value - 308.0 / 9.0).abs() < 1e-9, "{held:?}");
        assert!((held.water.upper - held.water.value - 10.0).abs() < 1e-9, "ten points");
        assert_eq!((held.tested, held.unknown), (false, vec!["charcoal".to_owned()]));
    }

    #[test]
    fn a_test_at_the_sink_replaces_the_table() {
        let recipe: BTreeMap<String, f64> = [("bark".to_owned(), 1.0)].into();
        let test =
            crate::feed::MixTest { volume: 500.0, filled: 400.0, drained: 250.0, height: 8.5 };
        let mix = crate::feed::MixKept {
            number: 1,
            name: "bark alone".to_owned(),
            recipe: [("Bark".to_owned(), 4.0)].into(),
            test: Some(test),
        };
        let kept = Kept { mixes: vec![mix], ..Kept::default() };
        let pot = common_pot(10.0).unwrap();
        let held = mix_in_pot(&recipe, &pot, &kept).unwrap();
        // 250 of 500 mL are air and 150 water; the shape of the pot moves it a little.
        assert!(held.tested && (held.water.value - 30.0).abs() < 3.0, "{held:?}");
        assert!(held.water.upper - held.water.lower < 20.0, "narrower than the table: {held:?}");
    }
}
