//! Simulated breeders: which of their plants cross is known, and what they write of it is not all.
//!
//! Nothing here is a sum of log odds. A flower takes by the product of a hand's skill, the two
//! parents' fertility, a threshold of distance between species, incompatibility by shared alleles at
//! one locus, barriers in one direction, and pollen that dies late and fast; days have luck of their
//! own. The keeper repeats what worked, forgets outcomes, and miscounts nothing.

mod garden;
mod record;

use crate::rng::Rng;

pub use garden::{Garden, Harvest, ToMake};
pub use record::{write_breeder, write_garden, write_seedlings};

/// What a world is like.
#[derive(Debug, Clone, PartialEq)]
pub struct World {
    /// The seed: the same gives the same breeder.
    pub seed: u64,
    /// Species.
    pub species: usize,
    /// Clones of each species that were bought.
    pub each: usize,
    /// Families of sibs raised here, of three seedlings each.
    pub families: usize,
    /// Pollinations.
    pub pollinations: usize,
    /// Share of outcomes that nobody tells.
    pub forgets: f64,
    /// How many times as often the outcome is forgotten when nothing took.
    pub forgets_failures: f64,
    /// First day of the record \[days since 1970-01-01\].
    pub first_day: i64,
    /// Whether there are barriers: distance between species, one-way barriers, incompatibility and
    /// plants of low fertility. Without them only hand and day count.
    pub barriers: bool,
}

impl World {
    /// A breeder at home: four species, a dozen plants, some forty pollinations.
    #[must_use]
    pub fn small(seed: u64) -> Self {
        Self {
            seed,
            species: 4,
            each: 2,
            families: 1,
            pollinations: 40,
            forgets: 0.12,
            forgets_failures: 1.0,
            first_day: 19_500,
            barriers: true,
        }
    }
}

/// A clone as it truly is.
#[derive(Debug, Clone, PartialEq)]
pub struct TrueClone {
    /// Its species; of a hybrid those of both parents.
    pub species: [usize; 2],
    /// Seed parent and pollen parent, where it was raised here.
    pub parents: Option<[usize; 2]>,
    /// Alleles of incompatibility.
    pub alleles: [u32; 2],
    /// Fertility of its flowers and of its pollen.
    pub fertility: [f64; 2],
}

/// One pollination as it was.
#[derive(Debug, Clone, PartialEq)]
pub struct Pollinated {
    /// Seed parent.
    pub seed: usize,
    /// Pollen parent.
    pub pollen: usize,
    /// The day \[days since 1970-01-01\].
    pub day: i64,
    /// Flowers.
    pub flowers: u64,
    /// Age of the pollen \[d\], 0 when fresh.
    pub age: i64,
    /// How many took.
    pub took: u64,
    /// Whether the keeper wrote what came of it.
    pub told: bool,
}

/// Everything that is true of a breeder.
#[derive(Debug, Clone, PartialEq)]
pub struct Breeder {
    /// By what it was made.
    pub world: World,
    /// The clones.
    pub clones: Vec<TrueClone>,
    /// The pollinations, the earliest first.
    pub pollinations: Vec<Pollinated>,
    /// Section of each species, as books have it: species that are near, mostly.
    pub sections: Vec<usize>,
    /// Pairs of species of which the first shares its range with the second.
    pub ranges: Vec<Vec<bool>>,
    skill: f64,
    places: Vec<[f64; 2]>,
    barriers: Vec<Vec<bool>>,
    incompatible: bool,
}

/// Species nearer than this are as good as one; beyond the second distance nothing takes.
const NEAR: f64 = 0.35;
const FAR: f64 = 1.1;
/// What a barrier, or a shared allele, lets through.
const LETS: f64 = 0.04;
/// Half of the pollen is dead at this age \[d\], and nearly all at twice it.
const POLLEN: f64 = 12.0;
/// Luck of a day: shape of a beta distribution around the rate.
const LUCK: f64 = 12.0;

