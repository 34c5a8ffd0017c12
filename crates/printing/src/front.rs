//! The front of a label: tries the arrangements and keeps the one that costs least.
//!
//! Costs are in the units of [`crate::words`]: 1 for a break between genus and epithet, 3 for one
//! inside a cultivar epithet, 1.2 for each tenth by which the name is smaller, 20 and more for
//! leaving something to the code.

use crate::content::{Content, join};
use crate::fonts::{SANS_CAPITALS, SERIF_CAPITALS};
use crate::frame::{Frame, code_em, frames};
use crate::layout::Size;
use crate::paint::{Item, text, width};
use crate::pdf::Field;
use crate::words::{SMALLEST_CAPITALS, Word, break_lines};

/// Space a line of text takes above and below its baseline \[em\].
pub(crate) const ABOVE: f64 = 0.74;
/// See [`ABOVE`].
pub(crate) const BELOW: f64 = 0.24;

/// A finished front.
#[derive(Debug, Clone)]
pub(crate) struct Front {
    pub items: Vec<Item>,
    /// Whether the name is set below its usual size.
    pub smaller: bool,
    /// What the label does not say for want of room: it is left to the code.
    pub left_off: Vec<Field>,
}

/// Usual and smallest sizes on a label \[mm\].
pub(crate) struct Sizes {
    pub name: f64,
    pub name_min: f64,
    pub number: f64,
    pub number_min: f64,
    pub serif: f64,
    pub sans: f64,
}

impl Sizes {
    /// The usual sizes.
    pub(crate) fn new(size: Size) -> Self {
        let (w, h) = size.measures();
        // A narrow label takes the letters of a low one.
        let h = h.min(0.6 * w);
        let smallest = SMALLEST_CAPITALS / SERIF_CAPITALS;
        let (name, number, number_min) = match size.has_hole() {
            true => (3.5, 5.0, 4.4),
            false => (6.0, 12.0, if h < 20.0 { 2.8 } else { 3.6 }),
        };
        Self {
            name: (0.15 * h).clamp(1.06 * smallest, name),
            name_min: smallest,
            // Heights of the figures, not of the em.
            number: (0.2 * h).clamp(3.4, number),
            number_min,
            serif: (0.1 * h).clamp(smallest, 4.5),
            sans: (0.1 * h).clamp(SMALLEST_CAPITALS / SANS_CAPITALS, 4.6),
        }
    }

    /// The same with parents and origin in the smallest print; none if they are already.
    fn with_smallest_notes(size: Size) -> Option<Self> {
        let usual = Self::new(size);
        let (serif, sans) = (SMALLEST_CAPITALS / SERIF_CAPITALS, SMALLEST_CAPITALS / SANS_CAPITALS);
        (usual.serif > serif + 1e-9).then_some(Self { serif, sans, ..usual })
    }
}

/// Paragraphs that stand on the last baseline, and their price.
struct Foot<'a> {
    price: f64,
    paragraphs: Vec<(Vec<Word>, f64)>,
    /// Beside the number, at the right.
    beside: Vec<&'a [Word]>,
    left_off: Vec<Field>,
}

/// The cheapest front, or none if the name or the number does not fit. `with_origin` prints from
/// whom and when too (there is no back).
pub(crate) fn front(content: &Content, size: Size, with_origin: bool) -> Option<Front> {
    let frames = frames(content, size);
    let usual = (0.0, Sizes::new(size));
    let all = std::iter::once(usual).chain(Sizes::with_smallest_notes(size).map(|s| (2.0, s)));
    let mut best: Option<(f64, Front)> = None;
    for (dear, sizes) in all {
        for foot in &feet(content, &sizes, with_origin, size) {
            for frame in &frames {
                let base = dear + foot.price + frame.price;
                if best.as_ref().is_some_and(|(price, _)| *price <= base) {
                    continue;
                }
                if let Some((price, front)) = compose(content, &sizes, frame, foot)
                    && best.as_ref().is_none_or(|(least, _)| price + base < *least)
                {
                    best = Some((price + base, front));
                }
            }
        }
    }
    best.map(|(_, front)| front)
}

