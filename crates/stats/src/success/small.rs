//! Few records: priors on the coefficients and on the spread between levels.

use serde::Serialize;

use super::{
    Batch, NextCount, ROW, SuccessError,
    logistic::{Model, Parts},
    rate::next_count,
};
use crate::{
    laplace::{LevelMode, NewRow, Posterior, Summary, posterior},
    model::{Coefficient, Frame},
    prior::{NormalPrior, Priors, SpreadPrior},
};

/// What is believed before the records are seen; what is not named has a flat prior.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Beliefs {
    /// Of coefficients by term and level.
    pub coefficients: Vec<(Coefficient, NormalPrior)>,
    /// Of the standard deviations of random terms by name.
    pub spreads: Vec<(String, SpreadPrior)>,
}

/// A coefficient's posterior.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Believed {
    /// What it is called.
    #[serde(flatten)]
    pub coefficient: Coefficient,
    /// Mean, standard deviation, interval.
    #[serde(flatten)]
    pub summary: Summary,
}

/// A random term's posterior.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BelievedSpread {
    /// The term.
    pub group: String,
    /// Mean, standard deviation and interval of its standard deviation.
    #[serde(flatten)]
    pub summary: Summary,
    /// Its levels: mean and standard deviation.
    pub levels: Vec<LevelMode>,
}

/// A fit with priors.
#[derive(Debug, Clone)]
pub struct Small {
    /// Fixed effects.
    pub effects: Vec<Believed>,
    /// Random terms.
    pub spreads: Vec<BelievedSpread>,
    /// How many independent draws the answer is worth.
    pub effective: f64,
    /// The seed of the draws.
    pub seed: u64,
    /// The draws.
    pub posterior: Posterior,
    /// Which parameter is the spread between rows, if there is one.
    row_spread: Option<usize>,
}

/// Fits with priors: spreads are integrated on a grid, not maximised to 0; `rows` are predicted along
/// with it.
///
/// # Errors
/// As [`super::logistic`] but for separation, which a prior takes care of; priors that cannot be, or
/// for what the model does not have.
pub fn logistic_small(
    batches: &[Batch],
    frame: &Frame,
    model: &Model,
    beliefs: &Beliefs,
    rows: Option<&Frame>,
    confidence: f64,
    seed: u64,
) -> Result<Small, SuccessError> {
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(SuccessError::Confidence(confidence));
    }
    let mut parts = Parts::build(batches, frame, model)?;
    let priors = priors(&parts, beliefs)?;
    let mut start: Vec<f64> =
        priors.coefficients.iter().map(|c| c.map_or(0.0, |c| c.mean)).collect();
    start.extend(priors.spreads.iter().map(|s| s.map_or(0.5, |s| s.median())));
    let wanted: Vec<NewRow> = match rows {
        Some(rows) => parts.new_rows(rows)?,
        None => Vec::new(),
    };
    let found = posterior(&mut parts.marginal, &priors, &start, &wanted, seed)?;
    let p = parts.fixed.width();
    let effects = parts.fixed.coefficients.iter().enumerate();
    let spreads = parts.random.iter().enumerate();
    Ok(Small {
        effects: effects
            .map(|(k, c)| Believed {
                coefficient: c.clone(),
                summary: found.summary(k, confidence),
            })
            .collect(),
        spreads: spreads
            .map(|(t, term)| BelievedSpread {
                group: term.name.clone(),
                summary: found.summary(p + t, confidence),
                levels: found.levels[t].clone(),
            })
            .collect(),
        effective: found.effective,
        seed,
        posterior: found,
        row_spread: parts.random.iter().position(|t| t.name == ROW).map(|t| p + t),
    })
}

/// Priors in the order of the parameters.
fn priors(parts: &Parts, beliefs: &Beliefs) -> Result<Priors, SuccessError> {
    let layout = parts.marginal.layout();
    if layout.random != parts.random.len() {
        return Err(crate::laplace::LaplaceError::PriorOfSlope.into());
    }
    let mut priors = Priors::flat(layout);
    for (coefficient, prior) in &beliefs.coefficients {
        let there = &parts.fixed.coefficients;
        let at = there.iter().position(|c| c == coefficient).ok_or_else(|| {
            let names: Vec<String> = there.iter().map(Coefficient::label).collect();
            SuccessError::PriorOfNothing { what: coefficient.label(), there: names.join(", ") }
        })?;
        priors.coefficients[at] = Some(*prior);
    }
    for (group, prior) in &beliefs.spreads {
        let at = parts.random.iter().position(|t| t.name == *group).ok_or_else(|| {
            let names: Vec<&str> = parts.random.iter().map(|t| t.name.as_str()).collect();
            let there =
                if names.is_empty() { "no random term".to_owned() } else { names.join(", ") };
            SuccessError::PriorOfNothing { what: group.clone(), there }
        })?;
        priors.spreads[at] = Some(*prior);
    }
    priors.check()?;
    Ok(priors)
}

impl Small {
    /// The rate of a predicted row: mean and equal-tailed interval.
    pub fn rate(&self, row: usize, confidence: f64) -> (f64, f64, f64) {
        let mixture = self.mixture(row);
        let tail = 0.5 * (1.0 - confidence);
        let logit = |share: f64| -> f64 {
            let (mut low, mut high) = (-60.0, 60.0);
            for _ in 0..80 {
                let middle = 0.5 * (low + high);
                if below(&mixture, middle) < share { low = middle } else { high = middle }
            }
            0.5 * (low + high)
        };
        let share = |eta: f64| 1.0 / (1.0 + (-eta).exp());
        let mean = super::rate::mean_share(&mixture);
        (mean, share(logit(tail)), share(logit(1.0 - tail)))
    }

    /// The count of the next batch of a predicted row.
    ///
    /// # Errors
    /// A confidence that is none.
    pub fn next_count(
        &self,
        row: usize,
        trials: u64,
        confidence: f64,
    ) -> Result<NextCount, SuccessError> {
        let mut mixture = self.mixture(row);
        if let Some(k) = self.row_spread {
            // The next batch has an effect of its own.
            let draws = mixture.iter_mut().zip(&self.posterior.draws);
            draws.for_each(|((_, v, _), draw)| *v += draw[k] * draw[k]);
        }
        next_count(&mixture, trials, confidence)
    }

    fn mixture(&self, row: usize) -> Vec<(f64, f64, f64)> {
        let draws = self.posterior.predictors[row].iter().zip(&self.posterior.weights);
        draws.map(|((m, v), w)| (*m, *v, *w)).collect()
    }
}

fn below(mixture: &[(f64, f64, f64)], x: f64) -> f64 {
    let part = |(m, v, w): &(f64, f64, f64)| {
        if *v <= 0.0 {
            return if *m < x { *w } else { 0.0 };
        }
        w * 0.5 * libm::erfc((m - x) / (2.0 * v).sqrt())
    };
    mixture.iter().map(part).sum()
}
