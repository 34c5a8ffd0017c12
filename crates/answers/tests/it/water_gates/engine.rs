//! A simulated house as the engine of water sees it, and the species' average beside it.

use std::collections::BTreeMap;

use answers::water::{Climate, Facts, Found, Happening, Night, Pot, What, Wish, follow, night};
use culture::clock::DayClimate;
use journal::Known;
use stats::model::{Fixed, Frame};
use stats::survival::drying::{
    Cycle, DryingFit, DryingPrior, PlantCycle, PlantState, Plants, fit_drying,
};
use stats::survival::parametric::Law;
use trial::water::{House, Material, Written};

/// What one written entry says.
fn what(w: &Written) -> What {
    let word = |key: &str| w.detail.get(key).and_then(|v| v.as_str());
    let number = |key: &str| word(key)?.split(' ').next()?.parse::<f64>().ok();
    let flag = |key: &str| w.detail.contains_key(key);
    let found = word("found").and_then(Found::of_word);
    match w.kind {
        "potted" => What::Potted(Facts {
            // A cone's stump, 0.9 times as high as wide.
            litres: number("pot").map(|cm| 0.000_545 * cm.powi(3)),
            breathing: word("material") == Some(Material::Terracotta.as_str()),
            ..Facts::default()
        }),
        "weighed" => What::Weighed { grams: number("weight").unwrap() },
        "watered" => What::Look {
            found: found.or(flag("round").then_some(Found::Dry)),
            watered: true,
            limp: flag("limp"),
            full: number("weight_after"),
        },
        _ => What::Look { found, watered: false, limp: flag("limp"), full: None },
    }
}

/// All pots with everything that was ever written about them.
pub fn pots(house: &House) -> Vec<Pot> {
    let mut happenings = vec![Vec::new(); house.pots.len()];
    for w in &house.written {
        happenings[w.plant].push(Happening {
            from: w.day,
            to: w.day,
            what: what(w),
            known: Known::Seen,
        });
    }
    (house.pots.iter().zip(happenings).zip(0..))
        .map(|((pot, happenings), key)| Pot {
            key,
            species: format!("Begonia no. {}", pot.species),
            genus: "Begonia".to_owned(),
            wish: Wish::JustDry,
            happenings,
            facts: Facts::default(),
            places: vec![(i64::MIN / 2, pot.place as i64)],
        })
        .collect()
}

/// A pot as it was known in the evening of a day.
pub fn as_of(pot: &Pot, day: i64) -> Pot {
    let known = pot.happenings.partition_point(|h| h.to <= day);
    Pot { happenings: pot.happenings[..known].to_vec(), ..pot.clone() }
}

/// The climates that were written down up to a day.
fn climates(house: &House, day: i64) -> BTreeMap<i64, Climate> {
    let first = house.world.first_day;
    (house.places.iter().zip(0..))
        .filter(|(place, _)| place.logged)
        .map(|(place, key)| {
            let days = (first..=day).map(|d| place.on(d));
            let days = days.map(|a| DayClimate { deficit: Some(a.deficit), light: Some(a.light) });
            (key, (first, days.collect()))
        })
        .collect()
}

/// What the engine learns from everything that was written up to a day.
pub fn learn(house: &House, pots: &[Pot], day: i64) -> Night {
    let known: Vec<Pot> = pots.iter().map(|p| as_of(p, day)).collect();
    night(&known, &climates(house, day), day).unwrap()
}

/// The species' average alone: how long its pots take in days, whatever plant, pot, place and weather.
pub struct Average {
    fit: DryingFit,
}

/// How often a look is misread: what the engine takes as well.
const MISREAD: f64 = 0.05;

impl Average {
    pub fn learn(house: &House, pots: &[Pot], day: i64) -> Self {
        let mut cycles = Vec::new();
        for (pot, truth) in pots.iter().zip(&house.pots) {
            let known = as_of(pot, day);
            for d in follow(&known.happenings, known.wish, known.facts).past {
                let after = |day: i64| (day - d.since) as f64;
                let moist = d.moist.filter(|m| *m > d.since).map(after);
                let cycle = match (moist, d.dry.map(after)) {
                    (Some(moist), Some(dry)) => Cycle::Between(moist, dry),
                    (None, Some(dry)) => Cycle::FoundDry(dry),
                    (Some(moist), None) => Cycle::StillMoist(moist),
                    (None, None) => continue,
                };
                cycles.push(PlantCycle { plant: truth.species as u32, cycle, offset: 0.0 });
            }
        }
        let species = house.world.species;
        // A species takes the part of a plant, and its pots that of single dryings.
        let prior = DryingPrior { event: 0.5, misread: MISREAD, ..DryingPrior::usual(1) };
        let design = Fixed::build(&Frame::new(species), &[]).unwrap();
        let of = vec![0; species];
        let plants = Plants { species: &of, design: &design };
        Self { fit: fit_drying(&cycles, plants, &prior, None).unwrap() }
    }

    pub fn of(&self, species: usize) -> PlantState {
        PlantState::after(&self.fit, species, Law::Lognormal, MISREAD).unwrap()
    }
}
