//! Gauss–Hermite quadrature: expectations over a standard normal variable.

use std::sync::OnceLock;

/// Nodes and weights so that `E f(Z) ≈ Σ wᵢ f(xᵢ)` for Z standard normal; the weights sum to 1.
///
/// Exact for polynomials of a degree up to 2n − 1.
#[derive(Debug, Clone, PartialEq)]
pub struct GaussHermite {
    /// Nodes, ascending.
    pub nodes: Vec<f64>,
    /// Weights.
    pub weights: Vec<f64>,
}

/// Most nodes that are made; beyond, the outermost weights are below the smallest double.
pub const MOST_NODES: usize = 180;

/// Rules that were made, by their number of nodes.
static MADE: [OnceLock<GaussHermite>; MOST_NODES + 1] = [const { OnceLock::new() }; MOST_NODES + 1];

impl GaussHermite {
    /// The rule of `n` nodes, made once.
    pub fn shared(n: usize) -> &'static Self {
        let n = n.clamp(1, MOST_NODES);
        MADE[n].get_or_init(|| Self::new(n))
    }

    /// The rule of `n` nodes \[1 to [`MOST_NODES`]; others are brought to the nearer end\].
    ///
    /// The nodes are the roots of the Hermite polynomial, by bisection between the roots of the
    /// polynomial one degree lower (which interlace with them), polished by Newton steps.
    pub fn new(n: usize) -> Self {
        let n = n.clamp(1, MOST_NODES);
        let mut roots: Vec<f64> = vec![0.0];
        for degree in 2..=n {
            // All roots lie within ±2√n (Szegő 1939; from memory).
            let bound = 2.0 * (degree as f64).sqrt() + 1.0;
            let mut ends = vec![-bound];
            ends.extend(&roots);
            ends.push(bound);
            roots = ends.windows(2).map(|w| root(degree, w[0], w[1])).collect();
        }
        let weight = |x: &f64| {
            let (_, before) = hermite(n, *x);
            1.0 / (n as f64 * before * before)
        };
        let weights = roots.iter().map(weight).collect();
        GaussHermite { nodes: roots, weights }
    }

    /// Number of nodes.
    pub fn len(&self) -> usize {
        self.nodes.len()
    }

    /// Never: there is always a node.
    pub fn is_empty(&self) -> bool {
        self.nodes.is_empty()
    }

    /// Expectation of `f` of a normal variable.
    pub fn expectation(&self, mean: f64, sd: f64, mut f: impl FnMut(f64) -> f64) -> f64 {
        self.nodes.iter().zip(&self.weights).map(|(x, w)| w * f(mean + sd * x)).sum()
    }
}

/// The orthonormal Hermite polynomials of degree n and n − 1 (weight: the standard normal density).
fn hermite(n: usize, x: f64) -> (f64, f64) {
    let (mut before, mut now) = (0.0, 1.0);
    for k in 0..n {
        let k = k as f64;
        let next = (x * now - k.sqrt() * before) / (k + 1.0).sqrt();
        before = now;
        now = next;
    }
    (now, before)
}

fn root(n: usize, mut low: f64, mut high: f64) -> f64 {
    let sign = hermite(n, low).0.signum();
    let mut x = 0.5 * (low + high);
    for _ in 0..100 {
        let (value, before) = hermite(n, x);
        if value == 0.0 {
            return x;
        }
        if value.signum() == sign {
            low = x;
        } else {
            high = x;
        }
        // h'ₙ = √n·hₙ₋₁
        let newton = x - value / ((n as f64).sqrt() * before);
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        if (next - x).abs() <= 1e-15 * (1.0 + x.abs()) {
            return next;
        }
        x = next;
    }
    x
}

/// The i-th point of an even sequence in so many dimensions: multiples of the powers of the inverse
/// of the root of x^(d+1) = x + 1, less their whole part (Roberts 2018; from memory).
pub(crate) fn even(i: usize, dimensions: usize) -> Vec<f64> {
    let mut root = 1.5f64;
    for _ in 0..60 {
        root = (1.0 + root).powf(1.0 / (dimensions as f64 + 1.0));
    }
    (1..=dimensions)
        .map(|k| (0.5 + (i as f64 + 1.0) * root.powi(-(k as i32))).fract().clamp(1e-4, 1.0 - 1e-4))
        .collect()
}
