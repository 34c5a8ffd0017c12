//! In which months something was: twelve columns, each with its interval.

use std::fmt::Write;

use crate::parentage::Size;
use crate::svg::{escape, num};

/// A month.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonthShare {
    /// Share of years with it, and the ends of its interval; none where no year was looked at.
    pub share: Option<(f64, f64, f64)>,
    /// Years in which the month was looked at.
    pub years: u32,
}

/// The words of the chart.
#[derive(Debug, Clone, Copy)]
pub struct MonthWords<'a> {
    /// Letters or short names of months, January first.
    pub months: [&'a str; 12],
    /// At the top of the axis: "every year".
    pub always: &'a str,
    /// At its foot: "never".
    pub never: &'a str,
    /// A sentence for screen readers.
    pub aria: &'a str,
}

/// Twelve columns: raw shares as a bar in ink, the interval as a whisker in the accent; under each
/// month the number of years that were looked at.
pub fn month_chart(months: &[MonthShare; 12], words: &MonthWords<'_>, size: Size) -> String {
    let (left, width) = (74.0, size.width());
    let step = (width - left) / 12.0;
    let (top, foot) = (8.0, 118.0);
    let y = |share: f64| foot - (foot - top) * share.clamp(0.0, 1.0);
    let mut out = format!(
        r#"<svg class="{}" width="{w}" height="160" viewBox="0 0 {w} 160" role="img" aria-label="{}">"#,
        if size == Size::Wide { "wide" } else { "narrow" },
        escape(words.aria),
        w = num(width)
    );
    for share in [0.0, 0.5, 1.0] {
        let class = if share == 0.0 { "axis" } else { "grid" };
        let _ = write!(
            out,
            r#"<line class="{class}" x1="{}" x2="{}" y1="{y}" y2="{y}"/>"#,
            num(left),
            num(width),
            y = num(y(share))
        );
    }
    let mut text = |x: f64, at: f64, anchor: &str, class: &str, words: &str| {
        let _ = write!(
            out,
            r#"<text x="{}" y="{}" text-anchor="{anchor}" class="{class}">{}</text>"#,
            num(x),
            num(at),
            escape(words)
        );
    };
    text(left - 8.0, y(1.0) + 5.0, "end", "", words.always);
    text(left - 8.0, y(0.0) + 5.0, "end", "", words.never);
    for (i, m) in months.iter().enumerate() {
        let x = left + step * (i as f64 + 0.5);
        text(x, foot + 18.0, "middle", "k", words.months[i]);
        text(x, foot + 36.0, "middle", "tiny num", &m.years.to_string());
    }
    for (i, m) in months.iter().enumerate() {
        let Some((at, lower, upper)) = m.share else { continue };
        let x = left + step * (i as f64 + 0.5);
        let wide = (0.5 * step).min(26.0);
        let _ = write!(
            out,
            r#"<rect class="ridge" x="{}" y="{}" width="{}" height="{}"/><line class="iv-w" x1="{x}" x2="{x}" y1="{}" y2="{}"/><circle class="iv-d" cx="{x}" cy="{}" r="3.5"/>"#,
            num(x - 0.5 * wide),
            num(y(at)),
            num(wide),
            num(foot - y(at)),
            num(y(lower)),
            num(y(upper)),
            num(y(at)),
            x = num(x),
        );
    }
    out.push_str("</svg>");
    out
}
