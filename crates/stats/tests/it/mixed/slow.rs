//! The restricted likelihood as it is defined, with dense matrices, and a search that only compares
//! values.

use faer::{Mat, linalg::solvers::Solve as _};
use stats::{mixed::Random, model::Fixed, random::Random as Dice};

use super::{Case, crossed, normal};
use crate::near;
use stats::model::{Column, Frame};

/// The design of a random term, effects of a level side by side.
fn design(random: &Random, n: usize) -> Mat<f64> {
    let width = random.term.width();
    let mut z = Mat::zeros(n, random.term.levels.len() * width);
    for i in 0..n {
        for l in random.term.of_row(i) {
            z[(i, *l as usize * width)] += 1.0;
            if let Some((_, x)) = &random.term.slope {
                z[(i, *l as usize * width + 1)] += x[i];
            }
        }
    }
    z
}

struct Dense {
    y: Mat<f64>,
    x: Mat<f64>,
    z: Vec<Mat<f64>>,
    width: Vec<usize>,
}

struct Said {
    log_likelihood: f64,
    b: Vec<f64>,
    se: Vec<f64>,
    /// Effects, prediction error variances and conditional variances, term by term.
    u: Vec<Vec<[f64; 3]>>,
}

impl Dense {
    fn of(case: &Case) -> Dense {
        let n = case.response.len();
        let fixed: &Fixed = &case.fixed;
        Dense {
            y: Mat::from_fn(n, 1, |i, _| case.response[i]),
            x: Mat::from_fn(n, fixed.width(), |i, j| fixed.column(j)[i]),
            z: case.random.iter().map(|r| design(r, n)).collect(),
            width: case.random.iter().map(|r| r.term.width()).collect(),
        }
    }

    /// G of a term: the numbers 00, 10, 11 repeated along the diagonal.
    fn g(&self, t: usize, v: &[f64]) -> Mat<f64> {
        let (q, w) = (self.z[t].ncols(), self.width[t]);
        Mat::from_fn(q, q, |i, j| if i / w == j / w { v[i % w + j % w] } else { 0.0 })
    }

    /// With variances term by term (00, 10, 11 where there are slopes), the residual last.
    fn at(&self, theta: &[f64]) -> Said {
        let (n, p) = (self.y.nrows(), self.x.ncols());
        let mut v = Mat::<f64>::identity(n, n) * faer::Scale(theta[theta.len() - 1]);
        let mut from = 0;
        let mut gs = Vec::new();
        for (t, z) in self.z.iter().enumerate() {
            let numbers = if self.width[t] == 2 { 3 } else { 1 };
            let g = self.g(t, &theta[from..from + numbers]);
            v += z * &g * z.transpose();
            gs.push(g);
            from += numbers;
        }
        let llt = v.llt(faer::Side::Lower).unwrap();
        let vx = llt.solve(&self.x);
        let vy = llt.solve(&self.y);
        let xvx = self.x.transpose() * &vx;
        let small = xvx.llt(faer::Side::Lower).unwrap();
        let b = small.solve(self.x.transpose() * &vy);
        let py = &vy - &vx * &b;
        let log =
            |l: faer::MatRef<'_, f64>| (0..l.nrows()).map(|i| 2.0 * l[(i, i)].ln()).sum::<f64>();
        let quadratic = (self.y.transpose() * &py)[(0, 0)];
        let constant = (n - p) as f64 * (2.0 * std::f64::consts::PI).ln();
        let log_likelihood = -0.5 * (constant + log(llt.L()) + log(small.L()) + quadratic);
        let cov = small.solve(Mat::<f64>::identity(p, p));
        let u = self.z.iter().zip(&gs).map(|(z, g)| {
            let gz = g * z.transpose();
            let u = &gz * &py;
            let vz = llt.solve(gz.transpose());
            let conditional = g - &gz * &vz;
            let xv = self.x.transpose() * &vz;
            let more = xv.transpose() * small.solve(&xv);
            (0..g.nrows())
                .map(|i| [u[(i, 0)], conditional[(i, i)] + more[(i, i)], conditional[(i, i)]])
                .collect()
        });
        let u = u.collect();
        let b = (0..p).map(|j| b[(j, 0)]).collect();
        Said { log_likelihood, b, se: (0..p).map(|j| cov[(j, j)].sqrt()).collect(), u }
    }
}

