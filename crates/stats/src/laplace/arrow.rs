//! Symmetric matrices with many small blocks on the diagonal and a dense border: the curvature of
//! random effects when the levels of the finest term stand in the blocks and all other effects in
//! the border.
//!
//! Eliminating the blocks costs the sum of squares of how many border columns each touches; what is
//! left (the Schur complement) is dense of the order of the border. Crossed 3,000 × 200 levels, or
//! plants within species, thus never meet a matrix larger than the smaller side.

use faer::{Mat, Side, linalg::solvers::DenseSolveCore, prelude::Solve};

use crate::dense;

/// Above this order the border is factorised by the library, whose kernels use wide registers;
/// below, setting it up costs more than it saves.
const LIBRARY_FROM: usize = 48;

/// The matrix, its factor and those elements of its inverse that the design can ask for.
#[derive(Debug, Clone)]
pub(super) struct Arrow {
    /// Width of a block: 1, or 2 with slopes.
    pub width: usize,
    pub blocks: usize,
    /// Order of the border.
    pub border: usize,
    /// Where the border columns of each block start in `column`.
    pub start: Vec<u32>,
    /// Border columns that each block touches, ascending.
    pub column: Vec<u32>,
    /// Diagonal blocks.
    pub a: Vec<f64>,
    /// Border elements: `width` for each entry of `column`.
    pub c: Vec<f64>,
    /// The border's own block, row-major; the lower triangle counts.
    pub d: Vec<f64>,
    a_inverse: Vec<f64>,
    /// A⁻¹C.
    y: Vec<f64>,
    factor: Border,
    log_determinant: f64,
    /// Elements of the inverse: diagonal blocks, block × border, border.
    pub v: Vec<f64>,
    pub e: Vec<f64>,
    pub s: Vec<f64>,
}

#[derive(Debug, Clone)]
enum Border {
    Small(Vec<f64>),
    Large(Box<faer::linalg::solvers::Llt<f64>>),
}

impl Arrow {
    pub fn new(width: usize, start: Vec<u32>, column: Vec<u32>, border: usize) -> Self {
        let blocks = start.len() - 1;
        let entries = column.len() * width;
        Arrow {
            width,
            blocks,
            border,
            start,
            column,
            a: vec![0.0; blocks * width * width],
            c: vec![0.0; entries],
            d: vec![0.0; border * border],
            a_inverse: vec![0.0; blocks * width * width],
            y: vec![0.0; entries],
            factor: Border::Small(Vec::new()),
            log_determinant: 0.0,
            v: vec![0.0; blocks * width * width],
            e: vec![0.0; entries],
            s: vec![0.0; border * border],
        }
    }

    /// Order of the whole.
    #[cfg(test)]
    fn order(&self) -> usize {
        self.blocks * self.width + self.border
    }

    /// Sets it to a multiple of the unit matrix.
    pub fn reset(&mut self, diagonal: f64) {
        let w = self.width;
        self.a.fill(0.0);
        self.c.fill(0.0);
        self.d.fill(0.0);
        for block in self.a.chunks_exact_mut(w * w) {
            (0..w).for_each(|k| block[k * w + k] = diagonal);
        }
        (0..self.border).for_each(|k| self.d[k * self.border + k] = diagonal);
    }

    /// Adds to the whole diagonal.
    pub fn ridge(&mut self, more: f64) {
        let w = self.width;
        for block in self.a.chunks_exact_mut(w * w) {
            (0..w).for_each(|k| block[k * w + k] += more);
        }
        (0..self.border).for_each(|k| self.d[k * self.border + k] += more);
    }

    fn touched(&self, block: usize) -> std::ops::Range<usize> {
        self.start[block] as usize..self.start[block + 1] as usize
    }

    /// Factorises; false when the matrix is not positive definite.
    pub fn factorise(&mut self) -> bool {
        let (w, m) = (self.width, self.border);
        self.log_determinant = 0.0;
        let mut schur = self.d.clone();
        for block in 0..self.blocks {
            let a = &self.a[block * w * w..(block + 1) * w * w];
            let range = self.touched(block);
            let inverse = &mut self.a_inverse[block * w * w..(block + 1) * w * w];
            let Some(log) = invert(a, inverse, w) else { return false };
            self.log_determinant += log;
            for at in range.clone() {
                let c = &self.c[at * w..(at + 1) * w];
                let y = &mut self.y[at * w..(at + 1) * w];
                for k in 0..w {
                    y[k] = (0..w).map(|l| inverse[k * w + l] * c[l]).sum();
                }
            }
            for i in range.clone() {
                let row = &mut schur[self.column[i] as usize * m..][..m];
                if w == 1 {
                    subtract(
                        row,
                        self.c[i],
                        &self.y[range.start..=i],
                        &self.column[range.start..=i],
                    );
                    continue;
                }
                for j in range.start..=i {
                    let sum: f64 = (0..w).map(|k| self.c[i * w + k] * self.y[j * w + k]).sum();
                    row[self.column[j] as usize] -= sum;
                }
            }
        }
        self.factorise_border(&schur)
    }

