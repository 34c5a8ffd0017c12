//! The restricted likelihood at given variances, its gradient and its average information.
//!
//! With effects u = (I⊗Λ)·v, Λ the root of a term's covariance over the residual standard
//! deviation, the mixed-model equations are A = Λᵀ·Wᵀ·W·Λ + K⁻¹ for W = \[Z X\]; they stay regular
//! when a variance is zero. From them, for the residual variance σ²:
//!
//! - log|V| + log|XᵀV⁻¹X| = (n−p)·log σ² + log|A| − Σ log|K⁻¹|
//! - yᵀPy = (yᵀy − yᵀWΛA⁻¹ΛᵀWᵀy)/σ²
//! - Σ over levels of K-weighted ZᵀPZ = M·Λ⁻¹/σ², M the diagonal blocks of ZᵀWΛA⁻¹
//! - P·f = (f − WΛA⁻¹ΛᵀWᵀf)/σ²; all f needed are combinations of W and y.

use super::{
    gram::{Gram, Layout},
    small::{Two, ZERO, inverse_lower, scaled, times, transposed},
};
use crate::{
    random::Random as Dice,
    sparse::{Factor, Inverse, SparseError},
};

/// Variances: the root (lower triangle) of the covariance of each term, and the residual variance.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Variances {
    pub roots: Vec<Two>,
    pub residual: f64,
}

/// The equations at some variances.
#[derive(Debug)]
pub(super) struct Point<'p> {
    pub variances: Variances,
    factor: Factor<'p>,
    /// Solutions on the scale of v.
    v: Vec<f64>,
    /// yᵀPy
    pub quadratic: f64,
    /// Without the constant.
    pub log_likelihood: f64,
}

/// First and second derivatives by the residual variance (last) and by the numbers 00, 10, 11 of
/// each term's covariance (00 alone where the width is 1).
#[derive(Debug)]
pub(super) struct Slopes {
    pub gradient: Vec<f64>,
    /// Average information, by rows.
    pub information: Vec<f64>,
    /// The gradient of each term as a symmetric matrix: dl = tr(S·dG).
    pub terms: Vec<Two>,
}

/// Numbers of a term's covariance.
pub(super) fn numbers(width: usize) -> usize {
    if width == 2 { 3 } else { 1 }
}

impl Variances {
    /// Roots over the residual standard deviation.
    fn relative(&self) -> Vec<Two> {
        let s = self.residual.sqrt();
        let mut roots: Vec<Two> = self.roots.iter().map(|r| scaled(r, 1.0 / s)).collect();
        roots.push([1.0, 0.0, 0.0, 0.0]);
        roots
    }
}

impl<'p> Point<'p> {
    pub fn at(gram: &Gram, layout: &'p Layout, variances: Variances) -> Result<Self, SparseError> {
        let mut values = vec![0.0; layout.pattern.entries()];
        let roots = variances.relative();
        gram.fill(layout, &roots, &mut values);
        let factor = layout.pattern.factor(&values)?;
        let mut right = gram.with_response.clone();
        gram.scale(&roots, true, &mut right);
        let mut v = right.clone();
        factor.solve(&mut v);
        let explained: f64 = right.iter().zip(&v).map(|(a, b)| a * b).sum();
        let quadratic = (gram.response - explained).max(0.0) / variances.residual;
        let degrees = (gram.records - gram.fixed) as f64;
        let priors: f64 = gram.parts.iter().map(|p| p.width as f64 * p.log_det_prior).sum();
        let log_det = degrees * variances.residual.ln() + factor.log_determinant() - priors;
        let log_likelihood = -0.5 * (log_det + quadratic);
        Ok(Point { variances, factor, v, quadratic, log_likelihood })
    }

    /// Multiplies all variances so that yᵀPy = n − p, which is where the likelihood is highest among
    /// variances in these proportions; the solutions stay as they are.
    pub fn rescale(&mut self, gram: &Gram) {
        let degrees = (gram.records - gram.fixed) as f64;
        let by = self.quadratic / degrees;
        if by > 0.0 {
            self.variances.residual *= by;
            self.variances.roots.iter_mut().for_each(|r| *r = scaled(r, by.sqrt()));
            self.log_likelihood -= 0.5 * (degrees * by.ln() + degrees - self.quadratic);
            self.quadratic = degrees;
        }
    }

    /// Solutions: random effects, then coefficients.
    pub fn solutions(&self, gram: &Gram) -> Vec<f64> {
        let mut u = self.v.clone();
        gram.scale(&self.variances.relative(), false, &mut u);
        u
    }

    /// A draw of random effects, then coefficients, whose mean is the solutions and whose covariance
    /// is that of their errors.
    pub fn draw(&self, gram: &Gram, dice: &mut Dice) -> Vec<f64> {
        let mut z: Vec<f64> = self.v.iter().map(|_| dice.normal()).collect();
        self.factor.solve_transposed(&mut z);
        let s = self.variances.residual.sqrt();
        let mut u: Vec<f64> = self.v.iter().zip(&z).map(|(v, z)| v + s * z).collect();
        gram.scale(&self.variances.relative(), false, &mut u);
        u
    }

