//! What readings with a meter teach about lamps and windows.
//!
//! Geometry says how light falls off; how much of it there is, a reading knows better. Each source
//! (a lamp, a window) has a gain: what it really gives over what was computed. Before any reading
//! the logarithms of the gains are normal about 0; a reading compares what was measured with the
//! sum over the sources that were on. All readings of one meter share its calibration, so the tenth
//! reading with the same telephone teaches little.

use super::{LightError, positive};
use crate::{Basis, Constant, Estimate, Spread};

const fn log_sd(name: &'static str, value: f64, (low, high): (f64, f64)) -> Constant {
    Constant {
        name,
        value,
        unit: "1",
        spread: Spread::Range(low, high),
        basis: Basis::CommonPractice,
        source: "",
    }
}

/// Standard deviation of the log of a lamp's gain before any reading.
pub const LAMP_UNREAD: Constant = log_sd("log_sd_lamp_unread", 0.35, (0.25, 0.5));
/// Standard deviation of the log of a window's gain before any reading.
pub const WINDOW_UNREAD: Constant = log_sd("log_sd_window_unread", 0.45, (0.3, 0.6));

const PHONE_SHARED: Constant = log_sd("log_sd_phone_calibration", 0.10, (0.05, 0.2));
const PHONE_SINGLE: Constant = log_sd("log_sd_phone_reading", 0.08, (0.05, 0.15));
const SENSOR_SHARED: Constant = log_sd("log_sd_sensor_calibration", 0.05, (0.03, 0.08));
const SENSOR_SINGLE: Constant = log_sd("log_sd_sensor_reading", 0.035, (0.02, 0.06));
/// Standard deviation of the log of one reading behind a window for the sky of that day; chosen so
/// that three readings on different days leave a window with 0.2.
pub const SKY_OF_A_DAY: Constant = log_sd("log_sd_sky_of_a_day", 0.336, (0.2, 0.5));

pub(super) const CONSTANTS: &[Constant] = &[
    LAMP_UNREAD,
    WINDOW_UNREAD,
    PHONE_SHARED,
    PHONE_SINGLE,
    SENSOR_SHARED,
    SENSOR_SINGLE,
    SKY_OF_A_DAY,
];

/// A kind of meter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Meter {
    /// The lux sensor of a telephone or a simple lux meter, converted by the kind of light.
    Lux,
    /// A quantum sensor.
    Quantum,
}

impl Meter {
    /// Standard deviation of the log that all readings of the meter share.
    #[must_use]
    pub const fn shared(self) -> Constant {
        match self {
            Self::Lux => PHONE_SHARED,
            Self::Quantum => SENSOR_SHARED,
        }
    }

    /// Standard deviation of the log of a single reading.
    #[must_use]
    pub const fn single(self) -> Constant {
        match self {
            Self::Lux => PHONE_SINGLE,
            Self::Quantum => SENSOR_SINGLE,
        }
    }
}

/// A reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What was computed for the point, for each source; 0 for those that were off
    /// \[µmol m⁻² s⁻¹\].
    pub computed: Vec<f64>,
    /// What was measured \[µmol m⁻² s⁻¹, above 0\].
    pub measured: f64,
    /// The kind of meter; readings of one kind are taken as those of one meter.
    pub meter: Meter,
    /// Whether daylight was in it, whose strength on that day is not known.
    pub daylight: bool,
}

/// What is known of the gains of all sources.
#[derive(Debug, Clone, PartialEq)]
pub struct Gains {
    mean: Vec<f64>,
    covariance: Vec<Vec<f64>>,
}

impl Gains {
    /// Before any reading, from the standard deviation of the log of each gain.
    ///
    /// # Errors
    /// When one of them is not above zero.
    pub fn unread(log_sds: &[f64]) -> Result<Self, LightError> {
        let mut covariance = vec![vec![0.0; log_sds.len()]; log_sds.len()];
        for (k, sd) in log_sds.iter().enumerate() {
            covariance[k][k] = positive("standard deviation of a gain", *sd)?.powi(2);
        }
        Ok(Self { mean: vec![0.0; log_sds.len()], covariance })
    }

