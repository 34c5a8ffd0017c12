//! One place of the walk: its plants on one axis from surely moist to surely dry.

use std::fmt::Write;

use crate::svg::{escape, num, safe_href};
use crate::{Run, width};

/// A plant on the axis.
#[derive(Debug, Clone, PartialEq)]
pub struct DryMark<'a> {
    /// Its number, as the keeper reads it.
    pub number: i64,
    /// Where it leads.
    pub href: &'a str,
    /// Its name.
    pub name: Vec<Run>,
    /// What is said of it after its name, on a wide page: “likely dry, 69%; tomorrow 88%”.
    pub long: String,
    /// The same where there is little room: “likely dry”.
    pub short: String,
    /// Where it stands, 0 surely moist to 1 surely dry, tonight and tomorrow night.
    pub at: [f64; 2],
    /// Whether it is past the line.
    pub past: bool,
}

/// The axis of one place.
pub struct DryAxis<'a> {
    /// The plants, in any order.
    pub marks: &'a [DryMark<'a>],
    /// Where the line stands, 0 to 1.
    pub line: f64,
    /// Words at the ends of the axis.
    pub ends: [&'a str; 2],
    /// Words beside the line; none where it has been explained before.
    pub line_words: Option<&'a str>,
    /// Words for a heap of plants that are hardly dry: “31 surely moist”.
    pub heap: &'a dyn Fn(usize) -> String,
    /// A sentence for screen readers.
    pub aria: &'a str,
}

/// Width of a wide page's column and of a phone's [px].
const WIDE: f64 = 812.0;
const NARROW: f64 = 328.0;
const LANE: f64 = 21.0;
/// Plants at less than this part of the way stand in a heap where there are many.
const HEAPED: f64 = 0.2;

/// The drawing twice: for a wide page and for a phone. On a phone a place with more than fourteen
/// plants, and on a wide page one with more than sixty, has a heap.
pub fn dry_axis(axis: &DryAxis) -> String {
    let mut out = String::new();
    draw(&mut out, axis, WIDE, 60, "wide");
    draw(&mut out, axis, NARROW, 14, "narrow");
    out
}

