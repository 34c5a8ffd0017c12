//! Draws from the joint posterior of effects and coefficients, the variances being given.

use super::{
    Equations, PedigreeError, Solver,
    solver::{Solution, lasting},
};
use crate::random::Random;

/// One draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Draw {
    /// Coefficients.
    pub terms: Vec<f64>,
    /// Breeding values of all individuals.
    pub additive: Vec<f64>,
    /// Lasting effects.
    pub permanent: Vec<f64>,
}

impl Solver<'_> {
    /// Draws of coefficients, breeding values and lasting effects, whose mean and covariance are
    /// the predictions and their error covariance: from the factor where there is one, otherwise by
    /// [`Solver::perturbed`].
    ///
    /// # Errors
    /// Conjugate gradients that do not come down.
    pub fn draws(&self, count: usize, dice: &mut Random) -> Result<Vec<Draw>, PedigreeError> {
        if self.factor.is_none() && self.equations.parents() > 0 {
            return self.perturbed(count, dice);
        }
        let sums = &self.equations.sums;
        let found = self.solve(&sums.zy, &sums.xy)?;
        Ok((0..count).map(|_| self.by_factor(&found, dice)).collect())
    }

    /// Draws without a factor: records are made up from the model, and what the equations predict
    /// for the difference of both is added to the made-up effects (García-Cortés, Moreno, Varona &
    /// Altarriba 1992, J. Anim. Breed. Genet. 109; from memory). One solution a draw.
    ///
    /// # Errors
    /// Conjugate gradients that do not come down.
    pub fn perturbed(&self, count: usize, dice: &mut Random) -> Result<Vec<Draw>, PedigreeError> {
        (0..count).map(|_| self.by_perturbation(dice)).collect()
    }

    fn by_factor(&self, found: &Solution, dice: &mut Random) -> Draw {
        let (core, lines) = (&self.equations.core, self.equations.lines);
        let p = found.b.len();
        // L⁻ᵀ·z has the covariance (L·Lᵀ)⁻¹.
        let mut shift: Vec<f64> = (0..p).map(|_| dice.normal()).collect();
        for i in (0..p).rev() {
            let known: f64 = (i + 1..p).map(|j| self.schur[j * p + i] * shift[j]).sum();
            shift[i] = (shift[i] - known) / self.schur[i * p + i];
        }
        let mut parents: Vec<f64> = (0..core.len()).map(|_| dice.normal()).collect();
        if let Some(factor) = &self.factor {
            factor.solve_transposed(&mut parents);
        }
        let mut a = found.a.clone();
        for (i, a) in a.iter_mut().enumerate() {
            *a += match core.at(i) {
                Some(at) => parents[at],
                None => {
                    let (over, follow) = core.leaf(i);
                    follow * core.parents_give(lines, i, &parents) + over.sqrt() * dice.normal()
                }
            };
            *a -= self.follow.iter().zip(&shift).map(|(f, s)| f[i] * s).sum::<f64>();
        }
        let b = found.b.iter().zip(&shift).map(|(b, s)| b + s).collect();
        let drawn = Solution { a, b, residual: found.residual, steps: 0 };
        let sums = &self.equations.sums;
        let groups =
            if self.equations.records.permanent.is_some() { sums.groups.y.len() } else { 0 };
        let permanent = (0..groups).map(|g| {
            let spread = sums.given.permanent * (1.0 - sums.groups.share[g]);
            lasting(sums, &drawn, g) + spread.sqrt() * dice.normal()
        });
        let permanent = permanent.collect();
        self.back(drawn, permanent)
    }

    fn by_perturbation(&self, dice: &mut Random) -> Result<Draw, PedigreeError> {
        let Equations { lines, sums, .. } = self.equations;
        let given = sums.given;
        let mut a = vec![0.0; lines.len()];
        for i in lines.order() {
            let (found, count) = lines.parents(i);
            let mean: f64 = found.into_iter().take(count).map(|(p, share)| share * a[p]).sum();
            a[i] = mean + (lines.own(i) * given.additive).sqrt() * dice.normal();
        }
        let groups = &sums.groups;
        let lasting_sd = given.permanent.sqrt();
        let lasting_effects: Vec<f64> =
            groups.y.iter().map(|_| lasting_sd * dice.normal()).collect();
        // What the made-up records take from the sums of the real ones.
        let over = 1.0 / given.residual;
        let p = sums.zx.len();
        let mut y = groups.y.clone();
        let mut xy: Vec<f64> = vec![0.0; p];
        for (r, g) in sums.group_of.iter().enumerate() {
            let (g, s) = (*g as usize, sums.root(r));
            let made = s * (a[groups.individual[g] as usize] + lasting_effects[g])
                + given.residual.sqrt() * dice.normal();
            let left = over * (sums.scaled.response[r] - made);
            // The group's sum had the real record; only the difference counts.
            y[g] -= over * s * made;
            for (xy, x) in xy.iter_mut().zip(&sums.scaled.fixed) {
                *xy += left * x[r];
            }
        }
        let mut zy = vec![0.0; lines.len()];
        for (g, i) in groups.individual.iter().enumerate() {
            let (k, w) = (groups.share[g], groups.weight[g]);
            zy[*i as usize] += (1.0 - k) * y[g];
            if w > 0.0 {
                for (xy, x) in xy.iter_mut().zip(&groups.x) {
                    *xy -= k / w * x[g] * y[g];
                }
            }
        }
        let mut drawn = self.solve(&zy, &xy)?;
        let permanent = if self.equations.records.permanent.is_some() {
            (0..y.len())
                .map(|g| {
                    let w = groups.weight[g];
                    let fitted: f64 = groups.x.iter().zip(&drawn.b).map(|(x, b)| x[g] * b).sum();
                    let own = drawn.a[groups.individual[g] as usize];
                    let more = if w > 0.0 { (y[g] - fitted) / w - own } else { 0.0 };
                    lasting_effects[g] + groups.share[g] * more
                })
                .collect()
        } else {
            Vec::new()
        };
        drawn.a.iter_mut().zip(&a).for_each(|(d, a)| *d += a);
        Ok(self.back(drawn, permanent))
    }

    /// Back to the unit of the response.
    fn back(&self, drawn: Solution, permanent: Vec<f64>) -> Draw {
        let scaled = &self.equations.sums.scaled;
        let unit = |v: Vec<f64>| v.into_iter().map(|v| v * scaled.unit).collect();
        Draw {
            terms: scaled.coefficients(&drawn.b),
            additive: unit(drawn.a),
            permanent: unit(permanent),
        }
    }
}