/// The ways of placing parents and origin, the dearest last.
fn feet<'a>(content: &'a Content, sizes: &Sizes, with_origin: bool, size: Size) -> Vec<Foot<'a>> {
    let mut feet = Vec::new();
    // On low tape, parents and origin are left to the code by design.
    let bare = matches!(size, Size::Tape { width, .. } if width < 16.0);
    for (parents_price, parents) in parent_ways(content, sizes, bare) {
        let parents_off = parents.is_empty() && !content.parents.is_empty();
        for (origin_price, origin, beside, off) in origin_ways(content, sizes, with_origin, bare) {
            let mut left_off = off;
            if parents_off {
                left_off.insert(0, Field::Parents);
            }
            let paragraphs = parents.iter().cloned().chain(origin).collect();
            let price = parents_price + origin_price;
            feet.push(Foot { price, paragraphs, beside, left_off });
        }
    }
    feet.sort_by(|a, b| a.price.total_cmp(&b.price));
    feet
}

type Paragraphs = Vec<(Vec<Word>, f64)>;

fn parent_ways(content: &Content, sizes: &Sizes, bare: bool) -> Vec<(f64, Paragraphs)> {
    if content.parents.is_empty() || bare {
        return vec![(0.0, Vec::new())];
    }
    let stacked = content.parents.iter().map(|words| (words.clone(), sizes.serif)).collect();
    let parts: Vec<&[Word]> = content.parents.iter().map(Vec::as_slice).collect();
    let mut ways = vec![(0.0, stacked), (60.0, Vec::new())];
    if parts.len() > 1 {
        ways.insert(1, (0.8, vec![(join(&parts, false), sizes.serif)]));
    }
    ways
}

type OriginWay<'a> = (f64, Paragraphs, Vec<&'a [Word]>, Vec<Field>);

fn origin_ways<'a>(
    content: &'a Content,
    sizes: &Sizes,
    with_origin: bool,
    bare: bool,
) -> Vec<OriginWay<'a>> {
    if !with_origin || bare {
        return vec![(0.0, Vec::new(), Vec::new(), Vec::new())];
    }
    let all = [
        (Field::ReceivedAs, &content.received),
        (Field::Clone, &content.clone),
        (Field::When, &content.when),
        (Field::FromWhom, &content.whom),
    ];
    let present: Vec<_> = all.into_iter().filter(|(_, words)| !words.is_empty()).collect();
    let mut ways: Vec<OriginWay<'a>> = Vec::new();
    for dropped in 0..=present.len() {
        let price = [0.0, 20.0, 28.0, 40.0, 55.0][dropped];
        let off: Vec<Field> = present[..dropped].iter().rev().map(|(field, _)| *field).collect();
        let kept = |field| match off.contains(&field) {
            true => &[][..],
            false => all.iter().find(|(f, _)| *f == field).map_or(&[][..], |(_, w)| w.as_slice()),
        };
        let (whom, when) = (kept(Field::FromWhom), kept(Field::When));
        let (received, clone) = (kept(Field::ReceivedAs), kept(Field::Clone));
        let date = join(&[when, received], true);
        let lines =
            [(whom.to_vec(), sizes.serif), (date, sizes.sans), (clone.to_vec(), sizes.sans)];
        let lines: Paragraphs = lines.into_iter().filter(|(words, _)| !words.is_empty()).collect();
        if lines.len() > 1 {
            let flowing = join(&[whom, when, received, clone], true);
            ways.push((price + 1.0, vec![(flowing, sizes.sans)], Vec::new(), off.clone()));
        }
        if received.is_empty() && clone.is_empty() && !(whom.is_empty() && when.is_empty()) {
            let beside = [whom, when].into_iter().filter(|w| !w.is_empty()).collect();
            ways.push((price + 0.6, Vec::new(), beside, off.clone()));
        } else if !lines.is_empty() {
            let rest: Vec<&[Word]> =
                [received, clone].into_iter().filter(|w| !w.is_empty()).collect();
            let beside = [whom, when].into_iter().filter(|w| !w.is_empty()).collect();
            let below = vec![(join(&rest, true), sizes.sans)];
            ways.push((price + 0.9, below, beside, off.clone()));
        }
        ways.push((price, lines, Vec::new(), off));
    }
    ways
}

