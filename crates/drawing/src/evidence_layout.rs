//! Where things stand on an evidence line: positions in percent, and which texts fit.

use std::collections::BTreeSet;
use std::fmt::Write;

use crate::calendar::{day_of, year_of};
use crate::evidence::{EvidenceWords, Mark, Seen};
use crate::svg::{escape, num, pct};
use crate::width;

/// The narrowest column in which the "narrow" texts are shown (a phone of 320 px less margins), and
/// the narrowest in which the "wide" ones are (a tablet beside its notes) \[px\]. Texts that fit
/// these fit everywhere.
pub(crate) const NARROW: f64 = 288.0;
pub(crate) const WIDE: f64 = 388.0;
/// Column for which the wide texts over gaps are chosen [px]: nothing else stands beside them, so
/// that a little less room does no harm.
const GAP_WIDE: f64 = 460.0;
/// Free space between two texts \[px\].
const APART: f64 = 8.0;
/// Marks closer than this are drawn as one: a pixel of a full column \[%\].
const PIXEL: f64 = 100.0 / 552.0;
/// Smallest width of an interval \[%\].
const LEAST: f64 = 1.55;
/// Records this many days apart or less are joined by a solid line.
const JOINED: i64 = 75;

/// A time axis over the full width.
pub(crate) struct Strip {
    pub from: i64,
    to: i64,
}

impl Strip {
    pub fn new(from: i64, to: i64) -> Self {
        Strip { from, to: to.max(from + 1) }
    }

    /// Position of a day, kept on the axis \[%\].
    pub fn at(&self, day: i64) -> f64 {
        let share = (day - self.from) as f64 / (self.to - self.from) as f64;
        100.0 * share.clamp(0.0, 1.0)
    }

    /// Whether any of a mark lies on this axis (the missing always do).
    pub fn shows(&self, mark: &Mark) -> bool {
        match *mark {
            Mark::At { day, .. } | Mark::Borrowed { day } => day >= self.from,
            Mark::Between { to, .. } | Mark::Open { to, .. } => to >= self.from,
            Mark::Missing { .. } => true,
        }
    }
}

/// Stretches of days covered by the plant's own records.
pub(crate) fn spans(marks: &[Mark]) -> Vec<(i64, i64)> {
    let mut days: Vec<(i64, i64)> = marks.iter().filter_map(Mark::own_days).collect();
    days.sort_unstable();
    let mut joined: Vec<(i64, i64)> = Vec::new();
    for (from, to) in days {
        match joined.last_mut() {
            Some(last) if from - last.1 <= JOINED => last.1 = last.1.max(to),
            _ => joined.push((from, to)),
        }
    }
    joined
}

/// A box or an open box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Boxed {
    pub x: f64,
    pub width: f64,
    pub seen: Seen,
}

/// All marks with their places; what would fall on the same pixel once only.
#[derive(Default)]
pub(crate) struct Placed {
    pub at: Vec<(f64, Seen)>,
    pub boxes: Vec<Boxed>,
    pub open: Vec<Boxed>,
    pub borrowed: Vec<f64>,
    /// Left end and width.
    pub missing: Vec<(f64, f64)>,
}

fn pixel(x: f64) -> i64 {
    (x / PIXEL).round() as i64
}

impl Placed {
    pub fn of(strip: &Strip, marks: &[Mark]) -> Self {
        let mut placed = Placed::default();
        let mut used = BTreeSet::new();
        let mut missing = 0;
        for mark in marks {
            match *mark {
                Mark::At { day, seen } => {
                    let x = strip.at(day);
                    if used.insert((0, seen as u8, pixel(x), 0)) {
                        placed.at.push((x, seen));
                    }
                }
                Mark::Between { from, to, seen } => {
                    let b = boxed(strip, from, to, seen);
                    if used.insert((1, seen as u8, pixel(b.x), pixel(b.width))) {
                        placed.boxes.push(b);
                    }
                }
                Mark::Open { from, to, seen } => {
                    let b = boxed(strip, from, to, seen);
                    if used.insert((2, seen as u8, pixel(b.x), pixel(b.width))) {
                        placed.open.push(b);
                    }
                }
                Mark::Borrowed { day } => {
                    let x = strip.at(day);
                    if used.insert((3, 0, pixel(x), 0)) {
                        placed.borrowed.push(x);
                    }
                }
                Mark::Missing { count } => missing += count,
            }
        }
        placed.missing = placed.room_for_missing(missing);
        placed
    }

    /// Dots of the strip of the whole life: position, and whether drawn open (remembered or told).
    pub fn dots(strip: &Strip, marks: &[Mark]) -> Vec<(f64, bool)> {
        let mut used = BTreeSet::new();
        marks
            .iter()
            .filter_map(|mark| match *mark {
                Mark::At { day, seen } => Some((day, seen)),
                Mark::Between { from, seen, .. } | Mark::Open { from, seen, .. } => {
                    Some((from, seen))
                }
                Mark::Borrowed { .. } | Mark::Missing { .. } => None,
            })
            .map(|(day, seen)| (strip.at(day), matches!(seen, Seen::Remembered | Seen::Told)))
            .filter(|&(x, open)| used.insert((pixel(x), open)))
            .collect()
    }

