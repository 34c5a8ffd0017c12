//! Good choices: filled by prices, then improved by exchanges.

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
