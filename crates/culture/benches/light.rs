//! The light of a place: how long its map and its window's year take.
#![allow(missing_docs, reason = "the macros of the benchmark write functions without any")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use culture::light::{
    lamp::{Emitter, Lamp},
    shelf::{Shelf, Walls, map},
    window::{Pose, Spot, Window, usual_clearness, year},
};

/// Six bars over a shelf of 120 by 45 cm.
fn lamps() -> Vec<Lamp> {
    let bar = Emitter::Panel { width: 0.9, length: 0.03 };
    (0..6)
        .filter_map(|k| Lamp::new(bar, 50.0, [0.6, 0.04 + 0.07 * f64::from(k), 0.26]).ok())
        .collect()
}

fn light(c: &mut Criterion) {
    let (lamps, shelf) = (lamps(), Shelf { across: (0.0, 1.2), along: (0.0, 0.45), height: 0.0 });
    c.bench_function("map, 100 × 100 points under six lamps", |b| {
        b.iter(|| map(black_box(&lamps), &shelf, (100, 100), Walls::WhitePaint));
    });
    c.bench_function("map, 45 × 17 points under six lamps", |b| {
        b.iter(|| map(black_box(&lamps), &shelf, (45, 17), Walls::WhitePaint));
    });
    let window = Window::new(270.0, 1.1, 1.2);
    let Ok(clearness) = usual_clearness(52.0) else { return };
    c.bench_function("a window's year at 11 × 6 points", |b| {
        b.iter(|| {
            for k in 0..66 {
                let distance = 0.05 + 0.02 * f64::from(k);
                let spot = Spot { distance, sill: -0.15, sideways: 0.0, pose: Pose::Flat };
                let _ = black_box(year(&window, &spot, 52.0, &clearness));
            }
        });
    });
}

criterion_group!(benches, light);
criterion_main!(benches);
