//! The way to the most likely variances.
//!
//! The parameters are the roots L of the terms' covariances (G = L·Lᵀ) and log σ², so that no
//! bound is ever crossed. Steps are Newton's with the average information (Gilmour, Thompson &
//! Cullis 1995, Biometrics 51:1440–1450) carried over to these parameters; where the gradient holds
//! a variance down, the curvature that the square adds is included, and the root then falls to zero
//! at once instead of creeping there. A step that loses likelihood is halved; if that does not help
//! it gives way to one of expectation–maximisation, which cannot lose.

use super::{
    MixedError,
    gram::{Gram, Layout},
    point::{Point, Slopes, Variances, numbers},
    small::{Two, add, around, eigen, positive_part, root, scaled, times, transposed},
};
use crate::dense;

/// What is searched for, and for how long.
#[derive(Debug)]
pub(super) struct Search<'a> {
    pub gram: &'a Gram,
    pub layout: &'a Layout,
    /// Which terms have free variances.
    pub free: Vec<bool>,
    pub free_residual: bool,
    pub steps: usize,
}

/// Where the search ended.
pub(super) struct Found<'p> {
    pub point: Point<'p>,
    pub slopes: Option<Slopes>,
    pub iterations: usize,
    /// Length of the gradient by the parameters of the search.
    pub gradient_norm: f64,
    /// Which terms have a variance (or a direction) at zero.
    pub boundary: Vec<bool>,
}

/// The least root that is kept while searching; the response has a standard deviation of 1.
const FLOOR: f64 = 1e-8;
/// A variance below this share of that of the response counts as zero.
const ZERO_SHARE: f64 = 1e-9;
/// What a further step must promise for the log-likelihood, or the search ends.
const ENOUGH: f64 = 1e-12;
/// Below this a promise that no longer shrinks is rounding of the gradient, and the search ends as
/// well: 1e-8 is some 1e-4 standard errors.
const STALLED: f64 = 1e-8;
/// Steps in which a promise must halve, not to count as stalled.
const PATIENCE: usize = 4;
/// What rounding may hide of the log-likelihood.
const ROUNDING: f64 = 1e-6;

struct Step {
    delta: Vec<f64>,
    /// By all parameters, zero where they are given.
    gradient: Vec<f64>,
    decrement: f64,
    norm: f64,
}

/// The last step and how much of it was meant to be taken.
///
/// The average information is not the curvature. Where they differ by much, as close to a boundary,
/// whole steps go back and forth over the top or creep up to it; how the slope along the last step
/// changed tells by how much they differ.
struct Last {
    step: Step,
    share: f64,
}

impl Last {
    /// The share of the next step that the last one suggests.
    fn share(&self, next: &Step) -> f64 {
        // Far from the top steps are cut short for other reasons and say little.
        if self.step.decrement > 1e-2 {
            return 1.0;
        }
        let after = dense::dot(&self.step.delta, &next.gradient);
        let change = self.step.decrement - after;
        if change > 0.0 { (self.share * self.step.decrement / change).clamp(0.2, 2.5) } else { 1.0 }
    }
}

