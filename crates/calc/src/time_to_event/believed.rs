//! Fits with priors: the file of priors, and what is believed afterwards.

use std::path::Path;

use serde::Deserialize;
use serde_json::{Value, json};
use stats::{
    model::{Fixed, RandomTerm},
    prior::{NormalPrior, PriorError, SpreadPrior},
    survival::parametric::{Beliefs, Posterior},
};

use crate::{Found, Problem, Result, Table, table};

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    coefficients: Vec<OfCoefficient>,
    scale: Option<Spread>,
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
struct OfGroup {
    group: String,
    #[serde(flatten)]
    spread: Spread,
}

#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Spread {
    HalfNormal { scale: f64 },
    Gamma { shape: f64, rate: f64 },
}

impl From<Spread> for SpreadPrior {
    fn from(spread: Spread) -> Self {
        match spread {
            Spread::HalfNormal { scale } => SpreadPrior::HalfNormal { scale },
            Spread::Gamma { shape, rate } => SpreadPrior::Gamma { shape, rate },
        }
    }
}

/// Reads a file of priors for these coefficients and random terms.
///
/// # Errors
/// A file that cannot be read or is not of this form, a number that a prior cannot have, or a name
/// that is not in the model.
pub fn read(path: &Path, fixed: &Fixed, terms: &[RandomTerm]) -> Result<Beliefs> {
    let (text, name) = table::text(path)?;
    let file: File = serde_json::from_str(&text).map_err(|e| {
        Problem::input(
            format!("{name}, row {}: {e}", e.line()),
            "write {\"coefficients\":[{\"term\",\"level\",\"mean\",\"sd\"}], \
             \"scale\":{\"half_normal\":{\"scale\"}}, \
             \"random\":[{\"group\",\"gamma\":{\"shape\",\"rate\"}}]}",
        )
    })?;
    let number = |what: &str, e: &PriorError| {
        Problem::input(format!("{name}, {what}: {e}"), "correct the number")
    };
    let unknown = |what: String, there: Vec<String>| {
        let next = format!("name one of {}", there.join(", "));
        Problem::input(format!("{name}: {what} is not in the model"), next)
    };
    let mut beliefs = Beliefs {
        sum_few: false,
        coefficients: vec![None; fixed.width()],
        scale: file.scale.map(SpreadPrior::from),
        spreads: vec![None; terms.len()],
    };
    for c in file.coefficients {
        let same = |f: &stats::model::Coefficient| f.term == c.term && f.level == c.level;
        let Some(at) = fixed.coefficients.iter().position(same) else {
            let label = |f: &stats::model::Coefficient| match &f.level {
                None => f.term.clone(),
                Some(level) => format!("{} = {level}", f.term),
            };
            return Err(unknown(c.term, fixed.coefficients.iter().map(label).collect()));
        };
        let prior = NormalPrior { mean: c.mean, sd: c.sd };
        prior.check().map_err(|e| number(&c.term, &e))?;
        beliefs.coefficients[at] = Some(prior);
    }
    if let Some(scale) = &beliefs.scale {
        scale.check().map_err(|e| number("scale", &e))?;
    }
    for g in file.random {
        let Some(at) = terms.iter().position(|t| t.name == g.group) else {
            return Err(unknown(g.group, terms.iter().map(|t| t.name.clone()).collect()));
        };
        let prior = SpreadPrior::from(g.spread);
        prior.check().map_err(|e| number(&g.group, &e))?;
        beliefs.spreads[at] = Some(prior);
    }
    Ok(beliefs)
}

/// What is believed, as JSON and as a table.
///
/// # Errors
/// When it cannot be written as JSON.
pub fn report(found: &Posterior, predictions: Vec<Value>) -> Result {
    let mut table =
        Table::new(["term", "level", "estimate", "se", "median", "lower", "upper", "information"]);
    let mut terms = Vec::new();
    for (c, b) in &found.coefficients {
        terms.push(json!({
            "term": c.term, "level": c.level, "estimate": b.mean, "se": b.sd,
            "median": b.median, "lower": b.lower, "upper": b.upper, "information": b.information,
        }));
        table.row(vec![
            c.term.clone().into(),
            json!(c.level),
            b.mean.into(),
            b.sd.into(),
            b.median.into(),
            b.lower.into(),
            b.upper.into(),
            json!(b.information),
        ]);
    }
    let one = (found.terms.len() == 1).then(|| found.terms[0].sd.median);
    let random: Vec<Value> = found
        .terms
        .iter()
        .map(|t| {
            let level = |(level, mean, sd): &(String, f64, f64)| {
                json!({"level": level, "estimate": mean, "se": sd})
            };
            json!({
                "group": t.group, "sd": t.sd.median, "believed": t.sd, "fixed": t.fixed,
                "levels": t.levels.iter().map(level).collect::<Vec<_>>(),
            })
        })
        .collect();
    let scale = found.scale.map_or(1.0, |s| s.median);
    let json = json!({
        "fit": found.law,
        "terms": terms,
        "scale": scale,
        "log_scale": scale.ln(),
        "log_scale_se": null,
        "scale_believed": found.scale,
        "random_sd": one,
        "random": random,
        "log_marginal": found.log_marginal,
        "n": found.n,
        "points": found.points,
        "gradient_norm": found.gradient_norm,
        "predictions": predictions,
    });
    Found::one(&json, table)
}
