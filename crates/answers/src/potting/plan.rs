//! How much of each material to prepare for some pots, what the mix holds in them, what it costs,
//! and what the larger pot does to drying.

use std::collections::BTreeMap;

use culture::{Estimate, substrate::loose_volume};
use journal::{PlantRow, Reader};
use serde::Serialize;
use serde_json::{Map, Value};

use super::{
    held::{MixHeld, common_pot, mix_in_pot, pot_of, recipe_of},
    list::next_pot,
};
use crate::{
    AskError, Hand, NameText, Result,
    acts::plants::need_plant,
    acts::recipe,
    feed::{Kept, Price, kept, number},
    name_text,
    said::{figures, range_figures},
    sentence::money,
};

/// Longer than this a pot stays wet for plants that rot easily \[d\]. Common practice, no source.
const TOO_LONG: f64 = 12.0;

/// What is asked for, as typed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct MixInput {
    /// Numbers of the plants to pot.
    pub plants: Vec<i64>,
    /// A mix of the shelf by name or number, or parts by volume: `bark 4, perlite 3`; empty for the
    /// mix that each plant stands in.
    pub mix: String,
    /// Width of the pots \[cm\], or their volume with `L`; empty for the next size of each.
    pub pot: String,
    /// How much filling shrinks it \[%\]; empty for 15 (10 to 20).
    pub shrinkage: String,
}

/// One pot of the plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlannedPot {
    /// The plant.
    pub plant: i64,
    /// What it is called here.
    pub name: NameText,
    /// Its pot now, as typed; may be empty.
    pub from: String,
    /// The pot to take, in words.
    pub to: String,
    /// Volume of the pot to take \[L\].
    pub litres: f64,
    /// Times as large as the pot now, where that is known.
    pub times: Option<f64>,
    /// How long it dries now \[d\], where that is known.
    pub dries: Option<f64>,
    /// How long it is to dry then \[d\].
    pub will_dry: Option<f64>,
    /// What to know about it, in the reader's language; may be empty.
    pub note: String,
}

/// One material of the plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MixPart {
    /// The material.
    pub material: String,
    /// Loose \[L\].
    pub litres: f64,
    /// In words.
    pub amount: String,
    /// What it costs, in words; empty where its price is not on the shelf.
    pub cost: String,
}

/// The plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MixPlan {
    /// The pots.
    pub pots: Vec<PlannedPot>,
    /// Volume of all pots \[L\].
    pub filled: f64,
    /// Loose mix to prepare \[L\].
    pub loose: Estimate,
    /// The same in words.
    pub loose_words: String,
    /// Each material, the largest first.
    pub parts: Vec<MixPart>,
    /// What the mix holds in the first of the pots.
    pub held: Option<MixHeld>,
    /// The same in words; empty where nothing is known.
    pub held_words: String,
    /// What each plant costs, in words; empty where no price is known.
    pub cost_each: String,
    /// Materials without a price.
    pub no_price: Vec<String>,
}

/// Plans the potting of some plants.
///
/// # Errors
/// If no plant is named, one is not there, a pot's size is not known, or what was typed cannot be
/// read.
pub fn plan(reader: &Reader<'_>, input: &MixInput, hand: &Hand) -> Result<MixPlan> {
    if input.plants.is_empty() {
        return Err(AskError::field("plants", "", "is empty; choose at least one plant"));
    }
    let kept = kept(reader)?;
    let typed_pot = typed_pot(&input.pot)?;
    let typed_mix = typed_mix(&input.mix, &kept)?;
    let shrinkage = number("shrinkage", &input.shrinkage, 0.0, 60.0)?;
    let mut pots = Vec::new();
    let mut volumes: BTreeMap<String, f64> = BTreeMap::new();
    let mut first = None;
    let off = |e: culture::OutOfRange| AskError::field("pots", "", e.to_string());
    for number in &input.plants {
        let plant = need_plant(reader, *number)?;
        let potted = reader.entries_of_kinds(plant.id, &["potted"])?.pop();
        let detail = potted.map(|e| e.detail).unwrap_or_default();
        let pot = planned(reader, &plant, &detail, typed_pot.as_ref(), hand)?;
        let recipe = match &typed_mix {
            Some(recipe) => recipe.clone(),
            None => recipe_of(&detail),
        };
        if recipe.is_empty() {
            let problem = "has no mix recorded; write the mix to use, such as bark 4, perlite 3";
            return Err(AskError::field("mix", &format!("plant {number}"), problem));
        }
        let loose = loose_volume(1.0, pot.litres, shrinkage).map_err(off)?;
        let parts: f64 = recipe.values().sum();
        for (material, n) in &recipe {
            *volumes.entry(material.clone()).or_default() += loose.value * n / parts;
        }
        if first.is_none() {
            first = Some((recipe, pot.litres));
        }
        pots.push(pot);
    }
    let filled: f64 = pots.iter().map(|p| p.litres).sum();
    let loose = loose_volume(1.0, filled, shrinkage).map_err(off)?;
    let held = first.and_then(|(recipe, litres)| held_in(&recipe, litres, &kept));
    Ok(finished(pots, (filled, loose), volumes, held, &kept, hand))
}

