//! What plants were scored for a trait, and what that makes of their breeding values and of those of
//! their relatives.
//!
//! An animal model at given variances: a score is the mean of all, the breeding value, a lasting effect
//! of the clone and luck. Parents are judged by their seedlings as well, and plants that nobody scored
//! by their kin.

use std::collections::{BTreeMap, BTreeSet};

use journal::{Reader, SubjectKind, Uid};
use serde::Serialize;
use stats::{
    model::Fixed,
    pedigree::{Equations, Given, Lines, Options, PedigreeError, Records},
};

use super::facts::in_order;
use crate::{AskError, Result, parentage::pedigree};

/// Heritability of one score: common practice, no source.
pub(super) const ONE: f64 = 0.35;
/// What is lasting in a clone beside its breeding value, as a share of the variance of scores: common
/// practice, no source.
const LASTING: f64 = 0.15;
/// Heritabilities that are weighed once families were scored, and how far off the usual one may be.
const GRID: [f64; 9] = [0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8];
const OFF: f64 = 0.2;
/// Of a plant whose breeding value is no surer than this nothing is said.
const SURE: f64 = 0.02;
/// A family of so many scored seedlings tells something of a spread.
const FAMILY: usize = 15;

/// A clone's score.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Score {
    /// Mean of its scores as they were written; none where it is known by its kin alone.
    pub raw: Option<f64>,
    /// What its seedlings may be expected to be scored, crossed with a usual plant's like.
    pub value: f64,
    /// How much of that is known \[0 to 1\].
    pub reliability: f64,
    /// How many scores of its own.
    pub n: usize,
}

/// All scores of a trait.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scored {
    pub of: BTreeMap<Uid, Score>,
    /// Standard deviation of the clones' means.
    pub spread: Option<f64>,
    /// Families of enough scored seedlings.
    pub families: usize,
    /// Standard deviation of seedlings' scores within those families, together.
    pub within: Option<f64>,
    /// Heritability of one score: the usual one, or as learnt from scored families.
    pub heritability: f64,
    /// Standard deviation of the luck of a single score.
    pub luck: f64,
}

/// Traits that were scored, the most used first.
///
/// # Errors
/// If the record cannot be read.
pub fn traits(reader: &Reader<'_>) -> Result<Vec<String>> {
    let mut count: BTreeMap<String, (usize, String)> = BTreeMap::new();
    for e in reader.all_of_kind("scored")? {
        let Some(name) = e.detail.get("trait").and_then(|v| v.as_str()) else { continue };
        if e.detail.contains_key("score") {
            let slot = count.entry(name.trim().to_lowercase()).or_insert((0, name.to_owned()));
            slot.0 += 1;
        }
    }
    let mut all: Vec<(usize, String)> = count.into_values().collect();
    all.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    Ok(all.into_iter().map(|a| a.1).collect())
}

/// Reads the scores of a trait, of none where it is empty; and values `kin` by them as well.
pub(super) fn scores(
    reader: &Reader<'_>,
    aim: &str,
    kin: impl Iterator<Item = Uid>,
) -> Result<Scored> {
    let mut sums: BTreeMap<Uid, Vec<f64>> = BTreeMap::new();
    let wanted = aim.trim().to_lowercase();
    if !wanted.is_empty() {
        for e in reader.all_of_kind("scored")? {
            let of = e.detail.get("trait").and_then(|v| v.as_str()).unwrap_or("");
            let Some(score) = e.detail.get("score").and_then(serde_json::Value::as_f64) else {
                continue;
            };
            if of.trim().to_lowercase() != wanted {
                continue;
            }
            let clone = match e.subject_kind {
                SubjectKind::Clone => Some(e.subject),
                _ => match e.plant.map(|p| reader.plant_by_id(p)).transpose()?.flatten() {
                    Some(plant) => reader.clone_by_id(plant.clone)?.map(|c| c.uid),
                    None => None,
                },
            };
            if let Some(clone) = clone {
                sums.entry(clone).or_default().push(score);
            }
        }
    }
    let means: Vec<f64> = sums.values().map(|s| mean(s)).collect();
    let all = mean(&means);
    let spread = (means.len() > 2).then(|| {
        let n = means.len() as f64;
        (means.iter().map(|m| (m - all).powi(2)).sum::<f64>() / (n - 1.0)).sqrt()
    });
    let mut families: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for (uid, scores) in &sums {
        if let Some(clone) = reader.clone_by_uid(*uid)?
            && let Some(parents) = reader.claimed(clone.id, "parents")?
        {
            families.entry(parents.to_string()).or_default().push(mean(scores));
        }
    }
    families.retain(|_, scores| scores.len() >= FAMILY);
    let (of, heritability, luck) = values(reader, &sums, kin, families.len() > 1)?;
    let within = within(&families);
    Ok(Scored { of, spread, within, families: families.len(), heritability, luck })
}