    /// Places for the boxes of what is missing: evenly in the space after the last record if it is
    /// large enough, otherwise in the largest free space. At most six are drawn; the words beside
    /// the line give the number.
    fn room_for_missing(&self, count: usize) -> Vec<(f64, f64)> {
        let count = count.min(6);
        if count == 0 {
            return Vec::new();
        }
        let mut taken: Vec<(f64, f64)> = self.at.iter().map(|&(x, _)| (x, x)).collect();
        taken.extend(self.boxes.iter().chain(&self.open).map(|b| (b.x, b.x + b.width)));
        taken.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut free = Vec::new();
        let mut end = 0.0f64;
        for (from, to) in taken {
            free.push((end, from));
            end = end.max(to);
        }
        let last = (end, 100.0);
        free.push(last);
        let needed = count as f64 * 3.5;
        let widest = free.iter().copied().max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)));
        let (from, to) = if last.1 - last.0 >= needed { last } else { widest.unwrap_or(last) };
        let step = (to - from) / (count as f64 + 1.0);
        let width = (0.6 * step).min(1.61);
        (1..=count).map(|i| (from + step * i as f64 - 0.5 * width, width)).collect()
    }
}

fn boxed(strip: &Strip, from: i64, to: i64, seen: Seen) -> Boxed {
    let (from, to) = (strip.at(from), strip.at(to.max(from)));
    let width = (to - from).max(LEAST);
    Boxed { x: from.min(100.0 - width), width, seen }
}

/// Where a text is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shown {
    Always,
    Wide,
    Narrow,
}

/// A text on the line.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Text {
    pub x: f64,
    pub anchor: &'static str,
    pub text: String,
    pub shown: Shown,
}

impl Text {
    pub fn write(&self, out: &mut String, y: f64) {
        let class = match self.shown {
            Shown::Always => "",
            Shown::Wide => r#" class="wide""#,
            Shown::Narrow => r#" class="narrow""#,
        };
        let anchor = match self.anchor {
            "start" => String::new(),
            other => format!(r#" text-anchor="{other}""#),
        };
        let _ = write!(
            out,
            r#"<text x="{}" y="{}"{anchor}{class}>{}</text>"#,
            pct(self.x),
            num(y),
            escape(&self.text)
        );
    }
}

/// "No record" texts over long gaps between the plant's own records.
pub(crate) fn gap_texts(
    strip: &Strip,
    marks: &[Mark],
    missing: &[(f64, f64)],
    words: &EvidenceWords,
) -> Vec<Text> {
    let covered = spans(marks);
    let mut gaps: Vec<(i64, i64)> = covered.windows(2).map(|w| (w[0].1, w[1].0)).collect();
    if let Some(last) = covered.last() {
        gaps.push((last.1, strip.to));
    }
    let mut out = Vec::new();
    for (from, to) in gaps {
        let (left, right) = (strip.at(from), strip.at(to));
        let share = right - left;
        if share < 12.5 || missing.iter().any(|&(x, w)| x < right && x + w > left) {
            continue;
        }
        let months = ((to - from) as f64 / 30.44).round() as u32;
        let (long, short) = ((words.gap)(months), (words.gap_short)(months));
        let fits = |text: &str, column: f64| width::sans(text) + APART <= column * share / 100.0;
        let choose = |column: f64| {
            [(25.0, &long), (12.5, &short)]
                .into_iter()
                .find(|(least, text)| share >= *least && fits(text, column))
                .map(|(_, text)| text.clone())
        };
        out.extend(by_width(0.5 * (left + right), "middle", choose(GAP_WIDE), choose(NARROW)));
    }
    out
}

fn by_width(
    x: f64,
    anchor: &'static str,
    wide: Option<String>,
    narrow: Option<String>,
) -> Vec<Text> {
    let text = |text, shown| Text { x, anchor, text, shown };
    match (wide, narrow) {
        (Some(w), Some(n)) if w == n => vec![text(w, Shown::Always)],
        (w, n) => (w.map(|w| text(w, Shown::Wide)).into_iter())
            .chain(n.map(|n| text(n, Shown::Narrow)))
            .collect(),
    }
}

/// The texts at the two ends: the first of `starts` that leaves room for "today"; where none does,
/// the last one alone.
fn ends<'a>(starts: &[&'a str], today: &'a str, column: f64) -> (&'a str, Option<&'a str>) {
    let room = column - width::sans(today) - APART;
    match starts.iter().find(|start| width::sans(start) <= room) {
        Some(start) => (start, Some(today)),
        None => (starts.last().copied().unwrap_or(""), None),
    }
}

