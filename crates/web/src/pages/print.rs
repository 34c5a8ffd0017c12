//! Labels, and what else can be shown.

use axum::{
    extract::{Path, Query},
    http::header,
    response::IntoResponse as _,
};
use maud::{Markup, html};
use printing::{Back, Label, Layout, SheetMeasures, Size, labels_pdf};
use texts::Texts;

use super::ask::{Answered, Ask};
use crate::{
    WebError,
    forms::{Sent, choice, field, line},
    labels::{label_of, tag_of, words},
    layout::{Nav, title},
    markup,
};

/// What can be shown or handed on.
pub(crate) async fn show(ask: Ask) -> Answered {
    let t = ask.t();
    let body = html! {
        (title(&html! { (t.t("To print, to hand on")) }, &html! { (t.t("Show")) }, None))
        section class="says begin" {
            p.lead { (t.t("Print")) }
            ol {
                li { a.go href="/labels" { (t.t("labels")) } p { (t.t("Stakes, hanging tags, tape or whole sheets, to the millimetre; or a pattern to copy by hand.")) } }
                li { a.go href="/house" { (t.t("everything as tables")) } p { (t.t("A folder of CSV files with a description of every column.")) } }
            }
        }
    };
    ask.show(Nav::Show, t.t("Show"), &body)
}

fn number(sent: &Sent, key: &str) -> Option<f64> {
    field(sent, key).replace(',', ".").parse().ok()
}

/// The layout that an address asks for.
fn layout(ask: &Ask, sent: &Sent) -> Result<Layout, crate::layout::Failed> {
    let size = match field(sent, "size") {
        "" | "60x25" => Size::Stake60x25,
        "75x20" => Size::Stake75x20,
        "50x30" => Size::Tag50x30,
        "40x12" => Size::Tape { length: 40.0, width: 12.0 },
        "50x12" => Size::Tape { length: 50.0, width: 12.0 },
        "60x18" => Size::Tape { length: 60.0, width: 18.0 },
        own => match own.split_once('x').or(own.split_once('×')) {
            Some((w, h)) => match (w.trim().parse(), h.trim().parse()) {
                (Ok(width), Ok(height)) => Size::Own { width, height },
                _ => {
                    return Err(ask.failed(WebError::form(
                        "size",
                        own,
                        "is not a size; write width x height in mm, such as 70x30",
                    )));
                }
            },
            None => {
                return Err(ask.failed(WebError::form(
                    "size",
                    own,
                    "is not a size; write width x height in mm, such as 70x30",
                )));
            }
        },
    };
    let back = match field(sent, "back") {
        "none" => Back::None,
        "long" => Back::DuplexLongEdge,
        "short" => Back::DuplexShortEdge,
        "fold" => Back::FoldBelow,
        _ if matches!(size, Size::Tape { .. } | Size::Tag50x30) => Back::None,
        _ => Back::FoldBelow,
    };
    let single = matches!(size, Size::Tape { .. }) || field(sent, "on") == "single";
    let mut layout = if single { Layout::single(size) } else { Layout::a4(size, back) };
    layout.back = back;
    layout.hand = field(sent, "hand") == "yes";
    layout.start_at =
        number(sent, "skip").filter(|n| *n >= 0.0 && *n < 10_000.0).map_or(0, |n| n as usize);
    if let (Some(columns), Some(rows)) = (number(sent, "columns"), number(sent, "rows")) {
        let mm = |key: &str, otherwise: f64| number(sent, key).unwrap_or(otherwise);
        layout.sheet = Some(SheetMeasures {
            page_width: mm("page_width", 210.0),
            page_height: mm("page_height", 297.0),
            margin_left: mm("margin_left", 0.0),
            margin_top: mm("margin_top", 0.0),
            columns: columns as usize,
            rows: rows as usize,
            gap_x: mm("gap_x", 0.0),
            gap_y: mm("gap_y", 0.0),
        });
        layout.crop_marks = false;
        layout.rule_100mm = false;
    }
    Ok(layout)
}

fn sizes(t: Texts) -> Vec<(String, String)> {
    [
        ("60x25", t.t("stake 60 × 25 mm")),
        ("75x20", t.t("stake 75 × 20 mm")),
        ("50x30", t.t("hanging tag 50 × 30 mm")),
        ("40x12", t.t("tape 40 × 12 mm")),
        ("50x12", t.t("tape 50 × 12 mm")),
        ("60x18", t.t("tape 60 × 18 mm")),
    ]
    .iter()
    .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
    .collect()
}

fn backs(t: Texts) -> Vec<(String, String)> {
    [
        ("fold", t.t("folded behind")),
        ("long", t.t("on the back, turned over the long edge")),
        ("short", t.t("on the back, turned over the short edge")),
        ("none", t.t("front only")),
    ]
    .iter()
    .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
    .collect()
}

