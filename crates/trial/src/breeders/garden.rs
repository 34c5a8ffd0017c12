//! What seedlings look like, and what comes of a season's crosses.
//!
//! A trait is not a sum with normal noise: many loci of unlike weight, with dominance, add up on a
//! scale that bends at both ends, and what is written are whole points from 1 to 10. The species
//! differ in how common the alleles are.

use crate::rng::Rng;

use super::{Breeder, Pollinated, World, index};

const LOCI: usize = 24;
/// Share of seedlings that live to their first flower.
const LIVES: f64 = 0.7;
/// Of all seedlings of all pairs, one in ten is of the wanted kind.
const WANTED: f64 = 0.9;
/// Standard deviation of a score around what is true, in points.
const NOISE: f64 = 1.2;

type Genes = [[bool; 2]; LOCI];

/// A breeder with a trait to breed for.
#[derive(Debug, Clone)]
pub struct Garden {
    /// The breeder: what crosses.
    pub breeder: Breeder,
    /// Scores that were written, one or several for each clone \[1 to 10\].
    pub scores: Vec<Vec<f64>>,
    /// From this value on a seedling is of the wanted kind.
    pub wanted: f64,
    genes: Vec<Genes>,
    weight: [f64; LOCI],
    dominance: [f64; LOCI],
    middle: f64,
}

/// A cross that is to be made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToMake {
    /// Seed parent.
    pub seed: usize,
    /// Pollen parent.
    pub pollen: usize,
    /// Flowers to pollinate.
    pub flowers: u64,
    /// Pots kept for its seedlings.
    pub pots: u64,
}

/// What came of a season.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Harvest {
    /// Seedlings that flowered.
    pub flowering: u64,
    /// Those of the wanted kind.
    pub wanted: u64,
    /// What is written of the pollinations.
    pub pollinations: Vec<Pollinated>,
    /// Seed parent, pollen parent and score of each seedling that flowered.
    pub seedlings: Vec<(usize, usize, f64)>,
}

impl Garden {
    /// The garden of a world.
    #[must_use]
    pub fn new(world: &World) -> Self {
        let breeder = Breeder::new(world);
        let mut rng = Rng::stream(world.seed, "garden");
        let common: Vec<[f64; LOCI]> =
            (0..world.species).map(|_| std::array::from_fn(|_| rng.between(0.1, 0.9))).collect();
        let weight = std::array::from_fn(|_| rng.between(0.05, 1.0).powi(2));
        let dominance = std::array::from_fn(|_| rng.between(-0.3, 0.6));
        let mut out = Self {
            breeder,
            scores: Vec::new(),
            wanted: 0.0,
            genes: Vec::new(),
            weight,
            dominance,
            middle: 0.0,
        };
        for clone in out.breeder.clones.clone() {
            let genes = match clone.parents {
                Some([a, b]) => out.seedling(&mut rng, a, b),
                None => {
                    let common = common[clone.species[0]];
                    std::array::from_fn(|l| [rng.chance(common[l]), rng.chance(common[l])])
                }
            };
            out.genes.push(genes);
        }
        let sums: f64 = out.genes.iter().map(|g| out.sum(g)).sum();
        out.middle = sums / out.genes.len().max(1) as f64;
        out.scores = (out.genes.clone().iter())
            .map(|g| {
                let value = out.value(g);
                let score = |rng: &mut Rng| (value + NOISE * rng.normal()).round().clamp(1.0, 10.0);
                (0..rng.range(1, 3)).map(|_| score(&mut rng)).collect()
            })
            .collect();
        let n = out.genes.len();
        let mut all: Vec<f64> = (0..3_000)
            .map(|_| {
                let (a, b) = (index(&mut rng, n), index(&mut rng, n));
                let seedling = out.seedling(&mut rng, a, b);
                out.value(&seedling)
            })
            .collect();
        all.sort_by(f64::total_cmp);
        out.wanted = all[(WANTED * all.len() as f64) as usize];
        out
    }

    fn sum(&self, genes: &Genes) -> f64 {
        let one = |l: usize| {
            let [a, b] = genes[l];
            let alleles = f64::from(u8::from(a)) + f64::from(u8::from(b));
            self.weight[l] * (alleles + if a == b { 0.0 } else { self.dominance[l] })
        };
        (0..LOCI).map(one).sum()
    }

    /// The true value, from 1 to 10.
    fn value(&self, genes: &Genes) -> f64 {
        1.0 + 9.0 / (1.0 + (-0.9 * (self.sum(genes) - self.middle)).exp())
    }

    fn seedling(&self, rng: &mut Rng, a: usize, b: usize) -> Genes {
        let mut half = |c: usize, l: usize| self.genes[c][l][usize::from(rng.chance(0.5))];
        std::array::from_fn(|l| [half(a, l), half(b, l)])
    }

