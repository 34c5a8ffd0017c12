//! Who stood beside a trouble at the time, and should be looked at next; and where it may have come
//! from.

use std::collections::{BTreeMap, BTreeSet};

use culture::heat::{Near, SHARED_DAYS, begun, exposure};
use journal::SubjectKind;
use serde::Serialize;

use super::{
    house::{House, Named, Sign, Stay, Unit},
    trouble::Followed,
    when::warmth,
};
use crate::{Result, said::day_words};

/// Days are counted back so far at the most \[d\].
const LONGEST: i64 = 240;
/// How many are named.
const SHOWN: usize = 8;

/// A plant that stood beside it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Beside {
    /// Which.
    pub plant: Named,
    /// Exposure in days of touching: for the order, not for people.
    pub exposure: f64,
    /// Why, in words.
    pub reasons: Vec<String>,
    /// The last look since then that found nothing \[days since 1970-01-01\].
    pub looked: Option<i64>,
}

/// A plant that it may have come from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Upstream {
    /// Which.
    pub plant: Named,
    /// Why, in words.
    pub reason: String,
}

/// Who is concerned besides those on which it was found.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct Neighbours {
    /// To be looked at next, the most exposed first.
    pub next: Vec<Beside>,
    /// How many more were exposed less.
    pub others: usize,
    /// Where it may have come from.
    pub upstream: Vec<Upstream>,
    /// Plants of which it is not recorded where they stood.
    pub nowhere: usize,
    /// The earliest day on which it may have begun \[days since 1970-01-01\].
    pub earliest: i64,
}

/// Where a source of infestation stood, and since when it may have been one.
struct Source {
    unit: Unit,
    earliest: i64,
    found: i64,
}

/// The neighbours of a trouble.
pub(crate) fn of(f: &Followed<'_>, house: &House<'_, '_>) -> Result<Neighbours> {
    let sources = sources(f, house)?;
    let earliest = sources.iter().map(|s| s.earliest).min().unwrap_or(house.today);
    let mut out = Neighbours { earliest, ..Neighbours::default() };
    for row in house.living.values() {
        let unit = Unit { kind: SubjectKind::Plant, number: row.number };
        if !house.stays.contains_key(&unit) {
            out.nowhere += 1;
        } else if let Some(beside) = one(f, house, &sources, unit)? {
            out.next.push(beside);
        }
    }
    out.next.sort_by(|a, b| {
        let key = |x: &Beside| (x.looked.is_some(), -x.exposure);
        key(a).partial_cmp(&key(b)).unwrap_or(std::cmp::Ordering::Equal)
    });
    out.others = out.next.len().saturating_sub(SHOWN);
    out.next.truncate(SHOWN);
    out.upstream = upstream(f, house, earliest)?;
    Ok(out)
}

/// Whether and why one plant stood beside it.
pub(crate) fn of_one(
    f: &Followed<'_>,
    house: &House<'_, '_>,
    unit: Unit,
) -> Result<Option<Beside>> {
    one(f, house, &sources(f, house)?, unit)
}

fn one(
    f: &Followed<'_>,
    house: &House<'_, '_>,
    sources: &[Source],
    unit: Unit,
) -> Result<Option<Beside>> {
    let (Some(stays), Some(earliest)) =
        (house.stays.get(&unit), sources.iter().map(|s| s.earliest).min())
    else {
        return Ok(None);
    };
    if f.trouble.on.iter().any(|n| n.unit == unit) {
        return Ok(None);
    }
    let looked = house
        .clean
        .iter()
        .filter(|s| s.from > f.trouble.since() && s.meant_for(&f.key))
        .filter(|s| house.reaches(s, unit))
        .map(|s| s.to)
        .max();
    let flies = f.trouble.species().flies;
    let found = exposed(house, sources, unit, stays, (earliest, house.today), flies)?;
    Ok(found.map(|b| Beside { looked, ..b }))
}

/// What was found infested, with the interval in which that began: after the last clean look, and no
/// longer ago than one generation (two where many were found).
fn sources(f: &Followed<'_>, house: &House<'_, '_>) -> Result<Vec<Source>> {
    let mut first: BTreeMap<Unit, (i64, bool)> = BTreeMap::new();
    for s in &f.finds {
        let many = s.words("how_many") == Some("many");
        first.entry(s.unit).or_insert((s.to, many));
    }
    let pest = f.trouble.species();
    let place = f.trouble.place.as_ref().map(|p| p.0);
    let mut out = Vec::new();
    for (unit, (found, many)) in first {
        let from = (found - 90).min(house.today);
        let length =
            warmth(house, place, from)?.generation(pest, from)?.map_or(28, |g| g.slow - from);
        let clean = house
            .clean
            .iter()
            .filter(|s| s.to < found && s.meant_for(&f.key) && house.reaches(s, unit))
            .map(|s| s.to)
            .max();
        let back = found - length * if many { 2 } else { 1 };
        let earliest = clean.unwrap_or(i64::MIN).max(back).max(found - LONGEST).min(found);
        out.push(Source { unit, earliest, found });
    }
    Ok(out)
}