/// Choosing plants and a layout.
pub(crate) async fn choose(ask: Ask, Query(sent): Query<Sent>) -> Answered {
    let t = ask.t();
    let wanted = super::plants::query(&sent);
    let chosen = !sent.is_empty();
    let (numbers, example) = ask.read(|r| {
        let numbers = if chosen { r.plant_numbers(&wanted.filter)? } else { Vec::new() };
        let example = match numbers.first() {
            Some(n) => r.plant(*n)?,
            None => None,
        };
        Ok((numbers, example))
    })?;
    let filter: Vec<(&String, &String)> = {
        let own = [
            "size",
            "back",
            "hand",
            "skip",
            "on",
            "columns",
            "rows",
            "page_width",
            "page_height",
            "margin_left",
            "margin_top",
            "gap_x",
            "gap_y",
        ];
        sent.iter().filter(|(k, v)| !own.contains(&k.as_str()) && !v.is_empty()).collect()
    };
    let body = html! {
        (title(&html! { a href="/show" { (t.t("Show")) } }, &html! { (t.t("Labels")) },
            Some(t.t("The number is largest: it is what one reads across a shelf. Under the square stand the six characters to type when no camera is at hand."))))
        @if numbers.is_empty() {
            form.form method="get" action="/labels" {
                (line(t.t("Numbers of plants"), "n", field(&sent, "n"), t.t("such as 12, 14, 20; or choose them on the list of plants")))
                button.btn.main { (t.t("Choose")) }
            }
            p.after { a href="/plants" { (t.t("Choose on the list of plants")) } }
        } @else {
            p.under { (t.f("one label|{n} labels", &[("n", &numbers.len())])) @if let Some(p) = &example { ", " (t.t("the first:")) " " (p.number) " " (markup::name(&answers::name_text(&p.name))) } }
            form.form method="get" action="/labels.pdf" {
                @for (k, v) in &filter { input type="hidden" name=(k) value=(v); }
                (choice(t.t("Size"), "size", &sizes(t), "60x25"))
                (choice(t.t("Back"), "back", &backs(t), "fold"))
                label.tick { input type="checkbox" name="hand" value="yes"; (t.t("large, to copy by hand with a pen")) }
                (line(t.t("Labels already used on the first sheet"), "skip", "", t.t("a whole number; empty for none")))
                button.btn.main { (t.t("Make the PDF")) }
            }
            details.rest {
                summary { (t.t("Another size, or bought sheets")) }
                form.form method="get" action="/labels.pdf" {
                    @for (k, v) in &filter { input type="hidden" name=(k) value=(v); }
                    (line(t.t("Width × height of a label, mm"), "size", "", t.t("such as 70x30")))
                    (choice(t.t("Back"), "back", &backs(t), "none"))
                    (line(t.t("Columns"), "columns", "", "")) (line(t.t("Rows"), "rows", "", ""))
                    (line(t.t("Left margin, mm"), "margin_left", "", "")) (line(t.t("Top margin, mm"), "margin_top", "", ""))
                    (line(t.t("Gap between columns, mm"), "gap_x", "", "")) (line(t.t("Gap between rows, mm"), "gap_y", "", ""))
                    button.btn { (t.t("Make the PDF")) }
                }
            }
            (notes(t))
        }
    };
    ask.show(Nav::Show, t.t("Labels"), &body)
}

fn notes(t: Texts) -> Markup {
    html! {
        section.sect {
            p.note { b { (t.t("Measure the rule")) } " " (t.t("of 100 mm on the sheet before cutting: print at 100 %, unscaled.")) }
            p.note { (t.t("Unknown parents and vague dates are printed as they are known, not left out. Long names are set smaller, then broken; they are never cut.")) }
            p class="note caution" { b { (t.t("Handing on.")) } " " (t.t("A plant passport or a raiser's licence, where one is required, is a separate paper. These labels do not replace it.")) }
        }
    }
}

/// Tags for the flowers of a cross: as many as were asked for.
pub(crate) async fn tags(
    ask: Ask,
    Path(cross): Path<i64>,
    Query(mut sent): Query<Sent>,
) -> Answered {
    let pollination = number(&sent, "n").map(|n| n as i64);
    let count = number(&sent, "count").map_or(1, |n| n as usize).clamp(1, 200);
    sent.entry("size".to_owned()).or_insert_with(|| "50x30".to_owned());
    let layout = layout(&ask, &sent)?;
    let tag = ask.read(|r| tag_of(r, cross, pollination, &ask.hand))?;
    made(&ask, vec![tag; count], layout).await
}

/// The PDF.
pub(crate) async fn pdf(ask: Ask, Query(sent): Query<Sent>) -> Answered {
    let wanted = super::plants::query(&sent);
    let layout = layout(&ask, &sent)?;
    let labels = ask.read(|r| {
        r.plant_numbers(&wanted.filter)?
            .iter()
            .map(|n| label_of(r, *n, &ask.hand))
            .collect::<Result<Vec<_>, _>>()
    })?;
    if labels.is_empty() {
        return Err(ask.failed(WebError::form(
            "n",
            field(&sent, "n"),
            "names no plant; choose some on the list of plants",
        )));
    }
    made(&ask, labels, layout).await
}

async fn made(ask: &Ask, labels: Vec<Label>, layout: Layout) -> Answered {
    let w = words(ask.hand.lang);
    let made = tokio::task::spawn_blocking(move || labels_pdf(&labels, &layout, &w))
        .await
        .map_err(|e| ask.failed(WebError::Conflict(e.to_string())))?;
    let pdf = made.map_err(|e| ask.failed(e))?;
    let headers = [
        (header::CONTENT_TYPE, "application/pdf"),
        (header::CONTENT_DISPOSITION, "inline; filename=\"umbel-labels.pdf\""),
    ];
    Ok((headers, pdf.bytes).into_response())
}
