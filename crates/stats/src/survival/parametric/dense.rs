//! Small symmetric matrices, stored in full by rows.

use crate::dense;

/// A symmetric positive definite matrix as L·Lᵀ.
#[derive(Debug, Clone)]
pub(crate) struct Cholesky {
    n: usize,
    lower: Vec<f64>,
}

impl Cholesky {
    /// Factors; `Err` names the first row whose pivot is not clearly positive against its diagonal.
    pub fn factor(n: usize, matrix: &[f64]) -> Result<Self, usize> {
        dense::cholesky_or_row(matrix, n, 1e-13).map(|lower| Cholesky { n, lower })
    }

    /// Solves L·Lᵀ x = b.
    pub fn solve(&self, b: &[f64]) -> Vec<f64> {
        let mut x = b.to_vec();
        dense::solve(&self.lower, self.n, &mut x);
        x
    }

    /// The inverse, in full.
    pub fn inverse(&self) -> Vec<f64> {
        dense::inverse(&self.lower, self.n)
    }
}

impl Cholesky {
    /// The logarithm of the determinant.
    pub fn log_determinant(&self) -> f64 {
        (0..self.n).map(|i| 2.0 * self.lower[i * self.n + i].ln()).sum()
    }
}

/// xᵀ M x.
pub(crate) fn quadratic(matrix: &[f64], x: &[f64]) -> f64 {
    let n = x.len();
    (0..n).map(|i| x[i] * (0..n).map(|j| matrix[i * n + j] * x[j]).sum::<f64>()).sum()
}
