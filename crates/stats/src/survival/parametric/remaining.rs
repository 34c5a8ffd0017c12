//! What goes on now, when it will end; and how long it usually takes, without further sums.

use super::error::ParametricError;
use super::law::Law;
use super::predict::{self, Next};
use super::small::{Posterior, normals_quantile};
use crate::model::Fixed;

/// Groups of like scales over which a mixture is summed.
const SCALES: usize = 10;
/// Places of η for each of them.
const PLACES: usize = 32;
/// Standard deviations to either side that are summed over.
const REACH: f64 = 4.5;

/// What is left of an event that has not come yet, as it is believed now.
#[derive(Debug, Clone)]
pub struct Remaining {
    law: Law,
    /// η, τ and weight.
    parts: Vec<(f64, f64, f64)>,
    /// How old it may be.
    ages: Vec<f64>,
    /// ln of the chance to have become so old, on average over the ages, for each part.
    so_old: Vec<f64>,
}

impl Posterior {
    /// Where the typical time (the median) of the first row of a design lies: middle and limits.
    /// Levels that are not given are at 0: the typical one. Exact in the mixture of normals that
    /// this posterior is.
    ///
    /// # Errors
    /// A confidence out of range, or a design of other columns.
    pub fn typical(
        &self,
        fixed: &Fixed,
        levels: &[Option<u32>],
        confidence: f64,
    ) -> Result<[f64; 3], ParametricError> {
        self.passed_by(fixed, levels, 0.5, confidence)
    }

    /// The time by which the event of the first row of a design comes with a chance (above 0, below
    /// 1), as far as that is known: lower limit, middle, upper limit. Levels that are not given are at
    /// 0: the typical one. Over many chances it is the curve of such events, with a band. Exact in
    /// the mixture of normals that this posterior is.
    ///
    /// # Errors
    /// A confidence or a chance out of range, or a design of other columns.
    pub fn passed_by(
        &self,
        fixed: &Fixed,
        levels: &[Option<u32>],
        chance: f64,
        confidence: f64,
    ) -> Result<[f64; 3], ParametricError> {
        predict::check(&[chance], None, confidence)?;
        let middle = self.law.quantile(chance);
        let parts: Vec<(f64, f64, f64)> = self
            .normals(&self.row(fixed)?, levels, false)
            .into_iter()
            .map(|(eta, sd, tau, weight)| (eta + tau.exp() * middle, sd, weight))
            .collect();
        let tail = 0.5 * (1.0 - confidence);
        Ok([tail, 0.5, 1.0 - tail].map(|p| normals_quantile(&parts, p).exp()))
    }

    /// What is left of the event of the first row of a design, of which nothing had come by an age
    /// that is one of `ages`, each as likely before anything was seen. Unlike
    /// [`predict`](Self::predict) it takes the records of this very event as part of the fit: that
    /// nothing has come so far is then known already and counts only once. An age of 0 is an event
    /// that begins now, as of a record that took no part.
    ///
    /// # Errors
    /// No age or a negative one, or a design of other columns.
    pub fn remaining(
        &self,
        fixed: &Fixed,
        levels: &[Option<u32>],
        ages: &[f64],
    ) -> Result<Remaining, ParametricError> {
        for age in ages.iter().copied().chain(ages.is_empty().then_some(f64::NAN)) {
            predict::check(&[], Some(age), 0.5)?;
        }
        let normals = self.normals(&self.row(fixed)?, levels, true);
        let parts = gathered(&normals);
        let so_old = parts.iter().map(|p| log_mean(self.law, *p, ages, 0.0)).collect();
        Ok(Remaining { law: self.law, parts, ages: ages.to_vec(), so_old })
    }

    fn row(&self, fixed: &Fixed) -> Result<Vec<f64>, ParametricError> {
        if fixed.width() != self.width() || fixed.rows() == 0 {
            return Err(ParametricError::Lengths { times: self.width(), rows: fixed.width() });
        }
        Ok((0..fixed.width()).map(|j| fixed.column(j)[0]).collect())
    }
}

