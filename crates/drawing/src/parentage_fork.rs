//! The chart as a fork: leaves in rows on the right, inner names on their lines.

use crate::label::Label;
use crate::parentage::{ChartWords, Drawing, LINE, MOST_GENERATIONS, Stroke, Tree, WHOLE, weight};
use crate::width;

/// A plant with its place.
struct Node<'a> {
    tree: &'a Tree,
    generation: usize,
    /// 0 for a seed parent, 1 for a pollen parent.
    side: usize,
    y: f64,
    parents: Vec<Node<'a>>,
    /// Name as it will be written.
    lines: Vec<Label>,
    cut: bool,
}

/// The horizontal measures of a chart.
struct Measures {
    /// Width of one generation \[px\].
    step: f64,
    /// Where lines that reach a leaf end.
    end: f64,
}

impl Measures {
    /// Where the straight piece of a generation begins.
    fn stub(&self, generation: usize) -> f64 {
        4.0 + self.step * (generation as f64 - 0.45)
    }

    fn column_end(&self, generation: usize) -> f64 {
        4.0 + self.step * generation as f64
    }

    /// Where the name of an inner plant begins.
    fn name(&self, generation: usize) -> f64 {
        if generation == 1 { 0.55 * self.stub(1) + 2.0 } else { self.stub(generation) - 10.0 }
    }

    /// Room for the name of an inner plant.
    fn room(&self, generation: usize) -> f64 {
        self.name(generation + 1) - self.name(generation) - 8.0
    }
}

/// `None` when there are too many generations or the names of inner plants do not fit.
pub(crate) fn draw(tree: &Tree, words: &ChartWords, total: f64) -> Option<Drawing> {
    let generations = tree.generations().min(MOST_GENERATIONS);
    if generations > 3 {
        return None;
    }
    let (name, behind) = widest_leaf(tree, words);
    // Names may be broken or shortened; the few words under them may not.
    let leaf_room = name.clamp(60.0, 0.42 * total).max(behind);
    if leaf_room > 0.55 * total {
        return None;
    }
    let end = total - leaf_room - 12.0;
    let measures = Measures { step: (end - 4.0) / generations as f64, end };
    let first = words_width(words);
    if generations > 1 && first > measures.room(1) {
        return None;
    }
    let mut y = 0.0;
    let mut root = place(tree, (0, 0), &measures, leaf_room, &mut y)?;
    // Room above the first and below the last name, where a parent's own line is the outermost.
    let top = 46.0 - root.parents.first().map_or(46.0, |seed| seed.y).min(46.0);
    shift(&mut root, top.max(6.0));
    let bottom = root.parents.last().map_or(0.0, |pollen| pollen.y + 46.0);
    let mut drawing =
        Drawing { height: (y + top.max(6.0) + 4.0).max(bottom), ..Drawing::default() };
    paint(&root, &measures, words, &mut drawing);
    Some(drawing)
}

fn words_width(words: &ChartWords) -> f64 {
    width::sans(words.seed_parent).max(width::sans(words.pollen_parent))
}

fn behind(tree: &Tree, words: &ChartWords) -> Option<String> {
    (tree.behind > 0).then(|| (words.behind)(tree.behind))
}

/// Width of the widest name of a leaf, and of the widest words under one.
fn widest_leaf(tree: &Tree, words: &ChartWords) -> (f64, f64) {
    match &tree.parents {
        Some(parents) => parents
            .iter()
            .map(|p| widest_leaf(p, words))
            .fold((0.0, 0.0), |a, b| (a.0.max(b.0), a.1.max(b.1))),
        None => {
            let behind = behind(tree, words).map_or(0.0, |b| width::sans(&b));
            (tree.who.label().width(), behind)
        }
    }
}

/// Gives every leaf a row from the top and every other plant the middle of its parents.
fn place<'a>(
    tree: &'a Tree,
    (generation, side): (usize, usize),
    measures: &Measures,
    leaf_room: f64,
    y: &mut f64,
) -> Option<Node<'a>> {
    let node = |y, parents, (lines, cut)| Node { tree, generation, side, y, parents, lines, cut };
    let Some(both) = &tree.parents else {
        let fitted = tree.who.label().fit(leaf_room, 2);
        let extra = fitted.0.len().saturating_sub(1) + usize::from(tree.behind > 0);
        let height = 46.0 + LINE * extra as f64;
        // A parent that is a leaf has its words above or below its own line.
        let height = if generation == 1 { height + 14.0 } else { height };
        *y += height;
        return Some(node(*y - 0.5 * height, Vec::new(), fitted));
    };
    let mut parents = Vec::new();
    for (side, parent) in both.iter().enumerate() {
        parents.push(place(parent, (generation + 1, side), measures, leaf_room, y)?);
    }
    let middle = 0.5 * (parents[0].y + parents[1].y);
    let fitted = match generation {
        0 => (Vec::new(), false),
        _ => tree.who.label().fit(measures.room(generation), 2),
    };
    // A shortened or broken inner name means that this kind of chart is too small for it.
    if fitted.1 || (generation > 1 && fitted.0.len() > 1) {
        return None;
    }
    Some(node(middle, parents, fitted))
}

fn shift(node: &mut Node, by: f64) {
    node.y += by;
    node.parents.iter_mut().for_each(|p| shift(p, by));
}

fn paint(node: &Node, m: &Measures, words: &ChartWords, drawing: &mut Drawing) {
    let g = node.generation;
    let from = if g == 0 { 4.0 } else { m.column_end(g) };
    for parent in &node.parents {
        let w = weight(g + 1);
        // Each parent's line leaves from its half of the progeny's line.
        let half = if g == 0 { 0.25 * WHOLE } else { 0.25 * weight(g) };
        let start = node.y + if parent.side == 0 { -half } else { half };
        let known = parent.tree.who.is_known();
        let stub = m.stub(g + 1);
        let to = if parent.parents.is_empty() { m.end } else { m.column_end(g + 1) };
        drawing.stroke(Stroke { x: [from, stub], y: [start, parent.y], weight: w, known });
        drawing.stroke(Stroke { x: [stub, to], y: [parent.y; 2], weight: w, known });
        paint(parent, m, words, drawing);
    }
    if g > 0 {
        write_name(node, m, words, drawing);
    }
}

fn write_name(node: &Node, m: &Measures, words: &ChartWords, drawing: &mut Drawing) {
    let g = node.generation;
    let full = node.tree.who.label().plain();
    let full = node.cut.then_some(full.as_str());
    let leaf = node.parents.is_empty();
    let count = node.lines.len() as f64;
    let above = node.y - 11.0 - LINE * (count - 1.0);
    if leaf {
        let y = node.y + 5.0 - 0.5 * LINE * (count - 1.0);
        drawing.name(&node.lines, full, m.end + 10.0, y, false);
        drawing.fraction(g, m.end - 8.0, node.y - 7.0);
        if let Some(behind) = behind(node.tree, words) {
            drawing.words(&behind, m.end + 10.0, y + LINE * count);
        }
    } else if !node.tree.who.label().runs.is_empty() {
        let y = if node.side == 0 { above } else { node.y + 24.0 };
        drawing.name(&node.lines, full, m.name(g), y, true);
    }
    if g == 1 {
        let lines = if leaf || node.tree.who.label().runs.is_empty() { 0.0 } else { count };
        if node.side == 0 {
            drawing.words(words.seed_parent, m.name(1), node.y - 11.0 - LINE * lines);
        } else {
            drawing.words(words.pollen_parent, m.name(1), node.y + 22.0 + LINE * lines);
        }
    }
}
