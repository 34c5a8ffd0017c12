//! Places labels on pages: cells, backs, cutting marks and the rule.

use crate::error::PrintError;
use crate::fonts::SANS_CAPITALS;
use crate::label::Span;
use crate::label::Words;
use crate::layout::{Back, Layout, SheetMeasures};
use crate::paint::{Cell, Item, Page, line, text, width};
use crate::words::{Lettering, SMALLEST_CAPITALS, words};

/// The two sides of a label.
pub(crate) struct Sides {
    pub front: Vec<Item>,
    pub back: Option<Vec<Item>>,
}

/// Refuses sizes and sheets that cannot be, with the values.
pub(crate) fn check(layout: &Layout) -> Result<(), PrintError> {
    let (w, h) = layout.size.measures();
    let good = |v: f64| v.is_finite() && v > 0.0 && v <= 2000.0;
    if !good(w) || !good(h) {
        let what = format!("A label of {w} × {h} mm cannot be. Give width and height in mm.");
        return Err(PrintError::Measures(what));
    }
    let Some(sheet) = layout.sheet else { return Ok(()) };
    let values = [sheet.margin_left, sheet.margin_top, sheet.gap_x, sheet.gap_y];
    if !good(sheet.page_width)
        || !good(sheet.page_height)
        || values.iter().any(|v| !v.is_finite() || *v < 0.0)
        || !(1..=200).contains(&sheet.columns)
        || !(1..=200).contains(&sheet.rows)
    {
        let what = "The sheet's measures cannot be: margins and gaps are 0 mm or more, and there \
                    are 1 to 200 columns and rows."
            .to_owned();
        return Err(PrintError::Measures(what));
    }
    let need = |count: usize, one: f64, gap: f64, margin: f64| {
        margin + one * count as f64 + gap * (count - 1) as f64
    };
    let cell = cell_height(layout);
    for (side, count, one, gap, margin, page) in [
        ("wide", sheet.columns, w, sheet.gap_x, sheet.margin_left, sheet.page_width),
        ("high", sheet.rows, cell, sheet.gap_y, sheet.margin_top, sheet.page_height),
    ] {
        let need = need(count, one, gap, margin);
        if need > page + 0.01 {
            return Err(PrintError::Measures(format!(
                "{count} labels of {one} mm with their margin and gaps need {need:.1} mm, but the \
                 page is {page} mm {side}. Make them fewer or smaller."
            )));
        }
    }
    let cells = sheet.columns * sheet.rows;
    if layout.start_at >= cells {
        return Err(PrintError::Measures(format!(
            "The sheet has {cells} labels, but {} are used up already. Start on a fresh sheet.",
            layout.start_at
        )));
    }
    Ok(())
}

fn cell_height(layout: &Layout) -> f64 {
    let h = layout.size.measures().1;
    if layout.back == Back::FoldBelow { 2.0 * h } else { h }
}

/// Where label `index` (from 0, used cells skipped) is printed: page and upper left corner \[mm\].
pub(crate) fn place(layout: &Layout, sheet: &SheetMeasures, index: usize) -> (usize, f64, f64) {
    let index = index + layout.start_at;
    let cells = sheet.columns * sheet.rows;
    let (row, column) = ((index % cells) / sheet.columns, index % sheet.columns);
    let x = sheet.margin_left + column as f64 * (layout.size.measures().0 + sheet.gap_x);
    let y = sheet.margin_top + row as f64 * (cell_height(layout) + sheet.gap_y);
    (index / cells, x, y)
}

/// All pages, and whether the rule found room.
pub(crate) fn pages(labels: Vec<Sides>, layout: &Layout, words: &Words) -> (Vec<Page>, bool) {
    let (w, h) = layout.size.measures();
    let sheet = layout.sheet.unwrap_or(SheetMeasures {
        page_width: w,
        page_height: cell_height(layout),
        margin_left: 0.0,
        margin_top: 0.0,
        columns: 1,
        rows: 1,
        gap_x: 0.0,
        gap_y: 0.0,
    });
    let duplex = matches!(layout.back, Back::DuplexLongEdge | Back::DuplexShortEdge);
    let blank = Page { w: sheet.page_width, h: sheet.page_height, ..Page::default() };
    let mut fronts: Vec<Page> = Vec::new();
    let mut backs: Vec<Page> = Vec::new();
    for (index, sides) in labels.into_iter().enumerate() {
        let (page, x, y) = place(layout, &sheet, index);
        if fronts.len() <= page {
            fronts.resize(page + 1, blank.clone());
            backs.resize(page + 1, blank.clone());
        }
        fronts[page].cells.push(Cell { x, y, w, h, turned: false, items: sides.front });
        let Some(items) = sides.back else { continue };
        if duplex {
            let (x, y, turned) = behind(layout, &sheet, x, y);
            backs[page].cells.push(Cell { x, y, w, h, turned, items });
        } else {
            let y = y + h;
            fronts[page].cells.push(Cell { x, y, w, h, turned: true, items });
        }
    }
    let mut ruled = false;
    if layout.sheet.is_some() {
        for page in &mut fronts {
            ruled |= mark(page, layout, &sheet, words);
        }
    }
    if !duplex {
        return (fronts, ruled);
    }
    (fronts.into_iter().zip(backs).flat_map(|(front, back)| [front, back]).collect(), ruled)
}