/// Lays out one arrangement; gives its further price.
fn compose(content: &Content, sizes: &Sizes, frame: &Frame, foot: &Foot) -> Option<(f64, Front)> {
    let (ceiling, foot_items, foot_price) = set_foot(frame, foot)?;
    let mut best: Option<(f64, Vec<Item>, f64)> = None;
    for step in 0..4 {
        let number = sizes.number - (sizes.number - sizes.number_min) * f64::from(step) / 3.0;
        let head_price = 0.9 * f64::from(step);
        let Some(head) = set_head(content, sizes, frame, foot, number) else { continue };
        let Some((price, items, em)) =
            set_name(&content.name, sizes, frame, frame.top + number, number, ceiling)
        else {
            continue;
        };
        let price = price + head_price;
        if best.as_ref().is_none_or(|(least, ..)| price < *least) {
            best = Some((price, head.into_iter().chain(items).collect(), em));
        }
    }
    let (price, mut items, em) = best?;
    items.extend(foot_items);
    items.extend(frame.fixed.iter().cloned());
    let front = Front { items, smaller: em < sizes.name - 1e-6, left_off: foot.left_off.clone() };
    Some((price + foot_price, front))
}

/// The paragraphs from the last baseline upwards: the upper end of the first, the texts, a price
/// for lines broken.
fn set_foot(frame: &Frame, foot: &Foot) -> Option<(f64, Vec<Item>, f64)> {
    let (mut base, mut ceiling, mut price) = (frame.bottom, None, 0.0);
    let mut items = Vec::new();
    for (words, em) in foot.paragraphs.iter().rev() {
        let pitch = 1.08 * em;
        let set = (1..=5).find_map(|lines| {
            let rooms: Vec<(f64, f64)> = (0..lines)
                .map(|i| base - pitch * (lines - 1 - i) as f64)
                .map(|y| frame.room(y - ABOVE * em, y + BELOW * em))
                .collect();
            let widths: Vec<f64> = rooms.iter().map(|(left, right)| right - left).collect();
            break_lines(words, *em, &widths).map(|(p, ends)| (p, ends, rooms))
        });
        let (broken, ends, rooms) = set?;
        price += broken + 0.2 * (ends.len() - 1) as f64;
        let first = base - pitch * (ends.len() - 1) as f64;
        items.splice(0..0, lines(words, &ends, *em, &rooms, first, pitch));
        ceiling = Some(first - ABOVE * em);
        base = first - 1.12 * em;
    }
    let ceiling = ceiling.unwrap_or(frame.bottom + 0.6);
    (ceiling > frame.top).then_some((ceiling, items, price))
}

fn lines(
    words: &[Word],
    ends: &[usize],
    em: f64,
    rooms: &[(f64, f64)],
    first: f64,
    pitch: f64,
) -> Vec<Item> {
    let starts = std::iter::once(0).chain(ends.iter().copied());
    starts
        .zip(ends)
        .zip(rooms)
        .enumerate()
        .map(|(i, ((start, end), room))| {
            text(&words[start..*end], em, room.0, first + pitch * i as f64)
        })
        .collect()
}

