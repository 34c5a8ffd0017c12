//! Why the standard errors of one reference (CBPP by Laplace) are not met: it ends its inner iterations
//! after two steps from a fixed start, where the curvature is that of the step before. Followed here
//! slowly and in the open, the reference's figures come out; with more steps, ours do.

use stats::success::{Batch, Binomial};
use stats::{laplace::Rows, optimise};

use crate::{json, near, path};

/// Herd and period of each row, from 0.
struct Herds {
    rows: Binomial,
    herd: Vec<usize>,
    period: Vec<usize>,
    counts: Vec<(f64, f64)>,
}

fn herds() -> Herds {
    let mut reader = csv::Reader::from_path(path("cbpp.csv")).unwrap();
    let rows: Vec<Vec<u64>> =
        reader.records().map(|r| r.unwrap().iter().map(|c| c.parse().unwrap()).collect()).collect();
    let batches: Vec<Batch> =
        rows.iter().map(|r| Batch { successes: r[1], trials: r[2] }).collect();
    Herds {
        rows: Binomial::new(&batches),
        herd: rows.iter().map(|r| r[0] as usize - 1).collect(),
        period: rows.iter().map(|r| r[3] as usize - 1).collect(),
        counts: rows.iter().map(|r| (r[1] as f64, r[2] as f64)).collect(),
    }
}

impl Herds {
    fn fixed(&self, beta: &[f64], row: usize) -> f64 {
        beta[0] + if self.period[row] > 0 { beta[self.period[row]] } else { 0.0 }
    }

    /// The likelihood after so many reweighted steps from a predictor, the curvature being that with
    /// which the last step was made.
    fn after(&self, steps: usize, start: &[f64], parameters: &[f64]) -> f64 {
        let (beta, sd) = parameters.split_at(4);
        let sd = sd[0];
        let mut eta = start.to_vec();
        let mut u = [0.0; 15];
        let mut curvature = [1.0; 15];
        for _ in 0..steps {
            let mut score = [0.0; 15];
            curvature = [1.0; 15];
            for (i, (k, n)) in self.counts.iter().enumerate() {
                let p = 1.0 / (1.0 + (-eta[i]).exp());
                let w = n * p * (1.0 - p);
                let response = eta[i] + (k - n * p) / w - self.fixed(beta, i);
                score[self.herd[i]] += sd * w * response;
                curvature[self.herd[i]] += sd * sd * w;
            }
            for h in 0..15 {
                u[h] = score[h] / curvature[h];
            }
            for i in 0..eta.len() {
                eta[i] = self.fixed(beta, i) + sd * u[self.herd[i]];
            }
        }
        let rows: f64 = (0..eta.len()).map(|i| self.rows.derivatives(i, eta[i]).value).sum();
        rows - 0.5 * u.iter().map(|u| u * u).sum::<f64>()
            - 0.5 * curvature.iter().map(|h| h.ln()).sum::<f64>()
    }

    /// Predictor of the fit in which β is found together with u, its σ by golden section: where the
    /// reference starts from.
    fn start(&self) -> Vec<f64> {
        let joint = |sd: f64| -> (Vec<f64>, f64) {
            let n = 19;
            let mut eta = vec![0.0f64; self.herd.len()];
            let mut found = vec![0.0; n];
            for _ in 0..40 {
                let mut a = vec![vec![0.0; n + 1]; n];
                for (h, row) in a.iter_mut().enumerate().take(15) {
                    row[h] = 1.0;
                }
                for (i, (k, m)) in self.counts.iter().enumerate() {
                    let p = 1.0 / (1.0 + (-eta[i]).exp());
                    let w = m * p * (1.0 - p);
                    let response = eta[i] + (k - m * p) / w;
                    let mut columns = vec![(self.herd[i], sd), (15, 1.0)];
                    if self.period[i] > 0 {
                        columns.push((15 + self.period[i], 1.0));
                    }
                    for (r, x) in &columns {
                        columns.iter().for_each(|(c, y)| a[*r][*c] += w * x * y);
                        a[*r][n] += w * x * response;
                    }
                }
                found = eliminate(a);
                for (i, e) in eta.iter_mut().enumerate() {
                    *e = self.fixed(&found[15..], i) + sd * found[self.herd[i]];
                }
            }
            let mut parameters = found[15..].to_vec();
            parameters.push(sd);
            let value = self.after(40, &eta, &parameters);
            (eta, value)
        };
        let (mut low, mut high) = (0.3, 1.2);
        for _ in 0..60 {
            let (a, b) = (low + 0.382 * (high - low), low + 0.618 * (high - low));
            if joint(a).1 > joint(b).1 { high = b } else { low = a }
        }
        joint(0.5 * (low + high)).0
    }
}

/// Gauss–Jordan elimination of a positive definite system.
fn eliminate(mut a: Vec<Vec<f64>>) -> Vec<f64> {
    let n = a.len();
    for i in 0..n {
        let pivot = a[i].clone();
        for (j, row) in a.iter_mut().enumerate() {
            let f = if i == j { 1.0 - 1.0 / pivot[i] } else { row[i] / pivot[i] };
            row.iter_mut().zip(&pivot).for_each(|(x, p)| *x -= f * p);
        }
    }
    a.iter().map(|row| row[n]).collect()
}

#[test]
fn the_reference_ends_after_two_inner_steps() {
    let herds = herds();
    let reference = json("cbpp_nagq1.json");
    let expected = &reference["expected"];
    let number = |v: &serde_json::Value| v.as_f64().unwrap();
    let fixef = expected["fixef"].as_object().unwrap();
    let mut at: Vec<f64> = fixef.values().map(number).collect();
    at.push(number(&expected["re_sd"]["herd"]));
    let start = herds.start();
    let log_likelihood = number(&expected["logLik"]);
    near(herds.after(2, &start, &at), log_likelihood, 2e-6, "two steps");
    assert!((herds.after(3, &start, &at) - log_likelihood).abs() > 2e-4, "three steps");
    // Second derivatives by differences of differences.
    let errors = |steps: usize| -> Vec<f64> {
        let mut gradient = |x: &[f64], g: &mut [f64]| {
            for k in 0..5 {
                let value = |h: f64| {
                    let mut place = x.to_vec();
                    place[k] += h;
                    -herds.after(steps, &start, &place)
                };
                g[k] = (value(1e-3) - value(-1e-3)) / 2e-3;
            }
            0.0
        };
        let h = optimise::curvature(&mut gradient, &at, &[0.5; 5], None);
        let v = optimise::covariance(&h, 5).unwrap();
        (0..4).map(|k| v[k * 5 + k].sqrt()).collect()
    };
    let printed: Vec<f64> =
        expected["fixef_se"].as_object().unwrap().values().map(number).collect();
    for (found, printed) in errors(2).iter().zip(&printed) {
        near(*found, *printed, 2e-5, "standard error after two steps");
    }
    for (found, ours) in errors(8).iter().zip([0.232472, 0.306642, 0.326638, 0.427437]) {
        // At the reference's estimates, a little beside the optimum.
        near(*found, ours, 3e-4, "standard error at the mode");
    }
}
