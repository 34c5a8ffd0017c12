//! An answer in words: the one piece of code through which pages, labels, profiles and the
//! command say what an answer says.

use serde::Serialize;

use crate::{Answer, Basis, Estimate, Forecast, Hand, Unit};
use texts::{Lang, Texts};

/// What part of a sentence a bit is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum BitKind {
    /// Plain words.
    Plain,
    /// Words set back: “usually”, “next”.
    Weak,
    /// The computed value.
    Value,
    /// Its interval.
    Interval,
    /// What stands where a value would, when there is none.
    Absent,
}

/// A bit of a sentence.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Bit {
    /// What it is.
    pub kind: BitKind,
    /// The words.
    pub text: String,
}

/// An answer in words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Said {
    /// The sentence with value and interval.
    pub head: Vec<Bit>,
    /// The coming event.
    pub next: Vec<Bit>,
    /// The count on which it rests.
    pub count: String,
    /// Dates, how known, basis.
    pub basis: String,
    /// What is missing.
    pub gaps: Vec<String>,
    /// Cautions: the lead and the check.
    pub cautions: Vec<(String, String)>,
    /// What the evidence line shows, for readers who do not see it.
    pub line: String,
}

impl Said {
    /// The sentence as plain text.
    #[must_use]
    pub fn head_text(&self) -> String {
        joined(&self.head)
    }

    /// The coming event as plain text.
    #[must_use]
    pub fn next_text(&self) -> String {
        joined(&self.next)
    }
}

fn joined(bits: &[Bit]) -> String {
    bits.iter().map(|b| b.text.as_str()).collect()
}

/// Says an answer in the reader's language.
#[must_use]
pub fn say(answer: &Answer, hand: &Hand) -> Said {
    let t = hand.texts();
    let head = match (&answer.usually, &answer.not_enough) {
        (Some(e), _) => framed(t.t(answer.frame), estimate_bits(e, t)),
        (None, _) => framed(
            t.t(answer.frame),
            vec![Bit { kind: BitKind::Absent, text: t.t("not enough yet").to_owned() }],
        ),
    };
    let next = answer
        .next
        .as_ref()
        .map(|f| framed(t.t(f.frame), forecast_bits(f, hand)))
        .unwrap_or_default();
    let mut gaps: Vec<String> = answer.gaps.iter().map(|g| t.f(g.text, &[("n", &g.n)])).collect();
    if let Some(n) = &answer.not_enough {
        gaps.insert(
            0,
            t.f(
                "One is recorded, {need} are needed.|{n} are recorded, {need} are needed.",
                &[("n", &n.have), ("need", &n.need)],
            ),
        );
        gaps.insert(1, t.t(n.record).to_owned());
    }
    let count = counted(answer, t);
    let basis = basis_words(answer, hand);
    Said {
        head,
        next,
        line: format!("{count} {basis}"),
        count,
        basis,
        gaps,
        cautions: answer
            .cautions
            .iter()
            .map(|c| (t.t(c.lead).to_owned(), t.t(c.text).to_owned()))
            .collect(),
    }
}

/// Cuts a frame at its marks and puts the value in place.
fn framed(frame: &str, value: Vec<Bit>) -> Vec<Bit> {
    let mut out = Vec::new();
    let (before, after) = frame.split_once("{value}").unwrap_or((frame, ""));
    let weak = |text: &str, out: &mut Vec<Bit>| {
        for (i, piece) in text.split('*').enumerate() {
            if !piece.is_empty() {
                let kind = if i % 2 == 1 { BitKind::Weak } else { BitKind::Plain };
                out.push(Bit { kind, text: piece.to_owned() });
            }
        }
    };
    weak(before, &mut out);
    if frame.contains("{value}") {
        out.extend(value);
    }
    weak(after, &mut out);
    out
}

