//! The records brought to a scale on which all numbers are near 1, and the way back.
//!
//! The columns of the fixed part are made orthonormal (Q·R, by Gram–Schmidt done twice), the
//! response is replaced by what they leave of it, over its standard deviation, and the covariate of
//! a slope is centred and divided by its standard deviation. The restricted likelihood knows how it
//! changes with each, so that neither a large mean nor an unlucky unit costs digits.

use super::{
    MixedError, RESIDUAL, Random, Relation,
    small::{Two, around, unit},
};
use crate::model::{Fixed, RandomTerm};

/// Scaled records.
#[derive(Debug)]
pub(crate) struct Scaled<'a> {
    pub response: Vec<f64>,
    /// Orthonormal columns.
    pub fixed: Vec<Vec<f64>>,
    pub terms: Vec<ScaledTerm<'a>>,
    /// R by rows; zero below the diagonal.
    triangle: Vec<Vec<f64>>,
    /// Coefficients of the columns as they were, by least squares.
    least_squares: Vec<f64>,
    /// What the response was divided by.
    pub unit: f64,
    /// Roots of the weights of records, which response and columns are multiplied by; none where all
    /// are 1.
    roots: Option<Vec<f64>>,
}

/// A random term with its covariate scaled.
#[derive(Debug)]
pub(crate) struct ScaledTerm<'a> {
    term: &'a RandomTerm,
    relation: &'a Relation,
    slope: Option<Vec<f64>>,
    /// Takes the scaled effects of a level to the effects asked for, but for the unit of the response.
    pub back: Two,
}

impl<'a> Scaled<'a> {
    pub fn of(
        response: &[f64],
        fixed: &Fixed,
        random: &'a [Random],
        weights: Option<&[f64]>,
    ) -> Result<Scaled<'a>, MixedError> {
        check(response, fixed, random)?;
        let (n, p) = (fixed.rows(), fixed.width());
        let roots = weights.map(|w| roots(w, n)).transpose()?;
        // A record of weight w becomes √w records' worth: its residual then has the variance of all.
        let weighted = |column: &[f64]| -> Vec<f64> {
            match &roots {
                None => column.to_vec(),
                Some(s) => column.iter().zip(s).map(|(v, s)| v * s).collect(),
            }
        };
        let (q, triangle) = orthonormal((0..p).map(|j| weighted(fixed.column(j))));
        let mut rest = weighted(response);
        let size = dot(&rest, &rest).sqrt();
        let mut on_q = vec![0.0; p];
        for _ in 0..2 {
            for (column, on) in q.iter().zip(&mut on_q) {
                let d = dot(column, &rest);
                *on += d;
                rest.iter_mut().zip(column).for_each(|(r, q)| *r -= d * q);
            }
        }
        let left = dot(&rest, &rest).sqrt();
        // What is left is rounding alone.
        if left <= 1e-12 * size {
            return Err(MixedError::PerfectFit);
        }
        let unit = left / ((n - p) as f64).sqrt();
        rest.iter_mut().for_each(|r| *r /= unit);
        let terms = random.iter().map(ScaledTerm::of).collect::<Result<_, _>>()?;
        let least_squares = solve_upper(&triangle, &on_q);
        Ok(Scaled { response: rest, fixed: q, terms, triangle, least_squares, unit, roots })
    }

    /// Coefficients of the columns as they were, from those of the scaled ones.
    pub fn coefficients(&self, scaled: &[f64]) -> Vec<f64> {
        let on_q: Vec<f64> = scaled.iter().map(|b| b * self.unit).collect();
        let more = solve_upper(&self.triangle, &on_q);
        self.least_squares.iter().zip(more).map(|(a, b)| a + b).collect()
    }

    /// Their covariance, by rows.
    pub fn covariance(&self, scaled: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let half: Vec<Vec<f64>> =
            scaled.iter().map(|row| solve_upper(&self.triangle, row)).collect();
        let p = half.len();
        let mut out = vec![vec![0.0; p]; p];
        for j in 0..p {
            let column: Vec<f64> = half.iter().map(|row| row[j] * self.unit * self.unit).collect();
            for (row, v) in out.iter_mut().zip(solve_upper(&self.triangle, &column)) {
                row[j] = v;
            }
        }
        out
    }

    /// What the log-likelihood of the response as it was has beyond that of the scaled one.
    pub fn log_jacobian(&self) -> f64 {
        let diagonal = self.triangle.iter().enumerate().map(|(i, row)| row[i].abs().ln());
        let degrees = (self.response.len() - self.fixed.len()) as f64;
        let weights: f64 = self.roots.iter().flatten().map(|s| s.ln()).sum();
        weights - degrees * self.unit.ln() - diagonal.sum::<f64>()
    }

    /// The root of the weight of a record.
    pub fn root(&self, row: usize) -> f64 {
        self.roots.as_ref().map_or(1.0, |s| s[row])
    }
}

