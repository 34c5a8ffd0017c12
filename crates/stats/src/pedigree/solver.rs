//! Solutions, their errors and the likelihood.

use super::{Effect, Equations, Lines, PedigreeError, PedigreeFit, gradients, sums::Sums};
use crate::{
    dense,
    mixed::Estimate,
    sparse::{Factor, Inverse, SparseError},
};

/// Equations ready to be solved.
#[derive(Debug)]
pub struct Solver<'e> {
    pub(super) equations: &'e Equations<'e>,
    pub(super) factor: Option<Factor<'e>>,
    /// M⁻¹·Zᵀ·R⁻¹·X, coefficient by coefficient, M the part of the individuals.
    pub(super) follow: Vec<Vec<f64>>,
    /// Cholesky factor of what the individuals leave of Xᵀ·R⁻¹·X.
    pub(super) schur: Vec<f64>,
    steps: usize,
}

/// Solutions on the scale of the records.
#[derive(Debug, Clone)]
pub(super) struct Solution {
    pub a: Vec<f64>,
    pub b: Vec<f64>,
    pub residual: f64,
    pub steps: usize,
}

impl<'e> Solver<'e> {
    pub(super) fn new(equations: &'e Equations<'e>) -> Result<Self, PedigreeError> {
        let factor = match &equations.pattern {
            Some(pattern) => Some(pattern.factor(&equations.core.matrix.values)?),
            None => None,
        };
        let sums = &equations.sums;
        let p = sums.zx.len();
        let (follow, schur) = (Vec::new(), Vec::new());
        let mut solver = Solver { equations, factor, follow, schur, steps: 0 };
        for zx in &sums.zx {
            let (column, steps) = solver.individuals(zx)?;
            solver.follow.push(column);
            solver.steps += steps;
        }
        let mut left = sums.xx.clone();
        for i in 0..p {
            for j in 0..p {
                left[i * p + j] -= dense::dot(&sums.zx[i], &solver.follow[j]);
            }
        }
        solver.schur = dense::cholesky(&left, p, 0.0).ok_or(SparseError::NotPositive)?;
        Ok(solver)
    }

    /// Breeding values, with all errors if they are wanted; by conjugate gradients there are none.
    ///
    /// # Errors
    /// Conjugate gradients that do not come down.
    pub fn fit(&self, errors: bool) -> Result<PedigreeFit, PedigreeError> {
        let (sums, lines) = (&self.equations.sums, self.equations.lines);
        let (p, unit) = (sums.zx.len(), sums.scaled.unit);
        let found = self.solve(&sums.zy, &sums.xy)?;
        let inverse = dense::inverse(&self.schur, p);
        let rows: Vec<Vec<f64>> = inverse.chunks_exact(p).map(<[f64]>::to_vec).collect();
        let covariance = sums.scaled.covariance(&rows);
        let estimates = sums.scaled.coefficients(&found.b);
        let names = self.equations.records.fixed.coefficients.iter();
        let terms = names.zip(estimates).enumerate().map(|(j, (c, estimate))| {
            let se = covariance[j][j].max(0.0).sqrt();
            Estimate { coefficient: c.clone(), estimate, se }
        });
        let terms = terms.collect();
        let known = errors.then(|| self.conditional()).flatten();
        let additive = (0..lines.len())
            .map(|i| {
                let variance = sums.given.additive * lines.diagonal(i);
                let z = known
                    .as_ref()
                    .map(|z| [z[i], z[i] + self.shared(&inverse, |j| self.follow[j][i])]);
                effect(found.a[i], z, variance, unit)
            })
            .collect();
        let permanent = self.permanent(&found, known.as_deref(), &inverse);
        Ok(PedigreeFit {
            terms,
            covariance,
            additive,
            permanent,
            log_restricted_likelihood: self.log_likelihood(&found),
            residual: found.residual,
            steps: self.steps + found.steps,
            fill: self.equations.fill(),
            n: sums.group_of.len(),
        })
    }