    fn factorise_border(&mut self, schur: &[f64]) -> bool {
        let m = self.border;
        if m < LIBRARY_FROM {
            let Some(l) = dense::cholesky(schur, m, 1e-14) else { return false };
            self.log_determinant += (0..m).map(|i| 2.0 * l[i * m + i].ln()).sum::<f64>();
            self.factor = Border::Small(l);
            return true;
        }
        let matrix = Mat::from_fn(m, m, |i, j| if j <= i { schur[i * m + j] } else { 0.0 });
        let Ok(llt) = matrix.llt(Side::Lower) else { return false };
        let l = llt.L();
        let log: f64 = (0..m).map(|i| 2.0 * l[(i, i)].ln()).sum();
        self.log_determinant += log;
        self.factor = Border::Large(Box::new(llt));
        log.is_finite()
    }

    /// Logarithm of the determinant.
    pub fn log_determinant(&self) -> f64 {
        self.log_determinant
    }

    /// Solves in place.
    pub fn solve(&self, b: &mut [f64]) {
        let w = self.width;
        let (top, bottom) = b.split_at_mut(self.blocks * w);
        for block in 0..self.blocks {
            for at in self.touched(block) {
                let sum: f64 = (0..w).map(|k| self.y[at * w + k] * top[block * w + k]).sum();
                bottom[self.column[at] as usize] -= sum;
            }
        }
        match &self.factor {
            Border::Small(l) => dense::solve(l, self.border, bottom),
            Border::Large(llt) => {
                let rhs = faer::MatMut::from_column_major_slice_mut(bottom, self.border, 1);
                llt.solve_in_place(rhs);
            }
        }
        for block in 0..self.blocks {
            let inverse = &self.a_inverse[block * w * w..(block + 1) * w * w];
            let here = &mut top[block * w..(block + 1) * w];
            let mut x = [0.0; 2];
            for k in 0..w {
                x[k] = (0..w).map(|l| inverse[k * w + l] * here[l]).sum();
            }
            for at in self.touched(block) {
                let below = bottom[self.column[at] as usize];
                (0..w).for_each(|k| x[k] -= self.y[at * w + k] * below);
            }
            here.copy_from_slice(&x[..w]);
        }
    }

    /// Computes the elements of the inverse on the pattern of the matrix (and the whole border).
    pub fn invert(&mut self) {
        let (w, m) = (self.width, self.border);
        match &self.factor {
            Border::Small(l) => self.s = dense::inverse(l, m),
            Border::Large(llt) => {
                let inverse = llt.inverse();
                for j in 0..m {
                    for i in 0..m {
                        self.s[j * m + i] = inverse[(i, j)];
                    }
                }
            }
        }
        for block in 0..self.blocks {
            let range = self.touched(block);
            for i in range.clone() {
                let row = &self.s[self.column[i] as usize * m..][..m];
                if w == 1 {
                    self.e[i] = -gathered(row, &self.y[range.clone()], &self.column[range.clone()]);
                    continue;
                }
                for k in 0..w {
                    let sum: f64 = range
                        .clone()
                        .map(|j| self.y[j * w + k] * row[self.column[j] as usize])
                        .sum();
                    self.e[i * w + k] = -sum;
                }
            }
            for k in 0..w {
                for l in 0..w {
                    let at = (block * w + k) * w + l;
                    let sum: f64 =
                        range.clone().map(|j| self.e[j * w + k] * self.y[j * w + l]).sum();
                    self.v[at] = self.a_inverse[at] - sum;
                }
            }
        }
    }
}

/// Where the columns are neighbours, as in a full design, their first: rows are then worked on in
/// one run.
fn run(columns: &[u32]) -> Option<usize> {
    let (first, last) = (*columns.first()? as usize, *columns.last()? as usize);
    (last - first + 1 == columns.len()).then_some(first)
}

/// Subtracts a multiple of `y` from the columns of a row.
fn subtract(row: &mut [f64], factor: f64, y: &[f64], columns: &[u32]) {
    if let Some(first) = run(columns) {
        row[first..first + y.len()].iter_mut().zip(y).for_each(|(r, y)| *r -= factor * y);
    } else {
        columns.iter().zip(y).for_each(|(c, y)| row[*c as usize] -= factor * y);
    }
}

