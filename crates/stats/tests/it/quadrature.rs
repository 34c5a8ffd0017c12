//! Gauss–Hermite nodes against moments and against a published table.

use crate::near;
use stats::quadrature::{GaussHermite, MOST_NODES};

#[test]
fn moments_of_the_normal_distribution_are_exact() {
    for n in [1, 2, 3, 9, 25, 61, MOST_NODES] {
        let rule = GaussHermite::new(n);
        assert_eq!(rule.len(), n);
        assert!(rule.nodes.windows(2).all(|w| w[0] < w[1]));
        let mut moment = 1.0;
        for even in 0..n.min(12) {
            let found = rule.expectation(0.0, 1.0, |x| x.powi(2 * even as i32));
            near(found / moment, 1.0, 1e-11, &format!("moment {} of {n} nodes", 2 * even));
            // (2k + 1)!! is the next even moment.
            moment *= f64::from(2 * even as u32 + 1);
        }
    }
}

#[test]
fn three_and_five_nodes_as_in_the_tables() {
    // Abramowitz & Stegun 1964, table 25.10 (weight exp(−x²); from memory): for n = 3 the nodes 0 and
    // 1.224744871391589, weights 1.181635900604 and 0.2954089751509; for n = 5 the outermost node is
    // 2.020182870456086 with weight 0.01995324205905.
    let (root2, root_pi) = (2f64.sqrt(), std::f64::consts::PI.sqrt());
    let rule = GaussHermite::new(3);
    near(rule.nodes[2], 1.224744871391589 * root2, 1e-14, "node");
    near(rule.weights[1], 1.181635900604 / root_pi, 1e-12, "middle weight");
    near(rule.weights[2], 0.2954089751509 / root_pi, 1e-12, "outer weight");
    let rule = GaussHermite::new(5);
    near(rule.nodes[4], 2.020182870456086 * root2, 1e-14, "node");
    near(rule.weights[4], 0.01995324205905 / root_pi, 1e-13, "weight");
}

#[test]
fn a_logistic_function_of_a_normal_variable() {
    // By symmetry one half.
    near(GaussHermite::new(21).expectation(0.0, 1.3, |x| 1.0 / (1.0 + (-x).exp())), 0.5, 1e-13, "");
    // Slow and obvious: a fine sum over the density.
    let slow: f64 = (-4000..=4000)
        .map(|i| f64::from(i) * 0.0025)
        .map(|z| (-0.5 * z * z).exp() / (1.0 + (-(0.7 + 1.3 * z)).exp()) * 0.0025)
        .sum::<f64>()
        / (2.0 * std::f64::consts::PI).sqrt();
    let fast = GaussHermite::new(40).expectation(0.7, 1.3, |x| 1.0 / (1.0 + (-x).exp()));
    near(fast, slow, 1e-9, "a fine sum");
}