fn estimate_bits(e: &Estimate, t: Texts) -> Vec<Bit> {
    let width = match (e.lower, e.upper) {
        (Some(l), Some(u)) => Some(u - l),
        _ => None,
    };
    let unit = |n: &str| match e.unit {
        Unit::Days => t.f("one day|{n} days", &[("n", &n)]),
        Unit::Months => t.f("one month|{n} months", &[("n", &n)]),
        Unit::Conductivity => t.f("{n} mS/cm", &[("n", &n)]),
        Unit::Nitrogen => t.f("{n} mg/L of nitrogen", &[("n", &n)]),
        Unit::Percent => t.f("{n} %", &[("n", &n)]),
    };
    let lang = t.lang();
    let mut out = Vec::new();
    match (e.value, e.lower, e.upper) {
        (Some(v), Some(l), Some(u)) => {
            let digits = digits_for(width);
            out.push(Bit { kind: BitKind::Value, text: unit(&number(v, digits, lang)) });
            out.push(Bit {
                kind: BitKind::Interval,
                text: format!(" ({})", range_words(l, u, digits, lang)),
            });
        }
        (Some(v), Some(l), None) => {
            out.push(Bit { kind: BitKind::Value, text: unit(&number(v, 0, lang)) });
            let least = t.f("at least {n}", &[("n", &number(l, 0, lang))]);
            out.push(Bit { kind: BitKind::Interval, text: format!(" ({least})") });
        }
        (Some(v), None, upper) => {
            out.push(Bit { kind: BitKind::Value, text: unit(&number(v, 0, lang)) });
            if let Some(u) = upper {
                let most = t.f("at most {n}", &[("n", &number(u, 0, lang))]);
                out.push(Bit { kind: BitKind::Interval, text: format!(" ({most})") });
            }
        }
        (None, Some(l), _) => {
            let words = unit(&number(l, 0, lang));
            out.push(Bit { kind: BitKind::Value, text: t.f("at least {n}", &[("n", &words)]) });
        }
        (None, None, _) => {
            out.push(Bit { kind: BitKind::Absent, text: t.t("not enough yet").to_owned() });
        }
    }
    out
}

/// Decimals that the interval can bear: a step of the last digit is about a quarter of its width or
/// more, and never less than a tenth of it.
pub(crate) fn digits_for(width: Option<f64>) -> usize {
    match width {
        Some(w) if w < 0.15 => 2,
        Some(w) if w < 1.5 => 1,
        _ => 0,
    }
}

pub(crate) fn number(value: f64, digits: usize, lang: Lang) -> String {
    let mut text = format!("{value:.digits$}");
    if digits > 0 && text.ends_with(&format!(".{}", "0".repeat(digits))) {
        text.truncate(text.len() - digits - 1);
    }
    match lang {
        Lang::En => text,
        Lang::De => text.replace('.', ","),
    }
}

/// A number to so many figures, never in powers of ten.
pub(crate) fn figures(value: f64, digits: i32, lang: Lang) -> String {
    if value == 0.0 || !value.is_finite() {
        return number(value, 0, lang);
    }
    #[allow(clippy::cast_possible_truncation)]
    let before = value.abs().log10().floor() as i32 + 1;
    let decimals = digits - before;
    let step = 10f64.powi(-decimals);
    let rounded = (value / step).round() * step;
    let text = number(rounded, usize::try_from(decimals.max(0)).unwrap_or(0), lang);
    // 1.50 says no more than 1.5.
    if text.contains(['.', ',']) {
        text.trim_end_matches('0').trim_end_matches(['.', ',']).to_owned()
    } else {
        text
    }
}

/// A range to so many figures.
pub(crate) fn range_figures(lower: f64, upper: f64, digits: i32, lang: Lang) -> String {
    let (l, u) = (figures(lower, digits, lang), figures(upper, digits, lang));
    if l == u { l } else { format!("{l}–{u}") }
}

/// A range with an en dash; one number where both ends read the same.
#[must_use]
pub fn range_words(lower: f64, upper: f64, digits: usize, lang: Lang) -> String {
    let (l, u) = (number(lower, digits, lang), number(upper, digits, lang));
    if l == u { l } else { format!("{l}–{u}") }
}

fn forecast_bits(f: &Forecast, hand: &Hand) -> Vec<Bit> {
    let t = hand.texts();
    let words = |day: i64| day_words(day, hand);
    let mut out = Vec::new();
    match (f.day, f.from, f.to) {
        (Some(day), Some(from), Some(to)) => {
            out.push(Bit { kind: BitKind::Value, text: t.f("by {day}", &[("day", &words(day))]) });
            let range =
                if from == to { words(from) } else { format!("{}–{}", words(from), words(to)) };
            out.push(Bit { kind: BitKind::Interval, text: format!(" ({range})") });
        }
        (_, Some(from), _) => {
            out.push(Bit {
                kind: BitKind::Value,
                text: t.f("not before {day}", &[("day", &words(from))]),
            });
        }
        _ => out.push(Bit {
            kind: BitKind::Absent,
            text: t.t("on a day that cannot be said yet").to_owned(),
        }),
    }
    out
}

pub(crate) fn day_words(day: i64, hand: &Hand) -> String {
    i32::try_from(day)
        .ok()
        .and_then(dates::from_days)
        .map(|d| dates::say(&dates::Edtf::from_day(d), hand.lang, Some(hand.today)))
        .unwrap_or_default()
}

/// A span of days \[days since 1970-01-01\] in words.
#[must_use]
pub fn said_days((from, to): (i64, i64), hand: &Hand) -> String {
    if from == to {
        day_words(from, hand)
    } else {
        format!("{}–{}", day_words(from, hand), day_words(to, hand))
    }
}