    pub fn inverse(&self) -> Inverse<'p> {
        self.factor.inverse()
    }

    /// The columns of the inverse that belong to the fixed part, one after the other.
    pub fn fixed_columns(&self, gram: &Gram) -> Vec<f64> {
        let n = self.v.len();
        let mut columns = vec![0.0; n * gram.fixed];
        for j in 0..gram.fixed {
            columns[j * n + gram.random + j] = 1.0;
        }
        self.factor.solve(&mut columns);
        columns
    }

    pub fn slopes(&self, gram: &Gram, layout: &Layout) -> Slopes {
        let residual = self.variances.residual;
        let roots = self.variances.relative();
        let inverse = self.inverse();
        let traces = gram.traces(layout, &roots, |slot| inverse.at(slot));
        let work = self.working(gram);
        let k = work.coefficients.len();

        let information = self.information(gram, &work);
        let mut gradient = Vec::with_capacity(k);
        let mut terms = Vec::with_capacity(gram.parts.len());
        let mut explained = 0.0;
        for ((part, m), (root, square)) in
            gram.parts.iter().zip(&traces).zip(roots.iter().zip(&work.squares))
        {
            let t = scaled(&times(m, &inverse_lower(root, part.width)), 1.0 / residual);
            let own = times(&transposed(root), m);
            explained += own[0] + own[3];
            // Symmetric but for rounding.
            let across = 0.5 * (t[1] + t[2]);
            let s = [
                -0.5 * (t[0] - square[0]),
                -0.5 * (across - square[1]),
                -0.5 * (across - square[1]),
                -0.5 * (t[3] - square[3]),
            ];
            gradient.push(s[0]);
            if part.width == 2 {
                gradient.extend([2.0 * s[1], s[3]]);
            }
            terms.push(s);
        }
        let degrees = (gram.records - gram.fixed) as f64;
        gradient.push(-0.5 * ((degrees - explained) / residual - work.residual_square));
        Slopes { gradient, information, terms }
    }

    /// The vectors (dV/dθ)·P·y as combinations of the columns and the response.
    fn working(&self, gram: &Gram) -> Working {
        let residual = self.variances.residual;
        let solutions = self.solutions(gram);
        // Wᵀ·ê/σ² = Wᵀ·P·y
        let fitted = gram.times(&solutions);
        let py: Vec<f64> =
            gram.with_response.iter().zip(&fitted).map(|(y, f)| (y - f) / residual).collect();
        let n = solutions.len();
        let (mut coefficients, mut squares) = (Vec::new(), Vec::new());
        for (part, root) in gram.parts.iter().zip(&self.variances.roots) {
            // g = Zᵀ·P·y and h = K·g by levels.
            let effects = part.column..part.column + part.blocks.len() * part.width;
            let g = &py[effects.clone()];
            let h = if !part.related {
                g.to_vec()
            } else {
                // v = (K⊗Lᵀ)·g·σ
                let up = transposed(&inverse_lower(root, part.width));
                let up = scaled(&up, 1.0 / residual.sqrt());
                let v = &self.v[effects.clone()];
                v.chunks_exact(part.width)
                    .flat_map(|v| two(&super::small::apply(&up, wide(v)), part.width))
                    .collect()
            };
            let mut square = ZERO;
            for (g, h) in g.chunks_exact(part.width).zip(h.chunks_exact(part.width)) {
                let (g, h) = (wide(g), wide(h));
                let product = [g[0] * h[0], g[1] * h[0], g[0] * h[1], g[1] * h[1]];
                super::small::add(&mut square, &product);
            }
            let across = 0.5 * (square[1] + square[2]);
            squares.push([square[0], across, across, square[3]]);
            for e in 0..numbers(part.width) {
                let mut c = vec![0.0; n];
                for (c, h) in
                    c[effects.clone()].chunks_exact_mut(part.width).zip(h.chunks_exact(part.width))
                {
                    match e {
                        0 => c[0] = h[0],
                        1 => [c[0], c[1]] = [h[1], h[0]],
                        _ => c[1] = h[1],
                    }
                }
                coefficients.push((c, 0.0));
            }
        }
        coefficients.push((solutions.iter().map(|s| -s / residual).collect(), 1.0 / residual));
        // |ê|² = yᵀy − βᵀWᵀy − βᵀWᵀê
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let square =
            gram.response - dot(&solutions, &gram.with_response) - residual * dot(&solutions, &py);
        Working { coefficients, squares, residual_square: square / (residual * residual) }
    }

    /// ½·Fᵀ·P·F for the working vectors F.
    fn information(&self, gram: &Gram, work: &Working) -> Vec<f64> {
        let k = work.coefficients.len();
        let n = self.v.len();
        let roots = self.variances.relative();
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let mut right = Vec::with_capacity(k * n);
        let mut products: Vec<Vec<f64>> = Vec::with_capacity(k);
        for (c, d) in &work.coefficients {
            let mut with_w = gram.times(c);
            with_w.iter_mut().zip(&gram.with_response).for_each(|(w, y)| *w += d * y);
            let mut r = with_w.clone();
            gram.scale(&roots, true, &mut r);
            right.extend(r);
            products.push(with_w);
        }
        let mut solved = right.clone();
        self.factor.solve(&mut solved);
        let mut information = vec![0.0; k * k];
        for i in 0..k {
            let (c, d) = &work.coefficients[i];
            for j in 0..k {
                let (other, e) = &work.coefficients[j];
                let with_y = dot(other, &gram.with_response) + e * gram.response;
                let together = dot(c, &products[j]) + d * with_y;
                let taken = dot(&right[i * n..(i + 1) * n], &solved[j * n..(j + 1) * n]);
                information[i * k + j] = 0.5 * (together - taken) / self.variances.residual;
            }
        }
        information
    }
}

struct Working {
    coefficients: Vec<(Vec<f64>, f64)>,
    squares: Vec<Two>,
    /// yᵀPPy
    residual_square: f64,
}

fn wide(v: &[f64]) -> [f64; 2] {
    [v[0], v.get(1).copied().unwrap_or(0.0)]
}

fn two(v: &[f64; 2], width: usize) -> Vec<f64> {
    v[..width].to_vec()
}
