//! A season's crosses: what each pair promises, and which of them to make with the pots, flowers and
//! hands there are.

use std::collections::{BTreeMap, HashMap};

use journal::{Reader, Uid};
use planning::crosses::{Cross as Chosen, Pair, Parent, Season, Size, choose_crosses, trade_off};
use planning::{Ended, Kinship, Watch};
use serde::Serialize;
use stats::selection::intensity;
use stats::special::normal_cdf;
use stats::success::Mixture;

use super::{
    chance::{PairLine, Share},
    engine::Engine,
    model::Later,
    scores::{Score, scores},
    words,
};
use crate::{AskError, Hand, NameText, Result, name_text};

/// What is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonAsked {
    /// Candidates by number; all living plants where it is empty.
    pub plants: Vec<i64>,
    /// Whether plants that went to others may give pollen.
    pub friends: bool,
    /// The scored trait that is to rise; empty where every seedling is looked at without one.
    pub aim: String,
    /// From this score on a seedling is of the wanted kind: then the expected number of those is what
    /// a cross is worth. Without it a cross is worth its best seedling.
    pub from_score: Option<f64>,
    /// Pots for seedlings.
    pub pots: u32,
    /// The most crosses that hands allow.
    pub crosses: usize,
    /// Flowers of one plant that may be given to crosses.
    pub flowers: u32,
    /// What is given up for mean kinship lower by 1, in the unit of the gain.
    pub weight: f64,
    /// Pairs more closely related than this are left out.
    pub most_kinship: f64,
}

impl Default for SeasonAsked {
    fn default() -> Self {
        Self {
            plants: Vec::new(),
            friends: false,
            aim: String::new(),
            from_score: None,
            pots: 60,
            crosses: 5,
            flowers: 8,
            weight: 1.0,
            most_kinship: 0.25,
        }
    }
}

/// Says how likely two plants are in flower on a common day; none where nothing is known.
pub type Meets<'a> = &'a dyn Fn(i64, i64) -> Option<f64>;

/// A plant that may be a parent.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Candidate {
    /// Its number.
    pub plant: i64,
    /// Whether no piece of it lives here: it went to somebody, and gives pollen alone.
    pub elsewhere: bool,
    /// Its clone.
    pub clone: Uid,
    /// Its name.
    pub name: NameText,
    /// What it was scored, where it was.
    pub score: Option<Score>,
}

/// A pair of the plan, or one that was weighed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Offered {
    /// Seed parent, as a place in the candidates.
    pub seed: usize,
    /// Pollen parent.
    pub pollen: usize,
    /// Chance that a flower makes a pod.
    pub chance: Share,
    /// Whether that rests on beliefs alone: neither parent was ever tried.
    pub believed: bool,
    /// Flowers to pollinate, so that a pod is four in five, as far as flowers go.
    pub flowers: u32,
    /// Chance of at least one ripe pod of them.
    pub at_least_one: f64,
    /// Chance that both are in flower on a common day, or that stored pollen works.
    pub meets: Option<f64>,
    /// Whether that is from pollen in store.
    pub stored: bool,
    /// Flowering seedlings to expect of these pots, with the ends of the 80 % interval.
    pub seedlings: (f64, u64, u64),
    /// Kinship of the parents: the inbreeding of the seedlings.
    pub kinship: f64,
    /// Middle of the seedlings in the trait, and the ends between which most lie.
    pub middle: Option<(f64, f64, f64)>,
    /// Where the best of so many would lie.
    pub best: Option<f64>,
    /// What the seedlings are made of, in words.
    pub made_of: String,
    /// Traits that are known to follow one gene.
    pub segregates: Vec<super::genes::Segregates>,
    /// From sowing to the first flower \[d\].
    pub first_flower: (f64, f64),
    /// Pots.
    pub pots: u32,
    /// What it is worth, in standard deviations of what is chosen by.
    pub gain: f64,
}

