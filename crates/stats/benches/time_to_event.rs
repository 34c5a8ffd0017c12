//! Time to event: a large fit from intervals, the night's fit of a collection, one plant by day.
#![allow(clippy::unwrap_used, missing_docs, reason = "a benchmark that panics has failed")]

use criterion::{Criterion, criterion_group, criterion_main};
use stats::model::{Column, Fixed, Frame, Term};
use stats::random::Random;
use stats::special::normal_quantile;
use stats::survival::Time;
use stats::survival::drying::{Cycle, DryingPrior, PlantCycle, PlantState, Plants, fit_drying};
use stats::survival::parametric::{Law, Options, fit};

/// 20,000 seeds looked at weekly until day 56, one covariate.
fn seeds(n: usize) -> (Vec<Time>, Fixed) {
    let mut random = Random::new(20);
    let warm: Vec<f64> = (0..n).map(|i| f64::from(u8::from(i % 2 == 0))).collect();
    let times = warm
        .iter()
        .map(|w| {
            let u = random.unit().clamp(1e-12, 1.0 - 1e-12);
            let t = (3.0 - 0.3 * w + 0.6 * Law::Weibull.quantile(u)).exp();
            let left = 7.0 * (t / 7.0).floor();
            match left {
                _ if left >= 56.0 => Time::open(56.0),
                0.0 => Time::before(7.0),
                _ => Time::between(left, left + 7.0),
            }
        })
        .collect();
    let frame = Frame::new(n).with("warm", Column::Numbers(warm)).unwrap();
    (times, Fixed::build(&frame, &Term::read_all(&["warm"]).unwrap()).unwrap())
}

fn collection(plants: usize, species: usize, cycles: usize) -> (Vec<PlantCycle>, Vec<u32>, Fixed) {
    let mut random = Random::new(21);
    let mut normal = move || normal_quantile(random.unit().clamp(1e-12, 1.0 - 1e-12));
    let effects: Vec<f64> = (0..species).map(|_| 0.25 * normal()).collect();
    let of: Vec<u32> = (0..plants).map(|p| (p % species) as u32).collect();
    let clay: Vec<f64> = (0..plants).map(|p| f64::from(u8::from(p % 3 == 0))).collect();
    let mut rows = Vec::with_capacity(plants * cycles);
    for p in 0..plants {
        let eta = 7f64.ln() - 0.25 * clay[p] + effects[of[p] as usize] + 0.2 * normal();
        for c in 0..cycles {
            let t = (eta + 0.18 * normal()).exp();
            let cycle = match c % 4 {
                0 => Cycle::StillMoist(0.8 * t),
                1 => Cycle::FoundDry(1.2 * t),
                _ => Cycle::Between(0.9 * t, 1.1 * t),
            };
            rows.push(PlantCycle { plant: p as u32, cycle, offset: 0.01 * normal() });
        }
    }
    let frame = Frame::new(plants).with("clay", Column::Numbers(clay)).unwrap();
    (rows, of, Fixed::build(&frame, &Term::read_all(&["clay"]).unwrap()).unwrap())
}

fn bench(c: &mut Criterion) {
    let (times, fixed) = seeds(20_000);
    c.bench_function("weibull from 20,000 intervals, with its null model", |b| {
        b.iter(|| fit(&times, &fixed, Law::Weibull, &Options::default()).unwrap());
    });
    let mut group = c.benchmark_group("night");
    group.sample_size(10);
    let (rows, species, design) = collection(3_000, 50, 50);
    let plants = Plants { species: &species, design: &design };
    for (name, misread) in [("looks right", 0.0), ("looks misread at 5 %", 0.05)] {
        let prior = DryingPrior { misread, ..DryingPrior::usual(2) };
        group.bench_function(format!("3,000 plants, 150,000 cycles, {name}"), |b| {
            b.iter(|| fit_drying(&rows, plants, &prior, None).unwrap());
        });
    }
    group.finish();
    let begin = PlantState::new(Law::Lognormal, 6f64.ln(), 0.3, 0.2, 0.05).unwrap();
    let cycles = [(Cycle::Between(5.0, 6.0), 0.0); 20];
    c.bench_function("one plant, 20 cycles", |b| {
        b.iter(|| {
            let mut plant = begin.clone();
            plant.update(&cycles).unwrap();
            plant
        });
    });
}

criterion_group!(benches, bench);
criterion_main!(benches);
