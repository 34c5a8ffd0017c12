//! The model of whether a flower takes, and of the later stages: from the record to a fit, and from
//! two clones to what the fit needs of them.

use std::collections::HashMap;

use journal::Uid;
use stats::prior::{NormalPrior, SpreadPrior};
use stats::success::{
    Crossed, CrossedBeliefs, CrossedTerm, Mixture, Place, SuccessError, Tried, crossed,
};

use super::{
    barred::{BARRED, Barred, Kind, ROUNDS},
    facts::{CloneFacts, Facts},
    groups::{FACTS, Group},
    others::Told,
    record::{Attempt, Crosses, Pollen},
    settings::Beliefs,
};

/// Coefficients after those of the groups, by key of their belief.
pub(super) const EFFECTS: [&str; 11] = [
    "same_species",
    "same_section",
    "same_clade",
    "other_genus",
    "other_family",
    "range",
    "ploidy",
    "kinship",
    "own_pollen",
    "pollen_age",
    "other_house",
];

/// How a pollination was or will be done.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct How<'a> {
    /// Age of the pollen in half-lives.
    pub half_lives: f64,
    pub method: Option<&'a str>,
    pub who: Option<&'a str>,
    pub own_pollen: bool,
    pub elsewhere: bool,
}

/// What bears on a pair: the numbers for the coefficients, and which of them are not known.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Features {
    pub x: Vec<f64>,
    /// Keys of beliefs of which it is not known whether they hold.
    pub blank: Vec<&'static str>,
}

/// Where the coefficient of a key stands.
pub(super) fn effect(key: &str) -> usize {
    2 * FACTS.len() + EFFECTS.iter().position(|k| *k == key).unwrap_or(0)
}

fn group_at(group: Group) -> usize {
    FACTS.iter().position(|f| f.group == group).unwrap_or(FACTS.len() - 1)
}

/// The numbers of a pair.
pub(super) fn features(
    facts: &Facts,
    seed: &CloneFacts,
    pollen: &CloneFacts,
    how: &How<'_>,
) -> Features {
    let mut x = vec![0.0; 2 * FACTS.len() + EFFECTS.len()];
    let mut blank = Vec::new();
    let group = group_at(seed.group);
    x[group] = 1.0;
    let own = seed.root == pollen.root;
    if own {
        x[FACTS.len() + group] = 1.0;
    }
    let other = !seed.genus.is_empty() && !pollen.genus.is_empty() && seed.genus != pollen.genus;
    let mut put = |key: &'static str, value: Option<f64>| match value {
        Some(v) => x[effect(key)] = v,
        None => blank.push(key),
    };
    put("other_genus", Some(f64::from(u8::from(other))));
    let apart = seed.group.other_family(pollen.group);
    put("other_family", Some(f64::from(u8::from(other && apart))));
    put("own_pollen", Some(f64::from(u8::from(how.own_pollen))));
    put("pollen_age", Some(how.half_lives));
    put("other_house", Some(f64::from(u8::from(how.elsewhere))));
    if !own {
        let alike = |a: &Option<String>, b: &Option<String>| {
            Some(f64::from(u8::from(a.as_ref()? == b.as_ref()?)))
        };
        put("same_species", facts.same_species(seed, pollen));
        // Of one species they are of one section and clade as well.
        let species = facts.same_species(seed, pollen).unwrap_or(0.0);
        let wider =
            |said: Option<f64>| said.or((species > 0.0).then_some(0.0)).map(|v| v.max(species));
        put("same_section", wider(alike(&seed.section, &pollen.section)));
        put("same_clade", wider(alike(&seed.clade, &pollen.clade)));
        put("range", facts.shared_range(seed, pollen));
        let apart = seed
            .ploidy
            .zip(pollen.ploidy)
            .map(|(a, b)| (f64::from(a).log2() - f64::from(b).log2()).abs());
        put("ploidy", apart);
        put("kinship", Some(facts.kinship(seed.uid, pollen.uid) / 0.25));
    }
    Features { x, blank }
}

