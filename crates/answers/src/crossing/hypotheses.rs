//! Barriers that the data can speak to: offered at a posterior of nine in ten from a belief of at most
//! one in ten, in words that claim no proof.
//!
//! A one-way barrier is weighed against a pair whose two directions differ by chance. Sharing of
//! incompatibility alleles at one locus (sharing one or both is incompatible: Lipow & Wyatt 2000,
//! Genetics 154:893–907) is weighed against pairs that differ by chance, alleles being dropped
//! through the recorded pedigree. Only whether alleles are shared can be told, never which.

use std::collections::{BTreeMap, HashMap};

use journal::Uid;
use serde::Serialize;
use stats::{quadrature::GaussHermite, random::Random};

use super::{engine::Engine, groups::FACTS};
use crate::Hand;

/// What is believed of all hypotheses of one kind together, before the data.
pub const PRIOR: f64 = 0.1;
/// From which posterior on one is offered.
pub const SHOWN: f64 = 0.9;

/// A hypothesis that the data speak for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Hypothesis {
    /// `one_way` or `shared_alleles`.
    pub kind: &'static str,
    /// Seed parent and pollen parent of the direction that fails, or all clones concerned.
    pub clones: Vec<Uid>,
    /// What was believed beforehand.
    pub prior: f64,
    /// What the data leave.
    pub posterior: f64,
    /// In words.
    pub text: String,
}

/// A flower that cannot take does so once in a hundred: strange pollen, an unreduced gamete, a slip
/// of the pen. Common practice, no source.
const LEAK: f64 = 0.01;
/// Spread of pairs and of directions on the log odds, as the model of chances believes.
const PAIRS: f64 = 1.2;
const DIRECTIONS: f64 = 0.4;

fn chance_of(k: u64, n: u64, eta: f64) -> f64 {
    // Without the number of ways, which is the same under all hypotheses.
    let p = 1.0 / (1.0 + (-eta).exp());
    p.powi(k as i32) * (1.0 - p).powi((n - k) as i32)
}

/// Posterior of a barrier in the first direction, and of one in the second, from what took of what in
/// the two directions; `usual` is the mean of the log odds, `prior` the belief in either barrier.
#[must_use]
pub fn one_way((k, n): (u64, u64), (l, m): (u64, u64), usual: f64, prior: f64) -> (f64, f64) {
    let rule = GaussHermite::shared(21);
    let leak = (LEAK / (1.0 - LEAK)).ln();
    let (mut both, mut first, mut second) = (0.0, 0.0, 0.0);
    for (z, w) in rule.nodes.iter().zip(&rule.weights) {
        let eta = usual + PAIRS * z;
        let a = rule.expectation(eta, DIRECTIONS, |e| chance_of(k, n, e));
        let b = rule.expectation(eta, DIRECTIONS, |e| chance_of(l, m, e));
        both += w * a * b;
        first += w * b * chance_of(k, n, leak);
        second += w * a * chance_of(l, m, leak);
    }
    let (both, first, second) = ((1.0 - prior) * both, 0.5 * prior * first, 0.5 * prior * second);
    let sum = both + first + second;
    (first / sum, second / sum)
}

/// A pair that was tried, by places in the pedigree.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Trial {
    /// Seed parent.
    pub seed: usize,
    /// Pollen parent.
    pub pollen: usize,
    /// How many took.
    pub took: u64,
    /// Of how many flowers.
    pub flowers: u64,
}

