//! What one good costs of another: a curve to choose from, with the place that was chosen.

use std::fmt::Write;

use crate::parentage::Size;
use crate::svg::{escape, num};
use crate::width;

/// A set that can be chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Along: what grows to the right.
    pub along: f64,
    /// Up: what grows to the top.
    pub up: f64,
    /// Where touching it leads.
    pub href: String,
    /// Beside the dot.
    pub words: String,
    /// Whether it is the one that is shown.
    pub chosen: bool,
}

/// The words of the chart.
#[derive(Debug, Clone, Copy)]
pub struct TradeWords<'a> {
    /// Under the axis: "kinship in the set: from none to much".
    pub along: &'a str,
    /// Over the axis: "what is gained".
    pub up: &'a str,
    /// A sentence for screen readers.
    pub aria: &'a str,
}

/// Dots joined by a line, each a link; scales go from the least to the most of what can be chosen.
pub fn trade_off(choices: &[Choice], words: &TradeWords<'_>, size: Size) -> String {
    if choices.is_empty() {
        return String::new();
    }
    let span = |f: fn(&Choice) -> f64| {
        let all = choices.iter().map(f);
        let (low, high) =
            all.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(x), h.max(x)));
        if high > low { (low, high) } else { (low - 0.5, low + 0.5) }
    };
    let (across, upward) = (span(|c| c.along), span(|c| c.up));
    let (left, right, top, foot) = (14.0, size.width() - 14.0, 40.0, 190.0);
    let x = |c: &Choice| left + (right - left) * (c.along - across.0) / (across.1 - across.0);
    let y = |c: &Choice| foot - (foot - top) * (c.up - upward.0) / (upward.1 - upward.0);
    let mut out = format!(
        r#"<svg class="{}" width="{w}" height="240" viewBox="0 0 {w} 240" role="img" aria-label="{}">"#,
        if size == Size::Wide { "wide" } else { "narrow" },
        escape(words.aria),
        w = num(size.width())
    );
    let _ = write!(
        out,
        r#"<line class="axis" x1="0" x2="{}" y1="{f}" y2="{f}"/><text x="0" y="16">{}</text><text x="0" y="{}">{}</text>"#,
        num(size.width()),
        escape(words.up),
        num(foot + 40.0),
        escape(words.along),
        f = num(foot + 14.0)
    );
    let mut sorted: Vec<&Choice> = choices.iter().collect();
    sorted.sort_by(|a, b| a.along.total_cmp(&b.along));
    let corners: Vec<String> =
        sorted.iter().map(|c| format!("{} {}", num(x(c)), num(y(c)))).collect();
    let _ = write!(out, r#"<path class="accline" d="M{}"/>"#, corners.join("L"));
    // The words of the one that is shown come first; of others only those for which there is room.
    let mut taken: Vec<[f64; 4]> =
        sorted.iter().map(|c| [x(c) - 6.0, x(c) + 6.0, y(c) - 6.0, y(c) + 6.0]).collect();
    sorted.sort_by_key(|c| !c.chosen);
    for c in sorted {
        let (dot, r) = if c.chosen { ("iv-d", 6.0) } else { ("iv-p", 4.0) };
        let _ = write!(
            out,
            r#"<a href="{}"><title>{}</title><circle class="{dot}" cx="{}" cy="{}" r="{}"/>"#,
            crate::svg::safe_href(&c.href).unwrap_or_default(),
            escape(&c.words),
            num(x(c)),
            num(y(c)),
            num(r),
        );
        if let Some((tx, ty, place)) = room(&taken, (x(c), y(c)), width::sans(&c.words), size) {
            taken.push(place);
            let _ = write!(
                out,
                r#"<text class="halo{}" x="{}" y="{}">{}</text>"#,
                if c.chosen { " k" } else { "" },
                num(tx),
                num(ty),
                escape(&c.words)
            );
        }
        out.push_str("</a>");
    }
    out.push_str("</svg>");
    out
}

/// Where words of this width may stand beside a dot without touching what is there: left end, foot,
/// and the room they take.
fn room(
    taken: &[[f64; 4]],
    (x, y): (f64, f64),
    wide: f64,
    size: Size,
) -> Option<(f64, f64, [f64; 4])> {
    let touch =
        |a: &[f64; 4], b: &[f64; 4]| a[0] < b[1] && b[0] < a[1] && a[2] < b[3] && b[2] < a[3];
    for foot in [y + 20.0, y - 11.0] {
        for left in [x + 9.0, x - 9.0 - wide] {
            let place = [left, left + wide, foot - 12.0, foot + 4.0];
            let inside = left >= 0.0 && left + wide <= size.width() && foot - 12.0 > 18.0;
            if inside && !taken.iter().any(|t| touch(t, &place)) {
                return Some((left, foot, place));
            }
        }
    }
    None
}
