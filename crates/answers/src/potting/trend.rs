//! Whether a pot dries faster or slower than when it was potted: roots that fill it, or a mix that
//! has decayed.

use serde::Serialize;
use stats::{
    model::Fixed,
    special::chi_square_tail,
    survival::{
        Time,
        drying::{Cycle, DryingPrior, PlantCycle, Plants, fit_drying},
        parametric::Law,
    },
};

use crate::water::Drying;

/// How long the time after potting and the latest time are \[d\]. Common practice, no source.
const SPAN: i64 = 120;
/// How many dryings each of them needs.
const NEEDED: usize = 3;
/// What the season does to the time as a factor, in logarithms, where the days are not counted by
/// demand. Common practice, no source: a fifth.
const SEASON: f64 = 0.2;
/// Drying takes less time than this share of what it took: faster by more than 35 %.
const FASTER: f64 = 1.0 / 1.35;
/// Or more than this: the mix holds water that it did not hold.
const SLOWER: f64 = 1.5;

/// How the time of drying changed since potting.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Trend {
    /// The time now as a multiple of that after potting.
    pub ratio: f64,
    /// Lower end of its 80 %.
    pub lower: f64,
    /// Upper end.
    pub upper: f64,
    /// The chance that it dries faster by more than 35 %.
    pub faster: f64,
    /// The chance that it takes more than half as long again.
    pub slower: f64,
}

/// Compares the dryings soon after `potted` with those of the latest months. `elapsed` counts the
/// days between two days: plain days, or days counted by demand, which leave no season in them
/// (`seasonless`).
pub fn trend(
    dryings: &[Drying],
    potted: i64,
    seasonless: bool,
    elapsed: &dyn Fn(i64, i64) -> f64,
) -> Option<Trend> {
    let since: Vec<&Drying> = dryings.iter().filter(|d| d.since >= potted && d.tells()).collect();
    let last = since.last()?.since;
    // Both times must be apart.
    if last - potted < 2 * SPAN {
        return None;
    }
    let early = since.iter().filter(|d| d.since - potted <= SPAN);
    let late = since.iter().filter(|d| last - d.since <= SPAN);
    let times = |of: &mut dyn Iterator<Item = &&Drying>| -> Vec<Time> {
        of.filter_map(|d| time(d, elapsed)).collect()
    };
    let (early, late) = (times(&mut early.into_iter()), times(&mut late.into_iter()));
    let ended = |times: &[Time]| times.iter().filter(|t| t.right.is_some()).count();
    if ended(&early) < NEEDED || ended(&late) < NEEDED {
        return None;
    }
    let mut which = vec![0.0; early.len()];
    which.resize(early.len() + late.len(), 1.0);
    let all: Vec<Time> = early.into_iter().chain(late).collect();
    compared(&all, which, if seasonless { 0.0 } else { SEASON })
}

fn time(d: &Drying, elapsed: &dyn Fn(i64, i64) -> f64) -> Option<Time> {
    let after = |day: Option<i64>| day.map(|day| elapsed(d.since, day)).filter(|t| *t > 0.0);
    match (after(d.moist), after(d.dry)) {
        (Some(l), Some(r)) if r > l => Some(Time::between(l, r)),
        (_, Some(r)) => Some(Time::before(r)),
        (Some(l), None) => Some(Time::open(l)),
        (None, None) => None,
    }
}

fn compared(times: &[Time], which: Vec<f64>, season: f64) -> Option<Trend> {
    let late = fitted(times, &which)?;
    let (mean, sd) = (late.0, late.1.hypot(season));
    // The square of a standard normal number is chi-square with one degree of freedom.
    let below = |ratio: f64| {
        let z: f64 = (ratio.ln() - mean) / sd;
        let tail = 0.5 * chi_square_tail(z * z, 1);
        if z < 0.0 { tail } else { 1.0 - tail }
    };
    let side = 1.281_551_565_544_600_4 * sd;
    Some(Trend {
        ratio: mean.exp(),
        lower: (mean - side).exp(),
        upper: (mean + side).exp(),
        faster: below(FASTER),
        slower: 1.0 - below(SLOWER),
    })
}

