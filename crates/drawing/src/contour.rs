//! Lines of equal value through a grid: marching squares, joined into whole lines.

use std::collections::HashMap;

/// Values at the nodes of a grid, the outer nodes on the edge of the area.
#[derive(Debug, Clone, Copy)]
pub struct Grid<'a> {
    /// How many nodes from left to right \[at least 2\].
    pub columns: usize,
    /// How many nodes from top to bottom \[at least 2\].
    pub rows: usize,
    /// The values, row by row from the top, each from the left.
    pub values: &'a [f64],
}

/// A line of equal value; its points run from 0 to 1 across and down.
#[derive(Debug, Clone, PartialEq)]
pub struct Contour {
    /// The points in their order.
    pub points: Vec<(f64, f64)>,
    /// Whether the last point joins the first.
    pub closed: bool,
}

/// An edge of the grid, by its upper or left node and whether it runs across.
type Edge = (usize, usize, bool);

impl Grid<'_> {
    /// Whether there are as many values as nodes, and enough of both to draw.
    #[must_use]
    pub fn sound(&self) -> bool {
        self.columns >= 2 && self.rows >= 2 && self.values.len() == self.columns * self.rows
    }

    fn at(&self, column: usize, row: usize) -> f64 {
        self.values[row * self.columns + column]
    }

    /// Where the level is met on an edge, by a straight line between its nodes.
    fn crossing(&self, (column, row, across): Edge, level: f64) -> (f64, f64) {
        let (a, b) = (
            self.at(column, row),
            if across { self.at(column + 1, row) } else { self.at(column, row + 1) },
        );
        let along = if a == b { 0.5 } else { ((level - a) / (b - a)).clamp(0.0, 1.0) };
        let (mut x, mut y) = (column as f64, row as f64);
        if across {
            x += along
        } else {
            y += along
        }
        (x / (self.columns - 1) as f64, y / (self.rows - 1) as f64)
    }

    /// The pieces of the level within one cell, each from edge to edge. In a saddle the mean of the
    /// corners says which two corners belong together.
    fn pieces(&self, column: usize, row: usize, level: f64) -> Vec<(Edge, Edge)> {
        let corners = [(0, 0), (1, 0), (1, 1), (0, 1)].map(|(c, r)| self.at(column + c, row + r));
        let above = corners.map(|v| v >= level);
        let top = (column, row, true);
        let right = (column + 1, row, false);
        let bottom = (column, row + 1, true);
        let left = (column, row, false);
        let edges = [top, right, bottom, left];
        let crossed: Vec<Edge> =
            (0..4).filter(|k| above[*k] != above[(k + 1) % 4]).map(|k| edges[k]).collect();
        match crossed.as_slice() {
            [a, b] => vec![(*a, *b)],
            [_, _, _, _] => {
                let middle = corners.iter().sum::<f64>() / 4.0 >= level;
                if middle == above[0] {
                    vec![(top, right), (bottom, left)]
                } else {
                    vec![(top, left), (right, bottom)]
                }
            }
            _ => Vec::new(),
        }
    }

    /// All lines of a level, the longest first. None where the grid is not sound.
    #[must_use]
    pub fn contours(&self, level: f64) -> Vec<Contour> {
        if !self.sound() {
            return Vec::new();
        }
        let mut pieces = Vec::new();
        for row in 0..self.rows - 1 {
            for column in 0..self.columns - 1 {
                pieces.extend(self.pieces(column, row, level));
            }
        }
        let mut meeting: HashMap<Edge, Vec<usize>> = HashMap::new();
        for (k, (a, b)) in pieces.iter().enumerate() {
            meeting.entry(*a).or_default().push(k);
            meeting.entry(*b).or_default().push(k);
        }
        let mut used = vec![false; pieces.len()];
        let mut lines = Vec::new();
        // Lines that end at the edge of the area first: what is left over runs in rings.
        for rings in [false, true] {
            for k in 0..pieces.len() {
                let (a, b) = pieces[k];
                let start = match (rings, meeting[&a].len(), meeting[&b].len()) {
                    (true, ..) | (false, 1, _) => a,
                    (false, _, 1) => b,
                    _ => continue,
                };
                if used[k] {
                    continue;
                }
                let edges = follow(&pieces, &meeting, &mut used, k, start);
                let closed = rings && edges.len() > 2 && edges.first() == edges.last();
                let mut points: Vec<_> = edges.iter().map(|e| self.crossing(*e, level)).collect();
                if closed {
                    points.pop();
                }
                lines.push(Contour { points, closed });
            }
        }
        lines.sort_by_key(|l| std::cmp::Reverse(l.points.len()));
        lines
    }
}

