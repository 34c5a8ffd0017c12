//! Breeding values from pedigrees of a nursery's size, variances given, one thread.
#![allow(missing_docs, clippy::unwrap_used, reason = "a benchmark")]

#[path = "../../descent/benches/memory/mod.rs"]
mod memory;

use criterion::{Criterion, criterion_group, criterion_main};
use stats::{
    model::{Column, Fixed, Frame, Term},
    pedigree::{Equations, Given, Lines, Options, Records},
    random::Random as Dice,
};

/// Founders of a pedigree.
const FOUNDERS: usize = 500;
const GENERATIONS: usize = 10;

struct Nursery {
    lines: Lines,
    response: Vec<f64>,
    fixed: Fixed,
    individual: Vec<u32>,
}

/// Ten generations: of each, 120 plants bear the seed and 60 give the pollen for the next (`few`), or
/// every plant may (then most families are distinct). 6 % are selfed, of 5 % the pollen parent is not
/// known, 4 % are crossed back to a founder. Two records for each individual on average.
fn nursery(individuals: usize, few: bool) -> Nursery {
    let mut dice = Dice::new(1);
    let mut parents: Vec<[Option<u32>; 2]> = vec![[None; 2]; FOUNDERS];
    let each = (individuals - FOUNDERS) / GENERATIONS;
    for g in 0..GENERATIONS {
        let from = if g == 0 { 0 } else { parents.len() - each };
        let until = parents.len();
        let mut some = |n: usize| -> Vec<u32> {
            (0..n).map(|_| (from + dice.below(until - from)) as u32).collect()
        };
        let (seeds, pollens) = (some(120), some(60));
        let more = if g + 1 == GENERATIONS { individuals - parents.len() } else { each };
        for _ in 0..more {
            let mut any = |list: &[u32]| {
                if few {
                    list[dice.below(list.len())]
                } else {
                    (from + dice.below(until - from)) as u32
                }
            };
            let (s, d) = (any(&seeds), any(&pollens));
            let pollen = match dice.unit() {
                u if u < 0.06 => Some(s),
                u if u < 0.11 => None,
                u if u < 0.15 => Some(dice.below(FOUNDERS) as u32),
                _ => Some(d),
            };
            parents.push([Some(s), pollen]);
        }
    }
    let inbreeding = if few { inbreeding(&parents) } else { of_selfing(&parents) };
    let n = 2 * individuals;
    let individual: Vec<u32> = (0..n).map(|_| dice.below(individuals) as u32).collect();
    let season = (0..n).map(|_| format!("s{}", dice.below(3))).collect();
    let frame = Frame::new(n).with("season", Column::Words(season)).unwrap();
    let fixed = Fixed::build(&frame, &Term::read_all(&["season"]).unwrap()).unwrap();
    let response = (0..n).map(|_| 10.0 + 3.0 * dice.normal()).collect();
    Nursery { lines: Lines::new(parents, inbreeding).unwrap(), response, fixed, individual }
}

/// By the tabular method among parents.
fn inbreeding(parents: &[[Option<u32>; 2]]) -> Vec<f64> {
    let mut is = vec![false; parents.len()];
    parents.iter().flatten().flatten().for_each(|p| is[*p as usize] = true);
    let core: Vec<usize> = (0..parents.len()).filter(|i| is[*i]).collect();
    let mut place = vec![usize::MAX; parents.len()];
    core.iter().enumerate().for_each(|(k, i)| place[*i] = k);
    let m = core.len();
    let mut a = vec![0.0; m * m];
    let known =
        |i: usize| parents[i].iter().flatten().map(|p| place[*p as usize]).collect::<Vec<_>>();
    for (k, i) in core.iter().enumerate() {
        let up = known(*i);
        for j in 0..k {
            let v = 0.5 * up.iter().map(|p| a[p * m + j]).sum::<f64>();
            a[k * m + j] = v;
            a[j * m + k] = v;
        }
        a[k * m + k] = 1.0 + if up.len() == 2 { 0.5 * a[up[0] * m + up[1]] } else { 0.0 };
    }
    (0..parents.len())
        .map(|i| match known(i).as_slice() {
            [s, d] => 0.5 * a[s * m + d],
            _ => 0.0,
        })
        .collect()
}

/// That of selfing alone, which is nearly all there is among so many parents.
fn of_selfing(parents: &[[Option<u32>; 2]]) -> Vec<f64> {
    let mut f: Vec<f64> = Vec::with_capacity(parents.len());
    for pair in parents {
        f.push(match pair {
            [Some(s), Some(d)] if s == d => 0.5 * (1.0 + f[*s as usize]),
            _ => 0.0,
        });
    }
    f
}

fn solve(nursery: &Nursery, lasting: bool, errors: bool) -> f64 {
    let records = Records {
        response: &nursery.response,
        fixed: &nursery.fixed,
        individual: &nursery.individual,
        permanent: lasting.then_some(nursery.individual.as_slice()),
        weights: None,
    };
    let given = Given { additive: 3.0, permanent: if lasting { 1.0 } else { 0.0 }, residual: 5.0 };
    let options = Options { tolerance: 1e-8, ..Options::default() };
    let equations = Equations::new(&nursery.lines, records, given, options).unwrap();
    let found = equations.prepare().unwrap().fit(errors).unwrap();
    assert!(found.residual <= 1e-8);
    found.additive[0].estimate
}

fn pedigrees(c: &mut Criterion) {
    let mut group = c.benchmark_group("pedigree");
    group.sample_size(10);
    for (individuals, few) in
        [(100_000, true), (1_000_000, true), (100_000, false), (1_000_000, false)]
    {
        let kind = if few { "few parents" } else { "any parents" };
        let name = format!("{individuals} individuals, {kind}");
        // Made only when asked for, since they take long.
        let mut made: Option<Nursery> = None;
        for (what, lasting, errors) in [
            ("solutions", false, false),
            ("with errors", false, true),
            ("lasting effects, with errors", true, true),
        ] {
            if !few && errors {
                continue;
            }
            let mut told = false;
            group.bench_function(format!("{name}, {what}"), |bench| {
                let nursery = made.get_or_insert_with(|| nursery(individuals, few));
                if !std::mem::replace(&mut told, true) {
                    memory::told(&format!("{name}, {what}"), || solve(nursery, lasting, errors));
                }
                bench.iter(|| solve(nursery, lasting, errors));
            });
        }
    }
    group.finish();
}

criterion_group!(benches, pedigrees);
criterion_main!(benches);
