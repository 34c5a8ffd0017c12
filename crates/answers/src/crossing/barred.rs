//! Pairs in which something stands in the way: of many the flowers hardly ever take, whatever the
//! parents do elsewhere. A sum of log odds has no room for them; they are a kind of their own.

use std::collections::HashMap;

use journal::Uid;
use stats::success::{Crossed, Tried};

use super::facts::{CloneFacts, Facts};

/// Log odds that a flower takes although something stands in the way, mean and standard deviation:
/// most such rates lie between 0.2 and 2.5 %. Common practice, no source.
pub(super) const BARRED: (f64, f64) = (-4.8, 1.0);
/// How often fit and chances are made in turn.
pub(super) const ROUNDS: usize = 3;

/// How the two of a pair stand to each other, as far as it decides how many such pairs are barred.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Own,
    Within,
    Between,
}

impl Kind {
    pub fn of(facts: &Facts, seed: &CloneFacts, pollen: &CloneFacts) -> Self {
        if seed.root == pollen.root {
            return Self::Own;
        }
        match facts.same_species(seed, pollen) {
            Some(share) if share > 0.99 => Self::Within,
            _ => Self::Between,
        }
    }
}

/// Successes and failures that the belief is worth: barred, free. Of pairs of orchid species 36 %
/// never make an embryo (Scopece et al. 2008, Am. Nat. 171:315–326; from memory); the other two are
/// common practice, no source.
const BEFORE: [(f64, f64); 3] = [(3.0, 3.0), (1.5, 6.0), (3.0, 5.0)];

/// The chance that a pair is barred in one direction.
#[derive(Debug, Clone)]
pub(super) struct Barred {
    /// Of pairs that were tried.
    tried: HashMap<(Uid, Uid), f64>,
    /// Of pairs of each kind that were not.
    usual: [f64; 3],
}

impl Barred {
    /// What is believed before anything was tried.
    pub fn before() -> Self {
        Self { tried: HashMap::new(), usual: BEFORE.map(|(a, b)| a / (a + b)) }
    }

    /// The chance of a pair.
    pub fn of(&self, seed: Uid, pollen: Uid, kind: Kind) -> f64 {
        self.tried.get(&(seed, pollen)).copied().unwrap_or(self.usual[kind as usize])
    }

    /// What a fit of the free pairs says of those that were tried. The effect of the pair itself is
    /// left out of its own judgement: it has followed the failures that are to be judged.
    pub fn learnt(tried: &[Tried], who: &[(Uid, Uid, Kind)], fit: &Crossed, last: &Self) -> Self {
        let mut pairs: HashMap<(Uid, Uid), (Kind, Vec<usize>)> = HashMap::new();
        for (i, (seed, pollen, kind)) in who.iter().enumerate() {
            pairs.entry((*seed, *pollen)).or_insert((*kind, Vec::new())).1.push(i);
        }
        let mut sums = BEFORE;
        let mut of = HashMap::with_capacity(pairs.len());
        for (pair, (kind, rows)) in &pairs {
            let mut free = 0.0;
            let mut stopped = 0.0;
            for i in rows {
                let t = &tried[*i];
                let mut place = t.place.clone();
                place.pair = None;
                let usual = fit.predict(&place);
                free += usual.chance(t.successes, t.trials).max(1e-300).ln();
                let barred = usual.or_barred(1.0, BARRED.0, BARRED.1);
                stopped += barred.chance(t.successes, t.trials).max(1e-300).ln();
            }
            let before = last.usual[*kind as usize];
            let odds = (before / (1.0 - before)).ln() + stopped - free;
            let chance = 1.0 / (1.0 + (-odds).exp());
            sums[*kind as usize].0 += chance;
            sums[*kind as usize].1 += 1.0 - chance;
            of.insert(*pair, chance);
        }
        Self { tried: of, usual: sums.map(|(a, b)| a / (a + b)) }
    }
}
