//! The grid over scale and spreads of a posterior, with the mode of all else at each point.

use std::collections::{HashMap, HashSet};

use super::dense::Cholesky;
use super::error::ParametricError;
use super::fit::start;
use super::newton::{Close, Optimum, maximise_to};
use super::objective::Objective;
use super::prior::Prior;
use super::scatter::scattered;
use super::small::Beliefs;
use crate::model::{Fixed, RandomTerm};
use crate::prior::SpreadPrior;

/// A point of the grid: the mode of coefficients and effects, and its weight.
#[derive(Debug, Clone)]
pub(super) struct Point {
    pub(super) tau: f64,
    /// ln of each standard deviation.
    pub(super) spreads: Vec<f64>,
    pub(super) mode: Vec<f64>,
    pub(super) covariance: Vec<f64>,
    pub(super) weight: f64,
    pub(super) gradient: f64,
}

/// Below this difference of logarithms a point counts for nothing.
const CUT: f64 = 7.0;
/// The same in two dimensions.
const CUT_OF_TWO: f64 = 6.0;
/// Steps in two dimensions, in standard deviations, and the widest of ln s or ln σ.
const WIDE: f64 = 0.6;
const WIDEST: f64 = 0.6;
/// From so many dimensions on points are scattered instead of laid out evenly.
pub(super) const MANY: usize = 3;
/// A point that is less far below the top than this is heavy.
const HEAVY: f64 = 5.0;
/// Most points of a grid.
const MOST: usize = 4_000;

pub(super) struct Task<'a> {
    pub(super) base: Objective<'a>,
    pub(super) fixed: &'a Fixed,
    pub(super) terms: &'a [RandomTerm],
    pub(super) beliefs: &'a Beliefs,
    pub(super) priors: &'a [SpreadPrior],
    pub(super) reach: Vec<f64>,
    /// How close modes are sought.
    pub(super) close: Close,
    /// Where a coefficient is looked at in windows: which, the middle of one of them, and from one to
    /// the next.
    pub(super) window: Option<(usize, f64, f64)>,
}

/// Why a grid was not filled.
pub(super) enum Halt {
    /// Around the top the posterior is not nearly normal in a coefficient, which lies at `at`, with
    /// the standard deviation that its curvature would give.
    NotNormal { error: ParametricError, coefficient: usize, at: f64, sd: f64 },
    /// Something else.
    Failed(ParametricError),
}

impl From<ParametricError> for Halt {
    fn from(error: ParametricError) -> Self {
        Halt::Failed(error)
    }
}

impl From<Halt> for ParametricError {
    fn from(halt: Halt) -> Self {
        match halt {
            Halt::NotNormal { error, .. } | Halt::Failed(error) => error,
        }
    }
}

/// One standard deviation beside the top of a normal the logarithm is lower by one half; between these
/// limits it is near enough for the intercept, and for other coefficients.
const NORMAL: (f64, f64) = (0.1, 2.0);
const NEARLY_NORMAL: (f64, f64) = (0.05, 4.0);
/// Windows lie so many standard deviations apart.
pub(super) const WINDOW: f64 = 0.5;
/// A window is a normal with this standard deviation, in steps from one to the next: their sum is 1
/// to three digits everywhere.
const WIDTH: f64 = 0.75;

