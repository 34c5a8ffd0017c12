//! A cross followed: a line as thick as what is left, from the first flower to the last seedling.

use std::fmt::Write;

use crate::svg::{escape, num};
use crate::width;

/// A stage of the line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThinStage<'a> {
    /// How many are left; of what is expected, the middle.
    pub count: f64,
    /// Ends of the interval of what is expected; none for what was counted.
    pub expected: Option<(f64, f64)>,
    /// Whether it is counted in another measure than the stage before it, such as seeds after pods:
    /// the line begins anew.
    pub anew: bool,
    /// The number in words: "24".
    pub number: &'a str,
    /// Beside the number: "(58–68)"; empty for what was counted.
    pub interval: &'a str,
    /// What is counted: "flowers treated".
    pub what: &'a str,
    /// When: "31 Oct 2024".
    pub when: &'a str,
    /// Share of the stage before: "38% (25–51)".
    pub share: &'a str,
}

/// Thickness of a whole stage, and of a phone's.
const THICK: [f64; 2] = [44.0, 56.0];
/// Stages stand so far apart, at the most.
const STEP: f64 = 168.0;
const WIDE: f64 = 1168.0;
const LOW: f64 = 84.0;

/// The line, wide and narrow; `kept` is the word of shares on a phone, "kept".
///
/// Stages whose numbers cannot be drawn (negative, not finite) count as none left.
pub fn thinning_lines(stages: &[ThinStage<'_>], aria: &str, kept: &str) -> String {
    if stages.is_empty() {
        return String::new();
    }
    let mut out = wide(stages, aria);
    out.push_str(&narrow(stages, aria, kept));
    out
}

/// Half thicknesses of every stage: middle, lower and upper. Each run of stages in one measure is
/// drawn against the largest of its own.
fn halves(stages: &[ThinStage<'_>], whole: f64) -> Vec<[f64; 3]> {
    let sound = |x: f64| if x.is_finite() { x.max(0.0) } else { 0.0 };
    let mut out = Vec::with_capacity(stages.len());
    let mut at = 0;
    while at < stages.len() {
        let more =
            stages[at + 1..].iter().position(|s| s.anew).map_or(stages.len(), |n| at + 1 + n);
        let run = &stages[at..more];
        let largest = run
            .iter()
            .flat_map(|s| [s.count, s.expected.map_or(0.0, |e| e.1)])
            .map(sound)
            .fold(0.0, f64::max);
        let half = |x: f64| if largest > 0.0 { 0.5 * whole * sound(x) / largest } else { 0.0 };
        out.extend(run.iter().map(|s| {
            let (low, high) = s.expected.unwrap_or((s.count, s.count));
            [half(s.count), half(low), half(high)]
        }));
        at = more;
    }
    out
}

/// Which way the line runs: positions along it and across it become x and y.
#[derive(Clone, Copy)]
struct Way {
    middle: f64,
    down: bool,
}

impl Way {
    fn at(self, along: f64, across: f64) -> String {
        let (a, c) = (num(along), num(self.middle + across));
        if self.down { format!("{c} {a}") } else { format!("{a} {c}") }
    }

    /// A smooth edge from one stage to the next.
    fn edge(self, from: (f64, f64), to: (f64, f64)) -> String {
        let half = 0.5 * (from.0 + to.0);
        format!("C{} {} {}", self.at(half, from.1), self.at(half, to.1), self.at(to.0, to.1))
    }

    /// A piece between two stages with the half thicknesses.
    fn piece(self, out: &mut String, class: &str, (a, h): (f64, f64), (b, k): (f64, f64)) {
        let _ = write!(
            out,
            r#"<path class="{class}" d="M{}{}L{}{}Z"/>"#,
            self.at(a, -h),
            self.edge((a, -h), (b, -k)),
            self.at(b, k),
            self.edge((b, k), (a, h)),
        );
    }

    fn stroke(self, out: &mut String, class: &str, from: (f64, f64), to: (f64, f64)) {
        let _ = write!(
            out,
            r#"<path class="{class}" d="M{}{}"/>"#,
            self.at(from.0, from.1),
            self.edge(from, to)
        );
    }

    fn bar(self, out: &mut String, class: &str, along: f64, across: (f64, f64)) {
        let (a, low, high) = (num(along), num(self.middle + across.0), num(self.middle + across.1));
        let _ = if self.down {
            write!(out, r#"<line class="{class}" x1="{low}" x2="{high}" y1="{a}" y2="{a}"/>"#)
        } else {
            write!(out, r#"<line class="{class}" x1="{a}" x2="{a}" y1="{low}" y2="{high}"/>"#)
        };
    }
}

fn draw(out: &mut String, stages: &[ThinStage<'_>], places: &[f64], whole: f64, way: Way) {
    let halves = halves(stages, whole);
    for i in 1..stages.len() {
        let (a, b) = (places[i - 1], places[i]);
        let (before, now) = (halves[i - 1], halves[i]);
        if stages[i].anew {
            // What comes next is many in each: the line opens into strands.
            for strand in -3..=3 {
                let part = f64::from(strand) / 3.5;
                let begin = (a + 0.1 * (b - a), part * before[0].max(3.0));
                way.stroke(out, "inkthin", begin, (b, part * now[0].max(3.0)));
            }
        } else if stages[i].expected.is_some() {
            way.piece(out, "tintfill", (a, before[2]), (b, now[2]));
            way.piece(out, "accfill", (a, before[1]), (b, now[1]));
            way.stroke(out, "accline", (a, -before[0]), (b, -now[0]));
            way.stroke(out, "accline", (a, before[0]), (b, now[0]));
        } else {
            way.piece(out, "inkfill", (a, before[0]), (b, now[0]));
        }
    }
    let edge = 0.5 * whole + 8.0;
    for i in 1..stages.len() {
        let last_counted = stages[i].expected.is_none()
            && stages.get(i + 1).is_some_and(|next| next.expected.is_some());
        if last_counted {
            way.bar(out, "axis", places[i], (-edge - 6.0, edge + 6.0));
        } else if !stages[i].anew && i + 1 < stages.len() && !stages[i + 1].anew {
            way.bar(out, "notch", places[i], (-edge, edge));
        }
    }
}

fn open(out: &mut String, class: &str, w: f64, h: f64, aria: &str) {
    let _ = write!(
        out,
        r#"<svg class="{class}" width="{w}" height="{h}" viewBox="0 0 {w} {h}" role="img" aria-label="{}">"#,
        escape(aria),
        w = num(w),
        h = num(h)
    );
}

fn text(out: &mut String, class: &str, x: f64, y: f64, words: &str) {
    if !words.is_empty() {
        let _ = write!(
            out,
            r#"<text x="{}" y="{}" class="{class}">{}</text>"#,
            num(x),
            num(y),
            escape(words)
        );
    }
}

/// Words set on two lines where they are too wide for one.
fn two_lines(words: &str, room: f64) -> (String, String) {
    if width::sans(words) <= room {
        return (words.to_owned(), String::new());
    }
    // A span of dates parts after its dash.
    if let Some((from, to)) = words.split_once('–')
        && width::sans(from) + 8.0 <= room
    {
        return (format!("{from}–"), to.to_owned());
    }
    let mut cuts = words.char_indices().filter(|c| c.1 == ' ').map(|c| c.0);
    let best = cuts.rfind(|at| width::sans(&words[..*at]) <= room);
    let Some(at) = best.or_else(|| words.find(' ')) else {
        return (words.to_owned(), String::new());
    };
    (words[..at].to_owned(), words[at + 1..].to_owned())
}

fn wide(stages: &[ThinStage<'_>], aria: &str) -> String {
    let step = ((WIDE - 122.0) / (stages.len() - 1).max(1) as f64).min(STEP);
    let places: Vec<f64> = (0..stages.len()).map(|i| step * i as f64).collect();
    let mut out = String::new();
    open(&mut out, "wide", WIDE, 226.0, aria);
    draw(&mut out, stages, &places, THICK[0], Way { middle: 128.0, down: false });
    for (s, x) in stages.iter().zip(places) {
        let ink = if s.expected.is_some() { "c" } else { "k" };
        text(&mut out, &format!("bign {ink}"), x, 46.0, s.number);
        // Figures of this size are about fourteen wide each.
        let beside = x + 15.0 * s.number.chars().count() as f64 + 6.0;
        text(&mut out, "c num", beside, 45.0, s.interval);
        let (first, second) = two_lines(s.what, step - 10.0);
        text(&mut out, "k", x, 65.0, &first);
        text(&mut out, "k", x, 82.0, &second);
        let (first, second) = two_lines(s.when, step - 10.0);
        text(&mut out, "", x, 184.0, &first);
        let computed = if s.expected.is_some() { "num c" } else { "num" };
        let below = if second.is_empty() { 203.0 } else { 220.0 };
        text(&mut out, "", x, 201.0, &second);
        text(&mut out, computed, x, below, s.share);
    }
    out.push_str("</svg>");
    out
}

fn narrow(stages: &[ThinStage<'_>], aria: &str, kept: &str) -> String {
    let places: Vec<f64> = (0..stages.len()).map(|i| 16.0 + LOW * i as f64).collect();
    let mut out = String::new();
    let height = 16.0 + LOW * (stages.len() - 1) as f64 + 50.0;
    open(&mut out, "narrow", 328.0, height, aria);
    draw(&mut out, stages, &places, THICK[1], Way { middle: 28.0, down: true });
    for (s, y) in stages.iter().zip(places) {
        let ink = if s.expected.is_some() { "c" } else { "k" };
        text(&mut out, &format!("bign {ink}"), 70.0, y + 15.0, s.number);
        let what = [s.what, s.interval].map(str::trim);
        text(&mut out, "k", 146.0, y + 2.0, what.join(" ").trim());
        let share = if s.share.is_empty() { String::new() } else { format!("{} {kept}", s.share) };
        let (first, second) = match (s.when.is_empty(), share.is_empty()) {
            (false, false) => (s.when.to_owned(), share),
            (false, true) => (s.when.to_owned(), String::new()),
            _ => (share, String::new()),
        };
        text(&mut out, "", 146.0, y + 20.0, &first);
        text(&mut out, "num", 146.0, y + 38.0, &second);
    }
    out.push_str("</svg>");
    out
}
