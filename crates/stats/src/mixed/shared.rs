//! What the errors of effects owe to the coefficients not being known.

use super::{gram::Gram, point::Point, small::Two};
use crate::{dense, sparse::SparseError};

/// What effects share with the coefficients: knowing these takes C·S⁻¹·Cᵀ off the block of the
/// inverse of a level, S being its block of the fixed part.
pub(super) struct Shared {
    columns: Vec<f64>,
    /// Cholesky factor of S.
    root: Vec<f64>,
    rows: usize,
    fixed: usize,
}

impl Shared {
    pub fn of(gram: &Gram, point: &Point<'_>) -> Result<Shared, SparseError> {
        let (rows, fixed) = (gram.random + gram.fixed, gram.fixed);
        let columns = point.fixed_columns(gram);
        let block: Vec<f64> = (0..fixed * fixed)
            .map(|at| columns[at % fixed * rows + gram.random + at / fixed])
            .collect();
        let root = dense::cholesky(&block, fixed, 0.0).ok_or(SparseError::NotPositive)?;
        Ok(Shared { columns, root, rows, fixed })
    }

    pub fn without(&self, block: &Two, column: usize, width: usize) -> Two {
        let with_fixed = |k: usize| -> Vec<f64> {
            (0..self.fixed).map(|j| self.columns[j * self.rows + column + k]).collect()
        };
        let c: Vec<Vec<f64>> = (0..width).map(with_fixed).collect();
        let mut taken = *block;
        for j in 0..width {
            let mut x = c[j].clone();
            dense::solve(&self.root, self.fixed, &mut x);
            for i in 0..width {
                taken[j * 2 + i] -= dense::dot(&c[i], &x);
            }
        }
        taken
    }
}
