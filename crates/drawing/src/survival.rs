//! A survival curve with its interval, and the same numbers as a table.

use std::fmt::Write;

use crate::parentage::Size;
use crate::svg::{escape, num};
use crate::width;

/// The curve just after one time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurvivalPoint {
    /// The time, in the unit named by the words.
    pub time: f64,
    /// Share still without the event \[0 to 1\].
    pub survival: f64,
    /// Lower limit, if there is one.
    pub lower: Option<f64>,
    /// Upper limit, if there is one.
    pub upper: Option<f64>,
}

/// What is drawn.
#[derive(Debug, Clone, Copy)]
pub struct SurvivalChart<'a> {
    /// Points in the order of time; before the first one the share is 1.
    pub points: &'a [SurvivalPoint],
    /// Times at which observation ended without the event: small ticks on the curve.
    pub still_open: &'a [f64],
    /// The typical time, marked where the curve crosses one half.
    pub median: Option<f64>,
    /// The last time of any record: the curve is not drawn beyond it.
    pub last: f64,
}

/// The words of a survival chart, in the reader's language.
#[derive(Debug, Clone, Copy)]
pub struct SurvivalWords<'a> {
    /// Under the time axis, with the unit: "days since opening".
    pub axis: &'a str,
    /// At the top of the other axis: "all".
    pub all: &'a str,
    /// Half-way: "half".
    pub half: &'a str,
    /// At its foot: "none".
    pub none: &'a str,
    /// On the curve: "flowers still open".
    pub curve: &'a str,
    /// On the band: "80% interval".
    pub band: &'a str,
    /// At the median: "half are over by day 9".
    pub median: Option<&'a str>,
    /// A sentence for screen readers.
    pub aria: &'a str,
}

pub(crate) struct Frame {
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub bottom: f64,
    pub longest: f64,
}

impl Frame {
    pub fn x(&self, time: f64) -> f64 {
        self.left + (self.right - self.left) * (time / self.longest).clamp(0.0, 1.0)
    }

    pub fn y(&self, share: f64) -> f64 {
        self.bottom - (self.bottom - self.top) * share.clamp(0.0, 1.0)
    }
}

/// Draws the curve as steps with its interval as a tint.
pub fn survival_chart(chart: &SurvivalChart, words: &SurvivalWords, size: Size) -> String {
    let labels = [words.all, words.half, words.none].map(width::sans);
    let frame = Frame {
        left: labels.into_iter().fold(0.0, f64::max) + 10.0,
        right: size.width() - 6.0,
        top: 12.0,
        bottom: 190.0,
        longest: chart.last.max(f64::MIN_POSITIVE),
    };
    let mut out = format!(
        r#"<svg class="{}" width="{w}" height="236" viewBox="0 0 {w} 236" role="img" aria-label="{}">"#,
        if size == Size::Wide { "wide" } else { "narrow" },
        escape(words.aria),
        w = num(size.width())
    );
    band(&mut out, chart, &frame);
    axes(&mut out, words, &frame);
    curve(&mut out, chart, &frame);
    if let (Some(median), Some(text)) = (chart.median, words.median) {
        median_mark(&mut out, median, text, &frame);
    }
    direct_labels(&mut out, chart, words, &frame);
    out.push_str("</svg>");
    out
}

/// The corners of a falling step line through `(time, share)`, from all at the beginning.
fn steps(points: impl Iterator<Item = (f64, f64)>, last: f64) -> Vec<(f64, f64)> {
    let mut corners = vec![(0.0, 1.0)];
    let mut share = 1.0;
    for (time, next) in points {
        corners.push((time, share));
        corners.push((time, next));
        share = next;
    }
    corners.push((last, share));
    corners
}

pub(crate) fn path(corners: &[(f64, f64)], f: &Frame) -> String {
    let points: Vec<String> =
        corners.iter().map(|&(t, s)| format!("{} {}", num(f.x(t)), num(f.y(s)))).collect();
    points.join("L")
}

