//! Few records: what was believed before, taken together with what was seen.
//!
//! Given the scale and the standard deviations of random terms, coefficients and effects are taken
//! as normal around their mode (Laplace). Scale and standard deviations themselves are summed over
//! points of their logarithms (a grid; scattered where they are three or more), not maximised: with few levels the most likely standard deviation is
//! often 0, which would pool everything away.

use serde::Serialize;

use super::dense::quadratic;
use super::error::ParametricError;
use super::fit::{Options, objective, read_rows, start};
use super::grid::{Halt, MANY, Point, Task, WINDOW};
use super::law::Law;
use super::newton::Close;
use super::predict::{self, Mixture, Next, Predicted, PredictedQuantile};
use super::prior::Prior;
use super::row::Start;
use crate::model::{Coefficient, Fixed, RandomTerm};
use crate::prior::{NormalPrior, SpreadPrior};
use crate::survival::Time;

/// What was believed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Beliefs {
    /// Of coefficients, in their order; `None` is a flat prior.
    pub coefficients: Vec<Option<NormalPrior>>,
    /// Of the scale; `None` is flat on its logarithm.
    pub scale: Option<SpreadPrior>,
    /// Of the standard deviation of each random term; `None` is half-normal with scale 0.3 (common
    /// practice, no source).
    pub spreads: Vec<Option<SpreadPrior>>,
    /// Whether the standard deviation of a term of fewer than 5 levels, which hardly tells of it, is
    /// summed over as it was believed; else it is held at the median of its prior.
    pub sum_few: bool,
}

/// A number with what is believed of it now.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Believed {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
    /// Median.
    pub median: f64,
    /// Lower limit.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
    /// 1 − variance now / variance before; `None` with a flat prior. Below 0.2 the number is mostly
    /// the prior's.
    pub information: Option<f64>,
}

/// A random term as it is believed now.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpreadBelieved {
    /// Its name.
    pub group: String,
    /// Its standard deviation.
    pub sd: Believed,
    /// Whether it is held at the median of its prior, having fewer than 5 levels.
    pub fixed: bool,
    /// Each level's effect, mean and standard deviation.
    pub levels: Vec<(String, f64, f64)>,
}

/// The posterior.
#[derive(Debug, Clone)]
pub struct Posterior {
    /// The law.
    pub law: Law,
    /// Coefficients.
    pub coefficients: Vec<(Coefficient, Believed)>,
    /// The scale, `None` for the exponential.
    pub scale: Option<Believed>,
    /// The random terms.
    pub terms: Vec<SpreadBelieved>,
    /// Logarithm of the integral of likelihood × prior, up to the constant of flat priors.
    pub log_marginal: f64,
    /// Records.
    pub n: usize,
    /// Points over scale and spreads.
    pub points: usize,
    /// Largest derivative at any of the modes.
    pub gradient_norm: f64,
    grid: Vec<Point>,
    fixed_width: usize,
}

/// Fewer levels than this tell nothing of their spread.
const FEW: usize = 5;

/// The posterior from priors and records, also with no event at all where the priors allow it.
///
/// # Errors
/// Impossible times, a design that is not independent, or records and priors that do not bound
/// every coefficient.
pub fn posterior(
    times: &[Time],
    fixed: &Fixed,
    law: Law,
    terms: &[RandomTerm],
    beliefs: &Beliefs,
    confidence: f64,
) -> Result<Posterior, ParametricError> {
    posterior_started(times, &[], fixed, law, terms, beliefs, confidence)
}

