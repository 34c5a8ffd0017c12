//! Curves without a formula: how long they take on large tables.
#![allow(missing_docs, reason = "the macros of the benchmark write functions without any")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use stats::{
    random::Random,
    survival::{Interval, KaplanMeier, Time, Turnbull},
};

/// Exact times and, for a third, still open ones, all different.
fn exact(n: usize) -> Vec<Time> {
    let mut random = Random::new(1);
    (0..n)
        .map(|_| {
            let t = -100.0 * (1.0 - random.unit()).ln();
            let open = -200.0 * (1.0 - random.unit()).ln();
            if t < open { Time::exact(t) } else { Time::open(open) }
        })
        .collect()
}

/// Germination between looks every few days, each row with its own days, a tenth never.
fn looks(n: usize) -> Vec<Time> {
    let mut random = Random::new(2);
    (0..n)
        .map(|_| {
            let t = if random.unit() < 0.1 {
                f64::INFINITY
            } else {
                20.0 * (0.5 * random.normal()).exp()
            };
            let mut look = 0.0;
            for _ in 0..12 {
                let next = look + 1.0 + random.below(9) as f64;
                if t <= next {
                    return if look == 0.0 {
                        Time::before(next)
                    } else {
                        Time::between(look, next)
                    };
                }
                look = next;
            }
            Time::open(look)
        })
        .collect()
}

/// The same with looks at times that are all different: as many ends as records.
fn ragged(n: usize) -> Vec<Time> {
    let mut random = Random::new(3);
    (0..n)
        .map(|_| {
            let t = 20.0 * (0.5 * random.normal()).exp();
            let mut look = 0.0;
            loop {
                let next = look + 1.0 + 9.0 * random.unit();
                if t <= next {
                    return if look == 0.0 {
                        Time::before(next)
                    } else {
                        Time::between(look, next)
                    };
                }
                if next > 60.0 {
                    return Time::open(next);
                }
                look = next;
            }
        })
        .collect()
}

fn curves(c: &mut Criterion) {
    let mut group = c.benchmark_group("curves");
    group.sample_size(10);
    let many = exact(200_000);
    group.bench_function("Kaplan–Meier, 200,000 rows", |b| {
        b.iter(|| KaplanMeier::fit(black_box(&many), 0.95, Interval::LogLog));
    });
    let few_ends = looks(20_000);
    group.bench_function("Turnbull, 20,000 rows, whole days", |b| {
        b.iter(|| Turnbull::fit(black_box(&few_ends)));
    });
    let all_different = ragged(20_000);
    group.bench_function("Turnbull, 20,000 rows, all ends different", |b| {
        b.iter(|| Turnbull::fit(black_box(&all_different)));
    });
    group.finish();
}

criterion_group!(benches, curves);
criterion_main!(benches);
