//! Cross products of the design, formed once: what every further step works on.

use std::ops::Range;

use super::{
    scale::Scaled,
    small::{Two, ZERO, add, apply, times, transposed, unit},
};
use crate::sparse::{Pattern, SparseError};

/// A block of the cross products: a level (or a column of the fixed part) against another.
#[derive(Debug, Clone)]
struct Block {
    /// Which of the levels in turn, the later one.
    row: u32,
    /// The earlier one, or the same.
    column: u32,
    /// Sum over records of the product of their effects' weights.
    sum: Two,
    /// What the inverse relation among the levels of a term adds.
    prior: f64,
}

/// A random term within the equations.
#[derive(Debug, Clone)]
pub(super) struct Part {
    /// Effects for each level.
    pub width: usize,
    /// Its blocks among all.
    pub blocks: Range<usize>,
    /// Its first column.
    pub column: usize,
    /// Whether its levels are related by a given matrix K.
    pub related: bool,
    /// log|K⁻¹|
    pub log_det_prior: f64,
}

/// The cross products of random terms, fixed part and response.
#[derive(Debug)]
pub(super) struct Gram {
    pub parts: Vec<Part>,
    /// Random columns; those of the fixed part follow.
    pub random: usize,
    /// Columns of the fixed part.
    pub fixed: usize,
    pub records: usize,
    /// Products with the response, for every column.
    pub with_response: Vec<f64>,
    /// The response with itself.
    pub response: f64,
    /// Term of each block; that of the fixed part is one past the last.
    term_of: Vec<u16>,
    /// First column of each block.
    column_of: Vec<u32>,
    blocks: Vec<Block>,
}

impl Gram {
    pub fn of(data: &Scaled<'_>) -> Gram {
        let (mut parts, mut term_of, mut column_of) = (Vec::new(), Vec::new(), Vec::new());
        let mut column = 0;
        for (t, term) in data.terms.iter().enumerate() {
            let (first, width) = (column_of.len(), term.width());
            column_of.extend((0..term.levels()).map(|l| (column + l * width) as u32));
            term_of.resize(column_of.len(), t as u16);
            let blocks = first..column_of.len();
            let (related, log_det_prior) = (term.related(), term.log_det_prior());
            parts.push(Part { width, blocks, column, related, log_det_prior });
            column += term.levels() * width;
        }
        let fixed = data.fixed.len();
        column_of.extend((0..fixed).map(|j| (column + j) as u32));
        term_of.resize(column_of.len(), parts.len() as u16);
        let mut gram = Gram {
            parts,
            random: column,
            fixed,
            records: data.response.len(),
            with_response: vec![0.0; column + fixed],
            response: data.response.iter().map(|y| y * y).sum(),
            term_of,
            column_of,
            blocks: Vec::new(),
        };
        for t in 0..data.terms.len() {
            gram.random_columns(data, t);
        }
        gram.fixed_columns(data);
        gram
    }

