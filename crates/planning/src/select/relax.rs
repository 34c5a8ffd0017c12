//! Upper bounds from prices on amounts and a tangent to the penalty.

use super::problem::Problem;
use crate::{kinship::dot, watch::Watch};

/// Prices and the mixture at which the penalty has its tangent.
#[derive(Debug, Clone)]
pub(crate) struct Prices {
    /// Price of one unit of each amount \[0 or more\].
    of: Vec<f64>,
    mixture: Vec<f64>,
    /// Kinship of each candidate with the mixture.
    related: Vec<f64>,
}

/// What is open: offers taken in any case, and offers that may be taken (sorted).
#[derive(Debug, Clone, Copy)]
pub(crate) struct Open<'a> {
    pub taken: &'a [usize],
    pub free: &'a [usize],
}

/// The best choice at given prices, which may overrun amounts.
#[derive(Debug, Clone)]
pub(crate) struct Relaxed {
    /// No choice from what is open has a higher value.
    pub bound: f64,
    /// Free offers picked, with their value at these prices.
    pub picked: Vec<(f64, usize)>,
    /// The least of these values when no more may be picked; 0 otherwise.
    least: f64,
}

impl Prices {
    /// No prices, and the tangent at what a choice contributes.
    pub(crate) fn at(p: &Problem<'_>, chosen: &[usize]) -> Self {
        let mut mixture = vec![0.0; p.kinship.len()];
        for j in chosen {
            p.offers[*j].from().for_each(|(i, s)| mixture[i] += s);
        }
        let related = p.kinship.with(&mixture);
        Self { of: vec![0.0; p.amounts.len()], mixture, related }
    }

    /// The value of an offer at these prices.
    pub(crate) fn reduced(&self, p: &Problem<'_>, j: usize) -> f64 {
        let offer = &p.offers[j];
        let related: f64 = offer.from().map(|(i, s)| s * self.related[i]).sum();
        offer.gain - 2.0 * p.weight * related - self.paid(p, j)
    }

    /// What an offer pays for the amounts it needs.
    pub(crate) fn paid(&self, p: &Problem<'_>, j: usize) -> f64 {
        p.offers[j].needs().map(|(r, amount)| amount * self.of[r]).sum()
    }

    /// The best choice at these prices.
    pub(crate) fn relaxed(&self, p: &Problem<'_>, open: Open<'_>) -> Relaxed {
        let mut picked: Vec<(f64, usize)> = Vec::new();
        let mut group = usize::MAX;
        for j in open.free {
            let reduced = self.reduced(p, *j);
            if reduced <= 0.0 {
                continue;
            }
            let own = p.offers[*j].group;
            match picked.last_mut() {
                Some(last) if own == group => {
                    if reduced > last.0 {
                        *last = (reduced, *j);
                    }
                }
                _ => picked.push((reduced, *j)),
            }
            group = own;
        }
        let most = p.most.saturating_sub(open.taken.len());
        let mut least = 0.0;
        if picked.len() >= most {
            let order =
                |a: &(f64, usize), b: &(f64, usize)| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1));
            if most > 0 && picked.len() > most {
                picked.select_nth_unstable_by(most - 1, order);
            }
            picked.truncate(most);
            least = picked.iter().map(|(r, _)| *r).fold(f64::INFINITY, f64::min);
        }
        let mut bound = p.weight * dot(&self.mixture, &self.related) + dot(&self.of, &p.amounts);
        bound += open.taken.iter().map(|j| self.reduced(p, *j)).sum::<f64>();
        bound += picked.iter().map(|(r, _)| r).sum::<f64>();
        Relaxed { bound, picked, least }
    }

    /// Free offers with which a value above `least` is still possible. An offer that was not picked
    /// must take the place of one of its group, or of the least one, or be taken at a loss.
    pub(crate) fn still_open(
        &self,
        p: &Problem<'_>,
        open: Open<'_>,
        relaxed: &Relaxed,
        least: f64,
    ) -> Vec<usize> {
        let mut of_group = vec![None; p.groups];
        for (reduced, j) in &relaxed.picked {
            of_group[p.offers[*j].group] = Some((*reduced, *j));
        }
        let full = relaxed.picked.len() + open.taken.len() >= p.most;
        let possible = |j: usize| {
            let own = self.reduced(p, j);
            let given_up = match of_group[p.offers[j].group] {
                Some((_, pick)) if pick == j => return true,
                Some((reduced, _)) => reduced,
                None if full && relaxed.picked.is_empty() => return false,
                None if full => relaxed.least,
                None => 0.0,
            };
            relaxed.bound - given_up + own > least
        };
        open.free.iter().copied().filter(|j| possible(*j)).collect()
    }
}

