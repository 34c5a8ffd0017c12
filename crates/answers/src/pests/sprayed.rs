//! Every treatment that reached a plant, and how long before a damage was first noted.

use journal::{SubjectKind, Uid};
use serde::Serialize;

use super::house::{House, Sign, Unit};
use crate::{Result, acts::plants::need_plant, entry_sentence, said::day_words};

/// How a treatment reached a plant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// It was done to the plant.
    Itself,
    /// It was done to the place while the plant stood there.
    Place,
    /// It was done to the place on a vague date; the plant stood there for part of that time.
    PlacePerhaps,
    /// It reached the plant from which this one was taken, before it was taken.
    Mother,
}

/// One treatment.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sprayed {
    /// The entry.
    pub entry: Uid,
    /// First possible day \[days since 1970-01-01\].
    pub from: i64,
    /// Last possible day \[days since 1970-01-01\].
    pub to: i64,
    /// The date in words.
    pub date: String,
    /// The product as written; none when it is unknown.
    pub product: Option<String>,
    /// The entry as a sentence.
    pub text: String,
    /// The note of the entry.
    pub note: Option<String>,
    /// How it reached the plant.
    pub way: Way,
    /// The same in words.
    pub way_words: String,
    /// Days before the damage: fewest and most; none without a damage, or after it.
    pub before: Option<(i64, i64)>,
    /// The same in words.
    pub before_words: String,
}

/// What was sprayed, up to a day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SprayedList {
    /// The plant.
    pub plant: i64,
    /// The day that is counted back from \[days since 1970-01-01\].
    pub up_to: Option<i64>,
    /// What that day is, in words: the damage first noted, or a date that was asked for.
    pub counted_from: String,
    /// The treatments, the latest first.
    pub treatments: Vec<Sprayed>,
    /// What is not known, in words.
    pub gaps: Vec<String>,
}

/// The damage of a plant, the first noted first.
pub(crate) fn damage<'h>(house: &'h House<'_, '_>, number: i64) -> Vec<&'h Sign> {
    let unit = Unit { kind: SubjectKind::Plant, number };
    house.damage.iter().filter(|s| s.unit == unit).collect()
}

/// Every treatment that reached the plant, up to a day if one is given. Days are counted back from
/// that day, or from the first damage that was noted within a year.
pub(crate) fn of(house: &House<'_, '_>, number: i64, before: Option<i64>) -> Result<SprayedList> {
    let t = house.t();
    let row = need_plant(house.reader, number)?;
    let recent = |s: &&&Sign| house.today - s.to <= 365;
    let noted = damage(house, number).iter().find(recent).map(|s| s.to);
    let (up_to, counted_from) = match (before, noted) {
        (Some(day), _) => (Some(day), day_words(day, house.hand)),
        (None, Some(day)) => (
            Some(day),
            t.f("the damage first noted on {day}", &[("day", &day_words(day, house.hand))]),
        ),
        (None, None) => (None, String::new()),
    };
    let unit = Unit { kind: SubjectKind::Plant, number };
    let mut treatments = Vec::new();
    collect(house, unit, before.unwrap_or(i64::MAX), None, up_to, &mut treatments)?;
    let mut gaps = Vec::new();
    match mother(house, number)? {
        Some((mother, taken)) => {
            let last = before.unwrap_or(i64::MAX).min(taken);
            collect(house, mother, last, Some(mother.number), up_to, &mut treatments)?;
        }
        None if !row.own && !row.keeper.is_empty() => gaps.push(t.f(
            "What {keeper} sprayed on it before it came is not recorded; ask.",
            &[("keeper", &row.keeper)],
        )),
        None => {}
    }
    if !house.stays.contains_key(&unit) {
        gaps.push(
            t.t("Where it stood is not recorded: treatments of whole places may be missing here.")
                .to_owned(),
        );
    }
    let vague = treatments.iter().filter(|s: &&Sprayed| s.way == Way::PlacePerhaps).count();
    if vague > 0 {
        gaps.push(t.t("Where the date of a treatment is vague, the plant may have stood elsewhere that day.").to_owned());
    }
    treatments.sort_by_key(|s| (std::cmp::Reverse(s.to), s.entry));
    Ok(SprayedList { plant: number, up_to, counted_from, treatments, gaps })
}

