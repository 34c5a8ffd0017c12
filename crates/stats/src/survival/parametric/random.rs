//! Normal random intercepts on log time: plants of one clone, seeds of one tray.

use serde::Serialize;

use super::error::ParametricError;
use super::fit::{self, Fit, Options};
use super::law::Law;
use super::predict::{self, Point, Predicted};
use super::row::{Part, Row};
use crate::laplace::{self, Derivatives, LevelMode, Marginal, Rows, Settings, ShapeDerivatives};
use crate::model::{Fixed, Frame, RandomTerm};
use crate::special::chi_square_tail;
use crate::survival::Time;

/// A fit with random intercepts.
#[derive(Debug, Clone)]
pub struct RandomFit {
    /// Coefficients and scale; the log-likelihood is the marginal one.
    pub fit: Fit,
    /// The random terms.
    pub terms: Vec<RandomFound>,
    /// The same model without random terms.
    pub log_likelihood_no_random: f64,
    /// Quadrature nodes; 1 is Laplace's approximation.
    pub nodes: usize,
    marginal: Marginal<Records>,
    parameters: Vec<f64>,
    covariance: Vec<f64>,
}

/// A random term as it was found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RandomFound {
    /// Its name.
    pub group: String,
    /// Standard deviation on log time.
    pub sd: f64,
    /// Its standard error; `None` on the boundary.
    pub se: Option<f64>,
    /// Whether the variance is 0.
    pub boundary: bool,
    /// With one term: the chance of so large a gain in likelihood if the variance were 0, by the
    /// half-and-half mixture of chi-squares with 0 and 1 degree of freedom (Self & Liang 1987).
    pub p: Option<f64>,
    /// The mode of each level with its standard error, conditional on the parameters.
    pub levels: Vec<LevelMode>,
}

/// What is fitted.
#[derive(Debug, Clone, Copy)]
pub struct RandomModel<'a> {
    /// The law.
    pub law: Law,
    /// The random terms, intercepts all.
    pub terms: &'a [RandomTerm],
    /// Quadrature nodes for one term; 1 is Laplace's approximation, which several terms need.
    pub nodes: usize,
}

/// Records as the marginal likelihood sees them.
#[derive(Debug, Clone)]
pub(crate) struct Records {
    pub law: Law,
    pub rows: Vec<Row>,
    /// The rate of misread looks, 0 for none.
    pub misread: f64,
    pub tau: f64,
    /// Whether the scale is a shape parameter of the model.
    pub scale_free: bool,
}

impl Records {
    /// ln(e + (1 − 2e)·P), and the share of it that is not due to misread looks; `None` without
    /// them.
    fn clear(&self, row: &Row, log_probability: f64) -> Option<(f64, f64)> {
        if self.misread == 0.0 || !row.is_look() {
            return None;
        }
        let p = (1.0 - 2.0 * self.misread) * log_probability.exp();
        let whole = self.misread + p;
        Some((whole.ln(), p / whole))
    }

    /// The log-likelihood of a row alone.
    pub fn value(&self, row: usize, eta: f64) -> f64 {
        let row = &self.rows[row];
        let value = row.part(self.law, eta, self.tau).value;
        self.clear(row, value).map_or(value, |c| c.0)
    }

    /// The log-likelihood of a row with two derivatives in η, and the second as it would be if it
    /// were known which looks were misread: never positive.
    pub fn quick(&self, row: usize, eta: f64) -> (f64, f64, f64, f64) {
        let row = &self.rows[row];
        let part = row.part(self.law, eta, self.tau);
        match self.clear(row, part.value) {
            None => (part.value, part.eta, part.eta2, part.eta2),
            Some((value, w)) => (
                value,
                w * part.eta,
                w * part.eta2 + w * (1.0 - w) * part.eta * part.eta,
                w * part.eta2,
            ),
        }
    }

    /// All derivatives of a row, also those in τ.
    pub fn whole(&self, row: usize, eta: f64) -> (Derivatives, ShapeDerivatives) {
        let row = &self.rows[row];
        let (part, third, third_tau) = row.third(self.law, eta, self.tau);
        let Some((value, w)) = self.clear(row, part.value) else {
            let Part { value, eta: first, eta2: second, tau, eta_tau, .. } = part;
            return (
                Derivatives { value, first, second, third },
                ShapeDerivatives { value: tau, first: eta_tau, second: third_tau },
            );
        };
        // ln(e + (1 − 2e)·P): w moves as w(1 − w)·ℓ′.
        let d = w * (1.0 - w);
        let of_eta = Derivatives {
            value,
            first: w * part.eta,
            second: w * part.eta2 + d * part.eta * part.eta,
            third: w * third
                + 3.0 * d * part.eta * part.eta2
                + d * (1.0 - 2.0 * w) * part.eta.powi(3),
        };
        let of_tau = ShapeDerivatives {
            value: w * part.tau,
            first: w * part.eta_tau + d * part.tau * part.eta,
            second: w * third_tau
                + d * (part.tau * part.eta2 + 2.0 * part.eta * part.eta_tau)
                + d * (1.0 - 2.0 * w) * part.tau * part.eta * part.eta,
        };
        (of_eta, of_tau)
    }
}

impl Rows for Records {
    fn rows(&self) -> usize {
        self.rows.len()
    }