/// Where the back of a cell comes to lie on the next page, and whether it is turned so that it
/// reads upright when the cut label is turned about its upright middle.
fn behind(layout: &Layout, sheet: &SheetMeasures, x: f64, y: f64) -> (f64, f64, bool) {
    let (w, h) = layout.size.measures();
    let upright = sheet.page_height >= sheet.page_width;
    // The sheet is turned about its upright edge if that is the one named.
    if (layout.back == Back::DuplexLongEdge) == upright {
        (sheet.page_width - x - w, y, false)
    } else {
        (x, sheet.page_height - y - h, true)
    }
}

/// Cutting marks, folds and the rule; whether the rule found room.
fn mark(page: &mut Page, layout: &Layout, sheet: &SheetMeasures, words: &Words) -> bool {
    let (w, h) = (layout.size.measures().0, cell_height(layout));
    let fronts: Vec<(f64, f64)> =
        page.cells.iter().filter(|cell| !cell.turned).map(|cell| (cell.x, cell.y)).collect();
    if layout.back == Back::FoldBelow {
        let y_of = |y: f64| y + layout.size.measures().1;
        page.marks.extend(fronts.iter().map(|(x, y)| Item::Line {
            x: *x + 1.0,
            y: y_of(*y),
            to_x: x + w - 1.0,
            to_y: y_of(*y),
            thick: 0.12,
            dash: Some([1.4, 1.0]),
        }));
    }
    if layout.crop_marks {
        let mut corners: Vec<(i64, i64)> = Vec::new();
        for (x, y) in &fronts {
            for (x, y) in [(*x, *y), (x + w, *y), (*x, y + h), (x + w, y + h)] {
                corners.push(((x * 1000.0).round() as i64, (y * 1000.0).round() as i64));
            }
        }
        corners.sort_unstable();
        corners.dedup();
        for (x, y) in corners {
            let (x, y) = (x as f64 / 1000.0, y as f64 / 1000.0);
            page.marks.push(line(x - 1.0, y, x + 1.0, y));
            page.marks.push(line(x, y - 1.0, x, y + 1.0));
        }
    }
    layout.rule_100mm && rule(page, layout, sheet, words)
}

/// Room a rule with its words takes \[mm\].
const RULE_ROOM: f64 = 12.0;

/// A rule of 100 mm beside or below the labels, where there is room for it.
fn rule(page: &mut Page, layout: &Layout, sheet: &SheetMeasures, fixed: &Words) -> bool {
    let (w, h) = (layout.size.measures().0, cell_height(layout));
    let span = |count: usize, one: f64, gap: f64| one * count as f64 + gap * (count - 1) as f64;
    let right = sheet.margin_left + span(sheet.columns, w, sheet.gap_x);
    let foot = sheet.margin_top + span(sheet.rows, h, sheet.gap_y);
    let em = SMALLEST_CAPITALS / SANS_CAPITALS;
    let Ok(note) = words(&[Span::roman(fixed.rule.as_str())], Lettering::Note) else {
        return false;
    };
    let long = width(&note, em);
    if sheet.page_width - right >= RULE_ROOM && sheet.page_height >= 120.0 {
        let (x, y) = (right + 4.0, (sheet.page_height - 100.0) / 2.0);
        page.marks.push(line(x, y, x, y + 100.0));
        for (at, right) in [(0.0, 2.0), (50.0, 0.0), (100.0, 2.0)] {
            page.marks.push(line(x - 2.0, y + at, x + right, y + at));
        }
        let words = turned(text(&note, em, x + 1.6, y + 50.0 - long / 2.0));
        page.marks.push(words);
        return true;
    }
    if sheet.page_height - foot >= RULE_ROOM && sheet.page_width >= 110.0 {
        let (x, y) = ((sheet.page_width - 100.0) / 2.0, foot + 4.5);
        page.marks.push(line(x, y, x + 100.0, y));
        for (at, below) in [(0.0, 2.0), (50.0, 0.0), (100.0, 2.0)] {
            page.marks.push(line(x + at, y - 2.0, x + at, y + below));
        }
        page.marks.push(text(&note, em, x + 50.0 - long / 2.0, y + 4.2));
        return true;
    }
    false
}

/// A text that runs downwards from its place.
fn turned(item: Item) -> Item {
    match item {
        Item::Text { x, y, r, .. } => Item::Text { x, y, r, turned: true },
        other => other,
    }
}