/// How prices are moved.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Rounds {
    /// How often.
    pub most: usize,
    /// Rounds without a lower bound after which steps are halved.
    pub patience: usize,
    /// The first step, as a share of the one that would close the gap were the bound straight.
    pub length: f64,
}

/// Moves prices and tangent towards a low bound, by subgradient steps of Polyak's length (from
/// memory): down the price of what is left over, up that of what is overrun, and the tangent
/// towards the mixture that was picked. Gives the lowest bound found, whose prices stay in
/// `prices`. `each` sees every round and gives the value of the best choice known.
pub(crate) fn tighten(
    p: &Problem<'_>,
    open: Open<'_>,
    prices: &mut Prices,
    rounds: Rounds,
    watch: &mut Watch<'_>,
    mut each: impl FnMut(&Relaxed, &Prices, &mut Watch<'_>) -> f64,
) -> Relaxed {
    let mut now = prices.clone();
    let mut best: Option<Relaxed> = None;
    let (mut length, mut waited) = (rounds.length, 0);
    for _ in 0..rounds.most {
        let relaxed = now.relaxed(p, open);
        watch.spend(open.free.len() + open.taken.len() + p.kinship.len());
        let known = each(&relaxed, &now, watch);
        let lowest = best.as_ref().map_or(f64::INFINITY, |b| b.bound);
        if relaxed.bound < lowest - 1e-4 * (lowest - known).abs().min(1.0 + known.abs()) {
            waited = 0;
        } else {
            waited += 1;
        }
        if relaxed.bound < lowest {
            prices.clone_from(&now);
            best = Some(relaxed.clone());
        }
        let gap = relaxed.bound - known;
        let done = gap <= Problem::rounding(known) || length < 1e-3;
        if done || watch.over().is_some() {
            break;
        }
        if waited >= rounds.patience {
            (length, waited) = (0.5 * length, 0);
            now.clone_from(prices);
        }
        now.step(p, open, &relaxed, length * gap);
    }
    // At least one round was made unless none was asked for.
    best.unwrap_or_else(|| prices.relaxed(p, open))
}

impl Prices {
    /// One step that would close `gap` if the bound were straight.
    fn step(&mut self, p: &Problem<'_>, open: Open<'_>, relaxed: &Relaxed, gap: f64) {
        let mut used = vec![0.0; p.amounts.len()];
        let mut mixture = vec![0.0; p.kinship.len()];
        let picked = relaxed.picked.iter().map(|(_, j)| j);
        for offer in open.taken.iter().chain(picked).map(|j| &p.offers[*j]) {
            offer.needs().for_each(|(r, amount)| used[r] += amount);
            offer.from().for_each(|(i, s)| mixture[i] += s);
        }
        // Amounts are compared as shares of what is there.
        let left: Vec<f64> =
            used.iter().zip(&p.amounts).map(|(u, b)| (b - u) / b.max(1.0)).collect();
        let moving = |r: usize| self.of[r] > 0.0 || left[r] < 0.0;
        let mut square: f64 =
            (0..left.len()).filter(|r| moving(*r)).map(|r| left[r] * left[r]).sum();
        let related = if p.weight > 0.0 { p.kinship.with(&mixture) } else { Vec::new() };
        if p.weight > 0.0 {
            let apart: f64 = (0..mixture.len())
                .map(|i| (mixture[i] - self.mixture[i]) * (related[i] - self.related[i]))
                .sum();
            square += 2.0 * p.weight * apart.max(0.0);
        }
        if square <= 0.0 {
            return;
        }
        let step = gap / square;
        for (r, price) in self.of.iter_mut().enumerate() {
            if *price > 0.0 || left[r] < 0.0 {
                *price = (*price - step * left[r] / p.amounts[r].max(1.0)).max(0.0);
            }
        }
        if p.weight > 0.0 {
            let towards = step.min(1.0);
            let mix = |old: &mut [f64], new: &[f64]| {
                old.iter_mut().zip(new).for_each(|(o, n)| *o += towards * (n - *o));
            };
            mix(&mut self.mixture, &mixture);
            mix(&mut self.related, &related);
        }
    }
}
