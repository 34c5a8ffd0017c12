//! Maximum likelihood.

use serde::Serialize;

use super::dense::Cholesky;
use super::error::ParametricError;
use super::law::{Law, logistic};
use super::newton::{Optimum, maximise};
use super::objective::{Epsilon, Objective, linear};
use super::prior::Prior;
use super::row::Row;
use crate::model::{Coefficient, Fixed, Frame};
use crate::survival::{SurvivalError, Time};

/// How often a look is misread.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Misread {
    /// Never.
    #[default]
    Never,
    /// At this rate, at least 0 and below one half.
    Fixed(f64),
    /// At a rate that is estimated.
    Estimated,
}

/// What goes beyond covariates.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// A share of the records never has the event; its logit depends on this design (an intercept
    /// alone as a rule).
    pub cure: Option<Fixed>,
    /// Misread looks.
    pub misread: Misread,
}

/// A fitted model.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The law.
    pub law: Law,
    /// Coefficients of log time, the intercept first.
    pub coefficients: Vec<Coefficient>,
    /// All parameters: coefficients, ln scale (but for the exponential), coefficients of the logit
    /// of the share that ever has the event, logit of twice the rate of misread looks.
    pub parameters: Vec<f64>,
    /// Their covariance by the observed information, by rows.
    pub covariance: Vec<f64>,
    /// The scale; 1 for the exponential.
    pub scale: f64,
    /// Coefficients of the logit of the share that ever has the event.
    pub share: Vec<Coefficient>,
    /// Whether the follow-up tells a share that never has the event from a late one.
    pub plateau: Option<Plateau>,
    /// Misread looks.
    pub misread: Option<MisreadFound>,
    /// Log-likelihood on the scale of time.
    pub log_likelihood: f64,
    /// That of the model with an intercept alone.
    pub log_likelihood_null: f64,
    /// Records.
    pub n: usize,
    /// Records whose event came.
    pub events: usize,
    /// Steps of the optimiser.
    pub iterations: usize,
    /// Largest absolute derivative at the optimum.
    pub gradient_norm: f64,
}

/// The rate of misread looks.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MisreadFound {
    /// The rate.
    pub rate: f64,
    /// Standard error; `None` where the rate was given.
    pub se: Option<f64>,
}

/// Whether a share that never has the event can be told from one that has it late.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Plateau {
    /// The end of the last event.
    pub last_event: f64,
    /// The longest time of a record without event.
    pub longest_open: f64,
    /// Records without event that were followed beyond the last event.
    pub open_beyond: usize,
    /// Of those that ever have the event, the share expected after the longest follow-up, in the
    /// record where it is largest.
    pub expected_after: f64,
    /// Whether the share that never has the event is identified.
    pub identified: bool,
}

/// Fits by maximum likelihood.
///
/// # Errors
/// Impossible times, a design whose columns are not independent, records without any event or
/// without a lower bound, an effect or a scale without end, an optimum that was not reached or is
/// not one. See [`ParametricError`].
pub fn fit(
    times: &[Time],
    fixed: &Fixed,
    law: Law,
    options: &Options,
) -> Result<Fit, ParametricError> {
    let rows = rows(times, fixed)?;
    let prior = Prior::default();
    let objective = objective(&rows, fixed, law, options, &prior)?;
    let optimum = best(&objective, options)?;
    let covariance =
        optimum.covariance().map_err(|s| ParametricError::stuck(s, |j| objective.name(j)))?;
    let null = if fixed.width() == 1 && options.cure.as_ref().is_none_or(|c| c.width() == 1) {
        optimum.eval.value
    } else {
        let (rows, counts) = gathered(&rows);
        let alone = Fixed::build(&Frame::new(rows.len()), &[])?;
        let cure = options.cure.as_ref().map(|_| alone.clone());
        let options = Options { cure, ..options.clone() };
        let mut null = self::objective(&rows, &alone, law, &options, &prior)?;
        null.counts = Some(&counts);
        best(&null, &options)?.eval.value
    };
    let mut found = finish(times, &rows, &objective, optimum, covariance, null);
    if let (Some(misread), Misread::Fixed(rate)) = (&mut found.misread, options.misread) {
        misread.rate = rate;
    }
    Ok(found)
}

/// Equal records as one with its count: without covariates only few differ.
fn gathered(rows: &[Row]) -> (Vec<Row>, Vec<f64>) {
    let mut sorted = rows.to_vec();
    sorted.sort_by(Row::order);
    let (mut unique, mut counts): (Vec<Row>, Vec<f64>) = (Vec::new(), Vec::new());
    for row in sorted {
        match (unique.last(), counts.last_mut()) {
            (Some(last), Some(count)) if *last == row => *count += 1.0,
            _ => {
                unique.push(row);
                counts.push(1.0);
            }
        }
    }
    (unique, counts)
}