/// The texts at the two ends of a line.
pub(crate) fn end_texts(starts: &[&str], today: &str) -> Vec<Text> {
    let (wide, narrow) = (ends(starts, today, WIDE), ends(starts, today, NARROW));
    let owned = |text: Option<&str>| text.map(str::to_owned);
    let mut out = by_width(0.0, "start", owned(Some(wide.0)), owned(Some(narrow.0)));
    out.extend(by_width(100.0, "end", owned(wide.1), owned(narrow.1)));
    out
}

/// A tick and its text.
struct Tick {
    x: f64,
    text: String,
}

/// Ticks of years, or of quarters on a short axis, and those of their texts that touch neither
/// each other nor those at the two ends (see [`ends`]; no `starts`, no ends).
pub(crate) fn tick_texts(
    strip: &Strip,
    words: &EvidenceWords,
    starts: &[&str],
) -> (Vec<f64>, Vec<Text>) {
    let (first, last) = (year_of(strip.from), year_of(strip.to));
    let candidates = if strip.to - strip.from <= 2 * 366 {
        vec![quarters(strip, words, first..=last)]
    } else {
        [1, 2, 5, 10, 20, 50, 100]
            .map(|step| years(strip, (first..=last).filter(|y| y % step == 0)))
            .into()
    };
    let fitting = |column: f64| {
        let (start, today) = ends(starts, words.today, column);
        let taken: Vec<(f64, &str)> = match starts {
            [] => Vec::new(),
            _ => [(0.0, start)].into_iter().chain(today.map(|t| (100.0, t))).collect(),
        };
        let all = candidates.iter().find(|ticks| apart(ticks, column));
        let kept = all.into_iter().flatten().filter(|t| {
            let (left, right) = box_of(t, column);
            let beyond = left < -APART || right > column + APART;
            !(taken.iter().any(|&(x, text)| overlaps(x, text, (left, right), column))
                || beyond && !taken.is_empty())
        });
        kept.map(|t| (t.x, t.text.clone())).collect::<Vec<_>>()
    };
    let (wide, narrow) = (fitting(WIDE), fitting(NARROW));
    // Ticks themselves need only a few pixels.
    let ticks = candidates
        .iter()
        .find(|ticks| ticks.windows(2).all(|w| (w[1].x - w[0].x) * NARROW / 100.0 >= 4.0));
    let positions = ticks.into_iter().flatten().map(|t| t.x).collect();
    (positions, merge(&wide, &narrow))
}

fn merge(wide: &[(f64, String)], narrow: &[(f64, String)]) -> Vec<Text> {
    let text = |(x, text): &(f64, String), shown| {
        let anchor = match *x {
            // Near the ends a centred text would leave the column.
            x if x < 4.0 => "start",
            x if x > 96.0 => "end",
            _ => "middle",
        };
        Text { x: *x, anchor, text: text.clone(), shown }
    };
    let mut out: Vec<Text> = (wide.iter())
        .map(|t| text(t, if narrow.contains(t) { Shown::Always } else { Shown::Wide }))
        .collect();
    out.extend(narrow.iter().filter(|t| !wide.contains(t)).map(|t| text(t, Shown::Narrow)));
    out
}

fn years(strip: &Strip, years: impl Iterator<Item = i64>) -> Vec<Tick> {
    let days = years.map(|y| (day_of(y, 1, 1), y.to_string()));
    days.filter(|&(day, _)| day > strip.from && day < strip.to)
        .map(|(day, text)| Tick { x: strip.at(day), text })
        .collect()
}

fn quarters(
    strip: &Strip,
    words: &EvidenceWords,
    years: std::ops::RangeInclusive<i64>,
) -> Vec<Tick> {
    let mut ticks = Vec::new();
    for year in years {
        let [april, july, october] = words.quarters.map(str::to_owned);
        for (month, text) in [(1, year.to_string()), (4, april), (7, july), (10, october)] {
            let day = day_of(year, month, 1);
            if day > strip.from && day < strip.to {
                ticks.push(Tick { x: strip.at(day), text });
            }
        }
    }
    ticks
}

fn box_of(tick: &Tick, column: f64) -> (f64, f64) {
    let (x, w) = (tick.x * column / 100.0, width::sans(&tick.text));
    match tick.x {
        p if p < 4.0 => (x, x + w),
        p if p > 96.0 => (x - w, x),
        _ => (x - 0.5 * w, x + 0.5 * w),
    }
}

fn apart(ticks: &[Tick], column: f64) -> bool {
    ticks.windows(2).all(|w| box_of(&w[0], column).1 + APART <= box_of(&w[1], column).0)
}

fn overlaps(x: f64, text: &str, other: (f64, f64), column: f64) -> bool {
    let w = width::sans(text);
    let own = if x == 0.0 { (0.0, w) } else { (column - w, column) };
    own.0 < other.1 + APART && other.0 < own.1 + APART
}
