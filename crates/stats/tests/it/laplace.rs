//! The Laplace engine against slow and obvious versions: exact normal likelihoods, sums over a fine
//! grid of random effects, and differences for the gradient.

use proptest::prelude::*;
use stats::laplace::{Derivatives, LaplaceError, Marginal, Rows, Settings, ShapeDerivatives, fit};
use stats::model::{Column, Fixed, Frame, RandomSpec, RandomTerm, Term};
use stats::random::Random;
use stats::success::{Batch, Binomial};

use crate::near;

/// Logarithms of times that follow a Weibull distribution; the shape parameter is log σ.
#[derive(Clone)]
struct Extreme {
    y: Vec<f64>,
    sigma: f64,
}

impl Rows for Extreme {
    fn rows(&self) -> usize {
        self.y.len()
    }
    fn shapes(&self) -> usize {
        1
    }
    fn set_shapes(&mut self, shapes: &[f64]) {
        self.sigma = shapes[0].exp();
    }
    fn derivatives(&self, row: usize, eta: f64) -> Derivatives {
        let s = self.sigma;
        let z = (self.y[row] - eta) / s;
        let e = z.exp();
        Derivatives {
            value: z - e - s.ln(),
            first: (e - 1.0) / s,
            second: -e / (s * s),
            third: e / (s * s * s),
        }
    }
    fn by_shape(&self, row: usize, eta: f64, out: &mut [ShapeDerivatives]) {
        let s = self.sigma;
        let z = (self.y[row] - eta) / s;
        let e = z.exp();
        out[0] = ShapeDerivatives {
            value: z * (e - 1.0) - 1.0,
            first: (1.0 - e - z * e) / s,
            second: (2.0 + z) * e / (s * s),
        };
    }
}

/// Normal responses; the shape parameter is log σ. Laplace's approximation is exact for them.
#[derive(Clone)]
struct Normal {
    y: Vec<f64>,
    sigma: f64,
}

impl Rows for Normal {
    fn rows(&self) -> usize {
        self.y.len()
    }
    fn shapes(&self) -> usize {
        1
    }
    fn set_shapes(&mut self, shapes: &[f64]) {
        self.sigma = shapes[0].exp();
    }
    fn derivatives(&self, row: usize, eta: f64) -> Derivatives {
        let z = (self.y[row] - eta) / self.sigma;
        let w = 1.0 / (self.sigma * self.sigma);
        let half_log = 0.5 * (2.0 * std::f64::consts::PI).ln();
        Derivatives {
            value: -0.5 * z * z - self.sigma.ln() - half_log,
            first: z / self.sigma,
            second: -w,
            third: 0.0,
        }
    }
    fn by_shape(&self, row: usize, eta: f64, out: &mut [ShapeDerivatives]) {
        let z = (self.y[row] - eta) / self.sigma;
        let (first, w) = (-2.0 * z / self.sigma, 1.0 / (self.sigma * self.sigma));
        out[0] = ShapeDerivatives { value: z * z - 1.0, first, second: 2.0 * w };
    }
}

struct World {
    frame: Frame,
    n: usize,
    random: Random,
}

/// Rows with two groups, a finer one within the first, a pair of parents, and a covariate.
fn world(n: usize, seed: u64) -> World {
    let mut random = Random::new(seed);
    let mut words = |k: usize, prefix: &str| {
        Column::Words((0..n).map(|_| format!("{prefix}{}", random.below(k))).collect())
    };
    let (g, h) = (words(4, "g"), words(3, "h"));
    let (a, b) = (words(4, "p"), words(4, "p"));
    let x = Column::Numbers((0..n).map(|_| (random.unit() * 4.0).round() - 2.0).collect());
    let frame = Frame::new(n).with("g", g).unwrap().with("h", h).unwrap();
    let frame = frame.with("a", a).unwrap().with("b", b).unwrap().with("x", x).unwrap();
    World { frame, n, random }
}

fn terms(frame: &Frame, written: &[&str]) -> Vec<RandomTerm> {
    let specs = written.iter().flat_map(|t| RandomSpec::read(t).unwrap());
    specs.map(|s| RandomTerm::build(frame, &s).unwrap()).collect()
}

fn fixed(frame: &Frame) -> Fixed {
    Fixed::build(frame, &Term::read_all(&["x"]).unwrap()).unwrap()
}

/// Largest difference between the exact gradient and central differences, as a share of 1 + |g|.
fn gradient_error<R: Rows>(m: &mut Marginal<R>, at: &[f64]) -> f64 {
    let mut exact = vec![0.0; at.len()];
    m.evaluate(at, Some(&mut exact)).unwrap();
    let mut worst: f64 = 0.0;
    for k in 0..at.len() {
        let mut value = |step: f64| {
            let mut place = at.to_vec();
            place[k] += step;
            m.evaluate(&place, None).unwrap()
        };
        let h = 1e-3;
        // Five points: the error is of the fourth order.
        let slope =
            (value(-2.0 * h) - 8.0 * value(-h) + 8.0 * value(h) - value(2.0 * h)) / (12.0 * h);
        worst = worst.max((slope - exact[k]).abs() / (1.0 + exact[k].abs()));
    }
    worst
}