/// Posterior of incompatibility by shared alleles at one locus. `parents` are places in the same list,
/// parents before their children.
///
/// That two have seedlings counts as well: under the hypothesis they will hardly share an allele.
#[must_use]
pub fn shared_alleles(
    parents: &[[Option<usize>; 2]],
    trials: &[Trial],
    usual: f64,
    prior: f64,
    seed: u64,
) -> f64 {
    const DRAWS: usize = 4_000;
    /// Alleles that founders draw from: common practice, no source.
    const ALLELES: usize = 10;
    let rule = GaussHermite::shared(15);
    let mut random = Random::new(seed);
    let couples: Vec<[usize; 2]> = parents
        .iter()
        .filter_map(|p| Some([p[0]?, p[1]?]))
        .collect::<std::collections::BTreeSet<_>>()
        .into_iter()
        .collect();
    // The mean of all pairs is not known: it is summed over as well.
    let means: Vec<(f64, f64)> =
        rule.nodes.iter().zip(&rule.weights).map(|(z, w)| (usual + z, *w)).collect();
    let free: Vec<Vec<f64>> = means
        .iter()
        .map(|(m, _)| {
            let one = |t: &Trial| rule.expectation(*m, PAIRS, |e| chance_of(t.took, t.flowers, e));
            trials.iter().map(|t| one(t).ln()).collect()
        })
        .collect();
    let leak = (LEAK / (1.0 - LEAK)).ln();
    let barred: Vec<f64> = trials.iter().map(|t| chance_of(t.took, t.flowers, leak).ln()).collect();
    let top = free.iter().map(|f| f.iter().sum::<f64>()).fold(f64::NEG_INFINITY, f64::max);
    let plain: f64 =
        means.iter().zip(&free).map(|((_, w), f)| w * (f.iter().sum::<f64>() - top).exp()).sum();
    let mut sum = 0.0;
    let mut alleles = vec![[0usize; 2]; parents.len()];
    for _ in 0..DRAWS {
        for (i, both) in parents.iter().enumerate() {
            let mut fresh = 0;
            for side in 0..2 {
                alleles[i][side] = match both[side] {
                    Some(p) => alleles[p][random.below(2)],
                    None => {
                        fresh += 1;
                        random.below(ALLELES)
                    }
                };
            }
            // A founder came of a cross that took: its two alleles differ.
            if fresh == 2 && alleles[i][0] == alleles[i][1] {
                alleles[i][1] = (alleles[i][0] + 1 + random.below(ALLELES - 1)) % ALLELES;
            }
        }
        let share = |a: usize, b: usize| alleles[a].iter().any(|x| alleles[b].contains(x));
        let bred: f64 =
            couples.iter().map(|[a, b]| if share(*a, *b) { LEAK } else { 1.0 }).product();
        let barred_here: Vec<bool> = trials.iter().map(|t| share(t.seed, t.pollen)).collect();
        for ((_, w), f) in means.iter().zip(&free) {
            let log: f64 = (f.iter().zip(&barred).zip(&barred_here))
                .map(|((free, barred), here)| if *here { *barred } else { *free })
                .sum();
            sum += w * bred * (log - top).exp();
        }
    }
    let shared = sum / DRAWS as f64;
    prior * shared / (prior * shared + (1.0 - prior) * plain)
}

/// Everything that the data speak for.
pub(super) fn all(engine: &Engine, hand: &Hand) -> Vec<Hypothesis> {
    let mut sums: BTreeMap<(Uid, Uid), (u64, u64)> = BTreeMap::new();
    for (a, seed, pollen, took) in engine.crosses.known() {
        let slot = sums.entry((seed, pollen)).or_default();
        *slot = (slot.0 + took, slot.1 + a.flowers);
    }
    let mut out = one_ways(engine, &sums, hand);
    out.extend(families(engine, &sums, hand));
    out
}

/// The usual log odds of the group of a clone, as the fit holds it.
fn usual(engine: &Engine, clone: Uid) -> f64 {
    let at = engine
        .facts
        .of(clone)
        .and_then(|f| FACTS.iter().position(|g| g.group == f.group))
        .unwrap_or(FACTS.len() - 1);
    engine.taking.fit.coefficient(at).0
}

fn name(engine: &Engine, clone: Uid, hand: &Hand) -> String {
    match engine.facts.of(clone) {
        Some(f) if !f.name.is_empty() => f.name.clone(),
        Some(f) => format!("{} {}", hand.texts().t("clone"), f.number),
        None => hand.texts().t("not named").to_owned(),
    }
}

fn percent(p: f64) -> String {
    format!("{:.0}", (100.0 * p).clamp(1.0, 99.0))
}

