//! The water and salts of one pot, followed from watering to watering under many guesses of what
//! nobody wrote down.
//!
//! Salts are counted by the conductivity that they give, so that the result can be held beside a
//! meter: a litre at 1 mS/cm holds one unit. Guesses of habit (how dry the pot gets, how much runs
//! through, how much the plant takes up) are drawn once for a pot and not once for a watering:
//! they would otherwise average out and the interval would be too narrow.

use culture::{
    Estimate, OutOfRange,
    feed::{Budget, Event, PotWater},
};
use stats::random::Random;

/// One watering.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Pour {
    /// The day \[days since 1970-01-01\].
    pub day: i64,
    /// How much was poured \[mL\], if it was written down.
    pub amount: Option<f64>,
    /// How much ran out \[mL\], if it was measured.
    pub drained: Option<f64>,
    /// Conductivity of the water alone \[mS/cm\].
    pub water: Estimate,
    /// What the feed adds \[mS/cm\].
    pub feed: Estimate,
    /// What the meter showed in what ran out \[mS/cm\].
    pub drain: Option<f64>,
}

/// What is followed.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Pot {
    /// Water that it holds after draining \[mL\].
    pub capacity: Estimate,
    /// The waterings since it was potted, earliest first.
    pub pours: Vec<Pour>,
}

/// What was found, over all draws.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Followed {
    /// Conductivity of the pot's water after draining, sorted \[mS/cm\].
    pub now: Vec<f64>,
    /// Days from the last watering until it passes the limit if all goes on as it did, sorted;
    /// infinite where it does not within [`AHEAD`].
    pub until: Vec<f64>,
    /// Came by water and feed \[mS/cm × L\].
    pub came: f64,
    /// Left with what ran out \[mS/cm × L\].
    pub left: f64,
}

/// How far ahead is looked \[d\].
pub(crate) const AHEAD: f64 = 180.0;

/// Share of its water that a pot has lost when it is watered. Common practice, no source.
const USED: (f64, f64) = (0.35, 0.85);
/// Water that runs through beyond what the pot can hold, as a share of what it holds. Common
/// practice, no source: from no drop to a generous soak.
const THROUGH: (f64, f64) = (0.0, 0.4);
/// Share of the feed's salts that the plant takes up. Common practice, no source: from a plant that
/// stands still to one that grows well.
const TAKEN: (f64, f64) = (0.1, 0.8);
/// Conductivity of the water in fresh mix \[mS/cm\]. Common practice, no source.
const FRESH: (f64, f64) = (0.2, 0.8);
/// How far off a reading of what ran out is: meter, temperature, the first or the last of it.
/// Common practice, no source.
const READING: f64 = 0.1;

/// One guess of everything that was not written down.
struct Guess {
    capacity: f64,
    used: f64,
    through: f64,
    taken: f64,
    /// Where within their intervals the conductivities lie, in standard deviations.
    water: f64,
    feed: f64,
}

fn between(random: &mut Random, (low, high): (f64, f64)) -> f64 {
    low + (high - low) * random.unit()
}

/// A value at so many standard deviations from the middle of its interval of 80 %, each side by its
/// own width, never below 0.
fn at(estimate: &Estimate, z: f64) -> f64 {
    let side =
        if z < 0.0 { estimate.value - estimate.lower } else { estimate.upper - estimate.value };
    (estimate.value + z / 1.281_551_565_544_600_4 * side).max(0.0)
}

impl Guess {
    fn new(pot: &Pot, random: &mut Random) -> Self {
        let z = random.normal();
        Self {
            capacity: at(&pot.capacity, z).max(0.2 * pot.capacity.value),
            used: between(random, USED),
            through: between(random, THROUGH),
            taken: between(random, TAKEN),
            water: random.normal(),
            feed: random.normal(),
        }
    }

