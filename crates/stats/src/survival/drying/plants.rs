//! The most likely effects of all plants for given standard deviations.

use serde::Serialize;

use crate::dense;
use crate::survival::parametric::Records;

/// A plant as the night's fit leaves it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PlantFound {
    /// Mean of the plant's own ln X without offsets.
    pub mean: f64,
    /// Its standard deviation.
    pub sd: f64,
    /// What would be expected of it from its species and columns alone.
    pub borrowed: f64,
    /// Standard deviation of that.
    pub borrowed_sd: f64,
    /// Cycles that tell something.
    pub cycles: u32,
    /// Share of the borrowed variance that its own cycles have taken away.
    pub information: f64,
}

/// Records by plant, and what links plants.
pub(super) struct Problem {
    pub records: Records,
    pub offset: Vec<f64>,
    /// Where each plant's records start.
    pub start: Vec<usize>,
    /// Species of each plant.
    pub species: Vec<u32>,
    /// Columns of each plant that are not 0, with their place; many are flags.
    pub z: Vec<(u32, f64)>,
    /// Where each plant's columns start.
    pub z_start: Vec<usize>,
    pub columns: usize,
    pub n_species: usize,
    /// Mean and standard deviation.
    pub coefficients: Vec<(f64, f64)>,
}

/// Sums over a plant's records.
#[derive(Debug, Clone, Default)]
pub(super) struct Sums {
    pub value: f64,
    pub first: Vec<f64>,
    /// Minus the second derivatives.
    pub weight: Vec<f64>,
    /// The same as it would be if it were known which looks were misread.
    pub told: Vec<f64>,
}

/// The mode and its curvature.
pub(super) struct Mode {
    pub theta: Vec<f64>,
    /// Coefficients, then species.
    pub border: Vec<f64>,
    /// A plant's own curvature; none where misread looks turn it the wrong way.
    pub weight: Vec<f64>,
    /// Cholesky factor of the curvature of the border with the plants taken out.
    factor: Vec<f64>,
    /// Its inverse.
    pub inverse: Vec<f64>,
    pub log_posterior: f64,
    pub log_determinant: f64,
    /// 1/σ² of the plants.
    pub precision: f64,
}

impl Problem {
    pub fn plants(&self) -> usize {
        self.species.len()
    }

    pub fn width(&self) -> usize {
        self.columns + self.n_species
    }

    /// zᵀb of a plant.
    pub fn expected(&self, plant: usize, b: &[f64]) -> f64 {
        self.row(plant).iter().map(|(j, z)| z * b[*j as usize]).sum()
    }

    /// A plant's columns and its species.
    fn row(&self, plant: usize) -> &[(u32, f64)] {
        &self.z[self.z_start[plant]..self.z_start[plant + 1]]
    }

    /// Calls `f` with each element of z that is not 0.
    fn each(&self, plant: usize, mut f: impl FnMut(usize, f64)) {
        self.row(plant).iter().for_each(|(j, z)| f(*j as usize, *z));
    }

    /// Σ z·a over the plants, times a factor.
    pub fn gathered(&self, a: &[f64], factor: f64) -> Vec<f64> {
        let mut sum = vec![0.0; self.width()];
        for (p, a) in a.iter().enumerate() {
            self.each(p, |j, z| sum[j] += factor * z * a);
        }
        sum
    }

    /// zᵀ M z.
    pub fn square(&self, plant: usize, matrix: &[f64]) -> f64 {
        let n = self.width();
        let row = self.row(plant);
        let of_row = |i: u32| -> f64 {
            let line = &matrix[i as usize * n..(i as usize + 1) * n];
            row.iter().map(|(j, z)| z * line[*j as usize]).sum()
        };
        row.iter().map(|(i, z)| z * of_row(*i)).sum()
    }

    pub fn sums(&self, theta: &[f64], out: &mut Sums) {
        let k = self.plants();
        out.value = 0.0;
        out.first.resize(k, 0.0);
        out.weight.resize(k, 0.0);
        out.told.resize(k, 0.0);
        for plant in 0..k {
            let (mut first, mut weight, mut told) = (0.0, 0.0, 0.0);
            for i in self.start[plant]..self.start[plant + 1] {
                let (value, d1, d2, known) = self.records.quick(i, theta[plant] + self.offset[i]);
                out.value += value;
                first += d1;
                weight -= d2;
                told -= known;
            }
            out.first[plant] = first;
            out.weight[plant] = weight;
            out.told[plant] = told;
        }
    }

    /// Σℓ″′ and the derivatives in τ of the likelihood, of its slope and of its curvature, by plant.
    pub fn thirds(&self, theta: &[f64]) -> (Vec<f64>, f64, Vec<f64>, Vec<f64>) {
        let k = self.plants();
        let (mut third, mut by_tau) = (vec![0.0; k], 0.0);
        let (mut slope, mut curve) = (vec![0.0; k], vec![0.0; k]);
        for plant in 0..k {
            for i in self.start[plant]..self.start[plant + 1] {
                let eta = theta[plant] + self.offset[i];
                let (of_eta, of_tau) = self.records.whole(i, eta);
                third[plant] += of_eta.third;
                by_tau += of_tau.value;
                slope[plant] += of_tau.first;
                curve[plant] += of_tau.second;
            }
        }
        (third, by_tau, slope, curve)
    }

    fn log_posterior(&self, value: f64, theta: &[f64], b: &[f64], species: f64, plant: f64) -> f64 {
        let u: f64 = (0..self.plants()).map(|k| (theta[k] - self.expected(k, b)).powi(2)).sum();
        let v: f64 = b[self.columns..].iter().map(|v| v * v).sum();
        let fixed: f64 = self
            .coefficients
            .iter()
            .zip(b)
            .map(|((mean, sd), b)| -0.5 * ((b - mean) / sd).powi(2) - sd.ln())
            .sum();
        value + fixed - 0.5 * u * plant - 0.5 * v * species
            + 0.5 * self.plants() as f64 * plant.ln()
            + 0.5 * self.n_species as f64 * species.ln()
    }