/// One plan of the curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CurveChoice {
    /// Weight of kinship.
    pub weight: f64,
    /// What the set is worth.
    pub gain: f64,
    /// Mean kinship of what is raised.
    pub kinship: f64,
    /// Crosses.
    pub crosses: usize,
    /// Pots.
    pub pots: u32,
}

/// A plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeasonPlan {
    /// Pots in use from each of these days on \[days since 1970-01-01\], if the flowers are pollinated
    /// today and the usual times hold: from the seedlings' first leaves to their first flower.
    pub pots_over: Vec<(i64, u32)>,
    /// Everybody who was asked.
    pub candidates: Vec<Candidate>,
    /// The crosses to make, the most gain first.
    pub chosen: Vec<Offered>,
    /// The best of those left out.
    pub others: Vec<Offered>,
    /// Pairs that were weighed.
    pub weighed: usize,
    /// The same under other weights of kinship.
    pub curve: Vec<CurveChoice>,
    /// What the set is worth.
    pub gain: f64,
    /// Mean kinship of what is raised.
    pub kinship: f64,
    /// Pots of it.
    pub pots: u32,
    /// How much better another set could be at most.
    pub gap: f64,
    /// Whether none is better.
    pub proven: bool,
    /// The pollination that would teach most: places in the candidates, and its chance.
    pub teaches: Option<(usize, usize, Share)>,
    /// What is said besides, a line each.
    pub lines: Vec<String>,
}

/// Sizes at which a cross may be raised.
const SIZES: [u32; 4] = [6, 12, 20, 32];
/// Pairs that are weighed for the set, the best by what they promise for each pot.
const MOST: usize = 1_500;
/// Plants that are weighed at the most.
const PLANTS: usize = 300;
/// Left-over flowers are given until a pod is as sure as this.
const SURE: f64 = 0.95;
/// Weights of the curve.
const WEIGHTS: [f64; 6] = [0.0, 0.5, 1.0, 2.0, 4.0, 8.0];

struct Promise {
    /// What is held of its flowers.
    found: Mixture,
    line: PairLine,
    seed: usize,
    pollen: usize,
    flowers: u32,
    pod: f64,
    meets: Option<f64>,
    stored: bool,
    middle: Option<f64>,
    kinship: f64,
}

