//! Cross plans beside a search of all of them.

use std::sync::atomic::AtomicBool;

use planning::{
    Ended, Kinship, Progress, Watch,
    crosses::{Pair, Parent, Plan, Season, Size, choose_crosses, trade_off},
};
use proptest::prelude::*;

use crate::{Numbers, kinship::from_numbers};

/// A season of its own.
struct Made {
    parents: Vec<Parent>,
    kinship: Kinship,
    pairs: Vec<Pair>,
    pots: u32,
    most_crosses: usize,
    most_kinship: f64,
    weight: f64,
}

impl Made {
    fn season(&self) -> Season<'_> {
        Season {
            parents: &self.parents,
            kinship: &self.kinship,
            pairs: &self.pairs,
            pots: self.pots,
            most_crosses: self.most_crosses,
            most_kinship: self.most_kinship,
            weight: self.weight,
        }
    }

    /// The value of a choice of sizes, if it keeps all rules, computed in the plainest way.
    fn value(&self, choice: &[Option<usize>]) -> Option<f64> {
        let n = self.parents.len();
        let (mut pots, mut crosses, mut gain) = (0, 0, 0.0);
        let (mut seed, mut pollen, mut mixture) = (vec![0; n], vec![0; n], vec![0.0; n]);
        for (pair, at) in self.pairs.iter().zip(choice) {
            let Some(at) = at else {
                if pair.must {
                    return None;
                }
                continue;
            };
            if pair.must && *at > 0 {
                return None;
            }
            if !pair.must && self.kinship.of(pair.seed, pair.pollen) > self.most_kinship {
                return None;
            }
            let size = pair.sizes[*at];
            pots += size.pots;
            crosses += 1;
            gain += size.gain;
            seed[pair.seed] += size.seed_flowers;
            pollen[pair.pollen] += size.pollen_flowers;
            for parent in [pair.seed, pair.pollen] {
                mixture[parent] += 0.5 * f64::from(size.pots) / f64::from(self.pots);
            }
        }
        let flowers = |used: &[u32], of: &dyn Fn(&Parent) -> u32| {
            used.iter().zip(&self.parents).all(|(u, p)| *u <= of(p))
        };
        let kept = pots <= self.pots
            && crosses <= self.most_crosses
            && flowers(&seed, &|p| p.seed_flowers)
            && flowers(&pollen, &|p| p.pollen_flowers);
        let mut kinship = 0.0;
        for i in 0..n {
            for j in 0..n {
                kinship += mixture[i] * mixture[j] * self.kinship.of(i, j);
            }
        }
        kept.then_some(gain - self.weight * kinship)
    }

    fn slowly(&self) -> f64 {
        let mut choice = vec![None; self.pairs.len()];
        let mut best = f64::NEG_INFINITY;
        loop {
            best = best.max(self.value(&choice).unwrap_or(f64::NEG_INFINITY));
            // The next choice, as a number is counted up.
            let mut at = 0;
            loop {
                let Some(sizes) = self.pairs.get(at).map(|p| p.sizes.len()) else { return best };
                choice[at] = match choice[at] {
                    None => Some(0),
                    Some(k) if k + 1 < sizes => Some(k + 1),
                    Some(_) => None,
                };
                if choice[at].is_some() {
                    break;
                }
                at += 1;
            }
        }
    }

    fn choice(&self, plan: &Plan) -> Vec<Option<usize>> {
        let mut choice = vec![None; self.pairs.len()];
        plan.crosses.iter().for_each(|c| choice[c.pair] = Some(c.size));
        choice
    }
}

/// A season from numbers without meaning.
fn made(seed: u64, parents: usize, pairs: usize) -> Made {
    let mut numbers = Numbers(seed);
    let mut below = |n: u64| numbers.below(n) as u32;
    let pedigree: Vec<u32> = (0..parents).map(|_| below(10_000)).collect();
    let pots = 20 + below(60);
    Made {
        parents: (0..parents)
            .map(|_| Parent { seed_flowers: below(7), pollen_flowers: 1 + below(8) })
            .collect(),
        kinship: from_numbers(&pedigree),
        pairs: (0..pairs)
            .map(|_| Pair {
                seed: below(parents as u64) as usize,
                pollen: below(parents as u64) as usize,
                sizes: (0..1 + below(2))
                    .map(|_| Size {
                        gain: f64::from(below(1000)) / 100.0 - 1.0,
                        pots: 1 + below(30),
                        seed_flowers: below(4),
                        pollen_flowers: below(4),
                    })
                    .collect(),
                must: false,
            })
            .collect(),
        pots,
        most_crosses: 1 + below(5) as usize,
        most_kinship: if below(2) == 0 { f64::INFINITY } else { 0.3 },
        weight: f64::from(below(40)),
    }
}