/// Nelder and Mead's simplex, restarted once.
fn highest(f: &dyn Fn(&[f64]) -> f64, start: &[f64]) -> Vec<f64> {
    let mut best = start.to_vec();
    for _ in 0..2 {
        let k = best.len();
        let mut points: Vec<Vec<f64>> = vec![best.clone(); k + 1];
        (0..k).for_each(|i| points[i + 1][i] += 0.3);
        let mut values: Vec<f64> = points.iter().map(|p| f(p)).collect();
        for _ in 0..2000 {
            let mut order: Vec<usize> = (0..=k).collect();
            order.sort_by(|a, b| values[*b].total_cmp(&values[*a]));
            points = order.iter().map(|i| points[*i].clone()).collect();
            values = order.iter().map(|i| values[*i]).collect();
            if values[0] - values[k] < 1e-12 {
                break;
            }
            let centre: Vec<f64> =
                (0..k).map(|j| points[..k].iter().map(|p| p[j]).sum::<f64>() / k as f64).collect();
            let along = |t: f64| -> Vec<f64> {
                centre.iter().zip(&points[k]).map(|(c, w)| c + t * (c - w)).collect()
            };
            let (out, far, near) = (along(1.0), along(2.0), along(-0.5));
            let (v_out, v_far, v_near) = (f(&out), f(&far), f(&near));
            let (point, value) = if v_out > values[0] && v_far > v_out {
                (far, v_far)
            } else if v_out > values[k - 1] {
                (out, v_out)
            } else if v_near > values[k] {
                (near, v_near)
            } else {
                for i in 1..=k {
                    points[i] =
                        points[i].iter().zip(&points[0]).map(|(a, b)| 0.5 * (a + b)).collect();
                    values[i] = f(&points[i]);
                }
                continue;
            };
            points[k] = point;
            values[k] = value;
        }
        best = points.swap_remove(0);
    }
    best
}

/// The fast fit against the dense definition: at its own optimum, and against the slow search.
fn compare(case: &Case, with_search: bool, what: &str) {
    let fit = case.fit();
    let dense = Dense::of(case);
    let mut theta = Vec::new();
    for r in &case.random {
        theta.push(fit.variance(&r.name).unwrap());
        if let Some(slope) = r.slope_name() {
            let c = fit.covariances.iter().find(|c| c.group == r.name).unwrap();
            theta.extend([c.covariance, fit.variance(&slope).unwrap()]);
        }
    }
    theta.push(fit.variance("residual").unwrap());
    let said = dense.at(&theta);
    near(fit.log_restricted_likelihood, said.log_likelihood, 1e-8, what);
    for (t, (b, se)) in fit.terms.iter().zip(said.b.iter().zip(&said.se)) {
        near(t.estimate, *b, 1e-8 * (1.0 + b.abs()), "coefficient");
        near(t.se, *se, 1e-8 * (1.0 + se), "its error");
    }
    let mut levels = fit.levels.iter();
    for (u, r) in said.u.iter().zip(&case.random) {
        let width = r.term.width();
        for k in 0..width {
            for l in 0..r.term.levels.len() {
                let (found, [estimate, pev, conditional]) =
                    (levels.next().unwrap(), u[l * width + k]);
                let size = fit.variance(&found.group).unwrap() + 1e-6;
                near(found.estimate, estimate, 1e-7 * (1.0 + size), "effect");
                near(found.pev, pev, 1e-8 * (1.0 + size), "prediction error variance");
                near(found.conditional_sd.powi(2), conditional, 1e-8 * (1.0 + size), "conditional");
            }
        }
    }
    if !with_search {
        return;
    }
    // Roots of the covariances, so that the search is free.
    let widths = dense.width.clone();
    let numbers = move |at: &[f64]| -> Vec<f64> {
        let (mut theta, mut from) = (Vec::new(), 0);
        for w in &widths {
            if *w == 2 {
                let [a, b, c] = [at[from], at[from + 1], at[from + 2]];
                theta.extend([a * a, a * b, b * b + c * c]);
                from += 3;
            } else {
                theta.push(at[from] * at[from]);
                from += 1;
            }
        }
        theta.push((2.0 * at[from]).exp());
        theta
    };
    let f = |at: &[f64]| {
        let theta = numbers(at);
        if theta.iter().all(|t| t.is_finite() && t.abs() < 1e8) {
            dense.at(&theta).log_likelihood
        } else {
            f64::MIN
        }
    };
    let k = theta.len();
    let mut start = vec![0.5; k];
    start[k - 1] = 0.0;
    let slow = highest(&f, &start);
    let top = f(&slow);
    // The simplex only compares values, so that it stops some 1e-6 below the top at worst.
    near(fit.log_restricted_likelihood, top, 1e-5, "top");
    assert!(fit.log_restricted_likelihood > top - 1e-9, "{what}: the slow search got higher");
    for (a, b) in theta.iter().zip(numbers(&slow)) {
        near(*a, b, 2e-3 * (1.0 + b.abs()), "variance by the slow search");
    }
}

