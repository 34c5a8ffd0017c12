//! Small symmetric matrices, stored in full by rows.

/// A symmetric positive definite matrix as L·Lᵀ.
#[derive(Debug, Clone)]
pub(crate) struct Cholesky {
    n: usize,
    lower: Vec<f64>,
}

impl Cholesky {
    /// Factors; `Err` names the first row whose pivot is not clearly positive against its diagonal.
    pub fn factor(n: usize, matrix: &[f64]) -> Result<Self, usize> {
        let mut l = matrix.to_vec();
        for j in 0..n {
            for i in j..n {
                let dot: f64 = (0..j).map(|k| l[i * n + k] * l[j * n + k]).sum();
                l[i * n + j] -= dot;
            }
            let pivot = l[j * n + j];
            // Written so that a pivot that is not a number fails as well.
            if !(pivot > 1e-13 * matrix[j * n + j].abs() && pivot.is_finite()) {
                return Err(j);
            }
            let root = pivot.sqrt();
            for i in j..n {
                l[i * n + j] /= root;
            }
        }
        Ok(Cholesky { n, lower: l })
    }

    /// Solves L·Lᵀ x = b.
    pub fn solve(&self, b: &[f64]) -> Vec<f64> {
        let (n, l) = (self.n, &self.lower);
        let mut x = b.to_vec();
        for i in 0..n {
            let dot: f64 = (0..i).map(|k| l[i * n + k] * x[k]).sum();
            x[i] = (x[i] - dot) / l[i * n + i];
        }
        for i in (0..n).rev() {
            let dot: f64 = (i + 1..n).map(|k| l[k * n + i] * x[k]).sum();
            x[i] = (x[i] - dot) / l[i * n + i];
        }
        x
    }

    /// The inverse, in full.
    pub fn inverse(&self) -> Vec<f64> {
        let n = self.n;
        let mut inverse = vec![0.0; n * n];
        for j in 0..n {
            let mut unit = vec![0.0; n];
            unit[j] = 1.0;
            for (i, v) in self.solve(&unit).into_iter().enumerate() {
                inverse[i * n + j] = v;
            }
        }
        inverse
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
