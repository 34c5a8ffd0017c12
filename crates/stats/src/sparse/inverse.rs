//! Entries of the inverse on the pattern of the factor.
//!
//! With the factor by supernodes J, rows R below, and Y = L_RJ·L_JJ⁻¹:
//! Z_RJ = −Z_RR·Y and Z_JJ = (L_JJ·L_JJᵀ)⁻¹ − Yᵀ·Z_RJ, from the last supernode to the first. All of
//! Z_RR has been found by then, because the rows below a supernode are joined to each other.

use faer::{
    Accum, Mat, MatMut, MatRef, Par,
    linalg::{
        matmul::{
            matmul,
            triangular::{self, BlockStructure},
        },
        triangular_inverse, triangular_solve,
    },
    sparse::linalg::cholesky::supernodal::SupernodalLltRef,
};

use super::{Factor, Pattern};

/// Some entries of an inverse: all that lie on the pattern of the matrix, and those on its factor.
#[derive(Debug, Clone)]
pub struct Inverse<'p> {
    pattern: &'p Pattern,
    values: Vec<f64>,
}

impl<'p> Inverse<'p> {
    pub(super) fn of(factor: &Factor<'p>) -> Self {
        let pattern = factor.pattern;
        let nodes = pattern.supernodes();
        let l = SupernodalLltRef::new(nodes, &factor.values);
        let mut done = Inverse { pattern, values: vec![0.0; factor.values.len()] };
        let mut work = Work::default();
        for s in (0..nodes.n_supernodes()).rev() {
            let node = l.supernode(s);
            if node.val().ncols() == 1 {
                done.single(s, node.val(), node.pattern(), &mut work);
            } else {
                done.block(s, node.val(), node.pattern());
            }
        }
        done
    }

    /// An entry, if it lies on the pattern of the factor; either triangle.
    pub fn get(&self, row: usize, column: usize) -> Option<f64> {
        self.pattern.place(row, column).map(|p| self.values[p])
    }

    /// The entry at a slot of the pattern.
    pub fn at(&self, slot: usize) -> f64 {
        self.values[self.pattern.in_factor[slot]]
    }

    /// The diagonal.
    pub fn diagonal(&self) -> Vec<f64> {
        let p = self.pattern;
        (0..p.n).map(|j| self.at(p.starts[j])).collect()
    }

    /// A supernode of one column, which most are where levels have few records: no dense block is
    /// gathered for it.
    fn single(&mut self, s: usize, l: MatRef<'_, f64>, below: &[usize], work: &mut Work) {
        let l = l.col(0);
        let pivot = l[0];
        let m = below.len();
        work.y.clear();
        work.y.extend((0..m).map(|k| l[k + 1] / pivot));
        work.z.clear();
        work.z.resize(m, 0.0);
        let (y, z) = (&work.y, &mut work.z);
        let mut k = 0;
        while k < m {
            let node = self.panel(below[k]);
            node.places(below, k, &mut work.places);
            while k < m && below[k] < node.end {
                let column = &self.values[node.column(below[k])..][..node.height];
                let (mut own, yk) = (column[below[k] - node.begin] * y[k], y[k]);
                for (l, place) in (k + 1..m).zip(&work.places[k + 1..m]) {
                    let v = column[*place];
                    z[l] -= v * yk;
                    own += v * y[l];
                }
                z[k] -= own;
                k += 1;
            }
        }
        let own: f64 = y.iter().zip(z.iter()).map(|(y, z)| y * z).sum();
        let at = self.pattern.supernodes().col_ptr_for_val()[s];
        self.values[at] = 1.0 / (pivot * pivot) - own;
        self.values[at + 1..at + 1 + m].copy_from_slice(z);
    }