impl Engine {
    /// Plans a season; `looks` bounds the search: twenty million take about a second.
    ///
    /// # Errors
    /// Plants that are not there, numbers that cannot be, or fewer than two candidates.
    pub fn season(
        &self,
        reader: &Reader<'_>,
        hand: &Hand,
        asked: &SeasonAsked,
        meets: Meets<'_>,
        looks: u64,
    ) -> Result<SeasonPlan> {
        let watch = &mut Watch::new(looks);
        check(asked)?;
        let scored = scores(reader, &asked.aim, self.facts.clones())?;
        let candidates = self.candidates(reader, asked, &scored.of, hand)?;
        let uids: Vec<Uid> = candidates.iter().map(|c| c.clone).collect();
        let lives = self.usual(Later::Lives) * self.usual(Later::Flowers);
        let ripens = self.usual(Later::Ripens);
        let values: Vec<f64> = candidates.iter().filter_map(|c| c.score.map(|s| s.value)).collect();
        let level = (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64);
        let unit = scored.spread.filter(|s| *s > 0.0);
        let of_pair: HashMap<(Uid, Uid), (usize, usize)> = (0..uids.len())
            .flat_map(|i| (0..uids.len()).map(move |j| (i, j)))
            .map(|(i, j)| ((uids[i], uids[j]), (i, j)))
            .collect();
        let kinship = |i: usize, j: usize| {
            let k = self.facts.kinship(uids[i], uids[j]);
            if uids[i] == uids[j] { k.max(0.5) } else { k }
        };
        let weights: Vec<f64> = SIZES.iter().map(|m| best_of(*m, lives)).collect();
        let mut promises = Vec::new();
        let all = self.all_pairs_with(&uids)?;
        let teaches = all.iter().map(|p| &p.0).max_by(|a, b| a.teaches.total_cmp(&b.teaches));
        let teaches = teaches.map(|l| {
            let (i, j) = of_pair[&(l.seed, l.pollen)];
            (i, j, Share { mean: l.mean, lower: l.lower, upper: l.upper })
        });
        for (line, found) in all {
            let (i, j) = of_pair[&(line.seed, line.pollen)];
            let k = kinship(i, j);
            if k > asked.most_kinship || candidates[i].elsewhere {
                continue;
            }
            let (mut met, mut stored) = (meets(candidates[i].plant, candidates[j].plant), false);
            if let Some(works) = self.in_store(uids[j])
                && met.is_none_or(|m| m < works)
            {
                (met, stored) = (Some(works), true);
            }
            let (flowers, pod) = enough(&found, ripens, asked.flowers);
            let middle = candidates[i]
                .score
                .zip(candidates[j].score)
                .map(|(a, b)| 0.5 * (a.value + b.value));
            let (seed, pollen) = (i, j);
            promises.push(Promise {
                found,
                line,
                seed,
                pollen,
                flowers,
                pod,
                meets: met,
                stored,
                middle,
                kinship: k,
            });
        }
        let weighed = promises.len();
        let h = scored.heritability;
        // How far seedlings of a family lie apart: as scored where families were, else as the clones
        // do, less the luck of a single score.
        let luck = scored.luck;
        let apart = scored.within.or(unit).map(|sd| {
            let own = sd.powi(2) - luck.powi(2);
            own.max(0.25 * sd.powi(2)).sqrt()
        });
        let gain = |p: &Promise, at: usize| {
            let both = p.pod * p.meets.unwrap_or(1.0);
            if let (Some(from), Some(level), Some(apart)) = (asked.from_score, level, apart) {
                // What is not known of the parents spreads the seedlings as well.
                let unsure = |at: usize| {
                    let known = candidates[at].score.map_or(0.0, |s| s.reliability);
                    0.25 * h * (1.0 - known) * unit.unwrap_or(apart).powi(2)
                };
                let middle = p.middle.unwrap_or(level);
                let spread = (apart.powi(2) + unsure(p.seed) + unsure(p.pollen)).sqrt();
                let wanted = normal_cdf((middle - from) / spread);
                return both * lives * f64::from(SIZES[at]) * wanted;
            }
            // Without scores the parents stand level, and only the choice among seedlings counts.
            let above = match (p.middle, level, unit) {
                (Some(m), Some(l), Some(s)) => (m - l) / s,
                _ => 0.0,
            };
            // U = μ + i·h·σ, in standard deviations of the score: h·σ of a family is h²·√½.
            let choice = h * 0.5f64.sqrt() * weights[at];
            both * (above + choice).max(0.0)
        };
        promises.sort_by(|a, b| gain(b, 1).total_cmp(&gain(a, 1)));
        promises.truncate(MOST);
        let pairs: Vec<Pair> = promises
            .iter()
            .map(|p| Pair {
                seed: p.seed,
                pollen: p.pollen,
                sizes: SIZES
                    .iter()
                    .enumerate()
                    .filter(|(at, m)| **m <= asked.pots && gain(p, *at) > 0.0)
                    .map(|(at, m)| Size {
                        gain: gain(p, at),
                        pots: *m,
                        seed_flowers: p.flowers,
                        pollen_flowers: 1,
                    })
                    .collect(),
                must: false,
            })
            .collect();
        let parents =
            vec![Parent { seed_flowers: asked.flowers, pollen_flowers: asked.flowers }; uids.len()];
        let related = Kinship::from_fn(uids.len(), kinship).map_err(|e| unplanned(&e))?;
        let season = Season {
            parents: &parents,
            kinship: &related,
            pairs: &pairs,
            pots: asked.pots,
            most_crosses: asked.crosses,
            most_kinship: f64::INFINITY,
            weight: asked.weight,
        };
        let plan = choose_crosses(&season, watch).map_err(|e| unplanned(&e))?;
        let curve = self.curve(&season, asked.weight, &mut Watch::new(looks / 6))?;
        // Flowers that are left over make a pod surer; the cross that is worth most comes first.
        let mut crosses = plan.crosses.clone();
        let worth = |c: &Chosen| pairs[c.pair].sizes.get(c.size).map_or(0.0, |s| s.gain);
        crosses.sort_by(|a, b| worth(b).total_cmp(&worth(a)));
        let mut left = vec![asked.flowers; uids.len()];
        for c in &crosses {
            let p = &promises[c.pair];
            left[p.seed] = left[p.seed].saturating_sub(p.flowers);
            left[p.pollen] = left[p.pollen].saturating_sub(1);
        }
        for c in &crosses {
            let p = &mut promises[c.pair];
            while left[p.seed] > 0 && p.pod < SURE {
                left[p.seed] -= 1;
                p.flowers += 1;
                p.pod = p.found.at_least_one(p.flowers, ripens);
            }
        }
        let offer = |at: usize, size: usize| {
            let p = &promises[at];
            let pots = pairs[at].sizes.get(size).map_or(SIZES[0], |s| s.pots);
            let gain = pairs[at].sizes.get(size).map_or(0.0, |s| s.gain);
            self.offered(p, pots, gain, lives, (unit, h, hand), &candidates)
        };
        let chosen: Vec<Offered> = crosses.iter().map(|c| offer(c.pair, c.size)).collect();
        let taken = |p: &Promise| chosen.iter().any(|c| c.seed == p.seed && c.pollen == p.pollen);
        let left = promises.iter().enumerate().filter(|(_, p)| !taken(p)).map(|(i, _)| i);
        let others = left.take(5).map(|at| offer(at, 1)).collect();
        let pots_over = self.pots_over(&chosen, &candidates, hand.today_number());
        let lines = said(asked, &scored, level.is_some(), &candidates, hand);
        Ok(SeasonPlan {
            pots_over,
            chosen,
            others,
            weighed,
            curve,
            gain: plan.gain,
            kinship: plan.mean_kinship,
            pots: plan.pots,
            gap: plan.gap(),
            proven: plan.ended == Ended::Proven,
            teaches,
            lines,
            candidates,
        })
    }

