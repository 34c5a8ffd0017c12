//! Files of priors, as JSON:
//!
//! ```json
//! {"coefficients": [{"term": "(intercept)", "mean": -1, "sd": 1.5},
//!                   {"term": "mix", "level": "bark", "mean": 0, "sd": 1}],
//!  "random": [{"group": "clone", "half_normal": {"scale": 1}},
//!             {"group": "shelf", "gamma": {"shape": 2, "rate": 4}}]}
//! ```

use std::path::Path;

use serde::Deserialize;
use stats::{
    model::Coefficient,
    prior::{NormalPrior, SpreadPrior},
    success::Beliefs,
};

use crate::{Problem, Result, table};

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    coefficients: Vec<OfCoefficient>,
    #[serde(default)]
    random: Vec<OfGroup>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct OfCoefficient {
    term: String,
    level: Option<String>,
    mean: f64,
    sd: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct OfGroup {
    group: String,
    half_normal: Option<HalfNormal>,
    gamma: Option<Gamma>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct HalfNormal {
    scale: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Gamma {
    shape: f64,
    rate: f64,
}

/// Reads a file of priors.
///
/// # Errors
/// A file that cannot be read, that is not JSON of this form, or a number that a prior cannot have.
pub fn read(path: &Path) -> Result<Beliefs> {
    let (text, name) = table::text(path)?;
    let file: File = serde_json::from_str(&text).map_err(|e| {
        Problem::input(
            format!("{name}, row {}: {e}", e.line()),
            "write {\"coefficients\":[{\"term\",\"level\",\"mean\",\"sd\"}],\
             \"random\":[{\"group\",\"half_normal\":{\"scale\"}}]}, or \"gamma\":{\"shape\",\"rate\"}",
        )
    })?;
    let mut beliefs = Beliefs::default();
    for c in file.coefficients {
        let prior = NormalPrior { mean: c.mean, sd: c.sd };
        prior.check().map_err(|e| number(&name, &c.term, &e))?;
        let coefficient = Coefficient { term: c.term, level: c.level };
        beliefs.coefficients.push((coefficient, prior));
    }
    for g in file.random {
        let prior = match (g.half_normal, g.gamma) {
            (Some(h), None) => SpreadPrior::HalfNormal { scale: h.scale },
            (None, Some(h)) => SpreadPrior::Gamma { shape: h.shape, rate: h.rate },
            _ => {
                return Err(Problem::input(
                    format!("{name}: the prior of {} is not one of half_normal and gamma", g.group),
                    "give one of the two",
                ));
            }
        };
        prior.check().map_err(|e| number(&name, &g.group, &e))?;
        beliefs.spreads.push((g.group, prior));
    }
    Ok(beliefs)
}

fn number(file: &str, what: &str, error: &stats::prior::PriorError) -> Problem {
    Problem::input(format!("{file}, {what}: {error}"), "correct the number")
}
