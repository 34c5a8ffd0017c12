//! Few points instead of a grid, where scale and spreads together are too many for one.
//!
//! The top is sought along one axis after the other; around it points are scattered evenly as in a
//! normal whose two sides are as wide as the hill is there, and weighed by the true height over that
//! normal's (the split normal of Martins et al. 2013, Comput. Stat. Data Anal. 67:68–83, here for
//! importance; from memory). Where few of the points weigh, as many again are scattered where those lie.

use super::error::ParametricError;
use super::grid::{Halt, Point, Task};
use crate::quadrature::even;
use crate::special::normal_quantile;

/// Points for each dimension.
const EACH: usize = 20;
/// Rounds of the search for the top.
const ROUNDS: usize = 12;
/// The top is reached when a round gains less.
const GAIN: f64 = 0.02;
/// Points lie so much wider than the hill, so that weights stay bounded.
const WIDER: f64 = 1.2;
/// Narrowest and widest side of the hill, as a standard deviation of a logarithm.
const SIDES: (f64, f64) = (0.02, 1.5);
/// Points that found no mode, as a share, before something is taken to be not bounded.
const LOST: f64 = 0.1;

/// A normal with two sides along each axis.
struct Cloud {
    centre: Vec<f64>,
    /// Width to the left and to the right along each free axis.
    sides: Vec<(f64, f64)>,
}

impl Cloud {
    /// The place of a point of the unit cube, with the logarithm of the density there.
    fn place(&self, free: &[usize], unit: &[f64]) -> Vec<f64> {
        let mut at = self.centre.clone();
        for ((d, (left, right)), u) in free.iter().zip(&self.sides).zip(unit) {
            // Each side has as much of the points as of the density.
            let share = left / (left + right);
            at[*d] += if *u < share {
                left * normal_quantile(0.5 * u / share)
            } else {
                right * normal_quantile(0.5 + 0.5 * (u - share) / (1.0 - share))
            };
        }
        at
    }

    fn log_density(&self, free: &[usize], at: &[f64]) -> f64 {
        let mut log = 0.0;
        for (d, (left, right)) in free.iter().zip(&self.sides) {
            let off = at[*d] - self.centre[*d];
            let z = off / if off < 0.0 { *left } else { *right };
            log += -0.5 * z * z - (0.5 * (left + right) * (2.0 * std::f64::consts::PI).sqrt()).ln();
        }
        log
    }
}

/// Points and weights, and the logarithm of the integral.
pub(super) fn scattered(
    task: &Task<'_>,
    (centre, step, free): (Vec<f64>, &[f64], &[usize]),
    first: (Point, f64),
) -> Result<(Vec<Point>, f64), Halt> {
    let mut search = Search { task, free, here: centre, top: first.0, log: first.1 };
    let sides = search.climb(step)?;
    task.check_normal(&search.top)?;
    let mut clouds = vec![Cloud { centre: search.here.clone(), sides }];
    let count = EACH * free.len();
    let mut found: Vec<(Vec<f64>, Point, f64)> = Vec::new();
    let mut tried = 0;
    loop {
        let cloud = &clouds[clouds.len() - 1];
        for _ in 0..count {
            let at = cloud.place(free, &even(tried, free.len()));
            tried += 1;
            if let Ok((point, log)) = task.at(&at, &search.top.mode) {
                found.push((at, point, log));
            }
        }
        if ((tried - found.len()) as f64) > LOST * tried as f64 {
            let parameter = "log(scale)".to_owned();
            return Err(ParametricError::NotDetermined { parameter }.into());
        }
        let marginal = weigh(&mut found, &clouds, free);
        let effective = 1.0 / found.iter().map(|f| f.1.weight.powi(2)).sum::<f64>();
        if clouds.len() == 2 || effective > 0.25 * tried as f64 {
            let points = found.into_iter().map(|f| f.1).filter(|p| p.weight > 1e-7);
            return Ok((points.collect(), marginal));
        }
        clouds.push(narrowed(&found, free, &search.here));
    }
}