    /// Lets one watering happen.
    fn pour(
        &self,
        pot: &mut PotWater,
        pour: &Pour,
        budget: &mut Budget,
        reading: f64,
    ) -> Result<(), OutOfRange> {
        let (water, feed) = (at(&pour.water, self.water), at(&pour.feed, self.feed));
        let measured = pour.amount.zip(pour.drained).map(|(a, d)| (a - d).max(0.0));
        let most = (pot.water - 0.05 * pot.capacity).max(0.0);
        let dried = measured.unwrap_or(self.used * pot.capacity).min(most);
        pot.step(Event::Dry(dried), budget)?;
        let volume = pour.amount.unwrap_or(dried + self.through * pot.capacity);
        // In µS/cm, so that a litre at 1 mS/cm holds 1000.
        let concentration = 1000.0 * (water + feed);
        pot.step(Event::Pour { volume, concentration }, budget)?;
        let wanted = self.taken * volume * feed;
        pot.step(Event::Uptake(wanted.min(0.9 * pot.salt)), budget)?;
        if let Some(drain) = pour.drain {
            pot.salt = drain * (READING * reading).exp() * pot.water;
        }
        Ok(())
    }
}

/// Conductivity of what a pot holds once it is full of water \[mS/cm\].
fn full(pot: &PotWater) -> f64 {
    pot.salt / pot.capacity
}

/// Follows a pot. `limit` is the conductivity that should not be passed \[mS/cm\]; the same `seed`
/// gives the same answer.
///
/// # Errors
/// When something poured is out of range.
pub(crate) fn follow(
    pot: &Pot,
    limit: f64,
    draws: usize,
    seed: u64,
) -> Result<Followed, OutOfRange> {
    let mut random = Random::new(seed);
    let mut found = Followed { now: Vec::new(), until: Vec::new(), came: 0.0, left: 0.0 };
    for _ in 0..draws {
        let guess = Guess::new(pot, &mut random);
        let fresh = between(&mut random, FRESH);
        let mut water = PotWater::drained(guess.capacity, 1000.0 * fresh)?;
        let mut budget = Budget::default();
        for pour in &pot.pours {
            guess.pour(&mut water, pour, &mut budget, random.normal())?;
        }
        found.now.push(full(&water));
        found.came += budget.salt_in / 1000.0;
        found.left += budget.salt_drained / 1000.0;
        found.until.push(until(&guess, water, pot, limit)?);
    }
    found.now.sort_by(f64::total_cmp);
    found.until.sort_by(f64::total_cmp);
    #[allow(clippy::cast_precision_loss)]
    let n = draws.max(1) as f64;
    found.came /= n;
    found.left /= n;
    Ok(found)
}

/// How many of the last waterings stand for those to come.
const REPEATED: usize = 12;

/// Days until the limit is passed if the last waterings come again and again.
fn until(guess: &Guess, mut water: PotWater, pot: &Pot, limit: f64) -> Result<f64, OutOfRange> {
    if full(&water) > limit {
        return Ok(0.0);
    }
    let last = &pot.pours[pot.pours.len().saturating_sub(REPEATED)..];
    let [first, .., end] = last else { return Ok(f64::INFINITY) };
    #[allow(clippy::cast_precision_loss)]
    let step = ((end.day - first.day) as f64 / (last.len() - 1) as f64).max(1.0);
    let mut day = 0.0;
    let mut budget = Budget::default();
    for pour in last.iter().cycle() {
        day += step;
        if day > AHEAD {
            return Ok(f64::INFINITY);
        }
        let plain = Pour { drain: None, ..pour.clone() };
        guess.pour(&mut water, &plain, &mut budget, 0.0)?;
        if full(&water) > limit {
            return Ok(day);
        }
    }
    Ok(f64::INFINITY)
}