/// How near two stood on a day.
fn near(house: &House<'_, '_>, source: Unit, day: i64, stays: &[Stay]) -> Option<(Near, i64)> {
    let mine = stays.iter().rfind(|s| s.from <= day && day <= s.to)?;
    let (place, spot) = match source.kind {
        SubjectKind::Place => (source.number, ""),
        _ => {
            let its = house.stays.get(&source)?;
            let its = its.iter().rfind(|s| s.from <= day && day <= s.to)?;
            (its.place, its.spot.as_str())
        }
    };
    let at = |n: i64| house.places.iter().position(|p| p.number == n);
    let near = if mine.place == place {
        if !spot.is_empty() && mine.spot == spot { Near::Touching } else { Near::SamePlace }
    } else if at(mine.place).zip(at(place)).is_some_and(|(a, b)| a.abs_diff(b) == 1) {
        Near::NextPlace
    } else {
        Near::Elsewhere
    };
    Some((near, place))
}

#[allow(clippy::cast_precision_loss)]
fn exposed(
    house: &House<'_, '_>,
    sources: &[Source],
    unit: Unit,
    stays: &[Stay],
    (from, until): (i64, i64),
    flies: bool,
) -> Result<Option<Beside>> {
    let mut days: Vec<(f64, Near)> = Vec::new();
    // Days that stand behind a reason, by how near and where.
    let mut spent: BTreeMap<(Near, i64), i64> = BTreeMap::new();
    for day in from..=until {
        let mut best: Option<(Near, i64)> = None;
        for s in sources {
            let chance = begun(s.earliest as f64, s.found as f64, day as f64);
            if chance <= 0.0 {
                continue;
            }
            if let Some((near, place)) = near(house, s.unit, day, stays) {
                days.push((chance, near));
                best = Some(best.map_or((near, place), |b| b.min((near, place))));
            }
        }
        if let Some(b) = best {
            *spent.entry(b).or_default() += 1;
        }
    }
    let mut score = exposure(days, flies);
    let t = house.t();
    let mut reasons: Vec<String> = Vec::new();
    let mut shared = shared(house, sources, unit);
    shared.dedup();
    for (day, what) in &shared {
        score += SHARED_DAYS;
        reasons.push(t.f(
            "shared a {what} with it on {day}",
            &[("what", &t.word(what)), ("day", &day_words(*day, house.hand))],
        ));
    }
    for ((near, place), n) in &spent {
        let name = house.place_name(Some(*place));
        let values: [(&str, &dyn std::fmt::Display); 2] = [("n", n), ("place", &name)];
        reasons.push(match near {
            Near::Touching => {
                t.f("one day leaf to leaf, {place}|{n} days leaf to leaf, {place}", &values)
            }
            Near::SamePlace => t.f(
                "one day at the same place, {place}|{n} days at the same place, {place}",
                &values,
            ),
            Near::NextPlace => t.f(
                "one day at the place next to {place}|{n} days at the place next to {place}",
                &values,
            ),
            Near::Elsewhere => continue,
        });
    }
    // Only “somewhere in the house” is no reason to name one plant before another.
    if reasons.is_empty() {
        return Ok(None);
    }
    Ok(Some(Beside { plant: house.named(unit)?, exposure: score, reasons, looked: None }))
}

/// Tools, trays and water that a plant shared with a source since it may have been infested.
fn shared(house: &House<'_, '_>, sources: &[Source], unit: Unit) -> Vec<(i64, String)> {
    let mut out = Vec::new();
    for s in &house.shared {
        let all = partners(house, s);
        if !all.contains(&unit) {
            continue;
        }
        if sources.iter().any(|o| all.contains(&o.unit) && s.to >= o.earliest) {
            out.push((s.to, s.words("what").unwrap_or("tool").to_owned()));
        }
    }
    out
}

/// Everything that shared something, by units.
fn partners(house: &House<'_, '_>, s: &Sign) -> BTreeSet<Unit> {
    let mut out = BTreeSet::from([s.unit]);
    let list = s.entry.detail.get("with").and_then(|v| v.as_array());
    for uid in list.into_iter().flatten().filter_map(|v| v.as_str()?.parse().ok()) {
        if let Ok(Some(row)) = house.reader.subject(uid) {
            out.insert(Unit { kind: row.kind, number: row.number });
        }
    }
    out
}

/// Where it may have come from: plants that had the same pest before and then stood there, and
/// plants that came to the place within the time in which it began.
fn upstream(f: &Followed<'_>, house: &House<'_, '_>, earliest: i64) -> Result<Vec<Upstream>> {
    let t = house.t();
    let Some(place) = f.trouble.place.as_ref().map(|p| p.0) else { return Ok(Vec::new()) };
    let since = f.trouble.since();
    let mine: BTreeSet<Unit> = f.trouble.on.iter().map(|n| n.unit).collect();
    let mut out: BTreeMap<Unit, String> = BTreeMap::new();
    for s in &house.found {
        let recent = s.to < since && s.to >= earliest - LONGEST;
        if !recent || !s.meant_for(&f.key) || mine.contains(&s.unit) {
            continue;
        }
        let stood = house.stays.get(&s.unit).into_iter().flatten();
        if stood.clone().any(|x| x.place == place && x.from <= since && x.to >= earliest) {
            out.insert(
                s.unit,
                t.f(
                    "had it on {day} and stood there then",
                    &[("day", &day_words(s.to, house.hand))],
                ),
            );
        }
    }
    for (unit, stays) in &house.stays {
        let came =
            stays.iter().find(|x| x.place == place && x.from >= earliest - 14 && x.from <= since);
        if let Some(stay) = came
            && !mine.contains(unit)
        {
            out.entry(*unit).or_insert_with(|| {
                t.f("came to the place on {day}", &[("day", &day_words(stay.from, house.hand))])
            });
        }
    }
    let named =
        out.into_iter().map(|(unit, reason)| Ok(Upstream { plant: house.named(unit)?, reason }));
    named.take(SHOWN).collect()
}
