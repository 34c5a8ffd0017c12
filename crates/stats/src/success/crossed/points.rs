//! The normal approximation at one set of spreads.

use super::{
    CrossedBeliefs, Place, Tried,
    row::{Rules, Says},
};
use crate::dense;

/// The approximation at one set of spreads: coefficients and levels are normal, pairs given them.
#[derive(Debug, Clone)]
pub(in crate::success) struct Point {
    pub weight: f64,
    /// Standard deviations of the terms, of pairs and of batches.
    pub spreads: Vec<f64>,
    pub mean: Vec<f64>,
    /// Covariance of coefficients and levels.
    pub covariance: Vec<f64>,
    /// Of each pair: mean, precision given the rest, and what the rest adds to it.
    pub pairs: Vec<Pair>,
    /// Lower bound of the logarithm of the marginal likelihood.
    pub bound: f64,
    /// Change of the means in the last step.
    pub step: f64,
}

/// A pair's effect.
#[derive(Debug, Clone)]
pub(in crate::success) struct Pair {
    pub mean: f64,
    pub precision: f64,
    /// Columns of coefficients and levels with the curvature that ties them to it.
    pub ties: Vec<(usize, f64)>,
}

/// Columns of a place that are not 0, with their numbers.
pub(in crate::success) fn columns(place: &Place, offsets: &[usize]) -> Vec<(usize, f64)> {
    let fixed = place.x.iter().enumerate().filter(|(_, x)| **x != 0.0).map(|(j, x)| (j, *x));
    let levels = place.levels.iter().zip(offsets).filter_map(|(l, o)| l.map(|l| (o + l, 1.0)));
    fixed.chain(levels).collect()
}

/// z' C z for sparse z.
pub(in crate::success) fn quadratic(c: &[f64], width: usize, z: &[(usize, f64)]) -> f64 {
    let mut sum = 0.0;
    for (i, a) in z {
        let row = &c[i * width..(i + 1) * width];
        sum += a * z.iter().map(|(j, b)| b * row[*j]).sum::<f64>();
    }
    sum
}

/// The records in the form in which every point needs them.
pub(super) struct Problem<'a> {
    pub tried: &'a [Tried],
    pub beliefs: &'a CrossedBeliefs,
    pub columns: Vec<Vec<(usize, f64)>>,
    pub counts: Vec<(f64, f64, f64)>,
    /// Batches of each pair.
    pub of_pair: Vec<Vec<usize>>,
    pub width: usize,
    pub offsets: Vec<usize>,
    pub rules: Rules,
}

/// Steps at most; the last one is told.
const STEPS: usize = 60;
/// A search has ended when means and variances move less: the bound is flat there, so that it errs by
/// the squares of these.
const CLOSE: f64 = 1e-4;
const CLOSE_VARIANCE: f64 = 1e-3;

impl<'a> Problem<'a> {
    pub fn new(tried: &'a [Tried], beliefs: &'a CrossedBeliefs) -> Self {
        let mut offsets = Vec::new();
        let mut width = beliefs.coefficients.len();
        for term in &beliefs.terms {
            offsets.push(width);
            width += term.levels;
        }
        let mut of_pair = vec![Vec::new(); beliefs.pairs];
        for (i, t) in tried.iter().enumerate() {
            if let Some(pair) = t.place.pair {
                of_pair[pair].push(i);
            }
        }
        let counts = tried.iter().map(|t| {
            let log = crate::success::beta_binomial::ln_choose(t.trials, t.successes);
            (t.successes as f64, t.trials as f64, log)
        });
        Self {
            columns: tried.iter().map(|t| columns(&t.place, &offsets)).collect(),
            counts: counts.collect(),
            of_pair,
            width,
            offsets,
            rules: Rules::new(),
            tried,
            beliefs,
        }
    }

