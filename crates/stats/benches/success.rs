//! Logistic models with random effects: crossed parents with 6,000 cells, and parents with clones.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use stats::{
    model::{Column, Frame, RandomSpec, Term},
    random::Random,
    special::normal_quantile,
    success::{Batch, Model, logistic},
};

/// A batch for each pair of `seed` × `pollen` parents, with a covariate; seeded.
fn crossed(seed: usize, pollen: usize) -> (Vec<Batch>, Frame) {
    let mut random = Random::new(6_000);
    let mut effects = |n: usize, sd: f64| -> Vec<f64> {
        (0..n).map(|_| sd * normal_quantile(random.unit().max(1e-12))).collect()
    };
    let (a, b, x) = (effects(seed, 0.9), effects(pollen, 0.5), effects(seed * pollen, 1.0));
    let mut chance = Random::new(7);
    let (mut batches, mut mothers, mut fathers) = (Vec::new(), Vec::new(), Vec::new());
    for i in 0..seed {
        for j in 0..pollen {
            let eta = -0.5 + 0.3 * x[i * pollen + j] + a[i] + b[j];
            let p = 1.0 / (1.0 + (-eta).exp());
            let trials = 3 + chance.below(12) as u64;
            let successes = (0..trials).filter(|_| chance.unit() < p).count() as u64;
            batches.push(Batch { successes, trials });
            mothers.push(format!("S{i:04}"));
            fathers.push(format!("P{j:04}"));
        }
    }
    let frame = Frame::new(batches.len()).with("seed", Column::Words(mothers));
    let frame = frame.and_then(|f| f.with("pollen", Column::Words(fathers)));
    let frame = frame.and_then(|f| f.with("x", Column::Numbers(x)));
    (batches, frame.unwrap_or_default())
}

fn model(random: &[&str], overdispersion: bool) -> Model {
    let specs = random.iter().flat_map(|r| RandomSpec::read(r).unwrap_or_default());
    Model {
        terms: Term::read_all(&["x"]).unwrap_or_default(),
        random: specs.collect(),
        overdispersion,
        ..Model::default()
    }
}

fn benches(c: &mut Criterion) {
    let mut group = c.benchmark_group("success");
    group.sample_size(10);
    let (batches, frame) = crossed(60, 100);
    for (name, random, rows) in [
        ("crossed 60 x 100, 6,000 cells", &["seed", "pollen"][..], false),
        ("crossed 60 x 100 with overdispersion", &["seed", "pollen"], true),
        ("both sides share an effect, 160 parents", &["mm(seed,pollen)"], false),
    ] {
        let model = model(random, rows);
        let found = logistic(&batches, &frame, &model);
        assert!(found.is_ok_and(|f| f.gradient_norm < 1e-3), "{name} must be fitted");
        group.bench_function(name, |b| {
            b.iter(|| black_box(logistic(&batches, &frame, &model).map(|f| f.log_likelihood)));
        });
    }
    let (batches, frame) = crossed(3_000, 20);
    let model = model(&["seed", "pollen"], false);
    group.bench_function("crossed 3,000 x 20, 60,000 cells", |b| {
        b.iter(|| black_box(logistic(&batches, &frame, &model).map(|f| f.log_likelihood)));
    });
    group.finish();
}

criterion_group!(all, benches);
criterion_main!(all);
