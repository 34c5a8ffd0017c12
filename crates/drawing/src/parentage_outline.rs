//! The chart as an outline: a row for every plant, its seed parent's rows above, its pollen
//! parent's below. For many generations and long names.

use crate::label::Label;
use crate::parentage::{ChartWords, Drawing, LINE, MOST_GENERATIONS, Stroke, Tree, WHOLE, weight};

struct Node<'a> {
    tree: &'a Tree,
    generation: usize,
    side: usize,
    y: f64,
    parents: Vec<Node<'a>>,
    lines: Vec<Label>,
    cut: bool,
    /// Known ancestors that are not drawn.
    behind: usize,
}

struct Measures {
    step: f64,
    total: f64,
}

impl Measures {
    /// Where a plant's line ends and its name may begin.
    fn end(&self, generation: usize) -> f64 {
        4.0 + self.step * generation as f64
    }

    /// Where a plant's name is written: clear of the lines that leave towards its parents.
    fn name(&self, generation: usize, leaf: bool) -> f64 {
        self.end(generation) + if leaf { 9.0 } else { 0.62 * self.step + 4.0 }
    }

    /// Room for the name, the share at the right edge left free.
    fn room(&self, generation: usize, leaf: bool) -> f64 {
        self.total - self.name(generation, leaf) - 34.0
    }
}

pub(crate) fn draw(tree: &Tree, words: &ChartWords, total: f64) -> Drawing {
    let generations = tree.generations().min(MOST_GENERATIONS);
    let step = ((total - 190.0) / generations as f64).clamp(16.0, 44.0);
    let measures = Measures { step, total };
    let mut y = 0.0;
    let root = place(tree, (0, 0), &measures, &mut y);
    let mut drawing = Drawing { height: y + 4.0, ..Drawing::default() };
    paint(&root, &measures, words, &mut drawing);
    drawing
}

/// Rows in reading order from the top: everything behind the seed parent, the plant itself,
/// everything behind the pollen parent.
fn place<'a>(
    tree: &'a Tree,
    (generation, side): (usize, usize),
    m: &Measures,
    y: &mut f64,
) -> Node<'a> {
    let both = tree.parents.as_deref().filter(|_| generation < MOST_GENERATIONS);
    let leaf = both.is_none();
    let (lines, cut) = match generation {
        0 => (Vec::new(), false),
        g => tree.who.label().fit(m.room(g, leaf), 2),
    };
    let hidden = if leaf { tree.known_above() } else { 0 };
    let mut parents = Vec::new();
    if let Some([seed, _]) = both {
        parents.push(place(seed, (generation + 1, 0), m, y));
    }
    let word_row = f64::from(u8::from(generation == 1)) * 18.0;
    let behind = f64::from(u8::from(hidden > 0)) * LINE;
    let more = LINE * (lines.len() as f64 - 1.0).max(0.0);
    *y += 13.0 + if side == 0 { word_row } else { 0.0 };
    let own = *y;
    *y += 13.0 + more + behind + if side == 1 { word_row } else { 0.0 };
    if let Some([_, pollen]) = both {
        parents.push(place(pollen, (generation + 1, 1), m, y));
    }
    Node { tree, generation, side, y: own, parents, lines, cut, behind: hidden }
}

fn paint(node: &Node, m: &Measures, words: &ChartWords, drawing: &mut Drawing) {
    let g = node.generation;
    for parent in &node.parents {
        let half = if g == 0 { 0.25 * WHOLE } else { 0.25 * weight(g) };
        let start = node.y + if parent.side == 0 { -half } else { half };
        drawing.stroke(Stroke {
            x: [m.end(g), m.end(g + 1)],
            y: [start, parent.y],
            weight: weight(g + 1),
            known: parent.tree.who.is_known(),
        });
        paint(parent, m, words, drawing);
    }
    if g > 0 {
        write_row(node, m, words, drawing);
    }
}

fn write_row(node: &Node, m: &Measures, words: &ChartWords, drawing: &mut Drawing) {
    let g = node.generation;
    let leaf = node.parents.is_empty();
    let x = m.name(g, leaf);
    let full = node.tree.who.label().plain();
    drawing.name(&node.lines, node.cut.then_some(full.as_str()), x, node.y + 5.0, !leaf);
    let below = node.y + 5.0 + LINE * node.lines.len() as f64;
    if leaf {
        drawing.fraction(g, m.total, node.y + 5.0);
    }
    let mut next = below;
    if node.behind > 0 {
        drawing.words(&(words.behind)(node.behind), x, next);
        next += LINE;
    }
    if g == 1 {
        if node.side == 0 {
            drawing.words(words.seed_parent, x, node.y - 13.0);
        } else {
            drawing.words(words.pollen_parent, x, next - 1.0);
        }
    }
}
