//! Seed parents against pollen parents: what was tried, what came of it, and what the data can say of
//! barriers.

use std::collections::{BTreeMap, BTreeSet};

use journal::Uid;
use serde::Serialize;

use super::{
    chance::{Share, Tally, limit_of_none},
    engine::Engine,
    hypotheses::{self, Hypothesis},
    record::Pollen,
    words,
};
use crate::{Hand, NameText, Result, name_text};

/// One cell: a pair in one direction that was tried.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cell {
    /// Seed parent.
    pub seed: Uid,
    /// Pollen parent.
    pub pollen: Uid,
    /// What was tried.
    pub tally: Tally,
    /// The chance of a flower.
    pub chance: Share,
    /// Rate that would still fit when nothing took.
    pub limit: Option<f64>,
    /// In words.
    pub text: String,
}

/// The table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Table {
    /// Seed parents with their names, by name.
    pub seeds: Vec<(Uid, NameText)>,
    /// Pollen parents with their names, by name.
    pub pollens: Vec<(Uid, NameText)>,
    /// Cells that were tried.
    pub cells: Vec<Cell>,
    /// Hypotheses that the data speak for.
    pub hypotheses: Vec<Hypothesis>,
}

impl Engine {
    /// Everything that was tried, as a table.
    ///
    /// # Errors
    /// If a hypothesis cannot be weighed for want of the pedigree.
    pub fn table(&self, hand: &Hand) -> Result<Table> {
        let t = hand.texts();
        let mut tried: BTreeSet<(Uid, Uid)> = BTreeSet::new();
        for a in &self.crosses.attempts {
            if let (Some(seed), Pollen::Of(pollen)) = (a.seed, &a.pollen) {
                tried.insert((seed, *pollen));
            }
        }
        let mut names: BTreeMap<Uid, NameText> = BTreeMap::new();
        for uid in tried.iter().flat_map(|(a, b)| [*a, *b]) {
            let name = self.facts.of(uid).map(|f| f.name.as_str()).filter(|n| !n.is_empty());
            let set = name.map_or_else(|| NameText::words(t.t("not named")), name_text);
            names.insert(uid, set);
        }
        let side = |which: fn(&(Uid, Uid)) -> Uid| {
            let uids: BTreeSet<Uid> = tried.iter().map(which).collect();
            let mut out: Vec<(Uid, NameText)> =
                uids.into_iter().map(|u| (u, names[&u].clone())).collect();
            out.sort_by(|a, b| a.1.plain.cmp(&b.1.plain));
            out
        };
        let mut cells = Vec::new();
        for (seed, pollen) in &tried {
            let Some(found) = self.rate(*seed, *pollen) else { continue };
            let (tally, chance) = (self.tally(*seed, *pollen), Share::of(&found));
            let limit = limit_of_none(tally.flowers).filter(|_| tally.took == 0);
            let text = match limit {
                Some(limit) => t.f(
                    "{k} of {n}; up to {limit} % would still fit",
                    &[
                        ("k", &tally.took),
                        ("n", &tally.flowers),
                        ("limit", &format!("{:.0}", 100.0 * limit)),
                    ],
                ),
                None if tally.flowers == 0 => t.t("not told yet").to_owned(),
                None => t.f(
                    "{k} of {n}; {share}",
                    &[
                        ("k", &tally.took),
                        ("n", &tally.flowers),
                        ("share", &words::share(&chance, t)),
                    ],
                ),
            };
            cells.push(Cell { seed: *seed, pollen: *pollen, tally, chance, limit, text });
        }
        Ok(Table {
            seeds: side(|p| p.0),
            pollens: side(|p| p.1),
            cells,
            hypotheses: hypotheses::all(self, hand),
        })
    }
}