    fn curve(
        &self,
        season: &Season<'_>,
        weight: f64,
        watch: &mut Watch<'_>,
    ) -> Result<Vec<CurveChoice>> {
        let mut weights = WEIGHTS.to_vec();
        if !weights.contains(&weight) {
            weights.push(weight);
        }
        weights.sort_by(f64::total_cmp);
        let plans = trade_off(season, &weights, watch).map_err(|e| unplanned(&e))?;
        let mut out: Vec<CurveChoice> = Vec::new();
        for p in plans {
            let one = CurveChoice {
                weight: p.weight,
                gain: p.gain,
                kinship: p.mean_kinship,
                crosses: p.crosses.len(),
                pots: p.pots,
            };
            // Weights that lead to the same set are one choice; the asked one is kept.
            let same = |c: &CurveChoice| {
                (c.gain - one.gain).abs() < 1e-9 && (c.kinship - one.kinship).abs() < 1e-9
            };
            match out.iter().position(same) {
                Some(at) if p.weight == weight => out[at] = one,
                Some(_) => {}
                None => out.push(one),
            }
        }
        Ok(out)
    }

    /// The usual rate of a later stage here.
    fn usual(&self, stage: Later) -> f64 {
        self.later_usual(stage).map_or(0.5, |m| m.quick_mean())
    }

    /// The chance that the best lot of a clone's pollen in store works.
    fn in_store(&self, clone: Uid) -> Option<f64> {
        let today = self.crosses.today;
        let of = |l: &super::pollen::Kept| {
            let facts = self.facts.of(l.clone)?;
            let age = (today - l.since).max(0) as f64;
            Some(self.works(age / super::pollen::half_life(facts.group, l.cold)).mean)
        };
        let lots = self.lots.iter().filter(|l| !l.gone && l.clone == clone);
        lots.filter_map(of).fold(None, most)
    }

