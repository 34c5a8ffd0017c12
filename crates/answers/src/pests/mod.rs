//! Pests: what is where, since when, whether it is still there; when to look and to treat again;
//! newcomers; groups of modes of action; who stood beside it; and what was sprayed.

mod apart;
mod beside;
mod house;
mod lines;
mod rotation;
pub mod species;
mod sprayed;
mod told;
mod trouble;
mod when;
mod words;

use journal::{Reader, SubjectKind};
use serde::Serialize;
use texts::Texts;

use crate::{AskError, Hand, Result, acts::plants::need_plant, said::day_words};
use house::House;

pub use apart::{Newcomers, TARGET as NEWCOMER_TARGET};
pub use beside::{Beside, Neighbours, Upstream};
pub use house::{Named, Unit};
pub(crate) use lines::due;
pub use rotation::{Groups, Rotation, groups};
pub use sprayed::{Sprayed, SprayedList, Way};
pub use told::Told;
pub use trouble::{Sighting, State, Treatment, Trouble};
pub use when::{Span, Window};

/// A trouble with everything that is said about it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TroubleSaid {
    /// The trouble.
    pub trouble: Trouble,
    /// In words.
    pub told: Told,
    /// Who stood beside it; only for those that are open.
    pub neighbours: Option<Neighbours>,
    /// What was used on its population.
    pub rotation: Option<Rotation>,
}

impl TroubleSaid {
    /// What one tap writes about: the one plant, or the place.
    #[must_use]
    pub fn taps(&self) -> Option<Unit> {
        self.trouble.about()
    }
}

/// Newcomers with what is said about them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NewcomersSaid {
    /// Which.
    pub newcomers: Newcomers,
    /// In words.
    pub told: Told,
}

/// A damaged leaf, with what had reached the plant before.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DamageSaid {
    /// The plant.
    pub plant: Named,
    /// The entry as a sentence with its date.
    pub text: String,
    /// When it was first noted \[days since 1970-01-01\].
    pub day: i64,
    /// The date for an address, such as 2025-11-03.
    pub date: String,
    /// How many treatments had reached the plant by then.
    pub treatments: usize,
}

/// What there is to say about pests, of the house, a place or a plant.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct Pests {
    /// Troubles that may still be there.
    pub open: Vec<TroubleSaid>,
    /// Troubles of which nothing was written for half a year.
    pub silent: Vec<TroubleSaid>,
    /// Troubles that are taken to be over.
    pub over: Vec<TroubleSaid>,
    /// Newcomers.
    pub newcomers: Vec<NewcomersSaid>,
    /// Damage of the last year.
    pub damage: Vec<DamageSaid>,
    /// Open troubles beside which a plant stood, in words.
    pub near: Vec<String>,
}

impl Pests {
    /// Whether there is nothing to say.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.open.is_empty()
            && self.silent.is_empty()
            && self.over.is_empty()
            && self.newcomers.is_empty()
            && self.damage.is_empty()
            && self.near.is_empty()
    }
}

/// Everything about pests in the house.
///
/// # Errors
/// If the record cannot be read.
pub fn of_house(reader: &Reader<'_>, hand: &Hand) -> Result<Pests> {
    gather(&House::read(reader, hand)?, None)
}

