//! Weights that make one number of several traits.

use super::SelectionError;
use crate::dense;

/// Covariances of traits, phenotypic and genetic.
#[derive(Debug, Clone, PartialEq)]
pub struct Covariances {
    traits: usize,
    /// By rows.
    phenotypic: Vec<f64>,
    genetic: Vec<f64>,
}

/// An index and what selection on it is expected to bring.
#[derive(Debug, Clone, PartialEq)]
pub struct Index {
    /// Weight of each trait \[per unit of the trait\].
    pub b: Vec<f64>,
    /// Standard deviation of the index; none where P is no covariance matrix.
    pub sd: Option<f64>,
    /// Response of each trait to one standard deviation of selection \[unit of the trait\].
    pub gains: Vec<Option<f64>>,
    /// Response of the aggregate Σ wᵢ·gᵢ to one standard deviation of selection.
    pub aggregate: Option<f64>,
    /// Correlation of the index with the aggregate.
    pub accuracy: Option<f64>,
}

/// What is odd about covariances or an index.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Warning {
    /// P is not positive definite.
    Phenotypic,
    /// G is not positive definite.
    Genetic,
    /// P − G is not positive semi-definite: some combination would be inherited by more than all.
    Environment,
    /// An index with an accuracy above 1.
    Accuracy,
}

impl Warning {
    /// What it means, and what helps.
    pub fn text(self) -> &'static str {
        match self {
            Warning::Phenotypic => {
                "P is not positive definite: some combination of traits would have a variance below \
                 0; estimate it from more plants, or bend it"
            }
            Warning::Genetic => {
                "G is not positive definite: some combination of traits would have a genetic variance \
                 of 0 or less; estimate it from more families, or bend it"
            }
            Warning::Environment => {
                "P − G is not positive semi-definite: some combination of traits would be inherited by \
                 more than all; P and G do not come from the same plants, or G is poorly known"
            }
            Warning::Accuracy => {
                "the accuracy is above 1, which cannot be: P and G contradict each other"
            }
        }
    }
}

impl Covariances {
    /// From P and G by rows.
    ///
    /// # Errors
    /// Sizes that differ, numbers that are not finite, triangles that differ, a phenotypic variance
    /// that is not above 0 or a genetic one below 0.
    pub fn new(phenotypic: &[Vec<f64>], genetic: &[Vec<f64>]) -> Result<Self, SelectionError> {
        let traits = phenotypic.len();
        if traits == 0 {
            return Err(SelectionError::Empty);
        }
        let phenotypic = square('P', phenotypic, traits)?;
        let genetic = square('G', genetic, traits)?;
        for i in 0..traits {
            let trait_number = i + 1;
            let (p, g) = (phenotypic[i * traits + i], genetic[i * traits + i]);
            if p <= 0.0 {
                let expected = "above 0";
                return Err(SelectionError::Variance {
                    matrix: 'P',
                    trait_number,
                    value: p,
                    expected,
                });
            }
            if g < 0.0 {
                let expected = "0 or more";
                return Err(SelectionError::Variance {
                    matrix: 'G',
                    trait_number,
                    value: g,
                    expected,
                });
            }
        }
        Ok(Covariances { traits, phenotypic, genetic })
    }

    /// Number of traits.
    pub fn traits(&self) -> usize {
        self.traits
    }