    fn candidates(
        &self,
        reader: &Reader<'_>,
        asked: &SeasonAsked,
        scored: &BTreeMap<Uid, Score>,
        hand: &Hand,
    ) -> Result<Vec<Candidate>> {
        let rows = reader.living()?;
        for n in &asked.plants {
            if !rows.iter().any(|r| r.number == *n) {
                return Err(AskError::NotThere {
                    kind: "plant",
                    which: n.to_string(),
                    next: "write numbers of living plants, with spaces between",
                });
            }
        }
        let mut out: Vec<Candidate> = Vec::new();
        let gone = if asked.friends { reader.in_state("gone")? } else { Vec::new() };
        for row in rows.into_iter().chain(gone) {
            let elsewhere = row.state == "gone";
            if !elsewhere && !asked.plants.is_empty() && !asked.plants.contains(&row.number) {
                continue;
            }
            let Some(clone) = reader.clone_by_id(row.clone)?.map(|c| c.uid) else { continue };
            let Some(facts) = self.facts.of(clone) else { continue };
            // Pieces of one clone are one parent.
            if out.iter().any(|c| c.clone == clone) {
                continue;
            }
            let name = if facts.name.is_empty() {
                NameText::words(hand.texts().t("not named"))
            } else {
                name_text(&facts.name)
            };
            out.push(Candidate {
                plant: row.number,
                elsewhere,
                clone,
                name,
                score: scored.get(&clone).copied(),
            });
        }
        // Of too many those that were scored, or tried, come first.
        if out.len() > PLANTS {
            let tried =
                |c: &Candidate| self.crosses.attempts.iter().any(|a| a.seed == Some(c.clone));
            out.sort_by_key(|c| (c.score.is_none(), !tried(c), c.plant));
            out.truncate(PLANTS);
        }
        if out.len() < 2 {
            let problem = "are fewer than two clones; a cross needs two";
            return Err(AskError::field("plants", &out.len().to_string(), problem));
        }
        Ok(out)
    }

    fn offered(
        &self,
        p: &Promise,
        pots: u32,
        gain: f64,
        lives: f64,
        (unit, h, hand): (Option<f64>, f64, &Hand),
        candidates: &[Candidate],
    ) -> Offered {
        let group = self.facts.of(p.line.seed).map(|f| f.group);
        let facts = group.unwrap_or(super::groups::Group::Other).facts();
        // Within a family half of the additive variance is left; parents are taken as not inbred.
        let spread = unit.map(|s| s * (0.5 * h).sqrt());
        let expected = p.pod * f64::from(pots) * lives;
        Offered {
            seed: p.seed,
            pollen: p.pollen,
            chance: Share { mean: p.line.mean, lower: p.line.lower, upper: p.line.upper },
            believed: self.untried(candidates[p.seed].clone, candidates[p.pollen].clone),
            flowers: p.flowers,
            at_least_one: p.pod,
            meets: p.meets,
            stored: p.stored,
            seedlings: ends(p.pod, pots, lives, expected),
            kinship: p.kinship,
            middle: p.middle.zip(spread).map(|(m, s)| (m, m - 1.28 * s, m + 1.28 * s)),
            best: p.middle.zip(spread).and_then(|(m, s)| {
                let n = expected.round().max(1.0) as u64;
                Some(m + h.sqrt() * s * intensity(1, n.max(2)).ok()?)
            }),
            made_of: self.made_of(p.line.seed, p.line.pollen, hand),
            segregates: match (self.facts.of(p.line.seed), self.facts.of(p.line.pollen)) {
                (Some(a), Some(b)) => super::genes::segregates(&a.genes, &b.genes, hand.texts()),
                _ => Vec::new(),
            },
            first_flower: facts.flower,
            pots,
            gain,
        }
    }

