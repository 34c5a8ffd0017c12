//! Choosing crosses from all pairs of 300 candidates, and mixtures of them.
#![allow(missing_docs, reason = "the macros of the benchmark write functions without any")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use planning::{
    Kinship, Watch,
    contributions::Contributors,
    crosses::{Pair, Parent, Season, Size, choose_crosses},
    keeping::{Candidate, Room, keep},
};

/// Numbers without order (a linear congruence after Knuth's MMIX, from memory).
struct Numbers(u64);

impl Numbers {
    fn unit(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / (1u64 << 31) as f64
    }

    /// Roughly normal: twelve evenly spread numbers (from memory).
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }
}

/// Families of ten full sibs with unrelated parents, every third family a half-sib of the one
/// before.
fn kinship(n: usize) -> Kinship {
    let related = |i: usize, j: usize| match (i / 10, j / 10) {
        _ if i == j => 0.5,
        (a, b) if a == b => 0.25,
        (a, b) if a + 1 == b && b % 3 == 2 => 0.125,
        _ => 0.0,
    };
    Kinship::from_fn(n, related).unwrap_or_else(|e| panic!("{e}"))
}

/// All pairs of candidates, at three sizes, with usefulness that rises more slowly than pots.
fn season(n: usize) -> (Vec<Parent>, Vec<f64>, Vec<Pair>) {
    let mut numbers = Numbers(7);
    let parents: Vec<Parent> = (0..n)
        .map(|_| Parent {
            seed_flowers: 2 + (8.0 * numbers.unit()) as u32,
            pollen_flowers: 4 + (10.0 * numbers.unit()) as u32,
        })
        .collect();
    let merit: Vec<f64> = (0..n).map(|_| numbers.normal()).collect();
    let mut pairs = Vec::new();
    for seed in 0..n {
        for pollen in seed + 1..n {
            let mean = 0.5 * (merit[seed] + merit[pollen]);
            let spread = 0.4 + 0.6 * numbers.unit();
            // Expected largest of 10, 20 and 50 standard normal numbers.
            let sizes = [(10, 1.54), (20, 1.87), (50, 2.25)].map(|(pots, intensity)| Size {
                gain: mean + 0.6 * intensity * spread,
                pots,
                seed_flowers: 2 + pots / 20,
                pollen_flowers: 1 + pots / 20,
            });
            pairs.push(Pair { seed, pollen, sizes: sizes.to_vec(), must: false });
        }
    }
    (parents, merit, pairs)
}

fn crosses(c: &mut Criterion) {
    let mut group = c.benchmark_group("choosing");
    group.sample_size(10);
    let related = kinship(300);
    let (parents, merit, pairs) = season(300);
    for (name, pots, most_crosses) in
        [("12 crosses, 300 pots", 300, 12), ("40 crosses, 1,000 pots", 1_000, 40)]
    {
        let season = Season {
            parents: &parents,
            kinship: &related,
            pairs: &pairs,
            pots,
            most_crosses,
            most_kinship: 0.2,
            weight: 60.0,
        };
        group.bench_function(format!("44,850 pairs, {name}"), |b| {
            b.iter(|| choose_crosses(black_box(&season), &mut Watch::new(Watch::USUAL)));
        });
        if let Ok(plan) = choose_crosses(&season, &mut Watch::new(Watch::USUAL)) {
            println!(
                "{name}: value {:.4}, gap {:.4} ({:.2} %), {} crosses, mean kinship {:.4}, {:?}",
                plan.value,
                plan.gap(),
                100.0 * plan.gap() / plan.value,
                plan.crosses.len(),
                plan.mean_kinship,
                plan.ended
            );
        }
    }
    let contributors = Contributors { merit: &merit, kinship: &related, most: 1.0 };
    group.bench_function("mixture of 300 under a limit of kinship", |b| {
        b.iter(|| black_box(&contributors).under(0.03));
    });
    let many = kinship(2_000);
    let mut numbers = Numbers(9);
    let candidates: Vec<Candidate> = (0..2_000)
        .map(|_| Candidate { merit: 1.0 + numbers.normal(), places: 1, must: false })
        .collect();
    let room = Room { candidates: &candidates, kinship: &many, places: 150, weight: 400.0 };
    group.bench_function("150 of 2,000 seedlings kept", |b| {
        b.iter(|| keep(black_box(&room), &mut Watch::new(Watch::USUAL)));
    });
    if let Ok(list) = keep(&room, &mut Watch::new(Watch::USUAL)) {
        println!("kept: value {:.4}, gap {:.4}, {:?}", list.value, list.gap(), list.ended);
    }
    group.finish();
}

criterion_group!(benches, crosses);
criterion_main!(benches);
