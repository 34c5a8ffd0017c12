//! What a fit says of a pair: its rate, the next batch, and thousands of pairs at once.

use super::{
    Crossed, Place,
    fit::below,
    points::{Pair, columns, quadratic},
};
use crate::{
    quadrature::GaussHermite,
    success::{NextCount, SuccessError, next_count, rate::mean_share},
};

/// The log odds of a place: normals with their weights.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixture {
    /// Mean, variance, weight.
    parts: Vec<(f64, f64, f64)>,
    /// Variance that the next batch adds, of each part.
    batch: Vec<f64>,
}

impl Crossed {
    /// What is held of a place.
    ///
    /// A level or pair that was never seen has the spread of its term.
    pub fn predict(&self, place: &Place) -> Mixture {
        let z = columns(place, &self.offsets);
        let terms = self.offsets.len();
        let mut out = Mixture { parts: Vec::new(), batch: Vec::new() };
        for p in &self.points {
            let mut mean: f64 = z.iter().map(|(j, a)| a * p.mean[*j]).sum();
            let unseen: f64 = (place.levels.iter().zip(&p.spreads))
                .filter(|(l, _)| l.is_none())
                .map(|(_, s)| s * s)
                .sum();
            let tried: Option<&Pair> = place.pair.and_then(|k| p.pairs.get(k));
            let own = match tried {
                Some(pair) => {
                    mean += pair.mean;
                    pair.variance(&p.covariance, self.width, &z)
                }
                None => quadratic(&p.covariance, self.width, &z) + p.spreads[terms].powi(2),
            };
            out.parts.push((mean, own + unseen, p.weight));
            out.batch.push(p.spreads[terms + 1].powi(2));
        }
        out
    }

    /// A coefficient: mean and standard deviation.
    pub fn coefficient(&self, k: usize) -> (f64, f64) {
        let of = |p: &super::points::Point| (p.mean[k], p.covariance[k * self.width + k], p.weight);
        moments(self.points.iter().map(of))
    }

    /// The level of a term: mean and standard deviation.
    pub fn level(&self, term: usize, level: usize) -> (f64, f64) {
        self.coefficient(self.offsets[term] + level)
    }

    /// One normal in place of the sum over spreads: for thousands of places at once.
    pub fn joined(&self) -> Joined {
        let n = self.width;
        let terms = self.offsets.len();
        let mut mean = vec![0.0; n];
        for p in &self.points {
            mean.iter_mut().zip(&p.mean).for_each(|(m, x)| *m += p.weight * x);
        }
        let mut covariance = vec![0.0; n * n];
        let mut spreads = vec![0.0; terms + 2];
        for p in &self.points {
            let off: Vec<f64> = p.mean.iter().zip(&mean).map(|(a, b)| a - b).collect();
            for i in 0..n {
                for j in 0..n {
                    covariance[i * n + j] += p.weight * (p.covariance[i * n + j] + off[i] * off[j]);
                }
            }
            spreads.iter_mut().zip(&p.spreads).for_each(|(s, x)| *s += p.weight * x * x);
        }
        Joined { width: n, offsets: self.offsets.clone(), mean, covariance, squares: spreads }
    }
}

fn moments(parts: impl Iterator<Item = (f64, f64, f64)> + Clone) -> (f64, f64) {
    let mean: f64 = parts.clone().map(|(m, _, w)| w * m).sum();
    let variance: f64 = parts.map(|(m, v, w)| w * (v + (m - mean).powi(2))).sum();
    (mean, variance.sqrt())
}

impl Mixture {
    /// The same where with this chance something stands in the way: then the log odds are normal
    /// with another mean and standard deviation, and batches do not differ.
    #[must_use]
    pub fn or_barred(mut self, chance: f64, mean: f64, sd: f64) -> Self {
        self.parts.iter_mut().for_each(|p| p.2 *= 1.0 - chance);
        self.parts.push((mean, sd * sd, chance));
        self.batch.push(0.0);
        self
    }

    /// Mean and standard deviation of the log odds.
    pub fn log_odds(&self) -> (f64, f64) {
        moments(self.parts.iter().copied())
    }

    /// The mean rate of one trial of a usual batch.
    pub fn mean(&self) -> f64 {
        mean_share(&self.parts)
    }

    /// A single normal of the log odds.
    #[must_use]
    pub fn normal(mean: f64, sd: f64) -> Self {
        Self { parts: vec![(mean, sd * sd, 1.0)], batch: vec![0.0] }
    }

    /// The mean rate, to about 1e-5: for thousands of pairs.
    pub fn quick_mean(&self) -> f64 {
        self.parts.iter().map(|(m, v, w)| w * mean_rate(*m, v.sqrt())).sum()
    }

    /// The chance that at least one of `trials` succeeds when a share of the successes is kept, to
    /// about 1e-4: for thousands of pairs. All trials share one unknown rate.
    pub fn at_least_one(&self, trials: u32, kept: f64) -> f64 {
        let n = f64::from(trials);
        let mut sum = 0.0;
        for (mean, variance, weight) in &self.parts {
            let (mut of_part, mut weights) = (0.0, 0.0);
            for i in -8..=8 {
                let z = 0.6 * f64::from(i);
                let w = (-0.5 * z * z).exp();
                let p = kept / (1.0 + (-(mean + variance.sqrt() * z)).exp());
                of_part += w * (1.0 - (1.0 - p).powf(n));
                weights += w;
            }
            sum += weight * of_part / weights;
        }
        sum
    }

