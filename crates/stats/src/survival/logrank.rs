//! The log-rank test: do groups differ in their time to event?

use serde::Serialize;

use super::time::{SurvivalError, Time, check_all};
use crate::special::chi_square_tail;

/// The result of the test.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LogRank {
    /// The statistic.
    pub chi_square: f64,
    /// Degrees of freedom: number of groups − 1.
    pub df: u32,
    /// Probability of a statistic as large without any difference (chi-square approximation; with
    /// very few events it is rough).
    pub p: f64,
    /// Events seen in each group.
    #[serde(skip)]
    pub observed: Vec<f64>,
    /// Events expected in each group if there were no difference.
    #[serde(skip)]
    pub expected: Vec<f64>,
}

/// Compares groups; `None` with fewer than two groups or when the events cannot tell them apart
/// (no event while more than one group is under observation).
///
/// Mantel 1966 (Cancer Chemother. Rep. 50:163–170; from memory), hypergeometric variance.
///
/// # Errors
/// Impossible times, or a record between two looks.
pub fn log_rank(groups: &[&[Time]]) -> Result<Option<LogRank>, SurvivalError> {
    for times in groups {
        check_all(times)?;
        if let Some(i) = times.iter().position(|t| !t.is_exact() && !t.is_open()) {
            return Err(SurvivalError::IntervalRecord { row: i + 1 });
        }
    }
    if groups.len() < 2 {
        return Ok(None);
    }
    let k = groups.len();
    let mut sums = Sums::new(k);
    for time in event_times(groups) {
        let at_risk: Vec<f64> = groups.iter().map(|g| count(g, |t| at_risk(t, time))).collect();
        let events: Vec<f64> =
            groups.iter().map(|g| count(g, |t| t.is_exact() && t.left == Some(time))).collect();
        sums.add(&at_risk, &events);
    }
    let difference: Vec<f64> = (0..k - 1).map(|i| sums.observed[i] - sums.expected[i]).collect();
    let variance: Vec<Vec<f64>> =
        sums.variance[..k - 1].iter().map(|row| row[..k - 1].to_vec()).collect();
    let Some(solution) = solve(variance, difference.clone()) else { return Ok(None) };
    let chi_square: f64 = solution.iter().zip(&difference).map(|(a, b)| a * b).sum();
    let df = (k - 1) as u32;
    Ok(Some(LogRank {
        chi_square,
        df,
        p: chi_square_tail(chi_square, df),
        observed: sums.observed,
        expected: sums.expected,
    }))
}

struct Sums {
    observed: Vec<f64>,
    expected: Vec<f64>,
    variance: Vec<Vec<f64>>,
}

impl Sums {
    fn new(k: usize) -> Self {
        Sums { observed: vec![0.0; k], expected: vec![0.0; k], variance: vec![vec![0.0; k]; k] }
    }

    fn add(&mut self, at_risk: &[f64], events: &[f64]) {
        let n: f64 = at_risk.iter().sum();
        let d: f64 = events.iter().sum();
        let spread = if n > 1.0 { d * (n - d) / (n - 1.0) } else { 0.0 };
        for i in 0..at_risk.len() {
            let share = at_risk[i] / n;
            self.observed[i] += events[i];
            self.expected[i] += d * share;
            for (j, other) in at_risk.iter().enumerate() {
                let same = if i == j { 1.0 } else { 0.0 };
                self.variance[i][j] += spread * share * (same - other / n);
            }
        }
    }
}

fn event_times(groups: &[&[Time]]) -> Vec<f64> {
    let mut times: Vec<f64> = groups
        .iter()
        .flat_map(|g| g.iter())
        .filter(|t| t.is_exact())
        .filter_map(|t| t.left)
        .collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    times
}

fn at_risk(t: &Time, time: f64) -> bool {
    t.left.is_some_and(|left| left >= time) && (t.entry == 0.0 || t.entry < time)
}

fn count(group: &[Time], which: impl Fn(&Time) -> bool) -> f64 {
    group.iter().filter(|t| which(t)).count() as f64
}

/// Solves a small symmetric system; `None` when it is singular.
fn solve(mut a: Vec<Vec<f64>>, mut b: Vec<f64>) -> Option<Vec<f64>> {
    let n = b.len();
    for i in 0..n {
        let pivot = (i..n).max_by(|&x, &y| a[x][i].abs().total_cmp(&a[y][i].abs()))?;
        if a[pivot][i].abs() < 1e-12 {
            return None;
        }
        a.swap(i, pivot);
        b.swap(i, pivot);
        let (done, below) = a.split_at_mut(i + 1);
        let (done_b, below_b) = b.split_at_mut(i + 1);
        for (row, value) in below.iter_mut().zip(below_b) {
            let factor = row[i] / done[i][i];
            for (x, y) in row.iter_mut().zip(&done[i]) {
                *x -= factor * y;
            }
            *value -= factor * done_b[i];
        }
    }
    for i in (0..n).rev() {
        let known: f64 = (i + 1..n).map(|c| a[i][c] * b[c]).sum();
        b[i] = (b[i] - known) / a[i][i];
    }
    Some(b)
}

/// The quadratic form b′V⁻b of a covariance matrix V (lower triangle, row by row) that may be
/// singular: directions without variance, in which b is 0 too, are left out.
pub(crate) fn solve_form(v: &mut [f64], b: &mut [f64]) -> f64 {
    let k = b.len();
    let mut form = 0.0;
    for i in 0..k {
        let pivot = v[i * k + i];
        if pivot <= 1e-10 {
            continue;
        }
        form += b[i] * b[i] / pivot;
        for row in i + 1..k {
            let factor = v[row * k + i] / pivot;
            b[row] -= factor * b[i];
            for column in i + 1..=row {
                v[row * k + column] -= factor * v[column * k + i];
            }
        }
    }
    form
}
