//! The chance of a cross: of a pod, of filled seed, of flowering seedlings; with intervals, basis,
//! and what would teach most.

use journal::{Reader, Uid};
use names::checklist::Checklist;
use serde::Serialize;
use stats::success::{Mixture, Place, RateKnown, Stage, Yield, follow, start_for};

use super::{
    barred::{BARRED, Kind},
    engine::{Engine, seeds_of_pods, unfitted},
    facts::CloneFacts,
    model::{How, Later, features},
    record::Pollen,
    words,
};
use crate::{AskError, Hand, Result};

/// A share with its 80 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Share {
    /// Mean, from 0 to 1.
    pub mean: f64,
    /// Lower end.
    pub lower: f64,
    /// Upper end.
    pub upper: f64,
}

impl Share {
    pub(super) fn of(found: &Mixture) -> Self {
        Self { mean: found.mean(), lower: found.quantile(0.1), upper: found.quantile(0.9) }
    }
}

/// What was tried of a pair in one direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Tally {
    /// Flowers of which it is known what came of them.
    pub flowers: u64,
    /// How many of them took.
    pub took: u64,
    /// Pollinations of which nobody told.
    pub untold: u64,
}

/// The limit of a rate of which nothing was seen yet: one-sided, 95 %, with no belief beforehand.
/// It is 1 − 0.05^(1/n).
#[must_use]
pub fn limit_of_none(flowers: u64) -> Option<f64> {
    (flowers > 0).then(|| 1.0 - 0.05f64.powf(1.0 / flowers as f64))
}

/// What is wanted of a cross.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// How many flowers will be treated.
    pub flowers: u64,
    /// How many flowering seedlings are wanted.
    pub seedlings: u64,
}

/// One belief that bears on a pair.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Term {
    /// The key by which the belief is changed.
    pub key: String,
    /// What it says.
    pub words: String,
    /// How much of it this pair has, such as 1 for “both of one species”.
    pub amount: f64,
    /// On the log odds: believed before, and learnt here.
    pub before: (f64, f64),
    /// Mean and standard deviation now.
    pub now: (f64, f64),
    /// Where the belief comes from.
    pub source: String,
    /// Whether the house changed it.
    pub own: bool,
}

/// What is said of a pair in one direction.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairChance {
    /// Seed parent.
    pub seed: Uid,
    /// Pollen parent.
    pub pollen: Uid,
    /// That one flower makes a pod.
    pub per_flower: Share,
    /// That at least one of so many flowers does.
    pub at_least_one: f64,
    /// So many.
    pub flowers: u64,
    /// Share of full seeds.
    pub full: Share,
    /// Chance of at least as many flowering seedlings as were wanted.
    pub enough: f64,
    /// How many flowering seedlings were wanted.
    pub wanted: u64,
    /// Flowers for which that chance is nine in ten; none where no number up to the most that is
    /// tried is enough.
    pub flowers_needed: Option<u64>,
    /// What was tried in this direction, and in the other.
    pub tried: Tally,
    /// What was tried the other way round.
    pub reverse: Tally,
    /// Rate that would still fit when nothing took.
    pub limit: Option<f64>,
    /// How much the records have narrowed what was believed, from 0 to 1.
    pub information: f64,
    /// Beliefs that bear on it.
    pub terms: Vec<Term>,
    /// In words, a line each.
    pub lines: Vec<String>,
}

/// The most flowers that are tried when a number is looked for.
const MOST_FLOWERS: u64 = 2_000;

/// The chance of one pair.
///
/// # Errors
/// If a clone is not there, the record cannot be read or the fit is not reached.
pub fn chance(
    reader: &Reader<'_>,
    hand: &Hand,
    list: &Checklist,
    (seed, pollen): (Uid, Uid),
    wanted: Wanted,
) -> Result<PairChance> {
    Engine::read(reader, hand, list, &[seed, pollen])?.chance((seed, pollen), wanted, hand)
}

fn beta(found: &Mixture) -> RateKnown {
    // The mean and the mean square of the rate of one batch give the beta distribution.
    let (mean, square) = (found.chance(1, 1), found.chance(2, 2));
    let variance = (square - mean * mean).max(1e-9);
    let size = (mean * (1.0 - mean) / variance - 1.0).max(1e-3);
    RateKnown::Beta { alpha: mean * size, beta: (1.0 - mean) * size }
}

