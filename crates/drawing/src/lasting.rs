//! How long things last: a smooth curve with its band, and under it every single one on the same axis.

use std::fmt::Write;

use crate::parentage::Size;
use crate::survival::{Frame, SurvivalWords, axes, median_mark, path};
use crate::svg::{escape, num};
use crate::width;

/// A point of the curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LastingPoint {
    /// Share that lasts so long or longer \[0 to 1\].
    pub share: f64,
    /// How long that is: lower limit, middle, upper limit, in the unit named by the words.
    pub times: [f64; 3],
}

/// One of those that were followed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Life {
    /// It lasted at least so long.
    pub at_least: f64,
    /// And at the most so long; none where its end was not seen.
    pub at_most: Option<f64>,
    /// Those with the same number stand together.
    pub group: u32,
}

/// Lines of lives that are drawn at the most; of more the latest are drawn.
const MOST: usize = 60;

/// Draws the curve with its band of times, and the lives as lines from 0: solid as long as it certainly
/// lasted, broken up to where it had ended, with a hook where the end was not seen.
pub fn lasting_chart(
    points: &[LastingPoint],
    lives: &[Life],
    words: &SurvivalWords,
    size: Size,
) -> String {
    let drawn = &lives[lives.len().saturating_sub(MOST)..];
    let labels = [words.all, words.half, words.none].map(width::sans);
    let certain = drawn.iter().map(|l| l.at_most.unwrap_or(l.at_least)).fold(0.0, f64::max);
    // The upper limit of what hardly any reach may lie far out; the axis need not show all of it.
    let usual = points.iter().filter(|p| p.share >= 0.1).map(|p| p.times[2]).fold(0.0, f64::max);
    let frame = Frame {
        left: labels.into_iter().fold(0.0, f64::max) + 10.0,
        right: size.width() - 6.0,
        top: 12.0,
        bottom: 170.0,
        longest: (1.05 * usual.max(certain)).max(f64::MIN_POSITIVE),
    };
    let lanes = lanes(drawn);
    let height = frame.bottom + 48.0 + lanes.last().map_or(0.0, |l| l + 12.0);
    let mut out = format!(
        r#"<svg class="{}" width="{w}" height="{h}" viewBox="0 0 {w} {h}" role="img" aria-label="{}">"#,
        if size == Size::Wide { "wide" } else { "narrow" },
        escape(words.aria),
        w = num(size.width()),
        h = num(height)
    );
    // Beyond the axis the outline ends at its edge.
    let inside: Vec<&LastingPoint> =
        points.iter().filter(|p| p.times[0] <= frame.longest).collect();
    if inside.len() > 1 {
        let side = |k: usize| -> Vec<(f64, f64)> {
            let begin = std::iter::once((0.0, 1.0));
            begin.chain(inside.iter().map(|p| (p.times[k].min(frame.longest), p.share))).collect()
        };
        let mut upper = side(2);
        upper.reverse();
        let _ = write!(
            out,
            r#"<path class="tintfill" d="M{}L{}Z"/>"#,
            path(&side(0), &frame),
            path(&upper, &frame)
        );
    }
    axes(&mut out, words, &frame);
    let middle: Vec<(f64, f64)> = std::iter::once((0.0, 1.0))
        .chain(points.iter().map(|p| (p.times[1], p.share)))
        .filter(|p| p.0 <= frame.longest)
        .collect();
    let _ = write!(out, r#"<path class="accline" d="M{}"/>"#, path(&middle, &frame));
    let half = points.iter().find(|p| (p.share - 0.5).abs() < 1e-9).map(|p| p.times[1]);
    if let (Some(half), Some(text)) = (half, words.median) {
        median_mark(&mut out, half, text, &frame);
    }
    for (k, name) in [words.curve, words.band].into_iter().enumerate() {
        let class = if k == 0 { "c halo" } else { "halo" };
        let y = frame.y(1.0) + 18.0 * (k as f64 + 1.0);
        let _ = write!(
            out,
            r#"<text class="{class}" x="{}" y="{}" text-anchor="end">{}</text>"#,
            num(frame.right),
            num(y),
            escape(name)
        );
    }
    for (life, lane) in drawn.iter().zip(&lanes) {
        one(&mut out, life, frame.bottom + 52.0 + lane, &frame);
    }
    out.push_str("</svg>");
    out
}

/// Where each life lies below the first, a gap between groups.
fn lanes(lives: &[Life]) -> Vec<f64> {
    let pitch = if lives.len() > 30 { 5.0 } else { 8.0 };
    let mut y = 0.0;
    let mut before = None;
    let lane = |life: &Life| {
        if let Some(group) = before {
            y += if group == life.group { pitch } else { 1.75 * pitch };
        }
        before = Some(life.group);
        y
    };
    lives.iter().map(lane).collect()
}

fn one(out: &mut String, life: &Life, y: f64, f: &Frame) {
    let (from, sure) = (f.x(0.0), f.x(life.at_least));
    let _ = write!(
        out,
        r#"<line class="inkline" x1="{}" x2="{}" y1="{y}" y2="{y}"/>"#,
        num(from),
        num(sure),
        y = num(y)
    );
    let _ = match life.at_most {
        Some(most) => write!(
            out,
            r#"<line class="inkthin dots" x1="{}" x2="{}" y1="{y}" y2="{y}"/><circle class="iv-p" cx="{}" cy="{y}" r="2.5"/>"#,
            num(sure),
            num(f.x(most)),
            num(0.5 * (sure + f.x(most))),
            y = num(y)
        ),
        None => write!(
            out,
            r#"<path class="inkthin" d="M{} {}L{} {}L{} {}"/>"#,
            num(sure),
            num(y - 3.0),
            num(sure + 4.0),
            num(y),
            num(sure),
            num(y + 3.0)
        ),
    };
}