    /// What is odd about the matrices.
    pub fn warnings(&self) -> Vec<Warning> {
        let n = self.traits;
        // On the scale of correlations, so that units do not matter.
        let unit = |m: &[f64]| -> Vec<f64> {
            let at = |i: usize| self.phenotypic[i * n + i].sqrt();
            (0..n * n).map(|k| m[k] / (at(k / n) * at(k % n))).collect()
        };
        let mut found = Vec::new();
        let phenotypic = unit(&self.phenotypic);
        if dense::cholesky(&phenotypic, n, 1e-12).is_none() {
            found.push(Warning::Phenotypic);
        }
        let genetic = unit(&self.genetic);
        if dense::cholesky(&genetic, n, 1e-12).is_none() {
            found.push(Warning::Genetic);
        }
        let mut rest: Vec<f64> = phenotypic.iter().zip(&genetic).map(|(p, g)| p - g).collect();
        // A trait may be inherited completely: zero is allowed, rounding as well.
        (0..n).for_each(|i| rest[i * n + i] += 1e-9);
        if dense::cholesky(&rest, n, 0.0).is_none() {
            found.push(Warning::Environment);
        }
        found
    }

    /// Smith and Hazel: b = P⁻¹·G·w, the index that goes best with Σ wᵢ·gᵢ.
    ///
    /// # Errors
    /// Weights of another number, not finite or all 0; a singular P.
    pub fn smith_hazel(&self, weights: &[f64]) -> Result<Index, SelectionError> {
        self.list("weights", weights)?;
        let b = self.over_p(&dense::times(&self.genetic, weights))?;
        Ok(self.index(b, weights))
    }

    /// Pesek and Baker: b = G⁻¹·d, the index whose gains stand to each other as `gains` do. One
    /// standard deviation of selection brings them [`Index::sd`] times over; as many standard
    /// deviations as the index has are needed for the gains themselves.
    ///
    /// # Errors
    /// Gains of another number, not finite or all 0; a singular G.
    pub fn desired_gains(&self, gains: &[f64], weights: &[f64]) -> Result<Index, SelectionError> {
        self.list("desired gains", gains)?;
        let what = "no index brings just these gains";
        let b = dense::solve_any(&self.scaled(&self.genetic), self.traits, &self.down(gains));
        let b = b.ok_or(SelectionError::Singular { matrix: "G", what })?;
        Ok(self.index(self.down(&b), weights))
    }

    /// Kempthorne and Nordskog: the best index under which some traits (from 0) do not change:
    /// b = (I − P⁻¹·C·(Cᵀ·P⁻¹·C)⁻¹·Cᵀ)·P⁻¹·G·w, C the columns of G of those traits.
    ///
    /// # Errors
    /// As [`Covariances::smith_hazel`]; traits that are not there, or all of them; held traits whose
    /// columns of G are dependent.
    pub fn restricted(&self, weights: &[f64], held: &[usize]) -> Result<Index, SelectionError> {
        let n = self.traits;
        self.list("weights", weights)?;
        let mut held = held.to_vec();
        held.sort_unstable();
        held.dedup();
        if let Some(t) = held.iter().find(|t| **t >= n) {
            return Err(SelectionError::NoTrait { found: t + 1, traits: n });
        }
        if held.len() == n {
            return Err(SelectionError::AllRestricted { traits: n });
        }
        let free = self.over_p(&dense::times(&self.genetic, weights))?;
        let column = |t: usize| -> Vec<f64> { (0..n).map(|i| self.genetic[i * n + t]).collect() };
        let c: Vec<Vec<f64>> = held.iter().map(|t| column(*t)).collect();
        let pc: Vec<Vec<f64>> = c.iter().map(|c| self.over_p(c)).collect::<Result<_, _>>()?;
        let r = held.len();
        // The held traits in units of their phenotypic deviation.
        let size = |t: usize| self.phenotypic[held[t] * n + held[t]].sqrt();
        let square: Vec<f64> = (0..r * r)
            .map(|k| dense::dot(&c[k / r], &pc[k % r]) / (size(k / r) * size(k % r)))
            .collect();
        let right: Vec<f64> = (0..r).map(|t| dense::dot(&c[t], &free) / size(t)).collect();
        let what = "these traits cannot be held still together";
        let matrix = "the part of G of the traits to be held still";
        let lambda = dense::solve_any(&square, r, &right)
            .ok_or(SelectionError::Singular { matrix, what })?;
        let mut b = free;
        for (t, (l, column)) in lambda.iter().zip(&pc).enumerate() {
            b.iter_mut().zip(column).for_each(|(b, x)| *b -= l / size(t) * x);
        }
        Ok(self.index(b, weights))
    }