fn one_ways(
    engine: &Engine,
    sums: &BTreeMap<(Uid, Uid), (u64, u64)>,
    hand: &Hand,
) -> Vec<Hypothesis> {
    let t = hand.texts();
    let tested: Vec<_> = sums
        .iter()
        .filter(|((a, b), _)| a < b)
        .filter_map(|((a, b), there)| Some((*a, *b, *there, *sums.get(&(*b, *a))?)))
        .collect();
    // The belief is shared among all pairs that are looked at.
    let prior = PRIOR / tested.len().max(1) as f64;
    let mut out = Vec::new();
    for (a, b, there, back) in tested {
        let (first, second) = one_way(there, back, usual(engine, a), prior);
        let (posterior, seed, pollen, failed, took) =
            if first >= second { (first, a, b, there, back) } else { (second, b, a, back, there) };
        if posterior < SHOWN {
            continue;
        }
        let text = t.f(
            "{seed} may refuse pollen of {pollen} while the other direction works: {k} of {n} took against {l} of {m}. Believed to {prior} % beforehand, to {posterior} % now; this is no proof.",
            &[
                ("seed", &name(engine, seed, hand)),
                ("pollen", &name(engine, pollen, hand)),
                ("k", &failed.0),
                ("n", &failed.1),
                ("l", &took.0),
                ("m", &took.1),
                ("prior", &percent(prior)),
                ("posterior", &percent(posterior)),
            ],
        );
        let clones = vec![seed, pollen];
        out.push(Hypothesis { kind: "one_way", clones, prior, posterior, text });
    }
    out
}

/// Most pairs of one genus that are weighed: beyond, too few of the draws fit to count them.
const MOST_PAIRS: usize = 40;