    /// Blocks whose earlier level is of this term.
    fn random_columns(&mut self, data: &Scaled<'_>, t: usize) {
        let term = &data.terms[t];
        let by_level = term.rows_by_level();
        let priors = term.prior_by_level();
        let first = self.parts[t].blocks.start;
        let fixed_first = self.column_of.len() - self.fixed;
        let mut sums = vec![ZERO; self.column_of.len()];
        let mut seen = vec![false; self.column_of.len()];
        let mut touched: Vec<u32> = Vec::new();
        let mut x_sums = vec![[0.0; 2]; self.fixed];
        for (level, rows) in by_level.iter().enumerate() {
            let own = first + level;
            let mut touch = |block: usize, touched: &mut Vec<u32>| {
                if !seen[block] {
                    seen[block] = true;
                    touched.push(block as u32);
                }
            };
            touch(own, &mut touched);
            let mut y_sum = [0.0; 2];
            for row in rows {
                let row = *row as usize;
                let root = data.root(row);
                let weights = term.weights(row).map(|w| w * root);
                for (s, other) in data.terms.iter().enumerate().skip(t) {
                    let (start, w) =
                        (self.parts[s].blocks.start, other.weights(row).map(|w| w * root));
                    let product = [
                        w[0] * weights[0],
                        w[1] * weights[0],
                        w[0] * weights[1],
                        w[1] * weights[1],
                    ];
                    for member in other.members(row) {
                        let block = start + *member as usize;
                        if block >= own {
                            touch(block, &mut touched);
                            add(&mut sums[block], &product);
                        }
                    }
                }
                for (sum, x) in x_sums.iter_mut().zip(&data.fixed) {
                    sum[0] += x[row] * weights[0];
                    sum[1] += x[row] * weights[1];
                }
                y_sum[0] += data.response[row] * weights[0];
                y_sum[1] += data.response[row] * weights[1];
            }
            let prior = priors.get(level).map_or(&[][..], Vec::as_slice);
            for (other, _) in prior {
                touch(first + *other as usize, &mut touched);
            }
            touched.sort_unstable();
            let start = self.blocks.len();
            for row in touched.drain(..) {
                let sum = std::mem::take(&mut sums[row as usize]);
                seen[row as usize] = false;
                let prior = if priors.is_empty() && row as usize == own { 1.0 } else { 0.0 };
                self.blocks.push(Block { row, column: own as u32, sum, prior });
            }
            for (other, value) in prior {
                let row = (first + *other as usize) as u32;
                let made = &mut self.blocks[start..];
                if let Ok(at) = made.binary_search_by_key(&row, |b| b.row) {
                    made[at].prior = *value;
                }
            }
            if !rows.is_empty() {
                for (j, sum) in x_sums.iter_mut().enumerate() {
                    let sum = std::mem::take(sum);
                    let sum = [sum[0], 0.0, sum[1], 0.0];
                    let row = (fixed_first + j) as u32;
                    self.blocks.push(Block { row, column: own as u32, sum, prior: 0.0 });
                }
            }
            let at = self.column_of[own] as usize;
            self.with_response[at..at + term.width()].copy_from_slice(&y_sum[..term.width()]);
        }
    }

    fn fixed_columns(&mut self, data: &Scaled<'_>) {
        let first = self.column_of.len() - self.fixed;
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        for (j, x) in data.fixed.iter().enumerate() {
            self.with_response[self.random + j] = dot(x, &data.response);
            for (i, other) in data.fixed.iter().enumerate().skip(j) {
                let (row, column) = ((first + i) as u32, (first + j) as u32);
                let sum = [dot(x, other), 0.0, 0.0, 0.0];
                self.blocks.push(Block { row, column, sum, prior: 0.0 });
            }
        }
    }

    fn width(&self, block: u32) -> usize {
        self.parts.get(self.term_of[block as usize] as usize).map_or(1, |p| p.width)
    }

    /// The pattern of the equations.
    pub fn layout(&self, limit: usize) -> Result<Layout, SparseError> {
        let (mut starts, mut rows) = (vec![0], Vec::new());
        let mut slots = Vec::with_capacity(self.blocks.len());
        for group in self.blocks.chunk_by(|a, b| a.column == b.column) {
            let base = slots.len();
            for k in 0..self.width(group[0].column) {
                for (b, block) in group.iter().enumerate() {
                    let first = self.column_of[block.row as usize] as usize;
                    // Of the block on the diagonal, the second column has the second row alone.
                    let skip = if block.row == block.column { k } else { 0 };
                    let slot = rows.len() as u32;
                    rows.extend((skip..self.width(block.row)).map(|i| first + i));
                    if k == 0 {
                        slots.push([slot, slot]);
                    } else {
                        slots[base + b][1] = slot;
                    }
                }
                starts.push(rows.len());
            }
        }
        let n = self.random + self.fixed;
        Ok(Layout { pattern: Pattern::from_columns(n, starts, rows, limit)?, slots })
    }

    /// The numbers of the equations when the effects are scaled by these roots, one for each term.
    pub fn fill(&self, layout: &Layout, roots: &[Two], values: &mut [f64]) {
        for (block, slots) in self.blocks.iter().zip(&layout.slots) {
            let (row, column) = (self.term(block.row), self.term(block.column));
            let mut v = times(&times(&transposed(&roots[row]), &block.sum), &roots[column]);
            let (tall, wide) = (self.width(block.row), self.width(block.column));
            if block.prior != 0.0 {
                add(&mut v, &unit(tall).map(|u| u * block.prior));
            }
            let (a, b) = (slots[0] as usize, slots[1] as usize);
            values[a] = v[0];
            if tall == 2 {
                values[a + 1] = v[1];
            }
            match (wide, tall, block.row == block.column) {
                (2, _, true) => values[b] = v[3],
                (2, 1, false) => values[b] = v[2],
                (2, _, false) => values[b..b + 2].copy_from_slice(&v[2..]),
                _ => {}
            }
        }
    }