/// Weighs points by their height over the density of all clouds together.
fn weigh(found: &mut [(Vec<f64>, Point, f64)], clouds: &[Cloud], free: &[usize]) -> f64 {
    let log_ratio = |(at, _, log): &(Vec<f64>, Point, f64)| {
        let each: f64 = clouds.iter().map(|c| c.log_density(free, at).exp()).sum();
        log - (each / clouds.len() as f64).ln()
    };
    let logs: Vec<f64> = found.iter().map(log_ratio).collect();
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let sum: f64 = logs.iter().map(|l| (l - top).exp()).sum();
    for (f, l) in found.iter_mut().zip(&logs) {
        f.1.weight = (l - top).exp() / sum;
    }
    top + (sum / logs.len() as f64).ln()
}

/// A cloud where the weight lies.
fn narrowed(found: &[(Vec<f64>, Point, f64)], free: &[usize], top: &[f64]) -> Cloud {
    let mut centre = top.to_vec();
    let mut sides = Vec::new();
    for d in free {
        let mean: f64 = found.iter().map(|(at, p, _)| p.weight * at[*d]).sum();
        let square: f64 = found.iter().map(|(at, p, _)| p.weight * (at[*d] - mean).powi(2)).sum();
        centre[*d] = mean;
        let side = (WIDER * square.sqrt()).clamp(SIDES.0, SIDES.1);
        sides.push((side, side));
    }
    Cloud { centre, sides }
}

struct Search<'a, 'b> {
    task: &'a Task<'b>,
    free: &'a [usize],
    here: Vec<f64>,
    top: Point,
    log: f64,
}

impl Search<'_, '_> {
    /// The height beside the best place so far, which moves there if it is higher.
    fn look(&mut self, d: usize, shift: f64) -> Option<f64> {
        let mut place = self.here.clone();
        place[d] += shift;
        let (point, log) = self.task.at(&place, &self.top.mode).ok()?;
        if log > self.log {
            (self.here, self.top, self.log) = (place, point, log);
        }
        Some(log)
    }

    /// Seeks the top and says how wide the hill is to either side of it.
    fn climb(&mut self, step: &[f64]) -> Result<Vec<(f64, f64)>, ParametricError> {
        let not_bounded = || ParametricError::NotDetermined { parameter: "log(scale)".to_owned() };
        // What a step is worth taking; the widths are told by the bends that were met.
        let mut width: Vec<f64> = step.iter().map(|s| (2.5 * s).clamp(0.1, 0.75)).collect();
        for _ in 0..ROUNDS {
            let before = self.log;
            for &d in self.free {
                let (here, middle, h) = (self.here[d], self.log, width[d]);
                let mut beside = |shift: f64| self.look(d, here + shift - self.here[d]);
                let (Some(low), Some(high)) = (beside(-h), beside(h)) else { continue };
                let bend = (2.0 * middle - low - high) / (h * h);
                if bend > 1e-3 {
                    let shift = (0.5 * (high - low) / h / bend).clamp(-3.0 * h, 3.0 * h);
                    beside(shift);
                    width[d] = bend.powf(-0.5).clamp(SIDES.0, 0.75);
                }
            }
            if self.log < before + GAIN {
                break;
            }
        }
        let mut sides = Vec::new();
        for &d in self.free {
            let (here, middle) = (self.here[d], self.log);
            let mut side = |sign: f64| {
                let mut reach = 1.5 * width[d];
                let mut shift = here + sign * reach - self.here[d];
                let mut drop = (middle - self.look(d, shift)?).max(0.05);
                if !(0.3..4.0).contains(&drop) {
                    // Looked too near or too far to tell.
                    reach *= (1.1 / drop).sqrt().clamp(0.2, 3.0);
                    shift = here + sign * reach - self.here[d];
                    drop = (middle - self.look(d, shift)?).max(0.05);
                }
                Some((WIDER * reach / (2.0 * drop).sqrt()).clamp(SIDES.0, SIDES.1))
            };
            let left = side(-1.0).ok_or_else(not_bounded)?;
            let right = side(1.0).ok_or_else(not_bounded)?;
            sides.push((left, right));
        }
        Ok(sides)
    }
}
