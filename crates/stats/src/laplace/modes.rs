//! Random effects at the mode, and predictors of new rows with their variance.

use super::{LaplaceError, Marginal, Rows, ShapeDerivatives};
use crate::dense;

/// The effects of a level at the mode, with the standard errors that the curvature there gives:
/// conditional on the parameters.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct LevelMode {
    /// The level.
    pub level: String,
    /// Its effect.
    pub estimate: f64,
    /// Standard error.
    pub se: f64,
    /// Its slope with standard error, for a term that has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slope: Option<(f64, f64)>,
}

/// The linear predictor of a row with what makes it uncertain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Predictor {
    /// At the estimates and the modes.
    pub mean: f64,
    /// Variance from the parameters and from the effects of known levels.
    pub variance: f64,
    /// What to add for the mean over the skewed distributions of the effects.
    pub skew: f64,
    /// Variance of the effects of levels that the fit has not seen.
    pub unseen: f64,
}

impl<R: Rows> Marginal<R> {
    /// The modes of a term's levels, at the parameters of the last evaluation with gradient.
    ///
    /// # Panics
    /// When there is no such term.
    pub fn modes(&self, term: usize, parameters: &[f64]) -> Vec<LevelMode> {
        let place = &self.design.places[term];
        let theta = &parameters[self.parameters_of(term)];
        let u = &self.state.u;
        let mode = |(at, level): (usize, &String)| {
            let at = place.start + at * place.width;
            let (level, v) = (level.clone(), |k, l| self.inverse_within(at, k, l));
            if place.width == 1 {
                let se = theta[0].abs() * v(0, 0).sqrt();
                return LevelMode { level, estimate: theta[0] * u[at], se, slope: None };
            }
            let (a, b, c) = (theta[0], theta[1], theta[2]);
            let variance = b * b * v(0, 0) + 2.0 * b * c * v(0, 1) + c * c * v(1, 1);
            LevelMode {
                level,
                estimate: a * u[at],
                se: a.abs() * v(0, 0).sqrt(),
                slope: Some((b * u[at] + c * u[at + 1], variance.max(0.0).sqrt())),
            }
        };
        place.levels.iter().enumerate().map(mode).collect()
    }

    /// The means of a term's levels in place of their modes; for intercepts.
    pub(super) fn means(&self, term: usize, parameters: &[f64]) -> Vec<LevelMode> {
        let place = &self.design.places[term];
        let sd = parameters[self.parameters_of(term).start];
        let mut out = self.modes(term, parameters);
        for (mode, shift) in out.iter_mut().zip(&self.state.shift[place.start..]) {
            mode.estimate += sd * shift;
        }
        out
    }

    /// Element of the inverse curvature within the effects of one level that starts at `at`.
    fn inverse_within(&self, at: usize, k: usize, l: usize) -> f64 {
        let h = &self.curvature;
        if at < self.design.blocked {
            h.v[(at + k) * h.width + l]
        } else {
            let at = at - self.design.blocked;
            h.s[(at + k) * h.border + at + l]
        }
    }

    /// The predictor of a row that may not be in the data, at the parameters of the last evaluation
    /// with gradient: `x` in the fixed columns; for each random term the levels it belongs to
    /// (`None`: one not seen) and the number that a slope is multiplied by.
    ///
    /// The variance holds that the modes move with the parameters.
    ///
    /// # Errors
    /// Another number of fixed columns or terms than the model has.
    pub fn predictor(
        &self,
        parameters: &[f64],
        covariance: &[f64],
        x: &[f64],
        random: &[(Vec<Option<u32>>, f64)],
    ) -> Result<Predictor, LaplaceError> {
        let (p, design, state) = (self.layout.fixed, &self.design, &self.state);
        for (found, expected) in [(x.len(), p), (random.len(), design.places.len())] {
            if found != expected {
                return Err(LaplaceError::Parameters { found, expected });
            }
        }
        let theta = &parameters[p..];
        let mut a = vec![0.0; design.effects];
        let mut by = vec![0.0; parameters.len()];
        by[..p].copy_from_slice(x);
        let mut unseen = 0.0;
        for (place, (levels, number)) in design.places.iter().zip(random) {
            let l = &theta[place.parameter..];
            let mut new = 0.0;
            for level in levels {
                let Some(level) = level else {
                    new += 1.0;
                    continue;
                };
                let at = place.start + *level as usize * place.width;
                let k = p + place.parameter;
                if place.width == 1 {
                    a[at] += l[0];
                    by[k] += state.u[at];
                } else {
                    a[at] += l[0] + number * l[1];
                    a[at + 1] += number * l[2];
                    by[k] += state.u[at];
                    by[k + 1] += number * state.u[at];
                    by[k + 2] += number * state.u[at + 1];
                }
            }
            let own = if place.width == 1 {
                l[0] * l[0]
            } else {
                (l[0] + number * l[1]).powi(2) + (number * l[2]).powi(2)
            };
            unseen += new * own;
        }
        let fixed: f64 = x.iter().zip(parameters).map(|(x, b)| x * b).sum();
        let mean = fixed + dense::dot(&a, &state.u);
        let mut r = a.clone();
        if design.effects > 0 {
            self.curvature.solve(&mut r);
            self.add_movement(&r, &mut by);
        }
        let variance = dense::dot(&a, &r) + dense::dot(&dense::times(covariance, &by), &by);
        let skew = dense::dot(&a, &state.shift);
        Ok(Predictor { mean, variance: variance.max(0.0), skew, unseen })
    }

    /// Adds rᵀ·H·∂û/∂ψ: how a combination of the modes moves with each parameter.
    fn add_movement(&self, r: &[f64], by: &mut [f64]) {
        let (design, state, entries) = (&self.design, &self.state, self.design.entries);
        let (p, shapes) = (self.layout.fixed, self.layout.shapes);
        let mut d = vec![ShapeDerivatives::default(); shapes];
        for cell in 0..design.cells() {
            let range = cell * entries..(cell + 1) * entries;
            let (columns, a) = (&design.column[range.clone()], &state.a[range.clone()]);
            let z = &design.multiplier[range];
            let sum =
                |v: &[f64]| -> f64 { columns.iter().zip(a).map(|(c, a)| a * v[*c as usize]).sum() };
            let (rho, random) = (sum(r), sum(&state.u));
            let (first, weight) = (state.cell_first[cell], state.cell_weight[cell]);
            for place in &design.places {
                let (e, k) = (place.entry, p + place.parameter);
                let at = |j: usize| columns[e + j] as usize;
                let change = |j: usize| first * r[at(j)] - weight * rho * state.u[at(j)];
                if place.width == 1 {
                    by[k] += (0..place.members).map(|j| z[e + j] * change(j)).sum::<f64>();
                } else {
                    by[k] += z[e] * change(0);
                    by[k + 1] += z[e + 1] * change(0);
                    by[k + 2] += z[e + 1] * change(1);
                }
            }
            for i in design.start[cell] as usize..design.start[cell + 1] as usize {
                let moved = rho * state.weight[i];
                for (b, x) in by[..p].iter_mut().zip(&self.x[i * p..(i + 1) * p]) {
                    *b -= moved * x;
                }
                if shapes > 0 {
                    let eta = state.base[i] + random;
                    self.rows.by_shape(design.order[i] as usize, eta, &mut d);
                    for (b, d) in by[p + self.layout.random..].iter_mut().zip(&d) {
                        *b += rho * d.first;
                    }
                }
            }
        }
    }
}
