//! How much feed does this plant want now?

use culture::{Basis as Source, feed::scaled_by_light};
use journal::{EntryRow, Known, PlantRow, Reader};
use serde_json::Value;

use super::{
    kept::Growth,
    rate::{GroupRate, group_of, rate_of},
};
use crate::{
    Answer, Basis, Caution, Estimate, Evidence, Gap, Hand, Mark, Result, Unit,
    acts::plants::need_plant, climate,
};

/// After potting no feed for so long \[d\]. Common practice, no source.
const SETTLING: i64 = 21;
/// Without growth for so long there is nothing to feed \[d\]. Common practice, no source.
const STILL: i64 = 30;
/// Light is that of so many days \[d\], and of so many at least.
const LIGHT_DAYS: i64 = 14;
const LIGHT_NEEDED: usize = 3;
/// How far off the light where the leaves are is, as a share of it. Common practice, no source.
const LIGHT_OFF: f64 = 0.3;
const LEVEL: f64 = 0.8;

/// Answers the question for the plant of this number.
pub(crate) fn need(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<Answer> {
    let plant = need_plant(reader, number)?;
    if let Some((frame, evidence)) = not_now(reader, &plant, hand)? {
        return Ok(Answer {
            question: "feed",
            frame,
            usually: None,
            next: None,
            evidence,
            basis: Basis::CommonPractice,
            gaps: Vec::new(),
            cautions: cautions(),
            not_enough: None,
        });
    }
    let known = group_of(&plant.genus);
    let Some(group) = known.or_else(|| rate_of("foliage in low light")) else {
        return Err(crate::AskError::field("group", &plant.genus, "has no rate"));
    };
    let light = light(reader, &plant, hand)?;
    let mut gaps = Vec::new();
    if known.is_none() {
        gaps.push(Gap {
            text: "To which group its genus belongs is not known here; the weakest rate is taken.",
            n: 0,
        });
    }
    if light.is_none() {
        gaps.push(Gap {
            text: "The light at its place is not known; this is for growing light, and less light wants less.",
            n: 0,
        });
    }
    gaps.push(Gap {
        text: "This is for every watering; at every fourth watering four times as much.",
        n: 0,
    });
    let evidence = light
        .as_ref()
        .map(|l| l.evidence.clone())
        .unwrap_or(Evidence { what: "one day of light|{n} days of light", ..Evidence::default() });
    Ok(Answer {
        question: "feed",
        frame: "In every watering it *usually* wants {value}",
        usually: Some(wanted(&group, light.as_ref().map(|l| l.mean))),
        next: None,
        evidence,
        basis: match group.rate.nitrogen.basis {
            Source::Published => Basis::Published { source: group.rate.nitrogen.source },
            _ => Basis::CommonPractice,
        },
        gaps,
        cautions: cautions(),
        not_enough: None,
    })
}

/// The group's rate, less where there is less light.
fn wanted(group: &GroupRate, light: Option<f64>) -> Estimate {
    let (from, to) = group.range();
    let scaled = |rate: f64, light: f64| scaled_by_light(rate, light, group.light).unwrap_or(rate);
    let (value, lower, upper) = match light {
        None => (group.rate.nitrogen.value, from, to),
        Some(l) => (
            scaled(group.rate.nitrogen.value, l),
            scaled(from, l * (1.0 - LIGHT_OFF)),
            scaled(to, l * (1.0 + LIGHT_OFF)),
        ),
    };
    Estimate {
        value: Some(value),
        lower: Some(lower),
        upper: Some(upper),
        level: LEVEL,
        unit: Unit::Nitrogen,
    }
}

struct Light {
    mean: f64,
    evidence: Evidence,
}

/// The light of the last fortnight at its place.
fn light(reader: &Reader<'_>, plant: &PlantRow, hand: &Hand) -> Result<Option<Light>> {
    let Some(place) = plant.place_id else { return Ok(None) };
    let today = hand.today_number();
    let mut evidence =
        Evidence { what: "one day of light|{n} days of light", ..Evidence::default() };
    let mut sum = 0.0;
    let days = climate::days(reader, place, today - LIGHT_DAYS, today)?;
    for (day, found) in (today - LIGHT_DAYS..).zip(days) {
        if let Some(light) = found.light {
            sum += light.min(80.0);
            evidence.count(Known::Seen);
            evidence.reach(day, day);
            evidence.marks.push(Mark::At { day, known: Known::Seen });
        }
    }
    #[allow(clippy::cast_precision_loss)]
    let mean = sum / evidence.records.max(1) as f64;
    Ok((evidence.records >= LIGHT_NEEDED).then_some(Light { mean, evidence }))
}

/// Why it should not be fed now, and on which records that rests.
fn not_now(
    reader: &Reader<'_>,
    plant: &PlantRow,
    hand: &Hand,
) -> Result<Option<(&'static str, Evidence)>> {
    let today = hand.today_number();
    match Growth::of_word(&reader.claimed_words(plant.id, "growth")?) {
        Growth::Growing => {}
        Growth::Resting => {
            return Ok(Some(("Do *not* feed it now: it rests", Evidence::default())));
        }
        Growth::Rootless => {
            return Ok(Some(("Do *not* feed it now: it has no roots", Evidence::default())));
        }
    }
    let roots = reader.entries_of_kinds(plant.id, &["checked_roots", "potted"])?;
    let looked = roots.iter().rev().find(|e| e.detail.contains_key("roots") || rotten(e));
    if let Some(e) = looked.filter(|e| e.day_to.is_some_and(|d| today - d <= 60)) {
        if e.detail.get("roots").and_then(Value::as_str) == Some("none") {
            return Ok(Some(("Do *not* feed it now: no roots were found", one(e))));
        }
        if rotten(e) {
            return Ok(Some(("Do *not* feed it now: rotten roots were found", one(e))));
        }
    }
    let potted = roots.iter().rev().find(|e| e.kind == "potted");
    if let Some(e) = potted.filter(|e| e.day_from.is_some_and(|d| today - d < SETTLING)) {
        let frame = "Do *not* feed it now: it was potted less than three weeks ago";
        return Ok(Some((frame, one(e))));
    }
    let measured = reader.entries_of_kinds(plant.id, &["measured"])?;
    Ok(stands_still(&measured, today)
        .map(|e| ("Do *not* feed it now: nothing has grown for a month", e)))
}

fn rotten(e: &EntryRow) -> bool {
    e.detail.get("rotten").and_then(Value::as_bool).unwrap_or(false)
}

fn what() -> Evidence {
    Evidence { what: "one look|{n} looks", plants: 1, ..Evidence::default() }
}

fn add(evidence: &mut Evidence, e: &EntryRow) {
    evidence.count(e.known);
    if let (Some(from), Some(to)) = (e.day_from, e.day_to) {
        evidence.reach(from, to);
        evidence.marks.push(Mark::At { day: to, known: e.known });
    }
}

fn one(e: &EntryRow) -> Evidence {
    let mut evidence = what();
    add(&mut evidence, e);
    evidence
}

/// The two looks between which nothing grew: every length that was measured at both ends of the
/// last month or more, the latest no longer ago than that again.
fn stands_still(measured: &[EntryRow], today: i64) -> Option<Evidence> {
    let length = |e: &EntryRow| {
        let value = e.detail.get("length")?.get("value")?.as_f64()?;
        Some((e.detail.get("what")?.as_str()?.to_owned(), e.day_to?, value))
    };
    let mut evidence = what();
    for (i, e) in measured.iter().enumerate().rev() {
        let Some((what, day, now)) = length(e) else { continue };
        if today - day > STILL || measured[i + 1..].iter().filter_map(length).any(|l| l.0 == what) {
            continue;
        }
        let before = measured[..i]
            .iter()
            .rev()
            .find(|b| length(b).is_some_and(|l| l.0 == what && day - l.1 >= STILL));
        let Some((b, (_, _, then))) = before.and_then(|b| Some((b, length(b)?))) else { continue };
        // A millimetre is what a tape can tell.
        if now - then > 0.1 {
            return None;
        }
        add(&mut evidence, b);
        add(&mut evidence, e);
    }
    (evidence.records > 0).then_some(evidence)
}

fn cautions() -> Vec<Caution> {
    super::CAUTIONS[2..].to_vec()
}
