//! Both sides of a label to copy with a pen: large letters on dotted guides, no square.

use crate::content::{Content, join};
use crate::fonts::{SANS_CAPITALS, SERIF_CAPITALS};
use crate::frame::code_em;
use crate::front::Front;
use crate::layout::Size;
use crate::paint::{Item, text, width};
use crate::pdf::Field;
use crate::words::{SMALLEST_CAPITALS, Word, break_lines};

/// Height of the small letters of the serif \[em\].
const X_HEIGHT: f64 = 0.475;
const MARGIN: f64 = 3.0;

/// Room for letters: rows of equal height between two margins.
struct Rows {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    /// Largest letters \[mm\].
    em: f64,
}

impl Rows {
    /// Baselines and size for a count of rows; none if the letters would be too small.
    fn place(&self, count: usize) -> Option<(Vec<f64>, f64)> {
        let step = ((self.bottom - self.top) / count as f64).min(1.36 * self.em);
        let em = self.em.min(step / 1.12);
        let bases = (1..=count).map(|i| self.top + step * i as f64).collect();
        // A pen needs larger letters than print: a quarter more than the smallest print.
        (em * SERIF_CAPITALS >= 1.25 * SMALLEST_CAPITALS).then_some((bases, em))
    }

    fn width(&self) -> f64 {
        self.right - self.left
    }
}

fn rows(size: Size, top: f64) -> Rows {
    let (w, h) = size.measures();
    let em = (0.19 * h).clamp(3.95, 9.0);
    let left = if size.has_hole() { 8.5 } else { MARGIN.min(0.12 * h) };
    Rows { left, right: w - MARGIN.min(0.12 * h), top, bottom: h - 0.11 * h, em }
}

/// First side: the number twice as tall as the rest, the code, the name.
pub(crate) fn first_side(content: &Content, size: Size) -> Option<Front> {
    let h = size.measures().1;
    let usual = rows(size, 0.0);
    let capitals = usual.em * SERIF_CAPITALS;
    let mut best: Option<(f64, Vec<Item>, bool)> = None;
    for (dear, number) in
        [(0.0, (2.0 * capitals).min(0.3 * h)), (2.0, 1.4 * capitals.min(0.16 * h))]
    {
        let base = 0.08 * h + number;
        let rows = rows(size, base);
        let Some(head) = head(content, &rows, number, base) else { continue };
        for count in 1..=6 {
            let Some((bases, em)) = rows.place(count) else { break };
            for shrink in 0..4 {
                let em =
                    em - (em - 1.25 * SMALLEST_CAPITALS / SERIF_CAPITALS) * f64::from(shrink) / 3.0;
                let widths = vec![rows.width(); count];
                let Some((broken, ends)) = break_lines(&content.name, em, &widths) else {
                    continue;
                };
                let price = dear + broken + f64::from(shrink) + (usual.em - em);
                if best.as_ref().is_none_or(|(least, ..)| price < *least) {
                    let mut items = head.clone();
                    items.extend(letters(&content.name, &ends, em, &rows, &bases));
                    best = Some((price, items, em < usual.em - 1e-6));
                }
            }
        }
    }
    best.map(|(_, items, smaller)| Front { items, smaller, left_off: Vec::new() })
}

fn head(content: &Content, rows: &Rows, number: f64, base: f64) -> Option<Vec<Item>> {
    let em = number / SANS_CAPITALS;
    let code_em = (0.8 * rows.em).max(code_em(0.0));
    let code = content.code.width * code_em;
    let needed = content.number.width * em + 2.0 + code;
    let mut items = guides(rows, base, number);
    items.push(content.number.at(em, rows.left, base));
    items.push(content.code.at(code_em, rows.right - code, base));
    (needed <= rows.width()).then_some(items)
}

/// Second side: parents, from whom, when, at most four lines or as many as there is room for; the
/// last are left off, never the parents.
pub(crate) fn second_side(content: &Content, size: Size) -> (Vec<Item>, Vec<Field>) {
    let rows = rows(size, 0.06 * size.measures().1);
    let date = join(&[&content.when, &content.received], true);
    let mut parts: Vec<(Field, &[Word])> =
        content.parents.iter().map(|words| (Field::Parents, words.as_slice())).collect();
    parts.extend([(Field::FromWhom, content.whom.as_slice()), (Field::When, date.as_slice())]);
    parts.retain(|(_, words)| !words.is_empty());
    let mut left_off = Vec::new();
    while !parts.is_empty() {
        if let Some(items) = set_parts(&parts, &rows) {
            return (items, left_off);
        }
        if let Some((field, _)) = parts.pop()
            && !left_off.contains(&field)
        {
            left_off.insert(0, field);
        }
    }
    (Vec::new(), left_off)
}

/// All parts on as few rows as they need, at one size.
fn set_parts(parts: &[(Field, &[Word])], rows: &Rows) -> Option<Vec<Item>> {
    for count in parts.len()..=parts.len() + 4 {
        let (bases, em) = rows.place(count)?;
        let smallest = 1.25 * SMALLEST_CAPITALS / SERIF_CAPITALS;
        for em in [em, (em + smallest) / 2.0, smallest] {
            let broken: Option<Vec<Vec<usize>>> = parts
                .iter()
                .map(|(_, words)| {
                    (1..=4).find_map(|n| {
                        break_lines(words, em, &vec![rows.width(); n]).map(|(_, ends)| ends)
                    })
                })
                .collect();
            let Some(broken) = broken else { continue };
            if broken.iter().map(Vec::len).sum::<usize>() > count {
                continue;
            }
            let mut items = Vec::new();
            let mut row = 0;
            for ((_, words), ends) in parts.iter().zip(&broken) {
                items.extend(letters(words, ends, em, rows, &bases[row..]));
                row += ends.len();
            }
            return Some(items);
        }
    }
    None
}

fn letters(words: &[Word], ends: &[usize], em: f64, rows: &Rows, bases: &[f64]) -> Vec<Item> {
    let mut items = Vec::new();
    let mut start = 0;
    for (end, base) in ends.iter().zip(bases) {
        let line = &words[start..*end];
        items.extend(guides(rows, *base, X_HEIGHT * em));
        items.push(text(line, em, rows.left, *base));
        items.extend(underlines(line, em, rows.left, *base));
        start = *end;
    }
    items
}

/// Dotted lines on which the letters stand and up to which they reach.
fn guides(rows: &Rows, base: f64, height: f64) -> Vec<Item> {
    [base, base - height]
        .map(|y| Item::Line {
            x: rows.left,
            y,
            to_x: rows.right,
            to_y: y,
            thick: 0.12,
            dash: Some([0.3, 0.7]),
        })
        .to_vec()
}

/// What print sets in italics, a pen underlines; neighbours in italics share one line.
fn underlines(words: &[Word], em: f64, left: f64, base: f64) -> Vec<Item> {
    let mut found: Vec<(f64, f64)> = Vec::new();
    let mut x = left;
    let mut joined = false;
    for (i, word) in words.iter().enumerate() {
        for piece in &word.pieces {
            let end = x + piece.width * piece.size(em);
            match found.last_mut() {
                Some(last) if piece.italic && joined => last.1 = end,
                _ if piece.italic => found.push((x, end)),
                _ => {}
            }
            joined = piece.italic;
            x = end;
        }
        x = left + width(&words[..=i], em) + word.space * em;
    }
    let y = base + 0.2 * em;
    found
        .into_iter()
        .map(|(x, to_x)| Item::Line { x, y, to_x, to_y: y, thick: 0.25, dash: None })
        .collect()
}