fn families(
    engine: &Engine,
    sums: &BTreeMap<(Uid, Uid), (u64, u64)>,
    hand: &Hand,
) -> Vec<Hypothesis> {
    let t = hand.texts();
    let genus = |c: &Uid| engine.facts.of(*c).map(|f| f.genus.clone()).unwrap_or_default();
    let mut by_genus: BTreeMap<String, Vec<(Uid, Uid, u64, u64)>> = BTreeMap::new();
    for ((a, b), (k, n)) in sums {
        // Only relatives tell of alleles by descent.
        if genus(a) == genus(b) && engine.facts.kinship(*a, *b) > 0.0 {
            by_genus.entry(genus(a)).or_default().push((*a, *b, *k, *n));
        }
    }
    let prior = PRIOR / by_genus.len().max(1) as f64;
    let mut out = Vec::new();
    for (genus, pairs) in by_genus {
        if pairs.len() < 3 || pairs.len() > MOST_PAIRS {
            continue;
        }
        let (order, parents) = engine.facts.pedigree();
        let at: HashMap<Uid, usize> = order.iter().enumerate().map(|(i, u)| (*u, i)).collect();
        let root = |c: Uid| engine.facts.of(c).map_or(c, |f| f.root);
        let trials: Option<Vec<Trial>> = pairs
            .iter()
            .map(|(a, b, took, flowers)| {
                Some(Trial {
                    seed: *at.get(&root(*a))?,
                    pollen: *at.get(&root(*b))?,
                    took: *took,
                    flowers: *flowers,
                })
            })
            .collect();
        let Some(trials) = trials else { continue };
        let posterior = shared_alleles(parents, &trials, usual(engine, pairs[0].0), prior, 1);
        if posterior < SHOWN {
            continue;
        }
        let text = t.f(
            "{genus}: relatives fail as if they shared alleles of incompatibility at one locus, and {n} pairs fit it. Believed to {prior} % beforehand, to {posterior} % now; this is no proof. If so, one random full sib in four is compatible and a parent never is.",
            &[
                ("genus", &genus),
                ("n", &trials.len()),
                ("prior", &percent(prior)),
                ("posterior", &percent(posterior)),
            ],
        );
        let mut clones: Vec<Uid> = pairs.iter().flat_map(|p| [p.0, p.1]).collect();
        clones.sort();
        clones.dedup();
        out.push(Hypothesis { kind: "shared_alleles", clones, prior, posterior, text });
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sibs 2 to 5 of parents 0 and 1.
    fn family() -> Vec<[Option<usize>; 2]> {
        let mut out = vec![[None, None]; 2];
        out.extend([[Some(0), Some(1)]; 4]);
        out
    }

    fn trial(seed: usize, pollen: usize, took: u64, flowers: u64) -> Trial {
        Trial { seed, pollen, took, flowers }
    }

    #[test]
    fn a_one_way_barrier_is_told_from_a_rare_cross() {
        let usual = -0.4;
        let (first, second) = one_way((0, 30), (14, 30), usual, 0.1);
        assert!(first > SHOWN && second < 0.01, "{first} {second}");
        // Few flowers say nothing, and a pair that fails both ways is no one-way barrier.
        assert!(one_way((0, 4), (2, 4), usual, 0.1).0 < 0.5);
        assert!(one_way((0, 30), (0, 30), usual, 0.1).0 < 0.5);
        let (a, b) = (one_way((3, 20), (9, 20), usual, 0.1), one_way((9, 20), (3, 20), usual, 0.1));
        assert!((a.0 - b.1).abs() < 1e-12, "the directions are alike");
    }

    /// The sum over a plain grid of log odds stands in for the quadrature.
    #[test]
    fn the_weight_of_a_barrier_is_that_of_a_plain_sum() {
        let ((k, n), (l, m)) = ((0u64, 12u64), (5u64, 9u64));
        let normal = |x: f64, m: f64, s: f64| (-0.5 * ((x - m) / s).powi(2)).exp() / s;
        let (mut both, mut first, mut second, mut sum) = (0.0, 0.0, 0.0, 0.0);
        for i in -300..300 {
            let eta = -0.4 + 0.02 * f64::from(i);
            let over = |k: u64, n: u64| {
                let at = |j: i32| eta + 0.02 * f64::from(j);
                let w: f64 = (-100..100).map(|j| normal(at(j), eta, DIRECTIONS)).sum();
                (-100..100)
                    .map(|j| normal(at(j), eta, DIRECTIONS) * chance_of(k, n, at(j)))
                    .sum::<f64>()
                    / w
            };
            let w = normal(eta, -0.4, PAIRS);
            let (a, b) = (over(k, n), over(l, m));
            sum += w;
            both += w * a * b;
            first += w * b * LEAK.powi(k as i32) * (1.0 - LEAK).powi((n - k) as i32);
            second += w * a * LEAK.powi(l as i32) * (1.0 - LEAK).powi((m - l) as i32);
        }
        let parts = [0.9 * both / sum, 0.05 * first / sum, 0.05 * second / sum];
        let whole: f64 = parts.iter().sum();
        let found = one_way((k, n), (l, m), -0.4, 0.1);
        assert!((found.0 - parts[1] / whole).abs() < 1e-3, "{found:?} {parts:?}");
        assert!((found.1 - parts[2] / whole).abs() < 1e-6);
    }

    #[test]
    fn shared_alleles_show_in_a_family_that_follows_them_and_not_in_one_that_does_not() {
        // Alleles 1,2 and 3,4; sibs 13, 14, 23, 24: compatible are 13 with 24 and 14 with 23.
        let mut follows = Vec::new();
        for (i, j) in [(2, 3), (2, 4), (2, 5), (3, 4), (3, 5), (4, 5)] {
            let fits = [(2, 5), (3, 4)].contains(&(i, j));
            follows.push(trial(i, j, if fits { 7 } else { 0 }, 12));
        }
        for parent in 0..2 {
            follows.extend((2..6).map(|sib| trial(sib, parent, 0, 8)));
        }
        let found = shared_alleles(&family(), &follows, -0.4, 0.1, 3);
        assert!(found > SHOWN, "{found}");
        // Back-crosses that take speak against it.
        let mut takes = follows.clone();
        takes.iter_mut().filter(|t| t.pollen < 2).for_each(|t| t.took = 4);
        let found = shared_alleles(&family(), &takes, -0.4, 0.1, 3);
        assert!(found < 0.1, "{found}");
        // Nothing tried leaves the belief where it was, but for what the seedlings say.
        let nothing = shared_alleles(&[[None, None]; 3], &[], -0.4, 0.1, 3);
        assert!((nothing - 0.1).abs() < 1e-9, "{nothing}");
    }
}