    /// Prior means and precisions of coefficients and levels.
    fn prior(&self, spreads: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let mut mean: Vec<f64> = self.beliefs.coefficients.iter().map(|c| c.mean).collect();
        let mut precision: Vec<f64> =
            self.beliefs.coefficients.iter().map(|c| c.sd.powi(-2)).collect();
        for (term, sd) in self.beliefs.terms.iter().zip(spreads) {
            mean.resize(mean.len() + term.levels, 0.0);
            precision.resize(precision.len() + term.levels, sd.powi(-2));
        }
        (mean, precision)
    }

    /// The approximation at these spreads; `None` where a matrix is not positive definite.
    pub fn at(&self, spreads: &[f64], start: Option<&Point>) -> Option<Point> {
        let terms = self.beliefs.terms.len();
        let (pair_sd, batch_sd) = (spreads[terms], spreads[terms + 1]);
        let (prior_mean, prior_precision) = self.prior(spreads);
        let own = pair_sd.powi(-2);
        let mut mean = start.map_or_else(|| prior_mean.clone(), |s| s.mean.clone());
        let mut pair_means: Vec<f64> = start.map_or_else(
            || vec![0.0; self.of_pair.len()],
            |s| s.pairs.iter().map(|p| p.mean).collect(),
        );
        let mut variance = start.map_or_else(
            || vec![0.25; self.tried.len()],
            |s| self.variances(&s.covariance, &s.pairs),
        );
        let mut found: Option<Point> = None;
        for _ in 0..STEPS {
            let eta = self.eta(&mean, &pair_means);
            let says: Vec<_> =
                (0..eta.len()).map(|i| self.says(i, eta[i], variance[i], batch_sd)).collect();
            // Curvature with the pairs taken out, and the slope after them.
            let n = self.width;
            let mut h = vec![0.0; n * n];
            let mut slope = vec![0.0; n];
            for k in 0..n {
                h[k * n + k] = prior_precision[k];
                slope[k] = prior_precision[k] * (prior_mean[k] - mean[k]);
            }
            let mut pairs = Vec::with_capacity(self.of_pair.len());
            let mut pair_slopes = Vec::with_capacity(self.of_pair.len());
            for (rows, pair_mean) in self.of_pair.iter().zip(&pair_means) {
                let (mut precision, mut pull) = (own, -own * pair_mean);
                let mut ties: Vec<(usize, f64)> = Vec::new();
                for &r in rows {
                    let s = &says[r];
                    precision += s.weight;
                    pull += s.slope;
                    for &(i, a) in &self.columns[r] {
                        slope[i] += a * s.slope;
                        for &(j, b) in &self.columns[r] {
                            h[i * n + j] += a * b * s.weight;
                        }
                        match ties.iter_mut().find(|t| t.0 == i) {
                            Some(t) => t.1 += a * s.weight,
                            None => ties.push((i, a * s.weight)),
                        }
                    }
                }
                for &(i, a) in &ties {
                    slope[i] -= a * pull / precision;
                    for &(j, b) in &ties {
                        h[i * n + j] -= a * b / precision;
                    }
                }
                pair_slopes.push(pull);
                pairs.push(Pair { mean: *pair_mean, precision, ties });
            }
            let l = dense::cholesky(&h, n, 0.0)?;
            let covariance = dense::inverse(&l, n);
            dense::solve(&l, n, &mut slope);
            // Steps longer than 2 in any direction overshoot.
            let longest = slope.iter().fold(0.0f64, |m, s| m.max(s.abs()));
            let t = (2.0 / longest).min(1.0);
            let mut step: f64 = 0.0;
            for (m, s) in mean.iter_mut().zip(&slope) {
                *m += t * s;
                step = step.max((t * s).abs());
            }
            for ((pair, pull), m) in pairs.iter_mut().zip(&pair_slopes).zip(&mut pair_means) {
                let along: f64 = pair.ties.iter().map(|(i, a)| a * slope[*i]).sum();
                let change = t * ((pull - along) / pair.precision).clamp(-2.0, 2.0);
                *m += change;
                pair.mean = *m;
                step = step.max(change.abs());
            }
            let new = self.variances(&covariance, &pairs);
            let moved = new.iter().zip(&variance).fold(0.0f64, |m, (a, b)| m.max((a - b).abs()));
            variance = new;
            let log_h: f64 = (0..n).map(|i| 2.0 * l[i * n + i].ln()).sum();
            let last = step < CLOSE && moved < CLOSE_VARIANCE;
            let spreads = spreads.to_vec();
            let (mean, bound) = (mean.clone(), log_h);
            found = Some(Point { weight: 1.0, spreads, mean, covariance, pairs, bound, step });
            if last {
                break;
            }
        }
        let mut found = found?;
        found.bound = self.bound(&found, &variance, (&prior_mean, &prior_precision));
        Some(found)
    }