/// Levels of the fit: clones, their kinds, directions, methods and hands.
#[derive(Debug, Clone, Default)]
pub(super) struct Levels {
    seeds: Index<Uid>,
    pollens: Index<Uid>,
    seed_kinds: Index<String>,
    pollen_kinds: Index<String>,
    directions: Index<(Uid, Uid)>,
    methods: Index<String>,
    hands: Index<String>,
    pairs: Index<(Uid, Uid)>,
}

/// Things in the order in which they were met, with how often.
#[derive(Debug, Clone)]
struct Index<T>(HashMap<T, (usize, usize)>);

impl<T> Default for Index<T> {
    fn default() -> Self {
        Self(HashMap::new())
    }
}

impl<T: std::hash::Hash + Eq + Clone> Index<T> {
    fn meet(&mut self, thing: &T) -> usize {
        let next = self.0.len();
        let slot = self.0.entry(thing.clone()).or_insert((next, 0));
        slot.1 += 1;
        slot.0
    }

    fn of(&self, thing: &T) -> Option<usize> {
        self.0.get(thing).map(|slot| slot.0)
    }

    /// The one that was met most often, the earlier of two.
    fn most(&self) -> Option<usize> {
        let order = |s: &&(usize, usize)| (s.1, std::cmp::Reverse(s.0));
        self.0.values().max_by_key(order).map(|slot| slot.0)
    }
}

fn unordered(a: Uid, b: Uid) -> (Uid, Uid) {
    if a <= b { (a, b) } else { (b, a) }
}

/// The species of a clone where it is of one, else its genus.
fn kind_of(facts: &CloneFacts) -> String {
    facts
        .species
        .iter()
        .find(|(_, share)| **share > 0.99)
        .map_or_else(|| facts.genus.clone(), |(species, _)| species.clone())
}

fn plain(words: &str) -> String {
    words.trim().to_lowercase()
}

impl Levels {
    fn place(&self, seed: &CloneFacts, pollen: &CloneFacts, how: &How<'_>, x: Vec<f64>) -> Place {
        let method = how.method.and_then(|m| self.methods.of(&plain(m)));
        let hand = how.who.and_then(|w| self.hands.of(&plain(w)));
        Place {
            x,
            levels: vec![
                self.seeds.of(&seed.uid),
                self.pollens.of(&pollen.uid),
                self.seed_kinds.of(&kind_of(seed)),
                self.pollen_kinds.of(&kind_of(pollen)),
                self.directions.of(&(seed.uid, pollen.uid)),
                method,
                hand,
            ],
            pair: self.pairs.of(&unordered(seed.uid, pollen.uid)),
        }
    }
}

/// Names and beliefs of the crossed terms, in the order of [`Levels::place`]. Scales are common
/// practice, no source.
const TERMS: [(&str, f64); 7] = [
    ("seed parent", 0.8),
    ("pollen parent", 0.6),
    ("species of the seed parent", 0.6),
    ("species of the pollen parent", 0.4),
    ("direction", 0.4),
    ("method", 0.5),
    ("hand", 0.3),
];
/// Of pairs, and of batches of flowers treated on one day.
const PAIR: f64 = 0.7;
const BATCH: f64 = 0.5;

/// The fit of whether flowers take.
#[derive(Debug, Clone)]
pub(super) struct Taking {
    pub fit: Crossed,
    pub levels: Levels,
    pub barred: Barred,
}

/// The half-life of a clone's pollen as it was kept \[d\].
pub(super) type HalfLife<'a> = &'a dyn Fn(&Attempt, &CloneFacts) -> f64;