impl Engine {
    /// What was tried of a pair in one direction.
    #[must_use]
    pub fn tally(&self, seed: Uid, pollen: Uid) -> Tally {
        let mut out = Tally::default();
        for a in &self.crosses.attempts {
            if a.seed != Some(seed) || a.pollen != Pollen::Of(pollen) {
                continue;
            }
            match a.took {
                Some(took) => {
                    out.flowers += a.flowers;
                    out.took += took;
                }
                None => out.untold += 1,
            }
        }
        out
    }

    /// The chance of one pair.
    ///
    /// # Errors
    /// If a clone is not there or a stage cannot be followed.
    pub fn chance(
        &self,
        (seed, pollen): (Uid, Uid),
        wanted: Wanted,
        hand: &Hand,
    ) -> Result<PairChance> {
        let (a, b) = (self.clone_of(seed)?, self.clone_of(pollen)?);
        let (found, blank) = self.takes(a, b);
        let next = found.next_count(wanted.flowers, 0.8).map_err(|e| unfitted(&e))?;
        let stages = self.stages(a, b, &found)?;
        let wrong = |e: stats::success::ChainError| AskError::field("cross", "", e.to_string());
        let chain = follow(&stages, wanted.flowers, wanted.seedlings, 0.8, 1).map_err(wrong)?;
        let flowers_needed = start_for(&stages, wanted.seedlings, 0.9, MOST_FLOWERS, 1).ok();
        let full = self.later(Later::Full, seed, pollen);
        let tried = self.tally(seed, pollen);
        let mut out = PairChance {
            seed,
            pollen,
            per_flower: Share::of(&found),
            at_least_one: next.at_least_one,
            flowers: wanted.flowers,
            full: full.map_or(Share { mean: 0.7, lower: 0.3, upper: 0.95 }, |f| Share::of(&f.0)),
            enough: chain.at_least,
            wanted: wanted.seedlings,
            flowers_needed,
            limit: limit_of_none(tried.flowers).filter(|_| tried.took == 0),
            tried,
            reverse: self.tally(pollen, seed),
            information: self.information(a, b, &found)?,
            terms: self.terms(a, b, hand),
            lines: Vec::new(),
        };
        out.lines = words::chance(&out, &blank, hand.texts());
        let segregates = super::genes::segregates(&a.genes, &b.genes, hand.texts());
        out.lines.extend(segregates.into_iter().map(|s| s.text));
        Ok(out)
    }

    /// How much the records have narrowed the chance: 1 − variance now / variance before, on the
    /// log odds.
    fn information(&self, a: &CloneFacts, b: &CloneFacts, now: &Mixture) -> Result<f64> {
        let nothing = super::record::Crosses {
            attempts: Vec::new(),
            crosses: Vec::new(),
            today: self.crosses.today,
        };
        let before = super::model::taking(&nothing, &[], &self.facts, &self.beliefs, &|_, _| 1.0)
            .map_err(|e| unfitted(&e))?;
        let before = before.pair(&self.facts, a, b, &How::default()).0.log_odds().1;
        Ok((1.0 - (now.log_odds().1 / before).powi(2)).clamp(0.0, 1.0))
    }

    pub(super) fn stages(
        &self,
        a: &CloneFacts,
        b: &CloneFacts,
        takes: &Mixture,
    ) -> Result<Vec<Stage>> {
        let stage = |name: &str, rate: RateKnown, yields: Yield| Stage {
            name: name.to_owned(),
            rate,
            rho: 0.0,
            yields,
        };
        let mut seeds = seeds_of_pods(&self.crosses, &self.facts, a.group);
        if seeds.is_empty() {
            // Evenly on the logarithm over the range that is held of the group.
            let (low, high) = a.group.facts().seeds;
            let at = |i: u32| low * (high / low).powf(f64::from(i) / 8.0);
            seeds = (0..=8).map(|i| at(i).round().max(0.0) as u64).collect();
        }
        let mut out = vec![stage("pods", beta(takes), Yield::One)];
        let rest = [
            (Later::Ripens, "seeds", Yield::OneOf(seeds)),
            (Later::Full, "full seeds", Yield::One),
            (Later::Germinates, "seedlings", Yield::One),
            (Later::Lives, "seedlings that live", Yield::One),
            (Later::Flowers, "seedlings that flower", Yield::One),
        ];
        for (later, name, yields) in rest {
            let found = self.later(later, a.uid, b.uid);
            let rate = found.map_or(RateKnown::Share(0.5), |f| beta(&f.0));
            out.push(stage(name, rate, yields));
        }
        Ok(out)
    }

