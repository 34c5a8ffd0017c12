//! Logistic models with random effects.

use serde::Serialize;

use super::{Batch, Binomial, SuccessError, separation};
use crate::{
    laplace::{Fit, LevelMode, Marginal, Settings, fit},
    model::{Coefficient, Fixed, Frame, RandomSpec, RandomTerm, Term},
    special::chi_square_tail,
};

/// What is fitted: the logarithm of the odds as a sum of fixed and random terms.
#[derive(Debug, Clone, PartialEq)]
pub struct Model {
    /// The fixed part, with an intercept.
    pub terms: Vec<Term>,
    /// Random terms, crossed, nested or of several memberships.
    pub random: Vec<RandomSpec>,
    /// Whether each row has a random effect of its own: batches differ by more than chance.
    pub overdispersion: bool,
    /// Quadrature nodes: 1 is Laplace's approximation; more need exactly one random intercept.
    pub nodes: usize,
    /// Whether each random term is tested against having no spread (fits once more for each).
    pub test_spread: bool,
}

impl Default for Model {
    fn default() -> Self {
        Model {
            terms: Vec::new(),
            random: Vec::new(),
            overdispersion: false,
            nodes: 1,
            test_spread: false,
        }
    }
}

/// The name of the random effect of each row.
pub const ROW: &str = "(row)";

/// A coefficient with its standard error.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Effect {
    /// What it is called.
    #[serde(flatten)]
    pub coefficient: Coefficient,
    /// On the scale of log odds.
    pub estimate: f64,
    /// From the observed information.
    pub se: Option<f64>,
}

/// A random term of a fit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spread {
    /// The term as it was written; [`ROW`] for overdispersion.
    pub group: String,
    /// Standard deviation between levels, on the scale of log odds.
    pub sd: f64,
    /// Its standard error; none at 0.
    pub se: Option<f64>,
    /// Whether the spread, or a direction of it, is 0.
    pub boundary: bool,
    /// The random slope.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slope: Option<SlopeSpread>,
    /// The test against no spread; for a slope, against a spread of the intercept alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub test: Option<SpreadTest>,
    /// Effects of the levels: the mode, with a standard error conditional on the parameters.
    pub levels: Vec<LevelMode>,
}

/// The spread of a random slope.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SlopeSpread {
    /// On what.
    pub covariate: String,
    /// Standard deviation between levels.
    pub sd: f64,
    /// Correlation with the intercept; none when either spread is 0.
    pub correlation: Option<f64>,
}

/// A likelihood ratio test of a spread that may be 0.
///
/// On the boundary the statistic follows a half-and-half mixture of chi-square distributions with k and
/// k + 1 degrees of freedom (Self & Liang 1987, JASA 82:605–610; from memory): 0 and 1 for an
/// intercept, 1 and 2 for a slope.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SpreadTest {
    /// Twice the difference of the log-likelihoods.
    pub chi_square: f64,
    /// Probability of as much or more without the spread.
    pub p: f64,
}

/// A fitted model.
#[derive(Debug, Clone)]
pub struct Logistic {
    /// Fixed effects.
    pub effects: Vec<Effect>,
    /// Random terms.
    pub spreads: Vec<Spread>,
    /// With the binomial coefficients.
    pub log_likelihood: f64,
    /// Norm of the gradient at the optimum.
    pub gradient_norm: f64,
    /// Steps of the optimiser.
    pub iterations: usize,
    pub(super) parts: Parts,
    pub(super) optimum: Fit,
}

/// The model as columns.
#[derive(Debug, Clone)]
pub(super) struct Parts {
    pub frame: Frame,
    pub fixed: Fixed,
    pub specs: Vec<Option<RandomSpec>>,
    pub random: Vec<RandomTerm>,
    pub marginal: Marginal<Binomial>,
}

/// Standard deviations that no collection has: e^±15 is one in three million.
const TOO_FAR: f64 = 15.0;

/// Fits by maximum likelihood.
///
/// # Errors
/// Batches that cannot be, a design that cannot be made, separation, spreads without bound, and an
/// optimum that is not reached.
pub fn logistic(batches: &[Batch], frame: &Frame, model: &Model) -> Result<Logistic, SuccessError> {
    let mut parts = Parts::build(batches, frame, model)?;
    let mut start = separation::plain(batches, &parts.fixed, frame, &model.terms)?;
    start.extend(parts.start_of_spreads());
    let optimum = fit(&mut parts.marginal, &start, Settings::default());
    let optimum = match optimum {
        Ok(optimum) => optimum,
        Err(error) => {
            // Was it that a spread runs away? The effects at a large one tell.
            return Err(parts.runaway(&start).unwrap_or(error.into()));
        }
    };
    let spreads = parts.spreads(&optimum);
    if let Some(far) = spreads.iter().find(|s| s.sd > TOO_FAR) {
        return Err(SuccessError::Unbounded { term: far.group.clone(), sd: far.sd });
    }
    let effects = parts.effects(&optimum);
    let mut fitted = Logistic {
        effects,
        spreads,
        log_likelihood: optimum.log_likelihood,
        gradient_norm: optimum.gradient_norm,
        iterations: optimum.iterations,
        parts,
        optimum,
    };
    if model.test_spread {
        for t in 0..fitted.spreads.len() {
            // A smaller model that cannot be fitted leaves the term untested.
            fitted.spreads[t].test = fitted.test(batches, frame, model, t).ok();
        }
    }
    Ok(fitted)
}