    /// A supernode of several columns, by dense blocks.
    fn block(&mut self, s: usize, l: MatRef<'_, f64>, below: &[usize]) {
        let (w, m) = (l.ncols(), below.len());
        let (top, bottom) = l.split_at_row(w);
        // Of symmetric blocks the lower triangle is made alone: half the work for a dense corner.
        let (lower, upper) = (BlockStructure::TriangularLower, BlockStructure::TriangularUpper);
        let mut inverse = Mat::<f64>::zeros(w, w);
        triangular_inverse::invert_lower_triangular(inverse.as_mut(), top, Par::Seq);
        let mut corner = Mat::<f64>::zeros(w, w);
        let root = inverse.as_ref();
        triangular::matmul(
            corner.as_mut(),
            lower,
            Accum::Replace,
            root.transpose(),
            upper,
            root,
            lower,
            1.0,
            Par::Seq,
        );
        let mut side = Mat::<f64>::zeros(m, w);
        if m > 0 {
            let mut y = bottom.to_owned();
            let upper = top.transpose();
            triangular_solve::solve_upper_triangular_in_place(
                upper,
                y.as_mut().transpose_mut(),
                Par::Seq,
            );
            let square = self.gather(below);
            matmul(side.as_mut(), Accum::Replace, square.as_ref(), y.as_ref(), -1.0, Par::Seq);
            let (y, side) = (y.as_ref(), side.as_ref());
            let all = BlockStructure::Rectangular;
            let across = y.transpose();
            triangular::matmul(
                corner.as_mut(),
                lower,
                Accum::Add,
                across,
                all,
                side,
                all,
                -1.0,
                Par::Seq,
            );
        }
        let at = self.pattern.supernodes().col_ptr_for_val()[s];
        let panel = &mut self.values[at..at + w * (w + m)];
        let panel = MatMut::from_column_major_slice_mut(panel, w + m, w);
        let (mut first, mut rest) = panel.split_at_row_mut(w);
        first.copy_from(&corner);
        rest.copy_from(&side);
    }

    /// The square of the inverse that belongs to these rows, both triangles.
    fn gather(&self, below: &[usize]) -> Mat<f64> {
        let m = below.len();
        let mut square = Mat::zeros(m, m);
        let mut places = Vec::new();
        let mut k = 0;
        while k < m {
            let node = self.panel(below[k]);
            node.places(below, k, &mut places);
            while k < m && below[k] < node.end {
                let column = &self.values[node.column(below[k])..][..node.height];
                for l in k..m {
                    let v = column[places[l]];
                    square[(l, k)] = v;
                    square[(k, l)] = v;
                }
                k += 1;
            }
        }
        square
    }

    /// The supernode of a column.
    fn panel(&self, column: usize) -> Panel<'p> {
        let (nodes, s) = (self.pattern.supernodes(), self.pattern.supernode_of[column]);
        let (begin, end) = (nodes.supernode_begin()[s], nodes.supernode_end()[s]);
        let below = nodes.supernode(s).pattern();
        let height = end - begin + below.len();
        Panel { begin, end, below, height, at: nodes.col_ptr_for_val()[s] }
    }
}

#[derive(Default)]
struct Work {
    y: Vec<f64>,
    z: Vec<f64>,
    places: Vec<usize>,
}

/// The numbers of a supernode: its columns from `begin` to before `end`, each `height` long.
struct Panel<'p> {
    begin: usize,
    end: usize,
    below: &'p [usize],
    height: usize,
    at: usize,
}

impl Panel<'_> {
    /// Where a column starts.
    fn column(&self, j: usize) -> usize {
        self.at + (j - self.begin) * self.height
    }

    /// Where in a column the rows stand, from the `from`-th on. Both lists are sorted.
    fn places(&self, rows: &[usize], from: usize, places: &mut Vec<usize>) {
        places.resize(rows.len(), 0);
        let mut b = 0;
        for (row, place) in rows.iter().zip(places.iter_mut()).skip(from) {
            *place = if *row < self.end {
                row - self.begin
            } else {
                while self.below[b] < *row {
                    b += 1;
                }
                self.end - self.begin + b
            };
        }
    }
}