/// How much longer the later ones took, on the log scale: mean and standard deviation.
fn fitted(times: &[Time], which: &[f64]) -> Option<(f64, f64)> {
    let cycles: Vec<PlantCycle> = (times.iter().zip(which))
        .map(|(t, late)| PlantCycle {
            plant: u32::from(*late > 0.5),
            cycle: match (t.left, t.right) {
                (Some(l), Some(r)) => Cycle::Between(l, r),
                (None, Some(r)) => Cycle::FoundDry(r),
                (Some(l), None) => Cycle::StillMoist(l),
                (None, None) => Cycle::Unseen,
            },
            offset: 0.0,
        })
        .collect();
    let design = Fixed::of_columns(2, [("late".to_owned(), vec![0.0, 1.0])]).ok()?;
    // A week or so, and no change, each give or take a factor of two: common practice. It is one
    // plant, so nothing is left for plants and species.
    let prior = DryingPrior {
        coefficients: vec![(7f64.ln(), 0.7), (0.0, 0.5)],
        species: 0.01,
        plant: 0.01,
        event: 0.25,
        misread: 0.0,
        law: Law::Lognormal,
    };
    let plants = Plants { species: &[0, 0], design: &design };
    let fit = fit_drying(&cycles, plants, &prior, None).ok()?;
    Some((fit.estimates[1], fit.ses[1]))
}

#[cfg(test)]
mod tests {
    use journal::Known;

    use super::*;

    /// Dryings of so many days each, one after another, from a day on; the last look at which it was
    /// moist is the day before.
    fn dryings(from: i64, days: i64, n: i64) -> Vec<Drying> {
        (0..n)
            .map(|i| {
                // No two dryings are alike.
                let since = from + i * (days + 2);
                let days = days + [0, 1, -1][usize::try_from(i % 3).unwrap_or(0)];
                Drying {
                    since,
                    moist: Some(since + days - 1),
                    dry: Some(since + days),
                    known: Known::Seen,
                    epoch: 0,
                    weighed: None,
                    ended: Some(since + days),
                }
            })
            .collect()
    }

    #[allow(clippy::cast_precision_loss)]
    fn plain(from: i64, to: i64) -> f64 {
        (to - from) as f64
    }

    fn of(early: i64, late: i64) -> Option<Trend> {
        let mut all = dryings(3, early, 6);
        all.extend(dryings(600, late, 8));
        trend(&all, 0, false, &plain)
    }

    #[test]
    fn a_pot_that_dries_twice_as_fast_is_told_from_one_that_does_not() {
        let faster = of(12, 6).unwrap();
        // Half the time; the prior of no change draws it in by less than a tenth.
        assert!((faster.ratio - 0.5).abs() < 0.06, "{faster:?}");
        assert!(faster.faster > 0.9 && faster.slower < 0.01);
        // Six and eight dryings of 7 to 9 days: a standard deviation of 0.1 each, so 0.054 for the
        // ratio; with a season of 0.2 the chance of 1/1.35 is that of z = −0.3/0.21, 0.075.
        let same = of(8, 8).unwrap();
        assert!((same.ratio - 1.0).abs() < 0.1 && same.faster < 0.1, "{same:?}");
        let slower = of(6, 14).unwrap();
        assert!(slower.slower > 0.8, "{slower:?}");
    }

    #[test]
    fn too_few_or_too_close_dryings_say_nothing() {
        assert!(trend(&dryings(3, 8, 6), 0, false, &plain).is_none());
        let mut few = dryings(3, 8, 2);
        few.extend(dryings(600, 5, 8));
        assert!(trend(&few, 0, false, &plain).is_none());
        // What was before the potting does not count.
        let mut before = dryings(3, 8, 6);
        before.extend(dryings(600, 5, 8));
        assert!(trend(&before, 590, false, &plain).is_none());
    }

    #[test]
    fn days_counted_by_demand_are_surer_and_undo_a_season() {
        // Everything runs twice as fast late, and so does the clock.
        let clock = |from: i64, to: i64| plain(from, to) * if from > 300 { 2.0 } else { 1.0 };
        let mut all = dryings(3, 12, 6);
        all.extend(dryings(600, 6, 8));
        let counted = trend(&all, 0, true, &clock).unwrap();
        assert!((counted.ratio - 1.0).abs() < 0.1, "{counted:?}");
        let plainly = trend(&all, 0, false, &plain).unwrap();
        assert!(counted.upper / counted.lower < plainly.upper / plainly.lower);
    }
}
