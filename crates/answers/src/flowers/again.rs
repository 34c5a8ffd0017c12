//! When the same peduncle, or the same plant, flowers again.

use std::collections::{BTreeMap, HashMap, HashSet};

use journal::{Known, PlantRow};
use stats::{
    model::{Fixed, RandomTerm},
    prior::{NormalPrior, SpreadPrior},
    survival::{
        Time,
        parametric::{Beliefs, Law, ParametricError, Posterior, Remaining, posterior},
    },
};

use super::bloom::{Bloom, FlowerKind, Happening, What, to_f64};
use super::life::LEVEL;
use super::read::Grown;

/// Flowers of a plant that open within so many days after the last of those before belong to the
/// same flowering \[d\]. Common practice, no source.
const SAME: i64 = 14;
/// Flowerings and gaps between them from which something is said.
pub(super) const FLOWERINGS: usize = 3;
const GAPS: usize = 2;
/// So many gaps take part in a fit.
const OF_ALL: usize = 60;
/// From one flowering to the next \[d\], and how far off that is on the logarithm. Common practice,
/// no source.
const GAP: NormalPrior = NormalPrior { mean: 4.5, sd: 0.8 };
/// From a bud that is seen to the open flower \[d\]: two weeks. Common practice, no source.
const BUD: NormalPrior = NormalPrior { mean: 2.64, sd: 0.5 };
/// A bud of which nothing came for so long is taken to have dropped \[d\]. Common practice.
const DROPPED: i64 = 60;

/// A bud that was seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bud {
    /// Its plant.
    pub plant: i64,
    /// The part, if it was told.
    pub part: Option<u64>,
    /// First and last possible day on which it was first seen.
    pub seen: (i64, i64),
    /// First and last possible day of opening, if it did.
    pub opened: Option<(i64, i64)>,
}

/// Follows buds through entries, which come earliest first. A bud of a part opens with that part, one
/// of the plant with its next flower.
pub(super) fn buds(happenings: &[Happening]) -> Vec<Bud> {
    let mut waiting: BTreeMap<(i64, Option<u64>), Bud> = BTreeMap::new();
    let mut out = Vec::new();
    for h in happenings {
        match h.what {
            What::Bud => {
                let bud = Bud { plant: h.plant, part: h.part, seen: (h.from, h.to), opened: None };
                waiting.entry((h.plant, h.part)).or_insert(bud);
            }
            What::Opened(_) => {
                let own = waiting.remove(&(h.plant, h.part));
                let bud = own.or_else(|| waiting.remove(&(h.plant, None)));
                let opened = Some((h.from, h.to));
                out.extend(bud.map(|b| Bud { opened, ..b }));
            }
            What::Cut => {
                waiting.remove(&(h.plant, h.part));
            }
            _ => {}
        }
    }
    out.extend(waiting.into_values());
    out.sort_by_key(|b| (b.seen, b.plant));
    out
}

/// One flowering of a peduncle or of a plant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flowering {
    /// The plant.
    pub plant: i64,
    /// The peduncle, where peduncles of this plant are told apart.
    pub peduncle: Option<u64>,
    /// First and last possible day on which it began.
    pub began: (i64, i64),
    /// The last day on which it was certainly in flower.
    pub until: i64,
    /// From the first to the last opening \[d\].
    pub spread: i64,
    /// Whether its end was the end of the peduncle.
    pub cut: bool,
    /// How it is known.
    pub known: Known,
}

/// The flowerings of plants, earliest first for each peduncle or plant. Where a part has flowered
/// twice, the peduncles of its plant are told apart.
#[must_use]
pub fn flowerings(blooms: &[Bloom]) -> Vec<Flowering> {
    let mut of_part: HashMap<(i64, u64), usize> = HashMap::new();
    for b in blooms.iter().filter(|b| b.kind == FlowerKind::Umbel) {
        if let Some(part) = b.part {
            *of_part.entry((b.plant, part)).or_default() += 1;
        }
    }
    let apart: HashSet<i64> = of_part.iter().filter(|(_, n)| **n > 1).map(|(k, _)| k.0).collect();
    let mut by_unit: BTreeMap<(i64, Option<u64>), Vec<&Bloom>> = BTreeMap::new();
    for b in blooms {
        let peduncle = b.part.filter(|_| apart.contains(&b.plant) && b.kind == FlowerKind::Umbel);
        if apart.contains(&b.plant) && peduncle.is_none() {
            continue;
        }
        by_unit.entry((b.plant, peduncle)).or_default().push(b);
    }
    let mut out: Vec<Flowering> = Vec::new();
    for ((plant, peduncle), mut of_unit) in by_unit {
        of_unit.sort_by_key(|b| b.about());
        let first = out.len();
        for b in of_unit {
            let until = b.ended.map_or(b.looked, |e| e.0);
            let before = out[first..]
                .last_mut()
                .filter(|f| peduncle.is_none() && b.about() - f.until <= SAME);
            match before {
                Some(f) => {
                    f.until = f.until.max(until);
                    f.spread = (b.about() - f.began.1).max(f.spread);
                }
                None => {
                    let cut = b.cut && peduncle.is_some();
                    out.push(Flowering {
                        plant,
                        peduncle,
                        began: b.opened,
                        until,
                        spread: 0,
                        cut,
                        known: b.known,
                    });
                }
            }
        }
    }
    out
}

