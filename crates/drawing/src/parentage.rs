//! The parentage chart: lines whose weight is the share, halving with each generation.

use std::fmt::Write;

use crate::label::Label;
use crate::svg::{escape, num};
use crate::{parentage_fork, parentage_outline};

/// A plant, or an unknown, and its parents.
#[derive(Debug, Clone, PartialEq)]
pub struct Tree {
    /// Who stands here. The label of the root is not drawn: the page carries its name.
    pub who: Who,
    /// Seed parent and pollen parent, in this order.
    pub parents: Option<Box<[Tree; 2]>>,
    /// How many known ancestors were left out behind this plant, where the tree was cut.
    pub behind: usize,
}

/// Who stands at a place of the chart.
#[derive(Debug, Clone, PartialEq)]
pub enum Who {
    /// A known plant. A label without runs is a known cross without a name.
    Known(Label),
    /// Unknown, with the words for it ("not recorded").
    Unknown(Label),
    /// One of several, with the words for it; drawn as unknown.
    OneOf(Label),
}

impl Who {
    pub(crate) fn label(&self) -> &Label {
        match self {
            Who::Known(label) | Who::Unknown(label) | Who::OneOf(label) => label,
        }
    }

    pub(crate) fn is_known(&self) -> bool {
        matches!(self, Who::Known(_))
    }
}

impl Tree {
    /// A plant whose parents are not shown.
    pub fn leaf(who: Who) -> Self {
        Tree { who, parents: None, behind: 0 }
    }

    /// A known plant with its parents.
    pub fn cross(label: Label, seed_parent: Tree, pollen_parent: Tree) -> Self {
        let parents = Some(Box::new([seed_parent, pollen_parent]));
        Tree { who: Who::Known(label), parents, behind: 0 }
    }

    /// Number of known plants in the tree above this one, and of those left out behind them.
    pub(crate) fn known_above(&self) -> usize {
        let parents = self.parents.iter().flat_map(|p| p.iter());
        self.behind
            + parents.map(|p| usize::from(p.who.is_known()) + p.known_above()).sum::<usize>()
    }

    /// Number of generations above this plant that are in the tree.
    pub fn generations(&self) -> usize {
        match &self.parents {
            Some(parents) => 1 + parents.iter().map(Tree::generations).max().unwrap_or(0),
            None => 0,
        }
    }
}

/// The words of a parentage chart.
#[derive(Clone, Copy)]
pub struct ChartWords<'a> {
    /// "seed parent".
    pub seed_parent: &'a str,
    /// "pollen parent".
    pub pollen_parent: &'a str,
    /// "… and 12 more behind", for known ancestors that are not drawn.
    pub behind: &'a dyn Fn(usize) -> String,
    /// A sentence for screen readers that says the parentage in full.
    pub aria: &'a str,
}

/// For which column a chart is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Size {
    /// 552 px, beside side notes.
    Wide,
    /// 328 px, a phone.
    Narrow,
}

impl Size {
    /// Width of the drawing in pixels.
    pub fn width(self) -> f64 {
        match self {
            Size::Wide => 552.0,
            Size::Narrow => 328.0,
        }
    }
}

/// More generations than this are not drawn.
pub(crate) const MOST_GENERATIONS: usize = 5;
/// Weight of the line that is the plant itself \[px\].
pub(crate) const WHOLE: f64 = 12.0;

/// Weight of a line in the given generation \[px\]; never so thin that it vanishes.
pub(crate) fn weight(generation: usize) -> f64 {
    (WHOLE / 2f64.powi(generation as i32)).max(0.75)
}

/// Draws the chart for one size. Few generations fork towards labels on the right; where the names
/// would not fit that way, every plant gets a row of its own. Empty for a plant without parents.
pub fn parentage_chart(tree: &Tree, words: &ChartWords, size: Size) -> String {
    if tree.parents.is_none() {
        return String::new();
    }
    let drawing = parentage_fork::draw(tree, words, size.width())
        .unwrap_or_else(|| parentage_outline::draw(tree, words, size.width()));
    drawing.svg(words.aria, size)
}

