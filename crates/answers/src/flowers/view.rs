//! What is drawn of flowers: curves over the lives they rest on, the coming weeks, clones and places
//! side by side, and two plants that are to meet.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::Date;
use journal::{Known, PlantRow, Reader};
use serde::Serialize;

use super::bloom::{Bloom, FlowerKind, clusters};
use super::compare::{By, compare};
use super::kept::Flowers;
use super::lasts::{evidence_of, failed};
use super::life::{Followed, LifePrior};
use super::likely::{Likely, Meeting, Rests, likely};
use super::months::Months;
use super::read::Grown;
use crate::{Answer, AskError, Evidence, Hand, Result, acts::plants::need_plant};

/// Shares of flowers at which a curve has a point.
const SHARES: [f64; 13] = [0.99, 0.95, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1, 0.05, 0.01];
/// Days ahead for which flowers are foretold \[d\]: twelve weeks.
pub const AHEAD: i64 = 84;
/// Clones or places that stand side by side at the most.
const SIDES: usize = 6;
/// Below this chance to meet, pollen is better stored. Common practice, no source.
const STORE: f64 = 0.3;
/// Plans that weigh many pairs look at every so manieth draw: 500 have a standard error of 2.2 %.
const EACH: usize = 4;

/// A point of a curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CurvePoint {
    /// Share of the flowers that last so long or longer \[0 to 1\].
    pub open: f64,
    /// How long that is: lower limit, middle, upper limit (80 %) \[d\].
    pub days: [f64; 3],
}

/// The life of one flower on the line of evidence under a curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Lived {
    /// The plant's number.
    pub plant: i64,
    /// The umbel, by a number that flowers of the same umbel share.
    pub umbel: u32,
    /// It lasted at least so long \[d\].
    pub at_least: f64,
    /// And at the most so long; none while it is open, or where it was cut or pollinated \[d\].
    pub at_most: Option<f64>,
    /// Whether it is open today.
    pub open: bool,
    /// How it is known.
    pub known: Known,
}

/// How long flowers of a clone last, and what that rests on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Curve {
    /// The clone, by the number of the first of its plants.
    pub plant: i64,
    /// What it is called.
    pub name: String,
    /// Flowers or umbels.
    pub kind: FlowerKind,
    /// The curve in the air of the last weeks, from nearly all to hardly any.
    pub points: Vec<CurvePoint>,
    /// How much of it comes from records \[0 to 1\]; below 0.2 it is mostly the default.
    pub information: f64,
    /// Every flower of the clone that was followed, the earliest first.
    pub lived: Vec<Lived>,
    /// The same in numbers.
    pub evidence: Evidence,
}

/// A week ahead.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Week {
    /// Its first day \[days since 1970-01-01\].
    pub from: i64,
    /// Its last day.
    pub to: i64,
    /// The chance to be in flower at some time of it.
    pub chance: f64,
}

/// The next twelve weeks, from today on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WeeksAhead {
    /// Week by week.
    pub weeks: Vec<Week>,
    /// What they rest on.
    pub rests: Rests,
}

/// One clone or place beside others.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Side {
    /// The number of the place, or of the first plant of the clone.
    pub number: i64,
    /// What it is called.
    pub name: String,
    /// Flowers of which the end is known.
    pub ended: usize,
    /// The umbels of all its flowers.
    pub umbels: usize,
    /// Its life divided by that of the first (80 %); none for the first itself.
    pub ratio: Option<[f64; 3]>,
    /// The chance that it lasts longer than the first.
    pub longer: Option<f64>,
    /// What may be said, in words of the catalogue; empty for the first.
    pub words: &'static str,
}

/// Clones or places side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sides {
    /// Clones or places.
    pub by: By,
    /// Flowers or umbels.
    pub kind: FlowerKind,
    /// The first is the one with most flowers that ended; the others are compared with it.
    pub sides: Vec<Side>,
    /// How often they would lie so far apart if umbels were dealt out by chance.
    pub by_chance: f64,
}