    /// Newton's method for the mode, from `theta` and `border`; precisions are 1/σ².
    pub fn mode(&self, theta: &[f64], border: &[f64], species: f64, plant: f64) -> Option<Mode> {
        let (k, n) = (self.plants(), self.width());
        let (mut theta, mut b) = (theta.to_vec(), border.to_vec());
        let mut sums = Sums::default();
        let mut trial = Sums::default();
        self.sums(&theta, &mut sums);
        let mut now = self.log_posterior(sums.value, &theta, &b, species, plant);
        for _ in 0..60 {
            // Far from the mode misread looks bend the likelihood the wrong way. The curvature that
            // it would have if they were known (the step of an EM algorithm) is safe there.
            let both = sums.weight.iter().zip(&sums.told);
            let weight: Vec<f64> = both.map(|(w, told)| w.max(0.25 * told)).collect();
            let (factor, _) = self.factor(&weight, species, plant)?;
            let mut right_theta = vec![0.0; k];
            let mut right_b: Vec<f64> = (0..n)
                .map(|j| match self.coefficients.get(j) {
                    Some((mean, sd)) => -(b[j] - mean) / (sd * sd),
                    None => -b[j] * species,
                })
                .collect();
            for p in 0..k {
                let pull = (theta[p] - self.expected(p, &b)) * plant;
                right_theta[p] = sums.first[p] - pull;
                self.each(p, |j, z| right_b[j] += z * pull);
            }
            let (step, step_b) = self.solve(&factor, &weight, plant, &right_theta, &right_b);
            let gain = dense::dot(&step, &right_theta) + dense::dot(&step_b, &right_b);
            if !gain.is_finite() {
                return None;
            }
            if gain.abs() < 1e-10 {
                // Newton's digits double: this last step needs no further look at the records.
                sums.weight.iter_mut().for_each(|w| *w = held(*w));
                let (factor, determinant) = self.factor(&sums.weight, species, plant)?;
                return Some(Mode {
                    inverse: dense::inverse(&factor, n),
                    factor,
                    weight: sums.weight,
                    theta,
                    border: b,
                    log_posterior: now,
                    log_determinant: determinant,
                    precision: plant,
                });
            }
            let mut t = 1.0;
            loop {
                let next: Vec<f64> = theta.iter().zip(&step).map(|(a, s)| a + t * s).collect();
                let next_b: Vec<f64> = b.iter().zip(&step_b).map(|(a, s)| a + t * s).collect();
                self.sums(&next, &mut trial);
                let value = self.log_posterior(trial.value, &next, &next_b, species, plant);
                if value >= now + 1e-4 * t * gain - 1e-11 * (1.0 + now.abs()) {
                    (theta, b, now) = (next, next_b, value);
                    std::mem::swap(&mut sums, &mut trial);
                    break;
                }
                t *= 0.5;
                if t < 1e-8 {
                    return None;
                }
            }
        }
        None
    }

    /// Curvature of the border with the plants taken out, factorised; logarithm of the whole
    /// determinant.
    fn factor(&self, weight: &[f64], species: f64, plant: f64) -> Option<(Vec<f64>, f64)> {
        let n = self.width();
        let mut a = vec![0.0; n * n];
        for j in 0..n {
            a[j * n + j] = self.coefficients.get(j).map_or(species, |(_, sd)| 1.0 / (sd * sd));
        }
        let mut log = 0.0;
        for p in 0..self.plants() {
            let w = weight[p];
            log += (w + plant).ln();
            let r = w * plant / (w + plant);
            let row = self.row(p);
            for (i, x) in row {
                let line = &mut a[*i as usize * n..(*i as usize + 1) * n];
                row.iter().for_each(|(j, y)| line[*j as usize] += r * x * y);
            }
        }
        let factor = dense::cholesky(&a, n, 1e-14)?;
        log += (0..n).map(|i| 2.0 * factor[i * n + i].ln()).sum::<f64>();
        Some((factor, log))
    }

    fn solve(
        &self,
        factor: &[f64],
        weight: &[f64],
        plant: f64,
        theta: &[f64],
        border: &[f64],
    ) -> (Vec<f64>, Vec<f64>) {
        let n = self.width();
        let mut b = border.to_vec();
        for p in 0..self.plants() {
            let share = plant / (weight[p] + plant);
            self.each(p, |j, z| b[j] += z * share * theta[p]);
        }
        dense::solve(factor, n, &mut b);
        let x = (0..self.plants())
            .map(|p| (theta[p] + plant * self.expected(p, &b)) / (weight[p] + plant))
            .collect();
        (x, b)
    }

    /// H⁻¹ times a vector.
    pub fn solve_at(&self, mode: &Mode, theta: &[f64], border: &[f64]) -> (Vec<f64>, Vec<f64>) {
        self.solve(&mode.factor, &mode.weight, mode.precision, theta, border)
    }

    /// Variances of θ and of u of each plant.
    pub fn variances(&self, mode: &Mode) -> (Vec<f64>, Vec<f64>) {
        let each = |p: usize| {
            let d = mode.weight[p] + mode.precision;
            let square = self.square(p, &mode.inverse);
            let share = mode.precision / d;
            (1.0 / d + share * share * square, 1.0 / d + (1.0 - share).powi(2) * square)
        };
        (0..self.plants()).map(each).unzip()
    }
}

/// A plant's own curvature; one that misread looks turn the wrong way counts as none.
fn held(weight: f64) -> f64 {
    weight.max(0.0)
}