#[test]
fn small_plans_are_those_of_a_search_of_all() {
    let (mut limited, mut empty) = (0, 0);
    for seed in 0..200 {
        let made = made(seed, 3 + seed as usize % 5, 9);
        let plan = choose_crosses(&made.season(), &mut Watch::new(Watch::USUAL)).unwrap();
        let slow = made.slowly();
        // Sums in another order: 1e-8.
        assert!((plan.value - slow).abs() < 1e-8, "{seed}: {} is not {slow}, {plan:?}", plan.value);
        let own = made.value(&made.choice(&plan)).unwrap();
        assert!((plan.value - own).abs() < 1e-8, "{seed}: the plan is told wrongly");
        assert_eq!((plan.ended, plan.gap()), (Ended::Proven, 0.0), "{seed}");
        limited += usize::from(plan.crosses.len() == made.most_crosses);
        empty += usize::from(plan.crosses.is_empty());
    }
    assert!(limited > 20, "hardly any limit on crosses was felt: {limited}");
    assert!(empty < 100, "too many plans are empty: {empty}");
}

#[test]
fn what_must_be_made_is_made() {
    let mut felt = 0;
    for seed in 300..340 {
        let mut made = made(seed, 5, 8);
        made.pairs[3].must = true;
        match choose_crosses(&made.season(), &mut Watch::new(Watch::USUAL)) {
            Ok(plan) => {
                assert!(plan.crosses.iter().any(|c| c.pair == 3 && c.size == 0));
                assert!((plan.value - made.slowly()).abs() < 1e-8);
                felt += 1;
            }
            Err(e) => {
                assert!(e.to_string().contains("must be made need more"), "{e}");
                assert_eq!(made.slowly(), f64::NEG_INFINITY);
            }
        }
    }
    assert!(felt > 5, "hardly any could be made: {felt}");
}

#[test]
fn a_plan_tells_what_each_cross_is_worth() {
    let made = Made { pots: 120, most_crosses: 8, ..made(77, 12, 60) };
    let plan = choose_crosses(&made.season(), &mut Watch::new(Watch::USUAL)).unwrap();
    assert!(plan.crosses.len() > 1, "{plan:?}");
    for cross in &plan.crosses {
        let mut without = made.choice(&plan);
        without[cross.pair] = None;
        let lost = plan.value - made.value(&without).unwrap();
        assert!((lost - cross.worth).abs() < 1e-9, "{lost} is not {}", cross.worth);
        let pair = &made.pairs[cross.pair];
        assert_eq!(cross.kinship, made.kinship.of(pair.seed, pair.pollen));
    }
    assert!((plan.contributions.values().sum::<f64>() - 1.0).abs() < 1e-9);
    let gain: f64 = plan.crosses.iter().map(|c| c.gain).sum();
    assert!((gain - plan.gain).abs() < 1e-9);
}

/// The wider cross wins: means 6.0 and 5.7, spreads 0.5 and 0.9, heritability 0.6, 50 seedlings
/// with an expected largest of 2.25 (Schnell & Utz 1975, from memory; worked out by hand as 6.67
/// and 6.91).
#[test]
fn the_more_useful_of_two_crosses() {
    let pair = |pollen, mean, spread| Pair {
        seed: 0,
        pollen,
        sizes: vec![Size {
            gain: mean + 2.25 * 0.6 * spread,
            pots: 50,
            seed_flowers: 1,
            pollen_flowers: 1,
        }],
        must: false,
    };
    let made = Made {
        parents: vec![Parent { seed_flowers: 5, pollen_flowers: 5 }; 3],
        kinship: Kinship::unrelated(3),
        pairs: vec![pair(1, 6.0, 0.5), pair(2, 5.7, 0.9)],
        pots: 50,
        most_crosses: 9,
        most_kinship: f64::INFINITY,
        weight: 0.0,
    };
    let plan = choose_crosses(&made.season(), &mut Watch::new(1_000)).unwrap();
    assert_eq!((plan.crosses.len(), plan.crosses[0].pair), (1, 1));
    assert!((plan.gain - 6.91).abs() < 0.006, "{}", plan.gain);
}

#[test]
fn more_weight_gives_less_kinship_and_less_gain() {
    let made = made(77, 12, 60);
    let made = Made { pots: 120, most_crosses: 8, most_kinship: f64::INFINITY, ..made };
    let weights = [0.0, 5.0, 20.0, 80.0, 320.0];
    let curve = trade_off(&made.season(), &weights, &mut Watch::new(Watch::USUAL)).unwrap();
    let penalty = |plan: &Plan| match plan.weight {
        0.0 => None,
        weight => Some((plan.gain - plan.value) / weight),
    };
    for pair in curve.windows(2) {
        assert!(pair[1].gain <= pair[0].gain + 1e-8, "{} after {}", pair[1].gain, pair[0].gain);
        if let (Some(a), Some(b)) = (penalty(&pair[0]), penalty(&pair[1])) {
            assert!(b <= a + 1e-8, "kinship {b} after {a}");
        }
    }
    assert!(curve[0].gain > curve[4].gain, "the weight is not felt");
    for plan in &curve {
        assert!(plan.bound >= plan.value);
        let again = choose_crosses(
            &Season { weight: plan.weight, ..made.season() },
            &mut Watch::new(Watch::USUAL),
        );
        let again = again.unwrap();
        // Both are proven, so they are the same.
        assert_eq!((plan.ended, again.ended), (Ended::Proven, Ended::Proven));
        assert!((again.value - plan.value).abs() < 1e-8);
    }
}