/// The same with starts that are not known to the moment: one for each record, `None` where its
/// start is its zero; no starts at all is `None` for every record.
///
/// # Errors
/// Those of [`posterior`]; a start without width; starts that are fewer or more than the records.
pub fn posterior_started(
    times: &[Time],
    starts: &[Option<Start>],
    fixed: &Fixed,
    law: Law,
    terms: &[RandomTerm],
    beliefs: &Beliefs,
    confidence: f64,
) -> Result<Posterior, ParametricError> {
    predict::check(&[], None, confidence)?;
    if !starts.is_empty() && starts.len() != times.len() {
        return Err(ParametricError::Lengths { times: times.len(), rows: starts.len() });
    }
    if let Some(slope) = terms.iter().find(|t| t.slope.is_some()) {
        return Err(ParametricError::Slope(slope.name.clone()));
    }
    let mut rows = read_rows(times, fixed)?;
    for (row, start) in rows.iter_mut().zip(starts) {
        *row = row.started(*start)?;
    }
    let whole = terms.iter().fold(fixed.clone(), |f, t| f.with_levels(t));
    let usual = SpreadPrior::HalfNormal { scale: 0.3 };
    let priors: Vec<SpreadPrior> = (0..terms.len())
        .map(|t| beliefs.spreads.get(t).copied().flatten().unwrap_or(usual))
        .collect();
    let few: Vec<bool> = terms.iter().map(|t| !beliefs.sum_few && t.levels.len() < FEW).collect();
    let options = Options::default();
    let none = Prior::default();
    let base = objective(&rows, &whole, law, &options, &none)?;
    let (_, reach) = start(&base);
    // Which of ln s and the ln σ are summed over.
    let mut free: Vec<usize> = law
        .has_scale()
        .then_some(0)
        .into_iter()
        .chain((0..terms.len()).filter(|t| !few[*t]).map(|t| t + 1))
        .collect();
    let close = if free.len() >= MANY { Close::POINT } else { Close::DIGITS };
    let mut task =
        Task { reach, close, base, fixed, terms, beliefs, priors: &priors, window: None };
    let (grid, log_marginal) = match task.grid(&free) {
        // A top that is not that of a normal is summed over as well, in windows.
        Err(Halt::NotNormal { error, coefficient, at, sd }) => {
            if beliefs.coefficients.get(coefficient).copied().flatten().is_none() {
                return Err(error);
            }
            task.window = Some((coefficient, at, WINDOW * sd));
            free.push(terms.len() + 1);
            task.grid(&free)?
        }
        other => other?,
    };
    Ok(task.summary(grid, log_marginal, &few, confidence))
}

impl Task<'_> {
    fn summary(
        &self,
        grid: Vec<Point>,
        log_marginal: f64,
        few: &[bool],
        confidence: f64,
    ) -> Posterior {
        let (p, n) = (self.fixed.width(), self.base.p());
        let tails = [0.5 * (1.0 - confidence), 0.5, 0.5 * (1.0 + confidence)];
        let coefficient = |j: usize| {
            let parts: Vec<(f64, f64, f64)> = grid
                .iter()
                .map(|g| (g.mode[j], g.covariance[j * n + j].sqrt(), g.weight))
                .collect();
            let (mean, sd) = moments(&parts);
            let [lower, median, upper] = tails.map(|t| normals_quantile(&parts, t));
            let before = self.beliefs.coefficients.get(j).copied().flatten();
            let information = before.map(|b| 1.0 - (sd / b.sd).powi(2));
            Believed { mean, sd, median, lower, upper, information }
        };
        let positive = |values: &[(f64, f64)], prior: Option<&SpreadPrior>| {
            let [lower, median, upper] = tails.map(|t| grid_quantile(values, t).exp());
            let parts: Vec<(f64, f64, f64)> =
                values.iter().map(|(log, w)| (log.exp(), 0.0, *w)).collect();
            let (mean, sd) = moments(&parts);
            let information = prior.map(|p| 1.0 - (sd / spread_sd(p)).powi(2));
            Believed { mean, sd, median, lower, upper, information }
        };
        let scales: Vec<(f64, f64)> = grid.iter().map(|g| (g.tau, g.weight)).collect();
        let mut place = p;
        let mut terms = Vec::new();
        for (t, term) in self.terms.iter().enumerate() {
            let values: Vec<(f64, f64)> = grid.iter().map(|g| (g.spreads[t], g.weight)).collect();
            let mut sd = positive(&values, Some(&self.priors[t]));
            if few[t] {
                sd = Believed { sd: 0.0, information: Some(0.0), ..sd };
            }
            let level = |(l, name): (usize, &String)| {
                let b = coefficient(place + l);
                (name.clone(), b.mean, b.sd)
            };
            let levels = term.levels.iter().enumerate().map(level).collect();
            terms.push(SpreadBelieved { group: term.name.clone(), sd, fixed: few[t], levels });
            place += term.levels.len();
        }
        let coefficients = self.fixed.coefficients.iter().cloned();
        Posterior {
            law: self.base.law,
            coefficients: coefficients.enumerate().map(|(j, c)| (c, coefficient(j))).collect(),
            scale: self
                .base
                .law
                .has_scale()
                .then(|| positive(&scales, self.beliefs.scale.as_ref())),
            terms,
            log_marginal,
            n: self.base.rows.len(),
            points: grid.len(),
            gradient_norm: grid.iter().map(|g| g.gradient).fold(0.0, f64::max),
            fixed_width: p,
            grid,
        }
    }
}