const FORMS: [&[&str]; 8] = [
    &[],
    &["g"],
    &["g", "h"],
    &["g/h"],
    &["x|g"],
    &["x|g", "h"],
    &["mm(a,b)"],
    &["g:h", "mm(a,b)", "x|g"],
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn the_gradient_is_that_of_the_value(
        seed in 0u64..1000,
        form in 0usize..FORMS.len(),
        sd in 0.05f64..1.5,
        log_sigma in -0.7f64..0.7,
    ) {
        let mut w = world(30, seed);
        let terms = terms(&w.frame, FORMS[form]);
        let fixed = fixed(&w.frame);
        let batches: Vec<Batch> = (0..w.n).map(|_| {
            let trials = 1 + w.random.below(9) as u64;
            Batch { successes: w.random.below(trials as usize + 1) as u64, trials }
        }).collect();
        let y: Vec<f64> = (0..w.n).map(|_| 3.0 * w.random.unit()).collect();
        let mut m = Marginal::new(Binomial::new(&batches), &fixed, None, &terms).unwrap();
        let mut at = vec![0.3, -0.2];
        at.extend((0..m.layout().random).map(|k| sd * (1.0 - 0.3 * k as f64)));
        prop_assert!(gradient_error(&mut m, &at) < 1e-6);
        let offset: Vec<f64> = (0..w.n).map(|_| 0.5 * w.random.unit()).collect();
        let mut m =
            Marginal::new(Extreme { y, sigma: 1.0 }, &fixed, Some(&offset), &terms).unwrap();
        at.push(log_sigma);
        prop_assert!(gradient_error(&mut m, &at) < 1e-6);
    }

    #[test]
    fn the_gradient_of_the_quadrature_is_that_of_its_value(
        seed in 0u64..1000, nodes in 2usize..12, sd in 0.05f64..2.0,
    ) {
        let mut w = world(25, seed);
        let terms = terms(&w.frame, &["g"]);
        let y: Vec<f64> = (0..w.n).map(|_| 3.0 * w.random.unit()).collect();
        let m = Marginal::new(Extreme { y, sigma: 1.0 }, &fixed(&w.frame), None, &terms).unwrap();
        let mut m = m.with_nodes(nodes).unwrap();
        prop_assert!(gradient_error(&mut m, &[0.8, 0.1, sd, 0.2]) < 1e-6);
    }

    #[test]
    fn normal_responses_have_their_exact_likelihood(seed in 0u64..1000, form in 0usize..FORMS.len()) {
        let mut w = world(20, seed);
        let y: Vec<f64> = (0..w.n).map(|_| 3.0 * w.random.unit()).collect();
        let terms = terms(&w.frame, FORMS[form]);
        let rows = Normal { y: y.clone(), sigma: 1.0 };
        let mut m = Marginal::new(rows, &fixed(&w.frame), None, &terms).unwrap();
        let mut at = vec![1.1, -0.3];
        at.extend((0..m.layout().random).map(|k| 0.8 - 0.1 * k as f64));
        at.push(-0.4);
        let found = m.evaluate(&at, None).unwrap();
        near(found, exact_normal(&w.frame, &y, &terms, &at), 1e-9, FORMS[form].join("+").as_str());
    }
}

/// The multivariate normal log-density of y, by elimination on the full covariance.
fn exact_normal(frame: &Frame, y: &[f64], terms: &[RandomTerm], at: &[f64]) -> f64 {
    let n = y.len();
    let Column::Numbers(x) = frame.column("x").unwrap() else { panic!("x is numbers") };
    let mut v = vec![vec![0.0; n]; n];
    let mut k = 2;
    for t in terms {
        for i in 0..n {
            for j in 0..n {
                let pairs =
                    t.of_row(i).iter().flat_map(|a| t.of_row(j).iter().map(move |b| a == b));
                let shared = pairs.filter(|same| *same).count() as f64;
                v[i][j] += shared
                    * if t.width() == 1 {
                        at[k] * at[k]
                    } else {
                        (at[k] + x[i] * at[k + 1]) * (at[k] + x[j] * at[k + 1])
                            + x[i] * x[j] * at[k + 2] * at[k + 2]
                    };
            }
        }
        k += if t.width() == 1 { 1 } else { 3 };
    }
    (0..n).for_each(|i| v[i][i] += (2.0 * at[k]).exp());
    let mut r: Vec<f64> = (0..n).map(|i| y[i] - at[0] - at[1] * x[i]).collect();
    let mut value = -0.5 * n as f64 * (2.0 * std::f64::consts::PI).ln();
    for i in 0..n {
        let pivot = v[i][i];
        value -= 0.5 * (pivot.ln() + r[i] * r[i] / pivot);
        for j in i + 1..n {
            let f = v[j][i] / pivot;
            r[j] -= f * r[i];
            let top = v[i].clone();
            v[j].iter_mut().zip(&top).skip(i).for_each(|(x, t)| *x -= f * t);
        }
    }
    value
}

