//! Shares and the line that explains the marks.

use drawing::{KnownKind, Label, Seen, ShareRow, known_line, shares_table};

use crate::{count, is_clean, number};

fn row(label: Label, share: f64, unknown: bool) -> ShareRow {
    ShareRow { label, fraction: format!("{share}"), share, unknown }
}

#[test]
fn bars_are_as_long_as_the_shares() {
    let rows = [
        row(Label::italic("A. radicans"), 0.5, false),
        row(Label::italic("A. speciosus"), 0.25, false),
        row(Label::roman("not recorded"), 0.25, true),
    ];
    let html = shares_table("Shares", &rows);
    is_clean(&html);
    let widths: Vec<f64> = html.split("<rect").skip(1).map(|r| number(r, "width") + 0.5).collect();
    assert_eq!(widths, [74.0, 37.0, 37.0]);
    assert_eq!(html.matches(r#"class="unknown""#).count(), 1);
    assert!(html.contains(r#"<span class="n"><i>A. radicans</i></span>"#));
}

#[test]
fn a_whole_share_fits_the_room() {
    let html = shares_table("Shares", &[row(Label::roman("x"), 1.0, false)]);
    assert_eq!(number(html.split("<rect").nth(1).unwrap(), "width"), 73.5);
}

#[test]
fn shares_are_escaped() {
    let rows = [row(Label::roman("<script>").linking("javascript:x"), 0.5, false)];
    let html = shares_table("<b>", &rows);
    is_clean(&html);
    assert!(html.contains("<caption>&lt;b&gt;</caption>"));
    assert!(html.contains("&lt;script&gt;"));
}

#[test]
fn the_line_of_kinds_explains_what_is_given() {
    let html = known_line(&[
        (KnownKind::Day(Seen::AtTheTime), "seen at the time"),
        (KnownKind::Day(Seen::FromPhoto), "from a <photo>"),
        (KnownKind::Missing, "missing"),
    ]);
    is_clean(&html);
    assert_eq!(count(&html, "svg", "ev"), 3);
    assert_eq!(count(&html, "circle", "ring"), 1);
    assert!(html.contains("from a &lt;photo&gt;"));
    assert!(html.starts_with(r#"<p class="known"><span>"#));
}