impl Task<'_> {
    /// The normal priors of coefficients and, at these ln σ, of effects.
    fn prior(&self, spreads: &[f64]) -> Prior {
        let mut prior = Prior::default();
        for (j, belief) in self.beliefs.coefficients.iter().enumerate() {
            prior.coefficients.extend(belief.map(|b| (j, b.mean, b.sd)));
        }
        let mut place = self.fixed.width();
        for (term, spread) in self.terms.iter().zip(spreads) {
            let sd = spread.exp();
            prior.coefficients.extend((0..term.levels.len()).map(|l| (place + l, 0.0, sd)));
            place += term.levels.len();
        }
        prior
    }

    /// Mode and log weight at ln s, ln σ and the middle of a window, in this order.
    pub(super) fn at(&self, place: &[f64], from: &[f64]) -> Result<(Point, f64), ParametricError> {
        let (tau, rest) = place.split_first().map_or((0.0, &[][..]), |(t, r)| (*t, r));
        let (spreads, middle) = rest.split_at(self.terms.len());
        let mut prior = self.prior(spreads);
        if let (Some((j, _, step)), Some(middle)) = (self.window, middle.first()) {
            prior.coefficients.push((j, *middle, WIDTH * step));
        }
        let objective = Objective { prior: &prior, ..self.base.clone() };
        let n = objective.p();
        let found: Optimum =
            maximise_to(from, &self.reach[..n], self.close, |b| objective.at_scale(b, tau))
                .map_err(|s| ParametricError::stuck(s, |j| objective.name(j)))?;
        let information: Vec<f64> = found.eval.hessian.iter().map(|h| -h).collect();
        let factor = Cholesky::factor(n, &information)
            .map_err(|j| ParametricError::NotDetermined { parameter: objective.name(j) })?;
        let mut log = found.eval.value - 0.5 * factor.log_determinant();
        // Densities of the logarithms.
        if let (true, Some(prior)) = (self.base.law.has_scale(), &self.beliefs.scale) {
            log += prior.log_density(tau.exp()).0 + tau;
        }
        for (spread, prior) in spreads.iter().zip(self.priors) {
            log += prior.log_density(spread.exp()).0 + spread;
        }
        let gradient = found.gradient_norm();
        let covariance = factor.inverse();
        let spreads = spreads.to_vec();
        Ok((Point { tau, spreads, mode: found.at, covariance, weight: 0.0, gradient }, log))
    }

    /// Fills the grid outwards from its best point.
    pub(super) fn grid(&self, free: &[usize]) -> Result<(Vec<Point>, f64), Halt> {
        let (begin, _) = start(&self.base);
        let n = self.base.p();
        let events = self.base.rows.iter().filter(|r| r.is_event()).count() as f64;
        let mut centre = vec![match &self.beliefs.scale {
            Some(prior) => prior.median().ln(),
            None => self.base.tau().map_or(0.0, |j| begin[j]),
        }];
        centre.extend(self.priors.iter().map(|p| p.median().ln()));
        // About 0.4 standard deviations of ln s, and of an ln σ that is hardly known.
        let mut step = vec![(0.3 / (events + 1.0).sqrt()).clamp(0.02, 0.25)];
        step.extend(self.terms.iter().map(|t| (0.9 / (t.levels.len() as f64).sqrt()).min(0.3)));
        if let Some((_, middle, apart)) = self.window {
            centre.push(middle);
            step.push(apart);
        }
        let mut from = begin[..n].to_vec();
        from[self.fixed.width()..].iter_mut().for_each(|u| *u = 0.0);
        for (j, belief) in self.beliefs.coefficients.iter().enumerate() {
            if let Some(belief) = belief {
                from[j] = belief.mean;
            }
        }
        let first = self.at(&centre, &from)?;
        let constant = 0.5 * n as f64 * (2.0 * std::f64::consts::PI).ln();
        if free.len() >= MANY {
            let (points, marginal) = scattered(self, (centre, &step, free), first)?;
            return Ok((points, marginal + constant));
        }
        let mut hill = Hill::new(centre, step, free, first);
        // Uphill first, so that filling starts within the hill.
        hill.climb(self);
        self.check_normal(hill.top())?;
        let mut cut = CUT;
        if free.len() > 1 {
            hill = hill.with_wider_steps(self.window.is_some());
            hill.climb(self);
            cut = CUT_OF_TWO;
        }
        let (points, marginal) = hill.fill(self, cut)?;
        Ok((points, marginal + constant))
    }

    /// Looks whether the top is that of a normal: one standard deviation beside it (all other
    /// coefficients following) the logarithm is lower by about one half.
    pub(super) fn check_normal(&self, point: &Point) -> Result<(), Halt> {
        let prior = self.prior(&point.spreads);
        let objective = Objective { prior: &prior, ..self.base.clone() };
        let n = objective.p();
        let top = objective.at_scale(&point.mode, point.tau).value;
        // A coefficient that is looked at in windows need not be normal.
        for j in (0..self.fixed.width()).filter(|j| self.window.is_none_or(|w| w.0 != *j)) {
            let sd = point.covariance[j * n + j].sqrt();
            for sign in [-1.0, 1.0] {
                let beside: Vec<f64> = (0..n)
                    .map(|k| point.mode[k] + sign * point.covariance[j * n + k] / sd)
                    .collect();
                let drop = top - objective.at_scale(&beside, point.tau).value;
                let limits = if j == 0 { NORMAL } else { NEARLY_NORMAL };
                if !(limits.0..limits.1).contains(&drop) {
                    let error = ParametricError::TooCoarse { coefficient: objective.name(j) };
                    return Err(Halt::NotNormal { error, coefficient: j, at: point.mode[j], sd });
                }
            }
        }
        Ok(())
    }
}

/// What is known of the hill: points by their place on the grid; where no mode was found there is
/// none.
struct Hill<'a> {
    centre: Vec<f64>,
    step: Vec<f64>,
    free: &'a [usize],
    known: HashMap<Vec<i32>, Option<(Point, f64)>>,
    best: (Vec<i32>, f64),
    first: Point,
}

