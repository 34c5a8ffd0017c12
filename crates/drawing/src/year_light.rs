//! The light of a place month by month, lamps and daylight together.

use std::fmt::Write;

use crate::parentage::Size;
use crate::svg::{escape, num};
use crate::width;

/// The light of one month.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonthLight {
    /// Of that, from lamps.
    pub lamps: f64,
    /// From lamps and window together.
    pub total: f64,
    /// Lower limit of that.
    pub lower: f64,
    /// Upper limit of that.
    pub upper: f64,
}

/// What is drawn.
#[derive(Debug, Clone, Copy)]
pub struct YearLight<'a> {
    /// Twelve months, January first.
    pub months: &'a [MonthLight],
    /// What is wanted, from and to.
    pub wanted: Option<(f64, f64)>,
}

/// The words of the year, in the reader's language.
#[derive(Debug, Clone, Copy)]
pub struct YearWords<'a> {
    /// First letters of the months.
    pub months: [&'a str; 12],
    /// In the wanted band: "4 to 8, wanted to flower".
    pub wanted: &'a str,
    /// Under the line of the lamps: "lamps, 13 h"; empty without lamps.
    pub lamps: &'a str,
    /// Over the brightest month: "June 6.2".
    pub brightest: &'a str,
    /// Over the darkest month.
    pub darkest: &'a str,
    /// A sentence for screen readers.
    pub aria: &'a str,
}

const TOP: f64 = 26.0;
const BOTTOM: f64 = 190.0;
const LEFT: f64 = 44.0;

struct Frame {
    right: f64,
    most: f64,
}

impl Frame {
    fn y(&self, light: f64) -> f64 {
        BOTTOM - (BOTTOM - TOP) * (light / self.most).clamp(0.0, 1.0)
    }

    fn month(&self) -> f64 {
        (self.right - LEFT) / 12.0
    }

    fn x(&self, month: usize) -> f64 {
        LEFT + (month as f64 + 0.5) * self.month()
    }
}

/// Draws the year for a column and for a phone. Empty unless there are twelve months.
#[must_use]
pub fn year_lights(year: &YearLight, words: &YearWords) -> String {
    if year.months.len() != 12 {
        return String::new();
    }
    let mut out = String::new();
    for size in [Size::Wide, Size::Narrow] {
        draw(&mut out, year, words, size);
    }
    out
}

fn draw(out: &mut String, year: &YearLight, words: &YearWords, size: Size) {
    let highest =
        year.months.iter().map(|m| m.upper).fold(year.wanted.map_or(0.0, |w| w.0), f64::max);
    let step = step(highest);
    let most = (highest * 1.08 / step).ceil().max(1.0) * step;
    let f = Frame { right: size.width() - 6.0, most };
    let _ = write!(
        out,
        r#"<svg class="{}" width="{w}" height="218" viewBox="0 0 {w} 218" role="img" aria-label="{}">"#,
        if size == Size::Wide { "wide" } else { "narrow" },
        escape(words.aria),
        w = num(size.width())
    );
    band(out, year, words, &f);
    scale(out, &f, step);
    months(out, year, words, &f);
    extremes(out, year, words, &f);
    out.push_str("</svg>");
}

fn step(highest: f64) -> f64 {
    [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0]
        .into_iter()
        .find(|s| highest / s <= 5.0)
        .unwrap_or(50.0)
}

fn band(out: &mut String, year: &YearLight, words: &YearWords, f: &Frame) {
    let Some((from, to)) = year.wanted else { return };
    let (low, high) = (f.y(from), f.y(to));
    if from >= f.most {
        return;
    }
    let _ = write!(
        out,
        r#"<rect class="refband" x="{}" y="{}" width="{}" height="{}"/>"#,
        num(LEFT),
        num(high),
        num(f.right - LEFT),
        num(low - high)
    );
    let _ = write!(
        out,
        r#"<text x="{}" y="{}">{}</text>"#,
        num(LEFT),
        num((high - 7.0).max(12.0)),
        escape(words.wanted)
    );
}

fn scale(out: &mut String, f: &Frame, step: f64) {
    let mut k = 0.0;
    while k * step <= f.most + 1e-9 {
        let _ = write!(
            out,
            r#"<text class="num" x="{}" y="{}" text-anchor="end">{}</text>"#,
            num(LEFT - 10.0),
            num(f.y(k * step) + 5.0),
            num(k * step)
        );
        k += 1.0;
    }
    let _ = write!(
        out,
        r#"<line class="axis" x1="{}" x2="{}" y1="{y}" y2="{y}"/>"#,
        num(LEFT),
        num(f.right),
        y = num(BOTTOM)
    );
}

fn months(out: &mut String, year: &YearLight, words: &YearWords, f: &Frame) {
    let half = f.month() / 2.0;
    for (k, month) in year.months.iter().enumerate() {
        let x = f.x(k);
        if month.lamps > 0.0 {
            let y = num(f.y(month.lamps));
            let _ = write!(
                out,
                r#"<line class="inkline" x1="{}" x2="{}" y1="{y}" y2="{y}"/>"#,
                num(x - half),
                num(x + half)
            );
        }
        let _ = write!(
            out,
            r#"<line class="daylight" x1="{x}" x2="{x}" y1="{}" y2="{}"/><line class="iv-w" x1="{x}" x2="{x}" y1="{}" y2="{}"/><circle class="iv-d" cx="{x}" cy="{}" r="4"/><text x="{x}" y="{}" text-anchor="middle">{}</text>"#,
            num(f.y(month.lamps)),
            num(f.y(month.total)),
            num(f.y(month.lower)),
            num(f.y(month.upper)),
            num(f.y(month.total)),
            num(BOTTOM + 19.0),
            escape(words.months[k]),
            x = num(x)
        );
    }
    let lamps = year.months[0].lamps;
    if lamps > 0.0 && !words.lamps.is_empty() {
        let y = f.y(year.months.iter().map(|m| m.lower).fold(lamps, f64::min)) + 20.0;
        let _ = write!(
            out,
            r#"<text class="halo" x="{}" y="{}">{}</text>"#,
            num(LEFT + 2.0),
            num(y.min(BOTTOM - 6.0)),
            escape(words.lamps)
        );
    }
}

/// Names the brightest and the darkest month, where they are not the same.
fn extremes(out: &mut String, year: &YearLight, words: &YearWords, f: &Frame) {
    let by = |a: &(usize, &MonthLight), b: &(usize, &MonthLight)| a.1.total.total_cmp(&b.1.total);
    let brightest = year.months.iter().enumerate().max_by(by);
    let darkest = year.months.iter().enumerate().min_by(by);
    let (Some((high, top)), Some((low, least))) = (brightest, darkest) else { return };
    let mut shown = vec![(high, top, words.brightest)];
    if top.total > 1.05 * least.total {
        shown.push((low, least, words.darkest));
    }
    for (k, month, text) in shown {
        let half = width::sans(text) / 2.0;
        let x = f.x(k).clamp(LEFT + half, f.right - half);
        let _ = write!(
            out,
            r#"<text class="c halo" x="{}" y="{}" text-anchor="middle">{}</text>"#,
            num(x),
            num((f.y(month.upper) - 7.0).max(12.0)),
            escape(text)
        );
    }
}