impl Parts {
    pub fn build(batches: &[Batch], frame: &Frame, model: &Model) -> Result<Parts, SuccessError> {
        if batches.len() != frame.rows() {
            return Err(SuccessError::Lengths { batches: batches.len(), rows: frame.rows() });
        }
        for (i, b) in batches.iter().enumerate() {
            if b.successes > b.trials {
                let (successes, trials) = (b.successes, b.trials);
                return Err(SuccessError::TooManySuccesses { row: i + 1, successes, trials });
            }
        }
        let fixed = Fixed::build(frame, &model.terms)?;
        if batches.iter().all(|b| b.trials == 0) {
            return Err(SuccessError::NoTrials);
        }
        fixed.check_independent()?;
        let mut random = Vec::new();
        let mut specs = Vec::new();
        for spec in &model.random {
            let term = RandomTerm::build(frame, spec)?;
            if let [level] = term.levels.as_slice() {
                return Err(SuccessError::OneLevel { term: term.name, level: level.clone() });
            }
            random.push(term);
            specs.push(Some(spec.clone()));
        }
        if model.overdispersion {
            random.push(rows(batches.len()));
            specs.push(None);
        }
        let marginal = Marginal::new(Binomial::new(batches), &fixed, None, &random)?;
        let marginal = marginal.with_nodes(model.nodes)?;
        Ok(Parts { frame: frame.clone(), fixed, specs, random, marginal })
    }

    pub fn start_of_spreads(&self) -> Vec<f64> {
        let of = |t: &RandomTerm| if t.width() == 1 { vec![0.5] } else { vec![0.5, 0.0, 0.3] };
        self.random.iter().flat_map(of).collect()
    }

    fn effects(&self, optimum: &Fit) -> Vec<Effect> {
        let named = self.fixed.coefficients.iter().enumerate();
        named
            .map(|(k, c)| Effect {
                coefficient: c.clone(),
                estimate: optimum.parameters[k],
                se: optimum.se(k),
            })
            .collect()
    }

    fn spreads(&self, optimum: &Fit) -> Vec<Spread> {
        let spread = |(t, term): (usize, &RandomTerm)| {
            let range = self.marginal.parameters_of(t);
            let theta = &optimum.parameters[range.clone()];
            let slope = term.slope.as_ref().map(|(covariate, _)| {
                let sd = theta[1].hypot(theta[2]);
                let correlation = (theta[0] > 0.0 && sd > 0.0).then(|| theta[1] / sd);
                SlopeSpread { covariate: covariate.clone(), sd, correlation }
            });
            Spread {
                group: term.name.clone(),
                sd: theta[0],
                se: optimum.se(range.start),
                boundary: range.clone().any(|k| optimum.boundary[k]),
                slope,
                test: None,
                levels: self.marginal.modes(t, &optimum.parameters),
            }
        };
        self.random.iter().enumerate().map(spread).collect()
    }

    /// The term whose spread the likelihood would have beyond all bounds, if there is one.
    fn runaway(&mut self, start: &[f64]) -> Option<SuccessError> {
        let p = self.fixed.width();
        for t in 0..self.random.len() {
            let at = self.marginal.parameters_of(t).start;
            let mut value = |sd: f64| {
                let mut place = start.to_vec();
                place[at] = sd;
                self.marginal.evaluate(&place, None)
            };
            let (near, far) = (value(TOO_FAR), value(2.0 * TOO_FAR));
            if at >= p && far? > near? {
                let term = self.random[t].name.clone();
                return Some(SuccessError::Unbounded { term, sd: TOO_FAR });
            }
        }
        None
    }
}

/// A random effect for each row.
fn rows(n: usize) -> RandomTerm {
    RandomTerm {
        name: ROW.to_owned(),
        levels: (1..=n).map(|i| i.to_string()).collect(),
        index: (0..n as u32).collect(),
        members: 1,
        slope: None,
    }
}

impl Logistic {
    /// Compares with the model in which a random term has no spread, or only one of its intercept.
    fn test(
        &self,
        batches: &[Batch],
        frame: &Frame,
        model: &Model,
        t: usize,
    ) -> Result<SpreadTest, SuccessError> {
        let mut smaller = Model { test_spread: false, ..model.clone() };
        let slope = match self.parts.specs.get(t) {
            Some(Some(RandomSpec::Slope { group, .. })) => {
                smaller.random[t] = RandomSpec::Intercept(group.clone());
                true
            }
            Some(Some(_)) => {
                smaller.random.remove(t);
                false
            }
            _ => {
                smaller.overdispersion = false;
                false
            }
        };
        if smaller.random.is_empty() && !smaller.overdispersion {
            smaller.nodes = 1;
        }
        let without = logistic(batches, frame, &smaller)?.log_likelihood;
        let chi_square = (2.0 * (self.log_likelihood - without)).max(0.0);
        let tail = |df: u32| match df {
            // All of it lies at 0.
            0 => f64::from(u8::from(chi_square <= 0.0)),
            df => chi_square_tail(chi_square, df),
        };
        let k = u32::from(slope);
        Ok(SpreadTest { chi_square, p: 0.5 * (tail(k) + tail(k + 1)) })
    }
}