    /// What an index with these weights brings for an aggregate with those.
    pub fn index(&self, b: Vec<f64>, weights: &[f64]) -> Index {
        let gb = dense::times(&self.genetic, &b);
        let variance = dense::dot(&b, &dense::times(&self.phenotypic, &b));
        let sd = (variance > 0.0).then(|| variance.sqrt());
        let aggregate = sd.map(|sd| dense::dot(weights, &gb) / sd);
        let whole = dense::dot(weights, &dense::times(&self.genetic, weights));
        let accuracy = aggregate.filter(|_| whole > 0.0).map(|a| a / whole.sqrt());
        let gains = gb.iter().map(|g| sd.map(|sd| g / sd)).collect();
        Index { b, sd, gains, aggregate, accuracy }
    }

    fn over_p(&self, right: &[f64]) -> Result<Vec<f64>, SelectionError> {
        let what = "no index is the best one";
        let x = dense::solve_any(&self.scaled(&self.phenotypic), self.traits, &self.down(right));
        x.map(|x| self.down(&x)).ok_or(SelectionError::Singular { matrix: "P", what })
    }

    /// A matrix in units of phenotypic standard deviations.
    fn scaled(&self, m: &[f64]) -> Vec<f64> {
        let n = self.traits;
        let at = |i: usize| self.phenotypic[i * n + i].sqrt();
        (0..n * n).map(|k| m[k] / (at(k / n) * at(k % n))).collect()
    }

    /// A vector over phenotypic standard deviations.
    fn down(&self, v: &[f64]) -> Vec<f64> {
        let n = self.traits;
        v.iter().enumerate().map(|(i, v)| v / self.phenotypic[i * n + i].sqrt()).collect()
    }

    fn list(&self, what: &'static str, list: &[f64]) -> Result<(), SelectionError> {
        if list.len() != self.traits {
            let (found, expected) = (list.len(), self.traits);
            let what = format!("the list of {what}");
            return Err(SelectionError::Size { what, found, unit: "numbers", expected });
        }
        if let Some(i) = list.iter().position(|v| !v.is_finite()) {
            let what = format!("number {} of the {what}", i + 1);
            return Err(SelectionError::NotFinite { what, value: list[i] });
        }
        if list.iter().all(|v| *v == 0.0) {
            return Err(SelectionError::Nothing { what });
        }
        Ok(())
    }
}

/// A matrix by rows, checked.
fn square(name: char, rows: &[Vec<f64>], expected: usize) -> Result<Vec<f64>, SelectionError> {
    if rows.len() != expected {
        let (what, found) = (name.to_string(), rows.len());
        return Err(SelectionError::Size { what, found, unit: "rows", expected });
    }
    for (i, row) in rows.iter().enumerate() {
        if row.len() != expected {
            let (what, found) = (format!("row {} of {name}", i + 1), row.len());
            return Err(SelectionError::Size { what, found, unit: "numbers", expected });
        }
        if let Some(j) = row.iter().position(|v| !v.is_finite()) {
            let what = format!("{name} in row {}, column {}", i + 1, j + 1);
            return Err(SelectionError::NotFinite { what, value: row[j] });
        }
    }
    for i in 0..expected {
        for j in i + 1..expected {
            let (above, below) = (rows[i][j], rows[j][i]);
            let size = (rows[i][i] * rows[j][j]).abs().sqrt();
            if (above - below).abs() > 1e-9 * size.max(above.abs()) {
                let (matrix, row, column) = (name, i + 1, j + 1);
                return Err(SelectionError::NotSymmetric { matrix, row, column, above, below });
            }
        }
    }
    Ok(rows.concat())
}