    /// What a batch says, as far as it counts.
    fn says(&self, i: usize, eta: f64, variance: f64, batch_sd: f64) -> Says {
        let counts = self.tried[i].counts;
        let s = self.rules.says(self.counts[i], eta, variance, batch_sd);
        Says { value: counts * s.value, slope: counts * s.slope, weight: counts * s.weight }
    }

    fn eta(&self, mean: &[f64], pairs: &[f64]) -> Vec<f64> {
        let of = |(t, c): (&Tried, &Vec<(usize, f64)>)| {
            let own = t.place.pair.map_or(0.0, |p| pairs[p]);
            own + c.iter().map(|(j, a)| a * mean[*j]).sum::<f64>()
        };
        self.tried.iter().zip(&self.columns).map(of).collect()
    }

    /// Variance of the predictor of each batch.
    fn variances(&self, covariance: &[f64], pairs: &[Pair]) -> Vec<f64> {
        let mut out = vec![0.0; self.tried.len()];
        for (rows, pair) in self.of_pair.iter().zip(pairs) {
            for &r in rows {
                out[r] = pair.variance(covariance, self.width, &self.columns[r]);
            }
        }
        out
    }

    /// Lower bound of the log marginal likelihood at these spreads; `found.bound` holds ln |H|.
    fn bound(&self, found: &Point, variance: &[f64], prior: (&[f64], &[f64])) -> f64 {
        let terms = self.beliefs.terms.len();
        let (pair_sd, batch_sd) = (found.spreads[terms], found.spreads[terms + 1]);
        let means: Vec<f64> = found.pairs.iter().map(|p| p.mean).collect();
        let eta = self.eta(&found.mean, &means);
        let likelihood: f64 =
            (0..eta.len()).map(|i| self.says(i, eta[i], variance[i], batch_sd).value).sum();
        let n = self.width;
        let mut kl = 0.0;
        for k in 0..n {
            let off = found.mean[k] - prior.0[k];
            let p = prior.1[k];
            kl += p * (found.covariance[k * n + k] + off * off) - 1.0 - p.ln();
        }
        let own = pair_sd.powi(-2);
        for pair in &found.pairs {
            let v = pair.variance(&found.covariance, n, &[]);
            kl += own * (v + pair.mean * pair.mean) - 1.0 - own.ln() + pair.precision.ln();
        }
        likelihood - 0.5 * (kl + found.bound)
    }
}

impl Pair {
    /// Variance of a predictor with these columns and this pair.
    pub fn variance(&self, covariance: &[f64], width: usize, z: &[(usize, f64)]) -> f64 {
        quadratic(covariance, width, &self.less_ties(z)) + 1.0 / self.precision
    }

    /// The columns less what the pair takes over from them.
    pub fn less_ties(&self, z: &[(usize, f64)]) -> Vec<(usize, f64)> {
        let mut out = z.to_vec();
        for (i, a) in &self.ties {
            match out.iter_mut().find(|o| o.0 == *i) {
                Some(o) => o.1 -= a / self.precision,
                None => out.push((*i, -a / self.precision)),
            }
        }
        out
    }
}
