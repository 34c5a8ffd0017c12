//! How one pot stands now, by what the night learnt and what was seen since.

use stats::special::normal_quantile;
use stats::survival::drying::{Cycle, Foreseen, PlantState};

use super::clocks::{Clocks, Shared};
use super::looks::{Drying, Looks, Wish, follow};
use super::night::{LAW, MISREAD, Night, Unit, cycle};
use super::pots::Pot;

/// A cycle so much slower than expected (or faster) makes one look at the roots: standard
/// deviations. 2.5 would raise 3 % false alarms a plant and month at five cycles.
pub const ODD: f64 = 2.8;

/// So many of its latest dryings say how a plant dries.
const MOST: usize = 20;

/// How a pot stands.
#[derive(Debug, Clone)]
pub struct PotNow<'a> {
    pot: &'a Pot,
    clocks: &'a Clocks,
    state: PlantState,
    next: Foreseen,
    /// What the present week may do to the days to come: standard deviation on the log scale.
    week_ahead: f64,
    offset: f64,
    /// By weighing: the demand by which it is dry, and a standard deviation on the log scale.
    weighed: Option<(f64, f64)>,
    /// What was seen.
    pub looks: Looks,
    /// What the night held of it.
    pub unit: Unit,
    /// Dryings since the night.
    pub since_night: usize,
}

impl Night {
    /// How a pot stands now.
    #[must_use]
    pub fn now<'a>(&'a self, pot: &'a Pot) -> PotNow<'a> {
        let looks = follow(&pot.happenings, pot.wish, pot.facts);
        let unit = self.unit(pot, &looks);
        let rooting = self.clocks.shared().rooting;
        let potted = looks.potted;
        let offset = |since: i64| rooting * Shared::since_potting(since, potted);
        let first = self.clocks.shared().first;
        let own = looks.past.iter().filter(|d| d.epoch == looks.epoch() && d.since >= first);
        let own: Vec<&Drying> = own.filter(|d| d.tells()).collect();
        let since_night = own.iter().filter(|d| d.ended.is_some_and(|e| e > self.day)).count();
        let latest: Vec<(Cycle, f64)> = own[own.len().saturating_sub(MOST)..]
            .iter()
            .map(|d| (cycle(d, pot, &self.clocks), offset(d.since)))
            .collect();
        // All of its own dryings are taken on the grid, not as the night's normal approximation: of
        // a pot that was always found dry at the first look one knows that it is quick, and not how
        // quick, which no normal curve says.
        let mut state = fresh_state(self, unit.borrowed, unit.borrowed_sd);
        // A cycle that nothing on the grid explains says that the plant has changed; what is known
        // of it otherwise stays.
        if state.update(&latest).is_err() {
            state = fresh_state(self, unit.mean, unit.sd);
        }
        let now = looks.now;
        #[allow(clippy::cast_precision_loss)]
        let weighed = now.and_then(|n| n.weighed.map(|w| (n, w))).map(|(n, (day, gone))| {
            let x = self.clocks.between(pot, n.since as f64, day as f64);
            ((x / gone).max(1e-3), 0.1f64.hypot(0.05 / gone))
        });
        let offset = now.map_or(0.0, |n| offset(n.since));
        let next = state.foreseen();
        let clocks = &self.clocks;
        let week_ahead = self.week_ahead;
        PotNow { pot, clocks, state, next, week_ahead, offset, weighed, looks, unit, since_night }
    }

    /// How unlike the plant its latest drying was, in standard deviations: above [`ODD`] much
    /// slower, below −[`ODD`] much faster. It is judged by what the dryings before it had shown.
    #[must_use]
    pub fn oddness(&self, pot: &Pot, looks: &Looks) -> Option<f64> {
        let unit = self.unit(pot, looks);
        let rooting = self.clocks.shared().rooting;
        let of_epoch = looks.past.iter().chain(&looks.now).filter(|d| d.epoch == looks.epoch());
        let all: Vec<_> = of_epoch.filter(|d| d.tells()).collect();
        let (last, before) = all.split_last()?;
        // Two dryings before it are the least against which a third can be called odd.
        if before.iter().filter(|d| d.dry.is_some()).count() < 2 {
            return None;
        }
        let offset = |since: i64| rooting * Shared::since_potting(since, looks.potted);
        let cycles: Vec<(Cycle, f64)> = before[before.len().saturating_sub(MOST)..]
            .iter()
            .map(|d| (cycle(d, pot, &self.clocks), offset(d.since)))
            .collect();
        let mut state = fresh_state(self, unit.borrowed, unit.borrowed_sd);
        state.update(&cycles).ok()?;
        let chance = |x: f64| state.dry_by(x, 0.0, offset(last.since));
        let z = |p: f64| normal_quantile(p.clamp(1e-15, 1.0 - 1e-15));
        Some(match cycle(last, pot, &self.clocks) {
            Cycle::Between(low, high) => {
                let (slow, fast) = (z(chance(low)), z(chance(high)));
                if slow > 0.0 { slow } else { fast.min(0.0) }
            }
            Cycle::Exact(x) => z(chance(x)),
            Cycle::StillMoist(low) => z(chance(low)).max(0.0),
            Cycle::FoundDry(high) => z(chance(high)).min(0.0),
            Cycle::Unseen => return None,
        })
    }
}

