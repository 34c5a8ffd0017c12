//! From bound and good choices to a proof, as far as the looks go.

use std::{cmp::Ordering, collections::BinaryHeap, rc::Rc};

use super::{
    improve::{Numbers, Rebuilding, exchange, fill, rebuild},
    problem::{Choice, Problem},
    relax::{Open, Prices, Relaxed, Rounds, tighten},
};
use crate::watch::{Ended, Watch};

/// What was found.
#[derive(Debug, Clone)]
pub(crate) struct Solution {
    /// Offers taken, in order of their number.
    pub chosen: Vec<usize>,
    pub value: f64,
    /// No choice has a higher value.
    pub bound: f64,
    pub ended: Ended,
}

/// So many of the offers that prices favour are tried in exchanges.
const POOL: usize = 3_000;
/// So many when a choice is built again and again.
const FEW: usize = 300;
/// How often a choice is built again without finding better: in each stage, and before branching.
const PATIENCE: usize = 60;
const LAST_PATIENCE: usize = 1_500;
/// Of the looks, the share that may go into the first bound.
const FOR_ROOT: f64 = 0.6;
/// Stages of the first bound, and rounds of each.
const STAGES: usize = 40;
const ROUNDS: usize = 60;

/// A part of the problem that waits.
struct Part {
    bound: f64,
    /// Counts up: of equal bounds the later part comes first, which goes deep.
    number: usize,
    taken: Vec<usize>,
    free: Rc<Vec<usize>>,
    prices: Rc<Prices>,
}

impl PartialEq for Part {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Part {}

impl PartialOrd for Part {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Part {
    fn cmp(&self, other: &Self) -> Ordering {
        self.bound.total_cmp(&other.bound).then(self.number.cmp(&other.number))
    }
}

/// The best choice so far.
struct Best {
    chosen: Vec<usize>,
    value: f64,
}

impl Best {
    /// Takes a choice if it is better.
    fn offer(&mut self, p: &Problem<'_>, chosen: &[usize]) {
        let value = p.value(chosen);
        if value > self.value {
            *self = Self { chosen: chosen.to_vec(), value };
        }
    }

