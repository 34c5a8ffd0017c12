//! What cannot wait for the next round, and what may be left out of it: place by place.

use jiff::civil::Weekday;
use serde::Serialize;

use super::house::{Housed, Water};
use super::night::Night;
use super::state::{ODD, PotNow};
use crate::{Hand, feed::Growth};

/// After a potting a pot says nothing about its plant for so long \[d\]. Common practice, no source.
const JUST_POTTED: i64 = 10;
/// Nobody was at it for so long that nothing can be said \[d\].
const UNWATCHED: i64 = super::looks::UNWATCHED;

/// Why a plant is left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LeftOut {
    /// Potted a few days ago.
    JustPotted,
    /// Without roots.
    Rootless,
    /// Resting.
    Resting,
    /// No watering from which to count.
    NotWatched,
}

/// What a plant's chances rest on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RestsOn {
    /// At least two of its own dryings.
    Own,
    /// Others of its species or genus here.
    Others,
    /// Common practice only.
    Nothing,
}

/// A plant on the axis from surely moist to surely dry.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlantToday {
    /// Its number.
    pub number: i64,
    /// Its name; empty when nobody has said.
    pub name: String,
    /// Row of its place.
    #[serde(skip)]
    pub place: Option<i64>,
    /// Chance that it is dry tonight.
    pub tonight: f64,
    /// Chance that it is dry tomorrow night.
    pub tomorrow: f64,
    /// Chance that it is dry on each of the next fourteen days, tonight first.
    pub days: Vec<f64>,
    /// The chance past which waiting costs more than watering.
    pub line: f64,
    /// The day by which it is dry: 10 %, middle, 90 % \[days since 1970-01-01\].
    pub due: Option<[f64; 3]>,
    /// How long it usually takes at the present pace \[d\]: 10 %, middle, 90 %.
    pub usually: [f64; 3],
    /// The day of the last watering \[days since 1970-01-01\].
    pub watered: i64,
    /// The last look at which it was still moist \[days since 1970-01-01\].
    pub moist: Option<i64>,
    /// It was found dry and waits for water since \[days since 1970-01-01\].
    pub waits_since: Option<i64>,
    /// How many times as fast as in the last quarter of a year the clock ran since the watering.
    pub speed: f64,
    /// What it rests on.
    pub rests_on: RestsOn,
    /// How odd its latest drying was, in standard deviations; beyond ±2.8 it is told.
    pub odd: Option<f64>,
    /// Limp in a pot that was not dry.
    pub limp_and_wet: bool,
}

impl PlantToday {
    /// Whether waiting until tomorrow costs more than watering tonight.
    #[must_use]
    pub fn past(&self) -> bool {
        self.tonight > self.line
    }

    /// The first of the coming days, tonight being 0, on whose night it is past the line.
    #[must_use]
    pub fn past_on(&self) -> Option<usize> {
        self.days.iter().position(|p| *p > self.line)
    }

    /// Where it stands on the axis, 0 to 1: its line at two thirds, whatever its line is.
    #[must_use]
    pub fn at(&self, chance: f64) -> f64 {
        const LINE: f64 = 2.0 / 3.0;
        if chance <= self.line {
            LINE * chance / self.line
        } else {
            LINE + (1.0 - LINE) * (chance - self.line) / (1.0 - self.line)
        }
    }
}

/// A place of the walk.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlaceToday {
    /// Its number; none for plants that stand nowhere.
    pub number: Option<i64>,
    /// Its name.
    pub name: String,
    /// Living plants there, also those left out.
    pub all: usize,
    /// Days until the next round, 0 for today; none without fixed days.
    pub round_in: Option<i64>,
    /// Days until the round after it.
    pub then_in: Option<i64>,
    /// How many times as fast as days its clock ran this week against its usual pace.
    pub pace: Option<f64>,
    /// The plants, the driest first.
    pub plants: Vec<PlantToday>,
    /// Plants left out: number and why.
    pub left_out: Vec<(i64, LeftOut)>,
}