fn band(out: &mut String, chart: &SurvivalChart, f: &Frame) {
    let limits: Vec<(f64, f64, f64)> =
        chart.points.iter().filter_map(|p| Some((p.time, p.lower?, p.upper?))).collect();
    if limits.is_empty() {
        return;
    }
    // Where the curve has reached its end without limits, the band stops.
    let last = chart.points.iter().find(|p| p.lower.is_none()).map_or(chart.last, |p| p.time);
    let upper = steps(limits.iter().map(|l| (l.0, l.2)), last);
    let mut lower = steps(limits.iter().map(|l| (l.0, l.1)), last);
    lower.reverse();
    let _ =
        write!(out, r#"<path class="tintfill" d="M{}L{}Z"/>"#, path(&upper, f), path(&lower, f));
}

fn curve(out: &mut String, chart: &SurvivalChart, f: &Frame) {
    let corners = steps(chart.points.iter().map(|p| (p.time, p.survival)), chart.last);
    let _ = write!(out, r#"<path class="accline" d="M{}"/>"#, path(&corners, f));
    for &t in chart.still_open {
        let (x, y) = (num(f.x(t)), f.y(at(chart, t)));
        let _ = write!(
            out,
            r#"<line class="inkline" x1="{x}" x2="{x}" y1="{}" y2="{}"/>"#,
            num(y - 5.0),
            num(y + 5.0)
        );
    }
}

fn at(chart: &SurvivalChart, time: f64) -> f64 {
    chart.points.iter().rev().find(|p| p.time <= time).map_or(1.0, |p| p.survival)
}

pub(crate) fn axes(out: &mut String, words: &SurvivalWords, f: &Frame) {
    let (left, right) = (num(f.left), num(f.right));
    for (share, word, class) in
        [(1.0, words.all, "grid"), (0.5, words.half, "grid"), (0.0, words.none, "axis")]
    {
        let y = f.y(share);
        let _ = write!(
            out,
            r#"<line class="{class}" x1="{left}" x2="{right}" y1="{y}" y2="{y}"/><text x="{}" y="{}" text-anchor="end">{}</text>"#,
            num(f.left - 8.0),
            num(y + 5.0),
            escape(word),
            y = num(y)
        );
    }
    let step = nice_step(f.longest, (f.right - f.left) / 56.0);
    let mut k = 0.0;
    while k * step <= f.longest * (1.0 + 1e-9) {
        let x = num(f.x(k * step));
        let _ = write!(
            out,
            r#"<line class="axis" x1="{x}" x2="{x}" y1="{}" y2="{}"/><text x="{x}" y="{}" text-anchor="middle">{}</text>"#,
            num(f.bottom),
            num(f.bottom + 5.0),
            num(f.bottom + 21.0),
            num(k * step)
        );
        k += 1.0;
    }
    let _ = write!(
        out,
        r#"<text x="{right}" y="{}" text-anchor="end">{}</text>"#,
        num(f.bottom + 41.0),
        escape(words.axis)
    );
}

/// A round step that gives at most about `most` ticks.
fn nice_step(longest: f64, most: f64) -> f64 {
    let rough = longest / most.max(1.0);
    let power = 10f64.powf(rough.log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power).find(|s| *s >= rough).unwrap_or(rough)
}

pub(crate) fn median_mark(out: &mut String, median: f64, text: &str, f: &Frame) {
    let (x, y) = (f.x(median), f.y(0.5));
    let _ = write!(
        out,
        r#"<line class="ref" x1="{x}" x2="{x}" y1="{}" y2="{}"/><circle class="accfill" cx="{x}" cy="{}" r="4.5"/>"#,
        num(y),
        num(f.bottom),
        num(y),
        x = num(x)
    );
    let w = width::sans(text);
    // On whichever side of the mark there is room; over the mark when there is none.
    let (tx, anchor) = if x + 8.0 + w <= f.right {
        (x + 8.0, "start")
    } else if x - 8.0 - w >= f.left {
        (x - 8.0, "end")
    } else {
        (f.right, "end")
    };
    let _ = write!(
        out,
        r#"<text class="c halo" x="{}" y="{}" text-anchor="{anchor}">{}</text>"#,
        num(tx),
        num(f.bottom - 8.0),
        escape(text)
    );
}

/// The names of curve and band, at the right above them, where a falling curve leaves room.
fn direct_labels(out: &mut String, chart: &SurvivalChart, words: &SurvivalWords, f: &Frame) {
    let mut y = f.y(1.0) + 18.0;
    let _ = write!(
        out,
        r#"<text class="c halo" x="{}" y="{}" text-anchor="end">{}</text>"#,
        num(f.right),
        num(y),
        escape(words.curve)
    );
    if chart.points.iter().any(|p| p.lower.is_some() && p.upper.is_some()) {
        y += 18.0;
        let _ = write!(
            out,
            r#"<text class="halo" x="{}" y="{}" text-anchor="end">{}</text>"#,
            num(f.right),
            num(y),
            escape(words.band)
        );
    }
}

/// The same numbers as a table: time, share, lower and upper limit under the given heads. Shares
/// are in whole percent, which `percent` words ("57%").
pub fn survival_table(
    chart: &SurvivalChart,
    caption: &str,
    heads: [&str; 4],
    percent: &dyn Fn(f64) -> String,
) -> String {
    let mut out = format!(
        r#"<table class="t num"><caption class="vh">{}</caption><thead><tr>"#,
        escape(caption)
    );
    for head in heads {
        let _ = write!(out, r#"<th scope="col">{}</th>"#, escape(head));
    }
    out.push_str("</tr></thead><tbody>");
    for p in chart.points {
        let _ = write!(out, "<tr><td>{}</td>", num(p.time));
        for value in [Some(p.survival), p.lower, p.upper] {
            let cell = value.map_or_else(|| "–".to_owned(), percent);
            let _ = write!(out, "<td>{}</td>", escape(&cell));
        }
        out.push_str("</tr>");
    }
    out.push_str("</tbody></table>");
    out
}
