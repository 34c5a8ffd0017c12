//! Good choices: filled by prices, improved by exchanges, and in part taken down and built again.

use super::{
    problem::{Choice, Problem},
    relax::Prices,
};
use crate::watch::Watch;

/// Fills a choice from the pool, each time with what is worth most at the prices and improves it.
pub(crate) fn fill(
    p: &Problem<'_>,
    choice: &mut Choice<'_>,
    pool: &[usize],
    prices: &Prices,
    watch: &mut Watch<'_>,
) {
    // What an offer pays for amounts does not change while the choice grows.
    let paid: Vec<f64> = pool.iter().map(|j| prices.paid(p, *j)).collect();
    let mut open: Vec<(usize, f64)> = pool.iter().copied().zip(paid).collect();
    loop {
        watch.spend(open.len());
        open.retain(|(j, _)| choice.fits(*j));
        let best = open
            .iter()
            .map(|(j, paid)| (choice.if_added(*j), *paid, *j))
            .filter(|(change, ..)| *change > 0.0)
            .map(|(change, paid, j)| (change - paid, j))
            .fold(None, |best: Option<(f64, usize)>, one| match best {
                Some(b) if b.0 >= one.0 => Some(b),
                _ => Some(one),
            });
        match best {
            Some((_, j)) => choice.add(j),
            None => return,
        }
    }
}

/// Takes out one at a time and puts back what is best in its place (or nothing, or itself), then
/// adds what still fits, until no exchange helps. What must be taken stays.
pub(crate) fn exchange(
    p: &Problem<'_>,
    choice: &mut Choice<'_>,
    pool: &[usize],
    watch: &mut Watch<'_>,
) {
    let rounding = Problem::rounding(p.value(choice.chosen()));
    loop {
        let mut better = false;
        for out in choice.chosen().to_vec() {
            if p.offers[out].must {
                continue;
            }
            if watch.over().is_some() {
                return;
            }
            let lost = choice.if_removed(out);
            choice.remove(out);
            let (change, put) = best_to_add(choice, pool, watch);
            if change + lost > rounding && put != Some(out) {
                better = true;
                put.into_iter().for_each(|j| choice.add(j));
            } else {
                choice.add(out);
            }
        }
        while let (_, Some(j)) = best_to_add(choice, pool, watch) {
            choice.add(j);
            better = true;
        }
        if !better {
            return;
        }
    }
}

/// The offer whose adding raises the value most; none when nothing raises it.
fn best_to_add(choice: &Choice<'_>, pool: &[usize], watch: &mut Watch<'_>) -> (f64, Option<usize>) {
    watch.spend(pool.len());
    let mut best = (0.0, None);
    for j in pool {
        let change = choice.if_added(*j);
        if change > best.0 && choice.fits(*j) {
            best = (change, Some(*j));
        }
    }
    best
}

/// Numbers without order, the same in every run (SplitMix64, Steele, Lea & Flood 2014; constants
/// from memory).
#[derive(Debug)]
pub(crate) struct Numbers(u64);

impl Numbers {
    pub(crate) fn new() -> Self {
        Self(0)
    }

    /// A number from 0 to below n \[1 or more\].
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) % n as u64) as usize
    }
}

/// How long to take down and build again.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Rebuilding {
    /// How often without finding anything better.
    pub patience: usize,
    /// No choice has a higher value.
    pub bound: f64,
}

/// Takes a few offers out, those that share a candidate with one of them or any, builds up again by
/// prices, and goes on from there unless that is worse by more than a little. The best found stays
/// in `choice`. (Large neighbourhood search, Shaw 1998, from memory.)
pub(crate) fn rebuild(
    p: &Problem<'_>,
    choice: &mut Choice<'_>,
    pool: &[usize],
    prices: &Prices,
    limits: Rebuilding,
    numbers: &mut Numbers,
    watch: &mut Watch<'_>,
) {
    let mut best = (p.value(choice.chosen()), choice.clone());
    let (mut here, mut waited) = (best.0, 0);
    while waited < limits.patience && watch.over().is_none() {
        let gap = limits.bound - best.0;
        if gap <= Problem::rounding(best.0) {
            break;
        }
        waited += 1;
        let free: Vec<usize> =
            choice.chosen().iter().copied().filter(|j| !p.offers[*j].must).collect();
        if free.is_empty() {
            break;
        }
        let mut next = choice.clone();
        for j in taken_down(p, &free, numbers) {
            next.remove(j);
        }
        fill(p, &mut next, pool, prices, watch);
        let value = p.value(next.chosen());
        // A step down is allowed, the smaller the longer nothing was found.
        let left = 1.0 - waited as f64 / limits.patience as f64;
        if value > here - 0.05 * gap * left {
            *choice = next;
            here = value;
        }
        if here > best.0 + Problem::rounding(here) {
            best = (here, choice.clone());
            waited = 0;
        }
    }
    *choice = best.1;
}

/// Two to six offers: every other time neighbours of one, by candidate.
fn taken_down(p: &Problem<'_>, free: &[usize], numbers: &mut Numbers) -> Vec<usize> {
    let many = (2 + numbers.below(5)).min(free.len());
    let first = free[numbers.below(free.len())];
    let mut out = vec![first];
    if numbers.below(2) == 0 {
        let of = |j: usize| p.offers[j].from().map(|(i, _)| i);
        let near = |j: &usize| of(*j).any(|i| of(first).any(|k| k == i));
        out.extend(free.iter().copied().filter(|j| *j != first && near(j)).take(many - 1));
    }
    while out.len() < many {
        let j = free[numbers.below(free.len())];
        if !out.contains(&j) {
            out.push(j);
        }
    }
    out
}