    fn term(&self, block: u32) -> usize {
        self.term_of[block as usize] as usize
    }

    /// For each term, the sum over its levels of the diagonal blocks of (cross products) · roots ·
    /// inverse.
    pub fn traces(&self, layout: &Layout, roots: &[Two], at: impl Fn(usize) -> f64) -> Vec<Two> {
        let mut sums = vec![ZERO; self.parts.len() + 1];
        for (block, slots) in self.blocks.iter().zip(&layout.slots) {
            let (row, column) = (self.term(block.row), self.term(block.column));
            if column == self.parts.len() {
                break;
            }
            let z = self.read(block, slots, &at);
            let mine = times(&times(&transposed(&block.sum), &roots[row]), &z);
            add(&mut sums[column], &mine);
            if block.row != block.column {
                let other = times(&times(&block.sum, &roots[column]), &transposed(&z));
                add(&mut sums[row], &other);
            }
        }
        sums.truncate(self.parts.len());
        sums
    }

    /// The block of a symmetric matrix on the pattern.
    fn read(&self, block: &Block, slots: &[u32; 2], at: impl Fn(usize) -> f64) -> Two {
        let (a, b) = (slots[0] as usize, slots[1] as usize);
        let (tall, wide) = (self.width(block.row), self.width(block.column));
        let mut v = [at(a), 0.0, 0.0, 0.0];
        if tall == 2 {
            v[1] = at(a + 1);
        }
        match (wide, tall, block.row == block.column) {
            (2, _, true) => [v[0], v[1], v[1], at(b)],
            (2, 1, false) => [v[0], 0.0, at(b), 0.0],
            (2, _, false) => [v[0], v[1], at(b), at(b + 1)],
            _ => v,
        }
    }

    /// The diagonal blocks of a symmetric matrix on the pattern, for the levels of a term.
    pub fn diagonal(&self, layout: &Layout, part: &Part, at: impl Fn(usize) -> f64) -> Vec<Two> {
        let wanted = part.blocks.start as u32..part.blocks.end as u32;
        let pairs = self.blocks.iter().zip(&layout.slots);
        pairs
            .filter(|(b, _)| b.row == b.column && wanted.contains(&b.row))
            .map(|(b, slots)| self.read(b, slots, &at))
            .collect()
    }

    /// Cross products times a vector.
    pub fn times(&self, x: &[f64]) -> Vec<f64> {
        let mut out = vec![0.0; x.len()];
        let get =
            |v: &[f64], at: usize, width: usize| [v[at], if width == 2 { v[at + 1] } else { 0.0 }];
        for block in &self.blocks {
            let (r, c) =
                (self.column_of[block.row as usize], self.column_of[block.column as usize]);
            let (r, c) = (r as usize, c as usize);
            let (tall, wide) = (self.width(block.row), self.width(block.column));
            let down = apply(&block.sum, get(x, c, wide));
            out[r] += down[0];
            if tall == 2 {
                out[r + 1] += down[1];
            }
            if r != c {
                let across = apply(&transposed(&block.sum), get(x, r, tall));
                out[c] += across[0];
                if wide == 2 {
                    out[c + 1] += across[1];
                }
            }
        }
        out
    }

    /// Scales the random effects in a vector by the roots of their terms (or their transposes).
    pub fn scale(&self, roots: &[Two], transpose: bool, x: &mut [f64]) {
        for (part, root) in self.parts.iter().zip(roots) {
            let root = if transpose { transposed(root) } else { *root };
            for l in 0..part.blocks.len() {
                let at = part.column + l * part.width;
                if part.width == 1 {
                    x[at] *= root[0];
                } else {
                    [x[at], x[at + 1]] = apply(&root, [x[at], x[at + 1]]);
                }
            }
        }
    }
}

/// Where the blocks stand on a pattern.
#[derive(Debug)]
pub(super) struct Layout {
    pub pattern: Pattern,
    /// Slots of the first number of the first and second column of each block.
    slots: Vec<[u32; 2]>,
}