/// The plant that this one is a piece of, and the last day on which it was one with it.
fn mother(house: &House<'_, '_>, number: i64) -> Result<Option<(Unit, i64)>> {
    for s in house.signs("arrived")?.iter().rev() {
        if s.unit != (Unit { kind: SubjectKind::Plant, number }) {
            continue;
        }
        let Some(uid) = s.words("piece_of").and_then(|w| w.parse::<Uid>().ok()) else { continue };
        if let Some(plant) = house.reader.plant_by_uid(uid)? {
            return Ok(Some((Unit { kind: SubjectKind::Plant, number: plant.number }, s.to)));
        }
    }
    Ok(None)
}

fn collect(
    house: &House<'_, '_>,
    unit: Unit,
    last: i64,
    mother: Option<i64>,
    up_to: Option<i64>,
    out: &mut Vec<Sprayed>,
) -> Result<()> {
    let t = house.t();
    for s in house.treated.iter().filter(|s| s.from <= last) {
        let way = match way(house, s, unit) {
            Some(way) if mother.is_none() => way,
            Some(_) => Way::Mother,
            None => continue,
        };
        if out.iter().any(|o| o.entry == s.entry.uid) {
            continue;
        }
        let place = house.place_name(Some(s.unit.number));
        let way_words = match (way, mother) {
            (Way::Itself, _) => t.t("on the plant").to_owned(),
            (Way::Place, _) => t.f("on {place}, while it stood there", &[("place", &place)]),
            (Way::PlacePerhaps, _) => {
                t.f("on {place}, where it stood for part of that time", &[("place", &place)])
            }
            (Way::Mother, number) => {
                t.f("on plant {n}, from which it was taken", &[("n", &number.unwrap_or_default())])
            }
        };
        let sentence = entry_sentence(house.reader, &s.entry, t)?;
        let before =
            up_to.filter(|d| s.from <= *d).map(|d| ((d - s.to).max(0), (d - s.from).max(0)));
        out.push(Sprayed {
            entry: s.entry.uid,
            from: s.from,
            to: s.to,
            date: dates::say(&s.entry.happened, house.hand.lang, Some(house.hand.today)),
            product: s.words("product").filter(|_| !s.flag("unknown_product")).map(str::to_owned),
            text: sentence.text,
            note: sentence.note,
            way,
            way_words,
            before,
            before_words: match (before, up_to) {
                (Some(days), _) => before_words(days, t),
                (None, Some(_)) => t.t("after it").to_owned(),
                (None, None) => String::new(),
            },
        });
    }
    Ok(())
}

fn way(house: &House<'_, '_>, s: &Sign, unit: Unit) -> Option<Way> {
    if s.unit == unit {
        return Some(Way::Itself);
    }
    if s.unit.kind != SubjectKind::Place {
        return None;
    }
    let there = |from: i64, to: i64| {
        house
            .stays
            .get(&unit)
            .into_iter()
            .flatten()
            .any(|x| x.place == s.unit.number && x.from <= from && to <= x.to)
    };
    if there(s.from, s.to) {
        return Some(Way::Place);
    }
    let overlaps = house
        .stays
        .get(&unit)
        .into_iter()
        .flatten()
        .any(|x| x.place == s.unit.number && x.from <= s.to && s.from <= x.to);
    (s.from != s.to && overlaps).then_some(Way::PlacePerhaps)
}

/// Days before, in words: “12 days before”, “10 to 40 days before”.
fn before_words((fewest, most): (i64, i64), t: texts::Texts) -> String {
    if fewest == most {
        return t.f("one day before|{n} days before", &[("n", &fewest)]);
    }
    t.f("{a} to {b} days before", &[("a", &fewest), ("b", &most)])
}