/// From one flowering to the next, or to the last day on which none had come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// The plant.
    pub plant: i64,
    /// The peduncle, where peduncles are told apart.
    pub peduncle: Option<u64>,
    /// The flowering from which it counts.
    pub since: Flowering,
    /// The next, if it came.
    pub next: Option<(i64, i64)>,
    /// The last day on which it had not come, while it has not.
    pub until: i64,
    /// Whether the peduncle was cut or lost before.
    pub lost: bool,
}

impl Gap {
    /// Days from opening to opening; a single day is a day wide.
    #[must_use]
    pub fn time(&self) -> Time {
        let (a, b) = self.since.began;
        match self.next {
            Some((c, d)) => {
                Time::between((to_f64(c - b) - 0.5).max(0.0), to_f64(d - a).max(0.5) + 0.5)
            }
            None => Time::open(to_f64((self.until - b).max(0))),
        }
    }
}

/// Gaps between flowerings; `last` tells the last day of which something is known of a plant.
#[must_use]
pub fn gaps(flowerings: &[Flowering], last: impl Fn(i64) -> i64) -> Vec<Gap> {
    let mut out = Vec::new();
    for of_unit in flowerings.chunk_by(|a, b| (a.plant, a.peduncle) == (b.plant, b.peduncle)) {
        for (k, f) in of_unit.iter().enumerate() {
            let next = of_unit.get(k + 1).map(|n| n.began);
            let until = if f.cut { f.until } else { last(f.plant).max(f.until) };
            out.push(Gap {
                plant: f.plant,
                peduncle: f.peduncle,
                since: *f,
                next,
                until,
                lost: f.cut && next.is_none(),
            });
        }
    }
    out
}

/// What gaps between flowerings said together.
#[derive(Debug, Clone)]
pub struct AgainFit {
    posterior: Posterior,
    levels: Vec<Vec<u32>>,
}

fn constant(rows: usize) -> Result<Fixed, ParametricError> {
    Ok(Fixed::of_columns(rows, [])?)
}

/// The level of each key, in order of first appearance, and how many there are.
pub(super) fn index_of<K: std::hash::Hash + Eq>(
    keys: impl Iterator<Item = K>,
) -> (Vec<u32>, usize) {
    let mut known: HashMap<K, u32> = HashMap::new();
    let index = keys
        .map(|k| {
            let next = u32::try_from(known.len()).unwrap_or(u32::MAX);
            *known.entry(k).or_insert(next)
        })
        .collect();
    (index, known.len())
}

/// Fits gaps, with an effect of each plant and, where peduncles are told apart, of each of them.
///
/// # Errors
/// When the optimum was not reached.
pub fn fit_again(gaps: &[Gap]) -> Result<AgainFit, ParametricError> {
    let times: Vec<Time> = gaps.iter().map(Gap::time).collect();
    let by_plant = index_of(gaps.iter().map(|g| g.plant));
    let by_unit = index_of(gaps.iter().map(|g| (g.plant, g.peduncle)));
    let mut terms = Vec::new();
    let mut levels = Vec::new();
    for (name, (index, n)) in [("plant", by_plant), ("peduncle", by_unit)] {
        // A term with one level, or as fine as the one before, says nothing of its own.
        if n > 1 && n < gaps.len() && levels.last() != Some(&index) {
            let names = (0..n).map(|l| l.to_string()).collect();
            terms.push(RandomTerm {
                name: name.to_owned(),
                levels: names,
                index: index.clone(),
                members: 1,
                slope: None,
            });
            levels.push(index);
        }
    }
    let beliefs = Beliefs {
        coefficients: vec![Some(GAP)],
        scale: Some(SpreadPrior::Gamma { shape: 3.0, rate: 8.0 }),
        spreads: vec![Some(SpreadPrior::HalfNormal { scale: 0.3 }); 2],
        sum_few: true,
    };
    let fixed = constant(times.len())?;
    let posterior = posterior(&times, &fixed, Law::Lognormal, &terms, &beliefs, LEVEL)?;
    Ok(AgainFit { posterior, levels })
}

