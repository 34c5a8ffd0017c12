//! When it is usually over, and when the next one will be.

use serde::Serialize;

use super::ParametricError;
use super::dense::quadratic;
use super::fit::Fit;
use super::jet::{ETA, KAPPA, TAU};
use super::law::{Law, logistic, softplus};
use super::normal::log_density;
use super::objective::linear;
use super::row::survival_jet;
use crate::model::Fixed;
use crate::special::two_sided;
use crate::survival::time::check_confidence;

/// What is expected for a row.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Predicted {
    /// Quantiles of the time: each estimate's uncertainty is that of the typical plant's quantile.
    pub quantiles: Vec<PredictedQuantile>,
    /// A single further event.
    pub next: Next,
    /// The share that ever has the event, where it was asked for.
    pub ever: Option<f64>,
}

/// A quantile with the interval in which it "usually" lies.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PredictedQuantile {
    /// The share that has had the event by then.
    pub q: f64,
    /// The time; `None` where so large a share never has the event.
    pub estimate: Option<f64>,
    /// Standard error (delta method).
    pub se: Option<f64>,
    /// Lower limit.
    pub lower: Option<f64>,
    /// Upper limit.
    pub upper: Option<f64>,
}

/// Where a single further event lies: the spread of single events and the uncertainty of the
/// estimates together.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Next {
    /// Median; `None` where it may never come.
    pub median: Option<f64>,
    /// Lower limit.
    pub lower: Option<f64>,
    /// Upper limit; `None` where it may never come.
    pub upper: Option<f64>,
}

/// A row's place in the space of parameters.
pub(crate) struct Point {
    pub eta: f64,
    pub tau: f64,
    pub kappa: Option<f64>,
    /// Covariance of (η, τ, κ), by rows.
    pub covariance: [f64; 9],
}

impl Fit {
    /// Predictions for the rows of a design made by [`Fixed::for_rows`]; `share` is the design of
    /// the share that ever has the event, where the fit has one. With `given_after`, for plants of
    /// which it is known that nothing happened by then.
    ///
    /// # Errors
    /// A confidence, a quantile or a time out of range.
    pub fn predict(
        &self,
        fixed: &Fixed,
        share: Option<&Fixed>,
        quantiles: &[f64],
        given_after: Option<f64>,
        confidence: f64,
    ) -> Result<Vec<Predicted>, ParametricError> {
        check(quantiles, given_after, confidence)?;
        let points = self.points(fixed, share)?;
        Ok(points
            .iter()
            .map(|p| row(self.law, p, 0.0, quantiles, given_after, confidence))
            .collect())
    }

    fn points(&self, fixed: &Fixed, share: Option<&Fixed>) -> Result<Vec<Point>, ParametricError> {
        let (p, q) = (self.coefficients.len(), self.share.len());
        let given = (fixed.width(), share.map_or(0, Fixed::width));
        if given != (p, q) || share.is_some_and(|s| s.rows() != fixed.rows()) {
            return Err(ParametricError::Lengths { times: p + q, rows: given.0 + given.1 });
        }
        let n = self.parameters.len();
        let eta = linear(fixed, &self.parameters[..p]);
        let first = self.share_place();
        let kappa = share.map(|s| linear(s, &self.parameters[first..first + q]));
        let tau = self.log_scale().0;
        Ok((0..fixed.rows())
            .map(|i| {
                // How η, τ and κ of this row depend on the parameters.
                let mut rows = [vec![0.0; n], vec![0.0; n], vec![0.0; n]];
                for j in 0..p {
                    rows[0][j] = fixed.column(j)[i];
                }
                if self.law.has_scale() {
                    rows[1][p] = 1.0;
                }
                if let Some(s) = share {
                    for j in 0..q {
                        rows[2][first + j] = s.column(j)[i];
                    }
                }
                let mut covariance = [0.0; 9];
                for a in 0..3 {
                    for b in 0..3 {
                        let both: Vec<f64> =
                            rows[a].iter().zip(&rows[b]).map(|(x, y)| x + y).collect();
                        let less: Vec<f64> =
                            rows[a].iter().zip(&rows[b]).map(|(x, y)| x - y).collect();
                        covariance[3 * a + b] = 0.25
                            * (quadratic(&self.covariance, &both)
                                - quadratic(&self.covariance, &less));
                    }
                }
                Point { eta: eta[i], tau, kappa: kappa.as_ref().map(|k| k[i]), covariance }
            })
            .collect())
    }
}