    /// The ends of the 80 % interval of the rate, to a thousandth of its log odds: for thousands of
    /// pairs.
    pub fn ends(&self) -> (f64, f64) {
        let at = |share: f64| {
            let (mut low, mut high) = (-12.0, 12.0);
            for _ in 0..15 {
                let middle = 0.5 * (low + high);
                let under: f64 = self.parts.iter().map(|(m, v, w)| w * below(*m, *v, middle)).sum();
                if under < share { low = middle } else { high = middle }
            }
            1.0 / (1.0 + (-0.5f64 * (low + high)).exp())
        };
        (at(0.1), at(0.9))
    }

    /// The rate below which this share lies.
    pub fn quantile(&self, share: f64) -> f64 {
        let (mut low, mut high) = (-60.0, 60.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            let under: f64 = self.parts.iter().map(|(m, v, w)| w * below(*m, *v, middle)).sum();
            if under < share { low = middle } else { high = middle }
        }
        1.0 / (1.0 + (-0.5 * (low + high)).exp())
    }

    /// How much of the distribution lies below a rate.
    pub fn under(&self, rate: f64) -> f64 {
        let x = (rate / (1.0 - rate)).ln();
        self.parts.iter().map(|(m, v, w)| w * below(*m, *v, x)).sum()
    }

    /// The next batch of so many trials.
    ///
    /// # Errors
    /// A confidence that is none.
    pub fn next_count(&self, trials: u64, confidence: f64) -> Result<NextCount, SuccessError> {
        next_count(&self.with_batch(), trials, confidence)
    }

    /// Chance of exactly so many in the next batch.
    pub fn chance(&self, successes: u64, trials: u64) -> f64 {
        let log = crate::success::beta_binomial::ln_choose(trials, successes);
        let (k, n) = (successes as f64, trials as f64);
        let rule = GaussHermite::shared(40);
        let at = |eta: f64| (log + k * eta - n * (eta.max(0.0) + (-eta.abs()).exp().ln_1p())).exp();
        self.with_batch().iter().map(|(m, v, w)| w * rule.expectation(*m, v.sqrt(), at)).sum()
    }

    /// The parts with what the next batch adds.
    fn with_batch(&self) -> Vec<(f64, f64, f64)> {
        self.parts.iter().zip(&self.batch).map(|((m, v, w), b)| (*m, v + b, *w)).collect()
    }
}

/// One normal for coefficients and levels, and the mean squares of the spreads.
#[derive(Debug, Clone)]
pub struct Joined {
    width: usize,
    offsets: Vec<usize>,
    mean: Vec<f64>,
    covariance: Vec<f64>,
    squares: Vec<f64>,
}

impl Joined {
    /// Mean and variance of the log odds of a pair that was never tried.
    pub fn untried(&self, place: &Place) -> (f64, f64) {
        let z = columns(place, &self.offsets);
        let terms = self.offsets.len();
        let unseen: f64 = (place.levels.iter().zip(&self.squares))
            .filter(|(l, _)| l.is_none())
            .map(|(_, s)| *s)
            .sum();
        let mean = z.iter().map(|(j, a)| a * self.mean[*j]).sum();
        (mean, quadratic(&self.covariance, self.width, &z) + unseen + self.squares[terms])
    }

    /// What each of these places would teach by a single trial: the expected fall of the sum of the
    /// variances of all their log odds.
    pub fn teaches(&self, places: &[Place]) -> Vec<f64> {
        let n = self.width;
        let zs: Vec<_> = places.iter().map(|p| columns(p, &self.offsets)).collect();
        // T = Σ z z', then M = C T C.
        let mut t = vec![0.0; n * n];
        for z in &zs {
            for (i, a) in z {
                for (j, b) in z {
                    t[i * n + j] += a * b;
                }
            }
        }
        let ct = product(&self.covariance, &t, n);
        let m = product(&ct, &self.covariance, n);
        let one = |(place, z): (&Place, &Vec<(usize, f64)>)| {
            let (mean, variance) = self.untried(place);
            let own = variance - quadratic(&self.covariance, n, z);
            // A logistic curve averaged over a normal, as if its scale were wider (MacKay 1992,
            // from memory).
            let p = 1.0 / (1.0 + (-mean / (1.0 + 0.393 * variance).sqrt()).exp());
            let w = p * (1.0 - p);
            let shared = quadratic(&m, n, z);
            // Of itself also what only this pair has.
            let itself = variance.powi(2) - (variance - own).powi(2);
            w * (shared + itself) / (1.0 + w * variance)
        };
        places.iter().zip(&zs).map(one).collect()
    }
}

fn product(a: &[f64], b: &[f64], n: usize) -> Vec<f64> {
    let mut out = vec![0.0; n * n];
    for i in 0..n {
        for k in 0..n {
            let x = a[i * n + k];
            if x != 0.0 {
                let (row, from) = (&mut out[i * n..(i + 1) * n], &b[k * n..(k + 1) * n]);
                row.iter_mut().zip(from).for_each(|(o, y)| *o += x * y);
            }
        }
    }
    out
}

/// The mean rate when the log odds are normal, by a short sum: to about 1e-5, for thousands at once.
pub fn mean_rate(mean: f64, sd: f64) -> f64 {
    // The rule of fifteen nodes would be built anew each time; an even sum of as many is as good.
    let (mut sum, mut weights) = (0.0, 0.0);
    for i in -8..=8 {
        let z = 0.6 * f64::from(i);
        let w = (-0.5 * z * z).exp();
        sum += w / (1.0 + (-(mean + sd * z)).exp());
        weights += w;
    }
    sum / weights
}
