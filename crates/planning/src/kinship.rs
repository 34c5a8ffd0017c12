//! How closely candidates are related.

use crate::PlanningError;

/// Kinship of every pair, and of each with itself (½ for an individual that is not inbred).
///
/// A table of kinship is positive semidefinite: no mixture of candidates can have a mean kinship
/// below 0. The bounds of this crate rest on that, so it is checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Kinship {
    n: usize,
    values: Vec<f64>,
}

/// How far values of a pair may differ, and how far below 0 rounding may push a mixture, on the
/// scale of the largest value.
const ROUNDING: f64 = 1e-9;

impl Kinship {
    /// Nobody is related: ½ with itself, 0 with others.
    pub fn unrelated(n: usize) -> Self {
        let mut values = vec![0.0; n * n];
        (0..n).for_each(|i| values[i * n + i] = 0.5);
        Self { n, values }
    }

    /// The kinship of rows with columns.
    ///
    /// # Errors
    /// If the table is not square or not symmetric, or as [`Self::from_fn`].
    pub fn from_rows(rows: &[Vec<f64>]) -> Result<Self, PlanningError> {
        let n = rows.len();
        if let Some((i, row)) = rows.iter().enumerate().find(|(_, row)| row.len() != n) {
            let what =
                format!("row {i} of the kinship has {} values for {n} candidates", row.len());
            return refuse(what, "give a square table");
        }
        for (i, row) in rows.iter().enumerate() {
            for j in 0..i {
                let (a, b) = (row[j], rows[j][i]);
                if (a - b).abs() > ROUNDING * (1.0 + a.abs()) {
                    let what =
                        format!("the kinship of {i} with {j} is {a}, that of {j} with {i} {b}");
                    return refuse(what, "give one value for a pair");
                }
            }
        }
        Self::from_fn(n, |i, j| rows[i][j])
    }

    /// The kinship by a function that is asked once for each pair (i ≤ j).
    ///
    /// # Errors
    /// If a value is not a number, or some mixture would have a mean kinship below 0.
    pub fn from_fn(
        n: usize,
        mut of: impl FnMut(usize, usize) -> f64,
    ) -> Result<Self, PlanningError> {
        let mut values = vec![0.0; n * n];
        for i in 0..n {
            for j in i..n {
                let value = of(i, j);
                if !value.is_finite() {
                    let what = format!("the kinship of {i} with {j} is {value}");
                    return refuse(what, "give a number");
                }
                values[i * n + j] = value;
                values[j * n + i] = value;
            }
        }
        let kinship = Self { n, values };
        match kinship.first_impossible() {
            None => Ok(kinship),
            Some(i) => {
                let what = format!(
                    "the kinship of candidates 0 to {i} does not hang together: a mixture of them \
                     would be related to itself by less than nothing"
                );
                refuse(what, "compute it from one pedigree, and do not round it")
            }
        }
    }

    /// How many candidates.
    pub fn len(&self) -> usize {
        self.n
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.n == 0
    }

    /// Kinship of two candidates.
    ///
    /// # Panics
    /// If there is no such candidate.
    pub fn of(&self, i: usize, j: usize) -> f64 {
        self.values[i * self.n + j]
    }

    /// The row of a candidate.
    pub(crate) fn row(&self, i: usize) -> &[f64] {
        &self.values[i * self.n..(i + 1) * self.n]
    }

    /// The kinship of each candidate with a mixture.
    pub(crate) fn with(&self, mixture: &[f64]) -> Vec<f64> {
        let mut found = vec![0.0; self.n];
        for (i, share) in mixture.iter().enumerate().filter(|(_, share)| **share != 0.0) {
            for (sum, value) in found.iter_mut().zip(self.row(i)) {
                *sum += share * value;
            }
        }
        found
    }

    /// Mean kinship within a mixture: of two genes drawn from it, also from one and the same
    /// candidate. Shares need not add up to 1; 0 for an empty mixture.
    pub fn mean(&self, mixture: &[f64]) -> f64 {
        let whole: f64 = mixture.iter().sum();
        if whole == 0.0 {
            return 0.0;
        }
        dot(mixture, &self.with(mixture)) / (whole * whole)
    }

    /// The first candidate with which the table ceases to be positive semidefinite, up to rounding:
    /// a Cholesky decomposition by rows, with the diagonal raised a little.
    fn first_impossible(&self) -> Option<usize> {
        let n = self.n;
        let largest = (0..n).map(|i| self.of(i, i).abs()).fold(0.0, f64::max);
        let raised = ROUNDING * largest.max(1e-300);
        let mut lower = vec![0.0; n * n];
        for i in 0..n {
            let (before, rest) = lower.split_at_mut(i * n);
            for j in 0..i {
                let row = &before[j * n..j * n + j + 1];
                let sum = self.of(i, j) - dot(&row[..j], &rest[..j]);
                rest[j] = sum / row[j];
            }
            let left = self.of(i, i) + raised - dot(&rest[..i], &rest[..i]);
            if left <= 0.0 {
                return Some(i);
            }
            rest[i] = left.sqrt();
        }
        None
    }
}

/// Sum of products.
pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn refuse<T>(what: String, next: &'static str) -> Result<T, PlanningError> {
    Err(PlanningError::Shape { what, next })
}