/// What a mix holds in a common pot of this volume \[L\].
fn held_in(recipe: &BTreeMap<String, f64>, litres: f64, kept: &Kept) -> Option<MixHeld> {
    let one = common_pot(10.0)?.volume();
    let pot = common_pot(10.0 * (1000.0 * litres / one).cbrt())?;
    mix_in_pot(recipe, &pot, kept)
}

/// A pot as typed: its words, and its volume \[L\].
fn typed_pot(typed: &str) -> Result<Option<(String, f64)>> {
    if typed.trim().is_empty() {
        return Ok(None);
    }
    let read = journal::Quantity::read(typed, journal::Dimension::Pot)
        .map_err(|e| AskError::field("pot", typed, e.to_string()))?;
    let detail = Map::from_iter([("pot".to_owned(), serde_json::json!(read))]);
    let (_, volume) = pot_of(&detail)
        .ok_or_else(|| AskError::field("pot", typed, "is no size of a pot; write 12 cm or 2 L"))?;
    Ok(Some((typed.trim().to_owned(), volume.value / 1000.0)))
}

fn typed_mix(typed: &str, kept: &Kept) -> Result<Option<BTreeMap<String, f64>>> {
    if typed.trim().is_empty() {
        return Ok(None);
    }
    if let Some(mix) = kept.mix(typed) {
        return Ok(Some(mix.recipe.clone()));
    }
    let parts = recipe(typed)?;
    let parts = parts.as_object().cloned().unwrap_or_default();
    Ok(Some(parts.into_iter().filter_map(|(k, v)| Some((k, v.as_f64()?))).collect()))
}

fn planned(
    reader: &Reader<'_>,
    plant: &PlantRow,
    detail: &Map<String, Value>,
    typed: Option<&(String, f64)>,
    hand: &Hand,
) -> Result<PlannedPot> {
    let t = hand.texts();
    let now = pot_of(detail).map(|p| p.1.value / 1000.0);
    let (to, litres) = match (typed, next_pot(detail)) {
        (Some((words, litres)), _) => (words.clone(), *litres),
        (None, Some(width)) => {
            let litres = common_pot(width).map_or(0.0, |p| p.volume() / 1000.0);
            (t.f("{n} cm", &[("n", &figures(width, 3, t.lang()))]), litres)
        }
        (None, None) => {
            let problem = "has no pot recorded; write the size of the pots to take";
            return Err(AskError::field("pot", &format!("plant {}", plant.number), problem));
        }
    };
    let answer = crate::water::drying(reader, plant.number, hand)?;
    let dries = answer.usually.and_then(|e| e.value);
    let times = now.map(|n| litres / n);
    let will_dry = dries.zip(times).map(|(d, x)| d * x);
    let note = match will_dry {
        Some(d) if d > TOO_LONG => t.f(
            "would take about {n} days to dry: for a plant that rots easily take a smaller pot or an airier mix; common practice",
            &[("n", &figures(d, 2, t.lang()))],
        ),
        Some(d) => t.f("about {n} days to dry, until roots fill it", &[("n", &figures(d, 2, t.lang()))]),
        None => String::new(),
    };
    let typed_now = detail.get("pot").and_then(|p| p.get("typed")).and_then(Value::as_str);
    let name = if plant.name.is_empty() {
        NameText::words(t.t("not named"))
    } else {
        name_text(&plant.name)
    };
    Ok(PlannedPot {
        plant: plant.number,
        name,
        from: typed_now.unwrap_or("").to_owned(),
        to,
        litres,
        times,
        dries,
        will_dry,
        note,
    })
}

