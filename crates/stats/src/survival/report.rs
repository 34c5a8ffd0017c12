//! Curves of groups as one serialisable answer, for use from a table.

use serde::Serialize;

use super::curve::Mass;
use super::km::{Interval, KaplanMeier, Step};
use super::logrank::{LogRank, log_rank};
use super::permutation::{Permutation, log_rank_permutation};
use super::quantile::Quantile;
use super::time::{SurvivalError, Time};
use super::turnbull::Turnbull;

/// Kaplan–Meier curves of groups.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KmReport {
    /// One curve for each group, in alphabetical order.
    pub groups: Vec<KmGroup>,
    /// The log-rank test between them; `None` with one group.
    pub test: Option<LogRank>,
    /// The same by permutation; `None` also with more than 40 records in all.
    pub permutation: Option<Permutation>,
}

/// One group's Kaplan–Meier curve.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KmGroup {
    /// Its name.
    pub group: String,
    /// Number of records.
    pub n: usize,
    /// Number of events.
    pub events: usize,
    /// The curve at each event time.
    pub steps: Vec<Step>,
    /// Quantiles asked for.
    pub quantiles: Vec<Quantile>,
}

/// Turnbull curves of groups.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TurnbullReport {
    /// One curve for each group, in alphabetical order.
    pub groups: Vec<TurnbullGroup>,
}

/// One group's Turnbull curve.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TurnbullGroup {
    /// Its name.
    pub group: String,
    /// Log-likelihood at the optimum.
    pub log_likelihood: f64,
    /// Probability in each innermost interval.
    pub masses: Vec<Mass>,
}

/// The seed of drawn arrangements: the same table gives the same answer.
const SEED: u64 = 1;

/// Kaplan–Meier curves, quantiles and log-rank test for rows of `(group, time)`.
///
/// # Errors
/// As [`KaplanMeier::fit`], and a quantile outside (0, 1). Row numbers in messages count within
/// all rows given.
pub fn km_report(
    rows: &[(String, Time)],
    quantiles: &[f64],
    confidence: f64,
    interval: Interval,
) -> Result<KmReport, SurvivalError> {
    if let Some(&q) = quantiles.iter().find(|&&q| !(q > 0.0 && q < 1.0)) {
        return Err(SurvivalError::BadQuantile(q));
    }
    check_rows(rows)?;
    if let Some(i) = rows.iter().position(|(_, t)| !t.is_exact() && !t.is_open()) {
        return Err(SurvivalError::IntervalRecord { row: i + 1 });
    }
    let groups = by_group(rows);
    let mut curves = Vec::new();
    for (group, times) in &groups {
        let km = KaplanMeier::fit(times, confidence, interval)?;
        curves.push(KmGroup {
            group: group.clone(),
            n: km.n,
            events: km.events,
            quantiles: quantiles.iter().map(|&q| km.quantile(q)).collect(),
            steps: km.steps,
        });
    }
    let times: Vec<&[Time]> = groups.iter().map(|(_, t)| t.as_slice()).collect();
    let permutation = log_rank_permutation(&times, SEED)?;
    Ok(KmReport { groups: curves, test: log_rank(&times)?, permutation })
}

/// Turnbull curves for rows of `(group, time)`.
///
/// # Errors
/// As [`Turnbull::fit`]; row numbers count within all rows given.
pub fn turnbull_report(rows: &[(String, Time)]) -> Result<TurnbullReport, SurvivalError> {
    check_rows(rows)?;
    if let Some(i) = rows.iter().position(|(_, t)| t.entry > 0.0) {
        return Err(SurvivalError::EntryWithIntervals { row: i + 1 });
    }
    let groups = by_group(rows).into_iter().map(|(group, times)| {
        let fit = Turnbull::fit(&times)?;
        Ok(TurnbullGroup { group, log_likelihood: fit.log_likelihood, masses: fit.masses })
    });
    Ok(TurnbullReport { groups: groups.collect::<Result<_, SurvivalError>>()? })
}

fn check_rows(rows: &[(String, Time)]) -> Result<(), SurvivalError> {
    if rows.is_empty() {
        return Err(SurvivalError::Empty);
    }
    rows.iter().enumerate().try_for_each(|(i, (_, t))| t.check(i + 1))
}

fn by_group(rows: &[(String, Time)]) -> Vec<(String, Vec<Time>)> {
    let mut groups = std::collections::BTreeMap::<&String, Vec<Time>>::new();
    for (group, time) in rows {
        groups.entry(group).or_default().push(*time);
    }
    groups.into_iter().map(|(group, times)| (group.clone(), times)).collect()
}