/// The product of `y` with the columns of a row.
fn gathered(row: &[f64], y: &[f64], columns: &[u32]) -> f64 {
    match run(columns) {
        Some(first) => dense::dot(&row[first..first + y.len()], y),
        None => columns.iter().zip(y).map(|(c, y)| row[*c as usize] * y).sum(),
    }
}

/// Inverts a block of order 1 or 2 and returns the logarithm of its determinant.
fn invert(a: &[f64], out: &mut [f64], width: usize) -> Option<f64> {
    if width == 1 {
        out[0] = 1.0 / a[0];
        return (a[0] > 0.0 && a[0].is_finite()).then(|| a[0].ln());
    }
    let determinant = a[0] * a[3] - a[1] * a[2];
    let good = a[0] > 0.0 && determinant > 1e-14 * (a[0] * a[3]).abs() && determinant.is_finite();
    out[0] = a[3] / determinant;
    out[3] = a[0] / determinant;
    out[1] = -a[1] / determinant;
    out[2] = -a[2] / determinant;
    good.then(|| determinant.ln())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::random::Random;

    /// A random positive definite matrix of this form, and the same in full.
    fn example(width: usize, border: usize, random: &mut Random) -> (Arrow, Vec<f64>) {
        let blocks = 7;
        let (mut start, mut column) = (vec![0u32], Vec::new());
        for _ in 0..blocks {
            column.extend((0..border as u32).filter(|_| random.unit() < 0.4));
            start.push(column.len() as u32);
        }
        let mut arrow = Arrow::new(width, start, column, border);
        arrow.reset(60.0);
        let n = arrow.order();
        let mut full = vec![0.0; n * n];
        let top = blocks * width;
        for b in 0..blocks {
            if width == 2 {
                let v = random.unit();
                arrow.a[b * 4 + 1] = v;
                arrow.a[b * 4 + 2] = v;
                full[(2 * b) * n + 2 * b + 1] = v;
                full[(2 * b + 1) * n + 2 * b] = v;
            }
            for at in arrow.touched(b) {
                for k in 0..width {
                    let v = random.unit() - 0.5;
                    arrow.c[at * width + k] = v;
                    let (i, j) = (b * width + k, top + arrow.column[at] as usize);
                    full[i * n + j] = v;
                    full[j * n + i] = v;
                }
            }
        }
        for i in 0..border {
            for j in 0..i {
                let v = random.unit() - 0.5;
                arrow.d[i * border + j] = v;
                full[(top + i) * n + top + j] = v;
                full[(top + j) * n + top + i] = v;
            }
        }
        (0..n).for_each(|i| full[i * n + i] = 60.0);
        (arrow, full)
    }

    #[test]
    fn agrees_with_the_full_matrix() {
        let mut random = Random::new(4);
        for (width, border) in [(1, 0), (1, 5), (2, 6), (2, 60), (1, 55)] {
            let (mut arrow, full) = example(width, border, &mut random);
            let n = arrow.order();
            let l = dense::cholesky(&full, n, 0.0).unwrap();
            let inverse = dense::inverse(&l, n);
            assert!(arrow.factorise());
            let log: f64 = (0..n).map(|i| 2.0 * l[i * n + i].ln()).sum();
            assert!((arrow.log_determinant() - log).abs() < 1e-10);
            let b: Vec<f64> = (0..n).map(|_| random.unit()).collect();
            let mut x = b.clone();
            arrow.solve(&mut x);
            for (i, v) in x.iter().enumerate() {
                assert!((v - dense::dot(&inverse[i * n..(i + 1) * n], &b)).abs() < 1e-12);
            }
            arrow.invert();
            let top = arrow.blocks * width;
            for b in 0..arrow.blocks {
                for (k, l) in (0..width).flat_map(|k| (0..width).map(move |l| (k, l))) {
                    let (i, j) = (b * width + k, b * width + l);
                    assert!((arrow.v[i * width + l] - inverse[i * n + j]).abs() < 1e-13);
                }
                for at in arrow.touched(b) {
                    for k in 0..width {
                        let j = top + arrow.column[at] as usize;
                        let whole = inverse[(b * width + k) * n + j];
                        assert!((arrow.e[at * width + k] - whole).abs() < 1e-13);
                    }
                }
            }
            for i in 0..border {
                for j in 0..border {
                    let whole = inverse[(top + i) * n + top + j];
                    assert!((arrow.s[i * border + j] - whole).abs() < 1e-13);
                }
            }
        }
    }

    #[test]
    fn a_matrix_that_is_not_positive_definite_is_refused() {
        let mut arrow = Arrow::new(1, vec![0, 1], vec![0], 1);
        arrow.reset(1.0);
        arrow.c[0] = 1.5;
        assert!(!arrow.factorise());
        arrow.ridge(1.0);
        assert!(arrow.factorise());
    }
}