/// Two crossed groups of two levels, summed over a grid of their four effects.
#[test]
fn laplace_is_close_to_the_sum_over_all_random_effects_and_quadrature_meets_it() {
    let words = |w: &[&str]| Column::Words(w.iter().map(|s| (*s).to_owned()).collect());
    let frame = Frame::new(4).with("g", words(&["a", "a", "b", "b"])).unwrap();
    let frame = frame.with("h", words(&["c", "d", "c", "d"])).unwrap();
    let counts = [(3, 8), (5, 9), (1, 7), (4, 6)];
    let batches = counts.map(|(successes, trials)| Batch { successes, trials });
    let rows = Binomial::new(&batches);
    let fixed = Fixed::build(&frame, &[]).unwrap();
    let (beta, sg, sh) = (-0.2, 0.7, 0.4);
    let value = |i: usize, eta: f64| rows.derivatives(i, eta).value;
    let step = 0.25;
    let grid: Vec<(f64, f64)> = (-24..=24)
        .map(|i| f64::from(i) * step)
        .map(|z| (z, (-0.5 * z * z).exp() * step / (2.0 * std::f64::consts::PI).sqrt()))
        .collect();
    // Given h, the two levels of g are independent.
    let mut both = 0.0;
    let mut one = [0.0; 2];
    for (c, wc) in &grid {
        for (d, wd) in &grid {
            let part = |first: usize| -> f64 {
                grid.iter()
                    .map(|(u, w)| {
                        let at = |s: f64| beta + sg * u + sh * s;
                        w * (value(first, at(*c)) + value(first + 1, at(*d))).exp()
                    })
                    .sum()
            };
            both += wc * wd * part(0) * part(2);
        }
        for (k, first) in [0, 2].into_iter().enumerate() {
            let at = beta + sg * c;
            one[k] += wc * (value(first, at) + value(first + 1, at)).exp();
        }
    }
    let crossed = terms(&frame, &["g", "h"]);
    let mut m = Marginal::new(rows.clone(), &fixed, None, &crossed).unwrap();
    let laplace = m.evaluate(&[beta, sg, sh], None).unwrap();
    // An approximation: its error here is some 0.01.
    near(laplace, both.ln(), 0.03, "Laplace of two crossed terms");
    assert!((laplace - both.ln()).abs() > 1e-6, "an approximation has an error");
    let single = terms(&frame, &["g"]);
    let m = Marginal::new(rows, &fixed, None, &single).unwrap();
    let exact = one[0].ln() + one[1].ln();
    let mut last = f64::INFINITY;
    for (nodes, tolerance) in [(1, 0.03), (5, 1e-3), (25, 1e-8)] {
        let mut m = m.clone().with_nodes(nodes).unwrap();
        let error = (m.evaluate(&[beta, sg], None).unwrap() - exact).abs();
        assert!(error < tolerance && error < last, "{nodes} nodes: {error}");
        last = error;
    }
}

#[test]
fn a_variance_that_is_zero_is_on_the_boundary() {
    // Every level has the same share: no spread between levels.
    let words = (0..8).map(|i| format!("g{}", i / 2)).collect();
    let frame = Frame::new(8).with("g", Column::Words(words)).unwrap();
    let batches: Vec<Batch> = (0..8).map(|i| Batch { successes: 3 + i % 2, trials: 8 }).collect();
    let fixed = Fixed::build(&frame, &[]).unwrap();
    let terms = terms(&frame, &["g"]);
    let mut m = Marginal::new(Binomial::new(&batches), &fixed, None, &terms).unwrap();
    let found = fit(&mut m, &[0.0, 0.5], Settings::default()).unwrap();
    assert_eq!(found.boundary, [false, true]);
    assert_eq!(found.parameters[1], 0.0);
    assert_eq!(found.se(1), None);
    // What is left is a plain proportion: logit 28/64, information 64·p·q.
    let p = 28.0 / 64.0f64;
    near(found.parameters[0], (p / (1.0 - p)).ln(), 1e-7, "logit");
    near(found.se(0).unwrap(), (64.0 * p * (1.0 - p)).powf(-0.5), 1e-6, "its error");
}

#[test]
fn what_cannot_be_fitted_is_refused() {
    let frame = world(6, 1).frame;
    let fixed = Fixed::build(&frame, &[]).unwrap();
    let batches = vec![Batch { successes: 1, trials: 2 }; 6];
    let two = terms(&frame, &["g", "h"]);
    let short = Marginal::new(Binomial::new(&batches[..5]), &fixed, None, &two);
    assert!(matches!(short.err(), Some(LaplaceError::Lengths { found: 6, expected: 5, .. })));
    let m = Marginal::new(Binomial::new(&batches), &fixed, None, &two).unwrap();
    let error = m.clone().with_nodes(9).err();
    assert_eq!(error, Some(LaplaceError::Quadrature { nodes: 9 }));
    let mut m = m;
    let error = fit(&mut m, &[0.0], Settings::default()).err();
    assert_eq!(error, Some(LaplaceError::Parameters { found: 1, expected: 3 }));
    let error = fit(&mut m, &[f64::NAN, 1.0, 1.0], Settings::default()).err();
    assert_eq!(error, Some(LaplaceError::NoMode));
}
