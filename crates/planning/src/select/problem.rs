//! Offers, amounts, and a choice in the making.

use crate::kinship::{Kinship, dot};

/// Marks an entry that is not used.
pub(crate) const NONE: usize = usize::MAX;

/// Something that may be taken.
#[derive(Debug, Clone)]
pub(crate) struct Offer {
    /// What it is worth by itself.
    pub gain: f64,
    /// At most one offer of a group is taken. Offers of a group stand side by side.
    pub group: usize,
    /// Candidates that contribute, with their contributions; [`NONE`] where there is no second.
    pub from: [(usize, f64); 2],
    /// Amounts it needs; [`NONE`] where there are fewer.
    pub needs: [(usize, f64); 3],
    /// Whether it must be taken.
    pub must: bool,
}

impl Offer {
    pub(crate) fn from(&self) -> impl Iterator<Item = (usize, f64)> {
        self.from.into_iter().filter(|(i, _)| *i != NONE)
    }

    pub(crate) fn needs(&self) -> impl Iterator<Item = (usize, f64)> {
        self.needs.into_iter().filter(|(r, _)| *r != NONE)
    }
}

/// What is to be chosen from.
#[derive(Debug)]
pub(crate) struct Problem<'a> {
    pub kinship: &'a Kinship,
    /// The price of kinship \[0 or more\].
    pub weight: f64,
    pub offers: Vec<Offer>,
    pub groups: usize,
    /// Amounts that are there.
    pub amounts: Vec<f64>,
    /// No more offers than this.
    pub most: usize,
    /// Kinship of what an offer contributes with itself.
    own: Vec<f64>,
}

impl<'a> Problem<'a> {
    pub(crate) fn new(
        kinship: &'a Kinship,
        weight: f64,
        offers: Vec<Offer>,
        groups: usize,
        amounts: Vec<f64>,
        most: usize,
    ) -> Self {
        let mut problem = Self { kinship, weight, offers, groups, amounts, most, own: Vec::new() };
        problem.own = problem.offers.iter().map(|o| problem.between(o, o)).collect();
        problem
    }

    /// Kinship between the contributions of two offers.
    fn between(&self, a: &Offer, b: &Offer) -> f64 {
        a.from()
            .map(|(i, s)| b.from().map(|(j, t)| s * t * self.kinship.of(i, j)).sum::<f64>())
            .sum()
    }

    /// The value of a choice, computed anew.
    pub(crate) fn value(&self, chosen: &[usize]) -> f64 {
        let mut mixture = vec![0.0; self.kinship.len()];
        let mut gain = 0.0;
        for offer in chosen.iter().map(|j| &self.offers[*j]) {
            gain += offer.gain;
            offer.from().for_each(|(i, s)| mixture[i] += s);
        }
        gain - self.weight * dot(&mixture, &self.kinship.with(&mixture))
    }

    /// What each of a choice adds to its value: what would be lost without it.
    pub(crate) fn worth(&self, chosen: &[usize]) -> Vec<f64> {
        let choice = Choice::of(self, chosen);
        chosen.iter().map(|j| -choice.if_removed(*j)).collect()
    }

    /// Whether what must be taken fits together.
    pub(crate) fn musts_fit(&self) -> bool {
        let mut choice = Choice::of(self, &[]);
        self.offers.iter().enumerate().filter(|(_, offer)| offer.must).all(|(j, _)| {
            let fits = choice.fits(j);
            choice.add(j);
            fits
        })
    }

    /// Two values that differ by less are the same.
    pub(crate) fn rounding(value: f64) -> f64 {
        1e-9 * (1.0 + value.abs())
    }
}

/// A choice in the making.
#[derive(Debug, Clone)]
pub(crate) struct Choice<'a> {
    problem: &'a Problem<'a>,
    chosen: Vec<usize>,
    /// Whether an offer of the group is taken.
    taken: Vec<bool>,
    used: Vec<f64>,
    /// Kinship of each candidate with what was taken.
    related: Vec<f64>,
}

impl<'a> Choice<'a> {
    pub(crate) fn of(problem: &'a Problem<'a>, chosen: &[usize]) -> Self {
        let mut choice = Self {
            problem,
            chosen: Vec::new(),
            taken: vec![false; problem.groups],
            used: vec![0.0; problem.amounts.len()],
            related: vec![0.0; problem.kinship.len()],
        };
        chosen.iter().for_each(|j| choice.add(*j));
        choice
    }

    pub(crate) fn chosen(&self) -> &[usize] {
        &self.chosen
    }

    /// Whether an offer may be added.
    pub(crate) fn fits(&self, j: usize) -> bool {
        let offer = &self.problem.offers[j];
        self.chosen.len() < self.problem.most
            && !self.taken[offer.group]
            && offer.needs().all(|(r, amount)| self.room(r, amount))
    }

    /// Whether so much of an amount is left. Amounts are whole numbers, so half is no rounding.
    fn room(&self, r: usize, amount: f64) -> bool {
        self.used[r] + amount <= self.problem.amounts[r] + 0.5
    }

    /// What adding an offer would change the value by.
    pub(crate) fn if_added(&self, j: usize) -> f64 {
        let (p, offer) = (self.problem, &self.problem.offers[j]);
        let related: f64 = offer.from().map(|(i, s)| s * self.related[i]).sum();
        offer.gain - p.weight * (2.0 * related + p.own[j])
    }

    /// What taking an offer away would change the value by.
    pub(crate) fn if_removed(&self, j: usize) -> f64 {
        let (p, offer) = (self.problem, &self.problem.offers[j]);
        let related: f64 = offer.from().map(|(i, s)| s * self.related[i]).sum();
        p.weight * (2.0 * related - p.own[j]) - offer.gain
    }

    pub(crate) fn add(&mut self, j: usize) {
        self.chosen.push(j);
        self.account(j, 1.0);
    }

    pub(crate) fn remove(&mut self, j: usize) {
        self.chosen.retain(|k| *k != j);
        self.account(j, -1.0);
    }

    fn account(&mut self, j: usize, sign: f64) {
        let offer = &self.problem.offers[j];
        self.taken[offer.group] = sign > 0.0;
        offer.needs().for_each(|(r, amount)| self.used[r] += sign * amount);
        for (i, share) in offer.from() {
            for (sum, value) in self.related.iter_mut().zip(self.problem.kinship.row(i)) {
                *sum += sign * share * value;
            }
        }
    }
}
