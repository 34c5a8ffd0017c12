//! Aalen–Johansen: how likely each of several endings is by a time, when one prevents the others.

use std::collections::BTreeMap;

use serde::Serialize;

use super::km::Interval;
use super::time::{SurvivalError, Time, check_confidence};
use crate::special::two_sided;

/// One record that ended in one of several ways, or has not ended.
#[derive(Debug, Clone, PartialEq)]
pub struct Ending {
    /// When it ended, or up to when it was seen not to have ended.
    pub time: f64,
    /// When observation began, if later than the start; 0 otherwise.
    pub entry: f64,
    /// How it ended; `None` when it is still going.
    pub cause: Option<String>,
}

impl Ending {
    /// It ended at `time` in this way.
    pub fn by(cause: impl Into<String>, time: f64) -> Self {
        Ending { time, entry: 0.0, cause: Some(cause.into()) }
    }

    /// It had not ended at `time`; nothing is known after that.
    pub fn open(time: f64) -> Self {
        Ending { time, entry: 0.0, cause: None }
    }

    /// The same record, under observation only from `entry` on.
    #[must_use]
    pub fn entered(self, entry: f64) -> Self {
        Ending { entry, ..self }
    }

    fn check(&self, row: usize) -> Result<(), SurvivalError> {
        Time::exact(self.time).entered(self.entry).check(row)
    }
}

/// The incidence of one cause just after one time at which it came.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct IncidenceStep {
    /// The time.
    pub time: f64,
    /// How many were under observation and had not ended just before.
    pub at_risk: usize,
    /// How many ended for this cause at this time.
    pub events: usize,
    /// Probability of having ended for this cause up to and including this time \[0 to 1\].
    pub incidence: f64,
    /// Its standard error; `None` where the incidence is 0 or 1.
    pub se: Option<f64>,
    /// Lower limit of the interval; `None` where the incidence is 0 or 1.
    pub lower: Option<f64>,
    /// Upper limit.
    pub upper: Option<f64>,
}

/// The cumulative incidence of one cause.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Incidence {
    /// The cause.
    pub cause: String,
    /// How many records ended for it.
    pub events: usize,
    /// One step for each time at which it came; the incidence is 0 before and constant between.
    pub steps: Vec<IncidenceStep>,
}

impl Incidence {
    /// Probability of having ended for this cause by `t`. Beyond the last record it stays where it
    /// was, although nothing is known there.
    pub fn at(&self, t: f64) -> f64 {
        self.steps.iter().take_while(|s| s.time <= t).last().map_or(0.0, |s| s.incidence)
    }
}

/// Cumulative incidences of competing causes (Aalen & Johansen 1978, Scand. J. Statist.
/// 5:141–150).
///
/// With *n* at risk and *d* endings at a time, *d*ₖ of them for cause *k*, and *S* the probability
/// of not having ended just before, the incidence of *k* rises by *S·d*ₖ/*n*. Reading one cause by
/// Kaplan–Meier with the others as “still going” would claim too much.
///
/// The standard error is of Greenwood's type: the endings at each time are taken as multinomial
/// among those at risk, and carried through the product (Andersen, Borgan, Gill & Keiding 1993,
/// section IV.4, from memory). With one cause it is Greenwood's formula; without open records it is
/// that of a share, √(*F*(1 − *F*)/*n*).
#[derive(Debug, Clone, PartialEq)]
pub struct AalenJohansen {
    /// Number of records.
    pub n: usize,
    /// One curve for each cause, in alphabetical order.
    pub causes: Vec<Incidence>,
}

impl AalenJohansen {
    /// Fits the incidences. Endings come before still-open records of the same time; a record with
    /// delayed entry counts as at risk after its entry. `interval` is the scale of the survival
    /// 1 − *F*, as for Kaplan–Meier, so that one cause alone gives the same limits.
    ///
    /// # Errors
    /// No records, impossible times, a confidence outside (0, 1), or no record that has ended.
    pub fn fit(
        records: &[Ending],
        confidence: f64,
        interval: Interval,
    ) -> Result<Self, SurvivalError> {
        check_rows(records.iter(), confidence)?;
        let causes = causes(records.iter())?;
        let records: Vec<&Ending> = records.iter().collect();
        Ok(Self::of(&records, &causes, two_sided(confidence), interval))
    }

    fn of(records: &[&Ending], causes: &[&str], z: f64, interval: Interval) -> Self {
        let mut curves: Vec<Incidence> = causes
            .iter()
            .map(|cause| Incidence { cause: (*cause).to_owned(), events: 0, steps: Vec::new() })
            .collect();
        let mut here = Moments::new(causes.len());
        for counts in counts(records, causes) {
            here.pass(&counts);
            for (k, &events) in counts.by_cause.iter().enumerate().filter(|(_, d)| **d > 0) {
                let (time, at_risk) = (counts.time, counts.at_risk);
                let (incidence, variance) = (here.incidence[k], here.variance[k]);
                curves[k].events += events;
                let step = step(time, (at_risk, events), incidence, variance, z, interval);
                curves[k].steps.push(step);
            }
        }
        AalenJohansen { n: records.len(), causes: curves }
    }
}

/// The probability of each state and how uncertain it is.
struct Moments {
    survival: f64,
    survival_variance: f64,
    incidence: Vec<f64>,
    variance: Vec<f64>,
    /// Covariance of each incidence with the survival.
    covariance: Vec<f64>,
}

impl Moments {
    fn new(causes: usize) -> Self {
        let zero = || vec![0.0; causes];
        Moments {
            survival: 1.0,
            survival_variance: 0.0,
            incidence: zero(),
            variance: zero(),
            covariance: zero(),
        }
    }

