//! Gates of flowers: simulated growers whose flowers last by a law that is known; what is learnt
//! from the entries is held against what was true. Each gate stands in two worlds: one whose law has
//! the fitted form, and one that has another.
//!
//! Every run is a small one; `UMBEL_LONG` asks for the large one and prints its figures.

mod again;
mod differences;
mod thumb;

use answers::climate::Day;
use answers::flowers::{
    Bloom, FlowerKind, Followed, Happening, LifeFit, LifePrior, Weather, What, fit_life, follow,
};
use trial::flowers::{Air, Grower, Law, World, Written};

const LAWS: [Law; 2] = [Law::LogNormal, Law::DegreeDays];
/// The weather of so many days is that of “now”.
const NOW: i64 = 21;

/// The large number in a long run, else the small one.
fn growers(large: u64, small: u64) -> std::ops::Range<u64> {
    let asked = std::env::var("UMBEL_GROWERS").ok().and_then(|n| n.parse().ok());
    let long = std::env::var_os("UMBEL_LONG").is_some();
    0..asked.unwrap_or(if long { large } else { small })
}

fn happening(w: &Written) -> Happening {
    Happening {
        plant: w.plant as i64,
        part: Some(w.flower as u64),
        what: match (w.kind, w.cut) {
            ("opened", _) => What::Opened(FlowerKind::Flower),
            ("still_open", _) => What::StillOpen,
            ("pollinated", _) => What::Pollinated,
            (_, true) => What::Cut,
            (_, false) => What::Ended,
        },
        from: w.from,
        to: w.to,
        known: w.known,
    }
}

/// Mean air of a place over some days.
fn mean(g: &Grower, place: usize, from: i64, to: i64) -> Air {
    let days: Vec<Air> = (from..=to).map(|d| g.places[place].on(d)).collect();
    let n = days.len() as f64;
    Air {
        temperature: days.iter().map(|a| a.temperature).sum::<f64>() / n,
        deficit: days.iter().map(|a| a.deficit).sum::<f64>() / n,
    }
}

/// The same as the engine gets it: nothing where nobody wrote it down.
fn air(g: &Grower, place: usize, from: i64, to: i64) -> Weather {
    let of =
        |a: Air| Day { temperature: Some(a.temperature), deficit: Some(a.deficit), light: None };
    if !g.places[place].logged {
        return Weather::default();
    }
    let days: Vec<Day> = (from..=to).map(|d| of(g.places[place].on(d))).collect();
    Weather::over(&days)
}

/// What the record of a grower says.
pub fn followed(g: &Grower) -> Vec<Followed> {
    let mut happenings: Vec<Happening> = g.written.iter().map(happening).collect();
    happenings.sort_by_key(|h| h.from);
    let with = |bloom: Bloom| {
        let plant = g.plants[bloom.plant as usize];
        let weather = air(g, plant.place, bloom.about(), bloom.last().max(bloom.about()));
        Followed { bloom, clone: plant.clone as i64, place: Some(plant.place as i64), weather }
    };
    follow(&happenings).into_iter().map(with).collect()
}

/// How often intervals held.
#[derive(Debug, Clone, Copy, Default)]
struct Judged {
    usual: f64,
    usual_held: f64,
    next: f64,
    next_held: f64,
    next_later: f64,
    /// Sum of ln(upper/lower) of the usual.
    width: f64,
    bias: f64,
}

fn fitted(g: &Grower) -> (Vec<Followed>, LifeFit) {
    let all = followed(g);
    let fit = fit_life(&all, LifePrior::of("Begonia", FlowerKind::Flower)).unwrap();
    assert!(fit.gradient_norm() < 1e-4, "{}", fit.gradient_norm());
    (all, fit)
}

fn judge(g: &Grower) -> Judged {
    let (all, fit) = fitted(g);
    let mut j = Judged::default();
    let last = g.world.first_day + g.world.days - 1;
    for (clone, plant) in (0..g.world.clones).map(|c| (c, g.plants[c])) {
        let now = air(g, plant.place, last - NOW, last);
        // Where the air is not known, what is said is for the air that the flowers had.
        let from = if g.places[plant.place].logged { last - NOW } else { g.world.first_day };
        let truth = g.median(clone, mean(g, plant.place, from, last));
        let [low, middle, high] = fit.typical(clone as i64, now).unwrap();
        j.usual += 1.0;
        j.usual_held += f64::from(u8::from((low..=high).contains(&truth)));
        j.width += (high / low).ln();
        j.bias += (middle / truth).ln();
    }
    for (index, f) in all.iter().enumerate().filter(|(_, f)| f.bloom.open) {
        let Some(part) = f.bloom.part else { continue };
        let flower = g.flowers[part as usize];
        // Only where the latest look at the plant was written down: not to have written that it is
        // over would say something as well.
        let Some(looked) = flower.looked else { continue };
        let plant = g.plants[f.bloom.plant as usize];
        let weather = air(g, plant.place, last - NOW, last);
        let left = fit.left(f.clone, (index, &f.bloom), weather).unwrap();
        let truth = flower.opened + flower.life - looked;
        let next = left.next(0.8).unwrap();
        j.next += 1.0;
        j.next_held +=
            f64::from(u8::from((next.lower.unwrap()..=next.upper.unwrap()).contains(&truth)));
        j.next_later += f64::from(u8::from(truth > next.upper.unwrap()));
    }
    j
}