/// The edges that a line meets, from the edge at which it starts.
fn follow(
    pieces: &[(Edge, Edge)],
    meeting: &HashMap<Edge, Vec<usize>>,
    used: &mut [bool],
    first: usize,
    start: Edge,
) -> Vec<Edge> {
    let (mut edges, mut at, mut next) = (vec![start], start, Some(first));
    while let Some(k) = next {
        used[k] = true;
        let (a, b) = pieces[k];
        at = if at == a { b } else { a };
        edges.push(at);
        next = meeting[&at].iter().copied().find(|k| !used[*k]);
    }
    edges
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(columns: usize, rows: usize, value: impl Fn(f64, f64) -> f64) -> Vec<f64> {
        let mut out = Vec::new();
        for row in 0..rows {
            for column in 0..columns {
                out.push(value(
                    column as f64 / (columns - 1) as f64,
                    row as f64 / (rows - 1) as f64,
                ));
            }
        }
        out
    }

    #[test]
    fn a_slope_has_one_straight_line_from_edge_to_edge() {
        let values = grid(9, 5, |x, _| 10.0 * x);
        let lines = Grid { columns: 9, rows: 5, values: &values }.contours(3.3);
        assert_eq!(lines.len(), 1);
        assert!(!lines[0].closed);
        assert_eq!(lines[0].points.len(), 5);
        // Straight between nodes, so exact for a slope: rounding only.
        assert!(lines[0].points.iter().all(|p| (p.0 - 0.33).abs() < 1e-12));
    }

    #[test]
    fn a_hill_has_a_ring_of_the_right_radius() {
        let values = grid(61, 61, |x, y| 1.0 - ((x - 0.5).powi(2) + (y - 0.5).powi(2)).sqrt());
        let lines = Grid { columns: 61, rows: 61, values: &values }.contours(0.7);
        assert_eq!(lines.len(), 1);
        assert!(lines[0].closed);
        for (x, y) in &lines[0].points {
            let radius = ((x - 0.5).powi(2) + (y - 0.5).powi(2)).sqrt();
            // A chord of 1/60 bends off a circle of 0.3 by less than 0.0003.
            assert!((radius - 0.3).abs() < 3e-4, "{radius}");
        }
    }

    #[test]
    fn a_saddle_keeps_both_lines_apart_and_nothing_is_lost() {
        let values = [1.0, 0.0, 0.0, 1.0];
        let grid = Grid { columns: 2, rows: 2, values: &values };
        assert_eq!(grid.contours(0.4).len(), 2);
        assert_eq!(grid.contours(0.6).len(), 2);
        assert!(grid.contours(2.0).is_empty());
        assert!(Grid { columns: 3, rows: 2, values: &values }.contours(0.5).is_empty());
    }

    /// Every crossing of an edge belongs to exactly one line.
    #[test]
    fn lines_meet_each_crossed_edge_once() {
        let values = grid(23, 17, |x, y| (7.0 * x).sin() * (9.0 * y).cos() + 0.3 * x);
        let grid = Grid { columns: 23, rows: 17, values: &values };
        let level = 0.11;
        let mut crossed = 0;
        for row in 0..17 {
            for column in 0..23 {
                let here = grid.at(column, row) >= level;
                crossed +=
                    usize::from(column + 1 < 23 && (grid.at(column + 1, row) >= level) != here);
                crossed += usize::from(row + 1 < 17 && (grid.at(column, row + 1) >= level) != here);
            }
        }
        let drawn: usize = grid.contours(level).iter().map(|l| l.points.len()).sum();
        assert!(crossed > 50);
        assert_eq!(drawn, crossed);
    }
}
