//! Do flowers of these clones, or at these places, last differently?

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;
use stats::{
    model::{Fixed, RandomTerm},
    prior::{NormalPrior, SpreadPrior},
    random::Random,
    special::normal_cdf,
    survival::{
        Time,
        parametric::{Beliefs, Law, ParametricError, Posterior, Start, posterior_started},
    },
};

use super::again::index_of;
use super::bloom::{Bloom, clusters};
use super::life::{Followed, LEVEL, LifePrior};

/// Ended flowers of each group, and umbels they are of, below which no difference is named. Common
/// practice, no source.
const ENDED: usize = 5;
const UMBELS: usize = 3;
/// A difference is named from this probability of its side on. Common practice, no source.
const SURE: f64 = 0.95;
/// So many flowers take part, of each group no fewer than the least.
const OF_ALL: usize = 60;
const LEAST: usize = 10;
/// What lives of two groups may differ by, on the logarithm: half of all pairs of clones lie within
/// a third. Common practice, no source.
const DIFFERENCE: f64 = 0.42;
/// Arrangements drawn for the check.
const DRAWN: usize = 2_000;
const SEED: u64 = 0x0F10_3E55;

/// One group beside the first.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Beside {
    /// The group, as it was given.
    pub group: i64,
    /// Its life divided by that of the first: lower limit, middle, upper limit (80 %).
    pub ratio: [f64; 3],
    /// Whether a difference is shown: it lies on one side with 95 % probability, and there are enough
    /// flowers.
    pub shown: bool,
    /// The chance that it lasts longer than the first.
    pub longer: f64,
    /// Ended flowers and the umbels of all its flowers.
    pub ended: usize,
    /// Umbels.
    pub umbels: usize,
}

/// Groups of flowers side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// The group that the others are compared with: the one with most ended flowers.
    pub first: i64,
    /// Its ended flowers.
    pub ended: usize,
    /// Its umbels.
    pub umbels: usize,
    /// The others, in the order of their keys.
    pub others: Vec<Beside>,
    /// How often groups would differ so much by chance, umbels being dealt out whole: a check by
    /// other means.
    pub by_chance: f64,
}

impl Comparison {
    /// What may be said of a group: never more than a difference, or that none is shown.
    #[must_use]
    pub fn words(&self, beside: &Beside) -> &'static str {
        match (beside.shown, beside.ratio[1] > 1.0) {
            (false, _) => "no difference shown",
            (true, true) => "lasts longer",
            (true, false) => "lasts less long",
        }
    }
}

/// By what flowers are told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum By {
    /// Clones: umbels have effects of their own.
    Clone,
    /// Places: clones and umbels have effects of their own, so that clones which stand at one place
    /// alone do not speak for it.
    Place,
}

fn group_of(f: &Followed, by: By) -> Option<i64> {
    match by {
        By::Clone => Some(f.clone),
        By::Place => f.place,
    }
}

/// Flowers of the groups, the latest of each, as they were given: so many that the fit is quick.
fn latest(followed: &[Followed], groups: &[i64], by: By) -> Vec<(Followed, i64)> {
    let each = (OF_ALL / groups.len().max(1)).clamp(LEAST, OF_ALL);
    let mut taken: BTreeMap<i64, usize> = BTreeMap::new();
    let mut of: Vec<(Followed, i64)> = Vec::new();
    for f in followed.iter().rev() {
        let Some(group) = group_of(f, by).filter(|g| groups.contains(g)) else { continue };
        let n = taken.entry(group).or_default();
        if *n < each {
            *n += 1;
            of.push((*f, group));
        }
    }
    of.reverse();
    of
}

