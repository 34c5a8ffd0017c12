//! The log-likelihood of all records with gradient and Hessian.

use super::jet::{EPSILON, ETA, Jet, KAPPA, TAU};
use super::law::Law;
use super::newton::Eval;
use super::prior::Prior;
use super::row::{Extras, Row};
use crate::model::Fixed;

/// What is maximised. Parameters in order: coefficients, ln scale, coefficients of the logit of
/// the share that ever has the event, logit of twice the rate of misread looks.
#[derive(Debug, Clone)]
pub(crate) struct Objective<'a> {
    pub law: Law,
    pub rows: &'a [Row],
    /// How often each record stands; once where nothing is said.
    pub counts: Option<&'a [f64]>,
    pub fixed: &'a Fixed,
    /// Design of the share that ever has the event.
    pub share: Option<&'a Fixed>,
    /// Fixed ε, or whether it is a parameter.
    pub epsilon: Epsilon,
    pub prior: &'a Prior,
}

/// How looks can be misread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Epsilon {
    None,
    Fixed(f64),
    Estimated,
}

impl Objective<'_> {
    /// Number of coefficients.
    pub fn p(&self) -> usize {
        self.fixed.width()
    }

    /// Place of ln scale, where it is estimated.
    pub fn tau(&self) -> Option<usize> {
        self.law.has_scale().then(|| self.p())
    }

    /// Place of the first coefficient of the share.
    pub fn kappa(&self) -> Option<usize> {
        self.share.map(|_| self.p() + usize::from(self.law.has_scale()))
    }

    /// Place of the rate of misread looks.
    pub fn epsilon(&self) -> Option<usize> {
        (self.epsilon == Epsilon::Estimated).then(|| self.len() - 1)
    }

    /// Number of parameters.
    pub fn len(&self) -> usize {
        self.p()
            + usize::from(self.law.has_scale())
            + self.share.map_or(0, Fixed::width)
            + usize::from(self.epsilon == Epsilon::Estimated)
    }

    fn count(&self, row: usize) -> f64 {
        self.counts.map_or(1.0, |c| c[row])
    }

    /// What a parameter is called in messages.
    pub fn name(&self, j: usize) -> String {
        let label = |f: &Fixed, j: usize| {
            let c = &f.coefficients[j];
            c.level.as_ref().map_or(c.term.clone(), |l| format!("{} = {l}", c.term))
        };
        match (self.kappa(), self.share) {
            _ if j < self.p() => label(self.fixed, j),
            _ if Some(j) == self.tau() => "log(scale)".to_owned(),
            (Some(first), Some(share)) if j < first + share.width() => {
                format!("the share that ever has the event ({})", label(share, j - first))
            }
            _ => "the rate of misread looks".to_owned(),
        }
    }

    /// The linear predictor of every row.
    pub fn eta(&self, at: &[f64]) -> Vec<f64> {
        linear(self.fixed, &at[..self.p()])
    }

    /// Log-likelihood plus log prior.
    pub fn evaluate(&self, at: &[f64]) -> Eval {
        let mut eval = if self.share.is_none() && self.epsilon == Epsilon::None {
            self.plain(at)
        } else {
            self.general(at)
        };
        self.add_prior(at, &mut eval);
        eval
    }

    fn add_prior(&self, at: &[f64], eval: &mut Eval) {
        let n = at.len();
        for &(j, mean, sd) in &self.prior.coefficients {
            let z = (at[j] - mean) / sd;
            eval.value += -0.5 * z * z - sd.ln() - super::normal::LOG_ROOT_TWO_PI;
            eval.gradient[j] -= z / sd;
            eval.hessian[j * n + j] -= 1.0 / (sd * sd);
        }
    }

    fn plain(&self, at: &[f64]) -> Eval {
        let tau = self.tau().map(|j| at[j]);
        self.plain_at(at, tau.unwrap_or(0.0), tau.is_some())
    }

    /// Log-likelihood plus log prior as a function of the coefficients, for a given ln scale.
    pub fn at_scale(&self, coefficients: &[f64], tau: f64) -> Eval {
        let mut eval = self.plain_at(coefficients, tau, false);
        self.add_prior(coefficients, &mut eval);
        eval
    }

    fn plain_at(&self, at: &[f64], tau: f64, free: bool) -> Eval {
        let p = self.p();
        let n = p + usize::from(free);
        let eta = self.eta(at);
        let mut eval = Eval::zero(n);
        // Levels of random terms are columns that are 0 in most rows.
        let mut told: Vec<(usize, f64)> = Vec::with_capacity(p);
        for (i, row) in self.rows.iter().enumerate() {
            let part = row.part(self.law, eta[i], tau).times(self.count(i));
            eval.value += part.value;
            told.clear();
            told.extend((0..p).map(|j| (j, self.fixed.column(j)[i])).filter(|(_, x)| *x != 0.0));
            for (at, &(j, x)) in told.iter().enumerate() {
                eval.gradient[j] += part.eta * x;
                let w = part.eta2 * x;
                for &(k, y) in &told[..=at] {
                    eval.hessian[j * n + k] += w * y;
                }
            }
            if free {
                eval.gradient[p] += part.tau;
                for &(k, x) in &told {
                    eval.hessian[p * n + k] += part.eta_tau * x;
                }
                eval.hessian[p * n + p] += part.tau2;
            }
        }
        mirror(n, &mut eval.hessian);
        eval
    }

    fn general(&self, at: &[f64]) -> Eval {
        let n = self.len();
        let eta = self.eta(at);
        let tau = self.tau().map_or(0.0, |j| at[j]);
        let kappa = match (self.share, self.kappa()) {
            (Some(share), Some(first)) => Some(linear(share, &at[first..first + share.width()])),
            _ => None,
        };
        let epsilon = match self.epsilon {
            Epsilon::None => None,
            Epsilon::Fixed(e) => Some(e),
            Epsilon::Estimated => Some(at[n - 1]),
        };
        let mut eval = Eval::zero(n);
        for (i, row) in self.rows.iter().enumerate() {
            let extras = Extras { kappa: kappa.as_ref().map(|k| k[i]), epsilon };
            let jet = row.jet(self.law, eta[i], tau, extras);
            let jet = Jet::constant(0.0).plus(&jet, self.count(i));
            eval.value += jet.value;
            // Each parameter enters through one of the four variables, with its factor.
            let through = self.through(i);
            for (j, &(a, x)) in through.iter().enumerate() {
                eval.gradient[j] += jet.gradient[a] * x;
                for (k, &(b, y)) in through[..=j].iter().enumerate() {
                    eval.hessian[j * n + k] += jet.hessian[a][b] * x * y;
                }
            }
        }
        mirror(n, &mut eval.hessian);
        eval
    }

    fn through(&self, i: usize) -> Vec<(usize, f64)> {
        let columns = |place: usize, f: &Fixed| -> Vec<(usize, f64)> {
            (0..f.width()).map(|j| (place, f.column(j)[i])).collect()
        };
        let mut through = columns(ETA, self.fixed);
        through.extend(self.law.has_scale().then_some((TAU, 1.0)));
        through.extend(self.share.map(|s| columns(KAPPA, s)).unwrap_or_default());
        through.extend((self.epsilon == Epsilon::Estimated).then_some((EPSILON, 1.0)));
        through
    }
}

/// X·b.
pub(crate) fn linear(fixed: &Fixed, b: &[f64]) -> Vec<f64> {
    let mut eta = vec![0.0; fixed.rows()];
    for (j, b) in b.iter().enumerate() {
        for (e, x) in eta.iter_mut().zip(fixed.column(j)) {
            *e += b * x;
        }
    }
    eta
}

/// Copies the lower triangle to the upper.
pub(crate) fn mirror(n: usize, matrix: &mut [f64]) {
    for j in 0..n {
        for k in 0..j {
            matrix[k * n + j] = matrix[j * n + k];
        }
    }
}
