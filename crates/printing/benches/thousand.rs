//! A thousand labels with squares and backs, from data to bytes.

#![allow(missing_docs)] // The macros of criterion write undocumented functions.

use criterion::{Criterion, criterion_group, criterion_main};
use printing::{Back, Layout, Size, Words, labels_pdf};
use std::hint::black_box;

#[path = "../tests/it/support.rs"]
#[allow(dead_code, clippy::unwrap_used)]
mod support;

fn thousand(c: &mut Criterion) {
    let labels = support::many(1000);
    let words = Words::english();
    let mut group = c.benchmark_group("thousand labels");
    group.sample_size(10);
    for (name, layout) in [
        ("stake 60 × 25, folded", Layout::a4(Size::Stake60x25, Back::FoldBelow)),
        ("tag 50 × 30, front", Layout::a4(Size::Tag50x30, Back::None)),
        ("tape 70 × 12", Layout::single(Size::Tape { length: 70.0, width: 12.0 })),
    ] {
        group.bench_function(name, |b| {
            b.iter(|| labels_pdf(black_box(&labels), &layout, &words).map(|pdf| pdf.bytes.len()));
        });
    }
    group.finish();
}

criterion_group!(benches, thousand);
criterion_main!(benches);
