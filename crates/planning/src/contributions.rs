//! How much each candidate should contribute: the most merit at a mean kinship that is allowed
//! (optimum contributions, Meuwissen 1997, from memory).
//!
//! At a weight w on kinship, the shares c that add up to 1 maximise g′c − w c′Kc. That is concave:
//! share is moved between the pair of candidates for which it gains most (sequential minimal
//! optimisation with second-order choice of the pair, Fan, Chen & Lin 2005, from memory) until no
//! move gains. How far the best can be away is known at each point from its tangent. A limit of
//! kinship is met by moving the weight.

use crate::{Kinship, PlanningError, kinship::dot};

/// The candidates.
#[derive(Debug, Clone, Copy)]
pub struct Contributors<'a> {
    /// Merit of each.
    pub merit: &'a [f64],
    /// Their kinship.
    pub kinship: &'a Kinship,
    /// No share above this \[0 to 1\]; at least 1 divided by the number of candidates.
    pub most: f64,
}

/// Shares of the candidates.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixture {
    /// Share of each \[0 to 1\], adding up to 1.
    pub shares: Vec<f64>,
    /// Mean merit.
    pub merit: f64,
    /// Mean kinship \[0 to 1\].
    pub mean_kinship: f64,
    /// The weight of kinship at which it is best.
    pub weight: f64,
    /// How much more merit (at this weight, or within the limit of kinship) another mixture could
    /// have at most \[0 or more\].
    pub gap: f64,
}

/// Moves after which a mixture is given as it is; its gap then says how good it is.
const MOST_MOVES: usize = 200_000;
/// Moves that gain less than this share of the spread of merit are not made.
const FINE: f64 = 1e-12;