impl Posterior {
    /// The chance that a coefficient lies at or below a value.
    pub fn coefficient_below(&self, j: usize, value: f64) -> f64 {
        let n = self.grid[0].mode.len();
        let part = |g: &Point| {
            let z = (value - g.mode[j]) / g.covariance[j * n + j].sqrt();
            g.weight * super::normal::log_lower(z).exp()
        };
        self.grid.iter().map(part).sum()
    }

    /// The chance that the scale lies at or below a value.
    pub fn scale_below(&self, value: f64) -> f64 {
        let values: Vec<(f64, f64)> = self.grid.iter().map(|g| (g.tau, g.weight)).collect();
        grid_below(&values, value.ln())
    }

    /// The chance that the standard deviation of a random term lies at or below a value.
    pub fn spread_below(&self, term: usize, value: f64) -> f64 {
        let each = self.grid.iter().map(|g| (g.spreads[term], g.weight));
        grid_below(&each.collect::<Vec<_>>(), value.ln())
    }

    /// Predictions, as [`RandomFit::predict`](super::RandomFit::predict): quantiles are those of
    /// the typical time as it is believed now, with its standard deviation for a standard error.
    ///
    /// # Errors
    /// A confidence, a quantile or a time out of range, or a design of other columns.
    pub fn predict(
        &self,
        fixed: &Fixed,
        levels: &[Vec<Option<u32>>],
        quantiles: &[f64],
        given_after: Option<f64>,
        confidence: f64,
    ) -> Result<Vec<Predicted>, ParametricError> {
        predict::check(quantiles, given_after, confidence)?;
        if fixed.width() != self.fixed_width {
            return Err(ParametricError::Lengths { times: self.fixed_width, rows: fixed.width() });
        }
        let after = given_after.filter(|t| *t > 0.0);
        let row = |i: usize| {
            let x: Vec<f64> = (0..fixed.width()).map(|j| fixed.column(j)[i]).collect();
            let own = levels.get(i).map_or(&[][..], |l| l);
            let usual = Mixture::of(self.law, self.parts(&x, own, false), after);
            let next = Mixture::of(self.law, self.parts(&x, own, true), after);
            let tail = 0.5 * (1.0 - confidence);
            Predicted {
                quantiles: quantiles.iter().map(|&q| believed(&usual, q, after, tail)).collect(),
                next: Next {
                    median: next.quantile(0.5),
                    lower: next.quantile(tail),
                    upper: next.quantile(1.0 - tail),
                },
                ever: None,
            }
        };
        Ok((0..fixed.rows()).map(row).collect())
    }

    /// The chance that the next event of a row has come by a time, given that nothing happened by
    /// `given_after`: 0 for a time that is not later.
    ///
    /// # Errors
    /// A time that is not above 0, or a design of other columns.
    pub fn chance_by(
        &self,
        fixed: &Fixed,
        levels: &[Option<u32>],
        time: f64,
        given_after: Option<f64>,
    ) -> Result<f64, ParametricError> {
        predict::check(&[], given_after, 0.5)?;
        predict::check(&[], Some(time), 0.5)?;
        if fixed.width() != self.fixed_width || fixed.rows() == 0 {
            return Err(ParametricError::Lengths { times: self.fixed_width, rows: fixed.width() });
        }
        let after = given_after.filter(|t| *t > 0.0);
        if time <= after.unwrap_or(0.0) {
            return Ok(0.0);
        }
        let x: Vec<f64> = (0..fixed.width()).map(|j| fixed.column(j)[0]).collect();
        let next = Mixture::of(self.law, self.parts(&x, levels, true), after);
        Ok((1.0 - next.survival(time)).clamp(0.0, 1.0))
    }