    /// What is known after readings.
    ///
    /// The most probable gains are found by Newton's method, the meters' calibrations with them; the covariance is that of the linearised problem there, exact for readings under
    /// a single source.
    ///
    /// # Errors
    /// When a reading is not above zero, has not as many sources as there are gains, or had no
    /// source on; and when the search comes to no end.
    pub fn after(&self, readings: &[Reading]) -> Result<Self, LightError> {
        self.check(readings)?;
        let n = self.mean.len();
        let mut prior = vec![vec![0.0; n + METERS.len()]; n + METERS.len()];
        let own = inverse(&self.covariance).ok_or_else(stuck)?;
        for (k, row) in own.iter().enumerate() {
            prior[k][..n].copy_from_slice(row);
        }
        for (m, meter) in METERS.iter().enumerate() {
            prior[n + m][n + m] = meter.shared().value.powi(-2);
        }
        let centre: Vec<f64> = self.mean.iter().copied().chain([0.0; METERS.len()]).collect();
        let mut at = centre.clone();
        for _ in 0..500 {
            let point = self.point(&at, &centre, &prior, readings);
            let covariance = inverse(&point.linear).ok_or_else(stuck)?;
            // Newton where the problem is convex, else Gauss and Newton, which always leads down.
            let towards = inverse(&point.curved);
            let step: Vec<f64> = towards
                .as_ref()
                .unwrap_or(&covariance)
                .iter()
                .map(|row| product(row, &point.pull))
                .collect();
            if step.iter().all(|s| s.abs() < 1e-10) {
                let covariance = covariance[..n].iter().map(|row| row[..n].to_vec()).collect();
                return Ok(Self { mean: at[..n].to_vec(), covariance });
            }
            let mut length = 1.0;
            let moved = |length: f64| -> Vec<f64> {
                at.iter().zip(&step).map(|(a, s)| a + length * s).collect()
            };
            // A step is halved until it leads down; below rounding it is taken as it is.
            while length > 1e-8
                && self.point(&moved(length), &centre, &prior, readings).loss
                    > point.loss * (1.0 + 1e-14)
            {
                length /= 2.0;
            }
            at = moved(length);
        }
        Err(stuck())
    }

    fn check(&self, readings: &[Reading]) -> Result<(), LightError> {
        for reading in readings {
            positive("reading", reading.measured)?;
            if reading.computed.len() != self.mean.len() {
                return Err(LightError::Readings {
                    why: format!(
                        "a reading names {} sources, there are {}",
                        reading.computed.len(),
                        self.mean.len()
                    ),
                    next: "give each source, with 0 where it was off",
                });
            }
            let sound = reading.computed.iter().all(|c| c.is_finite() && *c >= 0.0);
            if !sound || reading.computed.iter().sum::<f64>() <= 0.0 {
                return Err(LightError::Readings {
                    why: "no light was computed for the point of a reading".to_owned(),
                    next: "check where the lamps and the point are, and which lamps were on",
                });
            }
        }
        Ok(())
    }

    /// Loss, slope and curvature at a point of the search.
    fn point(&self, at: &[f64], centre: &[f64], prior: &[Vec<f64>], readings: &[Reading]) -> Point {
        let n = self.mean.len();
        let off: Vec<f64> = centre.iter().zip(at).map(|(c, a)| c - a).collect();
        let pull: Vec<f64> = prior.iter().map(|row| product(row, &off)).collect();
        let loss = product(&off, &pull) / 2.0;
        let mut point = Point { loss, pull, linear: prior.to_vec(), curved: prior.to_vec() };
        for reading in readings {
            let parts: Vec<f64> =
                reading.computed.iter().zip(at).map(|(c, gain)| c * gain.exp()).collect();
            let sum: f64 = parts.iter().sum();
            let meter = n + METERS.iter().position(|m| *m == reading.meter).unwrap_or(0);
            let mut slope = vec![0.0; at.len()];
            slope.iter_mut().zip(&parts).for_each(|(s, p)| *s = p / sum);
            slope[meter] = 1.0;
            let error = reading.measured.ln() - sum.ln() - at[meter];
            point.add(&slope, n, error, 1.0 / reading.variance());
        }
        point
    }

    /// The gain of a source with its interval.
    #[must_use]
    pub fn gain(&self, source: usize) -> Option<Estimate> {
        let median = self.mean.get(source)?.exp();
        Some(Estimate::lognormal(median, self.covariance[source][source].sqrt()))
    }

    /// Standard deviation of the log of a source's gain.
    #[must_use]
    pub fn log_sd(&self, source: usize) -> Option<f64> {
        Some(self.covariance.get(source)?[source].sqrt())
    }

