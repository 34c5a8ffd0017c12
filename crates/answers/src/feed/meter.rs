//! What the meter showed beside what was to be expected.

use culture::{
    Estimate,
    feed::{compare, label_slope, mixed},
    reservoir,
};
use journal::{EntryRow, Reader};
use serde::Serialize;
use serde_json::Value;

use super::{
    kept::{Kept, kept},
    strength::{Fed, fed},
};
use crate::{
    AskError, Hand, Result,
    due::About,
    said::{figures, range_figures},
};

/// A reading of a conductivity meter.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Metered {
    /// When, in words.
    pub date: String,
    /// What it is about.
    pub about: About,
    /// What was measured, in the reader's language.
    pub what: String,
    /// What the meter showed \[mS/cm\].
    pub measured: f64,
    /// What was to be expected \[mS/cm\], where that can be said.
    pub expected: Option<Estimate>,
    /// How far it is above that \[%\].
    pub off: Option<f64>,
    /// The reading and what was to be expected, in the reader's language.
    pub beside: String,
    /// What it can mean, in the reader's language; empty where nothing is odd.
    pub words: String,
}

/// The latest readings, the newest first.
///
/// # Errors
/// If the record cannot be read.
pub fn metered(reader: &Reader<'_>, most: usize, hand: &Hand) -> Result<Vec<Metered>> {
    let kept = kept(reader)?;
    let mut out = Vec::new();
    for e in reader.latest_with("watered", "conductivity", most)? {
        out.push((e.day_to, watered(&e, &kept, hand)?));
    }
    for e in reader.latest_with("reservoir", "conductivity", most)? {
        out.push((e.day_to, stood(reader, &e, hand)?));
    }
    out.sort_by_key(|(day, _)| std::cmp::Reverse(*day));
    Ok(out.into_iter().take(most).map(|m| m.1).collect())
}

fn shown(e: &EntryRow) -> f64 {
    let value = e.detail.get("conductivity").and_then(|v| v.get("value"));
    value.and_then(Value::as_f64).unwrap_or(0.0)
}

fn base(e: &EntryRow, what: String, hand: &Hand) -> Metered {
    let t = hand.texts();
    let measured = shown(e);
    Metered {
        date: dates::say(&e.happened, hand.lang, Some(hand.today)),
        about: About { kind: e.subject_kind, number: e.subject_number },
        what,
        measured,
        expected: None,
        off: None,
        beside: t.f("{n} mS/cm", &[("n", &figures(measured, 2, hand.lang))]),
        words: String::new(),
    }
}

/// Says a reading beside what was to be expected.
fn held_beside(out: &mut Metered, expected: Estimate, off: f64, hand: &Hand) {
    let t = hand.texts();
    out.expected = Some(expected);
    out.off = Some(off);
    let (percent, range) = (
        figures(off.abs().round(), 3, hand.lang),
        range_figures(expected.lower, expected.upper, 2, hand.lang),
    );
    let values: [(&str, &dyn std::fmt::Display); 3] =
        [("n", &figures(out.measured, 2, hand.lang)), ("range", &range), ("p", &percent)];
    out.beside = if off >= 0.0 {
        t.f("{n} mS/cm, expected {range}: {p} % above the middle", &values)
    } else {
        t.f("{n} mS/cm, expected {range}: {p} % below the middle", &values)
    };
}

/// What was poured, against feed and water.
fn watered(e: &EntryRow, kept: &Kept, hand: &Hand) -> Result<Metered> {
    let t = hand.texts();
    let words = |key: &str| e.detail.get(key).and_then(Value::as_str).unwrap_or("");
    let named = match (words("feed"), words("feed_rate")) {
        ("", _) => t.t("water without feed").to_owned(),
        (feed, "") => feed.to_owned(),
        (feed, rate) => format!("{feed}, {rate}"),
    };
    let mut out = base(e, named, hand);
    let water = kept.waters.iter().find(|w| w.kind == words("water")).and_then(|w| w.conducts());
    let Some(water) = water else {
        out.words = t
            .t("which water it was is not written down, or its conductivity is not on the shelf")
            .to_owned();
        return Ok(out);
    };
    let (expected, urea) = match fed(e, kept) {
        Fed::Plain => (water, false),
        Fed::Unknown => {
            out.words = t.t("the feed is not on the shelf").to_owned();
            return Ok(out);
        }
        Fed::Known { feed, nitrogen } => {
            let of = &kept.feeds[feed];
            let slope = label_slope(of.at).map_err(|x| out_of_range(&of.name, &x))?;
            let at = |w: f64, n: f64, s: f64| mixed(w, n, &Estimate::exact(s)).value;
            let expected = Estimate {
                value: at(water.value, nitrogen.value, slope.value),
                lower: at(water.lower, nitrogen.lower, slope.lower),
                upper: at(water.upper, nitrogen.upper, slope.upper),
            };
            (expected, of.urea.is_some_and(|u| u > 0.0))
        }
    };
    let Ok(found) = compare(out.measured, expected) else { return Ok(out) };
    held_beside(&mut out, expected, found.residual, hand);
    if found.off {
        out.words = if found.residual > 0.0 {
            t.t("more than a fifth above: a heaped or wrong scoop, too little water, or harder water than its report").to_owned()
        } else if urea {
            t.t("more than a fifth below: urea, which no meter shows; or a short scoop, damp salt")
                .to_owned()
        } else {
            t.t("more than a fifth below: a short or wrong scoop, damp salt, or softer water than its report").to_owned()
        };
    }
    Ok(out)
}

fn out_of_range(feed: &str, e: &culture::OutOfRange) -> AskError {
    AskError::field("feed", feed, e.to_string())
}

/// What stands in a reservoir, against what it was filled with.
fn stood(reader: &Reader<'_>, e: &EntryRow, hand: &Hand) -> Result<Metered> {
    let t = hand.texts();
    let mut out = base(e, t.t("reservoir").to_owned(), hand);
    let filled = |f: &EntryRow| f.detail.get("filled").and_then(Value::as_bool).unwrap_or(false);
    if filled(e) {
        return Ok(out);
    }
    let subject = reader.subject(e.subject)?;
    let Some(subject) = subject else { return Ok(out) };
    let start = reader
        .entries_about(subject.id, 200)?
        .into_iter()
        .filter(|f| f.live && f.kind == "reservoir" && f.day_to < e.day_to)
        .find(|f| filled(f));
    let (Some(start), Some(now)) = (start, e.day_to) else { return Ok(out) };
    #[allow(clippy::cast_precision_loss)]
    let age = (now - start.day_to.unwrap_or(now)) as f64;
    let first = shown(&start);
    if first > 0.0 {
        let off = 100.0 * (out.measured / first - 1.0);
        held_beside(&mut out, Estimate::exact(first), off, hand);
        if reservoir::replace(first, out.measured, age) {
            out.words = t.f(
                "replace it: {n} mS/cm when it was filled; at 1.5 times that or after three weeks, common practice",
                &[("n", &figures(first, 2, hand.lang))],
            );
        }
    }
    Ok(out)
}