    /// Mean and standard deviation of η, τ and weight over the grid, for one row of a design; a level
    /// that was not seen adds its variance where asked.
    pub(super) fn normals(
        &self,
        x: &[f64],
        levels: &[Option<u32>],
        unseen: bool,
    ) -> Vec<(f64, f64, f64, f64)> {
        let each = self.grid.iter().map(|g| {
            // Most levels are not this row's: only the columns that count are summed.
            let mut at: Vec<(usize, f64)> =
                x.iter().copied().enumerate().filter(|(_, x)| *x != 0.0).collect();
            let (mut place, mut more) = (x.len(), 0.0);
            for (t, term) in self.terms.iter().enumerate() {
                match levels.get(t).copied().flatten() {
                    Some(l) => at.push((place + l as usize, 1.0)),
                    None if unseen => more += (2.0 * g.spreads[t]).exp(),
                    None => {}
                }
                place += term.levels.len();
            }
            let n = g.mode.len();
            let eta = at.iter().map(|(j, x)| x * g.mode[*j]).sum::<f64>();
            let both = at.iter().flat_map(|(j, x)| at.iter().map(move |(k, y)| (j, k, x * y)));
            let var: f64 = both.map(|(j, k, w)| w * g.covariance[j * n + k]).sum();
            (eta, (var + more).max(0.0).sqrt(), g.tau, g.weight)
        });
        each.collect()
    }

    pub(super) fn width(&self) -> usize {
        self.fixed_width
    }

    /// η, τ and weight over the grid; a level that was not seen adds its variance where asked.
    fn parts(
        &self,
        x: &[f64],
        levels: &[Option<u32>],
        unseen: bool,
    ) -> Vec<(f64, f64, Option<f64>, f64)> {
        const NODES: i32 = 8;
        let mut parts = Vec::with_capacity(self.grid.len() * (2 * NODES as usize + 1));
        for g in &self.grid {
            let mut z = vec![0.0; g.mode.len()];
            z[..x.len()].copy_from_slice(x);
            let (mut place, mut more) = (x.len(), 0.0);
            for (t, term) in self.terms.iter().enumerate() {
                match levels.get(t).copied().flatten() {
                    Some(l) => z[place + l as usize] = 1.0,
                    None if unseen => more += (2.0 * g.spreads[t]).exp(),
                    None => {}
                }
                place += term.levels.len();
            }
            let eta: f64 = z.iter().zip(&g.mode).map(|(z, b)| z * b).sum();
            let sd = (quadratic(&g.covariance, &z) + more).max(0.0).sqrt();
            for k in -NODES..=NODES {
                let node = 4.5 * f64::from(k) / f64::from(NODES);
                let weight = g.weight * (-0.5 * node * node).exp();
                parts.push((eta + sd * node, g.tau, None, weight));
            }
        }
        parts
    }
}

/// The distribution of a quantile over what the parameters may be.
fn believed(usual: &Mixture, q: f64, after: Option<f64>, tail: f64) -> PredictedQuantile {
    let mut times = usual.times(q, after);
    times.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mean: f64 = times.iter().map(|(t, w)| t * w).sum();
    let square: f64 = times.iter().map(|(t, w)| w * (t - mean).powi(2)).sum();
    let at = |p: f64| {
        let mut sum = 0.0;
        let mut before = times.first().map_or(0.0, |t| t.0);
        for (t, w) in &times {
            if sum + w >= p {
                return before + (t - before) * (p - sum) / w;
            }
            sum += w;
            before = *t;
        }
        before
    };
    PredictedQuantile {
        q,
        estimate: Some(at(0.5)),
        se: Some(square.sqrt()),
        lower: Some(at(tail)),
        upper: Some(at(1.0 - tail)),
    }
}