impl<'a> Hill<'a> {
    fn new(centre: Vec<f64>, step: Vec<f64>, free: &'a [usize], first: (Point, f64)) -> Self {
        let zero = vec![0; free.len()];
        let best = (zero.clone(), first.1);
        let top = first.0.clone();
        Hill { centre, step, free, known: HashMap::from([(zero, Some(first))]), best, first: top }
    }

    fn place(&self, key: &[i32]) -> Vec<f64> {
        let mut at = self.centre.clone();
        self.free.iter().zip(key).for_each(|(d, k)| at[*d] += f64::from(*k) * self.step[*d]);
        at
    }

    /// The best point.
    fn top(&self) -> &Point {
        self.known.get(&self.best.0).and_then(|p| p.as_ref()).map_or(&self.first, |p| &p.0)
    }

    /// Computes a point beside a known one.
    fn look(&mut self, task: &Task<'_>, here: &[i32], next: &[i32]) {
        if self.known.contains_key(next) {
            return;
        }
        let Some(Some((point, _))) = self.known.get(here) else { return };
        let from = point.mode.clone();
        let found = task.at(&self.place(next), &from).ok();
        self.known.insert(next.to_vec(), found);
    }

    fn log(&self, key: &[i32]) -> Option<f64> {
        self.known.get(key).and_then(|p| p.as_ref()).map(|p| p.1)
    }

    fn climb(&mut self, task: &Task<'_>) {
        loop {
            let here = self.best.0.clone();
            for next in neighbours(&here) {
                self.look(task, &here, &next);
                if let Some(log) = self.log(&next).filter(|l| *l > self.best.1) {
                    self.best = (next, log);
                }
            }
            if self.best.0 == here || self.known.len() > MOST {
                return;
            }
        }
    }

    /// The same hill with steps of about six tenths of a standard deviation, by its curvature along
    /// each axis: sums over a smooth hill are as good with them as with fine steps, and in two
    /// dimensions those would be a thousand. Windows stay as they are.
    fn with_wider_steps(self, windows: bool) -> Self {
        let here = self.best.0.clone();
        let mut step = self.step.clone();
        for (k, d) in self.free.iter().enumerate() {
            if windows && k + 1 == self.free.len() {
                continue;
            }
            let beside = |change: i32| {
                let mut next = here.clone();
                next[k] += change;
                self.log(&next)
            };
            if let (Some(below), Some(above)) = (beside(-1), beside(1)) {
                let bend = (2.0 * self.best.1 - below - above).max(1e-6);
                step[*d] = (WIDE * self.step[*d] / bend.sqrt()).clamp(self.step[*d], WIDEST);
            }
        }
        let (centre, log) = (self.place(&here), self.best.1);
        let top = self.top().clone();
        Hill::new(centre, step, self.free, (top, log))
    }

    fn fill(mut self, task: &Task<'_>, cut: f64) -> Result<(Vec<Point>, f64), ParametricError> {
        let not_bounded = || ParametricError::NotDetermined { parameter: "log(scale)".to_owned() };
        let top = self.best.1;
        let mut open = vec![self.best.0.clone()];
        let mut inside: HashSet<Vec<i32>> = HashSet::from([self.best.0.clone()]);
        while let Some(here) = open.pop() {
            for next in neighbours(&here) {
                if inside.contains(&next) {
                    continue;
                }
                self.look(task, &here, &next);
                let found = self.log(&next);
                let cut_off = found.is_none();
                let heavy = self.log(&here).is_some_and(|l| l > top - HEAVY);
                if cut_off && heavy {
                    // The weight does not end where the modes do: something is not bounded.
                    return Err(not_bounded());
                }
                if found.is_some_and(|log| log > top - cut) {
                    inside.insert(next.clone());
                    open.push(next);
                }
            }
            if inside.len() > MOST {
                return Err(not_bounded());
            }
        }
        let mut inside: Vec<Vec<i32>> = inside.into_iter().collect();
        inside.sort_unstable();
        let mut points: Vec<(Point, f64)> =
            inside.iter().filter_map(|k| self.known.remove(k).flatten()).collect();
        let top = points.iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
        let sum: f64 = points.iter().map(|p| (p.1 - top).exp()).sum();
        points.iter_mut().for_each(|p| p.0.weight = (p.1 - top).exp() / sum);
        let volume: f64 = self.free.iter().map(|d| self.step[*d].ln()).sum();
        let marginal = top + sum.ln() + volume;
        Ok((points.into_iter().map(|p| p.0).collect(), marginal))
    }
}

fn neighbours(key: &[i32]) -> Vec<Vec<i32>> {
    let mut out = Vec::with_capacity(2 * key.len());
    for d in 0..key.len() {
        for change in [-1, 1] {
            let mut next = key.to_vec();
            next[d] += change;
            out.push(next);
        }
    }
    out
}
