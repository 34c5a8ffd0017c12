//! Shares of founders as bars, and the line that explains the marks of an evidence line.

use std::fmt::Write;

use crate::evidence::Seen;
use crate::label::Label;
use crate::svg::{escape, num};

/// One row of the table of shares.
#[derive(Debug, Clone, PartialEq)]
pub struct ShareRow {
    /// Who: a name, or the words for what is not recorded.
    pub label: Label,
    /// The share in words or as a fraction, such as "3/8".
    pub fraction: String,
    /// The share \[0 to 1\], for the length of the bar.
    pub share: f64,
    /// Drawn dashed: not recorded, or one of several.
    pub unknown: bool,
}

/// The table of shares with a bar in each row.
pub fn shares_table(caption: &str, rows: &[ShareRow]) -> String {
    let mut out = format!(r#"<table class="shares"><caption>{}</caption>"#, escape(caption));
    // Half of the whole fills the bar's room, unless some share is larger.
    let largest = rows.iter().map(|r| r.share).fold(0.5, f64::max);
    for row in rows {
        let width = (74.0 * row.share.clamp(0.0, 1.0) / largest - 0.5).max(0.5);
        let class = if row.unknown { "unknown" } else { "inkfill" };
        let _ = write!(
            out,
            concat!(
                r#"<tr><th scope="row">{}</th><td class="frac num">{}</td>"#,
                r#"<td><svg width="74" height="9" aria-hidden="true">"#,
                r#"<rect x=".5" y="1" width="{}" height="6" class="{}"/></svg></td></tr>"#
            ),
            row.label.html(),
            escape(&row.fraction),
            num(width),
            class
        );
    }
    out.push_str("</table>");
    out
}

/// A kind of mark to explain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KnownKind {
    /// A single day, known in this way.
    Day(Seen),
    /// Between two looks.
    Between,
    /// Still open.
    Open,
    /// Borrowed from similar plants.
    Borrowed,
    /// Still missing.
    Missing,
}

/// The line of marks with words that stands above the answers: give only the kinds that occur.
pub fn known_line(kinds: &[(KnownKind, &str)]) -> String {
    let items: Vec<String> = kinds
        .iter()
        .map(|(kind, word)| {
            let mark = mark(*kind);
            format!(
                r#"<span><svg class="ev" aria-hidden="true">{mark}</svg>{}</span>"#,
                escape(word)
            )
        })
        .collect();
    format!(r#"<p class="known">{}</p>"#, items.join(" "))
}

fn mark(kind: KnownKind) -> &'static str {
    match kind {
        KnownKind::Day(Seen::AtTheTime) => r#"<line class="x" x1="7" x2="7" y1="3" y2="22"/>"#,
        KnownKind::Day(Seen::Remembered) => r#"<line class="x rem" x1="7" x2="7" y1="3" y2="22"/>"#,
        KnownKind::Day(Seen::FromPhoto) => concat!(
            r#"<line class="x" x1="7" x2="7" y1="7" y2="22"/>"#,
            r#"<circle class="ring" cx="7" cy="4" r="3.25"/>"#
        ),
        KnownKind::Day(Seen::Told) => concat!(
            r#"<line class="span" x1="0" x2="14" y1="9.5" y2="9.5"/>"#,
            r#"<line class="told" x1="7" x2="7" y1="9.5" y2="20"/>"#
        ),
        KnownKind::Between => r#"<rect class="i" x="2.5" y="5.5" width="9" height="13"/>"#,
        KnownKind::Open => concat!(
            r#"<line class="i" x1="2.5" x2="2.5" y1="5" y2="19"/>"#,
            r#"<line class="i" x1="2.5" x2="12" y1="5.5" y2="5.5"/>"#
        ),
        KnownKind::Borrowed => r#"<line class="b" x1="7" x2="7" y1="9" y2="15"/>"#,
        KnownKind::Missing => r#"<rect class="m" x="2.5" y="5.5" width="9" height="13"/>"#,
    }
}