/// A pot of which only this is known, with the spread of single dryings that the night found.
pub(super) fn fresh_state(night: &Night, mean: f64, sd: f64) -> PlantState {
    fresh(mean, sd, night.spreads[2].hypot(night.weather_sd).max(0.02))
}

#[allow(clippy::expect_used, reason = "means are finite and standard deviations above 0 here")]
fn fresh(mean: f64, sd: f64, scale: f64) -> PlantState {
    PlantState::new(LAW, mean, sd.max(1e-3), scale, MISREAD).expect("a sound state")
}

impl PotNow<'_> {
    /// Whether there is a watering from which to count.
    #[must_use]
    pub fn counts(&self) -> bool {
        self.looks.now.is_some()
    }

    /// Whether it was found as dry as it is let become, and has not been watered since.
    #[must_use]
    pub fn waits(&self) -> bool {
        self.looks.now.is_some_and(|n| n.dry.is_some())
    }

    /// Chance that it is dry when looked at on this day; none without a watering to count from.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn dry_by(&self, day: f64) -> Option<f64> {
        let now = self.looks.now?;
        if now.dry.is_some_and(|d| d as f64 <= day) {
            return Some(1.0);
        }
        Some(self.chance(now.since as f64, now.moist.map(|d| d as f64), day))
    }

    /// The same for a time. What the days to come will demand is not known: the chance is the mean
    /// over a normal law of its logarithm, at five points of Gauss and Hermite.
    fn chance(&self, since: f64, moist: Option<f64>, to: f64) -> f64 {
        let by = |x: f64| match self.weighed {
            Some((median, sd)) if x > 0.0 => stats::special::normal_cdf((x / median).ln() / sd),
            Some(_) => 0.0,
            None => self.next.by(x, self.offset),
        };
        let before = by(moist.map_or(0.0, |d| self.clocks.between(self.pot, since, d)));
        if before >= 1.0 {
            return 1.0;
        }
        let (past, ahead, sd) = self.clocks.foreseen(self.pot, since, to);
        let since_moist = |x: f64| ((by(x) - before) / (1.0 - before)).clamp(0.0, 1.0);
        if ahead <= 0.0 {
            return since_moist(past);
        }
        let sd = sd.hypot(self.week_ahead);
        let root = 10f64.sqrt();
        let (near, far) = ((5.0 - root).sqrt(), (5.0 + root).sqrt());
        let (inner, outer) = ((7.0 + 2.0 * root) / 60.0, (7.0 - 2.0 * root) / 60.0);
        [(-far, outer), (-near, inner), (0.0, 8.0 / 15.0), (near, inner), (far, outer)]
            .map(|(z, w)| w * since_moist(past + ahead * (sd * z).exp()))
            .iter()
            .sum()
    }

    /// The day by which it is dry with this chance, given the last look.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn due(&self, chance: f64) -> Option<f64> {
        let now = self.looks.now?;
        if let Some(dry) = now.dry {
            return Some(dry as f64);
        }
        let (since, moist) = (now.since as f64, now.moist.map(|d| d as f64));
        let mut low = moist.unwrap_or(since);
        let mut high = low + 8.0;
        while self.chance(since, moist, high) < chance && high - since < 3650.0 {
            (low, high) = (high, high + 2.0 * (high - low));
        }
        while high - low > 0.002 {
            let middle = 0.5 * (low + high);
            if self.chance(since, moist, middle) < chance { low = middle } else { high = middle }
        }
        Some(0.5 * (low + high))
    }

    /// How long it usually takes at the pace of the last fortnight \[d\]: 10 %, middle, 90 % of
    /// where the plant's usual drying lies.
    #[must_use]
    pub fn usually(&self, today: i64) -> [f64; 3] {
        let place = self.pot.place_on(today);
        let speed = self.clocks.speed(place, today - 14, today).unwrap_or(1.0).max(0.02);
        let latest = self.looks.now.map_or(self.offset, |_| self.offset);
        [0.1, 0.5, 0.9].map(|p| (self.state.quantile(p) + latest).exp() / speed)
    }

    /// The chance past which waiting costs more than watering: too early is held to be twice as bad
    /// as too late for plants that are let dry, half as bad for those never to be dry, four times
    /// as bad for those that wait until dry through and through. Common practice, no source.
    #[must_use]
    pub fn line(&self) -> f64 {
        match self.pot.wish {
            Wish::NeverDry => 1.0 / 3.0,
            Wish::JustDry => 2.0 / 3.0,
            Wish::BoneDry => 0.8,
        }
    }

    /// How many times as fast as in the last quarter of a year the clock has run since the last
    /// watering.
    #[must_use]
    pub fn speed(&self, today: i64) -> Option<f64> {
        let since = self.looks.now?.since;
        let place = self.pot.place_on(since);
        let now = self.clocks.speed(place, since, today)?;
        Some(now / self.clocks.speed(place, today - 91, today)?.max(1e-3))
    }
}
