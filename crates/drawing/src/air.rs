//! Two lines over days, by day and by night, with the band that is wanted by day.

use std::fmt::Write;

use crate::{
    parentage::Size,
    svg::{escape, num},
    width,
};

/// What is known of one day.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct AirPoint {
    /// Mean by day.
    pub day: Option<f64>,
    /// Mean by night.
    pub night: Option<f64>,
}

/// A stretch of days that is marked with words, such as one on which the logger stood still.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirMark<'a> {
    /// Position of its first day.
    pub from: usize,
    /// Position of its last day.
    pub to: usize,
    /// One or two lines of words.
    pub words: [&'a str; 2],
}

/// What is drawn.
#[derive(Debug, Clone, Copy)]
pub struct AirChart<'a> {
    /// The days in order.
    pub points: &'a [AirPoint],
    /// Lower and upper edge of what is wanted by day.
    pub band: (f64, f64),
    /// Stretches without a line that are marked.
    pub marks: &'a [AirMark<'a>],
    /// Days that are named under the axis: position and words.
    pub ticks: &'a [(usize, &'a str)],
}

/// The words of the chart, in the reader's language.
#[derive(Debug, Clone, Copy)]
pub struct AirWords<'a> {
    /// In the band: "0.6 to 1.0, wanted by day".
    pub band: &'a str,
    /// At the end of the line by day: "day 0.96".
    pub day: &'a str,
    /// At the end of the line by night: "night 0.58".
    pub night: &'a str,
    /// A sentence for screen readers.
    pub aria: &'a str,
    /// The mark between whole numbers and decimals.
    pub decimal: char,
}

struct Frame {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    most: f64,
    days: usize,
}

impl Frame {
    fn x(&self, at: usize) -> f64 {
        let last = self.days.saturating_sub(1).max(1) as f64;
        self.left + (self.right - self.left) * at as f64 / last
    }

    fn y(&self, value: f64) -> f64 {
        self.bottom - (self.bottom - self.top) * (value / self.most).clamp(0.0, 1.0)
    }
}

/// Draws both lines; they break where a day has no value.
#[must_use]
pub fn air_chart(chart: &AirChart<'_>, words: &AirWords<'_>, size: Size) -> String {
    let values = chart.points.iter().flat_map(|p| [p.day, p.night]).flatten();
    let most = values.fold(chart.band.1 * 1.1, f64::max);
    let step = if most > 2.0 { 1.0 } else { 0.5 };
    let most = (most / step).ceil() * step;
    let end = width::sans(words.day).max(width::sans(words.night)) + 10.0;
    let frame = Frame {
        left: 30.0,
        right: size.width() - end,
        top: 10.0,
        bottom: 200.0,
        most,
        days: chart.points.len(),
    };
    let mut out = format!(
        r#"<svg class="{} air" width="{w}" height="226" viewBox="0 0 {w} 226" role="img" aria-label="{}">"#,
        if size == Size::Wide { "wide" } else { "narrow" },
        escape(words.aria),
        w = num(size.width())
    );
    band(&mut out, chart, words, &frame);
    axes(&mut out, chart, words, &frame, step);
    line(&mut out, chart.points, |p| p.day, "inkline", &frame);
    line(&mut out, chart.points, |p| p.night, "inkline fine", &frame);
    marks(&mut out, chart, &frame);
    ends(&mut out, chart, words, &frame);
    out.push_str("</svg>");
    out
}

fn text(out: &mut String, x: f64, y: f64, anchor: &str, words: &str) {
    let _ = write!(
        out,
        r#"<text x="{}" y="{}" text-anchor="{anchor}">{}</text>"#,
        num(x),
        num(y),
        escape(words)
    );
}

fn band(out: &mut String, chart: &AirChart<'_>, words: &AirWords<'_>, f: &Frame) {
    let (top, bottom) = (f.y(chart.band.1), f.y(chart.band.0));
    let _ = write!(
        out,
        r#"<rect class="refband" x="{}" y="{}" width="{}" height="{}"/>"#,
        num(f.left),
        num(top),
        num(f.right - f.left),
        num(bottom - top)
    );
    let y = clear_of_lines(chart, words.band, (top, bottom), f);
    text(out, f.left + 4.0, y, "start", words.band);
}

