//! How well past predictions came true: each look, and what would have been said before it.

use serde::Serialize;
use stats::survival::drying::Cycle;

use super::clocks::Shared;
use super::house::Water;
use super::looks::follow;
use super::night::{Night, cycle};
use super::pots::Pot;
use super::state::fresh_state;

/// The chances that share a word, as lower limits; the last reaches to 1.
const WORDS: [f64; 7] = [0.0, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95];

/// Looks that share a word.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Told {
    /// From this chance on.
    pub from: f64,
    /// Up to this.
    pub to: f64,
    /// The mean of what would have been said.
    pub said: f64,
    /// How many looks.
    pub looks: usize,
    /// At how many of them the pot was dry.
    pub dry: usize,
    /// Where the true share lies, with 80 % probability; none without looks.
    pub interval: Option<(f64, f64)>,
}

/// How predictions of the past came out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Predictions {
    /// Words from “almost certainly moist” to “almost certainly dry”.
    pub told: Vec<Told>,
    /// Dryings whose end is known well enough to hold an interval against.
    pub intervals: usize,
    /// The share of them that an interval of 80 % held. Ends known only between two looks count
    /// with the part of their chance that lies inside.
    pub held: f64,
    /// First and last day of the looks \[days since 1970-01-01\].
    pub span: Option<(i64, i64)>,
}

/// What would have been said before each look of the last thirteen months. Of each plant only what
/// was known before that drying is used; what all pots share is that of the last night, since it
/// hardly hangs on a single look.
#[must_use]
pub fn predictions(water: &Water) -> Predictions {
    let mut sums = [(0usize, 0usize, 0.0f64); WORDS.len()];
    let (mut held, mut intervals) = (0.0, 0);
    let mut span: Option<(i64, i64)> = None;
    for housed in &water.plants {
        each_look(&water.night, &housed.pot, &mut |told| match told {
            One::Look { chance, dry, day } => {
                let bin = WORDS.iter().rposition(|w| chance >= *w).unwrap_or(0);
                sums[bin].0 += 1;
                sums[bin].1 += usize::from(dry);
                sums[bin].2 += chance;
                span = Some(span.map_or((day, day), |(a, b)| (a.min(day), b.max(day))));
            }
            One::Ended { low, high } => {
                // The chance that would have been given to “before” and “after” the two looks.
                let inside = (high.min(0.9) - low.max(0.1)).max(0.0);
                let whole = high - low;
                if whole > 1e-9 {
                    held += inside / whole;
                    intervals += 1;
                }
            }
        });
    }
    #[allow(clippy::cast_precision_loss)]
    let told = sums
        .iter()
        .enumerate()
        .map(|(i, (looks, dry, said))| Told {
            from: WORDS[i],
            to: WORDS.get(i + 1).copied().unwrap_or(1.0),
            said: if *looks > 0 { said / *looks as f64 } else { 0.0 },
            looks: *looks,
            dry: *dry,
            interval: (*looks > 0).then(|| {
                // Wilson's interval: good also for few looks.
                let (n, p) = (*looks as f64, *dry as f64 / *looks as f64);
                let z = stats::special::two_sided(0.8);
                let middle = p + z * z / (2.0 * n);
                let half = z * (p * (1.0 - p) / n + (z / (2.0 * n)).powi(2)).sqrt();
                let whole = 1.0 + z * z / n;
                ((middle - half) / whole, (middle + half) / whole)
            }),
        })
        .collect();
    #[allow(clippy::cast_precision_loss)]
    let held = if intervals > 0 { held / intervals as f64 } else { 0.0 };
    Predictions { told, intervals, held, span }
}

enum One {
    /// A look, and the chance that would have been told for it.
    Look { chance: f64, dry: bool, day: i64 },
    /// A drying that ended between two looks, as parts of the distribution that was told.
    Ended { low: f64, high: f64 },
}

#[allow(clippy::cast_precision_loss)]
fn each_look(night: &Night, pot: &Pot, each: &mut impl FnMut(One)) {
    let looks = follow(&pot.happenings, pot.wish, pot.facts);
    let unit = night.unit(pot, &looks);
    let rooting = night.clocks.shared().rooting;
    let offset = |since: i64| rooting * Shared::since_potting(since, looks.potted);
    let mut state = fresh_state(night, unit.borrowed, unit.borrowed_sd);
    let past = looks.past.iter().filter(|d| d.epoch == looks.epoch());
    for d in past.filter(|d| d.since >= night.clocks.shared().first) {
        let x = |day: i64| night.clocks.between(pot, d.since as f64, day as f64);
        let o = offset(d.since);
        let moist = d.moist.map(x).unwrap_or(0.0);
        if let Some(day) = d.moist {
            each(One::Look { chance: state.dry_by(moist, 0.0, o), dry: false, day });
        }
        if let Some(day) = d.dry {
            each(One::Look { chance: state.dry_by(x(day), moist, o), dry: true, day });
            each(One::Ended {
                low: state.dry_by(moist, 0.0, o),
                high: state.dry_by(x(day), 0.0, o),
            });
        }
        let one: [(Cycle, f64); 1] = [(cycle(d, pot, &night.clocks), o)];
        // A drying that nothing explains leaves what is held as it was.
        let _ = state.update(&one);
    }
}