/// Mean of a share over growers, and its standard error: the flowers of one grower are alike.
fn over_growers(all: &[Judged], of: fn(&Judged) -> (f64, f64)) -> (f64, f64) {
    let (held, count) = all.iter().map(of).fold((0.0, 0.0), |s, j| (s.0 + j.0, s.1 + j.1));
    let mean = held / count;
    let off: f64 = all.iter().map(of).map(|(h, n)| (h - mean * n).powi(2)).sum();
    (mean, off.sqrt() / count)
}

/// Intervals that say 80 % hold 76 to 84 %: “usually” the true median of each clone in the air of the
/// last weeks, “next” the true end of each flower that is open.
///
/// A small run allows for four standard errors more.
#[test]
fn intervals_hold_what_they_say() {
    for law in LAWS {
        let range = growers(900, 10);
        let slack = if range.end >= 900 { 0.0 } else { 4.0 };
        let judged: Vec<Judged> =
            range.map(|seed| judge(&Grower::new(&World::small(seed, law)))).collect();
        let usual = over_growers(&judged, |j| (j.usual_held, j.usual));
        let next = over_growers(&judged, |j| (j.next_held, j.next));
        let later = over_growers(&judged, |j| (j.next_later, j.next));
        let (n, open): (f64, f64) =
            judged.iter().fold((0.0, 0.0), |s, j| (s.0 + j.usual, s.1 + j.next));
        let width = judged.iter().map(|j| j.width).sum::<f64>() / n;
        let bias = judged.iter().map(|j| j.bias).sum::<f64>() / n;
        println!(
            "{law:?}: {} growers; usually {:.3} ± {:.3} of {n} clones, width {width:.3}, bias \
             {bias:.3}; next {:.3} ± {:.3} of {open} open flowers, later {:.3}",
            judged.len(),
            usual.0,
            usual.1,
            next.0,
            next.1,
            later.0,
        );
        // A share of one half among so few would have a larger error than that of all being right.
        let least = |n: f64| (0.16 / n).sqrt();
        assert!(
            (usual.0 - 0.8).abs() <= 0.04 + slack * usual.1.max(least(n)),
            "{law:?}: {usual:?}"
        );
        assert!(
            (next.0 - 0.8).abs() <= 0.04 + slack * next.1.max(least(open)),
            "{law:?}: {next:?}"
        );
    }
}

/// Weekly looks miss short flowers. With that allowed for, clones whose flowers last half a week are
/// not taken for longer-lived than they are; without, they would be.
#[test]
fn short_flowers_that_nobody_saw_are_allowed_for() {
    let (mut with, mut without, mut n) = (0.0, 0.0, 0.0);
    for seed in growers(60, 6) {
        let world = World {
            weekly: 1.0,
            remembers: 0.0,
            days: 900,
            ..World::small(9_000 + seed, Law::LogNormal)
        };
        let g = Grower::new(&world);
        let all = followed(&g);
        let naive: Vec<Followed> = (all.iter().copied())
            .map(|mut f| {
                // Memories of the same width do not say that anybody had to see it.
                f.bloom.known = journal::Known::Told;
                f
            })
            .collect();
        let prior = LifePrior::of("Begonia", FlowerKind::Flower);
        let (a, b) = (fit_life(&all, prior).unwrap(), fit_life(&naive, prior).unwrap());
        for (clone, plant) in (0..world.clones).map(|c| (c, g.plants[c])) {
            let last = world.first_day + world.days - 1;
            let now = air(&g, plant.place, last - NOW, last);
            let truth = g.median(clone, mean(&g, plant.place, last - NOW, last));
            if truth > 5.5 {
                continue;
            }
            n += 1.0;
            with += (a.typical(clone as i64, now).unwrap()[1] / truth).ln();
            without += (b.typical(clone as i64, now).unwrap()[1] / truth).ln();
        }
    }
    println!("{n} short-lived clones: bias {:.3} with, {:.3} without", with / n, without / n);
    assert!(n >= 4.0);
    assert!((with / n).abs() < (without / n).abs(), "{} against {}", with / n, without / n);
}
