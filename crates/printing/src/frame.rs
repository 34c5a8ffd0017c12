//! The fixed part of a front: where the square, the code and the hole are, and what room is left.

use crate::content::Content;
use crate::fonts::SANS_CAPITALS;
use crate::layout::Size;
use crate::paint::Item;
use crate::square::{QUIET, Square};

/// Radius of the hole in a hanging tag \[mm\], and the distance of its middle from the edge.
pub(crate) const HOLE: (f64, f64) = (2.0, 4.0);

/// Height of the smallest code's capitals \[mm\].
const CODE_CAPITALS: f64 = 2.2;
/// From the last baseline to the lower edge \[mm\].
const FOOT: f64 = 1.8;

/// The room for text on a front.
#[derive(Debug, Clone)]
pub(crate) struct Frame {
    /// What this arrangement costs against the best one.
    pub price: f64,
    pub left: f64,
    pub right: f64,
    /// Upper end of the number.
    pub top: f64,
    /// Last baseline.
    pub bottom: f64,
    /// Left and upper edge of the part at the lower right that is taken.
    pub taken: Option<(f64, f64)>,
    /// Whether the code stands at the right of the number.
    pub code_beside_number: bool,
    pub fixed: Vec<Item>,
}

impl Frame {
    /// Left and right end of a line between two heights \[mm\].
    pub(crate) fn room(&self, upper: f64, lower: f64) -> (f64, f64) {
        debug_assert!(upper <= lower);
        match self.taken {
            Some((left, top)) if lower > top => (self.left, left.min(self.right)),
            _ => (self.left, self.right),
        }
    }
}

/// Height of the code's capitals \[mm\] on a label of some height.
fn code_capitals(h: f64) -> f64 {
    (0.073 * h).clamp(CODE_CAPITALS, 4.0)
}

/// Size of the code \[mm\] on a label of some height.
pub(crate) fn code_em(h: f64) -> f64 {
    code_capitals(h) / SANS_CAPITALS
}

/// Largest module worth printing [mm]: a camera at arm's length reads 0.8.
fn largest_module(h: f64) -> f64 {
    (0.018 * h).max(0.8)
}

/// All arrangements in which the square keeps its smallest module and its blank border.
pub(crate) fn frames(content: &Content, size: Size) -> Vec<Frame> {
    let (w, h) = size.measures();
    let tape = matches!(size, Size::Tape { .. });
    let mut frames = Vec::new();
    for (rank, square) in content.squares.iter().enumerate() {
        let price = 1.6 * rank as f64;
        if size.has_hole() {
            frames.push(corner(content, size, square, price));
        } else if h < 20.0 {
            frames.extend(strip(content, size, square, price));
        } else if w < 1.3 * h {
            frames.extend(below(content, size, square, price));
        } else {
            frames.extend(beside(content, size, square, price));
        }
    }
    if tape && h < 12.0 {
        frames.push(bare(w, h));
    }
    frames.retain(|frame| frame.right - frame.left > 8.0 && frame.bottom > frame.top);
    frames.sort_by(|a, b| a.price.total_cmp(&b.price));
    frames
}

fn draw(square: &Square, content: &Content, x: f64, y: f64, module: f64) -> Item {
    let side = module * square.side as f64;
    Item::Square { x, y, side, svg: square.svg(), alt: content.payload.clone() }
}

/// The square at the left with the code below it: stakes, and most own sizes. Once as large as the
/// height allows, once with the smallest modules, which leaves more room for a long name.
fn beside(content: &Content, size: Size, square: &Square, price: f64) -> Vec<Frame> {
    let (w, h) = size.measures();
    let (n, capitals) = (square.side as f64, code_capitals(h));
    let largest = ((h - FOOT - capitals) / (n + 2.0 * QUIET)).min(largest_module(h));
    let frame = |(module, price): (f64, f64)| {
        let (side, code) = (module * n, content.code.width * code_em(h));
        let quiet = QUIET * module;
        let block = (side + 2.0 * quiet).max(code + 3.0);
        let middle = block / 2.0;
        let top = quiet.min(0.1 * h);
        // The code stands on the last baseline unless that is far from a small square.
        let (y, base) = match (h - FOOT - capitals - side) / 2.0 {
            y if y < quiet + 2.0 => (y, h - FOOT),
            _ => (quiet.max(top), quiet.max(top) + side + quiet + capitals),
        };
        Frame {
            price,
            left: block.max(middle + code / 2.0 + 1.9),
            right: w - 2.0,
            top,
            bottom: h - FOOT,
            taken: None,
            code_beside_number: false,
            fixed: vec![
                draw(square, content, middle - side / 2.0, y, module),
                content.code.at(code_em(h), middle - code / 2.0, base),
            ],
        }
    };
    modules(largest, size, price).into_iter().map(frame).collect()
}

