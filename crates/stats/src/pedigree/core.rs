//! The equations among parents, once individuals without progeny are absorbed.
//!
//! An individual i with own variance d and q = 1/(d·σ²ₐ) puts q·(1, −c)(1, −c)ᵀ on itself and its
//! parents, c their shares. Without progeny it stands in no other block: with the precision r of
//! its records its pivot is r + q, and what it leaves on its parents is q·r/(r + q)·c·cᵀ.

use super::{Lines, PedigreeError, sums::Sums};
use crate::sparse::{Pattern, SparseError};

/// Number of an individual that was absorbed.
const ABSORBED: u32 = u32::MAX;

/// A symmetric matrix, lower triangle by columns, the diagonal first in each.
#[derive(Debug)]
pub(super) struct Lower {
    pub starts: Vec<usize>,
    pub rows: Vec<usize>,
    pub values: Vec<f64>,
}

/// The system among parents, and how individuals without progeny hang on it.
#[derive(Debug)]
pub(super) struct Core {
    /// Place of each individual among the parents.
    place: Vec<u32>,
    parents: usize,
    /// For absorbed individuals the pivot, for parents 0.
    pivot: Vec<f64>,
    /// q of each individual.
    own: Vec<f64>,
    pub matrix: Lower,
}

impl Core {
    pub fn of(lines: &Lines, sums: &Sums) -> Self {
        let has = lines.with_progeny();
        let mut place = vec![ABSORBED; lines.len()];
        let mut parents = 0;
        for i in lines.order().filter(|i| has[*i]) {
            place[i] = parents as u32;
            parents += 1;
        }
        let own: Vec<f64> =
            (0..lines.len()).map(|i| 1.0 / (lines.own(i) * sums.given.additive)).collect();
        let mut pivot = vec![0.0; lines.len()];
        let mut entries = Entries::new(parents);
        for i in 0..lines.len() {
            let ([first, second], count) = lines.parents(i);
            let (q, r) = (own[i], sums.precision[i]);
            let left = if has[i] {
                let at = place[i];
                entries.add(at, at, q + r);
                for (p, share) in [first, second].into_iter().take(count) {
                    entries.add(at, place[p], -q * share);
                }
                q
            } else {
                pivot[i] = q + r;
                q * r / (q + r)
            };
            // Zeros too: the covariance of two parents is asked for where they have a plant together.
            if count > 0 {
                entries.add(place[first.0], place[first.0], left * first.1 * first.1);
            }
            if count > 1 {
                entries.add(place[second.0], place[second.0], left * second.1 * second.1);
                entries.add(place[first.0], place[second.0], left * first.1 * second.1);
            }
        }
        Core { place, parents, pivot, own, matrix: entries.sorted() }
    }

    /// Number of parents.
    pub fn len(&self) -> usize {
        self.parents
    }

    /// The place of an individual among parents.
    pub fn at(&self, individual: usize) -> Option<usize> {
        Some(self.place[individual]).filter(|p| *p != ABSORBED).map(|p| p as usize)
    }

    /// Of an absorbed individual: 1 over its pivot, and how much of its parents' mean it follows.
    pub fn leaf(&self, individual: usize) -> (f64, f64) {
        let over = 1.0 / self.pivot[individual];
        (over, self.own[individual] * over)
    }

    /// Sum of the logarithms of the pivots of those absorbed.
    pub fn log_pivots(&self) -> f64 {
        self.pivot.iter().filter(|p| **p > 0.0).map(|p| p.ln()).sum()
    }

    /// The symbolic factor, unless it would have more numbers than `limit`.
    pub fn pattern(&self, limit: usize) -> Result<Option<Pattern>, PedigreeError> {
        if self.parents == 0 || limit < self.matrix.rows.len() {
            return Ok(None);
        }
        let (starts, rows) = (self.matrix.starts.clone(), self.matrix.rows.clone());
        match Pattern::from_columns(self.parents, starts, rows, limit) {
            Ok(pattern) => Ok(Some(pattern)),
            Err(SparseError::TooLarge { .. } | SparseError::Memory) => Ok(None),
            Err(other) => Err(other.into()),
        }
    }

