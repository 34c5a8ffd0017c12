//! A simulated breeder as the engine of crosses sees it, and the genus average beside it.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use answers::crossing::{Attempt, Beliefs, CloneFacts, Crosses, Engine, Facts, Group, Pollen};
use descent::{Individual, Pedigree};
use journal::Uid;
use stats::success::RateKnown;
use trial::breeders::Breeder;

/// The identifier of a clone.
pub fn uid(clone: usize) -> Uid {
    format!("00000000-0000-7000-8000-{clone:012}").parse().unwrap()
}

fn facts(breeder: &Breeder, uid: &dyn Fn(usize) -> Uid) -> Facts {
    let clones = breeder.clones.iter().enumerate().map(|(i, clone)| {
        let mut species: BTreeMap<String, f64> = BTreeMap::new();
        for s in clone.species {
            *species.entry(format!("Streptocarpus s{s}")).or_insert(0.0) += 0.5;
        }
        let section = breeder.species_of(i).map(|s| format!("section {}", breeder.sections[s]));
        CloneFacts {
            uid: uid(i),
            root: uid(i),
            number: i as i64 + 1,
            name: String::new(),
            genus: "Streptocarpus".to_owned(),
            group: Group::Gesneriad,
            species,
            ploidy: None,
            section,
            clade: None,
            genes: answers::crossing::Genes::default(),
        }
    });
    let individuals = breeder.clones.iter().enumerate().map(|(i, clone)| match clone.parents {
        Some([a, b]) => Individual::seedling(i.to_string(), a.to_string(), b.to_string()),
        None => Individual::founder(i.to_string()),
    });
    let tree = Pedigree::new(individuals.collect()).unwrap();
    let mut kinship = Vec::new();
    for a in 0..breeder.clones.len() {
        for b in 0..a {
            let k = tree.kinship(&a.to_string(), &b.to_string()).unwrap();
            if k > 0.0 {
                kinship.push((uid(a), uid(b), k));
            }
        }
    }
    // Each species has an area of its own, and one more for each neighbour whose range it shares.
    let areas: HashMap<String, BTreeSet<String>> = (0..breeder.ranges.len())
        .map(|s| {
            let shared = (0..breeder.ranges.len())
                .filter(|o| breeder.ranges[s][*o] && breeder.ranges[*o][s])
                .map(|o| format!("{}-{}", s.min(o), s.max(o)));
            (format!("Streptocarpus s{s}"), shared.collect())
        })
        .collect();
    Facts::plain(clones.collect(), &kinship, areas)
}

/// What was written, as attempts.
pub fn attempts(breeder: &Breeder) -> Vec<Attempt> {
    attempts_of(breeder, &uid)
}

fn attempts_of(breeder: &Breeder, uid: &dyn Fn(usize) -> Uid) -> Vec<Attempt> {
    let one = |p: &trial::breeders::Pollinated| Attempt {
        pollination: None,
        seed: Some(uid(p.seed)),
        plant: None,
        pollen: Pollen::Of(uid(p.pollen)),
        cross: None,
        day: p.day,
        flowers: p.flowers,
        counted: true,
        age: (p.age > 0).then_some(p.age as f64),
        lot: None,
        method: String::new(),
        who: "Ines".to_owned(),
        own_pollen: false,
        took: p.told.then_some(p.took),
        ripe: None,
        lost: 0,
        ripe_day: None,
        full: None,
        empty: None,
    };
    breeder.pollinations.iter().map(one).collect()
}

/// What the engine learns from everything that was written.
pub fn engine(breeder: &Breeder) -> Engine {
    engine_of(breeder, &uid)
}

/// The same with clones called otherwise.
pub fn engine_of(breeder: &Breeder, uid: &dyn Fn(usize) -> Uid) -> Engine {
    let attempts = attempts_of(breeder, uid);
    let today = attempts.last().map_or(0, |a| a.day) + 30;
    let crosses = Crosses { attempts, crosses: Vec::new(), today };
    Engine::of(crosses, Vec::new(), facts(breeder, uid), Beliefs::default(), Vec::new()).unwrap()
}

/// The genus average alone: all flowers of fresh pollen together, one more taken and one more not.
pub fn average(breeder: &Breeder) -> RateKnown {
    let fresh = breeder.pollinations.iter().filter(|p| p.told && p.age == 0);
    let (took, flowers) = fresh.fold((0, 0), |(k, n), p| (k + p.took, n + p.flowers));
    RateKnown::estimated(took, flowers).unwrap()
}
