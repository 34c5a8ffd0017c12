//! The evidence line: under each answer, a thin time axis with a mark for each record it rests on.

use std::fmt::Write;

use crate::evidence_layout::{Placed, Strip, end_texts, gap_texts, spans, tick_texts};
use crate::svg::{escape, line, num, pct};

/// How a record is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Seen {
    /// Seen and written down at the time.
    AtTheTime,
    /// Remembered later.
    Remembered,
    /// Read off a photo.
    FromPhoto,
    /// Told by somebody else.
    Told,
}

/// One record on the line. Days are counted from 1970-01-01.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Mark {
    /// On one day.
    At {
        /// The day.
        day: i64,
        /// How known.
        seen: Seen,
    },
    /// Between two looks, or on a date known only vaguely.
    Between {
        /// First possible day.
        from: i64,
        /// Last possible day.
        to: i64,
        /// How known.
        seen: Seen,
    },
    /// Still open when last looked at.
    Open {
        /// Beginning.
        from: i64,
        /// Last look.
        to: i64,
        /// How known.
        seen: Seen,
    },
    /// Borrowed from similar plants.
    Borrowed {
        /// The day.
        day: i64,
    },
    /// Records still missing: a count, not dates.
    Missing {
        /// How many.
        count: usize,
    },
}

impl Mark {
    /// First and last day, of the plant's own records only.
    pub(crate) fn own_days(&self) -> Option<(i64, i64)> {
        match *self {
            Mark::At { day, seen } if seen != Seen::Told => Some((day, day)),
            Mark::Between { from, to, seen } | Mark::Open { from, to, seen }
                if seen != Seen::Told =>
            {
                Some((from, to.max(from)))
            }
            _ => None,
        }
    }
}

/// What is drawn.
pub struct EvidenceLine<'a> {
    /// First day of the plant's life here.
    pub start: i64,
    /// Today.
    pub today: i64,
    /// The records, in any order. Days outside the axis are drawn at its end.
    pub marks: &'a [Mark],
    /// A sentence for screen readers that says what the line shows.
    pub aria: &'a str,
    /// The words on it.
    pub words: &'a EvidenceWords<'a>,
}

/// The words on an evidence line, in the reader's language.
pub struct EvidenceWords<'a> {
    /// Under the beginning of the axis: "autumn 2022".
    pub start: &'a str,
    /// Over the strip of the whole life: "whole life, from autumn 2022".
    pub whole_life: &'a str,
    /// "today".
    pub today: &'a str,
    /// Names of the months at which a quarter begins, after January: April, July, October.
    pub quarters: [&'a str; 3],
    /// "no record, 9 months", for a number of whole months.
    pub gap: &'a dyn Fn(u32) -> String,
    /// "9 months".
    pub gap_short: &'a dyn Fn(u32) -> String,
}

/// Draws the line: 46 px high on one scale, or 82 px on two when intervals are under two weeks and
/// the life over two years (above, the whole life; below, the last twelve months).
pub fn evidence_line(line: &EvidenceLine) -> String {
    if two_scales(line) { both(line) } else { single(line) }
}

const YEAR: i64 = 365;

fn two_scales(line: &EvidenceLine) -> bool {
    let mut lengths: Vec<i64> = line
        .marks
        .iter()
        .filter_map(|m| match *m {
            Mark::Between { from, to, .. } => Some(to - from),
            _ => None,
        })
        .collect();
    lengths.sort_unstable();
    let short = lengths.get(lengths.len() / 2).is_some_and(|&median| median < 14);
    let recent = |m: &Mark| m.own_days().is_some_and(|(_, last)| last > line.today - YEAR);
    short && line.today - line.start > 2 * YEAR && line.marks.iter().any(recent)
}

