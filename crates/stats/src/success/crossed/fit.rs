//! The sum over spreads.

use super::{
    Crossed, CrossedBeliefs, CrossedSpread, FEW, Tried,
    points::{Point, Problem},
};
use crate::{
    laplace::LaplaceError,
    prior::SpreadPrior,
    quadrature::even,
    special::{normal_cdf, normal_quantile},
    success::SuccessError,
};

/// Points drawn from the beliefs, and again where these weigh.
const POINTS: usize = 32;
/// A search whose last step is longer has not ended.
const STUCK: f64 = 1e-2;

/// Fits. Without a single record the beliefs come back.
///
/// # Errors
/// Counts, beliefs or places that cannot be, or an approximation that is not reached.
pub fn crossed(tried: &[Tried], beliefs: &CrossedBeliefs) -> Result<Crossed, SuccessError> {
    beliefs.check(tried)?;
    let problem = Problem::new(tried, beliefs);
    let several = problem.of_pair.iter().filter(|r| r.len() > 1).count();
    let mut all: Vec<(String, SpreadPrior, bool)> =
        beliefs.terms.iter().map(|t| (t.name.clone(), t.spread, t.levels < FEW)).collect();
    all.push(("(pair)".to_owned(), beliefs.pair, beliefs.pairs < FEW));
    all.push(("(batch)".to_owned(), beliefs.batch, several < FEW));
    let free: Vec<usize> = (0..all.len()).filter(|k| !all[*k].2).collect();
    let mut points: Vec<Point> = Vec::new();
    let add = |spreads: Vec<f64>, points: &mut Vec<Point>| {
        let found = problem.at(&spreads, points.last());
        // A start far away may lead astray; from the beliefs the way is short.
        let found = found.or_else(|| problem.at(&spreads, None));
        points.extend(found);
    };
    let medians: Vec<f64> = all.iter().map(|a| a.1.median()).collect();
    if free.is_empty() {
        add(medians, &mut points);
    } else {
        let priors: Vec<SpreadPrior> = free.iter().map(|k| all[*k].1).collect();
        let place = |own: &[f64]| {
            let mut spreads = medians.clone();
            free.iter().zip(own).for_each(|(k, s)| spreads[*k] = s.max(1e-3));
            spreads
        };
        for i in 0..POINTS {
            let own: Vec<f64> =
                priors.iter().zip(even(i, free.len())).map(|(p, u)| quantile(p, u)).collect();
            add(place(&own), &mut points);
        }
        let (centre, width) = moments(&points, &free);
        for i in 0..POINTS {
            let own: Vec<f64> = (centre.iter().zip(&width).zip(even(i + POINTS, free.len())))
                .map(|((m, s), u)| (m + s * normal_quantile(u)).exp())
                .collect();
            add(place(&own), &mut points);
        }
        weigh(&mut points, &free, &priors, (&centre, &width));
    }
    if points.is_empty() || points.iter().any(|p| !p.bound.is_finite()) {
        return Err(LaplaceError::NoMode.into());
    }
    let sum: f64 = points.iter().map(|p| p.weight).sum();
    // At spreads that nobody believes in a search may not end; they count for nothing.
    let stuck: f64 = points.iter().filter(|p| p.step > STUCK).map(|p| p.weight / sum).sum();
    if stuck > 0.01 {
        return Err(LaplaceError::NoMode.into());
    }
    points.retain(|p| p.step <= STUCK && p.weight > 1e-6 * sum);
    let sum: f64 = points.iter().map(|p| p.weight).sum();
    points.iter_mut().for_each(|p| p.weight /= sum);
    let last_step = points.iter().fold(0.0f64, |m, p| m.max(p.step));
    let spreads = all.iter().enumerate().map(|(k, (name, _, fixed))| CrossedSpread {
        name: name.clone(),
        mean: points.iter().map(|p| p.weight * p.spreads[k]).sum(),
        fixed: *fixed,
    });
    Ok(Crossed {
        spreads: spreads.collect(),
        effective: 1.0 / points.iter().map(|p| p.weight * p.weight).sum::<f64>(),
        last_step,
        batches: tried.len(),
        width: problem.width,
        offsets: problem.offsets.clone(),
        points,
    })
}

/// A quantile of a belief about a standard deviation.
fn quantile(prior: &SpreadPrior, u: f64) -> f64 {
    match *prior {
        SpreadPrior::HalfNormal { scale } => scale * normal_quantile(0.5 * (1.0 + u)),
        SpreadPrior::Gamma { .. } => {
            // By halving: the distribution function is summed from the density.
            let (mut low, mut high) = (0.0, 20.0 * prior.median());
            let below = |x: f64| -> f64 {
                let h = x / 400.0;
                (0..400).map(|i| h * prior.log_density((i as f64 + 0.5) * h).0.exp()).sum()
            };
            for _ in 0..40 {
                let middle = 0.5 * (low + high);
                if below(middle) < u { low = middle } else { high = middle }
            }
            0.5 * (low + high)
        }
    }
}

/// Mean and a generous width of the logarithms of the free spreads.
fn moments(points: &[Point], free: &[usize]) -> (Vec<f64>, Vec<f64>) {
    let top = points.iter().fold(f64::NEG_INFINITY, |m, p| m.max(p.bound));
    let w: Vec<f64> = points.iter().map(|p| (p.bound - top).exp()).collect();
    let sum: f64 = w.iter().sum();
    let mut out = (Vec::new(), Vec::new());
    for k in free {
        let of = || points.iter().zip(&w).map(|(p, w)| (p.spreads[*k].ln(), w / sum));
        let mean: f64 = of().map(|(x, w)| w * x).sum();
        let square: f64 = of().map(|(x, w)| w * (x - mean).powi(2)).sum();
        out.0.push(mean);
        out.1.push(1.2 * square.sqrt() + 0.1);
    }
    out
}

/// Weights of points that come half from the beliefs and half from a normal of the logarithms.
fn weigh(
    points: &mut [Point],
    free: &[usize],
    priors: &[SpreadPrior],
    (centre, width): (&[f64], &[f64]),
) {
    let top = points.iter().fold(f64::NEG_INFINITY, |m, p| m.max(p.bound));
    for point in points {
        let (mut prior, mut near) = (0.0, 0.0);
        for (i, k) in free.iter().enumerate() {
            let sd = point.spreads[*k];
            prior += priors[i].log_density(sd).0 + sd.ln();
            let z = (sd.ln() - centre[i]) / width[i];
            near += -0.5 * z * z - width[i].ln() - 0.5 * (2.0 * std::f64::consts::PI).ln();
        }
        point.weight = (point.bound - top).exp() / (0.5 + 0.5 * (near - prior).exp());
    }
}

/// The chance that a normal variable lies below a value.
pub(super) fn below(mean: f64, variance: f64, x: f64) -> f64 {
    if variance <= 0.0 {
        f64::from(u8::from(mean < x))
    } else {
        normal_cdf((x - mean) / variance.sqrt())
    }
}