    /// The true share of a pair's seedlings that are of the wanted kind, from 300 of them.
    fn share(&self, a: usize, b: usize) -> f64 {
        let mut rng = Rng::stream(self.breeder.world.seed, &format!("share {a} {b}"));
        let wanted = (0..300)
            .filter(|_| {
                let seedling = self.seedling(&mut rng, a, b);
                self.value(&seedling) >= self.wanted
            })
            .count();
        wanted as f64 / 300.0
    }

    /// What comes of crosses in a season; each way of choosing has luck of its own.
    #[must_use]
    pub fn carry_out(&self, crosses: &[ToMake], season: u64, way: &str) -> Harvest {
        let mut rng = Rng::stream(self.breeder.world.seed, &format!("season {season} {way}"));
        let last = self.breeder.pollinations.last().map_or(0, |p| p.day);
        let mut out = Harvest::default();
        for (k, c) in crosses.iter().enumerate() {
            let took = self.breeder.flowers(&mut rng, c.seed, c.pollen, 0, c.flowers);
            out.pollinations.push(Pollinated {
                seed: c.seed,
                pollen: c.pollen,
                day: last + 20 + k as i64,
                flowers: c.flowers,
                age: 0,
                took,
                told: true,
            });
            for _ in 0..if took > 0 { c.pots } else { 0 } {
                let seedling = self.seedling(&mut rng, c.seed, c.pollen);
                if rng.chance(LIVES) {
                    out.flowering += 1;
                    let value = self.value(&seedling);
                    out.wanted += u64::from(value >= self.wanted);
                    let score = (value + NOISE * rng.normal()).round().clamp(1.0, 10.0);
                    out.seedlings.push((c.seed, c.pollen, score));
                }
            }
        }
        out
    }

    /// The habit of crossing the best with the best: five pairs of the four best scored, each plant
    /// giving no more flowers than it may.
    #[must_use]
    pub fn best_by_best(&self, pots: u64, flowers: u64) -> Vec<ToMake> {
        let mean = |c: usize| self.scores[c].iter().sum::<f64>() / self.scores[c].len() as f64;
        let mut best: Vec<usize> = (0..self.scores.len()).collect();
        best.sort_by(|a, b| mean(*b).total_cmp(&mean(*a)));
        let pairs = [(0, 1), (1, 0), (0, 2), (2, 1), (1, 3)];
        self.alike(pairs.iter().map(|(a, b)| (best[*a], best[*b])), pots, flowers)
    }

    /// The habit of crossing whatever is in flower: five pairs by chance.
    #[must_use]
    pub fn whatever_flowers(&self, pots: u64, flowers: u64, season: u64) -> Vec<ToMake> {
        let mut rng = Rng::stream(self.breeder.world.seed, &format!("flowers {season}"));
        let n = self.genes.len();
        let mut pairs = Vec::new();
        while pairs.len() < 5 {
            let pair = (index(&mut rng, n), index(&mut rng, n));
            if pair.0 != pair.1 {
                pairs.push(pair);
            }
        }
        self.alike(pairs.into_iter(), pots, flowers)
    }

    /// Crosses with as many pots each, and as many flowers as the seed parents may give.
    fn alike(
        &self,
        pairs: impl Iterator<Item = (usize, usize)>,
        pots: u64,
        flowers: u64,
    ) -> Vec<ToMake> {
        let pairs: Vec<(usize, usize)> = pairs.collect();
        let given = |c: usize| {
            let as_seed = pairs.iter().filter(|p| p.0 == c).count() as u64;
            let as_pollen = pairs.iter().filter(|p| p.1 == c).count() as u64;
            (flowers.saturating_sub(as_pollen) / as_seed.max(1)).max(1)
        };
        let one = |(seed, pollen): &(usize, usize)| ToMake {
            seed: *seed,
            pollen: *pollen,
            flowers: given(*seed),
            pots: pots / pairs.len() as u64,
        };
        pairs.iter().map(one).collect()
    }

    /// Who knows the truth: the best pairs by the seedlings of the wanted kind that are to be expected
    /// of a pot, with as many flowers as their seed parents may give.
    #[must_use]
    pub fn all_knowing(&self, pots: u64, flowers: u64) -> Vec<ToMake> {
        let n = self.genes.len();
        let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
        for a in 0..n {
            for b in (0..n).filter(|b| *b != a) {
                let rate = self.breeder.rate(a, b, 0);
                let pod = 1.0 - (1.0 - rate).powf(flowers as f64 - 1.0);
                pairs.push((pod * self.share(a, b), a, b));
            }
        }
        pairs.sort_by(|x, y| y.0.total_cmp(&x.0));
        let (mut out, mut left) = (Vec::<ToMake>::new(), pots);
        for (_, seed, pollen) in pairs {
            // A seed parent once, and the pollen of each with a flower to spare.
            if out.iter().any(|c| c.seed == seed) || out.len() == 5 {
                continue;
            }
            let own = left.min(32);
            if own < 6 {
                break;
            }
            left -= own;
            out.push(ToMake { seed, pollen, flowers: flowers - 1, pots: own });
        }
        out
    }
}
