//! Which crosses to make in a season, under limits of pots, flowers and number of crosses.
//!
//! A plan is worth the gains of its crosses, less a weight times the mean kinship among all seedlings
//! that the pots could hold: the share of a parent is the pots of its crosses, half to each parent,
//! divided by all pots that there are. (Optimum contributions, Meuwissen 1997; crosses under a
//! budget after the idea of Allier et al. 2019; both from memory.) What a cross gains is the
//! caller's: usefulness μ + i·h·σ of its best seedling, or wanted seedlings expected.

use std::collections::BTreeMap;

use crate::{
    Ended, Kinship, PlanningError, Watch,
    select::{NONE, Offer, Problem, Solution, solve},
};

/// What a candidate can give.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Parent {
    /// Flowers that may be pollinated this season.
    pub seed_flowers: u32,
    /// Flowers whose pollen may be taken.
    pub pollen_flowers: u32,
}

/// One size at which a cross may be made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// What the cross is worth at this size, in the caller's unit.
    pub gain: f64,
    /// Pots for its seedlings \[1 or more\].
    pub pots: u32,
    /// Flowers pollinated on the seed parent.
    pub seed_flowers: u32,
    /// Flowers taken from the pollen parent.
    pub pollen_flowers: u32,
}

/// A cross that may be made.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// Seed parent.
    pub seed: usize,
    /// Pollen parent; the same for selfing.
    pub pollen: usize,
    /// At most one of these is taken.
    pub sizes: Vec<Size>,
    /// Whether it must be made; then at its first size.
    pub must: bool,
}

/// A season's possibilities.
#[derive(Debug, Clone, Copy)]
pub struct Season<'a> {
    /// The candidates.
    pub parents: &'a [Parent],
    /// Their kinship.
    pub kinship: &'a Kinship,
    /// The crosses that may be made; a cross and its reverse are two pairs.
    pub pairs: &'a [Pair],
    /// Pots that there are \[1 or more\].
    pub pots: u32,
    /// No more crosses than this.
    pub most_crosses: usize,
    /// Pairs of parents more closely related than this are not crossed; infinity allows all.
    pub most_kinship: f64,
    /// What is given up for mean kinship lower by 1 \[unit of gain, 0 or more\].
    pub weight: f64,
}

/// A cross of the plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cross {
    /// Number of the pair.
    pub pair: usize,
    /// Number of its size.
    pub size: usize,
    /// Its gain.
    pub gain: f64,
    /// Kinship of its parents, which is the inbreeding of its seedlings.
    pub kinship: f64,
    /// What the plan would lose without it: its gain less what it adds to kinship.
    pub worth: f64,
}

/// What to cross.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// The weight that it was made for.
    pub weight: f64,
    /// The crosses, in order of pairs.
    pub crosses: Vec<Cross>,
    /// Sum of their gains.
    pub gain: f64,
    /// Pots that they fill.
    pub pots: u32,
    /// Share of each parent in the seedlings; those above 0, adding up to 1.
    pub contributions: BTreeMap<usize, f64>,
    /// Mean kinship among the seedlings \[0 to 1\].
    pub mean_kinship: f64,
    /// Gain less the weighted kinship.
    pub value: f64,
    /// No plan has a higher value.
    pub bound: f64,
    /// Whether nothing better exists, or why the search ended before that was known.
    pub ended: Ended,
}

impl Plan {
    /// How much higher the value of another plan could be at most \[0 or more\].
    pub fn gap(&self) -> f64 {
        (self.bound - self.value).max(0.0)
    }
}

/// Chooses crosses.
///
/// # Errors
/// If a pair names no candidate, a number is none, or what must be made does not fit.
pub fn choose_crosses(season: &Season<'_>, watch: &mut Watch<'_>) -> Result<Plan, PlanningError> {
    let (problem, pairs) = problem(season, season.weight)?;
    let solution = solve(&problem, &[], watch);
    Ok(plan(season, &problem, &pairs, &solution))
}

/// The same for several weights: the more weight, the less kinship and the less gain. Each weight has
/// the looks of the watch for itself; a plan that was found for one is tried for all.
///
/// # Errors
/// As [`choose_crosses`], and for a weight that is not 0 or more.
pub fn trade_off(
    season: &Season<'_>,
    weights: &[f64],
    watch: &mut Watch<'_>,
) -> Result<Vec<Plan>, PlanningError> {
    let mut solved = Vec::new();
    for weight in weights {
        let (problem, pairs) = problem(season, *weight)?;
        let known: Vec<Vec<usize>> =
            solved.iter().map(|(_, _, s): &(_, _, Solution)| s.chosen.clone()).collect();
        watch.again();
        let solution = solve(&problem, &known, watch);
        solved.push((problem, pairs, solution));
    }
    let all: Vec<Vec<usize>> = solved.iter().map(|(_, _, s)| s.chosen.clone()).collect();
    for (problem, _, solution) in &mut solved {
        for chosen in &all {
            let value = problem.value(chosen);
            if value > solution.value + Problem::rounding(value) {
                (solution.chosen, solution.value) = (chosen.clone(), value);
            }
        }
    }
    Ok(solved
        .iter()
        .zip(weights)
        .map(|((problem, pairs, solution), weight)| {
            plan(&Season { weight: *weight, ..*season }, problem, pairs, solution)
        })
        .collect())
}