/// A row's predictions; `unseen` is the variance of random effects that belong to the next event
/// but not to what is usual.
pub(crate) fn row(
    law: Law,
    point: &Point,
    unseen: f64,
    quantiles: &[f64],
    after: Option<f64>,
    confidence: f64,
) -> Predicted {
    let mut wider = Point { covariance: point.covariance, ..*point };
    wider.covariance[0] += unseen;
    Predicted {
        quantiles: quantiles.iter().map(|&q| quantile(law, point, q, after, confidence)).collect(),
        next: next(law, &wider, after, confidence),
        ever: point.kappa.map(logistic),
    }
}

pub(crate) fn check(
    quantiles: &[f64],
    given_after: Option<f64>,
    confidence: f64,
) -> Result<(), ParametricError> {
    check_confidence(confidence)?;
    if let Some(&q) = quantiles.iter().find(|q| !(**q > 0.0 && **q < 1.0)) {
        return Err(crate::survival::SurvivalError::BadQuantile(q).into());
    }
    match given_after {
        Some(value) if !(value.is_finite() && value >= 0.0) => Err(ParametricError::BadOption {
            what: "the time without event".to_owned(),
            value,
            expected: "a number from 0 on",
        }),
        _ => Ok(()),
    }
}

/// The logarithm of the time at which a share `q` of those left after `after` have had the event;
/// `None` where so many never have it.
fn log_time(
    law: Law,
    eta: f64,
    tau: f64,
    kappa: Option<f64>,
    q: f64,
    after: Option<f64>,
) -> Option<f64> {
    let before = after.map_or(0.0, |t| survival_jet(law, t.ln(), eta, tau, kappa).value);
    // ln of the share still without event at the wanted time.
    let level = before + (-q).ln_1p();
    let of_those = match kappa {
        None => level,
        Some(k) => {
            let (ever, never) = (-softplus(-k), -softplus(k));
            if level <= never {
                return None;
            }
            level + (-(never - level).exp()).ln_1p() - ever
        }
    };
    // 0 where the level is so near to 1 that the share of those who ever have the event is whole.
    Some(eta + tau.exp() * law.upper_quantile(of_those.min(-f64::MIN_POSITIVE)))
}

fn quantile(
    law: Law,
    point: &Point,
    q: f64,
    after: Option<f64>,
    confidence: f64,
) -> PredictedQuantile {
    let after = after.filter(|t| *t > 0.0);
    let Point { eta, tau, kappa, .. } = *point;
    let Some(y) = log_time(law, eta, tau, kappa, q, after) else {
        return PredictedQuantile { q, estimate: None, se: None, lower: None, upper: None };
    };
    // ln S(t) − ln S(after) = ln(1 − q) holds t as a function of the parameters.
    let there = survival_jet(law, y, eta, tau, kappa);
    let here = after.map(|t| survival_jet(law, t.ln(), eta, tau, kappa));
    let slope =
        |k: usize| (there.gradient[k] - here.map_or(0.0, |h| h.gradient[k])) / there.gradient[ETA];
    let gradient = [slope(ETA), slope(TAU), slope(KAPPA)];
    let estimate = y.exp();
    let se = estimate * quadratic(&point.covariance, &gradient).max(0.0).sqrt();
    // On the logarithm of the time that is left, which is never negative.
    let left = estimate - after.unwrap_or(0.0);
    let factor = (two_sided(confidence) * se / left).exp();
    let from = after.unwrap_or(0.0);
    PredictedQuantile {
        q,
        estimate: Some(estimate),
        se: Some(se),
        lower: Some(from + left / factor),
        upper: Some(from + left * factor).filter(|u| u.is_finite()),
    }
}

/// Nodes of a rule over the normal distribution of (η, τ, κ): equally spaced from −5 to 5 standard
/// deviations, which is exact far beyond need for so smooth a function.
const NODES: i32 = 10;

fn next(law: Law, point: &Point, after: Option<f64>, confidence: f64) -> Next {
    let mixture = Mixture::new(law, point, after.filter(|t| *t > 0.0));
    let tail = 0.5 * (1.0 - confidence);
    Next {
        median: mixture.quantile(0.5),
        lower: mixture.quantile(tail),
        upper: mixture.quantile(1.0 - tail),
    }
}

/// The distribution of a single further event over what the parameters may be.
pub(crate) struct Mixture {
    law: Law,
    from: f64,
    /// η, τ, κ and weight.
    parts: Vec<(f64, f64, Option<f64>, f64)>,
}