impl PlaceToday {
    /// Plants past their line tonight, the driest first.
    pub fn now(&self) -> impl Iterator<Item = &PlantToday> {
        self.plants.iter().filter(|p| p.past())
    }

    /// Plants that are not past the line tonight but will be before the night of the next round.
    pub fn before_round(&self) -> impl Iterator<Item = &PlantToday> {
        let wait = self.round_in.unwrap_or(1);
        self.plants
            .iter()
            .filter(move |p| !p.past() && p.past_on().is_some_and(|d| (d as i64) < wait))
    }

    /// Plants that can wait for the round and will likely be dry by then.
    pub fn by_round(&self) -> impl Iterator<Item = &PlantToday> {
        let wait = self.round_in.unwrap_or(1);
        self.plants.iter().filter(move |p| {
            !p.past()
                && p.past_on().is_none_or(|d| d as i64 >= wait)
                && usize::try_from(wait).ok().and_then(|w| p.days.get(w)).is_some_and(|c| *c >= 0.6)
        })
    }

    /// Plants that may be left out of the next round: very unlikely to be dry before the round
    /// after it.
    pub fn may_be_left_out(&self) -> impl Iterator<Item = &PlantToday> {
        let until = self.then_in.or(self.round_in).unwrap_or(3);
        let until = usize::try_from(until).unwrap_or(usize::MAX);
        self.plants.iter().filter(move |p| {
            let last = p.days.len().saturating_sub(1);
            p.days.get(until.min(last)).is_some_and(|c| *c < 0.2)
        })
    }
}

/// The page of the day, as far as water goes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WaterToday {
    /// Days until the next round anywhere, 0 for today; none without fixed days.
    pub round_in: Option<i64>,
    /// The weekdays of rounds, Monday first.
    #[serde(skip)]
    pub rounds: Vec<Weekday>,
    /// Places in walking order, those with plants only.
    pub places: Vec<PlaceToday>,
    /// How many dryings it rests on, of how many pots.
    pub rests_on: (usize, usize),
}

impl WaterToday {
    /// How many plants are past the line tonight.
    #[must_use]
    pub fn now(&self) -> usize {
        self.places.iter().map(|p| p.now().count()).sum()
    }

    /// How many cannot wait for the next round: tonight's, and those past the line before it.
    #[must_use]
    pub fn cannot_wait(&self) -> usize {
        self.places.iter().map(|p| p.now().count() + p.before_round().count()).sum()
    }

    /// How many are left out by their state.
    #[must_use]
    pub fn left_out(&self) -> usize {
        self.places.iter().map(|p| p.left_out.len()).sum()
    }
}