impl AgainFit {
    fn of(&self, gap: usize) -> Vec<Option<u32>> {
        self.levels.iter().map(|l| l.get(gap).copied()).collect()
    }

    /// Where the usual time from one flowering to the next lies \[d\].
    ///
    /// # Errors
    /// Those of the engine.
    pub fn typical(&self) -> Result<[f64; 3], ParametricError> {
        self.posterior.typical(&constant(1)?, &vec![None; self.levels.len()], LEVEL)
    }

    /// What is left of a gap that is open, from its last day on.
    ///
    /// # Errors
    /// Those of the engine.
    pub fn left(&self, index: usize, gap: &Gap) -> Result<Remaining, ParametricError> {
        let age = to_f64((gap.until - gap.since.began.1).max(0));
        self.posterior.remaining(&constant(1)?, &self.of(index), &[age])
    }

    /// A further gap of a unit.
    ///
    /// # Errors
    /// Those of the engine.
    pub fn further(&self, index: usize) -> Result<Remaining, ParametricError> {
        self.posterior.remaining(&constant(1)?, &self.of(index), &[0.0])
    }
}

/// What is learnt of flowering again, and from whom.
#[derive(Debug)]
pub struct Again {
    /// The fit.
    pub fit: AgainFit,
    /// Its gaps.
    pub gaps: Vec<Gap>,
    /// How many flowerings they lie between.
    pub flowerings: usize,
    /// Whether they are those of the clone; of the whole genus otherwise.
    pub of_clone: bool,
    /// Whether peduncles are told apart.
    pub peduncles: bool,
}

/// What a fit is of: one clone or the whole genus, and the plant where there are more gaps than take
/// part, so that its own are among them.
pub(super) type AgainOf = (Option<i64>, Option<i64>);

/// Of very many gaps those of the plant itself, and the latest of others.
fn latest(gaps: Vec<Gap>, plant: i64) -> Vec<Gap> {
    let mut order: Vec<usize> = (0..gaps.len()).collect();
    order.sort_by_key(|k| (gaps[*k].plant != plant, -gaps[*k].since.began.1, *k));
    order.truncate(OF_ALL);
    order.sort_unstable();
    order.into_iter().map(|k| gaps[k]).collect()
}

impl Grown {
    fn flowerings_of(&self, which: impl Fn(&super::life::Followed) -> bool) -> Vec<Flowering> {
        let blooms: Vec<Bloom> =
            self.followed.iter().filter(|f| which(f)).map(|f| f.bloom).collect();
        flowerings(&blooms)
    }

    /// How many flowerings of a clone are known.
    pub(super) fn flowerings_of_clone(&self, clone: i64) -> usize {
        self.flowerings_of(|f| f.clone == clone).len()
    }

    /// The gaps from which is learnt when a plant flowers again: those of its clone, else of its
    /// genus, else none; and between how many flowerings they lie.
    pub(super) fn gaps_for(&self, plant: &PlantRow) -> Option<(AgainOf, Vec<Gap>, usize)> {
        for of_clone in [true, false] {
            let all = self.flowerings_of(|f| !of_clone || f.clone == plant.clone);
            let gaps = gaps(&all, |id| self.known_until(id));
            let many = gaps.len() > OF_ALL;
            let gaps = if many { latest(gaps, plant.id) } else { gaps };
            let ended = gaps.iter().filter(|g| g.next.is_some()).count();
            if all.len() >= FLOWERINGS && ended >= GAPS {
                let of = (of_clone.then_some(plant.clone), many.then_some(plant.id));
                return Some((of, gaps, all.len()));
            }
        }
        None
    }

    /// Fits flowering again.
    pub(super) fn fit_again(
        of: AgainOf,
        gaps: Vec<Gap>,
        flowerings: usize,
    ) -> Result<Again, ParametricError> {
        let peduncles = gaps.iter().any(|g| g.peduncle.is_some());
        let fit = fit_again(&gaps)?;
        Ok(Again { fit, gaps, flowerings, of_clone: of.0.is_some(), peduncles })
    }

    /// Buds of a plant that have not opened.
    pub(super) fn waiting(&self, plant: i64, today: i64) -> Option<&Bud> {
        self.buds
            .iter()
            .find(|b| b.plant == plant && b.opened.is_none() && today - b.seen.1 <= DROPPED)
    }