/// What concerns the place of this number: found there, or new there.
///
/// # Errors
/// If there is no such place or the record cannot be read.
pub fn of_place(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<Pests> {
    if reader.place(number)?.is_none() {
        return Err(AskError::NotThere {
            kind: "place",
            which: number.to_string(),
            next: "the list of places shows which there are",
        });
    }
    gather(&House::read(reader, hand)?, Some(Unit { kind: SubjectKind::Place, number }))
}

/// What concerns the plant of this number: found on it or its place while it stands there, or new.
///
/// # Errors
/// If there is no such plant or the record cannot be read.
pub fn of_plant(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<Pests> {
    need_plant(reader, number)?;
    gather(&House::read(reader, hand)?, Some(Unit { kind: SubjectKind::Plant, number }))
}

/// Every treatment that reached a plant: on it, on its place while it stood there, or on the plant
/// that it was taken from; up to the day `before`, if one is given. Days are counted back from that
/// day, or from the first damage noted within a year.
///
/// # Errors
/// If there is no such plant or the record cannot be read.
pub fn sprayed(
    reader: &Reader<'_>,
    number: i64,
    before: Option<jiff::civil::Date>,
    hand: &Hand,
) -> Result<SprayedList> {
    let house = House::read(reader, hand)?;
    sprayed::of(&house, number, before.map(|d| i64::from(dates::to_days(d))))
}

/// What holds for all of it: cautions, and hygiene against viruses, as lead and text.
#[must_use]
pub fn cautions(t: Texts) -> Vec<(String, String)> {
    let house_rule = crate::Caution {
        lead: "In rooms.",
        text: "Use in a dwelling only what its label allows there, and keep it in its package, locked away from children and pets. No recipe of one's own: what is mixed in a kitchen has no label, and burns leaves.",
    };
    [words::label_first(), words::pets(), house_rule, told::virus_caution()]
        .iter()
        .map(|c| (t.t(c.lead).to_owned(), t.t(c.text).to_owned()))
        .collect()
}

fn gather(house: &House<'_, '_>, only: Option<Unit>) -> Result<Pests> {
    let mut out = Pests::default();
    for f in trouble::all(house)? {
        if !concerns(house, &f.trouble, only) {
            out.near.extend(stood_near(house, &f, only)?);
            continue;
        }
        let open = f.trouble.state == State::Open;
        let said = TroubleSaid {
            told: told::of_trouble(&f, house),
            neighbours: if open { Some(beside::of(&f, house)?) } else { None },
            rotation: if f.trouble.state == State::Silent {
                None
            } else {
                rotation::of(&f, house)?
            },
            trouble: f.trouble,
        };
        match said.trouble.state {
            State::Open => out.open.push(said),
            State::Silent => out.silent.push(said),
            State::Over => out.over.push(said),
        }
    }
    for (newcomers, told) in apart::all(house)? {
        let here = match only {
            None => true,
            Some(u) if u.kind == SubjectKind::Place => {
                newcomers.place.as_ref().is_some_and(|p| p.0 == u.number)
            }
            Some(u) => newcomers.plants.iter().any(|p| p.unit == u),
        };
        if here {
            out.newcomers.push(NewcomersSaid { newcomers, told });
        }
    }
    out.damage = damage(house, only)?;
    Ok(out)
}

/// That a plant stood near an open trouble, with the reasons.
fn stood_near(
    house: &House<'_, '_>,
    f: &trouble::Followed<'_>,
    only: Option<Unit>,
) -> Result<Option<String>> {
    let plant = only.filter(|u| u.kind == SubjectKind::Plant);
    let Some(unit) = plant.filter(|_| f.trouble.state == State::Open) else { return Ok(None) };
    let Some(beside) = beside::of_one(f, house, unit)? else { return Ok(None) };
    let t = house.t();
    let looked = match beside.looked {
        Some(day) => t.f("looked at on {day}, clean", &[("day", &day_words(day, house.hand))]),
        None => t.t("not looked at since").to_owned(),
    };
    let (pest, place) = (words::capital(&f.trouble.pest), f.trouble.place_words(house));
    Ok(Some(t.f(
        "{pest}, {place}, is near it: {reasons}; {looked}.",
        &[
            ("pest", &pest),
            ("place", &place),
            ("reasons", &beside.reasons.join("; ")),
            ("looked", &looked),
        ],
    )))
}

fn concerns(house: &House<'_, '_>, trouble: &Trouble, only: Option<Unit>) -> bool {
    match only {
        None => true,
        Some(unit) if unit.kind == SubjectKind::Place => {
            trouble.place.as_ref().is_some_and(|p| p.0 == unit.number)
                || trouble.on.iter().any(|n| n.here && house.place_now(n.unit) == Some(unit.number))
        }
        Some(unit) => trouble.on.iter().any(|n| {
            n.unit == unit
                || (n.unit.kind == SubjectKind::Place
                    && house.place_at(unit, trouble.last_found()) == Some(n.unit.number))
        }),
    }
}

fn damage(house: &House<'_, '_>, only: Option<Unit>) -> Result<Vec<DamageSaid>> {
    let mut out = Vec::new();
    for s in house.damage.iter().rev() {
        let wanted = match only {
            None => house.today - s.to <= 365,
            Some(unit) => {
                s.unit == unit
                    || house.place_now(s.unit) == Some(unit.number)
                        && unit.kind == SubjectKind::Place
            }
        };
        if !wanted {
            continue;
        }
        let sentence = crate::entry_sentence(house.reader, &s.entry, house.t())?;
        let list = sprayed::of(house, s.unit.number, Some(s.to))?;
        out.push(DamageSaid {
            plant: house.named(s.unit)?,
            text: format!("{}: {}", day_words(s.to, house.hand), sentence.text),
            day: s.to,
            date: i32::try_from(s.to)
                .ok()
                .and_then(dates::from_days)
                .map(|d| d.to_string())
                .unwrap_or_default(),
            treatments: list.treatments.len(),
        });
    }
    Ok(out)
}