    /// Whether nothing of either parent was ever told.
    fn untried(&self, seed: Uid, pollen: Uid) -> bool {
        !self.crosses.known().any(|(_, a, b, _)| [a, b].contains(&seed) || [a, b].contains(&pollen))
    }

    /// What the seedlings are made of: shares of species.
    /// How many pots are in use when.
    #[allow(clippy::cast_possible_truncation, reason = "days of a few years")]
    fn pots_over(
        &self,
        chosen: &[Offered],
        candidates: &[Candidate],
        today: i64,
    ) -> Vec<(i64, u32)> {
        let mut changes: BTreeMap<i64, i64> = BTreeMap::new();
        for o in chosen {
            let group = self.facts.of(candidates[o.seed].clone).map(|f| f.group);
            let facts = group.unwrap_or(super::groups::Group::Other).facts();
            let middle = |range: (f64, f64)| 0.5 * (range.0 + range.1);
            let sown = middle(facts.ripe);
            let begin = today + (sown + middle(facts.up)) as i64;
            let end = today + (sown + middle(facts.flower)) as i64;
            *changes.entry(begin).or_default() += i64::from(o.pots);
            *changes.entry(end.max(begin)).or_default() -= i64::from(o.pots);
        }
        let mut used = 0;
        let step = |(day, change): (i64, i64)| {
            used += change;
            (day, u32::try_from(used).unwrap_or(0))
        };
        changes.into_iter().map(step).collect()
    }

    fn made_of(&self, seed: Uid, pollen: Uid, hand: &Hand) -> String {
        let mut shares: BTreeMap<&str, f64> = BTreeMap::new();
        let mut known = 0.0;
        for uid in [seed, pollen] {
            for (species, share) in self.facts.of(uid).iter().flat_map(|f| &f.species) {
                *shares.entry(species).or_insert(0.0) += 0.5 * share;
                known += 0.5 * share;
            }
        }
        let t = hand.texts();
        let mut all: Vec<(&str, f64)> = shares.into_iter().collect();
        all.sort_by(|a, b| b.1.total_cmp(&a.1));
        let mut out: Vec<String> =
            all.iter().map(|(s, x)| format!("{} {s}", words::fraction(*x))).collect();
        if known < 0.999 {
            let rest = words::fraction(1.0 - known);
            out.push(t.f("{share} not recorded", &[("share", &rest)]));
        }
        out.join(", ")
    }
}

fn most(best: Option<f64>, x: f64) -> Option<f64> {
    Some(best.map_or(x, |b| b.max(x)))
}

fn unplanned(e: &planning::PlanningError) -> AskError {
    AskError::field("season", "", format!("could not be planned: {e}"))
}

fn check(asked: &SeasonAsked) -> Result<()> {
    let wrong = |field: &str, value: String, problem: &str| AskError::field(field, &value, problem);
    if !(6..=20_000).contains(&asked.pots) {
        return Err(wrong(
            "pots",
            asked.pots.to_string(),
            "is not a number of pots from 6 to 20000",
        ));
    }
    if let Some(from) = asked.from_score {
        if asked.aim.is_empty() {
            let problem = "is a score, but no trait was named; name the trait that is scored";
            return Err(wrong("from", from.to_string(), problem));
        }
        if !from.is_finite() {
            return Err(wrong("from", from.to_string(), "is not a score"));
        }
    }
    if !(1..=200).contains(&asked.crosses) {
        let problem = "is not a number of crosses from 1 to 200";
        return Err(wrong("crosses", asked.crosses.to_string(), problem));
    }
    if !(1..=500).contains(&asked.flowers) {
        let problem = "is not a number of flowers from 1 to 500";
        return Err(wrong("flowers", asked.flowers.to_string(), problem));
    }
    if !(0.0..=100.0).contains(&asked.weight) {
        return Err(wrong("weight", asked.weight.to_string(), "is not a number from 0 to 100"));
    }
    if !(0.0..=1.0).contains(&asked.most_kinship) {
        return Err(wrong("kinship", asked.most_kinship.to_string(), "is not a share from 0 to 1"));
    }
    Ok(())
}