impl Breeder {
    /// The breeder of a world.
    #[must_use]
    pub fn new(world: &World) -> Self {
        let mut rng = Rng::stream(world.seed, "breeder");
        let n = world.species;
        let places: Vec<[f64; 2]> = (0..n).map(|_| [rng.unit(), rng.unit()]).collect();
        let apart =
            |a: usize, b: usize| (places[a][0] - places[b][0]).hypot(places[a][1] - places[b][1]);
        // A section is the half of the map, but one species in six is misplaced.
        let sections = places
            .iter()
            .map(|p| {
                let half = usize::from(p[0] > 0.5);
                if rng.chance(1.0 / 6.0) { 1 - half } else { half }
            })
            .collect();
        let ranges = (0..n)
            .map(|a| {
                (0..n).map(|b| a == b || rng.chance((1.0 - apart(a, b)).clamp(0.1, 0.9))).collect()
            })
            .collect();
        let barriers = (0..n).map(|a| (0..n).map(|b| a != b && rng.chance(0.15)).collect());
        let barriers = barriers.collect();
        let skill = rng.between(0.15, 0.75);
        let incompatible = rng.chance(0.5);
        let mut clones = Vec::new();
        for species in 0..n {
            for _ in 0..world.each {
                clones.push(bought(&mut rng, species));
            }
        }
        let mut out = Self {
            world: world.clone(),
            clones,
            pollinations: Vec::new(),
            sections,
            ranges,
            skill,
            places,
            barriers,
            incompatible,
        };
        if !world.barriers {
            out.open();
        }
        for _ in 0..world.families {
            out.raise(&mut rng);
        }
        out.work(&mut rng);
        out
    }

    /// Takes every barrier away.
    fn open(&mut self) {
        self.places.iter_mut().for_each(|p| *p = [0.5; 2]);
        self.barriers.iter_mut().for_each(|row| row.fill(false));
        self.incompatible = false;
        self.clones.iter_mut().for_each(|c| c.fertility = [0.9; 2]);
    }

    /// Three sibs of two that cross well.
    fn raise(&mut self, rng: &mut Rng) {
        let bought = self.clones.len();
        let mut best = (0.0, 0, 1);
        for _ in 0..8 {
            let (a, b) = (index(rng, bought), index(rng, bought));
            let rate = self.rate(a, b, 0);
            if a != b && rate > best.0 {
                best = (rate, a, b);
            }
        }
        let (_, a, b) = best;
        for _ in 0..3 {
            let mut one = |c: usize| self.clones[c].alleles[usize::from(rng.chance(0.5))];
            let alleles = [one(a), one(b)];
            let mean = |k: usize| 0.5 * (self.clones[a].fertility[k] + self.clones[b].fertility[k]);
            let species = [self.clones[a].species[0], self.clones[b].species[0]];
            let fertility = [mean(0), mean(1)];
            self.clones.push(TrueClone { species, parents: Some([a, b]), alleles, fertility });
        }
    }

    /// The true chance that a flower takes on a usual day, with pollen of this age \[d\].
    #[must_use]
    pub fn rate(&self, seed: usize, pollen: usize, age: i64) -> f64 {
        let (a, b) = (&self.clones[seed], &self.clones[pollen]);
        let mut p = self.skill * a.fertility[0] * b.fertility[1];
        let mut by_species = 0.0;
        for s in a.species {
            for t in b.species {
                let d = (self.places[s][0] - self.places[t][0])
                    .hypot(self.places[s][1] - self.places[t][1]);
                let near = ((FAR - d) / (FAR - NEAR)).clamp(0.0, 1.0);
                let barrier = if self.barriers[s][t] { LETS } else { 1.0 };
                by_species += 0.25 * near * barrier;
            }
        }
        p *= by_species;
        if self.incompatible && a.alleles.iter().any(|x| b.alleles.contains(x)) {
            p *= LETS;
        }
        p *= 1.0 / (1.0 + (age as f64 / POLLEN).powi(4));
        p.clamp(0.002, 0.95)
    }

    /// Species of a clone by name: its own, or none for a hybrid of two.
    #[must_use]
    pub fn species_of(&self, clone: usize) -> Option<usize> {
        let [a, b] = self.clones[clone].species;
        (a == b).then_some(a)
    }