    /// What is left until the bud of a plant opens, from the day it was seen on.
    ///
    /// # Errors
    /// Those of the engine.
    pub(super) fn until_open(&self, waited: i64) -> Result<Remaining, ParametricError> {
        let mut times: Vec<Time> = (self.buds.iter())
            .filter_map(|b| Some((b, b.opened?)))
            .filter(|(b, o)| o.1 > b.seen.0)
            .map(|(b, o)| {
                let least = (to_f64(o.0 - b.seen.1) - 0.5).max(0.0);
                Time::between(least, to_f64(o.1 - b.seen.0) + 0.5)
            })
            .collect();
        // The bud that waits is a record as well. On its first day it says nothing yet, and without
        // any other the default is what comes out.
        let waited = to_f64(waited.max(0));
        times.push(Time::open(waited));
        let beliefs = Beliefs {
            coefficients: vec![Some(BUD)],
            scale: Some(SpreadPrior::Gamma { shape: 3.0, rate: 10.0 }),
            spreads: Vec::new(),
            sum_few: false,
        };
        let fixed = constant(times.len())?;
        let fit = posterior(&times, &fixed, Law::Lognormal, &[], &beliefs, LEVEL)?;
        fit.remaining(&constant(1)?, &[], &[waited])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bloom(plant: i64, part: Option<u64>, kind: FlowerKind, from: i64, to: i64) -> Bloom {
        Bloom {
            plant,
            part,
            kind,
            opened: (from, from),
            ended: Some((to, to)),
            looked: from,
            open: false,
            cut: false,
            known: Known::Seen,
        }
    }

    #[test]
    fn flowers_of_a_few_weeks_are_one_flowering_and_peduncles_are_told_apart() {
        let f = |from, to| bloom(1, None, FlowerKind::Flower, from, to);
        // 10 to 18, 20 to 30, then 44 days later.
        let all = flowerings(&[f(10, 18), f(20, 30), f(74, 80)]);
        assert_eq!(all.len(), 2);
        assert_eq!((all[0].began, all[0].until, all[0].spread), ((10, 10), 30, 10));
        let u = |part, from| bloom(2, Some(part), FlowerKind::Umbel, from, from + 6);
        let all = flowerings(&[u(1, 10), u(2, 12), u(1, 60), u(1, 130)]);
        assert_eq!(all.len(), 4, "{all:?}");
        let gaps = gaps(&all, |_| 150);
        let times: Vec<Time> = gaps.iter().map(Gap::time).collect();
        // Peduncle 1: 50 and 70 days, then 20 without; peduncle 2: 138 without.
        assert_eq!(
            times,
            [
                Time::between(49.5, 50.5),
                Time::between(69.5, 70.5),
                Time::open(20.0),
                Time::open(138.0)
            ]
        );
    }

    #[test]
    fn a_peduncle_that_was_cut_waits_no_longer() {
        let u = |part, from, cut| Bloom {
            cut,
            ended: None,
            looked: from + 3,
            ..bloom(1, Some(part), FlowerKind::Umbel, from, from)
        };
        let all = flowerings(&[u(1, 10, false), u(1, 70, true), u(2, 10, false)]);
        let gaps = gaps(&all, |_| 200);
        assert_eq!(gaps.iter().map(|g| g.lost).collect::<Vec<_>>(), [false, true, false]);
        assert_eq!(gaps[1].time(), Time::open(3.0));
    }

    #[test]
    fn buds_open_with_their_part_or_with_the_next_flower() {
        let at = |part, what, day| Happening {
            plant: 1,
            part,
            what,
            from: day,
            to: day,
            known: Known::Seen,
        };
        let opened = What::Opened(FlowerKind::Flower);
        let all = buds(&[
            at(Some(1), What::Bud, 1),
            at(Some(1), What::Bud, 4),
            at(None, What::Bud, 5),
            at(Some(1), opened, 12),
            at(Some(9), opened, 20),
            at(None, What::Bud, 30),
        ]);
        let found: Vec<_> = all.iter().map(|b| (b.seen.0, b.opened.map(|o| o.0))).collect();
        assert_eq!(found, [(1, Some(12)), (5, Some(20)), (30, None)]);
    }

    /// Four gaps of about 60 days: the usual one lies near 60, and one that has lasted 59 days is
    /// nearly over.
    #[test]
    fn gaps_that_are_alike_are_expected_again() {
        let u = |from| bloom(1, Some(1), FlowerKind::Umbel, from, from + 6);
        let all = flowerings(&[u(0), u(58), u(120), u(179), u(240)]);
        let gaps = gaps(&all, |_| 299);
        let fit = fit_again(&gaps).unwrap();
        let [low, middle, high] = fit.typical().unwrap();
        assert!(low < 60.0 && 60.0 < high && (middle / 60.0).ln().abs() < 0.1, "{middle}");
        let left = fit.left(4, &gaps[4]).unwrap();
        assert!(left.quantile(0.5) < 8.0, "{}", left.quantile(0.5));
        assert!((left.beyond(0.0) - 1.0).abs() < 1e-9);
        assert!(fit.further(4).unwrap().quantile(0.5) > 50.0);
    }
}
