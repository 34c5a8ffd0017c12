//! Small data: priors, with the standard deviations integrated on a grid instead of maximised, so
//! that they do not collapse to 0.
//!
//! On a lattice of the logarithms of the standard deviations, grown from the mode outward until the
//! density has fallen to e⁻⁷ of its height, draws lie anywhere in the cell of a point, the other
//! parameters from a normal around their mode there, and are weighted by the true density (the nested approximation of Rue, Martino & Chopin 2009,
//! J. R. Stat. Soc. B 71:319–392, with importance weights instead of its correction; from memory). The
//! seed is fixed, so that the same records give the same answer.

use std::collections::{BTreeMap, VecDeque};

use super::{LaplaceError, LevelMode, Marginal, Penalty, Rows, Settings, fit::Task};
use crate::{
    dense,
    optimise::{Stop, covariance, curvature},
    prior::Priors,
    random::Random,
    special::normal_quantile,
};

/// A row to be predicted: its fixed columns, and for each random term the levels it belongs to (`None`:
/// one not seen) with the number that a slope is multiplied by.
#[derive(Debug, Clone, PartialEq)]
pub struct NewRow {
    /// Fixed columns.
    pub x: Vec<f64>,
    /// Memberships.
    pub random: Vec<(Vec<Option<u32>>, f64)>,
}

/// Draws from a posterior, each with its weight.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    /// Parameters of each draw, as the layout says.
    pub draws: Vec<Vec<f64>>,
    /// Weights; their sum is 1.
    pub weights: Vec<f64>,
    /// How many unweighted draws would say as much.
    pub effective: f64,
    /// For each random term the levels' effects: mean and standard deviation.
    pub levels: Vec<Vec<LevelMode>>,
    /// For each row to be predicted and each draw: mean of the predictor, its variance given the draw
    /// with unseen levels in it.
    pub predictors: Vec<Vec<(f64, f64)>>,
    /// Points of the lattice.
    pub points: usize,
}

/// A parameter's posterior in short.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Summary {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
    /// Lower end of the equal-tailed interval.
    pub lower: f64,
    /// Upper end.
    pub upper: f64,
}

/// Draws aimed at, over all points of the lattice.
const DRAWS: usize = 2_000;
/// Most points of the lattice.
const MOST_POINTS: usize = 4_000;
/// The lattice ends where the density is below e to the minus this of its height.
const DEPTH: f64 = 7.0;
/// Draws are spread this much wider than the normal around the mode, so that weights stay bounded.
const WIDER: f64 = 1.25;

/// Explores the posterior of a model whose random terms are intercepts.
///
/// # Errors
/// Priors of another number than parameters, slopes among the random terms, and what a fit can meet.
pub fn posterior<R: Rows>(
    m: &mut Marginal<R>,
    priors: &Priors,
    start: &[f64],
    rows: &[NewRow],
    seed: u64,
) -> Result<Posterior, LaplaceError> {
    let layout = m.layout();
    let lengths = [priors.coefficients.len(), priors.spreads.len(), priors.shapes.len()];
    let found = lengths.iter().sum();
    if lengths != [layout.fixed, layout.random, layout.shapes] || start.len() != layout.len() {
        return Err(LaplaceError::Parameters { found, expected: layout.len() });
    }
    if layout.random != m.terms() {
        return Err(LaplaceError::PriorOfSlope);
    }
    if m.evaluate(start, None).is_none() {
        return Err(LaplaceError::NoMode);
    }
    let scale = super::fit::first_scale(m);
    let settings = Settings { penalty: Some(priors), stop: Stop::default() };
    let free =
        (0..layout.len()).filter(|k| !(layout.fixed..layout.fixed + layout.random).contains(k));
    let task = Task { whole: start.to_vec(), free: free.collect(), m, settings };
    let mut explorer = Explorer { task, scale, fixed: layout.fixed };
    let centre: Vec<f64> =
        start[layout.fixed..layout.fixed + layout.random].iter().map(|s| s.ln()).collect();
    let (centre, spacing) = explorer.centre(centre)?;
    let points = explorer.lattice(&centre, &spacing)?;
    draw(explorer.task.m, priors, (&points, &spacing), rows, seed)
}

/// A point of the lattice: the mode of the other parameters and their spread there.
struct Point {
    /// Logarithms of the standard deviations.
    tau: Vec<f64>,
    /// All parameters at the mode.
    parameters: Vec<f64>,
    /// Cholesky factor of the others' covariance.
    factor: Vec<f64>,
    /// Log-density of the point, others integrated by the normal around their mode.
    height: f64,
}

struct Explorer<'a, 'b, R> {
    task: Task<'a, 'b, R>,
    scale: Vec<f64>,
    fixed: usize,
}

