//! What plants were scored for a trait, drawn towards the mean as far as few scores ask for.

use std::collections::BTreeMap;

use journal::{Reader, SubjectKind, Uid};
use serde::Serialize;

use crate::Result;

/// Heritability of one score, and how alike two scores of one clone are: common practice, no source.
const ONE: f64 = 0.35;
const REPEATED: f64 = 0.5;
/// A family of so many scored seedlings tells something of a spread.
const FAMILY: usize = 15;

/// A clone's score.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Score {
    /// Mean of its scores as they were written.
    pub raw: f64,
    /// The same drawn towards the mean of all.
    pub value: f64,
    /// How many scores.
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

/// Reads the scores of a trait; of none where it is empty.
pub(super) fn scores(reader: &Reader<'_>, aim: &str) -> Result<Scored> {
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
    let mut families: BTreeMap<String, usize> = BTreeMap::new();
    for uid in sums.keys() {
        if let Some(clone) = reader.clone_by_uid(*uid)?
            && let Some(parents) = reader.claimed(clone.id, "parents")?
        {
            *families.entry(parents.to_string()).or_default() += 1;
        }
    }
    let of = sums.iter().map(|(uid, s)| {
        let (n, raw) = (s.len() as f64, mean(s));
        let weight = n * ONE / (1.0 + (n - 1.0) * REPEATED);
        (*uid, Score { raw, value: all + weight * (raw - all), n: s.len() })
    });
    Ok(Scored {
        of: of.collect(),
        spread,
        families: families.values().filter(|n| **n >= FAMILY).count(),
    })
}

fn mean(all: &[f64]) -> f64 {
    if all.is_empty() { 0.0 } else { all.iter().sum::<f64>() / all.len() as f64 }
}