fn roots(weights: &[f64], records: usize) -> Result<Vec<f64>, MixedError> {
    if weights.len() != records {
        return Err(MixedError::Weights { weights: weights.len(), records });
    }
    if let Some(at) = weights.iter().position(|w| !(w.is_finite() && *w > 0.0)) {
        return Err(MixedError::Weight { row: at + 1, value: weights[at] });
    }
    Ok(weights.iter().map(|w| w.sqrt()).collect())
}

fn check(response: &[f64], fixed: &Fixed, random: &[Random]) -> Result<(), MixedError> {
    let (n, p) = (fixed.rows(), fixed.width());
    if response.len() != n {
        return Err(MixedError::Lengths { responses: response.len(), records: n });
    }
    if let Some(at) = response.iter().position(|y| !y.is_finite()) {
        return Err(MixedError::Response { row: at + 1, value: response[at] });
    }
    if n <= p {
        return Err(MixedError::Saturated { records: n, coefficients: p });
    }
    if let Some(&value) = response.first()
        && response.iter().all(|y| *y == value)
    {
        return Err(MixedError::Constant { value });
    }
    for (t, r) in random.iter().enumerate() {
        if r.term.index.len() != n * r.term.members {
            let records = r.term.index.len() / r.term.members.max(1);
            return Err(MixedError::Lengths { responses: n, records });
        }
        if r.name == RESIDUAL || random[..t].iter().any(|o| o.name == r.name) {
            return Err(MixedError::Twice { term: r.name.clone() });
        }
    }
    Ok(fixed.check_independent()?)
}

impl<'a> ScaledTerm<'a> {
    fn of(random: &'a Random) -> Result<Self, MixedError> {
        let (term, relation) = (&random.term, &random.relation);
        if let Relation::Inverse(inverse) = relation
            && inverse.levels() != term.levels.len()
        {
            let (name, levels) = (random.name.clone(), term.levels.len());
            let what = "has another number of levels";
            return Err(MixedError::Relation { term: name, levels, what });
        }
        let Some((column, numbers)) = &term.slope else {
            return Ok(ScaledTerm { term, relation, slope: None, back: unit(1) });
        };
        let n = numbers.len() as f64;
        let centre = numbers.iter().sum::<f64>() / n;
        let spread = (numbers.iter().map(|x| (x - centre).powi(2)).sum::<f64>() / n).sqrt();
        if spread <= 1e-12 * centre.abs() || spread == 0.0 {
            let (term, column) = (random.name.clone(), column.clone());
            return Err(MixedError::FlatSlope { term, column });
        }
        let slope = Some(numbers.iter().map(|x| (x - centre) / spread).collect());
        // v₀ + v₁·(x − c)/s = (v₀ − v₁·c/s) + (v₁/s)·x
        let back = [1.0, 0.0, -centre / spread, 1.0 / spread];
        Ok(ScaledTerm { term, relation, slope, back })
    }