/// Fits the set of pods from all attempts of which the outcome is known.
pub(super) fn taking(
    crosses: &Crosses,
    told: &[Told],
    facts: &Facts,
    beliefs: &Beliefs,
    half_life: HalfLife<'_>,
) -> Result<Taking, SuccessError> {
    let mut levels = Levels::default();
    let mut rows: Vec<(u64, u64, &CloneFacts, &CloneFacts, How<'_>)> = Vec::new();
    for a in &crosses.attempts {
        let (Some(took), Some(seed), Pollen::Of(pollen)) = (a.took, a.seed, &a.pollen) else {
            continue;
        };
        let (Some(seed), Some(pollen)) = (facts.of(seed), facts.of(*pollen)) else { continue };
        let half_lives = a.age.map_or(0.0, |age| age / half_life(a, pollen));
        let how = How {
            half_lives,
            method: Some(&a.method).filter(|m| !m.is_empty()).map(String::as_str),
            who: Some(&a.who),
            own_pollen: a.own_pollen,
            elsewhere: false,
        };
        rows.push((took, a.flowers, seed, pollen, how));
    }
    for t in told {
        let (Some(seed), Some(pollen)) = (facts.of(t.seed), facts.of(t.pollen)) else { continue };
        let how = How { who: Some(&t.by), elsewhere: true, ..How::default() };
        rows.push((t.pods, t.flowers, seed, pollen, how));
    }
    for (_, _, seed, pollen, how) in &rows {
        levels.seeds.meet(&seed.uid);
        levels.pollens.meet(&pollen.uid);
        levels.seed_kinds.meet(&kind_of(seed));
        levels.pollen_kinds.meet(&kind_of(pollen));
        levels.pairs.meet(&unordered(seed.uid, pollen.uid));
        how.method.map(|m| levels.methods.meet(&plain(m)));
        how.who.map(|w| levels.hands.meet(&plain(w)));
    }
    directions(&mut levels, rows.iter().map(|r| (r.2.uid, r.3.uid)));
    let mut tried: Vec<Tried> = rows
        .iter()
        .map(|(successes, trials, seed, pollen, how)| {
            let x = features(facts, seed, pollen, how).x;
            let place = levels.place(seed, pollen, how, x);
            Tried { successes: *successes, trials: *trials, place, counts: 1.0 }
        })
        .collect();
    let counts = [
        levels.seeds.0.len(),
        levels.pollens.0.len(),
        levels.seed_kinds.0.len(),
        levels.pollen_kinds.0.len(),
        levels.directions.0.len(),
        levels.methods.0.len(),
        levels.hands.0.len(),
    ];
    let half = |scale: f64| SpreadPrior::HalfNormal { scale };
    let terms = TERMS.iter().zip(counts).map(|((name, scale), levels)| CrossedTerm {
        name: (*name).to_owned(),
        levels,
        spread: half(*scale),
    });
    let own = CrossedBeliefs {
        coefficients: coefficients(beliefs),
        terms: terms.collect(),
        pairs: levels.pairs.0.len(),
        pair: half(PAIR),
        batch: half(BATCH),
    };
    let who: Vec<(Uid, Uid, Kind)> =
        rows.iter().map(|r| (r.2.uid, r.3.uid, Kind::of(facts, r.2, r.3))).collect();
    let mut fit = crossed(&tried, &own)?;
    let mut barred = Barred::before();
    for _ in 0..ROUNDS {
        barred = Barred::learnt(&tried, &who, &fit, &barred);
        for (t, w) in tried.iter_mut().zip(&who) {
            t.counts = 1.0 - barred.of(w.0, w.1, w.2);
        }
        fit = crossed(&tried, &own)?;
    }
    Ok(Taking { fit, levels, barred })
}

/// Directions have a level of their own; in a large house only where both were tried, since one
/// that was tried alone is told by its pair as well.
fn directions(levels: &mut Levels, pairs: impl Iterator<Item = (Uid, Uid)>) {
    const SMALL: usize = 80;
    let all: Vec<(Uid, Uid)> = pairs.collect();
    let small = levels.pairs.0.len() <= SMALL;
    for (a, b) in &all {
        if small || all.contains(&(*b, *a)) {
            levels.directions.meet(&(*a, *b));
        }
    }
}

fn coefficients(beliefs: &Beliefs) -> Vec<NormalPrior> {
    let groups = |what: &str| -> Vec<NormalPrior> {
        let key = |f: &super::groups::GroupFacts| format!("{what}_{}", f.group.as_str());
        FACTS.iter().map(|f| beliefs.prior(&key(f))).collect()
    };
    let mut out = groups("take");
    out.extend(groups("self"));
    out.extend(EFFECTS.iter().map(|k| beliefs.prior(k)));
    out
}

impl Taking {
    /// What is held of a pair.
    pub fn pair(
        &self,
        facts: &Facts,
        seed: &CloneFacts,
        pollen: &CloneFacts,
        how: &How<'_>,
    ) -> (Mixture, Features) {
        let found = features(facts, seed, pollen, how);
        let place = self.place(seed, pollen, how, found.x.clone());
        let kind = Kind::of(facts, seed, pollen);
        let barred = self.barred.of(seed.uid, pollen.uid, kind);
        (self.fit.predict(&place).or_barred(barred, BARRED.0, BARRED.1), found)
    }

    /// The place of a pair in the fit.
    pub fn place(
        &self,
        seed: &CloneFacts,
        pollen: &CloneFacts,
        how: &How<'_>,
        x: Vec<f64>,
    ) -> Place {
        let mut place = self.levels.place(seed, pollen, how, x);
        // Without a wish the usual method and the usual hand are meant: the spread between methods
        // is none of the pair's rate.
        if how.method.is_none() {
            place.levels[5] = self.levels.methods.most();
        }
        if how.who.is_none() {
            place.levels[6] = self.levels.hands.most();
        }
        place
    }
}

/// One of the stages after a flower took.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Later {
    Ripens,
    Full,
    Germinates,
    Lives,
    Flowers,
}