    /// The right-hand side among parents.
    pub fn down(&self, lines: &Lines, right: &[f64]) -> Vec<f64> {
        let mut out = vec![0.0; self.parents];
        for (i, b) in right.iter().enumerate() {
            if let Some(at) = self.at(i) {
                out[at] += b;
            } else if *b != 0.0 {
                let (_, follow) = self.leaf(i);
                let (found, count) = lines.parents(i);
                for (p, share) in found.into_iter().take(count) {
                    out[self.place[p] as usize] += follow * share * b;
                }
            }
        }
        out
    }

    /// What the parents of an individual give it.
    pub fn parents_give(&self, lines: &Lines, individual: usize, parents: &[f64]) -> f64 {
        let (found, count) = lines.parents(individual);
        let each = found.into_iter().take(count);
        each.map(|(p, share)| share * parents[self.place[p] as usize]).sum()
    }

    /// The solution for all from that for parents; `right` is the whole right-hand side.
    pub fn up(&self, lines: &Lines, right: &[f64], parents: &[f64]) -> Vec<f64> {
        (0..right.len())
            .map(|i| match self.at(i) {
                Some(at) => parents[at],
                None => {
                    let (over, follow) = self.leaf(i);
                    over * right[i] + follow * self.parents_give(lines, i, parents)
                }
            })
            .collect()
    }

    /// The whole matrix times a vector, from the pedigree itself and not from what was absorbed.
    pub fn times(&self, lines: &Lines, precision: &[f64], x: &[f64]) -> Vec<f64> {
        let mut out: Vec<f64> = x.iter().zip(precision).map(|(x, r)| x * r).collect();
        for i in 0..x.len() {
            let (found, count) = lines.parents(i);
            let parents = &found[..count];
            let given: f64 = parents.iter().map(|(p, share)| share * x[*p]).sum();
            let left = self.own[i] * (x[i] - given);
            out[i] += left;
            parents.iter().for_each(|(p, share)| out[*p] -= share * left);
        }
        out
    }
}

/// Entries of a symmetric matrix in any order.
struct Entries {
    n: usize,
    all: Vec<(u32, u32, f64)>,
}

impl Entries {
    fn new(n: usize) -> Self {
        Entries { n, all: Vec::new() }
    }

    fn add(&mut self, a: u32, b: u32, value: f64) {
        self.all.push((a.max(b), a.min(b), value));
    }

    /// Added up by columns, without sorting all: first by column, then what a column holds.
    fn sorted(self) -> Lower {
        let n = self.n;
        let mut from = vec![0usize; n + 1];
        self.all.iter().for_each(|(_, column, _)| from[*column as usize + 1] += 1);
        (0..n).for_each(|j| from[j + 1] += from[j]);
        let mut next = from.clone();
        let mut by_column = vec![(0u32, 0.0f64); self.all.len()];
        for (row, column, value) in &self.all {
            by_column[next[*column as usize]] = (*row, *value);
            next[*column as usize] += 1;
        }
        let mut sum = vec![0.0; n];
        let mut seen = vec![false; n];
        let (mut starts, mut rows, mut values) = (vec![0], Vec::new(), Vec::new());
        let mut touched: Vec<u32> = Vec::new();
        for j in 0..n {
            for (row, value) in &by_column[from[j]..from[j + 1]] {
                if !std::mem::replace(&mut seen[*row as usize], true) {
                    touched.push(*row);
                }
                sum[*row as usize] += value;
            }
            touched.sort_unstable();
            for row in touched.drain(..) {
                seen[row as usize] = false;
                rows.push(row as usize);
                values.push(std::mem::take(&mut sum[row as usize]));
            }
            starts.push(rows.len());
        }
        Lower { starts, rows, values }
    }
}