fn draw(out: &mut String, axis: &DryAxis, w: f64, most: usize, class: &str) {
    let heaps = axis.marks.len() > most;
    let (heap, shown): (Vec<&DryMark>, Vec<&DryMark>) =
        axis.marks.iter().partition(|m| heaps && !m.past && m.at[0] < HEAPED);
    let lanes = lanes(&shown, w);
    let heap = Heap::of(&heap, w);
    let words = (class == "wide").then_some(axis.line_words).flatten();
    let top = if words.is_some() { 38.0 } else { 2.0 };
    let used = lanes.iter().map(|l| l + 1).max().unwrap_or(0).max(heap.lanes());
    let base = top + LANE * used.max(1) as f64 + 6.0;
    let height = base + 26.0;
    let _ = write!(
        out,
        r#"<svg class="{class} strip" width="{w}" height="{h}" viewBox="0 0 {w} {h}" role="group" aria-label="{}">"#,
        escape(axis.aria),
        w = num(w),
        h = num(height),
    );
    let _ = write!(
        out,
        r#"<line class="ax" x1="0" x2="{w}" y1="{y}" y2="{y}"/><line class="th" x1="{x}" x2="{x}" y1="{t}" y2="{b}"/>"#,
        w = num(w),
        y = num(base),
        x = num(axis.line * w),
        t = num(if words.is_some() { 4.0 } else { top }),
        b = num(base + 7.0),
    );
    if let Some(words) = words {
        let x = num(axis.line * w + 8.0);
        let _ = write!(out, r#"<text class="k" x="{x}" y="14">{}</text>"#, escape(words));
    }
    let y = num(base + 20.0);
    let _ = write!(
        out,
        r#"<text x="0" y="{y}">{}</text><text x="{}" y="{y}" text-anchor="end">{}</text>"#,
        escape(axis.ends[0]),
        num(w),
        escape(axis.ends[1])
    );
    heap.draw(out, base, axis);
    // Those past the line come last, so that they lie on top and Tab reaches them in order.
    for (mark, lane) in shown.iter().zip(&lanes) {
        one(out, mark, w, base, *lane, class);
    }
    out.push_str("</svg>");
}

fn place(at: f64, w: f64) -> f64 {
    // The first and last numbers stay whole.
    (at.clamp(0.0, 1.0) * w).clamp(13.0, w - 13.0)
}

/// How far a mark with its number and tail reaches [px].
fn reach(m: &DryMark, w: f64) -> (f64, f64) {
    let x = place(m.at[0], w);
    let half = 0.5 * width::sans(&m.number.to_string()) * if m.past { 1.15 } else { 1.0 } + 3.0;
    (x - half, (x + half).max(place(m.at[1], w) + 4.0))
}

/// The lowest free lane of each mark, so that none touch.
fn lanes(marks: &[&DryMark], w: f64) -> Vec<usize> {
    let mut order: Vec<usize> = (0..marks.len()).collect();
    order.sort_by(|a, b| marks[*a].at[0].total_cmp(&marks[*b].at[0]));
    let mut ends: Vec<f64> = Vec::new();
    let mut lanes = vec![0; marks.len()];
    for i in order {
        let (left, right) = reach(marks[i], w);
        let lane = ends.iter().position(|e| *e < left).unwrap_or(ends.len());
        if lane == ends.len() {
            ends.push(right);
        } else {
            ends[lane] = right;
        }
        lanes[i] = lane;
    }
    lanes
}

fn one(out: &mut String, m: &DryMark, w: f64, base: f64, lane: usize, class: &str) {
    let (x, end) = (place(m.at[0], w), place(m.at[1], w));
    let y = base - 8.0 - LANE * lane as f64;
    let href = safe_href(m.href).unwrap_or_default();
    let said = if class == "wide" { &m.long } else { &m.short };
    let label = format!("{} {}, {}", m.number, plain(&m.name), m.long);
    let _ = write!(
        out,
        r#"<a class="mk{}" href="{href}" aria-label="{}" data-mark="{}"><rect class="hit" x="{}" y="{}" width="26" height="24"/>"#,
        if m.past { " now" } else { "" },
        escape(&label),
        m.number,
        num(x - 13.0),
        num(y - 18.0),
    );
    let _ = write!(
        out,
        r#"<text class="halo" x="{x}" y="{}" text-anchor="middle">{}</text>"#,
        num(y - 5.0),
        m.number,
        x = num(x),
    );
    if end > x {
        let (x, end, y) = (num(x), num(end), num(y));
        let _ = write!(out, r#"<line class="tail" x1="{x}" x2="{end}" y1="{y}" y2="{y}"/>"#);
    }
    let _ = write!(
        out,
        r#"<circle class="d" cx="{}" cy="{}" r="{}"/>"#,
        num(x),
        num(y),
        if m.past { "4" } else { "2.5" }
    );
    let _ = write!(
        out,
        r#"<g class="tip"><rect x="-2" y="{}" width="{}" height="22"/><text class="s" x="0" y="{}"><tspan class="b">{}</tspan>&#160; "#,
        num(base + 4.0),
        num(w + 4.0),
        num(base + 20.0),
        m.number
    );
    // On a phone a long name would run out of the picture: what is said of it stays.
    let room = w - width::sans(&format!("{}  , {said}", m.number)) - 10.0;
    for run in fitting(&m.name, room) {
        let open = if run.italic { r#"<tspan class="si">"# } else { "<tspan>" };
        let _ = write!(out, "{open}{}</tspan>", escape(&run.text));
    }
    let _ = write!(out, ", {}</text></g></a>", escape(said));
}

/// As many words of a name as fit.
fn fitting(name: &[Run], room: f64) -> Vec<Run> {
    if width::serif(&plain(name)) <= room {
        return name.to_vec();
    }
    let mut left = room - width::serif("…");
    let mut out = Vec::new();
    for run in name {
        let mut kept = String::new();
        for c in run.text.chars() {
            left -= width::serif(&c.to_string());
            if left < 0.0 {
                break;
            }
            kept.push(c);
        }
        let whole = kept.len() == run.text.len();
        out.push(Run {
            text: if whole { kept } else { kept.trim_end().to_owned() + "…" },
            ..run.clone()
        });
        if !whole {
            break;
        }
    }
    out
}

fn plain(name: &[Run]) -> String {
    name.iter().map(|r| r.text.as_str()).collect()
}

/// Plants that are hardly dry, as columns of dots with their count.
struct Heap {
    columns: Vec<usize>,
    count: usize,
}

impl Heap {
    const STEP: f64 = 6.0;

    fn of(marks: &[&DryMark], w: f64) -> Self {
        let n = ((HEAPED * w) / Self::STEP).floor().max(1.0);
        let mut columns = vec![0; n as usize];
        for m in marks {
            let at = (m.at[0].clamp(0.0, HEAPED) / HEAPED * n).floor().min(n - 1.0);
            columns[at as usize] += 1;
        }
        Self { columns, count: marks.len() }
    }

    /// Dots above each other that stay within a drawing; more lie closer.
    fn tallest(&self) -> usize {
        self.columns.iter().copied().max().unwrap_or(0)
    }

    fn step(&self) -> f64 {
        (120.0 / self.tallest().max(1) as f64).min(Self::STEP)
    }

    fn lanes(&self) -> usize {
        if self.count == 0 {
            return 0;
        }
        ((self.tallest() as f64 * self.step() + 24.0) / LANE).ceil() as usize
    }

    fn draw(&self, out: &mut String, base: f64, axis: &DryAxis) {
        if self.count == 0 {
            return;
        }
        let step = self.step();
        for (i, n) in self.columns.iter().enumerate() {
            for k in 0..*n {
                let (x, y) = ((i as f64 + 0.5) * Self::STEP, base - 4.0 - k as f64 * step);
                let _ = write!(out, r#"<circle class="d" cx="{}" cy="{}" r="2"/>"#, num(x), num(y));
            }
        }
        let y = base - 8.0 - self.tallest() as f64 * step;
        let _ = write!(
            out,
            r#"<text x="0" y="{}">{}</text>"#,
            num(y),
            escape(&(axis.heap)(self.count))
        );
    }
}
