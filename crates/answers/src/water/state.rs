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
    /// How unlike the plant its latest drying was, in standard deviations.
    pub odd: Option<f64>,
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
        let (state, odd) = self.learnt(pot, &looks, &unit);
        let own = looks.past.iter().filter(|d| d.epoch == looks.epoch() && d.tells());
        let since_night = own.filter(|d| d.ended.is_some_and(|e| e > self.day)).count();
        let now = looks.now;
        #[allow(clippy::cast_precision_loss)]
        let weighed = now.and_then(|n| n.weighed.map(|w| (n, w))).map(|(n, (day, gone))| {
            let x = self.clocks.between(pot, n.since as f64, day as f64);
            ((x / gone).max(1e-3), 0.1f64.hypot(0.05 / gone))
        });
        let offset = now.map_or(0.0, |n| self.rooted(n.since, &looks));
        PotNow {
            pot,
            clocks: &self.clocks,
            next: state.foreseen(),
            state,
            week_ahead: self.week_ahead,
            offset,
            weighed,
            odd,
            looks,
            unit,
            since_night,
        }
    }

    /// What the roots in the pot do to ln X of a drying that begins on this day.
    fn rooted(&self, since: i64, looks: &Looks) -> f64 {
        self.clocks.shared().rooting * Shared::since_potting(since, looks.potted)
    }

    /// What the plant's dryings in its present pot say, and how unlike them the latest was.
    ///
    /// All of them are taken on the grid, not as the night's normal approximation: of a pot that was
    /// always found dry at the first look one knows that it is quick, and not how quick, which no
    /// normal curve says.
    fn learnt(&self, pot: &Pot, looks: &Looks, unit: &Unit) -> (PlantState, Option<f64>) {
        let first = self.clocks.shared().first;
        let told = |d: &&Drying| d.epoch == looks.epoch() && d.since >= first && d.tells();
        let own: Vec<&Drying> = looks.past.iter().filter(told).collect();
        let running = looks.now.as_ref().filter(|d| told(d));
        let (before, last) = match (running, own.split_last()) {
            (Some(running), _) => (&own[..], Some(running)),
            (None, Some((last, before))) => (before, Some(*last)),
            (None, None) => (&own[..], None),
        };
        let ready = |d: &Drying| (cycle(d, pot, &self.clocks), self.rooted(d.since, looks));
        let latest: Vec<(Cycle, f64)> =
            before[before.len().saturating_sub(MOST)..].iter().map(|d| ready(d)).collect();
        let fresh = || fresh_state(self, unit.borrowed, unit.borrowed_sd);
        let mut state = fresh();
        // A cycle that nothing on the grid explains says that the plant has changed; what the night
        // knew of it stays.
        if state.update(&latest).is_err() {
            state = fresh_state(self, unit.mean, unit.sd);
        }
        // Two dryings before it are the least against which a third can be called odd.
        let enough = before.iter().filter(|d| d.dry.is_some()).count() >= 2;
        let odd = last.filter(|_| enough).and_then(|last| self.unlike(&state, pot, last, looks));
        if let (None, Some(last)) = (running, last) {
            let _ = state.update(&[ready(last)]);
        }
        (state, odd)
    }

    /// How unlike a plant a drying was, in standard deviations.
    fn unlike(&self, state: &PlantState, pot: &Pot, d: &Drying, looks: &Looks) -> Option<f64> {
        let offset = self.rooted(d.since, looks);
        let chance = |x: f64| state.dry_by(x, 0.0, offset);
        let z = |p: f64| normal_quantile(p.clamp(1e-15, 1.0 - 1e-15));
        Some(match cycle(d, pot, &self.clocks) {
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

    /// How unlike the plant its latest drying was, in standard deviations: above [`ODD`] much
    /// slower, below −[`ODD`] much faster. It is judged by what the dryings before it had shown.
    #[must_use]
    pub fn oddness(&self, pot: &Pot, looks: &Looks) -> Option<f64> {
        self.learnt(pot, looks, &self.unit(pot, looks)).1
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
