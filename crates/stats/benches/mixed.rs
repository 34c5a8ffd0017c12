//! Mixed models and the sparse systems below them, one thread.
#![allow(missing_docs, clippy::unwrap_used, reason = "a benchmark")]

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use stats::{
    mixed::{Random, Settings, fit},
    model::{Column, Fixed, Frame, RandomSpec, RandomTerm},
    random::Random as Dice,
    sparse::{FILL_LIMIT, Pattern},
};

/// Records of two crossed factors.
struct Crossed {
    response: Vec<f64>,
    fixed: Fixed,
    random: Vec<Random>,
}

fn normal(dice: &mut Dice) -> f64 {
    (0..12).map(|_| dice.unit()).sum::<f64>() - 6.0
}

fn crossed(rows: usize, a: usize, b: usize) -> Crossed {
    let mut dice = Dice::new(20);
    let ua: Vec<f64> = (0..a).map(|_| 1.5 * normal(&mut dice)).collect();
    let ub: Vec<f64> = (0..b).map(|_| 0.8 * normal(&mut dice)).collect();
    let (mut response, mut wa, mut wb) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..rows {
        let (l, m) = (dice.below(a), dice.below(b));
        response.push(10.0 + ua[l] + ub[m] + 2.0 * normal(&mut dice));
        wa.push(format!("a{l}"));
        wb.push(format!("b{m}"));
    }
    let frame = Frame::new(rows)
        .with("A", Column::Words(wa))
        .unwrap()
        .with("B", Column::Words(wb))
        .unwrap();
    let term = |name: &str| {
        let spec = RandomSpec::Intercept(vec![name.to_owned()]);
        Random::independent(RandomTerm::build(&frame, &spec).unwrap())
    };
    let random = vec![term("A"), term("B")];
    Crossed { response, fixed: Fixed::build(&frame, &[]).unwrap(), random }
}

fn models(c: &mut Criterion) {
    let mut group = c.benchmark_group("mixed");
    group.sample_size(10);
    for (rows, a, b) in [(2_000, 60, 30), (100_000, 1_000, 500)] {
        let records = crossed(rows, a, b);
        let name = format!("{rows} rows, {a} × {b} levels");
        group.bench_function(&name, |bench| {
            bench.iter(|| {
                fit(&records.response, &records.fixed, &records.random, &Settings::default())
                    .unwrap()
            });
        });
        let given = [("A", 2.25), ("B", 0.64), ("residual", 4.0)];
        let given = given.map(|(n, v)| (n.to_owned(), v)).to_vec();
        let settings = Settings { given, ..Settings::default() };
        group.bench_function(format!("{name}, variances given"), |bench| {
            bench.iter(|| {
                fit(&records.response, &records.fixed, &records.random, &settings).unwrap()
            });
        });
    }
    group.finish();
}

/// The equations of two crossed factors with some records for each level.
fn system(a: usize, b: usize, records: usize) -> (Pattern, Vec<f64>) {
    let mut dice = Dice::new(7);
    let mut triplets: Vec<(usize, usize, f64)> = (0..a + b).map(|i| (i, i, 1.0)).collect();
    for _ in 0..records {
        let (l, m) = (dice.below(a), a + dice.below(b));
        triplets.extend([(l, l, 1.0), (m, m, 1.0), (l, m, 1.0)]);
    }
    Pattern::from_triplets(a + b, &triplets, FILL_LIMIT).unwrap()
}

fn systems(c: &mut Criterion) {
    let mut group = c.benchmark_group("sparse");
    group.sample_size(10);
    for (a, b, records) in [(200, 100, 3_000), (1_000, 500, 100_000), (20_000, 200, 100_000)] {
        let (pattern, values) = system(a, b, records);
        let name = format!("{a} × {b}, {records} records, {} numbers", pattern.fill());
        let mut factor = pattern.factor(&values).unwrap();
        group.bench_function(BenchmarkId::new("factor", &name), |bench| {
            bench.iter(|| factor.refactor(&values).unwrap());
        });
        let factor = pattern.factor(&values).unwrap();
        group.bench_function(BenchmarkId::new("selected inverse", &name), |bench| {
            bench.iter(|| factor.inverse());
        });
    }
    group.finish();
}

criterion_group!(benches, models, systems);
criterion_main!(benches);
