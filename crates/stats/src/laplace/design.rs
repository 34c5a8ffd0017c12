//! Which random effects each row has, with rows of equal effects gathered into cells.

use std::cmp::Ordering;

use super::{LaplaceError, arrow::Arrow};
use crate::model::RandomTerm;

/// A random term within the design.
#[derive(Debug, Clone)]
pub(super) struct Place {
    pub levels: Vec<String>,
    /// 1, or 2 with a slope.
    pub width: usize,
    /// Where its effects start among all random effects.
    pub start: usize,
    /// Where its entries start within a cell, and how many memberships it has.
    pub entry: usize,
    pub members: usize,
    /// Where its parameters start: a standard deviation, or the three elements of a lower triangular
    /// factor.
    pub parameter: usize,
}

/// The largest border that is factorised densely.
const LARGEST_BORDER: usize = 5_000;

#[derive(Debug, Clone)]
pub(super) struct Design {
    /// In the order in which they were given.
    pub places: Vec<Place>,
    pub parameters: usize,
    /// Entries of a cell.
    pub entries: usize,
    /// How many of them, the first ones, lie in a block of the curvature.
    pub leaf: usize,
    /// Effects that a cell adds up, and by what they are multiplied.
    pub column: Vec<u32>,
    pub multiplier: Vec<f64>,
    /// Where the border entries of a cell lie within those of its block.
    pub position: Vec<u32>,
    /// Rows in the order of their cells, and where each cell starts.
    pub order: Vec<u32>,
    pub start: Vec<u32>,
    pub effects: usize,
    /// Effects within blocks: those of the finest term.
    pub blocked: usize,
}

impl Design {
    pub fn new(rows: usize, terms: &[RandomTerm]) -> Result<(Design, Arrow), LaplaceError> {
        let size = |t: &RandomTerm| t.levels.len() * t.width();
        // The first of the largest terms goes into the blocks, if each row belongs to one level.
        let single = terms.iter().enumerate().filter(|(_, t)| t.members == 1);
        let leaf = single.rev().max_by_key(|(_, t)| size(t)).map(|(i, _)| i);
        let mut order: Vec<usize> = (0..terms.len()).collect();
        order.sort_by_key(|i| Some(*i) != leaf);
        let mut places: Vec<Option<Place>> = vec![None; terms.len()];
        let (mut effects, mut entries) = (0, 0);
        for &i in &order {
            let t = &terms[i];
            places[i] = Some(Place {
                levels: t.levels.clone(),
                width: t.width(),
                start: effects,
                entry: entries,
                members: t.members,
                parameter: 0,
            });
            effects += size(t);
            entries += t.members * t.width();
        }
        let mut places: Vec<Place> = places.into_iter().flatten().collect();
        let mut parameters = 0;
        for place in &mut places {
            place.parameter = parameters;
            parameters += if place.width == 1 { 1 } else { 3 };
        }
        let blocked = leaf.map_or(0, |i| size(&terms[i]));
        let width = leaf.map_or(1, |i| terms[i].width());
        if effects - blocked > LARGEST_BORDER {
            return Err(LaplaceError::TooLarge { levels: effects - blocked, most: LARGEST_BORDER });
        }
        let (columns, multipliers) = of_rows(rows, terms, &order, &places, entries);
        let mut design = Design {
            places,
            parameters,
            entries,
            leaf: leaf.map_or(0, |_| width),
            column: Vec::new(),
            multiplier: Vec::new(),
            position: Vec::new(),
            order: Vec::new(),
            start: vec![0],
            effects,
            blocked,
        };
        design.gather(rows, &columns, &multipliers);
        let arrow = design.pattern(width);
        Ok((design, arrow))
    }

    pub fn cells(&self) -> usize {
        self.start.len() - 1
    }

    /// Sorts the rows by their effects; equal ones make a cell.
    fn gather(&mut self, rows: usize, columns: &[u32], multipliers: &[f64]) {
        let r = self.entries;
        let compare = |a: u32, b: u32| -> Ordering {
            let (a, b) = (a as usize * r, b as usize * r);
            columns[a..a + r].cmp(&columns[b..b + r]).then_with(|| {
                let pairs = multipliers[a..a + r].iter().zip(&multipliers[b..b + r]);
                pairs.map(|(x, y)| x.total_cmp(y)).find(|o| o.is_ne()).unwrap_or(Ordering::Equal)
            })
        };
        self.order = (0..rows as u32).collect();
        self.order.sort_unstable_by(|a, b| compare(*a, *b).then(a.cmp(b)));
        for i in 0..rows {
            if i > 0 && compare(self.order[i - 1], self.order[i]).is_ne() {
                self.start.push(i as u32);
            }
            if i == 0 || compare(self.order[i - 1], self.order[i]).is_ne() {
                let at = self.order[i] as usize * r;
                self.column.extend(&columns[at..at + r]);
                self.multiplier.extend(&multipliers[at..at + r]);
            }
        }
        self.start.push(rows as u32);
    }

    /// Which border columns each block touches.
    fn pattern(&mut self, width: usize) -> Arrow {
        let (r, leaf) = (self.entries, self.leaf);
        let blocks = self.blocked / width;
        let border = self.effects - self.blocked;
        let per_cell = r - leaf;
        self.position = vec![0; self.cells() * per_cell];
        let mut start = vec![0u32; blocks + 1];
        let mut column: Vec<u32> = Vec::new();
        if leaf > 0 && per_cell > 0 {
            // Cells are sorted by their block.
            let mut cell = 0;
            let block_of = |c: usize| self.column[c * r] as usize / width;
            for block in 0..blocks {
                let first = cell;
                while cell < self.cells() && block_of(cell) == block {
                    cell += 1;
                }
                let of = |c: usize| &self.column[c * r + leaf..(c + 1) * r];
                let mut mine: Vec<u32> =
                    (first..cell).flat_map(of).map(|c| c - self.blocked as u32).collect();
                mine.sort_unstable();
                mine.dedup();
                let base = column.len();
                for c in first..cell {
                    for (k, col) in of(c).iter().enumerate() {
                        let place = mine.partition_point(|m| *m < col - self.blocked as u32);
                        self.position[c * per_cell + k] = (base + place) as u32;
                    }
                }
                column.extend(mine);
                start[block + 1] = column.len() as u32;
            }
        }
        Arrow::new(width, start, column, border)
    }
}

/// Effects and multipliers of each row, in the order of the design.
fn of_rows(
    rows: usize,
    terms: &[RandomTerm],
    order: &[usize],
    places: &[Place],
    entries: usize,
) -> (Vec<u32>, Vec<f64>) {
    let mut columns = vec![0u32; rows * entries];
    let mut multipliers = vec![1.0; rows * entries];
    for &t in order {
        let (term, place) = (&terms[t], &places[t]);
        for row in 0..rows {
            let base = row * entries + place.entry;
            for (m, level) in term.of_row(row).iter().enumerate() {
                for k in 0..place.width {
                    columns[base + m * place.width + k] =
                        (place.start + *level as usize * place.width + k) as u32;
                }
            }
            if let Some((_, x)) = &term.slope {
                multipliers[base + 1] = x[row];
            }
            // One parent on both sides counts twice.
            for m in 1..term.members {
                for earlier in 0..m {
                    if columns[base + earlier] == columns[base + m] {
                        multipliers[base + earlier] += multipliers[base + m];
                        multipliers[base + m] = 0.0;
                    }
                }
            }
        }
    }
    (columns, multipliers)
}