/// Normals of η as weights on few places, for few groups of like scales: the mean scale of each group
/// and the mean of each place are kept.
fn gathered(normals: &[(f64, f64, f64, f64)]) -> Vec<(f64, f64, f64)> {
    let mut sorted = normals.to_vec();
    sorted.sort_by(|a, b| a.2.total_cmp(&b.2));
    let all: f64 = sorted.iter().map(|n| n.3).sum();
    let mut groups: Vec<Vec<(f64, f64, f64, f64)>> = vec![Vec::new(); SCALES];
    let mut before = 0.0;
    for normal in sorted {
        let group = SCALES as f64 * (before + 0.5 * normal.3) / all;
        groups[(group as usize).min(SCALES - 1)].push(normal);
        before += normal.3;
    }
    let mut parts = Vec::new();
    for group in groups.iter().filter(|g| !g.is_empty()) {
        let weight: f64 = group.iter().map(|n| n.3).sum();
        let tau = group.iter().map(|n| n.3 * n.2).sum::<f64>() / weight;
        let ends = |sign: f64| group.iter().map(move |p| p.0 + sign * REACH * p.1);
        let low = ends(-1.0).fold(f64::INFINITY, f64::min);
        let step = (ends(1.0).fold(f64::NEG_INFINITY, f64::max) - low) / PLACES as f64;
        let mut sums = vec![(0.0, 0.0); PLACES];
        for (mean, sd, _, weight) in group {
            for k in 0..=2 * PLACES {
                let z = REACH * (k as f64 / PLACES as f64 - 1.0);
                let w = weight * (-0.5 * z * z).exp();
                let eta = mean + sd * z;
                let place = if step > 0.0 { ((eta - low) / step) as usize } else { 0 };
                let sum = &mut sums[place.min(PLACES - 1)];
                *sum = (sum.0 + w, sum.1 + w * eta);
            }
        }
        let of_group: f64 = sums.iter().map(|s| s.0).sum();
        let full = sums.into_iter().filter(|s| s.0 > 0.0);
        parts.extend(full.map(|(w, eta)| (eta / w, tau, weight * w / of_group / all)));
    }
    parts.retain(|p: &(f64, f64, f64)| p.2 > 1e-9);
    parts
}

/// ln of the mean chance to be still going `more` after each of the ages.
fn log_mean(law: Law, (eta, tau, _): (f64, f64, f64), ages: &[f64], more: f64) -> f64 {
    let log = |age: &f64| match age + more {
        t if t > 0.0 => law.log_survival((t.ln() - eta) / tau.exp()).value,
        _ => 0.0,
    };
    let logs: Vec<f64> = ages.iter().map(log).collect();
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    top + (logs.iter().map(|l| (l - top).exp()).sum::<f64>() / logs.len() as f64).ln()
}

impl Remaining {
    /// The chance that the event has not come after a further time \[from 0\].
    #[must_use]
    pub fn beyond(&self, more: f64) -> f64 {
        let each = self.parts.iter().zip(&self.so_old);
        each.map(|(p, old)| p.2 * (log_mean(self.law, *p, &self.ages, more) - old).exp()).sum()
    }

    /// The further time by which it has come with this chance \[0 to 1, both excluded\].
    #[must_use]
    pub fn quantile(&self, chance: f64) -> f64 {
        let middle = self.parts.iter().map(|p| p.0 * p.2).sum::<f64>().exp();
        let (mut low, mut high) = (0.0, middle);
        for _ in 0..60 {
            if self.beyond(high) < 1.0 - chance {
                break;
            }
            (low, high) = (high, 2.0 * high);
        }
        for _ in 0..60 {
            let mid = 0.5 * (low + high);
            if self.beyond(mid) > 1.0 - chance {
                low = mid;
            } else {
                high = mid;
            }
            if high - low < 1e-6 * (1.0 + high) {
                break;
            }
        }
        0.5 * (low + high)
    }

    /// Median and limits of the further time.
    ///
    /// # Errors
    /// A confidence out of range.
    pub fn next(&self, confidence: f64) -> Result<Next, ParametricError> {
        predict::check(&[], None, confidence)?;
        let tail = 0.5 * (1.0 - confidence);
        Ok(Next {
            median: Some(self.quantile(0.5)),
            lower: Some(self.quantile(tail)),
            upper: Some(self.quantile(1.0 - tail)),
        })
    }
}