    /// Solves for individuals and coefficients, and improves the solution by what it leaves until
    /// the residual of the whole equations is within the tolerance.
    pub(super) fn solve(&self, za: &[f64], xb: &[f64]) -> Result<Solution, PedigreeError> {
        let (sums, lines, core) =
            (&self.equations.sums, self.equations.lines, &self.equations.core);
        let p = xb.len();
        let size = (dense::dot(za, za) + dense::dot(xb, xb)).sqrt();
        let mut a = vec![0.0; za.len()];
        let mut b = vec![0.0; p];
        let (mut left_a, mut left_b) = (za.to_vec(), xb.to_vec());
        let (mut steps, mut residual) = (0, 1.0);
        for round in 0..4 {
            let (more, taken) = self.individuals(&left_a)?;
            steps += taken;
            let mut right: Vec<f64> =
                (0..p).map(|j| left_b[j] - dense::dot(&sums.zx[j], &more)).collect();
            dense::solve(&self.schur, p, &mut right);
            a.iter_mut().zip(&more).for_each(|(a, m)| *a += m);
            for (j, delta) in right.iter().enumerate() {
                b[j] += delta;
                a.iter_mut().zip(&self.follow[j]).for_each(|(a, f)| *a -= delta * f);
            }
            left_a = core.times(lines, &sums.precision, &a);
            left_a.iter_mut().zip(za).for_each(|(l, z)| *l = z - *l);
            for (zx, b) in sums.zx.iter().zip(&b) {
                left_a.iter_mut().zip(zx).for_each(|(l, zx)| *l -= zx * b);
            }
            for j in 0..p {
                let fixed = dense::dot(&sums.xx[j * p..(j + 1) * p], &b);
                left_b[j] = xb[j] - fixed - dense::dot(&sums.zx[j], &a);
            }
            let left = (dense::dot(&left_a, &left_a) + dense::dot(&left_b, &left_b)).sqrt();
            residual = if size > 0.0 { left / size } else { 0.0 };
            if residual <= self.equations.options.tolerance.max(1e-15) && round > 0
                || residual <= 1e-14
                || self.factor.is_none() && residual <= self.equations.options.tolerance
            {
                break;
            }
        }
        if residual.is_nan() || residual > self.equations.options.tolerance {
            return Err(PedigreeError::NotReached { steps, residual });
        }
        Ok(Solution { a, b, residual, steps })
    }

    /// Solves for the individuals alone.
    fn individuals(&self, right: &[f64]) -> Result<(Vec<f64>, usize), PedigreeError> {
        let (core, lines) = (&self.equations.core, self.equations.lines);
        let mut parents = core.down(lines, right);
        let mut taken = 0;
        if let Some(factor) = &self.factor {
            factor.solve(&mut parents);
        } else if core.len() > 0 {
            let options = &self.equations.options;
            // A digit to spare: the whole system is judged afterwards.
            let aim = 0.1 * options.tolerance;
            let (steps, residual) =
                gradients::solve(&core.matrix, &mut parents, aim, options.steps);
            if residual.is_nan() || residual > 100.0 * options.tolerance {
                return Err(PedigreeError::NotReached { steps, residual });
            }
            taken = steps;
        }
        Ok((core.up(lines, right, &parents), taken))
    }