/// The value below which a share of sorted values lies.
pub(crate) fn quantile(sorted: &[f64], share: f64) -> f64 {
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let at = (share * (sorted.len().saturating_sub(1)) as f64).round() as usize;
    sorted.get(at).copied().unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pour(day: i64, amount: f64, drained: f64, water: f64, feed: f64) -> Pour {
        Pour {
            day,
            amount: Some(amount),
            drained: Some(drained),
            water: Estimate::exact(water),
            feed: Estimate::exact(feed),
            drain: None,
        }
    }

    fn pot(pours: Vec<Pour>) -> Pot {
        Pot { capacity: Estimate::exact(200.0), pours }
    }

    fn middle(pot: &Pot) -> f64 {
        quantile(&follow(pot, 1.5, 200, 7).unwrap().now, 0.5)
    }

    /// With everything measured and plain water, a slow sum: the salts of 100 mL each, of which 20
    /// run out of a pot of 200 that mixes well.
    #[test]
    fn measured_plain_water_agrees_with_a_plain_sum() {
        let pours: Vec<Pour> = (0..200).map(|i| pour(7 * i, 100.0, 20.0, 0.5, 0.0)).collect();
        // What drains in a cycle is what comes: 0.5 × 100 = EC_drain × 20 on average, and the pot
        // lies between what is poured and what drains last. Steady state of the cycle, by steps of
        // a hundredth of a millilitre.
        let (mut salt, capacity) = (0.5 * 200.0, 200.0);
        for _ in 0..200 {
            let mut volume = capacity - 80.0;
            for _ in 0..8000 {
                volume += 0.01;
                salt += 0.01 * 0.5;
            }
            for _ in 0..2000 {
                salt += 0.01 * (0.5 - salt / volume);
            }
        }
        let found = follow(&pot(pours), 9.0, 50, 1).unwrap();
        let steady = salt / capacity;
        // Every guess comes to the same end; 1e-3 relative for the steps of the plain sum.
        for now in [found.now[0], found.now[49]] {
            assert!((now / steady - 1.0).abs() < 1e-3, "{now} beside {steady}");
        }
        assert!(found.came > found.left && found.left > 0.9 * found.came);
    }

    #[test]
    fn more_running_through_leaves_less_and_feed_leaves_more() {
        let with = |drained: f64, feed: f64| {
            middle(&pot((0..40)
                .map(|i| pour(7 * i, 100.0 + drained, drained, 0.4, feed))
                .collect()))
        };
        assert!(with(100.0, 0.0) < with(20.0, 0.0));
        assert!(with(20.0, 0.0) < with(20.0, 0.7));
        assert!(with(0.0, 0.0) > 5.0, "nothing runs out: salts only come");
    }

    #[test]
    fn a_meter_narrows_what_a_budget_leaves_open() {
        let open = |day: i64| Pour {
            amount: None,
            drained: None,
            feed: Estimate::lognormal(0.6, 0.3),
            ..pour(day, 0.0, 0.0, 0.5, 0.0)
        };
        let mut pours: Vec<Pour> = (0..20).map(|i| open(7 * i)).collect();
        let width = |pours: &[Pour]| {
            let now = follow(&pot(pours.to_vec()), 1.5, 400, 3).unwrap().now;
            quantile(&now, 0.9) / quantile(&now, 0.1)
        };
        let guessed = width(&pours);
        pours[19].drain = Some(1.2);
        let metered = width(&pours);
        assert!(metered < 1.4 && guessed > 2.0, "{metered} {guessed}");
        let middle = middle(&pot(pours));
        assert!((middle - 1.2).abs() < 0.1, "{middle}");
    }

    #[test]
    fn the_limit_is_passed_later_with_less_feed() {
        let days = |feed: f64| {
            let pours = (0..6).map(|i| pour(7 * i, 100.0, 10.0, 0.3, feed)).collect();
            quantile(&follow(&pot(pours), 3.0, 100, 5).unwrap().until, 0.5)
        };
        assert!(days(1.0) < days(0.5), "{} {}", days(1.0), days(0.5));
        let pure = (0..6).map(|i| pour(7 * i, 200.0, 120.0, 0.02, 0.0)).collect();
        assert!(follow(&pot(pure), 3.0, 50, 5).unwrap().until[0].is_infinite());
    }
}