/// Two plants that are to be crossed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Together {
    /// The one that bears the seed.
    pub mother: Likely,
    /// The one that gives the pollen.
    pub father: Likely,
    /// Whether they meet.
    pub meeting: Meeting,
    /// Whether it is so unlikely that pollen is better stored.
    pub store: bool,
}

/// How likely any two plants are in flower together.
#[derive(Debug, Clone, PartialEq)]
pub struct Meetings {
    /// The clone of each living plant, by the plant's number.
    clones: BTreeMap<i64, i64>,
    /// Where the likeliest piece of each clone stands in the list.
    at: BTreeMap<i64, usize>,
    list: Arc<Vec<Likely>>,
    /// First and last day.
    span: (i64, i64),
}

impl Meetings {
    /// How likely a plant's clone is in flower; none where that is not known.
    #[must_use]
    pub fn of(&self, plant: i64) -> Option<&Likely> {
        self.list.get(*self.at.get(self.clones.get(&plant)?)?)
    }

    /// The chance that two plants are in flower together for a day or more, within two hundredths;
    /// none where nothing is known of one of them.
    #[must_use]
    pub fn chance(&self, a: i64, b: i64) -> Option<f64> {
        let (a, b) = (self.of(a)?, self.of(b)?);
        Some(a.course.meet_chance(&b.course, self.span, EACH))
    }
}

/// Everything that the page of a plant shows of flowers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlantFlowers {
    /// How long they last, when again, in which months.
    pub answers: [Answer; 3],
    /// The curve of its clone, where anything of the genus was followed.
    pub curve: Option<Curve>,
    /// Its months, where its clone was ever seen in flower.
    pub months: Option<Months>,
    /// The coming weeks, where its clone was ever seen in flower.
    pub ahead: Option<WeeksAhead>,
    /// Its clone beside others of the genus, where several flowered.
    pub clones: Option<Sides>,
    /// Places at which the genus flowered, where there are several.
    pub places: Option<Sides>,
}

/// What no fit can hold together is left out; the answers say so.
fn if_fitted<T>(found: Result<T>) -> Result<Option<T>> {
    match found {
        Ok(found) => Ok(Some(found)),
        Err(AskError::Field { field, .. }) if field == "flowers" => Ok(None),
        Err(e) => Err(e),
    }
}

/// Everything that the page of the plant of this number shows of flowers, from what is kept.
///
/// # Errors
/// An unknown plant; if the record cannot be read; when a fit did not reach its optimum.
pub fn plant_flowers(
    kept: &mut Flowers,
    reader: &Reader<'_>,
    number: i64,
    hand: &Hand,
) -> Result<PlantFlowers> {
    let plant = need_plant(reader, number)?;
    let grown = kept.of(reader, &plant, hand)?;
    let flowered = grown.followed.iter().any(|f| f.clone == plant.clone);
    let answer = |key| super::answer_of(&grown, reader, key, &plant, hand);
    Ok(PlantFlowers {
        answers: [answer("flower_life")?, answer("flowers_again")?, answer("flower_months")?],
        curve: if_fitted(grown.curve(&plant))?.flatten(),
        months: if flowered { Some(grown.months(reader, plant.clone)?) } else { None },
        ahead: if_fitted(weeks_ahead(reader, &grown, &plant, hand))?.flatten(),
        clones: if_fitted(grown.sides(reader, Some(&plant), By::Clone))?.flatten(),
        places: if_fitted(grown.sides(reader, Some(&plant), By::Place))?.flatten(),
    })
}

/// How likely a plant is in flower in each of the next twelve weeks; none where nothing of its clone
/// was ever seen in flower.
///
/// # Errors
/// If the record cannot be read, or a fit did not reach its optimum.
pub fn weeks_ahead(
    reader: &Reader<'_>,
    grown: &Grown,
    plant: &PlantRow,
    hand: &Hand,
) -> Result<Option<WeeksAhead>> {
    let today = hand.today_number();
    let last = today + AHEAD - 1;
    let Some(likely) = likely(reader, grown, plant, today, last)? else { return Ok(None) };
    let weeks = (likely.weeks.iter().zip((today..=last).step_by(7)))
        .map(|(chance, from)| Week { from, to: from + 6, chance: *chance })
        .collect();
    Ok(Some(WeeksAhead { weeks, rests: likely.rests }))
}