/// Where the words of the band stand: at its foot, its top, above or below it, whichever the lines
/// leave free first; at its foot where none is free.
fn clear_of_lines(chart: &AirChart<'_>, words: &str, (top, bottom): (f64, f64), f: &Frame) -> f64 {
    let until = f.left + 8.0 + width::sans(words);
    let under: Vec<f64> = chart
        .points
        .iter()
        .enumerate()
        .filter(|(at, _)| f.x(*at) <= until)
        .flat_map(|(_, p)| [p.day, p.night])
        .flatten()
        .map(|value| f.y(value))
        .collect();
    let high = bottom - top >= 20.0;
    let places =
        [(bottom - 5.0, high), (top + 14.0, high), (top - 5.0, true), (bottom + 15.0, true)];
    let free =
        |y: f64| y < f.bottom - 2.0 && under.iter().all(|line| !(y - 14.0..y + 5.0).contains(line));
    places.into_iter().find(|(y, fits)| *fits && free(*y)).map_or(bottom - 5.0, |p| p.0)
}

fn axes(out: &mut String, chart: &AirChart<'_>, words: &AirWords<'_>, f: &Frame, step: f64) {
    let _ = write!(
        out,
        r#"<path class="axis" d="M{} {}H{}"/>"#,
        num(f.left),
        num(f.bottom),
        num(f.right)
    );
    let steps = (f.most / step).round() as usize;
    for i in 0..=steps {
        let value = i as f64 * step;
        let label = format!("{value:.1}").replace('.', &words.decimal.to_string());
        text(out, f.left - 8.0, f.y(value) + 5.0, "end", &label);
    }
    for &(at, label) in chart.ticks {
        let anchor = match at {
            0 => "start",
            a if a + 1 == f.days => "end",
            _ => "middle",
        };
        text(out, f.x(at), f.bottom + 19.0, anchor, label);
    }
}

/// A line through the values; a day alone between two without a value is a dot.
fn line(
    out: &mut String,
    points: &[AirPoint],
    pick: fn(&AirPoint) -> Option<f64>,
    class: &str,
    f: &Frame,
) {
    let mut run: Vec<(usize, f64)> = Vec::new();
    for at in 0..=points.len() {
        if let Some(value) = points.get(at).and_then(pick) {
            run.push((at, value));
            continue;
        }
        match run.as_slice() {
            [] => {}
            [(at, value)] => {
                let (x, y) = (num(f.x(*at)), num(f.y(*value)));
                let _ = write!(out, r#"<circle class="inkfill" cx="{x}" cy="{y}" r="1.5"/>"#);
            }
            several => {
                let path: Vec<String> = several
                    .iter()
                    .map(|(at, value)| format!("{} {}", num(f.x(*at)), num(f.y(*value))))
                    .collect();
                let _ = write!(out, r#"<path class="{class}" d="M{}"/>"#, path.join("L"));
            }
        }
        run.clear();
    }
}

fn marks(out: &mut String, chart: &AirChart<'_>, f: &Frame) {
    for mark in chart.marks {
        let middle = 0.5 * (f.x(mark.from) + f.x(mark.to));
        let widest = mark.words.iter().map(|w| width::sans(w)).fold(0.0, f64::max);
        let least = f.left + 0.5 * widest;
        let x = middle.clamp(least, (f.right - 0.5 * widest).max(least));
        for (i, words) in mark.words.iter().enumerate().filter(|(_, w)| !w.is_empty()) {
            text(out, x, f.top + 8.0 + 17.0 * i as f64, "middle", words);
        }
    }
}

/// Names both lines at their ends, apart from each other.
fn ends(out: &mut String, chart: &AirChart<'_>, words: &AirWords<'_>, f: &Frame) {
    let last = |pick: fn(&AirPoint) -> Option<f64>| chart.points.iter().rev().find_map(pick);
    let (day, night) = (last(|p| p.day), last(|p| p.night));
    let mut day_y = day.map(|v| f.y(v) + 5.0);
    let mut night_y = night.map(|v| f.y(v) + 5.0);
    if let (Some(d), Some(n)) = (day_y, night_y)
        && (d - n).abs() < 17.0
    {
        let middle = 0.5 * (d + n);
        let up = if d <= n { -8.5 } else { 8.5 };
        (day_y, night_y) = (Some(middle + up), Some(middle - up));
    }
    for (y, label) in [(day_y, words.day), (night_y, words.night)] {
        if let Some(y) = y {
            text(out, f.right + 6.0, y, "start", label);
        }
    }
}