    fn work(&mut self, rng: &mut Rng) {
        let mut day = self.world.first_day;
        let mut liked: Vec<(usize, usize)> = Vec::new();
        for _ in 0..self.world.pollinations {
            day += i64::from(rng.range(1, 12));
            let (seed, pollen) = if !liked.is_empty() && rng.chance(0.25) {
                let at = index(rng, liked.len());
                liked[at]
            } else {
                (index(rng, self.clones.len()), index(rng, self.clones.len()))
            };
            let age = if rng.chance(0.2) { i64::from(rng.range(2, 25)) } else { 0 };
            let flowers = u64::try_from(rng.range(1, 6)).unwrap_or(1);
            let took = self.flowers(rng, seed, pollen, age, flowers);
            let forgets = if took == 0 {
                self.world.forgets * self.world.forgets_failures
            } else {
                self.world.forgets
            };
            let told = !rng.chance(forgets.min(0.95));
            if took > 0 {
                liked.push((seed, pollen));
            }
            self.pollinations.push(Pollinated { seed, pollen, day, flowers, age, took, told });
        }
    }

    /// How many of these flowers take on one day.
    fn flowers(&self, rng: &mut Rng, seed: usize, pollen: usize, age: i64, flowers: u64) -> u64 {
        let p = self.rate(seed, pollen, age);
        let today = beta(rng, LUCK * p, LUCK * (1.0 - p));
        u64::from(rng.binomial(u32::try_from(flowers).unwrap_or(0), today))
    }

    /// Pollinations that come after the record, with fresh pollen: what a prediction is held
    /// against. Half of them of pairs that were tried.
    #[must_use]
    pub fn ahead(&self, count: usize) -> Vec<Pollinated> {
        let mut rng = Rng::stream(self.world.seed, "ahead");
        let day = self.pollinations.last().map_or(self.world.first_day, |p| p.day + 30);
        (0..count)
            .map(|i| {
                let known = (i % 2 == 0).then(|| {
                    let at = index(&mut rng, self.pollinations.len());
                    (self.pollinations[at].seed, self.pollinations[at].pollen)
                });
                let all = self.clones.len();
                let (seed, pollen) =
                    known.unwrap_or_else(|| (index(&mut rng, all), index(&mut rng, all)));
                let flowers = u64::try_from(rng.range(2, 6)).unwrap_or(2);
                let took = self.flowers(&mut rng, seed, pollen, 0, flowers);
                Pollinated { seed, pollen, day, flowers, age: 0, took, told: true }
            })
            .collect()
    }
}

fn index(rng: &mut Rng, n: usize) -> usize {
    let last = i32::try_from(n).unwrap_or(1) - 1;
    usize::try_from(rng.range(0, last)).unwrap_or(0)
}

fn bought(rng: &mut Rng, species: usize) -> TrueClone {
    // A plant that arose from a cross that took has two different alleles of eight.
    let first = u32::try_from(rng.range(0, 7)).unwrap_or(0);
    let second = (first + u32::try_from(rng.range(1, 7)).unwrap_or(1)) % 8;
    // Some plants are poor mothers or have poor pollen.
    let mut fertile =
        || if rng.chance(0.15) { rng.between(0.02, 0.2) } else { rng.between(0.6, 1.0) };
    let fertility = [fertile(), fertile()];
    TrueClone { species: [species; 2], parents: None, alleles: [first, second], fertility }
}

/// A beta variable as a ratio of gamma variables (Marsaglia & Tsang 2000; from memory).
fn beta(rng: &mut Rng, a: f64, b: f64) -> f64 {
    let (x, y) = (gamma(rng, a), gamma(rng, b));
    if x + y > 0.0 { x / (x + y) } else { a / (a + b) }
}

fn gamma(rng: &mut Rng, shape: f64) -> f64 {
    if shape < 1.0 {
        return gamma(rng, shape + 1.0) * rng.unit().powf(1.0 / shape);
    }
    let d = shape - 1.0 / 3.0;
    let c = 1.0 / (9.0 * d).sqrt();
    loop {
        let x = rng.normal();
        let v = (1.0 + c * x).powi(3);
        if v > 0.0 && rng.unit().ln() < 0.5 * x * x + d - d * v + d * v.ln() {
            return d * v;
        }
    }
}