impl Contributors<'_> {
    /// The best mixture at this weight of kinship.
    ///
    /// # Errors
    /// If numbers are missing or none, or the largest share is too small to add up to 1.
    pub fn at_weight(&self, weight: f64) -> Result<Mixture, PlanningError> {
        self.check()?;
        if !(weight.is_finite() && weight >= 0.0) {
            return refuse(format!("a weight of {weight}"), "give 0 or more");
        }
        Ok(self.mixture(&mut self.even(), 1.0, weight))
    }

    /// The mixture with the least mean kinship, whatever its merit.
    ///
    /// # Errors
    /// As [`Self::at_weight`].
    pub fn least_related(&self) -> Result<Mixture, PlanningError> {
        self.check()?;
        Ok(self.mixture(&mut self.even(), 0.0, 1.0))
    }

    /// The mixture with the most merit among those whose mean kinship is no higher than this.
    ///
    /// # Errors
    /// As [`Self::at_weight`], and if no mixture has so low a kinship.
    pub fn under(&self, limit: f64) -> Result<Mixture, PlanningError> {
        let least = self.least_related()?;
        if limit.is_nan() || least.mean_kinship > limit + 1e-9 {
            let what = format!(
                "a mean kinship of {limit}, when the least that can be had is {}",
                least.mean_kinship
            );
            return refuse(what, "allow a higher kinship, or add candidates");
        }
        let free = self.mixture(&mut self.even(), 1.0, 0.0);
        if free.mean_kinship <= limit {
            return Ok(free);
        }
        // Kinship falls steadily as its weight rises: weights between which the limit is met.
        let spread = self.spread();
        let (mut low, mut high) = (free, least.clone());
        let mut weight = spread;
        let mut shares = high.shares.clone();
        for _ in 0..20 {
            let found = self.mixture(&mut shares, 1.0, weight);
            if found.mean_kinship <= limit {
                high = found;
                break;
            }
            low = found;
            weight *= 4.0;
        }
        if high == least {
            // The limit is that of the least related, up to rounding.
            let bound = low.merit + low.weight * (limit - low.mean_kinship) + low.gap;
            let gap = (bound - least.merit).max(0.0);
            return Ok(Mixture { weight: low.weight, gap, ..least });
        }
        for _ in 0..200 {
            let middle = if low.weight == 0.0 {
                0.25 * high.weight
            } else {
                (low.weight * high.weight).sqrt()
            };
            if high.weight - low.weight <= 1e-14 * high.weight || middle < 1e-12 * spread {
                break;
            }
            let found = self.mixture(&mut shares, 1.0, middle);
            if found.mean_kinship <= limit { high = found } else { low = found }
        }
        Ok(self.between(&low, high, limit))
    }

    /// Mixtures from the least related to that of the most merit, at even steps of mean kinship
    /// \[2 points or more\].
    ///
    /// # Errors
    /// As [`Self::at_weight`], and for fewer than two points.
    pub fn curve(&self, points: usize) -> Result<Vec<Mixture>, PlanningError> {
        if points < 2 {
            return refuse(format!("{points} points of a curve"), "ask for at least two");
        }
        let least = self.least_related()?;
        let most = self.at_weight(0.0)?;
        let (from, to) = (least.mean_kinship, most.mean_kinship);
        let step = (to - from) / (points - 1) as f64;
        let mut curve = vec![self.under(from + 1e-9 * (1.0 + from.abs()))?];
        for i in 1..points - 1 {
            curve.push(self.under(from + step * i as f64)?);
        }
        curve.push(most);
        Ok(curve)
    }

    /// On the way from too much kinship to little enough, where the limit is met exactly.
    fn between(&self, low: &Mixture, high: Mixture, limit: f64) -> Mixture {
        let apart: Vec<f64> = low.shares.iter().zip(&high.shares).map(|(l, h)| l - h).collect();
        let related = self.kinship.with(&apart);
        // kinship(high + t · apart) = limit
        let (a, b) = (dot(&apart, &related), 2.0 * dot(&high.shares, &related));
        let c = high.mean_kinship - limit;
        let root = (b * b - 4.0 * a * c).max(0.0).sqrt();
        // The larger root, in the form that does not cancel.
        let t = if b + root > 0.0 { (-2.0 * c / (b + root)).clamp(0.0, 1.0) } else { 0.0 };
        let shares: Vec<f64> =
            high.shares.iter().zip(&apart).map(|(h, d)| (h + t * d).max(0.0)).collect();
        let merit = dot(self.merit, &shares);
        let mean_kinship = dot(&shares, &self.kinship.with(&shares));
        // No mixture within the limit has a merit above this.
        let bound = high.merit + high.weight * (limit - high.mean_kinship) + high.gap;
        Mixture { shares, merit, mean_kinship, weight: high.weight, gap: (bound - merit).max(0.0) }
    }

    /// Improves shares until nothing gains, merit counting `times`.
    fn mixture(&self, shares: &mut [f64], times: f64, weight: f64) -> Mixture {
        let n = shares.len();
        let mut related = self.kinship.with(shares);
        let fine = FINE * (times * self.spread() + weight * self.scale());
        for _ in 0..MOST_MOVES {
            // What a little more of each would gain.
            let slope = |i: usize| times * self.merit[i] - 2.0 * weight * related[i];
            let up = (0..n)
                .filter(|i| shares[*i] < self.most)
                .max_by(|a, b| slope(*a).total_cmp(&slope(*b)).then(b.cmp(a)));
            let Some(up) = up else { break };
            let mut best = (0.0, up);
            let (row, at_top) = (self.kinship.row(up), slope(up));
            for down in (0..n).filter(|i| shares[*i] > 0.0) {
                let rise = at_top - slope(down);
                if rise <= fine {
                    continue;
                }
                let own = row[up] + self.kinship.of(down, down) - 2.0 * row[down];
                let bend = (2.0 * weight * own).max(1e-300);
                let step = (rise / bend).min(shares[down]).min(self.most - shares[up]);
                let gained = step * (rise - 0.5 * bend * step);
                if gained > best.0 {
                    best = (gained, down);
                }
            }
            let down = best.1;
            if down == up {
                break;
            }
            let rise = at_top - slope(down);
            let own = row[up] + self.kinship.of(down, down) - 2.0 * row[down];
            let bend = (2.0 * weight * own).max(1e-300);
            let room = shares[down].min(self.most - shares[up]);
            let step = (rise / bend).min(room);
            shares[up] += step;
            // A share that is given away whole is 0, not what rounding leaves of it.
            shares[down] = if step == shares[down] { 0.0 } else { shares[down] - step };
            if step == self.most - (shares[up] - step) {
                shares[up] = self.most;
            }
            for (sum, (more, less)) in
                related.iter_mut().zip(row.iter().zip(self.kinship.row(down)))
            {
                *sum += step * (more - less);
            }
        }
        let related = self.kinship.with(shares);
        let slopes: Vec<f64> =
            (0..n).map(|i| times * self.merit[i] - 2.0 * weight * related[i]).collect();
        let gap = (self.highest(&slopes) - dot(&slopes, shares)).max(0.0);
        Mixture {
            shares: shares.to_vec(),
            merit: dot(self.merit, shares),
            mean_kinship: dot(shares, &related),
            weight,
            gap,
        }
    }

    /// The highest mean of these slopes that shares can reach: no concave value rises more.
    fn highest(&self, slopes: &[f64]) -> f64 {
        let mut order = slopes.to_vec();
        order.sort_by(|a, b| b.total_cmp(a));
        let mut left = 1.0;
        let mut sum = 0.0;
        for slope in order {
            let share = self.most.min(left);
            sum += share * slope;
            left -= share;
            if left <= 0.0 {
                break;
            }
        }
        sum
    }

    fn even(&self) -> Vec<f64> {
        let n = self.merit.len();
        vec![1.0 / n as f64; n]
    }

    /// Largest less smallest merit.
    fn spread(&self) -> f64 {
        let most = self.merit.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let least = self.merit.iter().copied().fold(f64::INFINITY, f64::min);
        most - least
    }

    /// The largest kinship of a candidate with itself.
    fn scale(&self) -> f64 {
        (0..self.merit.len()).map(|i| self.kinship.of(i, i)).fold(0.0, f64::max)
    }

    fn check(&self) -> Result<(), PlanningError> {
        let n = self.merit.len();
        if n == 0 || self.kinship.len() != n {
            let what = format!("kinship of {} for {n} candidates", self.kinship.len());
            return refuse(what, "give merit and kinship of the same candidates, at least one");
        }
        if let Some(i) = self.merit.iter().position(|m| !m.is_finite()) {
            let what = format!("candidate {i} has a merit of {}", self.merit[i]);
            return refuse(what, "give a number");
        }
        let even = 1.0 / n as f64;
        if !(self.most >= even * (1.0 - 1e-12) && self.most <= 1.0) {
            let what = format!("a largest share of {} for {n} candidates", self.most);
            return refuse(what, "give at least 1 divided by their number, and at most 1");
        }
        Ok(())
    }
}

fn refuse<T>(what: String, next: &'static str) -> Result<T, PlanningError> {
    Err(PlanningError::Shape { what, next })
}