impl Flowers {
    /// All plants that may be in flower in a month, the likeliest first.
    ///
    /// # Errors
    /// A month that does not exist; else those of [`Flowers::likely`].
    pub fn likely_in_month(
        &mut self,
        reader: &Reader<'_>,
        hand: &Hand,
        (year, month): (i16, i8),
    ) -> Result<Arc<Vec<Likely>>> {
        let first = Date::new(year, month, 1)
            .map_err(|e| AskError::field("month", &format!("{year}-{month}"), e.to_string()))?;
        let day = |d: Date| i64::from(dates::to_days(d));
        self.likely(reader, hand, day(first), day(first.last_of_month()))
    }

    /// How likely any two plants are in flower together from one day to another: for plans that weigh
    /// many pairs. Of each clone the piece that is likeliest in flower counts.
    ///
    /// # Errors
    /// Those of [`Flowers::likely`].
    pub fn meetings(
        &mut self,
        reader: &Reader<'_>,
        hand: &Hand,
        (from, to): (i64, i64),
    ) -> Result<Meetings> {
        let clones = reader.living()?.into_iter().map(|p| (p.number, p.clone)).collect();
        let list = self.likely(reader, hand, from, to)?;
        let mut meetings = Meetings { clones, at: BTreeMap::new(), list, span: (from, to) };
        // The likeliest comes first.
        for (at, likely) in meetings.list.iter().enumerate() {
            if let Some(clone) = meetings.clones.get(&likely.plant) {
                meetings.at.entry(*clone).or_insert(at);
            }
        }
        Ok(meetings)
    }

    /// Whether two plants are in flower on a common day of a span, and on how many; none where one
    /// of them was never seen in flower.
    ///
    /// # Errors
    /// An unknown plant; if the record cannot be read, or a fit did not reach its optimum.
    pub fn together(
        &mut self,
        reader: &Reader<'_>,
        hand: &Hand,
        (mother, father): (i64, i64),
        (from, to): (i64, i64),
    ) -> Result<Option<Together>> {
        let mut one = |number| {
            let plant = need_plant(reader, number)?;
            let grown = self.of(reader, &plant, hand)?;
            likely(reader, &grown, &plant, from, to)
        };
        let (Some(mother), Some(father)) = (one(mother)?, one(father)?) else { return Ok(None) };
        let meeting = mother.course.meets_in(&father.course, from, to);
        Ok(Some(Together { store: meeting.chance < STORE, mother, father, meeting }))
    }
}

fn lived(flowers: &[Followed], number: impl Fn(i64) -> i64) -> Vec<Lived> {
    let blooms: Vec<Bloom> = flowers.iter().map(|f| f.bloom).collect();
    let umbels = clusters(&blooms);
    (blooms.iter().zip(umbels))
        .map(|(b, umbel)| {
            let (time, start) = b.time();
            let vague = start.map_or(0.0, |s| s.width);
            Lived {
                plant: number(b.plant),
                umbel,
                at_least: time.left.unwrap_or(0.0),
                at_most: time.right.map(|t| t + vague),
                open: b.open,
                known: b.known,
            }
        })
        .collect()
}

impl Grown {
    /// The first plant of a clone, by its number.
    fn first_of(&self, clone: i64) -> Option<&PlantRow> {
        self.pieces(clone).min_by_key(|p| p.number)
    }