    /// Light at a point from what was computed for each source, with its interval; in the unit of
    /// what was computed. Sources beyond those known count with gain 1.
    #[must_use]
    pub fn light(&self, computed: &[f64]) -> Estimate {
        let gain = |k: usize| self.mean.get(k).map_or(1.0, |m| m.exp());
        let parts: Vec<f64> = computed.iter().enumerate().map(|(k, c)| c * gain(k)).collect();
        let sum: f64 = parts.iter().sum();
        if sum <= 0.0 {
            return Estimate::exact(0.0);
        }
        let known = parts.len().min(self.mean.len());
        let share: Vec<f64> = parts[..known].iter().map(|p| p / sum).collect();
        let variance: f64 = share
            .iter()
            .enumerate()
            .map(|(j, s)| s * product(&self.covariance[j][..known], &share))
            .sum();
        Estimate::lognormal(sum, variance.sqrt())
    }

    /// By how many standard deviations a reading differs from what was expected, its meter's own
    /// among them. Beyond ±3, look for a wrong unit or a lamp that was off.
    ///
    /// # Errors
    /// As [`Self::after`].
    pub fn surprise(&self, reading: &Reading) -> Result<f64, LightError> {
        self.check(std::slice::from_ref(reading))?;
        let expected = self.light(&reading.computed);
        let log_sd = (expected.upper / expected.value).ln() / crate::estimate::Z80;
        let shared = reading.meter.shared().value;
        let sd = (log_sd.powi(2) + shared.powi(2) + reading.variance()).sqrt();
        Ok((reading.measured / expected.value).ln() / sd)
    }
}

/// Where a search for gains stands.
struct Point {
    /// Half of the sum of squares.
    loss: f64,
    /// Negative slope of the loss.
    pull: Vec<f64>,
    /// Curvature of the linearised problem, never negative.
    linear: Vec<Vec<f64>>,
    /// Curvature of the loss itself.
    curved: Vec<Vec<f64>>,
}

impl Point {
    /// Adds a reading: the share of each of the `n` sources and 1 for its meter, what is left over
    /// and its weight.
    fn add(&mut self, slope: &[f64], n: usize, error: f64, weight: f64) {
        self.loss += weight * error * error / 2.0;
        for (j, sj) in slope.iter().enumerate() {
            self.pull[j] += weight * sj * error;
            for (k, sk) in slope.iter().enumerate() {
                self.linear[j][k] += weight * sj * sk;
                // The logarithm of a sum bends by its shares; the meter's fault is straight.
                let bend =
                    if j < n && k < n { sj * (f64::from(u8::from(j == k)) - sk) } else { 0.0 };
                self.curved[j][k] += weight * (sj * sk - error * bend);
            }
        }
    }
}

const METERS: [Meter; 2] = [Meter::Lux, Meter::Quantum];

impl Reading {
    /// Variance of its log, without what all readings of the meter share.
    fn variance(&self) -> f64 {
        let sky = if self.daylight { SKY_OF_A_DAY.value } else { 0.0 };
        self.meter.single().value.powi(2) + sky * sky
    }
}

fn stuck() -> LightError {
    LightError::Readings {
        why: "no gains fit them".to_owned(),
        next: "check their units; leave out the one that differs most",
    }
}

fn product(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// The inverse of a small symmetric positive definite matrix, by Gauss and Jordan's elimination.
fn inverse(matrix: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let n = matrix.len();
    let mut left = matrix.to_vec();
    let mut right: Vec<Vec<f64>> =
        (0..n).map(|k| (0..n).map(|j| f64::from(u8::from(j == k))).collect()).collect();
    for k in 0..n {
        let pivot = left[k][k];
        if pivot.is_nan() || pivot <= 0.0 {
            return None;
        }
        left[k].iter_mut().chain(right[k].iter_mut()).for_each(|v| *v /= pivot);
        let (row_left, row_right) = (left[k].clone(), right[k].clone());
        for j in (0..n).filter(|j| *j != k) {
            let factor = left[j][k];
            left[j].iter_mut().zip(&row_left).for_each(|(v, r)| *v -= factor * r);
            right[j].iter_mut().zip(&row_right).for_each(|(v, r)| *v -= factor * r);
        }
    }
    Some(right)
}
