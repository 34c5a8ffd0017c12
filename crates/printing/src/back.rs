//! The back of a label: from whom, when, as what; two blank lines for a pencil; clone and number.

use crate::content::{Content, join};
use crate::fonts::SANS_CAPITALS;
use crate::frame::HOLE;
use crate::front::{ABOVE, Sizes};
use crate::layout::Size;
use crate::paint::{Item, line, text, width};
use crate::pdf::Field;
use crate::words::{Word, break_lines};

/// Lays out the back; what has no room is named.
pub(crate) fn back(content: &Content, size: Size) -> (Vec<Item>, Vec<Field>) {
    let (w, h) = size.measures();
    let sizes = Sizes::new(size);
    let margin = if h < 16.0 { 1.5 } else { 2.6 };
    let mut right = w - margin;
    let mut items = Vec::new();
    if size.has_hole() {
        // Seen from behind, the hole is at the other end.
        items.push(Item::Circle { x: w - HOLE.1, y: h / 2.0, radius: HOLE.0 });
        right = w - HOLE.1 - HOLE.0 - 1.6;
    }
    let mut left_off = Vec::new();
    let foot = h - margin.min(2.2);
    foot_line(content, &sizes, (margin, right, foot), &mut items, &mut left_off);
    let ceiling = foot - 1.3 * sizes.sans;
    let mut base = margin - 0.2;
    let date = join(&[&content.when, &content.received], true);
    let larger = (1.12 * sizes.serif).min(sizes.name);
    let parts = [
        (Field::FromWhom, content.whom.as_slice(), larger),
        (Field::When, date.as_slice(), sizes.sans),
    ];
    for (field, words, em) in parts {
        if words.is_empty() {
            continue;
        }
        match paragraph(words, em, sizes.serif.min(em), (margin, right), base, ceiling) {
            Some((set, lower)) => {
                items.extend(set);
                base = lower;
            }
            None => left_off.push(field),
        }
    }
    items.extend(pencil_lines(margin, right, base, ceiling, h));
    (items, left_off)
}

/// Clone at the left, number at the right; the number is dropped last.
fn foot_line(
    content: &Content,
    sizes: &Sizes,
    (left, right, base): (f64, f64, f64),
    items: &mut Vec<Item>,
    left_off: &mut Vec<Field>,
) {
    let em = 1.1 * sizes.sans.max(2.1 / SANS_CAPITALS);
    let number = content.number.width * em;
    if number <= right - left {
        items.push(content.number.at(em, right - number, base));
    }
    if content.clone.is_empty() {
        return;
    }
    if width(&content.clone, sizes.sans) + number + 2.0 <= right - left {
        items.push(text(&content.clone, sizes.sans, left, base));
    } else {
        left_off.push(Field::Clone);
    }
}

/// A paragraph in as few lines as possible, shrunk before it is broken: its lines and lower end.
fn paragraph(
    words: &[Word],
    em: f64,
    em_min: f64,
    (left, right): (f64, f64),
    top: f64,
    ceiling: f64,
) -> Option<(Vec<Item>, f64)> {
    for count in 1..=4usize {
        for em in [em, (em + em_min) / 2.0, em_min] {
            let pitch = 1.1 * em;
            let first = top + (ABOVE + 0.1) * em;
            let last = first + pitch * (count - 1) as f64;
            if last + 0.24 * em > ceiling {
                continue;
            }
            let Some((_, ends)) = break_lines(words, em, &vec![right - left; count]) else {
                continue;
            };
            let mut items = Vec::new();
            let mut start = 0;
            for (i, end) in ends.iter().enumerate() {
                items.push(text(&words[start..*end], em, left, first + pitch * i as f64));
                start = *end;
            }
            return Some((items, last + 0.3 * em));
        }
    }
    None
}

/// Up to two blank lines, at least 3.6 mm apart, where there is room.
fn pencil_lines(left: f64, right: f64, base: f64, ceiling: f64, h: f64) -> Vec<Item> {
    let room = ceiling - base;
    let count = ((room / 3.6).floor() as usize).min(if h > 40.0 { 4 } else { 2 });
    let step = (room / count.max(1) as f64).min(7.0);
    (1..=count).map(|i| base + step * i as f64).map(|y| line(left, y, right, y)).collect()
}