impl<'a> Search<'a> {
    pub fn run(&self, start: Variances) -> Result<Found<'a>, MixedError> {
        let mut point = self.point(start)?;
        let nothing = !self.free_residual && self.free.iter().all(|f| !f);
        if nothing {
            let boundary = vec![false; self.free.len()];
            return Ok(Found { point, slopes: None, iterations: 0, gradient_norm: 0.0, boundary });
        }
        let mut kicks = 3;
        let mut last: Option<Last> = None;
        let (mut least, mut since) = (f64::INFINITY, 0);
        for iterations in 0..=self.steps {
            let slopes = point.slopes(self.gram, self.layout);
            let step = self.newton(&point.variances, &slopes);
            let share = last.as_ref().map_or(1.0, |last| last.share(&step));
            since += 1;
            if step.decrement < 0.5 * least {
                (least, since) = (step.decrement, 0);
            }
            let stalled = since >= PATIENCE && step.decrement < STALLED;
            let next = if step.decrement < ENOUGH || stalled {
                None
            } else if iterations == self.steps {
                let decrement = step.decrement;
                return Err(MixedError::NotReached { iterations, decrement });
            } else {
                self.advance(&point, &slopes, &step, share)?
            };
            match next {
                Some(better) => {
                    point = better;
                    last = Some(Last { step, share });
                }
                None if step.decrement > ROUNDING => {
                    let decrement = step.decrement;
                    return Err(MixedError::NotReached { iterations, decrement });
                }
                None => match self.kicked(&point.variances, &slopes) {
                    Some(up) if kicks > 0 => {
                        kicks -= 1;
                        last = None;
                        (least, since) = (f64::INFINITY, 0);
                        point = self.point(up)?;
                    }
                    _ => return self.end(point, iterations, step.norm),
                },
            }
            if point.variances.residual < ZERO_SHARE {
                return Err(MixedError::ResidualZero);
            }
        }
        unreachable!("the last step returns")
    }

    fn point(&self, variances: Variances) -> Result<Point<'a>, MixedError> {
        let mut point = Point::at(self.gram, self.layout, variances)?;
        if self.all_free() {
            point.rescale(self.gram);
        }
        Ok(point)
    }

    fn all_free(&self) -> bool {
        self.free_residual && self.free.iter().all(|f| *f)
    }

    /// Which of the numbers are free, term by term, the residual last.
    fn free_numbers(&self) -> Vec<bool> {
        let parts = self.gram.parts.iter().zip(&self.free);
        let terms = parts.flat_map(|(part, free)| vec![*free; numbers(part.width)]);
        terms.chain([self.free_residual]).collect()
    }

    /// Newton's step by the parameters, zero where they are given.
    fn newton(&self, at: &Variances, slopes: &Slopes) -> Step {
        let k = slopes.gradient.len();
        let jacobian = self.jacobian(at);
        let mut gradient = vec![0.0; k];
        let mut hessian = vec![0.0; k * k];
        for i in 0..k {
            gradient[i] = (0..k).map(|a| jacobian[a * k + i] * slopes.gradient[a]).sum();
            for j in 0..k {
                hessian[i * k + j] = (0..k)
                    .flat_map(|a| (0..k).map(move |b| (a, b)))
                    .map(|(a, b)| {
                        jacobian[a * k + i] * slopes.information[a * k + b] * jacobian[b * k + j]
                    })
                    .sum();
            }
        }
        self.add_curvature(at, slopes, &mut hessian);
        let free: Vec<usize> =
            self.free_numbers().iter().enumerate().filter_map(|(i, f)| f.then_some(i)).collect();
        let m = free.len();
        let mut delta = vec![0.0; k];
        let small: Vec<f64> = free.iter().map(|i| gradient[*i]).collect();
        let largest = free.iter().map(|i| hessian[i * k + i]).fold(1e-12, f64::max);
        let mut ridge = 0.0;
        let mut solved = small.clone();
        for _ in 0..40 {
            let mut h: Vec<f64> = free
                .iter()
                .flat_map(|i| free.iter().map(move |j| (i, j)))
                .map(|(i, j)| hessian[i * k + j])
                .collect();
            for i in 0..m {
                h[i * m + i] += ridge * (h[i * m + i].abs() + 1e-8 * largest) + f64::MIN_POSITIVE;
            }
            if let Some(l) = dense::cholesky(&h, m, 1e-12) {
                dense::solve(&l, m, &mut solved);
                break;
            }
            ridge = if ridge == 0.0 { 1e-9 } else { ridge * 10.0 };
        }
        let decrement = small.iter().zip(&solved).map(|(g, d)| g * d).sum();
        free.iter().zip(&solved).for_each(|(i, d)| delta[*i] = *d);
        let norm = dense::dot(&small, &small).sqrt();
        let mut gradient = vec![0.0; k];
        free.iter().zip(&small).for_each(|(i, g)| gradient[*i] = *g);
        Step { delta, gradient, decrement, norm }
    }

    /// Derivatives of the numbers of the covariances by the parameters.
    fn jacobian(&self, at: &Variances) -> Vec<f64> {
        let parts = &self.gram.parts;
        let k = parts.iter().map(|p| numbers(p.width)).sum::<usize>() + 1;
        let mut j = vec![0.0; k * k];
        let mut o = 0;
        for (part, l) in parts.iter().zip(&at.roots) {
            j[o * k + o] = 2.0 * l[0];
            if part.width == 2 {
                j[(o + 1) * k + o] = l[1];
                j[(o + 1) * k + o + 1] = l[0];
                j[(o + 2) * k + o + 1] = 2.0 * l[1];
                j[(o + 2) * k + o + 2] = 2.0 * l[3];
            }
            o += numbers(part.width);
        }
        j[o * k + o] = at.residual;
        j
    }

    /// G = L·Lᵀ bends: each column of L has the curvature −2·S, of which the part that holds it down
    /// is added.
    fn add_curvature(&self, at: &Variances, slopes: &Slopes, hessian: &mut [f64]) {
        let k = slopes.gradient.len();
        let mut o = 0;
        for (part, s) in self.gram.parts.iter().zip(&slopes.terms) {
            if part.width == 1 {
                hessian[o * k + o] += 2.0 * (-s[0]).max(0.0);
            } else {
                let held = positive_part(&scaled(s, -1.0));
                for (i, j, v) in [
                    (0, 0, held[0]),
                    (0, 1, held[1]),
                    (1, 0, held[1]),
                    (1, 1, held[3]),
                    (2, 2, held[3]),
                ] {
                    hessian[(o + i) * k + o + j] += 2.0 * v;
                }
            }
            o += numbers(part.width);
        }
        hessian[o * k + o] += (-slopes.gradient[o] * at.residual).max(0.0);
    }

    /// A better point: Newton's, shortened as needed, or one of expectation–maximisation. None when
    /// neither is better.
    fn advance(
        &self,
        from: &Point<'a>,
        slopes: &Slopes,
        step: &Step,
        share: f64,
    ) -> Result<Option<Point<'a>>, MixedError> {
        // The response has a variance of 1: longer steps than this are never right.
        let longest = step.delta.iter().fold(0.0f64, |m, d| m.max(d.abs()));
        let mut share = if share * longest > 0.5 { 0.5 / longest } else { share };
        let slack = 1e-13 * from.log_likelihood.abs();
        for _ in 0..6 {
            let tried = self.point(self.moved(&from.variances, &step.delta, share))?;
            if tried.log_likelihood >= from.log_likelihood + 1e-4 * share * step.decrement - slack {
                return self.turned(tried).map(Some);
            }
            share *= 0.5;
        }
        let tried = self.point(self.maximised(&from.variances, slopes))?;
        Ok((tried.log_likelihood > from.log_likelihood + slack).then_some(tried))
    }

    /// The same or a better point, where intercepts hardly vary: then L may turn without changing
    /// G = L·Lᵀ by much, and steps only creep round to where slopes follow intercepts completely.
    fn turned(&self, point: Point<'a>) -> Result<Point<'a>, MixedError> {
        let mut best = point;
        for (t, part) in self.gram.parts.iter().enumerate() {
            let l = best.variances.roots[t];
            if part.width != 2 || !self.free[t] || l[0] > 0.01 || l[3] <= 10.0 * FLOOR {
                continue;
            }
            let whole = l[1].hypot(l[3]);
            for slope in [whole, -whole] {
                let mut to = best.variances.clone();
                to.roots[t] = [l[0], slope, 0.0, FLOOR];
                let tried = self.point(to)?;
                if tried.log_likelihood > best.log_likelihood {
                    best = tried;
                }
            }
        }
        Ok(best)
    }

    fn moved(&self, from: &Variances, delta: &[f64], share: f64) -> Variances {
        let mut to = from.clone();
        let mut o = 0;
        for ((part, l), free) in self.gram.parts.iter().zip(&mut to.roots).zip(&self.free) {
            if *free {
                l[0] += share * delta[o];
                if part.width == 2 {
                    l[1] += share * delta[o + 1];
                    l[3] += share * delta[o + 2];
                }
                *l = kept(l, part.width);
            }
            o += numbers(part.width);
        }
        // At most by a factor of e⁴ at a time.
        to.residual *= (share * delta[o]).clamp(-4.0, 4.0).exp();
        to
    }

    /// G + (2/q)·G·S·G and σ² + (2/n)·σ⁴·s: what expectation–maximisation comes to.
    fn maximised(&self, from: &Variances, slopes: &Slopes) -> Variances {
        let mut to = from.clone();
        let parts = self.gram.parts.iter().zip(&mut to.roots).zip(&slopes.terms);
        for (((part, l), s), free) in parts.zip(&self.free) {
            if *free {
                let mut g = times(l, &transposed(l));
                let gain = around(&g, s);
                add(&mut g, &scaled(&gain, 2.0 / part.blocks.len() as f64));
                *l = kept(&root(&g), part.width);
            }
        }
        if self.free_residual {
            let s = slopes.gradient.last().copied().unwrap_or(0.0);
            let gain = 2.0 / self.gram.records as f64 * from.residual * from.residual * s;
            to.residual = (from.residual + gain).max(0.1 * from.residual);
        }
        to
    }

    /// Variances moved up from zero, where the gradient says that they should not be there.
    fn kicked(&self, at: &Variances, slopes: &Slopes) -> Option<Variances> {
        let mut to = at.clone();
        let mut moved = false;
        let parts = self.gram.parts.iter().zip(&mut to.roots).zip(&slopes.terms);
        for (((part, l), s), free) in parts.zip(&self.free) {
            let g = times(l, &transposed(l));
            if part.width == 1 && *free && g[0] < ZERO_SHARE && s[0] > 0.0 {
                l[0] = 0.1;
                moved = true;
            }
            let ([_, low], v) = eigen(&g);
            // The gradient in the direction that has no variance.
            let up = s[0] * v[1] * v[1] - 2.0 * s[1] * v[0] * v[1] + s[3] * v[0] * v[0];
            if part.width == 2 && *free && low < ZERO_SHARE && up > 1e-6 {
                let mut g = g;
                add(
                    &mut g,
                    &[
                        0.01 * v[1] * v[1],
                        -0.01 * v[0] * v[1],
                        -0.01 * v[0] * v[1],
                        0.01 * v[0] * v[0],
                    ],
                );
                *l = kept(&root(&g), 2);
                moved = true;
            }
        }
        moved.then_some(to)
    }

    /// Sets to zero what has come down to it.
    fn end(&self, point: Point<'a>, iterations: usize, norm: f64) -> Result<Found<'a>, MixedError> {
        let slopes = point.slopes(self.gram, self.layout);
        let mut to = point.variances.clone();
        let mut boundary = vec![false; self.free.len()];
        for (t, (part, l)) in self.gram.parts.iter().zip(&mut to.roots).enumerate() {
            let g = times(l, &transposed(l));
            if !self.free[t] {
                continue;
            }
            if part.width == 1 {
                if g[0] < ZERO_SHARE {
                    *l = [0.0; 4];
                    boundary[t] = true;
                }
                continue;
            }
            let ([high, low], v) = eigen(&g);
            if low < ZERO_SHARE.max(ZERO_SHARE * high) {
                let high = if high < ZERO_SHARE { 0.0 } else { high };
                *l = root(&[
                    high * v[0] * v[0],
                    high * v[0] * v[1],
                    high * v[0] * v[1],
                    high * v[1] * v[1],
                ]);
                // What rounding left of the direction without variance.
                l[3] = if l[0] > 0.0 { 0.0 } else { l[3] };
                boundary[t] = true;
            }
        }
        let point = if boundary.contains(&true) { self.point(to)? } else { point };
        Ok(Found { point, slopes: Some(slopes), iterations, gradient_norm: norm, boundary })
    }
}

/// A root with a positive diagonal not below the floor: the sign of a column means nothing.
fn kept(l: &Two, width: usize) -> Two {
    let sign = if l[0] < 0.0 { -1.0 } else { 1.0 };
    let below = if width == 2 { l[3].abs().max(FLOOR) } else { 0.0 };
    [l[0].abs().max(FLOOR), sign * l[1], 0.0, below]
}