#[test]
fn two_crossed_terms() {
    compare(&crossed(1, 60, 8, 5, [1.0, 0.7, 1.0]), true, "crossed");
    compare(&crossed(2, 60, 8, 5, [0.4, 2.0, 0.5]), true, "crossed, unequal");
    compare(&crossed(3, 90, 12, 4, [0.0, 1.0, 1.0]), true, "crossed, one without variance");
}

fn slopes(seed: u64, sd: [f64; 3], shift: f64) -> Case {
    let mut dice = Dice::new(seed);
    let (mut y, mut x, mut g, mut h) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for l in 0..9 {
        let (a, b) = (sd[0] * normal(&mut dice), sd[1] * normal(&mut dice));
        for k in 0..7 {
            let t = 3.0 * dice.unit() + shift;
            x.push(t);
            y.push(1.0 + a + (0.5 + b) * (t - shift) + sd[2] * normal(&mut dice));
            g.push(format!("g{l}"));
            h.push(format!("h{}", (k + l) % 4));
        }
    }
    let frame = Frame::new(y.len())
        .with("t", Column::Numbers(x))
        .unwrap()
        .with("g", Column::Words(g))
        .unwrap()
        .with("h", Column::Words(h))
        .unwrap();
    Case::of(y, &frame, &["t"], "t|g,h")
}

#[test]
fn slopes_beside_a_crossed_term() {
    compare(&slopes(4, [1.0, 0.6, 0.5], 0.0), true, "slopes");
    compare(&slopes(5, [0.8, 0.8, 1.0], 0.0), true, "slopes, noisy");
}

#[test]
fn slopes_with_a_singular_covariance() {
    // Intercepts without slopes of their own, and the other way round.
    compare(&slopes(6, [1.0, 0.0, 1.0], 0.0), false, "no slopes");
    compare(&slopes(7, [0.0, 0.7, 1.0], 0.0), false, "no intercepts");
    let seeds = (10..30).map(|seed| slopes(seed, [0.7, 0.05, 1.0], 0.0).fit());
    let singular: Vec<_> = seeds.filter(|f| f.variances[0].boundary).collect();
    assert!(singular.len() > 3, "{} of 20 on the boundary", singular.len());
    for fit in singular {
        assert!(fit.variances[1].se.is_none());
        let r = fit.covariances[0].correlation;
        assert!(r.is_none_or(|r| r.abs() > 0.9999), "{r:?}");
    }
}

#[test]
fn one_effect_for_each_parent_whichever_side() {
    let mut dice = Dice::new(11);
    let effects: Vec<f64> = (0..7).map(|_| normal(&mut dice)).collect();
    let (mut y, mut seed, mut pollen) = (Vec::new(), Vec::new(), Vec::new());
    for i in 0..70 {
        // Some are selfed: the effect then counts twice.
        let (s, p) = (i % 7, if i < 7 { i } else { dice.below(7) });
        y.push(effects[s] + effects[p] + 0.8 * normal(&mut dice));
        seed.push(format!("P{s}"));
        pollen.push(format!("P{p}"));
    }
    let frame = Frame::new(70)
        .with("s", Column::Words(seed))
        .unwrap()
        .with("p", Column::Words(pollen))
        .unwrap();
    compare(&Case::of(y, &frame, &[], "mm(s,p)"), true, "parents");
}

#[test]
fn nested_terms_and_factors_in_the_fixed_part() {
    let mut dice = Dice::new(12);
    let (mut y, mut g, mut h, mut m) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for a in 0..6 {
        let ua = normal(&mut dice);
        for b in 0..3 {
            let ub = 0.8 * normal(&mut dice);
            for k in 0..4 {
                y.push(5.0 + ua + ub + f64::from(k % 3) + 0.6 * normal(&mut dice));
                g.push(format!("g{a}"));
                h.push(format!("h{b}"));
                m.push(format!("m{}", k % 3));
            }
        }
    }
    let frame = Frame::new(y.len())
        .with("g", Column::Words(g))
        .unwrap()
        .with("h", Column::Words(h))
        .unwrap()
        .with("m", Column::Words(m))
        .unwrap();
    compare(&Case::of(y, &frame, &["m"], "g/h"), true, "nested");
}