#[test]
fn a_search_cut_short_still_tells_how_far_it_may_be_off() {
    let made = Made { pots: 200, most_crosses: 10, ..made(5, 30, 400) };
    let full = choose_crosses(&made.season(), &mut Watch::new(Watch::USUAL)).unwrap();
    for looks in [0, 10_000, 100_000, 1_000_000] {
        let short = choose_crosses(&made.season(), &mut Watch::new(looks)).unwrap();
        assert!(
            short.bound >= full.value - 1e-8,
            "{looks}: bound {} below {}",
            short.bound,
            full.value
        );
        assert!(short.value <= full.bound + 1e-8);
        assert!(made.value(&made.choice(&short)).is_some(), "{looks}: a rule is broken");
        let again = choose_crosses(&made.season(), &mut Watch::new(looks)).unwrap();
        assert_eq!(again, short, "the same looks, the same plan");
    }
    let least = choose_crosses(&made.season(), &mut Watch::new(0)).unwrap();
    assert_eq!(least.ended, Ended::LooksUsed);
}

#[test]
fn a_search_can_be_followed_and_stopped() {
    let made = Made { pots: 200, most_crosses: 10, ..made(5, 30, 400) };
    let stop = AtomicBool::new(true);
    let mut seen: Vec<Progress> = Vec::new();
    let mut tell = |p: Progress| seen.push(p);
    let mut watch = Watch::new(Watch::USUAL).stopped_by(&stop).telling(&mut tell);
    let plan = choose_crosses(&made.season(), &mut watch).unwrap();
    assert_eq!(plan.ended, Ended::Stopped);
    assert!(watch.looks() < 100_000, "{} looks after it was stopped", watch.looks());
    assert!(made.value(&made.choice(&plan)).is_some() && plan.bound >= plan.value);
    assert!(!seen.is_empty() && seen.iter().all(|p| p.most_looks == Watch::USUAL));
    assert!(seen.iter().all(|p| p.bound >= p.found - 1e-9));
}

#[test]
fn what_cannot_be_planned_is_refused() {
    let told = |change: &dyn Fn(&mut Made)| {
        let mut made = made(3, 4, 5);
        change(&mut made);
        choose_crosses(&made.season(), &mut Watch::new(1_000)).unwrap_err().to_string()
    };
    assert!(told(&|m| m.pairs[2].pollen = 9).contains("pair 2 crosses"));
    assert!(told(&|m| m.pairs[1].sizes[0].gain = f64::NAN).contains("pair 1: a gain of NaN"));
    assert!(told(&|m| m.pairs[1].sizes[0].pots = 0).contains("in 0 pots"));
    assert!(told(&|m| m.pots = 0).contains("0 pots"));
    assert!(told(&|m| m.weight = -1.0).contains("a weight of -1"));
    assert!(told(&|m| m.kinship = Kinship::unrelated(2)).contains("kinship of 2 for 4"));
    assert!(
        told(&|m| (m.pairs[0].must, m.pairs[0].sizes) = (true, Vec::new())).contains("no size")
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn values_scale_with_the_unit_of_gain(seed in 0u64..100_000, times in 0.1f64..50.0) {
        let one = made(seed, 5, 12);
        let mut scaled = made(seed, 5, 12);
        scaled.weight *= times;
        scaled.pairs.iter_mut().flat_map(|p| &mut p.sizes).for_each(|s| s.gain *= times);
        let plan = choose_crosses(&one.season(), &mut Watch::new(Watch::USUAL)).unwrap();
        let other = choose_crosses(&scaled.season(), &mut Watch::new(Watch::USUAL)).unwrap();
        prop_assert!((times * plan.value - other.value).abs() < 1e-7 * (1.0 + other.value.abs()));
    }

    #[test]
    fn more_room_is_never_worse(seed in 0u64..100_000) {
        let small = made(seed, 6, 14);
        // Pots are left as they are: the shares in kinship are shares of all pots.
        let mut large = made(seed, 6, 14);
        large.most_crosses += 2;
        large.parents.iter_mut().for_each(|p| (p.seed_flowers, p.pollen_flowers) = (p.seed_flowers + 2, p.pollen_flowers + 2));
        let value = |m: &Made| choose_crosses(&m.season(), &mut Watch::new(Watch::USUAL)).unwrap().value;
        prop_assert!(value(&large) >= value(&small) - 1e-8);
        prop_assert!(value(&small) >= 0.0);
    }
}