/// Breeding values of the clones that were scored and of these, and the heritability they rest on: the
/// usual one, or learnt where there are families to learn from; and the luck of a single score.
fn values(
    reader: &Reader<'_>,
    sums: &BTreeMap<Uid, Vec<f64>>,
    kin: impl Iterator<Item = Uid>,
    learn: bool,
) -> Result<(BTreeMap<Uid, Score>, f64, f64)> {
    let response: Vec<f64> = sums.values().flatten().copied().collect();
    if response.is_empty() {
        return Ok((BTreeMap::new(), ONE, 0.0));
    }
    let wanted: BTreeSet<Uid> = sums.keys().copied().chain(kin).collect();
    let rows = reader.ancestry(&wanted.iter().copied().collect::<Vec<_>>())?;
    let tree = pedigree(&rows)?;
    let (order, parents) = in_order(&rows);
    let inbred = |uid: &Uid| tree.inbreeding(&uid.to_string()).unwrap_or(0.0);
    let number = |p: usize| u32::try_from(p).unwrap_or(u32::MAX);
    let lines = Lines::new(
        parents.iter().map(|pair| pair.map(|p| p.map(number))).collect(),
        order.iter().map(inbred).collect(),
    )
    .map_err(|e| unvalued(&e))?;
    let at: BTreeMap<Uid, u32> =
        order.iter().enumerate().map(|(k, uid)| (*uid, number(k))).collect();
    let (mut individual, mut permanent) = (Vec::new(), Vec::new());
    for (k, (uid, scores)) in sums.iter().enumerate() {
        let place = at.get(uid).copied().unwrap_or(0);
        individual.extend(scores.iter().map(|_| place));
        permanent.extend(scores.iter().map(|_| number(k)));
    }
    // All scores alike, or a single one, tell nothing of how far they lie apart.
    let all = mean(&response);
    let square = response.iter().map(|s| (s - all).powi(2)).sum::<f64>();
    let variance = (square / (response.len() as f64 - 1.0).max(1.0)).max(0.01);
    let given = |h: f64| Given {
        additive: h * variance,
        permanent: LASTING.min(0.95 - h) * variance,
        residual: (1.0 - h - LASTING).max(0.05) * variance,
    };
    let fixed = Fixed::of_columns(response.len(), [])
        .map_err(|e| AskError::field("scores", "", format!("could not be taken together: {e}")))?;
    let records = Records {
        response: &response,
        fixed: &fixed,
        individual: &individual,
        permanent: Some(&permanent),
        weights: None,
    };
    let solve = |h: f64, errors: bool| {
        let equations = Equations::new(&lines, records, given(h), Options::default());
        equations.and_then(|e| e.prepare()?.fit(errors)).map_err(|e| unvalued(&e))
    };
    let mut heritability = ONE;
    if learn {
        // Restricted likelihood times what is believed, over a few heritabilities: their mean.
        let mut logs = Vec::new();
        for h in GRID {
            let likelihood = solve(h, false)?.log_restricted_likelihood.unwrap_or(0.0);
            logs.push((h, likelihood - 0.5 * ((h - ONE) / OFF).powi(2)));
        }
        let top = logs.iter().map(|l| l.1).fold(f64::NEG_INFINITY, f64::max);
        let sum: f64 = logs.iter().map(|l| (l.1 - top).exp()).sum();
        heritability = logs.iter().map(|l| l.0 * (l.1 - top).exp()).sum::<f64>() / sum;
    }
    let fit = solve(heritability, true)?;
    let usual = fit.terms.first().map_or(all, |t| t.estimate);
    let mut out = BTreeMap::new();
    for uid in wanted {
        let Some(effect) = at.get(&uid).and_then(|k| fit.additive.get(*k as usize)) else {
            continue;
        };
        let own = sums.get(&uid);
        let reliability = effect.reliability.unwrap_or(0.0).clamp(0.0, 1.0);
        if own.is_some() || reliability >= SURE {
            out.insert(
                uid,
                Score {
                    raw: own.map(|s| mean(s)),
                    value: usual + effect.estimate,
                    reliability,
                    n: own.map_or(0, Vec::len),
                },
            );
        }
    }
    Ok((out, heritability, given(heritability).residual.sqrt()))
}

fn unvalued(e: &PedigreeError) -> AskError {
    AskError::field("scores", "", format!("could not be made breeding values of: {e}"))
}

/// Standard deviation within families, over all of them.
fn within(families: &BTreeMap<String, Vec<f64>>) -> Option<f64> {
    let (mut squares, mut free) = (0.0, 0.0);
    for scores in families.values() {
        let middle = mean(scores);
        squares += scores.iter().map(|s| (s - middle).powi(2)).sum::<f64>();
        free += scores.len() as f64 - 1.0;
    }
    (free > 0.0).then(|| (squares / free).sqrt()).filter(|sd| *sd > 0.0)
}

fn mean(all: &[f64]) -> f64 {
    if all.is_empty() { 0.0 } else { all.iter().sum::<f64>() / all.len() as f64 }
}