/// The season as offers, each with its pair and size.
fn problem<'a>(
    season: &Season<'a>,
    weight: f64,
) -> Result<(Problem<'a>, Vec<(usize, usize)>), PlanningError> {
    check(season, weight)?;
    let parents = season.parents.len();
    let mut offers = Vec::new();
    let mut which = Vec::new();
    for (number, pair) in season.pairs.iter().enumerate() {
        if !pair.must && season.kinship.of(pair.seed, pair.pollen) > season.most_kinship {
            continue;
        }
        for (at, size) in pair.sizes.iter().enumerate() {
            if pair.must && at > 0 {
                continue;
            }
            let share = f64::from(size.pots) / f64::from(season.pots);
            let from = if pair.seed == pair.pollen {
                [(pair.seed, share), (NONE, 0.0)]
            } else {
                [(pair.seed, 0.5 * share), (pair.pollen, 0.5 * share)]
            };
            let needs = [
                (0, f64::from(size.pots)),
                (1 + pair.seed, f64::from(size.seed_flowers)),
                (1 + parents + pair.pollen, f64::from(size.pollen_flowers)),
            ];
            offers.push(Offer { gain: size.gain, group: number, from, needs, must: pair.must });
            which.push((number, at));
        }
    }
    let flowers = season.parents.iter().map(|p| f64::from(p.seed_flowers));
    let pollen = season.parents.iter().map(|p| f64::from(p.pollen_flowers));
    let amounts: Vec<f64> =
        std::iter::once(f64::from(season.pots)).chain(flowers).chain(pollen).collect();
    let groups = season.pairs.len();
    let problem =
        Problem::new(season.kinship, weight, offers, groups, amounts, season.most_crosses);
    if !problem.musts_fit() {
        let what =
            "the crosses that must be made need more pots, flowers or crosses than there are";
        return refuse(what.to_owned(), "make them smaller, or ask for fewer of them");
    }
    Ok((problem, which))
}

fn check(season: &Season<'_>, weight: f64) -> Result<(), PlanningError> {
    let n = season.parents.len();
    if season.kinship.len() != n {
        let what = format!("kinship of {} for {n} candidates", season.kinship.len());
        return refuse(what, "give the kinship of all candidates, in the same order");
    }
    if season.pots == 0 {
        return refuse("0 pots".to_owned(), "say how many pots there are");
    }
    if !(weight.is_finite() && weight >= 0.0) || season.most_kinship.is_nan() {
        let what = format!("a weight of {weight}, a largest kinship of {}", season.most_kinship);
        return refuse(what, "give a weight of 0 or more, and a number for the largest kinship");
    }
    for (number, pair) in season.pairs.iter().enumerate() {
        if pair.seed.max(pair.pollen) >= n {
            let what = format!("pair {number} crosses {} with {}", pair.seed, pair.pollen);
            return refuse(what, "name candidates by their place in the list, from 0");
        }
        if let Some(size) = pair.sizes.iter().find(|s| !s.gain.is_finite() || s.pots == 0) {
            let what = format!("pair {number}: a gain of {} in {} pots", size.gain, size.pots);
            return refuse(what, "give a number for the gain, and at least one pot");
        }
        if pair.must && pair.sizes.is_empty() {
            return refuse(
                format!("pair {number} has no size"),
                "give a size to what must be made",
            );
        }
    }
    Ok(())
}

fn refuse<T>(what: String, next: &'static str) -> Result<T, PlanningError> {
    Err(PlanningError::Shape { what, next })
}

fn plan(
    season: &Season<'_>,
    problem: &Problem<'_>,
    which: &[(usize, usize)],
    solution: &Solution,
) -> Plan {
    let worth = problem.worth(&solution.chosen);
    let mut mixture = vec![0.0; season.parents.len()];
    let (mut crosses, mut pots) = (Vec::new(), 0);
    for (j, worth) in solution.chosen.iter().zip(worth) {
        let (number, at) = which[*j];
        let pair = &season.pairs[number];
        let size = pair.sizes[at];
        pots += size.pots;
        mixture[pair.seed] += 0.5 * f64::from(size.pots);
        mixture[pair.pollen] += 0.5 * f64::from(size.pots);
        let kinship = season.kinship.of(pair.seed, pair.pollen);
        crosses.push(Cross { pair: number, size: at, gain: size.gain, kinship, worth });
    }
    let shares = mixture.iter().enumerate().filter(|(_, share)| **share > 0.0);
    let contributions = shares.map(|(i, share)| (i, share / f64::from(pots))).collect();
    let gain = crosses.iter().map(|c| c.gain).sum();
    Plan {
        weight: season.weight,
        crosses,
        gain,
        pots,
        contributions,
        mean_kinship: season.kinship.mean(&mixture),
        value: solution.value,
        bound: solution.bound.max(solution.value),
        ended: solution.ended,
    }
}