fn open_svg(class: &str, aria: &str) -> String {
    format!(r#"<svg class="{class}" role="img" aria-label="{}">"#, escape(aria))
}

fn single(line: &EvidenceLine) -> String {
    let strip = Strip::new(line.start, line.today);
    let mut out = open_svg("ev", line.aria);
    axis(&mut out, &strip, line.marks, 18.5);
    let placed = Placed::of(&strip, line.marks);
    for text in gap_texts(&strip, line.marks, &placed.missing, line.words) {
        text.write(&mut out, 13.0);
    }
    let starts = [line.words.start];
    ticks(&mut out, &strip, line.words, &starts, [18.0, 24.0], 42.0);
    draw_marks(&mut out, &placed, 0.0);
    crate::svg::line(&mut out, "now", [100.0, 100.0], [4.0, 24.0]);
    end_labels(&mut out, &starts, line.words.today, 42.0);
    out.push_str("</svg>");
    out
}

fn both(evidence: &EvidenceLine) -> String {
    let words = evidence.words;
    let life = Strip::new(evidence.start, evidence.today);
    let year = Strip::new(evidence.today - YEAR, evidence.today);
    let mut out = open_svg("ev both", evidence.aria);

    line(&mut out, "life", [0.0, 100.0], [20.5, 20.5]);
    let begins = life.at(year.from);
    line(&mut out, "flare", [begins, 0.0], [21.0, 54.0]);
    line(&mut out, "yr", [begins, begins], [15.0, 26.0]);
    for (from, to) in spans(evidence.marks) {
        solid(&mut out, &life, from, to, 20.5);
    }
    for (x, open) in Placed::dots(&life, evidence.marks) {
        let (class, r) = if open { ("dot rem", "2.6") } else { ("dot", "2.4") };
        let _ = write!(out, r#"<circle class="{class}" cx="{}" cy="20.5" r="{r}"/>"#, pct(x));
    }
    let starts = [words.whole_life, words.start];
    ticks(&mut out, &life, words, &starts, [20.0, 25.0], 11.0);
    end_labels(&mut out, &starts, words.today, 11.0);

    axis(&mut out, &year, evidence.marks, 54.5);
    ticks(&mut out, &year, words, &[], [54.0, 60.0], 78.0);
    let recent: Vec<Mark> = evidence.marks.iter().copied().filter(|m| year.shows(m)).collect();
    draw_marks(&mut out, &Placed::of(&year, &recent), 36.0);
    line(&mut out, "now", [100.0, 100.0], [16.0, 60.0]);
    out.push_str("</svg>");
    out
}

/// The dotted life and the solid stretches that are covered by records.
fn axis(out: &mut String, strip: &Strip, marks: &[Mark], y: f64) {
    line(out, "life", [0.0, 100.0], [y, y]);
    for (from, to) in spans(marks) {
        solid(out, strip, from, to, y);
    }
}

fn solid(out: &mut String, strip: &Strip, from: i64, to: i64, y: f64) {
    if to > strip.from && to > from {
        line(out, "span", [strip.at(from), strip.at(to)], [y, y]);
    }
}

fn ticks(
    out: &mut String,
    strip: &Strip,
    words: &EvidenceWords,
    starts: &[&str],
    y: [f64; 2],
    text_y: f64,
) {
    let (positions, texts) = tick_texts(strip, words, starts);
    for x in positions {
        line(out, "yr", [x, x], y);
    }
    for text in texts {
        text.write(out, text_y);
    }
}

fn end_labels(out: &mut String, starts: &[&str], today: &str, y: f64) {
    for text in end_texts(starts, today) {
        text.write(out, y);
    }
}

/// Marks of a strip whose axis lies `down` px below that of the single line.
fn draw_marks(out: &mut String, placed: &Placed, down: f64) {
    for &x in &placed.borrowed {
        line(out, "b", [x, x], [20.0 + down, 26.0 + down]);
    }
    for b in &placed.boxes {
        boxed(out, b.x, b.width, b.seen, down);
    }
    for b in &placed.open {
        open_box(out, b.x, b.width, b.seen, down);
    }
    for &(x, seen) in &placed.at {
        at(out, x, seen, down);
    }
    for &(x, width) in &placed.missing {
        let _ = write!(
            out,
            r#"<rect class="m" x="{}" y="{}" width="{}" height="13"/>"#,
            pct(x),
            num(5.5 + down),
            pct(width)
        );
    }
}

fn at(out: &mut String, x: f64, seen: Seen, down: f64) {
    match seen {
        Seen::AtTheTime => line(out, "x", [x, x], [4.0 + down, 23.0 + down]),
        Seen::Remembered => line(out, "x rem", [x, x], [4.0 + down, 23.0 + down]),
        Seen::Told => line(out, "told", [x, x], [18.5 + down, 29.0 + down]),
        Seen::FromPhoto => {
            line(out, "x", [x, x], [7.0 + down, 23.0 + down]);
            ring(out, x, 4.0 + down);
        }
    }
}

fn ring(out: &mut String, x: f64, y: f64) {
    let _ = write!(out, r#"<circle class="ring" cx="{}" cy="{}" r="3.25"/>"#, pct(x), num(y));
}

fn boxed(out: &mut String, x: f64, width: f64, seen: Seen, down: f64) {
    // What was told hangs from the axis, as a single told day does.
    let (class, y, height) = match seen {
        Seen::Remembered => ("i rem", 5.5, "13"),
        Seen::Told => ("i", 18.5, "10"),
        Seen::AtTheTime | Seen::FromPhoto => ("i", 5.5, "13"),
    };
    let _ = write!(
        out,
        r#"<rect class="{class}" x="{}" y="{}" width="{}" height="{height}"/>"#,
        pct(x),
        num(y + down),
        pct(width)
    );
    if seen == Seen::FromPhoto {
        ring(out, x + 0.5 * width, 5.5 + down);
    }
}

fn open_box(out: &mut String, x: f64, width: f64, seen: Seen, down: f64) {
    let class = if seen == Seen::Remembered { "i rem" } else { "i" };
    let (post, roof) = if seen == Seen::Told { ([18.0, 29.0], 28.5) } else { ([5.0, 19.0], 5.5) };
    line(out, class, [x, x], post.map(|y| y + down));
    line(out, class, [x, x + width], [roof + down, roof + down]);
    if seen == Seen::FromPhoto {
        ring(out, x + 0.5 * width, roof + down);
    }
}