/// Compares groups of flowers of one kind, which come earliest first; `None` with fewer than two groups that have a flower.
///
/// # Errors
/// When the optimum was not reached.
pub fn compare(
    followed: &[Followed],
    groups: &[i64],
    by: By,
    prior: LifePrior,
) -> Result<Option<Comparison>, ParametricError> {
    let of = latest(followed, groups, by);
    let blooms: Vec<Bloom> = of.iter().map(|f| f.0.bloom).collect();
    let umbel = clusters(&blooms);
    let mut counts: BTreeMap<i64, (usize, BTreeSet<u32>)> = BTreeMap::new();
    for ((f, group), u) in of.iter().zip(&umbel) {
        let c = counts.entry(*group).or_default();
        c.0 += usize::from(f.bloom.ended.is_some());
        c.1.insert(*u);
    }
    let most = counts.iter().max_by_key(|(key, c)| (c.0, std::cmp::Reverse(**key)));
    let (Some((&first, of_first)), true) = (most, counts.len() > 1) else { return Ok(None) };
    let enough = |c: &(usize, BTreeSet<u32>)| c.0 >= ENDED && c.1.len() >= UMBELS;
    let others: Vec<i64> = counts.keys().copied().filter(|g| *g != first).collect();
    let fit = fit(&of, &umbel, &others, by, prior)?;
    let beside = |(k, group): (usize, &i64)| {
        let b = &fit.coefficients[k + 3].1;
        let ratio = [b.lower, b.median, b.upper].map(f64::exp);
        let c = &counts[group];
        let longer = 1.0 - fit.coefficient_below(k + 3, 0.0);
        let apart = !(1.0 - SURE..=SURE).contains(&longer);
        Beside {
            group: *group,
            ratio,
            shown: apart && enough(c) && enough(of_first),
            longer,
            ended: c.0,
            umbels: c.1.len(),
        }
    };
    let scale = fit.scale.map_or(0.3, |s| s.median);
    let scores = scores(&blooms, fit.coefficients[0].1.median, scale);
    Ok(Some(Comparison {
        first,
        ended: of_first.0,
        umbels: of_first.1.len(),
        others: others.iter().enumerate().map(beside).collect(),
        by_chance: by_chance(&of, &umbel, &scores, by),
    }))
}

/// The joint fit: air, one coefficient for each group but the first, clones (beside places) and
/// umbels.
fn fit(
    of: &[(Followed, i64)],
    umbel: &[u32],
    others: &[i64],
    by: By,
    prior: LifePrior,
) -> Result<Posterior, ParametricError> {
    // Two rows that say nothing, as where lives are fitted.
    let rows = of.len() + 2;
    let (mut times, mut starts): (Vec<Time>, Vec<Option<Start>>) =
        of.iter().map(|f| f.0.bloom.time()).unzip();
    times.extend([Time::open(0.0); 2]);
    starts.extend([None; 2]);
    let warmth = of.iter().map(|f| f.0.weather.warmth);
    let deficit = of.iter().map(|f| f.0.weather.deficit);
    let mut columns = vec![
        ("warmth".to_owned(), centred(warmth, [1.0, 0.0])),
        ("deficit".to_owned(), centred(deficit, [0.0, 1.0])),
    ];
    for group in others {
        let mut column: Vec<f64> = of.iter().map(|f| f64::from(u8::from(f.1 == *group))).collect();
        column.resize(rows, 0.0);
        columns.push((format!("group {group}"), column));
    }
    let fixed = Fixed::of_columns(rows, columns)?;
    let mut terms = Vec::new();
    let mut spreads = Vec::new();
    let mut add = |name: &str, (mut index, n): (Vec<u32>, usize), scale: f64| {
        if n > 1 && n < of.len() {
            index.extend([0; 2]);
            let levels = (0..n).map(|l| l.to_string()).collect();
            terms.push(RandomTerm {
                name: name.to_owned(),
                levels,
                index,
                members: 1,
                slope: None,
            });
            spreads.push(Some(SpreadPrior::HalfNormal { scale }));
        }
    };
    if by == By::Place {
        add("clone", index_of(of.iter().map(|f| f.0.clone)), 0.3);
    }
    add("umbel", index_of(umbel.iter()), 0.2);
    let mut coefficients = vec![
        Some(NormalPrior { mean: prior.median.ln(), sd: 2.0 * prior.off }),
        Some(super::life::WARMTH),
        Some(super::life::DEFICIT),
    ];
    coefficients.resize(3 + others.len(), Some(NormalPrior { mean: 0.0, sd: DIFFERENCE }));
    let scale = Some(super::life::FLOWERS);
    let beliefs = Beliefs { coefficients, scale, spreads, sum_few: true };
    posterior_started(&times, &starts, &fixed, Law::Lognormal, &terms, &beliefs, LEVEL)
}