    fn shapes(&self) -> usize {
        usize::from(self.scale_free)
    }

    fn set_shapes(&mut self, shapes: &[f64]) {
        if let Some(tau) = shapes.first() {
            self.tau = *tau;
        }
    }

    fn derivatives(&self, row: usize, eta: f64) -> Derivatives {
        self.whole(row, eta).0
    }

    fn by_shape(&self, row: usize, eta: f64, out: &mut [ShapeDerivatives]) {
        if let Some(out) = out.first_mut() {
            *out = self.whole(row, eta).1;
        }
    }
}

/// Maximum marginal likelihood. With one term and many nodes the likelihood is exact to rounding.
///
/// # Errors
/// As [`fit::fit`](super::fit()), and random terms with slopes or several memberships under
/// quadrature.
pub fn fit_random(
    times: &[Time],
    fixed: &Fixed,
    model: RandomModel<'_>,
) -> Result<RandomFit, ParametricError> {
    let RandomModel { law, terms, nodes } = model;
    if let Some(slope) = terms.iter().find(|t| t.slope.is_some()) {
        return Err(ParametricError::Slope(slope.name.clone()));
    }
    let plain = fit::fit(times, fixed, law, &Options::default())?;
    let rows = fit::rows(times, fixed)?;
    let records = Records { law, rows, misread: 0.0, tau: 0.0, scale_free: law.has_scale() };
    let mut marginal = Marginal::new(records, fixed, None, terms)?.with_nodes(nodes)?;
    let (p, k) = (fixed.width(), terms.len());
    let mut start = plain.parameters[..p].to_vec();
    start.extend(vec![0.4 * plain.scale; k]);
    start.extend(&plain.parameters[p..]);
    let found = laplace::fit(&mut marginal, &start, Settings::default())?;

    // Coefficients and scale stand before and after the standard deviations.
    let n = found.parameters.len();
    let keep: Vec<usize> = (0..p).chain(p + k..n).collect();
    let whole = &found.covariance;
    let covariance = keep.iter().flat_map(|i| keep.iter().map(move |j| whole[i * n + j])).collect();
    let parameters: Vec<f64> = keep.iter().map(|i| found.parameters[*i]).collect();
    let gain = 2.0 * (found.log_likelihood - plain.log_likelihood);
    let random = terms.iter().enumerate().map(|(t, term)| RandomFound {
        group: term.name.clone(),
        sd: found.parameters[p + t],
        se: found.se(p + t),
        boundary: found.boundary[p + t],
        p: (k == 1).then(|| if gain > 0.0 { 0.5 * chi_square_tail(gain, 1) } else { 1.0 }),
        levels: marginal.modes(t, &found.parameters),
    });
    let null = null_likelihood(times, &plain, law)?;
    Ok(RandomFit {
        terms: random.collect(),
        log_likelihood_no_random: plain.log_likelihood,
        nodes,
        parameters: found.parameters,
        covariance: found.covariance,
        marginal,
        fit: Fit {
            scale: if law.has_scale() { parameters[p].exp() } else { 1.0 },
            parameters,
            covariance,
            log_likelihood: found.log_likelihood,
            log_likelihood_null: null,
            iterations: found.iterations,
            gradient_norm: found.gradient_norm,
            ..plain
        },
    })
}

fn null_likelihood(times: &[Time], plain: &Fit, law: Law) -> Result<f64, ParametricError> {
    if plain.coefficients.len() == 1 {
        return Ok(plain.log_likelihood);
    }
    let alone = Fixed::build(&Frame::new(times.len()), &[])?;
    Ok(fit::fit(times, &alone, law, &Options::default())?.log_likelihood)
}

impl RandomFit {
    /// Predictions: for each row of the design the levels it belongs to in each term, `None` for
    /// one that the fit has not seen, whose own effect is then part of what the next event may do
    /// but not of what is usual.
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
        let (p, n) = (fixed.width(), self.parameters.len());
        let scale = self.fit.law.has_scale().then_some(n - 1);
        (0..fixed.rows())
            .map(|i| {
                let x: Vec<f64> = (0..p).map(|j| fixed.column(j)[i]).collect();
                let random: Vec<(Vec<Option<u32>>, f64)> =
                    levels[i].iter().map(|l| (vec![*l], 0.0)).collect();
                let at =
                    self.marginal.predictor(&self.parameters, &self.covariance, &x, &random)?;
                let mut covariance = [0.0; 9];
                covariance[0] = at.variance;
                if let Some(t) = scale {
                    let with: f64 =
                        x.iter().enumerate().map(|(j, x)| x * self.covariance[j * n + t]).sum();
                    covariance[4] = self.covariance[t * n + t];
                    // The modes' own dependence on the scale is left out; never beyond what two
                    // variances allow.
                    let most = (covariance[0] * covariance[4]).sqrt();
                    covariance[1] = with.clamp(-most, most);
                    covariance[3] = covariance[1];
                }
                let point =
                    Point { eta: at.mean, tau: self.fit.log_scale().0, kappa: None, covariance };
                Ok(predict::row(
                    self.fit.law,
                    &point,
                    at.unseen,
                    quantiles,
                    given_after,
                    confidence,
                ))
            })
            .collect()
    }
}