impl Mixture {
    fn new(law: Law, point: &Point, after: Option<f64>) -> Self {
        let root = root3(&point.covariance);
        let dimensions = [true, law.has_scale(), point.kappa.is_some()];
        let axis = |d: usize| -> Vec<(f64, f64)> {
            if !dimensions[d] {
                return vec![(0.0, 1.0)];
            }
            let node = |k: i32| 5.0 * f64::from(k) / f64::from(NODES);
            (-NODES..=NODES).map(|k| (node(k), log_density(node(k)).exp())).collect()
        };
        let mut parts = Vec::new();
        for (a, wa) in axis(0) {
            for (b, wb) in axis(1) {
                for (c, wc) in axis(2) {
                    let at = |r: usize| root[3 * r] * a + root[3 * r + 1] * b + root[3 * r + 2] * c;
                    let weight = wa * wb * wc;
                    parts.push((
                        point.eta + at(0),
                        point.tau + at(1),
                        point.kappa.map(|k| k + at(2)),
                        weight,
                    ));
                }
            }
        }
        Mixture::of(law, parts, after)
    }

    /// A mixture of these η, τ, κ with these weights, given that nothing happened by `after`.
    pub fn of(law: Law, mut parts: Vec<(f64, f64, Option<f64>, f64)>, after: Option<f64>) -> Self {
        if let Some(t) = after {
            for (eta, tau, kappa, weight) in &mut parts {
                // Parameters that make it likely to have seen nothing so far count for more.
                *weight *= survival_jet(law, t.ln(), *eta, *tau, *kappa).value.exp();
            }
        }
        let sum: f64 = parts.iter().map(|p| p.3).sum();
        parts.iter_mut().for_each(|p| p.3 /= sum);
        Mixture { law, from: after.unwrap_or(0.0), parts }
    }

    /// The time by which a share `q` has had the event for each of the parts, with its weight.
    pub fn times(&self, q: f64, after: Option<f64>) -> Vec<(f64, f64)> {
        let part = |&(eta, tau, kappa, weight): &(f64, f64, Option<f64>, f64)| {
            log_time(self.law, eta, tau, kappa, q, after).map(|y| (y.exp(), weight))
        };
        self.parts.iter().filter_map(part).collect()
    }

    /// The share without event after a further time.
    pub fn survival(&self, t: f64) -> f64 {
        let part = |&(eta, tau, kappa, weight): &(f64, f64, Option<f64>, f64)| {
            let log = |t: f64| survival_jet(self.law, t.ln(), eta, tau, kappa).value;
            let before = if self.from > 0.0 { log(self.from) } else { 0.0 };
            weight * (log(t) - before).exp()
        };
        self.parts.iter().map(part).sum()
    }

    /// The time by which a share `q` has had the event.
    pub fn quantile(&self, q: f64) -> Option<f64> {
        let level = 1.0 - q;
        let middle = self.parts.iter().map(|p| p.0 * p.3).sum::<f64>().exp().max(1e-9);
        let time = |left: f64| self.from + left;
        let (mut low, mut high) = (middle, middle);
        while self.survival(time(low)) < level {
            low *= 0.25;
            if low < 1e-12 * middle {
                return Some(time(0.0));
            }
        }
        while self.survival(time(high)) > level {
            high *= 4.0;
            if high > 1e12 * middle {
                return None;
            }
        }
        for _ in 0..80 {
            let mid = (low * high).sqrt();
            if self.survival(time(mid)) > level {
                low = mid;
            } else {
                high = mid;
            }
            if high - low <= 1e-10 * high {
                break;
            }
        }
        Some(time(0.5 * (low + high)))
    }
}

/// The lower root of a 3 × 3 covariance; a variance of 0 gives a column of 0.
fn root3(v: &[f64; 9]) -> [f64; 9] {
    let mut l = [0.0_f64; 9];
    for j in 0..3 {
        let pivot = v[4 * j] - (0..j).map(|k| l[3 * j + k].powi(2)).sum::<f64>();
        if pivot <= 1e-14 * v[4 * j].abs() {
            continue;
        }
        l[4 * j] = pivot.sqrt();
        for i in j + 1..3 {
            let dot: f64 = (0..j).map(|k| l[3 * i + k] * l[3 * j + k]).sum();
            l[3 * i + j] = (v[3 * i + j] - dot) / l[4 * j];
        }
    }
    l
}