/// The largest module, and a notably smaller one if there is one; none if even the largest is
/// too small. With their prices.
fn modules(largest: f64, size: Size, price: f64) -> Vec<(f64, f64)> {
    let smallest = size.smallest_module();
    let lesser = smallest.max(0.65 * largest);
    let mut modules = vec![(largest, price), (lesser, price + 1.6)];
    modules.retain(|(module, _)| *module >= smallest && *module <= largest);
    if largest <= 1.08 * lesser {
        modules.truncate(1);
    }
    modules
}

/// The square and the code at the foot, the text above: labels that are higher than wide.
fn below(content: &Content, size: Size, square: &Square, price: f64) -> Vec<Frame> {
    let (w, h) = size.measures();
    let (n, capitals) = (square.side as f64, code_capitals(w));
    let largest = (w / (n + 2.0 * QUIET)).min(0.36 * h / (n + QUIET)).min(largest_module(h));
    let code = content.code.width * code_em(w);
    let frame = |(module, price): (f64, f64)| {
        let (side, quiet) = (module * n, QUIET * module);
        let y = h - FOOT - capitals - quiet.max(1.2) - side;
        Frame {
            price,
            left: 2.4,
            right: w - 2.4,
            top: 2.4,
            bottom: y - quiet,
            taken: None,
            code_beside_number: false,
            fixed: vec![
                draw(square, content, (w - side) / 2.0, y, module),
                content.code.at(code_em(w), (w - code) / 2.0, h - FOOT),
            ],
        }
    };
    let mut frames: Vec<Frame> = modules(largest, size, price).into_iter().map(frame).collect();
    frames.retain(|_| code <= w - 3.0);
    frames
}

/// The square at the lower right, the text around it: hanging tags.
fn corner(content: &Content, size: Size, square: &Square, price: f64) -> Frame {
    let (w, h) = size.measures();
    let n = square.side as f64;
    let module = size.smallest_module();
    let (side, code, quiet) = (module * n, content.code.width * code_em(0.0), QUIET * module);
    let middle = (w - quiet - side / 2.0).min(w - 1.6 - code / 2.0);
    let foot = 1.6;
    let y = h - foot - CODE_CAPITALS - quiet - side;
    let mut fixed = vec![
        draw(square, content, middle - side / 2.0, y, module),
        content.code.at(code_em(0.0), middle - code / 2.0, h - foot),
    ];
    if size.has_hole() {
        fixed.push(Item::Circle { x: HOLE.1, y: h / 2.0, radius: HOLE.0 });
    }
    let left = HOLE.1 + HOLE.0 + 1.6;
    Frame {
        price,
        left,
        right: w - 2.0,
        top: 2.0,
        bottom: h - foot,
        taken: Some(((middle - side / 2.0 - quiet).min(middle - code / 2.0 - 1.2), y - quiet)),
        code_beside_number: false,
        fixed,
    }
}

/// The square over the full height at the left, the code beside the number: tape and low labels.
/// Half a module of the blank border above and below is left to the edge of the tape.
fn strip(content: &Content, size: Size, square: &Square, price: f64) -> Option<Frame> {
    let (w, h) = size.measures();
    let n = square.side as f64;
    let module = (h / (n + 2.0 * QUIET - 0.5)).min(largest_module(h));
    if module < size.smallest_module() {
        return None;
    }
    let (side, quiet) = (module * n, QUIET * module);
    let fixed = vec![draw(square, content, quiet, (h - side) / 2.0, module)];
    Some(Frame { price, left: 2.0 * quiet + side, fixed, ..bare(w, h) })
}

/// No square: tape narrower than 12 mm.
fn bare(w: f64, h: f64) -> Frame {
    Frame {
        price: 0.0,
        left: 1.5,
        right: w - 1.5,
        top: 0.09 * h,
        bottom: 0.875 * h,
        taken: None,
        code_beside_number: true,
        fixed: Vec::new(),
    }
}