/// Makes records ready and looks whether they can tell anything.
pub(crate) fn rows(times: &[Time], fixed: &Fixed) -> Result<Vec<Row>, ParametricError> {
    let rows = read_rows(times, fixed)?;
    let n = rows.len();
    if !rows.iter().any(Row::is_event) {
        return Err(ParametricError::AllOpen { n });
    }
    if !rows.iter().any(Row::has_left) {
        return Err(ParametricError::AllOver { n });
    }
    Ok(rows)
}

pub(crate) fn read_rows(times: &[Time], fixed: &Fixed) -> Result<Vec<Row>, ParametricError> {
    if times.is_empty() {
        return Err(SurvivalError::Empty.into());
    }
    if times.len() != fixed.rows() {
        return Err(ParametricError::Lengths { times: times.len(), rows: fixed.rows() });
    }
    fixed.check_independent()?;
    times.iter().enumerate().map(|(i, t)| Row::new(t, i + 1)).collect()
}

pub(crate) fn objective<'a>(
    rows: &'a [Row],
    fixed: &'a Fixed,
    law: Law,
    options: &'a Options,
    prior: &'a Prior,
) -> Result<Objective<'a>, ParametricError> {
    let epsilon = match options.misread {
        Misread::Never => Epsilon::None,
        Misread::Fixed(0.0) => Epsilon::None,
        Misread::Fixed(rate) if rate > 0.0 && rate < 0.5 => {
            Epsilon::Fixed((2.0 * rate / (1.0 - 2.0 * rate)).ln())
        }
        Misread::Fixed(value) => {
            return Err(ParametricError::BadOption {
                what: "the rate of misread looks".to_owned(),
                value,
                expected: "a number from 0 to below one half",
            });
        }
        Misread::Estimated => Epsilon::Estimated,
    };
    let share = options.cure.as_ref();
    if let Some(share) = share {
        if share.rows() != rows.len() {
            return Err(ParametricError::Lengths { times: rows.len(), rows: share.rows() });
        }
        share.check_independent()?;
    }
    Ok(Objective { law, rows, counts: None, fixed, share, epsilon, prior })
}

/// The optimum; with a share that never has the event the best over several starts, since that
/// likelihood can have two tops.
fn best(objective: &Objective<'_>, options: &Options) -> Result<Optimum, ParametricError> {
    let (start, reach) = start(objective);
    let mut starts = vec![start];
    if let (Some(k), true) = (objective.kappa(), options.cure.is_some()) {
        for kappa in [-1.0, 3.0] {
            let mut other = starts[0].clone();
            other[k] = kappa;
            starts.push(other);
        }
    }
    let mut found: Option<Optimum> = None;
    let mut failed = None;
    for start in starts {
        match maximise(&start, &reach, |at| objective.evaluate(at)) {
            Ok(o) if found.as_ref().is_none_or(|f| o.eval.value > f.eval.value + 1e-9) => {
                found = Some(o);
            }
            Ok(_) => {}
            Err(stuck) => failed = failed.or(Some(stuck)),
        }
    }
    match (found, failed) {
        (Some(found), _) => Ok(found),
        (None, Some(stuck)) => Err(ParametricError::stuck(stuck, |j| objective.name(j))),
        (None, None) => Err(ParametricError::NotReached { iterations: 0, gradient: f64::NAN }),
    }
}