/// The fewest flowers of which a ripe pod is four in five, or all there are, with the chance.
fn enough(found: &Mixture, ripens: f64, most: u32) -> (u32, f64) {
    let (mut low, mut high) = (1, most);
    let chance = |n: u32| found.at_least_one(n, ripens);
    if chance(most) <= 0.8 {
        return (most, chance(most));
    }
    while low < high {
        let middle = u32::midpoint(low, high);
        if chance(middle) >= 0.8 { high = middle } else { low = middle + 1 }
    }
    (low, chance(low))
}

/// The chance of k of n at a rate.
fn binomial(k: u32, n: u32, p: f64) -> f64 {
    let mut log = 0.0;
    for i in 0..k {
        log += (f64::from(n - i) / f64::from(i + 1)).ln();
    }
    (log + f64::from(k) * p.ln() + f64::from(n - k) * (1.0 - p).ln()).exp()
}

/// Where the best of those that flower is expected, in standard deviations: of so many pots, when a
/// share comes to flower. None that flowers counts as level with the mean.
fn best_of(pots: u32, share: f64) -> f64 {
    let p = share.clamp(1e-6, 1.0 - 1e-6);
    (2..=pots).map(|n| binomial(n, pots, p) * intensity(1, u64::from(n)).unwrap_or(0.0)).sum()
}

/// Flowering seedlings of one cross: mean, and the ends of the 80 % interval. Without a pod there is
/// none.
fn ends(pod: f64, pots: u32, share: f64, mean: f64) -> (f64, u64, u64) {
    let p = share.clamp(1e-6, 1.0 - 1e-6);
    let at = |wanted: f64| {
        let mut sum = 1.0 - pod;
        for k in 0..=pots {
            sum += pod * binomial(k, pots, p);
            if sum >= wanted {
                return u64::from(k);
            }
        }
        u64::from(pots)
    };
    (mean, at(0.1), at(0.9))
}

fn said(
    asked: &SeasonAsked,
    scored: &super::scores::Scored,
    judged: bool,
    candidates: &[Candidate],
    hand: &Hand,
) -> Vec<String> {
    let t = hand.texts();
    let mut out = Vec::new();
    if asked.aim.is_empty() {
        out.push(t.t("No trait was named: parents stand level, and a cross is worth the choice among its seedlings.").to_owned());
    } else if !judged {
        out.push(t.f(
            "Not enough yet: nobody of these was scored for {trait}. Until then parents stand level.",
            &[("trait", &asked.aim)],
        ));
    } else {
        let n = candidates.iter().filter(|c| c.score.is_some()).count();
        out.push(t.f(
            "One of these was scored for {trait}.|{n} of these were scored for {trait}.",
            &[("n", &n), ("trait", &asked.aim)],
        ));
        if let Some(from) = asked.from_score {
            out.push(t.f(
                "A cross is worth the seedlings of {from} and more that are to be expected.",
                &[("from", &from)],
            ));
        }
        if let Some(within) = scored.within {
            out.push(t.f(
                "Seedlings of one family lie {sd} points apart, as scored here.",
                &[("sd", &format!("{within:.1}"))],
            ));
        } else if scored.families < 2 {
            out.push(t.t("Fewer than two families of fifteen scored seedlings: all crosses are given the same spread.").to_owned());
        }
    }
    if scored.families > 1 {
        out.push(t.f(
            "Heritability of a score: {h}, from the families that were scored here and 0.35 before (common practice, no source).",
            &[("h", &format!("{:.2}", scored.heritability))],
        ));
    } else {
        out.push(
            t.t("Heritability of a score is taken as 0.35 (common practice, no source).")
                .to_owned(),
        );
    }
    out
}
