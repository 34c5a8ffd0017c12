//! Small charts that stand in a row of a table: an estimate with its interval, flowering through a
//! year.

use std::fmt::Write;

use crate::svg::{escape, line, num, pct};

/// A share with its interval on an axis from 0 to `end`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Whisker {
    /// Where it most likely lies.
    pub at: f64,
    /// Lower end.
    pub lower: f64,
    /// Upper end.
    pub upper: f64,
    /// Whether it rests on what is believed beforehand alone.
    pub believed: bool,
    /// Where the axis ends, above 0.
    pub end: f64,
}

/// The whisker over hairlines at each third of the axis.
pub fn whisker(w: &Whisker, aria: &str) -> String {
    let place = |x: f64| 100.0 * (x / w.end).clamp(0.0, 1.0);
    let mut out = format!(r#"<svg height="24" role="img" aria-label="{}">"#, escape(aria));
    for k in 0..=3 {
        let x = 100.0 * f64::from(k) / 3.0;
        line(&mut out, "grid", [x, x], [0.0, 24.0]);
    }
    let class = if w.believed { "iv-w prior" } else { "iv-w" };
    line(&mut out, class, [place(w.lower), place(w.upper)], [12.0, 12.0]);
    let (dot, r) = if w.believed { ("iv-p", 4.0) } else { ("iv-d", 4.5) };
    let _ = write!(
        out,
        r#"<circle class="{dot}" cx="{}" cy="12" r="{}"/></svg>"#,
        pct(place(w.at)),
        num(r)
    );
    out
}

/// The ends of the axis in words, above a column of whiskers: 0, thirds, end.
pub fn whisker_axis(end: f64) -> String {
    let mut out = r#"<svg height="18" aria-hidden="true">"#.to_owned();
    for k in 0..=3 {
        let share = f64::from(k) / 3.0;
        let anchor = match k {
            0 => "start",
            3 => "end",
            _ => "middle",
        };
        let unit = if k == 3 { "%" } else { "" };
        let _ = write!(
            out,
            r#"<text x="{}" y="14" text-anchor="{anchor}">{}{unit}</text>"#,
            pct(100.0 * share),
            num((100.0 * end * share).round())
        );
    }
    out.push_str("</svg>");
    out
}

/// Two years of flowering that face each other: each a chance from 0 to 1 for equal steps of a
/// year. Where both are above one half the middle line is drawn strong. With nothing below, the upper
/// one stands alone.
pub fn facing_ridges(above: &[f64], below: &[f64], aria: &str) -> String {
    let height = if below.is_empty() { 22 } else { 40 };
    let mut out =
        format!(r#"<svg class="cal" height="{height}" role="img" aria-label="{}">"#, escape(aria));
    for (years, y, up) in [(above, 1.0, true), (below, 20.0, false)] {
        if years.len() < 2 {
            continue;
        }
        let _ = write!(
            out,
            r#"<svg x="0" y="{}" width="100%" height="19" viewBox="0 0 120 20" preserveAspectRatio="none"><path class="ridge" d="{}"/></svg>"#,
            num(y),
            ridge(years, up)
        );
    }
    line(&mut out, "axis", [0.0, 100.0], [20.0, 20.0]);
    let n = above.len().min(below.len());
    let mut from = None;
    for i in 0..=n {
        let both = i < n && above[i] >= 0.5 && below[i] >= 0.5;
        match (both, from) {
            (true, None) => from = Some(i),
            (false, Some(begin)) => {
                let at = |k: usize| 100.0 * k as f64 / n as f64;
                line(&mut out, "meet", [at(begin), at(i)], [20.0, 20.0]);
                from = None;
            }
            _ => {}
        }
    }
    out.push_str("</svg>");
    out
}

/// The outline of one ridge in a box of 120 by 20; up from its foot, or down from its head.
fn ridge(years: &[f64], up: bool) -> String {
    let n = years.len() as f64;
    let foot = if up { 20.0 } else { 0.0 };
    let high = |share: f64| {
        let tall = 19.0 * share.clamp(0.0, 1.0);
        if up { 20.0 - tall } else { tall }
    };
    let mut d = format!("M0 {}", num(foot));
    for (i, share) in years.iter().enumerate() {
        let x = 120.0 * (i as f64 + 0.5) / n;
        if i == 0 {
            let _ = write!(d, "L0 {}", num(high(*share)));
        }
        let _ = write!(d, "L{} {}", num(x), num(high(*share)));
        if i + 1 == years.len() {
            let _ = write!(d, "L120 {}", num(high(*share)));
        }
    }
    let _ = write!(d, "L120 {}Z", num(foot));
    d
}