    /// The selected inverse, where there is a factor; none where nobody is a parent.
    fn selected(&self) -> Option<Inverse<'e>> {
        self.factor.as_ref().map(Factor::inverse)
    }

    /// Variances of individuals given records and coefficients; none by conjugate gradients.
    fn conditional(&self) -> Option<Vec<f64>> {
        let (core, lines) = (&self.equations.core, self.equations.lines);
        let selected = self.selected();
        if selected.is_none() && core.len() > 0 {
            return None;
        }
        let diagonal = selected.as_ref().map(Inverse::diagonal).unwrap_or_default();
        let entry = |i: usize, j: usize| match &selected {
            Some(_) if i == j => diagonal[i],
            Some(z) => z.get(i, j).unwrap_or(0.0),
            None => 0.0,
        };
        let variance = |i: usize| match core.at(i) {
            Some(at) => diagonal[at],
            None => {
                let (over, follow) = core.leaf(i);
                over + follow * follow * of_parents(lines, core, i, &entry)
            }
        };
        Some((0..lines.len()).map(variance).collect())
    }

    /// What the uncertainty of the coefficients adds: fᵀ·S⁻¹·f.
    fn shared(&self, inverse: &[f64], f: impl Fn(usize) -> f64) -> f64 {
        let p = self.follow.len();
        let f: Vec<f64> = (0..p).map(f).collect();
        (0..p).map(|i| f[i] * dense::dot(&inverse[i * p..(i + 1) * p], &f)).sum()
    }

    fn permanent(&self, found: &Solution, known: Option<&[f64]>, inverse: &[f64]) -> Vec<Effect> {
        let sums = &self.equations.sums;
        if self.equations.records.permanent.is_none() {
            return Vec::new();
        }
        let (variance, unit) = (sums.given.permanent, sums.scaled.unit);
        let groups = &sums.groups;
        (0..groups.weight.len())
            .map(|g| {
                let (i, k) = (groups.individual[g] as usize, groups.share[g]);
                let mean =
                    |sum: f64| if groups.weight[g] > 0.0 { sum / groups.weight[g] } else { 0.0 };
                let estimate = lasting(sums, found, g);
                let z = known.map(|z| {
                    let x = |j: usize| mean(groups.x[j][g]) - self.follow[j][i];
                    let own = variance * (1.0 - k) + k * k * z[i];
                    [own, own + k * k * self.shared(inverse, x)]
                });
                effect(estimate, z, variance, unit)
            })
            .collect()
    }

    fn log_likelihood(&self, found: &Solution) -> Option<f64> {
        let (sums, core, lines) =
            (&self.equations.sums, &self.equations.core, self.equations.lines);
        let of_parents = match &self.factor {
            Some(factor) => factor.log_determinant(),
            None if core.len() == 0 => 0.0,
            None => return None,
        };
        let (n, p) = (sums.group_of.len() as f64, self.follow.len());
        let schur: f64 = (0..p).map(|j| 2.0 * self.schur[j * p + j].ln()).sum();
        let relation = lines.len() as f64 * sums.given.additive.ln() + lines.log_determinant();
        let system = of_parents + core.log_pivots() + schur;
        let constant = (n - p as f64) * (2.0 * std::f64::consts::PI).ln();
        let quadratic = sums.quadratic(&found.b, &found.a);
        let all = constant + sums.log_determinant() + relation + system + quadratic;
        Some(-0.5 * all + sums.scaled.log_jacobian())
    }
}

/// cᵀ·Z·c over the parents of an individual.
fn of_parents(
    lines: &Lines,
    core: &super::core::Core,
    individual: usize,
    entry: &dyn Fn(usize, usize) -> f64,
) -> f64 {
    let (found, count) = lines.parents(individual);
    let mut sum = 0.0;
    for (a, (p, share)) in found.iter().take(count).enumerate() {
        let Some(i) = core.at(*p) else { continue };
        sum += share * share * entry(i, i);
        for (q, other) in found.iter().take(count).skip(a + 1) {
            sum += core.at(*q).map_or(0.0, |j| 2.0 * share * other * entry(i, j));
        }
    }
    sum
}

/// A group's lasting effect from the other solutions.
pub(super) fn lasting(sums: &Sums, found: &Solution, group: usize) -> f64 {
    let groups = &sums.groups;
    let weight = groups.weight[group];
    if weight == 0.0 {
        return 0.0;
    }
    let fitted: f64 = groups.x.iter().zip(&found.b).map(|(x, b)| x[group] * b).sum();
    let a = found.a[groups.individual[group] as usize];
    groups.share[group] * ((groups.y[group] - fitted) / weight - a)
}

fn effect(estimate: f64, z: Option<[f64; 2]>, variance: f64, unit: f64) -> Effect {
    let square = unit * unit;
    Effect {
        estimate: estimate * unit,
        pev: z.map(|z| z[1] * square),
        conditional_sd: z.map(|z| z[0].max(0.0).sqrt() * unit),
        reliability: z.filter(|_| variance > 0.0).map(|z| (1.0 - z[1] / variance).clamp(0.0, 1.0)),
    }
}