/// Where to begin: least squares on rough logarithms of time; and what change of each parameter
/// counts as one unit.
pub(crate) fn start(objective: &Objective<'_>) -> (Vec<f64>, Vec<f64>) {
    let (p, fixed) = (objective.p(), objective.fixed);
    let rough: Vec<(usize, f64)> =
        objective.rows.iter().enumerate().filter_map(|(i, r)| r.rough().map(|y| (i, y))).collect();
    let mut cross = vec![0.0; p * p];
    let mut right = vec![0.0; p];
    for &(i, y) in &rough {
        for j in 0..p {
            right[j] += fixed.column(j)[i] * y;
            for k in 0..p {
                cross[j * p + k] += fixed.column(j)[i] * fixed.column(k)[i];
            }
        }
    }
    let mut at = vec![0.0; objective.len()];
    let mean = rough.iter().map(|(_, y)| y).sum::<f64>() / rough.len().max(1) as f64;
    match Cholesky::factor(p, &cross) {
        Ok(factor) => at[..p].copy_from_slice(&factor.solve(&right)),
        Err(_) => at[0] = mean,
    }
    let eta = linear(fixed, &at[..p]);
    let square: f64 = rough.iter().map(|&(i, y)| (y - eta[i]).powi(2)).sum();
    let spread = (square / rough.len().max(1) as f64).sqrt().clamp(0.1, 3.0);
    let scale = match objective.law {
        Law::Exponential => 1.0,
        Law::Weibull => 0.78 * spread,
        Law::Lognormal => spread,
        Law::Loglogistic => 0.55 * spread,
    };
    if let Some(j) = objective.tau() {
        at[j] = scale.ln();
    }
    if let Some(j) = objective.kappa() {
        at[j] = 1.0;
    }
    if let Some(j) = objective.epsilon() {
        // A rate of 0.02.
        at[j] = (0.04f64 / 0.96).ln();
    }
    let n = fixed.rows() as f64;
    let size = |f: &Fixed, j: usize| {
        (f.column(j).iter().map(|v| v * v).sum::<f64>() / n).sqrt().max(f64::MIN_POSITIVE)
    };
    let mut reach: Vec<f64> = (0..p).map(|j| scale.max(0.2) / size(fixed, j)).collect();
    reach.resize(objective.len(), 1.0);
    if let (Some(share), Some(first)) = (objective.share, objective.kappa()) {
        for j in 0..share.width() {
            reach[first + j] = 1.0 / size(share, j);
        }
    }
    (at, reach)
}

fn finish(
    times: &[Time],
    rows: &[Row],
    objective: &Objective<'_>,
    optimum: Optimum,
    covariance: Vec<f64>,
    null: f64,
) -> Fit {
    let n = objective.len();
    let scale = objective.tau().map_or(1.0, |j| optimum.at[j].exp());
    let misread = match objective.epsilon {
        Epsilon::None => None,
        Epsilon::Fixed(e) => Some(MisreadFound { rate: 0.5 * logistic(e), se: None }),
        Epsilon::Estimated => {
            let e = optimum.at[n - 1];
            let slope = 0.5 * logistic(e) * logistic(-e);
            let se = slope * covariance[n * n - 1].sqrt();
            Some(MisreadFound { rate: 0.5 * logistic(e), se: Some(se) })
        }
    };
    let plateau = objective.share.map(|_| plateau(times, objective, &optimum.at));
    Fit {
        law: objective.law,
        coefficients: objective.fixed.coefficients.clone(),
        covariance,
        scale,
        share: objective.share.map(|s| s.coefficients.clone()).unwrap_or_default(),
        plateau,
        misread,
        log_likelihood: optimum.eval.value,
        log_likelihood_null: null,
        n: rows.len(),
        events: rows.iter().filter(|r| r.is_event()).count(),
        iterations: optimum.iterations,
        gradient_norm: optimum.gradient_norm(),
        parameters: optimum.at,
    }
}

/// A plateau: somebody was followed past the last event, and of those that ever have the event
/// hardly any (5 % by common practice, no source) would be expected later than that.
fn plateau(times: &[Time], objective: &Objective<'_>, at: &[f64]) -> Plateau {
    let last_event = times.iter().filter_map(|t| t.right).fold(0.0, f64::max);
    let open = times.iter().filter(|t| t.is_open()).filter_map(|t| t.left);
    let longest_open = open.clone().fold(0.0, f64::max);
    let open_beyond = open.filter(|t| *t > last_event).count();
    let tau = objective.tau().map_or(0.0, |j| at[j]);
    let expected_after = objective
        .eta(at)
        .into_iter()
        .map(|eta| objective.law.log_survival((longest_open.ln() - eta) / tau.exp()).value.exp())
        .fold(0.0, f64::max);
    let identified = open_beyond >= 2 && expected_after < 0.05;
    Plateau { last_event, longest_open, open_beyond, expected_after, identified }
}

impl Fit {
    /// Standard error of a parameter.
    pub fn se(&self, j: usize) -> f64 {
        self.covariance[j * self.parameters.len() + j].sqrt()
    }

    /// ln scale and its standard error (`None` for the exponential, whose scale is given).
    pub fn log_scale(&self) -> (f64, Option<f64>) {
        let p = self.coefficients.len();
        if self.law.has_scale() { (self.parameters[p], Some(self.se(p))) } else { (0.0, None) }
    }

    /// Place of the first coefficient of the share that ever has the event.
    pub fn share_place(&self) -> usize {
        self.coefficients.len() + usize::from(self.law.has_scale())
    }
}