/// A column less the mean of what is known, then the two rows that say nothing.
fn centred(of: impl Iterator<Item = Option<f64>>, last: [f64; 2]) -> Vec<f64> {
    let all: Vec<Option<f64>> = of.collect();
    let told: Vec<f64> = all.iter().flatten().copied().collect();
    let mean = told.iter().sum::<f64>() / told.len().max(1) as f64;
    all.into_iter().map(|v| v.map_or(0.0, |v| v - mean)).chain(last).collect()
}

/// What each flower says of its life if all were alike: the mean of the logarithm, within what is
/// known of it. Any score would do for the check; a good one makes it sharper.
fn scores(blooms: &[Bloom], mean: f64, scale: f64) -> Vec<f64> {
    let density = |z: f64| (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt();
    let z = |t: f64| (t.ln() - mean) / scale;
    blooms
        .iter()
        .map(|b| {
            let (time, start) = b.time();
            let later = start.map_or(0.0, |s| 0.5 * s.width);
            let low = time.left.map_or(0.0, |t| t + later).max(0.1);
            let high = time.right.map_or(1e3, |t| t + later).max(1.01 * low);
            let (a, b) = (z(low), z(high));
            let inside = normal_cdf(b) - normal_cdf(a);
            if inside > 1e-9 {
                (density(a) - density(b)) / inside
            } else {
                if a > 0.0 { a } else { b }
            }
        })
        .collect()
}

/// How often groups would lie so far apart if umbels were dealt out by chance, each as a whole;
/// between places only within a clone.
fn by_chance(of: &[(Followed, i64)], umbel: &[u32], scores: &[f64], by: By) -> f64 {
    // Each umbel: stratum, group, mean score and number of flowers.
    let mut units: BTreeMap<u32, (i64, i64, f64, f64)> = BTreeMap::new();
    for (((f, group), u), score) in of.iter().zip(umbel).zip(scores) {
        let stratum = if by == By::Place { f.clone } else { 0 };
        let unit = units.entry(*u).or_insert((stratum, *group, 0.0, 0.0));
        unit.2 += score;
        unit.3 += 1.0;
    }
    let mut units: Vec<(i64, i64, f64)> =
        units.into_values().map(|(s, g, sum, n)| (s, g, sum / n)).collect();
    units.sort_by_key(|u| u.0);
    let mut labels: Vec<i64> = units.iter().map(|u| u.1).collect();
    let seen = spread(&units, &labels);
    let mut random = Random::new(SEED);
    let mut hits = 0;
    for _ in 0..DRAWN {
        let mut at = 0;
        for stratum in units.chunk_by(|a, b| a.0 == b.0) {
            for k in (1..stratum.len()).rev() {
                labels.swap(at + k, at + random.below(k + 1));
            }
            at += stratum.len();
        }
        hits += usize::from(spread(&units, &labels) >= seen - 1e-12);
    }
    (hits + 1) as f64 / (DRAWN + 1) as f64
}

/// Squares of the means of groups, by their sizes.
fn spread(units: &[(i64, i64, f64)], labels: &[i64]) -> f64 {
    let mut sums: BTreeMap<i64, (f64, f64)> = BTreeMap::new();
    let mean = units.iter().map(|u| u.2).sum::<f64>() / units.len().max(1) as f64;
    for (u, label) in units.iter().zip(labels) {
        let s = sums.entry(*label).or_default();
        *s = (s.0 + u.2 - mean, s.1 + 1.0);
    }
    sums.values().map(|s| s.0 * s.0 / s.1).sum()
}