impl<R: Rows> Explorer<'_, '_, R> {
    fn point(&mut self, tau: &[f64]) -> Result<Point, LaplaceError> {
        for (k, t) in tau.iter().enumerate() {
            self.task.whole[self.fixed + k] = t.exp();
        }
        let found = self.task.minimise(&self.scale, true)?;
        let n = found.at.len();
        let mine: Vec<f64> = (0..n).map(|i| found.metric[i * n + i].sqrt()).collect();
        let mut objective = |at: &[f64], g: &mut [f64]| self.task.value(at, g);
        let matrix = curvature(&mut objective, &found.at, &mine, None);
        let inverse = covariance(&matrix, n)?;
        let factor = dense::cholesky(&inverse, n, 0.0)
            .ok_or(crate::optimise::OptimiseError::NotPositiveDefinite)?;
        self.task.put(&found.at);
        let log: f64 = (0..n).map(|i| factor[i * n + i].ln()).sum();
        let height = -found.value + log + tau.iter().sum::<f64>();
        Ok(Point { tau: tau.to_vec(), parameters: self.task.whole.clone(), factor, height })
    }

    /// Climbs to about the mode; returns it with the spacing of the lattice.
    fn centre(&mut self, mut tau: Vec<f64>) -> Result<(Vec<f64>, Vec<f64>), LaplaceError> {
        let mut spacing: Vec<f64> = vec![0.5; tau.len()];
        for _ in 0..30 {
            let mut moved: f64 = 0.0;
            for k in 0..tau.len() {
                let step = 0.4 * spacing[k].max(0.1);
                let mut at = |shift: f64| {
                    let mut place = tau.clone();
                    place[k] += shift;
                    self.point(&place).map(|p| p.height)
                };
                let (low, here, high) = (at(-step)?, at(0.0)?, at(step)?);
                let slope = (high - low) / (2.0 * step);
                let bend = -(high - 2.0 * here + low) / (step * step);
                let shift = if bend > 1e-3 { slope / bend } else { slope.signum() };
                let shift = shift.clamp(-1.0, 1.0);
                tau[k] = (tau[k] + shift).clamp(-8.0, 4.0);
                moved = moved.max(shift.abs() / spacing[k]);
                if bend > 1e-3 {
                    spacing[k] = (0.6 * bend.powf(-0.5)).clamp(0.02, 0.5);
                }
            }
            if moved < 0.3 {
                break;
            }
        }
        Ok((tau, spacing))
    }

    /// All points that hold a share of the density worth having.
    fn lattice(&mut self, centre: &[f64], spacing: &[f64]) -> Result<Vec<Point>, LaplaceError> {
        let mut points: BTreeMap<Vec<i32>, Point> = BTreeMap::new();
        let mut queue = VecDeque::from([vec![0i32; centre.len()]]);
        let mut top = f64::NEG_INFINITY;
        while let Some(place) = queue.pop_front() {
            if points.contains_key(&place) {
                continue;
            }
            let tau: Vec<f64> = centre
                .iter()
                .zip(spacing)
                .zip(&place)
                .map(|((c, h), i)| c + h * f64::from(*i))
                .collect();
            let point = self.point(&tau)?;
            top = top.max(point.height);
            let worth = point.height > top - DEPTH;
            points.insert(place.clone(), point);
            if points.len() > MOST_POINTS {
                return Err(LaplaceError::TooManySpreads { terms: centre.len() });
            }
            if worth {
                for k in 0..place.len() {
                    for step in [-1, 1] {
                        let mut next = place.clone();
                        next[k] += step;
                        queue.push_back(next);
                    }
                }
            }
        }
        Ok(points.into_values().filter(|p| p.height > top - DEPTH - 1.0).collect())
    }
}

