//! The optimiser on functions whose minimum is known.

use crate::near;
use stats::optimise::{OptimiseError, Stop, covariance, curvature, minimise, norm};

fn rosenbrock(x: &[f64], g: &mut [f64]) -> f64 {
    let (a, b) = (1.0 - x[0], x[1] - x[0] * x[0]);
    g[0] = -2.0 * a - 400.0 * x[0] * b;
    g[1] = 200.0 * b;
    a * a + 100.0 * b * b
}

#[test]
fn a_curved_valley() {
    // Rosenbrock 1960: minimum 0 at (1, 1), start (−1.2, 1).
    let stop = Stop { decrement: 1e-20, iterations: 200 };
    let found = minimise(&mut rosenbrock, &[-1.2, 1.0], None, stop).unwrap();
    near(found.at[0], 1.0, 1e-8, "x");
    near(found.at[1], 1.0, 1e-8, "y");
    assert!(found.iterations < 60, "{}", found.iterations);
    // Second derivatives there, by hand: 802, −400, 200.
    let h = curvature(&mut rosenbrock, &found.at, &[0.1, 0.1], None);
    for (a, b) in h.iter().zip([802.0, -400.0, -400.0, 200.0]) {
        near(*a, b, 1e-4, "curvature");
    }
    let v = covariance(&h, 2).unwrap();
    near(v[0], 0.5, 1e-5, "200 / (802·200 − 400²)");
}

#[test]
fn a_function_without_value_beyond_a_wall() {
    let mut wall = |x: &[f64], g: &mut [f64]| {
        g[0] = 1.0 - 1.0 / x[0];
        x[0] - x[0].ln()
    };
    let found = minimise(&mut wall, &[30.0], None, Stop::default()).unwrap();
    near(found.at[0], 1.0, 1e-5, "x − ln x");
    assert_eq!(minimise(&mut wall, &[-1.0], None, Stop::default()), Err(OptimiseError::Start));
}

#[test]
fn what_has_no_minimum_is_not_reached() {
    let mut slope = |x: &[f64], g: &mut [f64]| {
        g[0] = -(-x[0]).exp();
        (-x[0]).exp() + 0.0 * x[1]
    };
    // Runs away; the value never stops falling by more than the step asks.
    let stop = Stop { decrement: 1e-30, iterations: 20 };
    match minimise(&mut slope, &[0.0, 0.0], None, stop) {
        Err(OptimiseError::NotReached { iterations, gradient_norm }) => {
            assert!(iterations <= 20 && gradient_norm >= 0.0);
        }
        other => panic!("{other:?}"),
    }
    let flat = [1.0, 1.0, 1.0, 1.0];
    assert_eq!(covariance(&flat, 2), Err(OptimiseError::NotPositiveDefinite));
    near(norm(&[3.0, 4.0]), 5.0, 1e-15, "norm");
}