    /// How long flowers of a plant's clone last where it stands now; none where nothing of the genus
    /// was followed.
    ///
    /// # Errors
    /// When the fit did not reach its optimum.
    pub fn curve(&self, plant: &PlantRow) -> Result<Option<Curve>> {
        let of_clone: Vec<&Followed> =
            self.followed.iter().filter(|f| f.clone == plant.clone).collect();
        let kind = self.kind_of(&of_clone);
        if self.of_kind(kind).is_empty() {
            return Ok(None);
        }
        let fit = self.life_for(kind, plant.clone)?;
        let air = self.air_now(plant);
        let mut points = Vec::with_capacity(SHARES.len());
        for open in SHARES {
            let days = fit.lasting(plant.clone, air, open).map_err(|e| failed(&e))?;
            points.push(CurvePoint { open, days });
        }
        let flowers: Vec<Followed> =
            of_clone.iter().filter(|f| f.bloom.kind == kind).map(|f| **f).collect();
        let number = |id: i64| self.number_of(id);
        let first = self.first_of(plant.clone).unwrap_or(plant);
        Ok(Some(Curve {
            plant: first.number,
            name: first.name.clone(),
            kind,
            points,
            information: fit.information(plant.clone).map_err(|e| failed(&e))?,
            lived: lived(&flowers, number),
            evidence: evidence_of(&flowers, kind),
        }))
    }

    /// The curves of all clones of the genus that flowered, those with most flowers first.
    ///
    /// # Errors
    /// When a fit did not reach its optimum.
    pub fn curves(&self) -> Result<Vec<Curve>> {
        let clones: BTreeSet<i64> = self.followed.iter().map(|f| f.clone).collect();
        let mut out = Vec::new();
        for clone in clones {
            if let Some(first) = self.first_of(clone) {
                out.extend(self.curve(first)?);
            }
        }
        out.sort_by_key(|c| (std::cmp::Reverse(c.lived.len()), c.plant));
        Ok(out)
    }

    /// Clones of the genus, or places at which it flowered, side by side: that of a plant, where one
    /// is given, and those with most flowers. None with fewer than two.
    ///
    /// # Errors
    /// If the record cannot be read, or a fit did not reach its optimum.
    pub fn sides(
        &self,
        reader: &Reader<'_>,
        plant: Option<&PlantRow>,
        by: By,
    ) -> Result<Option<Sides>> {
        let all: Vec<&Followed> = self.followed.iter().collect();
        let kind = self.kind_of(&all);
        let key = |f: &Followed| match by {
            By::Clone => Some(f.clone),
            By::Place => f.place,
        };
        let mut flowers: BTreeMap<i64, Vec<Followed>> = BTreeMap::new();
        for f in self.of_kind(kind) {
            if let Some(key) = key(&f) {
                flowers.entry(key).or_default().push(f);
            }
        }
        let own = plant.and_then(|p| match by {
            By::Clone => Some(p.clone),
            By::Place => p.place_id,
        });
        let mut groups: Vec<i64> = flowers.keys().copied().collect();
        groups.sort_by_key(|g| (own != Some(*g), std::cmp::Reverse(flowers[g].len()), *g));
        groups.truncate(SIDES);
        let prior = LifePrior::of(self.genus(), kind);
        let compared = compare(&self.of_kind(kind), &groups, by, prior).map_err(|e| failed(&e))?;
        let Some(c) = compared else { return Ok(None) };
        let places = match by {
            By::Clone => Vec::new(),
            By::Place => reader.places()?,
        };
        let called = |group: i64| match by {
            By::Clone => self.first_of(group).map(|p| (p.number, p.name.clone())),
            By::Place => places.iter().find(|p| p.id == group).map(|p| (p.number, p.name.clone())),
        };
        let (number, name) = called(c.first).unwrap_or_default();
        let (ended, umbels) = (c.ended, c.umbels);
        let mut sides =
            vec![Side { number, name, ended, umbels, ratio: None, longer: None, words: "" }];
        for b in &c.others {
            let (number, name) = called(b.group).unwrap_or_default();
            sides.push(Side {
                number,
                name,
                ended: b.ended,
                umbels: b.umbels,
                ratio: Some(b.ratio),
                longer: Some(b.longer),
                words: c.words(b),
            });
        }
        Ok(Some(Sides { by, kind, sides, by_chance: c.by_chance }))
    }

    /// Flowers or umbels: what was followed most.
    fn kind_of(&self, followed: &[&Followed]) -> FlowerKind {
        let of: Vec<&Followed> =
            if followed.is_empty() { self.followed.iter().collect() } else { followed.to_vec() };
        super::lasts::commonest(&of)
    }
}