/// Draws around every point, weighted by the density.
fn draw<R: Rows>(
    m: &mut Marginal<R>,
    priors: &Priors,
    (points, spacing): (&[Point], &[f64]),
    rows: &[NewRow],
    seed: u64,
) -> Result<Posterior, LaplaceError> {
    let (layout, mut random) = (m.layout(), Random::new(seed));
    let (p, q) = (layout.fixed, layout.random);
    let n = layout.len() - q;
    // Pairs: each draw with its mirror image.
    let each = 2 * (DRAWS / points.len() / 2).clamp(4, 400);
    let mut draws = Vec::new();
    let mut logs: Vec<f64> = Vec::new();
    let mut levels: Vec<Vec<Vec<LevelMode>>> = Vec::new();
    let mut predictors = vec![Vec::new(); rows.len()];
    let none = vec![0.0; layout.len() * layout.len()];
    let mut gradient = vec![0.0; layout.len()];
    for point in points {
        let mut z = vec![0.0; n];
        // Where in the cell of the point, from −½ to ½.
        let mut within = vec![0.0; q];
        for i in 0..each {
            if i % 2 == 0 {
                // Kept off 0 and 1, where the quantile is infinite.
                z.iter_mut().for_each(|v| {
                    *v = normal_quantile((random.unit() + 1e-16).min(1.0 - 1e-16));
                });
                within.iter_mut().for_each(|v| *v = random.unit() - 0.5);
            } else {
                z.iter_mut().chain(&mut within).for_each(|v| *v = -*v);
            }
            let mut parameters = point.parameters.clone();
            let mut stretch = 0.0;
            for k in 0..q {
                let tau = point.tau[k] + spacing[k] * within[k];
                parameters[p + k] = tau.exp();
                stretch += tau;
            }
            for k in 0..n {
                let at = if k < p { k } else { k + q };
                parameters[at] += WIDER * dense::dot(&point.factor[k * n..k * n + k + 1], &z[..=k]);
            }
            let Some(value) = m.evaluate(&parameters, Some(&mut gradient)) else { continue };
            let value = value + priors.evaluate(&parameters, &mut gradient);
            let log: f64 = (0..n).map(|k| point.factor[k * n + k].ln()).sum();
            let proposal = -0.5 * dense::dot(&z, &z) - log;
            logs.push(value + stretch - proposal);
            levels.push((0..m.terms()).map(|t| m.means(t, &parameters)).collect());
            for (list, row) in predictors.iter_mut().zip(rows) {
                let found = m.predictor(&parameters, &none, &row.x, &row.random)?;
                list.push((found.mean + found.skew, found.variance + found.unseen));
            }
            draws.push(parameters);
        }
    }
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if !top.is_finite() {
        return Err(LaplaceError::NoMode);
    }
    let mut weights: Vec<f64> = logs.iter().map(|l| (l - top).exp()).collect();
    let sum: f64 = weights.iter().sum();
    weights.iter_mut().for_each(|w| *w /= sum);
    let effective = 1.0 / dense::dot(&weights, &weights);
    let levels = average(&levels, &weights);
    Ok(Posterior { draws, weights, effective, levels, predictors, points: points.len() })
}

/// Mean and whole standard deviation of the levels' effects.
fn average(levels: &[Vec<Vec<LevelMode>>], weights: &[f64]) -> Vec<Vec<LevelMode>> {
    let Some(first) = levels.first() else { return Vec::new() };
    let mut out = first.clone();
    for (t, term) in out.iter_mut().enumerate() {
        for (l, level) in term.iter_mut().enumerate() {
            let of = || levels.iter().zip(weights).map(|(draw, w)| (&draw[t][l], w));
            let mean: f64 = of().map(|(x, w)| w * x.estimate).sum();
            let variance: f64 =
                of().map(|(x, w)| w * (x.se * x.se + (x.estimate - mean).powi(2))).sum();
            (level.estimate, level.se) = (mean, variance.sqrt());
        }
    }
    out
}

impl Posterior {
    /// Mean, standard deviation and equal-tailed interval of a parameter.
    pub fn summary(&self, parameter: usize, confidence: f64) -> Summary {
        let values: Vec<f64> = self.draws.iter().map(|d| d[parameter]).collect();
        let mean = dense::dot(&values, &self.weights);
        let squares: f64 =
            values.iter().zip(&self.weights).map(|(v, w)| w * (v - mean).powi(2)).sum();
        let mut sorted: Vec<(f64, f64)> =
            values.into_iter().zip(self.weights.iter().copied()).collect();
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
        let tail = 0.5 * (1.0 - confidence);
        let (lower, upper) = (quantile(&sorted, tail), quantile(&sorted, 1.0 - tail));
        Summary { mean, sd: squares.sqrt(), lower, upper }
    }

    /// The share of the posterior of a parameter below a value.
    pub fn below(&self, parameter: usize, value: f64) -> f64 {
        let draws = self.draws.iter().zip(&self.weights);
        draws.filter(|(d, _)| d[parameter] < value).map(|(_, w)| w).sum()
    }
}

/// The value at which the sum of weights passes a share, half of each weight lying on either side.
fn quantile(sorted: &[(f64, f64)], share: f64) -> f64 {
    let mut sum = 0.0;
    let mut before: Option<(f64, f64)> = None;
    for (value, weight) in sorted {
        let middle = sum + 0.5 * weight;
        if middle >= share {
            return match before {
                Some((v, at)) if middle > at => v + (value - v) * (share - at) / (middle - at),
                _ => *value,
            };
        }
        before = Some((*value, middle));
        sum += weight;
    }
    sorted.last().map_or(f64::NAN, |s| s.0)
}