    /// Whether no level has a second record, so that the effects are as free as the residual.
    pub fn lone(&self) -> bool {
        let plain = !self.related() && self.term.members == 1 && self.slope.is_none();
        let mut seen = vec![false; self.levels()];
        let mut again = |l: &u32| std::mem::replace(&mut seen[*l as usize], true);
        plain && !self.term.index.iter().any(&mut again)
    }

    pub fn width(&self) -> usize {
        self.term.width()
    }

    pub fn levels(&self) -> usize {
        self.term.levels.len()
    }

    pub fn related(&self) -> bool {
        matches!(self.relation, Relation::Inverse(_))
    }

    pub fn log_det_prior(&self) -> f64 {
        match self.relation {
            Relation::Independent => 0.0,
            Relation::Inverse(inverse) => inverse.log_determinant(),
        }
    }

    /// The weights of the effects of a level in a record.
    pub fn weights(&self, row: usize) -> [f64; 2] {
        [1.0, self.slope.as_ref().map_or(0.0, |x| x[row])]
    }

    pub fn members(&self, row: usize) -> &[u32] {
        self.term.of_row(row)
    }

    /// The records of each level; one that belongs to it twice is there twice.
    pub fn rows_by_level(&self) -> Vec<Vec<u32>> {
        let mut counts = vec![0usize; self.levels()];
        self.term.index.iter().for_each(|l| counts[*l as usize] += 1);
        let mut rows: Vec<Vec<u32>> = counts.into_iter().map(Vec::with_capacity).collect();
        for (i, level) in self.term.index.iter().enumerate() {
            rows[*level as usize].push((i / self.term.members) as u32);
        }
        rows
    }

    /// The inverse relation by levels, lower triangle; none for independent levels.
    pub fn prior_by_level(&self) -> Vec<Vec<(u32, f64)>> {
        match self.relation {
            Relation::Independent => Vec::new(),
            Relation::Inverse(inverse) => inverse.by_level(),
        }
    }

    /// A covariance of the effects of a level, taken back.
    pub fn covariance_back(&self, scaled: &Two, unit: f64) -> Two {
        around(&self.back, scaled).map(|v| v * unit * unit)
    }

    /// A covariance as asked for, scaled.
    pub fn covariance_scaled(&self, given: &Two, unit: f64) -> Two {
        let b = self.back;
        let inverse = if self.width() == 2 {
            [1.0, 0.0, -b[2] / b[3], 1.0 / b[3]]
        } else {
            [1.0, 0.0, 0.0, 0.0]
        };
        around(&inverse, given).map(|v| v / (unit * unit))
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Columns made orthonormal, and the triangle that gives the columns back.
fn orthonormal(columns: impl ExactSizeIterator<Item = Vec<f64>>) -> (Vec<Vec<f64>>, Vec<Vec<f64>>) {
    let p = columns.len();
    let mut q: Vec<Vec<f64>> = Vec::with_capacity(p);
    let mut triangle = vec![vec![0.0; p]; p];
    for (j, mut column) in columns.enumerate() {
        for _ in 0..2 {
            for (other, row) in q.iter().zip(&mut triangle) {
                let d = dot(other, &column);
                row[j] += d;
                column.iter_mut().zip(other).for_each(|(c, o)| *c -= d * o);
            }
        }
        let length = dot(&column, &column).sqrt();
        triangle[j][j] = length;
        column.iter_mut().for_each(|c| *c /= length);
        q.push(column);
    }
    (q, triangle)
}

fn solve_upper(triangle: &[Vec<f64>], b: &[f64]) -> Vec<f64> {
    let mut x = b.to_vec();
    for i in (0..x.len()).rev() {
        let known: f64 = (i + 1..x.len()).map(|j| triangle[i][j] * x[j]).sum();
        x[i] = (x[i] - known) / triangle[i][i];
    }
    x
}
