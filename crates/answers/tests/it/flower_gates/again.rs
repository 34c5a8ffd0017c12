//! Flowering again: plants whose times from one flowering to the next are known.

use std::collections::BTreeMap;

use answers::flowers::{Flowering, fit_again, gaps};
use journal::Known;
use stats::random::Random;

use super::growers;

#[derive(Debug, Clone, Copy, PartialEq)]
enum Law {
    /// The fitted form, drawn from what is believed beforehand.
    LogNormal,
    /// A sum of growth that runs faster in summer has to be reached, with gamma noise; one flowering in
    /// twenty is never written down.
    Seasons,
}

/// The record of one clone, and what was true of it.
struct Clone {
    flowerings: Vec<Flowering>,
    /// The true median from one flowering to the next, of a usual peduncle \[d\].
    median: f64,
    /// When each plant or peduncle flowers next after the record \[d\].
    next: BTreeMap<(i64, Option<u64>), f64>,
}

/// Days of the record.
const DAYS: f64 = 900.0;
const WORLDS: [Law; 2] = [Law::LogNormal, Law::Seasons];

struct Nature {
    law: Law,
    median: f64,
    noise: f64,
}

impl Nature {
    fn new(law: Law, random: &mut Random) -> Self {
        // Half a year and more would leave nothing to learn from in so short a record.
        let median = (4.5 + 0.6 * random.normal()).exp().clamp(25.0, 180.0);
        let noise = match law {
            Law::LogNormal => random.gamma(3.0) / 8.0,
            Law::Seasons => 0.1 + 0.3 * random.unit(),
        };
        Self { law, median, noise }
    }

    /// A time from one flowering, on this day, to the next; `own` is the effect of plant and peduncle.
    fn gap(&self, from: f64, own: f64, random: &mut Random) -> f64 {
        match self.law {
            Law::LogNormal => self.median * (own + self.noise * random.normal()).exp(),
            Law::Seasons => {
                let shape = self.noise.powi(-2);
                let wanted = self.median * own.exp() * random.gamma(shape) / shape;
                let (mut sum, mut day) = (0.0, from);
                while sum < wanted {
                    sum += 1.0 + 0.6 * (std::f64::consts::TAU * day / 365.25).sin();
                    day += 1.0;
                }
                (day - from).max(1.0)
            }
        }
    }

    /// The median of many gaps of a usual peduncle that begin in all seasons.
    fn truth(&self, random: &mut Random) -> f64 {
        if self.law == Law::LogNormal {
            return self.median;
        }
        let mut all: Vec<f64> =
            (0..2_000).map(|_| self.gap(365.0 * random.unit(), 0.0, random)).collect();
        all.sort_by(f64::total_cmp);
        all[1_000]
    }
}

fn clone(law: Law, seed: u64) -> Clone {
    let mut random = Random::new(seed);
    let nature = Nature::new(law, &mut random);
    let apart = random.unit() < 0.5;
    let (of_plant, of_peduncle) = (0.3 * random.normal().abs(), 0.3 * random.normal().abs());
    let every = if random.unit() < 0.5 { 7.0 } else { 2.0 };
    let mut out = Clone {
        flowerings: Vec::new(),
        median: nature.truth(&mut Random::new(seed ^ 0xF10)),
        next: BTreeMap::new(),
    };
    for plant in 0..2 {
        let own = of_plant * random.normal();
        for peduncle in 0..if apart { 2 } else { 1 } {
            let unit = (plant, apart.then_some(peduncle));
            let own = if apart { own + of_peduncle * random.normal() } else { own };
            // The record begins somewhere within a gap.
            let mut day = -200.0;
            loop {
                day += nature.gap(day, own, &mut random);
                if day > DAYS {
                    break;
                }
                let lost = law == Law::Seasons && random.unit() < 0.05;
                if day > 0.0 && !lost {
                    // Found open at a look, and not at the one before.
                    let seen = (day / every).ceil() * every;
                    out.flowerings.push(Flowering {
                        plant,
                        peduncle: unit.1,
                        began: ((seen - every + 1.0) as i64, seen as i64),
                        until: seen as i64 + 8,
                        spread: 0,
                        cut: false,
                        known: Known::Seen,
                    });
                }
            }
            out.next.insert(unit, day);
        }
    }
    out.flowerings.sort_by_key(|f| (f.plant, f.peduncle, f.began));
    out
}

/// Intervals that say 80 % hold 76 to 84 %: “usually” the true median, “next” the true day on which
/// each plant or peduncle flowers next. A small run allows for four standard errors more.
#[test]
fn flowering_again_comes_when_it_is_said() {
    for law in WORLDS {
        let range = growers(900, 40);
        let slack = if range.end >= 900 { 0.0 } else { 4.0 };
        let (mut n, mut usual, mut below, mut units, mut next) = (0.0_f64, 0.0, 0.0, 0.0_f64, 0.0);
        let mut off: Vec<(f64, f64)> = Vec::new();
        for seed in range {
            let c = clone(law, seed);
            let all = gaps(&c.flowerings, |_| DAYS as i64);
            // What is asked for before anything is said.
            if c.flowerings.len() < 3 || all.iter().filter(|g| g.next.is_some()).count() < 2 {
                continue;
            }
            let fit = fit_again(&all).unwrap();
            let [low, _, high] = fit.typical().unwrap();
            n += 1.0;
            usual += f64::from(u8::from((low..=high).contains(&c.median)));
            below += f64::from(u8::from(c.median < low));
            let mut of_clone = (0.0, 0.0);
            for (index, g) in all.iter().enumerate().filter(|(_, g)| g.next.is_none()) {
                let left = fit.left(index, g).unwrap().next(0.8).unwrap();
                let truth = c.next[&(g.plant, g.peduncle)] - DAYS;
                let held = (left.lower.unwrap()..=left.upper.unwrap()).contains(&truth);
                of_clone = (of_clone.0 + f64::from(u8::from(held)), of_clone.1 + 1.0);
            }
            units += of_clone.1;
            next += of_clone.0;
            off.push(of_clone);
        }
        let (usual, next) = (usual / n, next / units);
        let error = off.iter().map(|(h, k)| (h - next * k).powi(2)).sum::<f64>().sqrt() / units;
        println!(
            "{law:?}: usually {usual:.3} of {n} clones (truth below {:.3}); next {next:.3} ± \
             {error:.3} of {units}",
            below / n
        );
        let se = (0.16 / n).sqrt();
        assert!((usual - 0.8).abs() <= 0.04 + slack * se, "{law:?}: {usual}");
        assert!((next - 0.8).abs() <= 0.04 + slack * error, "{law:?}: {next}");
    }
}