/// Both sizes one after the other; the style sheet shows the one that fits.
pub fn parentage_charts(tree: &Tree, words: &ChartWords) -> String {
    [Size::Wide, Size::Narrow].map(|size| parentage_chart(tree, words, size)).concat()
}

/// A chart in the making: lines below, texts above.
#[derive(Default)]
pub(crate) struct Drawing {
    pub lines: String,
    pub texts: String,
    pub height: f64,
}

/// A line's place: from here to there, at the heights of its middle.
#[derive(Clone, Copy)]
pub(crate) struct Stroke {
    pub x: [f64; 2],
    pub y: [f64; 2],
    pub weight: f64,
    pub known: bool,
}

impl Drawing {
    /// A line of constant weight, bent when its ends differ in height; two dashed edges when what
    /// it stands for is unknown.
    pub fn stroke(&mut self, s: Stroke) {
        let [xa, xb] = s.x.map(num);
        let xm = 0.5 * (s.x[0] + s.x[1]);
        // Two dashed edges of a hair line would merge; they keep 3 px between them.
        let half = if s.known { 0.5 * s.weight } else { 0.5 * s.weight.max(3.0) };
        // Where a line runs steeply, edges one above the other would pinch it: they part sideways.
        let slope = (s.y[1] - s.y[0]) / (s.x[1] - s.x[0]).max(1.0);
        let part = half * (0.5 * slope).clamp(-1.3, 1.3);
        let [up, down] = [num(xm + part), num(xm - part)];
        let [a0, b0] = s.y.map(|y| num(y - half));
        let [a1, b1] = s.y.map(|y| num(y + half));
        let _ = if s.known {
            write!(
                self.lines,
                r#"<path class="inkfill" d="M{xa} {a0}C{up} {a0} {up} {b0} {xb} {b0}V{b1}C{down} {b1} {down} {a1} {xa} {a1}Z"/>"#
            )
        } else {
            write!(
                self.lines,
                r#"<path class="unknown" d="M{xa} {a0}C{up} {a0} {up} {b0} {xb} {b0}M{xa} {a1}C{down} {a1} {down} {b1} {xb} {b1}"/>"#
            )
        };
    }

    /// A plant's name, in lines one below the other, the first with its baseline at `y`.
    pub fn name(&mut self, lines: &[Label], full: Option<&str>, x: f64, y: f64, halo: bool) {
        let class = if halo { "s halo" } else { "s" };
        for (i, line) in lines.iter().enumerate() {
            let y = y + LINE * i as f64;
            let attributes = format!(r#"class="{class}" x="{}" y="{}""#, num(x), num(y));
            self.texts.push_str(&line.markup(&attributes, full));
        }
    }

    /// Small words.
    pub fn words(&mut self, text: &str, x: f64, y: f64) {
        let _ = write!(
            self.texts,
            r#"<text class="halo" x="{}" y="{}">{}</text>"#,
            num(x),
            num(y),
            escape(text)
        );
    }

    /// The share of a line that ends here.
    pub fn fraction(&mut self, generation: usize, x: f64, y: f64) {
        let _ = write!(
            self.texts,
            r#"<text x="{}" y="{}" text-anchor="end" class="frac">1/{}</text>"#,
            num(x),
            num(y),
            1u32 << generation.min(30)
        );
    }

    fn svg(self, aria: &str, size: Size) -> String {
        let (w, h) = (num(size.width()), num(self.height.ceil()));
        let class = if size == Size::Wide { "wide" } else { "narrow" };
        format!(
            r#"<svg class="{class}" width="{w}" height="{h}" viewBox="0 0 {w} {h}" role="img" aria-label="{}">{}{}</svg>"#,
            escape(aria),
            self.lines,
            self.texts
        )
    }
}

/// Height of a line of names \[px\].
pub(crate) const LINE: f64 = 19.0;
