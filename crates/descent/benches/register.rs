//! Registers of full size, one thread: inbreeding, kinship of pairs, reading of rows.
#![allow(missing_docs, clippy::unwrap_used, reason = "a benchmark")]

mod memory;
#[path = "../tests/it/numpy_dice.rs"]
mod numpy_dice;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use descent::{Pedigree, PedigreeBuilder};
use numpy_dice::{Kind, register};

/// Ids of a row as text: its own, the seed parent, the pollen parent.
fn named(rows: &[[Option<u32>; 2]]) -> Vec<[String; 3]> {
    let name = |i: Option<u32>| i.map_or(String::new(), |i| format!("P{i:07}"));
    (0..).zip(rows).map(|(i, [s, p])| [name(Some(i)), name(*s), name(*p)]).collect()
}

fn built(rows: &[[String; 3]]) -> Pedigree {
    let mut builder = PedigreeBuilder::with_capacity(rows.len(), 8 * rows.len());
    for [id, seed, pollen] in rows {
        builder.row(id, seed, pollen, "").unwrap();
    }
    builder.build().unwrap()
}

/// 300 plants spread over the register, and all their pairs.
fn pairs(rows: &[[String; 3]]) -> Vec<(&str, &str)> {
    let some: Vec<&str> =
        (0..300).map(|i| rows[rows.len() - 1 - i * (rows.len() / 400)][0].as_str()).collect();
    (0..300).flat_map(|i| (i..300).map(move |j| (i, j))).map(|(i, j)| (some[i], some[j])).collect()
}

fn registers(c: &mut Criterion) {
    let mut group = c.benchmark_group("register");
    group.sample_size(10);
    for (name, n, kind) in [("nursery", 1_000_000, Kind::Nursery), ("broad", 50_000, Kind::Broad)] {
        let rows = named(&register(n, kind));
        memory::told(&format!("register and inbreeding of {n}, {name}"), || {
            let p = built(&rows);
            (p.all_inbreeding(), p)
        });
        group.bench_function(format!("rows of {n}, {name}"), |b| {
            b.iter_with_large_drop(|| built(&rows));
        });
        group.bench_function(format!("inbreeding of {n}, {name}"), |b| {
            // What was computed is kept, so that each time needs a register of its own.
            b.iter_batched(|| built(&rows), |p| (p.all_inbreeding(), p), BatchSize::PerIteration);
        });
        let pairs = pairs(&rows);
        group.bench_function(format!("{} pairs in {n}, {name}", pairs.len()), |b| {
            b.iter_batched(
                || built(&rows),
                |p| (p.kinships(&pairs).unwrap(), p),
                BatchSize::PerIteration,
            );
        });
    }
    group.finish();
}

criterion_group!(benches, registers);
criterion_main!(benches);
