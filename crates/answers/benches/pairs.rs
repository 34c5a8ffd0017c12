//! All pairs of 300 candidates: from attempts to a fit, and from the fit to 90,000 lines.

#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::collections::{BTreeMap, BTreeSet, HashMap};

use answers::crossing::{Attempt, Beliefs, CloneFacts, Crosses, Engine, Facts, Group, Pollen};
use criterion::{Criterion, criterion_group, criterion_main};
use journal::Uid;

const CANDIDATES: usize = 300;
const SPECIES: usize = 30;

/// The multiplicative generator of Knuth's MMIX: enough for invented data.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % n
    }
}

fn uid(clone: usize) -> Uid {
    format!("00000000-0000-7000-8000-{clone:012}").parse().unwrap()
}

fn facts() -> Facts {
    let species = |i: usize| format!("Streptocarpus s{}", i % SPECIES);
    let clone = |i: usize| CloneFacts {
        uid: uid(i),
        root: uid(i),
        number: i as i64 + 1,
        name: String::new(),
        genus: "Streptocarpus".to_owned(),
        group: Group::Gesneriad,
        // Every third is a hybrid of two species.
        species: if i.is_multiple_of(3) {
            BTreeMap::from([(species(i), 0.5), (species(i + 7), 0.5)])
        } else {
            BTreeMap::from([(species(i), 1.0)])
        },
        ploidy: i.is_multiple_of(5).then_some(2 + 2 * (i as u32 % 2)),
        section: Some(format!("section {}", i % SPECIES / 6)),
        clade: None,
        genes: answers::crossing::Genes::default(),
    };
    let areas: HashMap<String, BTreeSet<String>> = (0..SPECIES)
        .map(|s| (species(s), (0..5).map(|k| format!("A{}", (s + k * k) % 12)).collect()))
        .collect();
    let sibs: Vec<(Uid, Uid, f64)> =
        (0..CANDIDATES - 1).step_by(4).map(|i| (uid(i), uid(i + 1), 0.25)).collect();
    Facts::plain((0..CANDIDATES).map(clone).collect(), &sibs, areas)
}

fn crosses(attempts: usize) -> Crosses {
    let mut dice = Dice(5);
    let mut one = |i: usize| {
        let flowers = 1 + dice.below(6) as u64;
        Attempt {
            pollination: None,
            seed: Some(uid(dice.below(CANDIDATES))),
            plant: None,
            pollen: Pollen::Of(uid(dice.below(CANDIDATES))),
            cross: None,
            day: 19_000 + i as i64,
            flowers,
            counted: true,
            age: (dice.below(5) == 0).then(|| dice.below(20) as f64),
            lot: None,
            method: String::new(),
            who: "Ines".to_owned(),
            own_pollen: false,
            took: Some(dice.below(flowers as usize + 1) as u64),
            ripe: None,
            lost: 0,
            ripe_day: None,
            full: None,
            empty: None,
        }
    };
    Crosses { attempts: (0..attempts).map(&mut one).collect(), crosses: Vec::new(), today: 22_000 }
}

fn engine(attempts: usize) -> Engine {
    let none = (Vec::new(), Vec::new());
    Engine::of(crosses(attempts), none.0, facts(), Beliefs::default(), none.1).unwrap()
}

fn bench(c: &mut Criterion) {
    let mut group = c.benchmark_group("pairs");
    group.sample_size(10);
    let candidates: Vec<Uid> = (0..CANDIDATES).map(uid).collect();
    for attempts in [100, 400] {
        group.bench_function(format!("fit of {attempts} attempts"), |b| {
            b.iter(|| engine(attempts));
        });
        let fitted = engine(attempts);
        group.bench_function(format!("300 candidates after {attempts} attempts"), |b| {
            b.iter(|| fitted.all_pairs(&candidates).unwrap());
        });
    }
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