/// Mean and standard deviation of a mixture of (mean, sd, weight).
fn moments(parts: &[(f64, f64, f64)]) -> (f64, f64) {
    let mean: f64 = parts.iter().map(|(m, _, w)| m * w).sum();
    let each = parts.iter().map(|(m, s, w)| w * (s * s + (m - mean).powi(2)));
    (mean, each.sum::<f64>().sqrt())
}

pub(super) fn normals_quantile(parts: &[(f64, f64, f64)], p: f64) -> f64 {
    let (mean, sd) = moments(parts);
    let below = |x: f64| -> f64 {
        parts.iter().map(|(m, s, w)| w * super::normal::log_lower((x - m) / s).exp()).sum()
    };
    let (mut low, mut high) = (mean - 10.0 * sd, mean + 10.0 * sd);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if below(middle) < p {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// The values of one axis of the grid, ascending, with the weight of each.
fn axis(values: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut sorted = values.to_vec();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut axis: Vec<(f64, f64)> = Vec::new();
    for (value, weight) in sorted {
        match axis.last_mut() {
            Some(last) if (last.0 - value).abs() < 1e-9 => last.1 += weight,
            _ => axis.push((value, weight)),
        }
    }
    axis
}

fn axis_step(axis: &[(f64, f64)]) -> f64 {
    axis.windows(2).map(|w| w[1].0 - w[0].0).fold(f64::INFINITY, f64::min)
}

/// Whether the points of an axis are laid out evenly; else they are scattered.
fn is_even(axis: &[(f64, f64)], step: f64) -> bool {
    let off = |gap: f64| (gap / step - (gap / step).round()).abs();
    axis.windows(2).all(|w| off(w[1].0 - w[0].0) < 1e-6)
}

/// Where on a scattered axis the weight so far, half of each point's lying to either side, is what.
fn middles(axis: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut sum = 0.0;
    let middle = |(at, w): &(f64, f64)| {
        sum += w;
        (*at, sum - 0.5 * w)
    };
    axis.iter().map(middle).collect()
}

/// Share of an axis at or below a value; the weight of a point lies half to either side of it.
fn grid_below(values: &[(f64, f64)], value: f64) -> f64 {
    let axis = axis(values);
    let step = axis_step(&axis);
    if !step.is_finite() {
        return if value < axis[0].0 { 0.0 } else { 1.0 };
    }
    if is_even(&axis, step) {
        return axis.iter().map(|(at, w)| w * ((value - at) / step + 0.5).clamp(0.0, 1.0)).sum();
    }
    let middles = middles(&axis);
    let next = middles.partition_point(|m| m.0 <= value);
    match (next.checked_sub(1).map(|k| middles[k]), middles.get(next)) {
        (None, _) => 0.0,
        (_, None) => 1.0,
        (Some((x, p)), Some((y, q))) => p + (q - p) * (value - x) / (y - x),
    }
}

fn grid_quantile(values: &[(f64, f64)], p: f64) -> f64 {
    let axis = axis(values);
    let step = axis_step(&axis);
    if step.is_finite() && !is_even(&axis, step) {
        let middles = middles(&axis);
        let next = middles.partition_point(|m| m.1 < p);
        return match (next.checked_sub(1).map(|k| middles[k]), middles.get(next)) {
            (Some((x, a)), Some((y, b))) => x + (y - x) * (p - a) / (b - a),
            (None, Some((y, _))) => *y,
            (Some((x, _)), None) => x,
            (None, None) => f64::NAN,
        };
    }
    let mut sum = 0.0;
    for (at, w) in &axis {
        if sum + w >= p {
            let within = if step.is_finite() { step * ((p - sum) / w - 0.5) } else { 0.0 };
            return at + within;
        }
        sum += w;
    }
    axis.last().map_or(f64::NAN, |a| a.0)
}

/// Standard deviation of a prior.
fn spread_sd(prior: &SpreadPrior) -> f64 {
    match *prior {
        SpreadPrior::HalfNormal { scale } => scale * (1.0 - 2.0 / std::f64::consts::PI).sqrt(),
        SpreadPrior::Gamma { shape, rate } => shape.sqrt() / rate,
    }
}