    fn pass(&mut self, counts: &Counts) {
        let n = counts.at_risk as f64;
        let ended = counts.by_cause.iter().sum::<usize>() as f64 / n;
        // Variance of a share of n, for each unit of p(1 − p).
        let scale = self.survival * self.survival / n;
        for (k, &events) in counts.by_cause.iter().enumerate() {
            let share = events as f64 / n;
            self.variance[k] += 2.0 * share * self.covariance[k]
                + share * share * self.survival_variance
                + scale * share * (1.0 - share);
            self.covariance[k] = (1.0 - ended)
                * (self.covariance[k] + share * self.survival_variance - scale * share);
            self.incidence[k] += self.survival * share;
        }
        self.survival_variance =
            (1.0 - ended).powi(2) * self.survival_variance + scale * ended * (1.0 - ended);
        self.survival *= 1.0 - ended;
    }
}

struct Counts {
    time: f64,
    at_risk: usize,
    by_cause: Vec<usize>,
}

/// For each different time of an ending: how many at risk, and how many endings of each cause.
fn counts(records: &[&Ending], causes: &[&str]) -> Vec<Counts> {
    let sorted = |wanted: &dyn Fn(&Ending) -> Option<f64>| {
        let mut times: Vec<f64> = records.iter().filter_map(|r| wanted(r)).collect();
        times.sort_by(f64::total_cmp);
        times
    };
    let leaving = sorted(&|r| Some(r.time));
    let entering = sorted(&|r| Some(r.entry).filter(|e| *e > 0.0));
    let mut ended: Vec<(f64, usize)> = (records.iter())
        .filter_map(|r| Some((r.time, causes.binary_search(&r.cause.as_deref()?).ok()?)))
        .collect();
    ended.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut counts: Vec<Counts> = Vec::new();
    let (mut gone, mut entered) = (0, 0);
    for same in ended.chunk_by(|a, b| a.0 == b.0) {
        let time = same[0].0;
        gone += leaving[gone..].iter().take_while(|t| **t < time).count();
        entered += entering[entered..].iter().take_while(|t| **t < time).count();
        let mut by_cause = vec![0; causes.len()];
        same.iter().for_each(|(_, k)| by_cause[*k] += 1);
        let at_risk = records.len() - gone - (entering.len() - entered);
        counts.push(Counts { time, at_risk, by_cause });
    }
    counts
}

fn step(
    time: f64,
    (at_risk, events): (usize, usize),
    incidence: f64,
    variance: f64,
    z: f64,
    interval: Interval,
) -> IncidenceStep {
    let rest = 1.0 - incidence;
    if rest <= 1e-12 || incidence <= 0.0 {
        // A standard error of 0 would claim that nothing else can happen. The incidence is still 0
        // at an ending of its own where all of few early entered had ended otherwise before.
        let incidence = if incidence <= 0.0 { 0.0 } else { 1.0 };
        let (se, lower, upper) = (None, None, None);
        return IncidenceStep { time, at_risk, events, incidence, se, lower, upper };
    }
    let se = variance.max(0.0).sqrt();
    let (least, most) = interval.limits(rest, se / rest, z);
    let (lower, upper) = (Some((1.0 - most).max(0.0)), Some(1.0 - least));
    IncidenceStep { time, at_risk, events, incidence, se: Some(se), lower, upper }
}

fn check_rows<'a>(
    records: impl Iterator<Item = &'a Ending>,
    confidence: f64,
) -> Result<(), SurvivalError> {
    check_confidence(confidence)?;
    let mut rows = 0;
    for record in records {
        rows += 1;
        record.check(rows)?;
    }
    if rows == 0 { Err(SurvivalError::Empty) } else { Ok(()) }
}

/// The different causes in alphabetical order.
fn causes<'a>(records: impl Iterator<Item = &'a Ending>) -> Result<Vec<&'a str>, SurvivalError> {
    let mut causes: Vec<&str> = records.filter_map(|r| r.cause.as_deref()).collect();
    causes.sort_unstable();
    causes.dedup();
    if causes.is_empty() { Err(SurvivalError::NoEnding) } else { Ok(causes) }
}

/// Cumulative incidences of groups.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CompetingReport {
    /// One for each group, in alphabetical order.
    pub groups: Vec<CompetingGroup>,
}

/// One group's cumulative incidences.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CompetingGroup {
    /// Its name.
    pub group: String,
    /// Number of records.
    pub n: usize,
    /// Every cause of any group, in alphabetical order.
    pub causes: Vec<Incidence>,
}

/// Cumulative incidences for rows of `(group, ending)`.
///
/// # Errors
/// As [`AalenJohansen::fit`]; row numbers count within all rows given.
pub fn competing_report(
    rows: &[(String, Ending)],
    confidence: f64,
    interval: Interval,
) -> Result<CompetingReport, SurvivalError> {
    check_rows(rows.iter().map(|r| &r.1), confidence)?;
    let causes = causes(rows.iter().map(|r| &r.1))?;
    let mut groups = BTreeMap::<&str, Vec<&Ending>>::new();
    for (group, ending) in rows {
        groups.entry(group).or_default().push(ending);
    }
    let z = two_sided(confidence);
    let groups = groups.into_iter().map(|(group, records)| {
        let AalenJohansen { n, causes } = AalenJohansen::of(&records, &causes, z, interval);
        CompetingGroup { group: group.to_owned(), n, causes }
    });
    Ok(CompetingReport { groups: groups.collect() })
}