/// Price of a litre of a material, where the shelf has one, with its currency.
fn litre_price(material: &str, kept: &Kept) -> Option<(f64, Option<String>)> {
    let wanted = material.trim().to_lowercase();
    let found = kept.materials.iter().find(|m| m.name.to_lowercase() == wanted)?;
    let Price { amount, currency, litres, .. } = found.price.as_ref()?;
    Some((amount / litres.filter(|l| *l > 0.0)?, currency.clone()))
}

fn finished(
    pots: Vec<PlannedPot>,
    (filled, loose): (f64, Estimate),
    volumes: BTreeMap<String, f64>,
    held: Option<MixHeld>,
    kept: &Kept,
    hand: &Hand,
) -> MixPlan {
    let t = hand.texts();
    let litres = |v: f64| t.f("{n} L", &[("n", &figures(v, 3, t.lang()))]);
    let paid = |amount: f64, currency: &Option<String>| {
        money(
            &serde_json::json!({"amount": (100.0 * amount).round() / 100.0, "currency": currency}),
        )
    };
    let mut no_price = Vec::new();
    let mut sums: BTreeMap<Option<String>, f64> = BTreeMap::new();
    let mut parts = Vec::new();
    for (material, volume) in volumes {
        let cost = match litre_price(&material, kept) {
            Some((each, currency)) => {
                *sums.entry(currency.clone()).or_default() += each * volume;
                paid(each * volume, &currency)
            }
            None => {
                no_price.push(material.clone());
                String::new()
            }
        };
        parts.push(MixPart { material, litres: volume, amount: litres(volume), cost });
    }
    parts.sort_by(|a, b| b.litres.total_cmp(&a.litres));
    #[allow(clippy::cast_precision_loss)]
    let each = |sum: f64| sum / pots.len() as f64;
    let cost_each: Vec<String> = sums.iter().map(|(c, sum)| paid(each(*sum), c)).collect();
    let held_words = held.as_ref().map(|h| held_words(h, hand)).unwrap_or_default();
    let loose_words = if (loose.upper - loose.lower).abs() < 1e-9 {
        litres(loose.value)
    } else {
        t.f(
            "{n} L ({range})",
            &[
                ("n", &figures(loose.value, 3, t.lang())),
                ("range", &range_figures(loose.lower, loose.upper, 3, t.lang())),
            ],
        )
    };
    MixPlan {
        filled,
        loose,
        loose_words,
        parts,
        held,
        held_words,
        cost_each: cost_each.join(" + "),
        no_price,
        pots,
    }
}

fn held_words(h: &MixHeld, hand: &Hand) -> String {
    let t = hand.texts();
    let range = |e: &Estimate| range_figures(e.lower.round(), e.upper.round(), 2, t.lang());
    let values: [(&str, &dyn std::fmt::Display); 4] = [
        ("air", &figures(h.air.value.round(), 2, t.lang())),
        ("a", &range(&h.air)),
        ("water", &figures(h.water.value.round(), 2, t.lang())),
        ("w", &range(&h.water)),
    ];
    let mut out = if h.tested {
        t.f("air {air} % ({a}), water {water} % ({w}) of the pot after draining, by your test at the sink", &values)
    } else {
        t.f("air {air} % ({a}), water {water} % ({w}) of the pot after draining, by its parts give or take 10 points; a test at the sink replaces this", &values)
    };
    if !h.unknown.is_empty() {
        out.push_str("; ");
        out.push_str(
            &t.f("not measured here and left out: {names}", &[("names", &h.unknown.join(", "))]),
        );
    }
    out
}
