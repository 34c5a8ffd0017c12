//! The command's way from a file of a million rows to an answer: time, and memory at its highest.
#![allow(missing_docs, dead_code, clippy::unwrap_used, reason = "a benchmark")]

#[path = "../../descent/benches/memory/mod.rs"]
mod memory;
#[path = "../../descent/tests/it/numpy_dice.rs"]
mod numpy_dice;

use std::fmt::Write as _;

use criterion::{Criterion, criterion_group, criterion_main};
use numpy_dice::{Kind, register};

const ROWS: usize = 1_000_000;

fn read(c: &mut Criterion) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("register.csv");
    let mut text = String::from("id,seed_parent,pollen_parent\n");
    let name = |i: Option<u32>| i.map_or(String::new(), |i| format!("P{i:07}"));
    for (i, [seed, pollen]) in (0..).zip(register(ROWS as u32, Kind::Nursery)) {
        writeln!(text, "{},{},{}", name(Some(i)), name(seed), name(pollen)).unwrap();
    }
    std::fs::write(&file, text).unwrap();
    let file = file.to_str().unwrap().to_owned();
    let ask = || calc::answer(&["descent", &file, "--only", "P0000007"]).unwrap();
    memory::told(&format!("one of {ROWS} rows asked for"), ask);
    let mut group = c.benchmark_group("file");
    group.sample_size(10);
    group.bench_function(format!("{ROWS} rows read, one asked for"), |b| b.iter(ask));
    group.finish();
}

criterion_group!(benches, read);
criterion_main!(benches);