/// Stages with the share that is believed before records: common practice, no source.
pub(super) const LATER: [(Later, f64); 5] = [
    (Later::Ripens, 0.8),
    (Later::Full, 0.7),
    (Later::Germinates, 0.6),
    (Later::Lives, 0.6),
    (Later::Flowers, 0.5),
];

/// A later stage of the house's crosses: what entered it and what went on, of each cross.
pub(super) fn later(
    counts: &[(Uid, Uid, u64, u64)],
    share: f64,
) -> Result<(Crossed, LaterLevels), SuccessError> {
    let mut levels = LaterLevels::default();
    for (seed, pollen, ..) in counts {
        levels.seeds.meet(seed);
        levels.pollens.meet(pollen);
        levels.pairs.meet(&(*seed, *pollen));
    }
    let tried: Vec<Tried> = counts
        .iter()
        .map(|(seed, pollen, successes, trials)| Tried {
            successes: *successes,
            trials: *trials,
            place: levels.place(*seed, *pollen),
            counts: 1.0,
        })
        .collect();
    let half = |scale: f64| SpreadPrior::HalfNormal { scale };
    let term = |name: &str, levels: usize| CrossedTerm {
        name: name.to_owned(),
        levels,
        spread: half(0.6),
    };
    let own = CrossedBeliefs {
        coefficients: vec![NormalPrior { mean: super::settings::logit(share), sd: 1.0 }],
        terms: vec![
            term("seed parent", levels.seeds.0.len()),
            term("pollen parent", levels.pollens.0.len()),
        ],
        pairs: levels.pairs.0.len(),
        pair: half(0.7),
        batch: half(0.8),
    };
    Ok((crossed(&tried, &own)?, levels))
}

/// Levels of a later stage.
#[derive(Debug, Clone, Default)]
pub(super) struct LaterLevels {
    seeds: Index<Uid>,
    pollens: Index<Uid>,
    pairs: Index<(Uid, Uid)>,
}

impl LaterLevels {
    pub fn place(&self, seed: Uid, pollen: Uid) -> Place {
        Place {
            x: vec![1.0],
            levels: vec![self.seeds.of(&seed), self.pollens.of(&pollen)],
            pair: self.pairs.of(&(seed, pollen)),
        }
    }
}

/// Keys of the beliefs in the order of the coefficients.
pub(super) fn keys() -> Vec<String> {
    let groups =
        |what: &'static str| FACTS.iter().map(move |f| format!("{what}_{}", f.group.as_str()));
    groups("take").chain(groups("self")).chain(EFFECTS.iter().map(|k| (*k).to_owned())).collect()
}