    /// Parts that cannot exceed this are closed.
    fn least(&self) -> f64 {
        self.value + Problem::rounding(self.value)
    }
}

/// Chooses. What must be taken has to fit (the caller looks); `known` are choices from elsewhere that
/// keep all rules.
pub(crate) fn solve(p: &Problem<'_>, known: &[Vec<usize>], watch: &mut Watch<'_>) -> Solution {
    let must: Vec<usize> = (0..p.offers.len()).filter(|j| p.offers[*j].must).collect();
    let begun = Choice::of(p, &must);
    let free: Vec<usize> = (0..p.offers.len()).filter(|j| begun.fits(*j)).collect();
    let mut best = Best { value: p.value(&must), chosen: must.clone() };
    known.iter().for_each(|chosen| best.offer(p, chosen));

    try_prices(p, &must, &free, &Prices::at(p, &best.chosen), &mut best, watch);
    let part = root(p, must, free, &mut best, watch);
    branch(p, part, best, watch)
}

/// The first bound, in stages: after each, offers that cannot exceed what was found are dropped, so
/// that the next goes faster.
fn root(
    p: &Problem<'_>,
    must: Vec<usize>,
    mut free: Vec<usize>,
    best: &mut Best,
    watch: &mut Watch<'_>,
) -> Part {
    // The tangent begins at the first good choice.
    let mut prices = Prices::at(p, &best.chosen);
    let mut bound = f64::INFINITY;
    let mut numbers = Numbers::new();
    for stage in 0..STAGES {
        let open = Open { taken: &must, free: &free };
        let rounds = Rounds {
            most: if watch.over().is_some() { 1 } else { ROUNDS },
            patience: 8,
            length: if stage == 0 { 1.0 } else { 0.3 },
        };
        let mut round = 0;
        let found = tighten(p, open, &mut prices, rounds, watch, |relaxed, _, watch| {
            round += 1;
            if round % 5 == 0 {
                mend(p, &must, relaxed, best);
            }
            watch.report(best.value, relaxed.bound.min(bound));
            best.value
        });
        if watch.over().is_none() {
            try_prices(p, &must, &free, &prices, best, watch);
            let limits = Rebuilding { patience: PATIENCE, bound: found.bound.min(bound) };
            try_again(p, &free, &prices, limits, best, &mut numbers, watch);
        }
        free = prices.still_open(p, open, &found, best.least());
        let before = bound;
        bound = bound.min(found.bound);
        let closed = bound <= best.least();
        let stuck = before - bound < 0.01 * (bound - best.value) && stage >= STAGES / 4;
        if closed || stuck || watch.used() > FOR_ROOT || watch.over().is_some() {
            break;
        }
    }
    if bound > best.least() && watch.over().is_none() {
        let limits = Rebuilding { patience: LAST_PATIENCE, bound };
        try_again(p, &free, &prices, limits, best, &mut numbers, watch);
    }
    Part { bound, number: 0, taken: must, free: Rc::new(free), prices: Rc::new(prices) }
}

/// Branch and bound, the part with the highest bound first.
fn branch(p: &Problem<'_>, root: Part, mut best: Best, watch: &mut Watch<'_>) -> Solution {
    let mut waiting = BinaryHeap::from([root]);
    let mut number = 0;
    let mut ended = Ended::Proven;
    let mut open_bound = f64::NEG_INFINITY;
    while let Some(part) = waiting.pop() {
        if part.bound <= best.least() {
            // The others are no higher.
            break;
        }
        if let Some(why) = watch.over() {
            (ended, open_bound) = (why, part.bound);
            break;
        }
        watch.report(best.value, part.bound);
        let Some((bound, prices, free, on)) = look_into(p, &part, &mut best, watch) else {
            continue;
        };
        let (prices, bound) = (Rc::new(prices), bound.min(part.bound));
        let without: Vec<usize> = free.iter().copied().filter(|j| *j != on).collect();
        let taken = [part.taken.as_slice(), &[on]].concat();
        let choice = Choice::of(p, &taken);
        let with: Vec<usize> = without.iter().copied().filter(|j| choice.fits(*j)).collect();
        best.offer(p, &taken);
        for (taken, free) in [(part.taken, without), (taken, with)] {
            number += 1;
            let prices = Rc::clone(&prices);
            waiting.push(Part { bound, number, taken, free: Rc::new(free), prices });
        }
    }
    let mut chosen = best.chosen;
    chosen.sort_unstable();
    let bound = if ended == Ended::Proven { best.value } else { open_bound.max(best.value) };
    Solution { chosen, value: best.value, bound, ended }
}

/// Bounds a part; none when nothing better is in it. Otherwise its bound, its prices, the offers
/// that are still open, and the one to decide on.
fn look_into(
    p: &Problem<'_>,
    part: &Part,
    best: &mut Best,
    watch: &mut Watch<'_>,
) -> Option<(f64, Prices, Vec<usize>, usize)> {
    let open = Open { taken: &part.taken, free: &part.free };
    let mut prices = (*part.prices).clone();
    let mut often = std::collections::BTreeMap::<usize, usize>::new();
    let mut rounds = 0;
    let relaxed = tighten(
        p,
        open,
        &mut prices,
        Rounds { most: 16, patience: 4, length: 0.5 },
        watch,
        |relaxed, _, _| {
            rounds += 1;
            relaxed.picked.iter().for_each(|(_, j)| *often.entry(*j).or_default() += 1);
            if rounds % 4 == 1 {
                mend(p, &part.taken, relaxed, best);
            }
            best.value
        },
    );
    if relaxed.bound <= best.least() {
        return None;
    }
    let free = prices.still_open(p, open, &relaxed, best.least());
    // The offer on which the rounds were least of one mind; else the best of those picked; else the
    // best of all.
    let torn = |j: &usize| {
        let times = often.get(j).copied().unwrap_or(0);
        times.min(rounds - times)
    };
    let on = free.iter().copied().max_by(|a, b| {
        let value = |j: usize| prices.reduced(p, j);
        torn(a).cmp(&torn(b)).then(value(*a).total_cmp(&value(*b))).then(b.cmp(a))
    });
    on.map(|on| (relaxed.bound, prices, free, on))
}

/// Makes a choice of what was picked, the most valuable first, as far as it fits.
fn mend(p: &Problem<'_>, must: &[usize], relaxed: &Relaxed, best: &mut Best) {
    let mut picked = relaxed.picked.clone();
    picked.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut choice = Choice::of(p, must);
    for (_, j) in picked {
        if choice.fits(j) && choice.if_added(j) > 0.0 {
            choice.add(j);
        }
    }
    best.offer(p, choice.chosen());
}

/// The offers that the prices favour, with those of the best choice.
fn pool(
    p: &Problem<'_>,
    free: &[usize],
    prices: &Prices,
    best: &Best,
    most: usize,
    watch: &mut Watch<'_>,
) -> Vec<usize> {
    let mut valued: Vec<(f64, usize)> = free.iter().map(|j| (prices.reduced(p, *j), *j)).collect();
    watch.spend(free.len());
    let order = |a: &(f64, usize), b: &(f64, usize)| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1));
    if valued.len() > most {
        valued.select_nth_unstable_by(most - 1, order);
        valued.truncate(most);
    }
    let mut pool: Vec<usize> = valued.into_iter().map(|(_, j)| j).collect();
    pool.extend(best.chosen.iter().copied().filter(|j| !p.offers[*j].must));
    pool.sort_unstable();
    pool.dedup();
    pool
}

/// Fills by prices and improves by exchanges, among the offers that the prices favour.
fn try_prices(
    p: &Problem<'_>,
    must: &[usize],
    free: &[usize],
    prices: &Prices,
    best: &mut Best,
    watch: &mut Watch<'_>,
) {
    let pool = pool(p, free, prices, best, POOL, watch);
    let mut choice = Choice::of(p, must);
    fill(p, &mut choice, &pool, prices, watch);
    exchange(p, &mut choice, &pool, watch);
    best.offer(p, choice.chosen());
}

/// Takes the best choice down in part and builds it again, as long as that helps.
fn try_again(
    p: &Problem<'_>,
    free: &[usize],
    prices: &Prices,
    limits: Rebuilding,
    best: &mut Best,
    numbers: &mut Numbers,
    watch: &mut Watch<'_>,
) {
    let few = pool(p, free, prices, best, FEW, watch);
    let mut choice = Choice::of(p, &best.chosen);
    rebuild(p, &mut choice, &few, prices, limits, numbers, watch);
    best.offer(p, choice.chosen());
    let many = pool(p, free, prices, best, POOL, watch);
    exchange(p, &mut choice, &many, watch);
    best.offer(p, choice.chosen());
}
