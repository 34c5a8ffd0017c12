//! The coming weeks: a column for each, as high as the chance.

use std::fmt::Write;

use crate::parentage::Size;
use crate::svg::{escape, num};
use crate::width;

/// A week.
#[derive(Debug, Clone, PartialEq)]
pub struct WeekAhead {
    /// Its first day: "7 Dec".
    pub from: String,
    /// The chance \[0 to 1\].
    pub chance: f64,
}

/// Columns with the chance above each and the first day under as many as there is room for. `always`
/// and `never` stand at the ends of the axis.
pub fn weeks_chart(
    weeks: &[WeekAhead],
    [always, never]: [&str; 2],
    aria: &str,
    size: Size,
) -> String {
    let left = width::sans(always).max(width::sans(never)) + 10.0;
    let (right, top, foot) = (size.width() - 4.0, 20.0, 110.0);
    let step = (right - left) / weeks.len().max(1) as f64;
    let y = |share: f64| foot - (foot - top) * share.clamp(0.0, 1.0);
    let mut out = format!(
        r#"<svg class="{}" width="{w}" height="138" viewBox="0 0 {w} 138" role="img" aria-label="{}">"#,
        if size == Size::Wide { "wide" } else { "narrow" },
        escape(aria),
        w = num(size.width())
    );
    for (share, class, word) in [(1.0, "grid", always), (0.5, "grid", ""), (0.0, "axis", never)] {
        let _ = write!(
            out,
            r#"<line class="{class}" x1="{}" x2="{}" y1="{y}" y2="{y}"/><text x="{}" y="{}" text-anchor="end">{}</text>"#,
            num(left),
            num(right),
            num(left - 8.0),
            num(y(share) + 5.0),
            escape(word),
            y = num(y(share))
        );
    }
    let widest = weeks.iter().map(|w| width::sans(&w.from)).fold(0.0, f64::max) + 8.0;
    let each = (widest / step).ceil().max(1.0) as usize;
    for (i, week) in weeks.iter().enumerate() {
        let x = left + step * (i as f64 + 0.5);
        let wide = (0.62 * step).min(34.0);
        let _ = write!(
            out,
            r#"<rect class="tintfill" x="{}" y="{top}" width="{}" height="{}"/><line class="accline" x1="{}" x2="{}" y1="{top}" y2="{top}"/><text class="tiny num c" x="{}" y="{}" text-anchor="middle">{:.0}</text>"#,
            num(x - 0.5 * wide),
            num(wide),
            num(foot - y(week.chance)),
            num(x - 0.5 * wide),
            num(x + 0.5 * wide),
            num(x),
            num(y(week.chance) - 5.0),
            100.0 * week.chance,
            top = num(y(week.chance))
        );
        if i % each == 0 {
            // The first and the last stay within the drawing.
            let half = 0.5 * width::sans(&week.from);
            let at = x.clamp(left + half - 4.0, right - half);
            let _ = write!(
                out,
                r#"<text x="{}" y="{}" text-anchor="middle">{}</text>"#,
                num(at),
                num(foot + 20.0),
                escape(&week.from)
            );
        }
    }
    out.push_str("</svg>");
    out
}