/// The number, with the code or the origin at its right.
fn set_head(
    content: &Content,
    sizes: &Sizes,
    frame: &Frame,
    foot: &Foot,
    height: f64,
) -> Option<Vec<Item>> {
    let em = height / SANS_CAPITALS;
    let base = frame.top + height;
    let (left, right) = frame.room(frame.top, base + 0.1);
    let end = left + content.number.width * em;
    let mut items = vec![content.number.at(em, left, base)];
    let mut needed = 0.0f64;
    if frame.code_beside_number {
        let width = content.code.width * code_em(0.0);
        items.push(content.code.at(code_em(0.0), right - width, base));
        needed = needed.max(width);
    }
    if !foot.beside.is_empty() {
        if frame.code_beside_number {
            return None;
        }
        let pitch = 1.06 * sizes.sans;
        let tall = (foot.beside.len() - 1) as f64 * pitch + SMALLEST_CAPITALS;
        if tall > height + 0.7 {
            return None;
        }
        for (i, words) in foot.beside.iter().rev().enumerate() {
            let width = width(words, sizes.serif.min(sizes.sans));
            needed = needed.max(width);
            items.push(text(
                words,
                sizes.serif.min(sizes.sans),
                right - width,
                base - pitch * i as f64,
            ));
        }
    }
    let gap = if needed > 0.0 { 2.0 } else { 0.0 };
    (end + gap + needed <= right).then_some(items)
}

/// The name below the number: price, texts and size.
fn set_name(
    words: &[Word],
    sizes: &Sizes,
    frame: &Frame,
    base: f64,
    number: f64,
    ceiling: f64,
) -> Option<(f64, Vec<Item>, f64)> {
    if words.is_empty() {
        return (base + 0.4 <= ceiling).then(|| (0.0, Vec::new(), sizes.name));
    }
    let mut best: Option<(f64, Vec<Item>, f64)> = None;
    for step in 0..=6 {
        let em = sizes.name - (sizes.name - sizes.name_min) * f64::from(step) / 6.0;
        if number < 1.15 * em * SERIF_CAPITALS || em < sizes.serif - 1e-9 {
            continue;
        }
        for (tight_price, lead, pitch) in [(0.0, 1.12, 1.16), (0.4, 1.0, 1.05), (0.8, 0.93, 1.0)] {
            let first = base + lead * em;
            for count in 1..=8usize {
                let last = first + pitch * em * (count - 1) as f64;
                if last + (BELOW + 0.1) * em > ceiling {
                    break;
                }
                let y = |i: usize| first + pitch * em * i as f64;
                let rooms: Vec<(f64, f64)> =
                    (0..count).map(|i| frame.room(y(i) - ABOVE * em, y(i) + BELOW * em)).collect();
                let widths: Vec<f64> = rooms.iter().map(|room| room.1 - room.0).collect();
                let Some((broken, ends)) = break_lines(words, em, &widths) else { continue };
                let price = broken
                    + 12.0 * (1.0 - em / sizes.name)
                    + tight_price
                    + 0.3 * (count - 1) as f64;
                if best.as_ref().is_none_or(|(least, ..)| price < *least) {
                    let items = lines(words, &ends, em, &rooms, first, pitch * em);
                    best = Some((price, items, em));
                }
            }
        }
    }
    best
}

/// Whether the number alone fits, whatever the name.
pub(crate) fn number_fits(content: &Content, size: Size) -> bool {
    let mut alone = content.clone();
    alone.name.clear();
    front(&alone, size, false).is_some()
}

/// The smallest size of the same kind that holds the name, looked for up to 300 × 200 mm: longer
/// first, then higher.
pub(crate) fn smallest_fit(size: Size, fits: impl Fn(Size) -> bool) -> Option<Size> {
    let (w, h) = size.measures();
    let mut height = h;
    while height <= 200.0 {
        let mut width = w.ceil();
        while width <= 300.0 {
            let tried = size.resized(width, height);
            if fits(tried) {
                return Some(tried);
            }
            width += 5.0;
        }
        height = height.ceil() + 5.0;
    }
    None
}
