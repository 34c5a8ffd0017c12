//! What all pots of a house share: a hot week, how much dry air counts, how roots fill a pot.
//!
//! Each such effect φ moves ln X of every cycle along known directions mᵢ: ln Xᵢ(φ) ≈ ln Xᵢ + mᵢᵀΔφ.
//! Moving ln X by δ is moving η by −δ, so the derivatives of the cycles' likelihood in η serve.

use super::{DryingFit, ParametricError, PlantCycle};
use crate::dense;
use crate::survival::parametric::{Law, Records, Row};

/// What the cycles say about the shared effects, the plants' own effects taken out: a quadratic
/// φᵀb − ½φᵀAφ around where it was taken.
#[derive(Debug, Clone, PartialEq)]
pub struct SharedInformation {
    n: usize,
    a: Vec<f64>,
    b: Vec<f64>,
}

/// The shared effects with a prior.
#[derive(Debug, Clone, PartialEq)]
pub struct SharedFound {
    /// Mode.
    pub estimate: Vec<f64>,
    /// Covariance, by rows.
    pub covariance: Vec<f64>,
    /// Logarithm of the evidence, up to a constant that does not depend on the prior.
    pub log_evidence: f64,
}

/// Gathers what cycles say about shared effects, at the effects `at` with which their times were
/// counted and with the plants as `fit` found them. `along` holds each cycle's mᵢ as pairs of place
/// and value.
///
/// # Errors
/// Different lengths, impossible times, a plant that is not in the fit, or a direction that is not
/// one of `at`.
pub fn shared_information(
    cycles: &[PlantCycle],
    along: &[Vec<(u32, f64)>],
    fit: &DryingFit,
    law: Law,
    misread: f64,
    at: &[f64],
) -> Result<SharedInformation, ParametricError> {
    let n = at.len();
    if cycles.len() != along.len() {
        return Err(ParametricError::Lengths { times: cycles.len(), rows: along.len() });
    }
    let rows = cycles.iter().enumerate().map(|(i, c)| Row::new(&c.cycle.time(), i + 1));
    let records = Records {
        law,
        rows: rows.collect::<Result<_, _>>()?,
        misread,
        tau: fit.event_scale.ln(),
        scale_free: true,
    };
    let (mut a, mut g) = (vec![0.0; n * n], vec![0.0; n]);
    // By plant: Σw and Σw·m.
    let mut taken: Vec<(f64, std::collections::BTreeMap<u32, f64>)> =
        vec![(0.0, std::collections::BTreeMap::new()); fit.plants.len()];
    for (i, (c, m)) in cycles.iter().zip(along).enumerate() {
        let found = fit.plants.get(c.plant as usize);
        let strange = m.iter().find(|(j, v)| *j as usize >= n || !v.is_finite());
        let Some(found) = found.filter(|_| strange.is_none()) else {
            let what = format!("record {}: plant or direction", i + 1);
            let value = strange.map_or(f64::from(c.plant), |s| f64::from(s.0));
            return Err(ParametricError::BadOption { what, value, expected: "one of those given" });
        };
        let (_, first, second, _) = records.quick(i, found.mean + c.offset);
        let w = (-second).max(0.0);
        let of_plant = &mut taken[c.plant as usize];
        of_plant.0 += w;
        for &(j, v) in m {
            g[j as usize] -= first * v;
            *of_plant.1.entry(j).or_default() += w * v;
            for &(k, u) in m {
                a[j as usize * n + k as usize] += w * v * u;
            }
        }
    }
    let own = fit.plant_sd.powi(-2);
    for (w, sums) in &taken {
        for (&j, v) in sums {
            for (&k, u) in sums {
                a[j as usize * n + k as usize] -= v * u / (w + own);
            }
        }
    }
    let b = dense::times(&a, at).iter().zip(&g).map(|(a, g)| a + g).collect();
    Ok(SharedInformation { n, a, b })
}

impl SharedInformation {
    /// Joins it with a normal prior of this mean and precision matrix (by rows). `None` when the
    /// precision is not positive definite.
    #[must_use]
    pub fn with_prior(&self, mean: &[f64], precision: &[f64]) -> Option<SharedFound> {
        let n = self.n;
        if mean.len() != n || precision.len() != n * n {
            return None;
        }
        let sum: Vec<f64> = self.a.iter().zip(precision).map(|(a, q)| a + q).collect();
        let (whole, prior) =
            (dense::cholesky(&sum, n, 1e-14)?, dense::cholesky(precision, n, 1e-14)?);
        let pulled = dense::times(precision, mean);
        let right: Vec<f64> = self.b.iter().zip(&pulled).map(|(b, q)| b + q).collect();
        let mut estimate = right.clone();
        dense::solve(&whole, n, &mut estimate);
        let half = |l: &[f64]| (0..n).map(|j| l[j * n + j].ln()).sum::<f64>();
        let log_evidence = half(&prior) - half(&whole) - 0.5 * dense::dot(mean, &pulled)
            + 0.5 * dense::dot(&right, &estimate);
        Some(SharedFound { estimate, covariance: dense::inverse(&whole, n), log_evidence })
    }
}

/// Precision matrix (by rows) of n values that each keep a share `keep` of the one before and have
/// standard deviation `sd`: a stationary autoregression.
#[must_use]
pub fn kept_precision(n: usize, keep: f64, sd: f64) -> Vec<f64> {
    let mut q = vec![0.0; n * n];
    let one = 1.0 / (sd * sd * (1.0 - keep * keep));
    for j in 0..n {
        let inner = j > 0 && j + 1 < n;
        q[j * n + j] = one * if inner { 1.0 + keep * keep } else { 1.0 };
        if n == 1 {
            q[0] = 1.0 / (sd * sd);
        }
        if j + 1 < n {
            q[j * n + j + 1] = -one * keep;
            q[(j + 1) * n + j] = -one * keep;
        }
    }
    q
}