impl Water {
    /// Counts every plant for today; what has been counted before is not counted again.
    pub fn today(&mut self, hand: &Hand) -> WaterToday {
        let today = hand.today_number();
        if self.counted_for != today {
            self.lines.clear();
            self.counted_for = today;
        }
        for p in &self.plants {
            if !self.lines.contains_key(&p.row.id) {
                self.lines.insert(p.row.id, line(&self.night, p, today));
            }
        }
        let weekday = hand.today.weekday();
        let until = |days: &[Weekday], after: i64| -> Option<i64> {
            (after..after + 8).find(|d| {
                let day = weekday.wrapping_add(*d);
                days.contains(&day)
            })
        };
        let mut places: Vec<PlaceToday> = (self.places.iter())
            .map(|p| {
                let days = self.rounds.get(&p.id).map_or(&[] as &[_], Vec::as_slice);
                let round_in = until(days, 0);
                let clocks = &self.night.clocks;
                let week = clocks.speed(Some(p.id), today - 7, today);
                let usual = clocks.speed(Some(p.id), today - 90, today);
                PlaceToday {
                    number: Some(p.number),
                    name: p.name.clone(),
                    all: 0,
                    round_in,
                    then_in: round_in.and_then(|r| until(days, r + 1)),
                    pace: week.zip(usual).map(|(w, u)| w / u.max(1e-3)),
                    plants: Vec::new(),
                    left_out: Vec::new(),
                }
            })
            .collect();
        let nowhere = places.len();
        places.push(PlaceToday {
            number: None,
            name: String::new(),
            all: 0,
            round_in: None,
            then_in: None,
            pace: None,
            plants: Vec::new(),
            left_out: Vec::new(),
        });
        for p in &self.plants {
            let at = p.row.place_id.and_then(|id| self.places.iter().position(|x| x.id == id));
            let place = &mut places[at.unwrap_or(nowhere)];
            place.all += 1;
            match (why_left_out(p, today), self.lines.get(&p.row.id).and_then(Option::as_ref)) {
                (Some(why), _) => place.left_out.push((p.row.number, why)),
                (None, Some(line)) => place.plants.push(line.clone()),
                (None, None) => place.left_out.push((p.row.number, LeftOut::NotWatched)),
            }
        }
        places.retain(|p| p.all > 0);
        for place in &mut places {
            place.plants.sort_by(|a, b| {
                b.at(b.tonight).total_cmp(&a.at(a.tonight)).then(a.number.cmp(&b.number))
            });
        }
        let mut rounds: Vec<Weekday> = self.rounds.values().flatten().copied().collect();
        rounds.sort_by_key(|d| d.to_monday_zero_offset());
        rounds.dedup();
        WaterToday {
            round_in: places.iter().filter_map(|p| p.round_in).min(),
            rounds,
            places,
            rests_on: self.night.rests_on,
        }
    }
}

/// Whether a plant's state keeps it out of the axis.
fn why_left_out(p: &Housed, today: i64) -> Option<LeftOut> {
    match p.growth {
        Growth::Resting => return Some(LeftOut::Resting),
        Growth::Rootless => return Some(LeftOut::Rootless),
        Growth::Growing => {}
    }
    let potted = p.pot.happenings.iter().rev().find_map(|h| match h.what {
        super::looks::What::Potted(_) => Some(h.to),
        _ => None,
    });
    // A look since then counts for more than the rule.
    let looked = p.pot.happenings.iter().rev().find_map(|h| match h.what {
        super::looks::What::Look { found: Some(_), .. } => Some(h.to),
        _ => None,
    });
    potted
        .is_some_and(|d| today - d < JUST_POTTED && looked.is_none_or(|l| l <= d))
        .then_some(LeftOut::JustPotted)
}

/// How one plant stands; none where there is nothing to count from.
#[must_use]
pub fn line(night: &Night, p: &Housed, today: i64) -> Option<PlantToday> {
    let now: PotNow<'_> = night.now(&p.pot);
    let running = now.looks.now?;
    let last = now.looks.last_look.unwrap_or(running.since);
    if today - last > UNWATCHED {
        return None;
    }
    #[allow(clippy::cast_precision_loss)]
    let chance = |day: i64| now.dry_by(day as f64).unwrap_or(0.0);
    let days: Vec<f64> = (0..14).map(|d| chance(today + d)).collect();
    let due = match [now.due(0.1), now.due(0.5), now.due(0.9)] {
        [Some(a), Some(b), Some(c)] => Some([a, b, c]),
        _ => None,
    };
    let dried = now.unit.dried + now.since_night;
    Some(PlantToday {
        number: p.row.number,
        name: p.row.name.clone(),
        place: p.row.place_id,
        tonight: days[0],
        tomorrow: days[1],
        line: now.line(),
        due,
        usually: now.usually(today),
        watered: running.since,
        moist: running.moist,
        waits_since: running.dry,
        speed: now.speed(today).unwrap_or(1.0),
        rests_on: if dried >= 2 {
            RestsOn::Own
        } else if night.gradient_norm.is_some() {
            RestsOn::Others
        } else {
            RestsOn::Nothing
        },
        odd: now.odd.filter(|z| z.abs() > ODD),
        limp_and_wet: now.looks.limp_and_wet.last().is_some_and(|d| *d >= running.since),
        days,
    })
}