    fn terms(&self, a: &CloneFacts, b: &CloneFacts, hand: &Hand) -> Vec<Term> {
        let t = hand.texts();
        let x = features(&self.facts, a, b, &How::default()).x;
        let keys = super::model::keys();
        x.iter()
            .zip(keys)
            .enumerate()
            .filter(|(_, (x, _))| **x != 0.0)
            .filter_map(|(k, (amount, key))| {
                let belief = self.beliefs.get(&key)?;
                Some(Term {
                    words: t.t(belief.words).to_owned(),
                    amount: *amount,
                    before: (belief.mean, belief.sd),
                    now: self.taking.fit.coefficient(k),
                    source: if belief.own {
                        t.t("changed by this house").to_owned()
                    } else {
                        t.t(belief.source).to_owned()
                    },
                    own: belief.own,
                    key,
                })
            })
            .collect()
    }
}

/// One pair of a list of candidates.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairLine {
    /// Seed parent.
    pub seed: Uid,
    /// Pollen parent.
    pub pollen: Uid,
    /// Chance that a flower takes.
    pub mean: f64,
    /// Lower end of its 80 % interval.
    pub lower: f64,
    /// Upper end.
    pub upper: f64,
    /// How much a single flower would teach of all these pairs: the expected fall of the sum of
    /// the variances of their log odds.
    pub teaches: f64,
}

impl Engine {
    /// All pairs of these clones, selfs too, but for those of two families: one fit, then one sum for
    /// each pair.
    ///
    /// # Errors
    /// If a clone is not there.
    pub fn all_pairs(&self, candidates: &[Uid]) -> Result<Vec<PairLine>> {
        Ok(self.all_pairs_with(candidates)?.into_iter().map(|p| p.0).collect())
    }

    /// The same with what is held of each.
    pub(super) fn all_pairs_with(&self, candidates: &[Uid]) -> Result<Vec<(PairLine, Mixture)>> {
        let clones: Vec<&CloneFacts> =
            candidates.iter().map(|c| self.clone_of(*c)).collect::<Result<_>>()?;
        let joined = self.taking.fit.joined();
        let mut places: Vec<Place> = Vec::with_capacity(clones.len() * clones.len());
        let mut pairs = Vec::with_capacity(places.capacity());
        for a in &clones {
            // Nobody weighs whether a begonia takes the pollen of a gesneriad.
            for b in clones.iter().filter(|b| !a.group.other_family(b.group)) {
                let how = How::default();
                let x = features(&self.facts, a, b, &how).x;
                places.push(self.taking.place(a, b, &how, x));
                let kind = Kind::of(&self.facts, a, b);
                pairs.push((a.uid, b.uid, self.taking.barred.of(a.uid, b.uid, kind)));
            }
        }
        let teaches = joined.teaches(&places);
        let line =
            |((place, (seed, pollen, barred)), teaches): ((&Place, (Uid, Uid, f64)), f64)| {
                let found = match place.pair {
                    // A pair that was tried has an effect of its own.
                    Some(_) => self.taking.fit.predict(place),
                    None => {
                        let (mean, variance) = joined.untried(place);
                        Mixture::normal(mean, variance.sqrt())
                    }
                };
                let found = found.or_barred(barred, BARRED.0, BARRED.1);
                let (lower, upper) = found.ends();
                let line = PairLine {
                    seed,
                    pollen,
                    mean: found.quick_mean(),
                    lower,
                    upper,
                    // Of a barred pair a flower teaches little but that.
                    teaches: teaches * (1.0 - barred),
                };
                (line, found)
            };
        Ok(places.iter().zip(pairs).zip(teaches).map(line).collect())
    }

    /// Which single pollination would teach most of all these pairs.
    ///
    /// # Errors
    /// If a clone is not there.
    pub fn teaches_most(&self, candidates: &[Uid]) -> Result<Option<PairLine>> {
        let all = self.all_pairs(candidates)?;
        Ok(all.into_iter().max_by(|a, b| a.teaches.total_cmp(&b.teaches)))
    }
}