fn counted(answer: &Answer, t: Texts) -> String {
    let e = &answer.evidence;
    if e.records == 0 {
        return t.t("No record yet.").to_owned();
    }
    let what = t.f(e.what, &[("n", &e.records)]);
    let what = capital(&what);
    match &answer.basis {
        Basis::LearntHere | Basis::MeasuredHere | Basis::Nothing => {
            t.f("{what} of this plant,", &[("what", &what)])
        }
        Basis::LearntFromClone => {
            t.f("{what} of {n} pieces of this clone,", &[("what", &what), ("n", &e.plants)])
        }
        Basis::Borrowed { from } => t.f(
            "{what} of {n} plants of {genus},",
            &[("what", &what), ("n", &e.plants), ("genus", from)],
        ),
        Basis::Published { .. } | Basis::CommonPractice => what,
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

fn basis_words(answer: &Answer, hand: &Hand) -> String {
    let t = hand.texts();
    let e = &answer.evidence;
    let mut parts: Vec<String> = Vec::new();
    if let (Some(a), Some(b)) = (e.first, e.last) {
        let span = if a == b {
            day_words(a, hand)
        } else {
            t.f("{a} to {b}", &[("a", &day_words(a, hand)), ("b", &day_words(b, hand))])
        };
        let mut known: Vec<String> = Vec::new();
        if e.seen == e.records {
            known.push(t.t("all seen at the time").to_owned());
        } else {
            let kinds = [
                (e.seen, "{n} seen at the time"),
                (e.from_photo, "{n} from photos"),
                (e.remembered, "{n} remembered later"),
                (e.told, "{n} told by others"),
            ];
            for (n, words) in kinds {
                if n > 0 {
                    known.push(t.f(words, &[("n", &n)]));
                }
            }
        }
        let known = known.join(", ");
        parts.push(format!("{span}: {known}."));
    }
    if e.between_looks > 0 {
        parts.push(t.f(
            "One ended between two looks.|{n} ended between two looks.",
            &[("n", &e.between_looks)],
        ));
    }
    if e.open > 0 {
        parts.push(t.f(
            "One had not ended when last looked at.|{n} had not ended when last looked at.",
            &[("n", &e.open)],
        ));
    }
    parts.push(match &answer.basis {
        Basis::MeasuredHere => t.t("Measured here.").to_owned(),
        Basis::LearntHere | Basis::LearntFromClone => t.t("Learnt from your records.").to_owned(),
        Basis::Borrowed { .. } => t.t("Borrowed from similar plants.").to_owned(),
        Basis::Published { source } => t.f("Published default: {source}.", &[("source", source)]),
        Basis::CommonPractice => t.t("Common practice, no source.").to_owned(),
        Basis::Nothing => String::new(),
    });
    parts.retain(|p| !p.is_empty());
    parts.join(" ")
}

/// A probability as a word and a whole percent, never 0 or 100.
pub(crate) fn chance_words(probability: f64, t: Texts) -> String {
    let percent = (100.0 * probability).round().clamp(1.0, 99.0);
    let word = match percent {
        95.0.. => t.t("almost certainly"),
        80.0.. => t.t("very likely"),
        60.0.. => t.t("likely"),
        40.0.. => t.t("as likely as not"),
        20.0.. => t.t("unlikely yet"),
        5.0.. => t.t("very unlikely"),
        _ => t.t("almost certainly not"),
    };
    format!("{word}, {percent:.0} %")
}

/// A share as a fraction, such as `3/8`, or in hundredths where no small fraction is exact.
#[must_use]
pub fn fraction_words(share: f64) -> String {
    for denominator in [1u32, 2, 4, 8, 16, 32, 64] {
        let n = share * f64::from(denominator);
        if (n - n.round()).abs() < 1e-9 {
            return if denominator == 1 {
                format!("{n:.0}")
            } else {
                format!("{n:.0}/{denominator}")
            };
        }
    }
    format!("{:.0} %", share * 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_no_finer_than_the_interval_can_bear() {
        assert_eq!(
            (digits_for(Some(1.1)), digits_for(Some(2.0)), digits_for(Some(0.1))),
            (1, 0, 2)
        );
        assert_eq!(range_words(5.1, 6.2, 1, Lang::En), "5.1–6.2");
        assert_eq!(range_words(5.1, 6.2, 1, Lang::De), "5,1–6,2");
        assert_eq!(range_words(9.0, 9.2, 0, Lang::En), "9");
        let four = [(0.7692, 3, "0.769"), (76.92, 3, "76.9"), (1284.0, 2, "1300"), (1.5, 3, "1.5")];
        for (value, digits, words) in four {
            assert_eq!(figures(value, digits, Lang::En), words);
        }
        assert_eq!(range_figures(0.652, 0.748, 2, Lang::De), "0,65–0,75");
        assert_eq!(
            (fraction_words(0.375), fraction_words(1.0)),
            ("3/8".to_owned(), "1".to_owned())
        );
    }
}
