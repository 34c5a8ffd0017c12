//! The search comes to an end, and where it says.

use stats::{
    mixed::{MixedFit, Random, Settings, fit},
    model::{Column, Fixed, Frame, RandomSpec, RandomTerm, Term},
    random::Random as Dice,
};

/// Two crossed groups, each with slopes on x; standard deviations of the first group's intercepts
/// and slopes, of the second's intercepts, and of the residual.
fn slopes(seed: u64, n: usize, sd: [f64; 4]) -> MixedFit {
    let mut dice = Dice::new(seed);
    let mut effects =
        |levels: usize, sd: f64| -> Vec<f64> { (0..levels).map(|_| sd * dice.normal()).collect() };
    let (a, rate, b) = (effects(8, sd[0]), effects(8, sd[1]), effects(5, sd[2]));
    let (mut y, mut x, mut g, mut h) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for _ in 0..n {
        let (i, j, _) = (dice.below(8), dice.below(5), dice.below(8));
        let t = 3.0 + dice.normal();
        y.push(5.0 + 0.4 * t + a[i] + rate[i] * t + b[j] + sd[3] * dice.normal());
        x.push(t);
        g.push(format!("g{i}"));
        h.push(format!("h{j}"));
    }
    let frame = Frame::new(n)
        .with("x", Column::Numbers(x))
        .and_then(|f| f.with("g", Column::Words(g)))
        .and_then(|f| f.with("h", Column::Words(h)))
        .unwrap();
    let fixed = Fixed::build(&frame, &Term::read_all(&["x"]).unwrap()).unwrap();
    let term = |text: &str| {
        let spec = RandomSpec::read(text).unwrap().remove(0);
        Random::independent(RandomTerm::build(&frame, &spec).unwrap())
    };
    let found = fit(&y, &fixed, &[term("x|g"), term("x|h")], &Settings::default());
    found.unwrap_or_else(|e| panic!("seed {seed}: {e}"))
}

/// Effects that are large beside the residual leave rounding in the score that promised steps of
/// 1e-11 for ever; the search took it for an optimum not reached. It ends now where a promise that
/// small no longer shrinks.
#[test]
fn large_effects_beside_a_small_residual_come_to_an_end() {
    for seed in [3, 18, 63, 143, 243] {
        let n = [40, 80, 150, 400][seed as usize % 4];
        let found = slopes(seed, n, [3.0, 1.0, 2.0, 0.2]);
        assert!(found.iterations <= 40, "seed {seed}: {} steps", found.iterations);
        // The information here is of the order of 1e5: this is 3e-5 of a standard error.
        assert!(found.gradient_norm < 1e-2, "seed {seed}: {}", found.gradient_norm);
    }
}

/// Where intercepts hardly vary, the root of the covariance of intercept and slope may turn at will,
/// and the search crept round for more than a hundred steps.
#[test]
fn intercepts_that_hardly_vary_do_not_slow_the_search() {
    let found = slopes(14, 150, [0.0, 0.0, 0.2, 1.0]);
    assert!(found.iterations <= 40, "{} steps", found.iterations);
    assert!(found.variance("g").unwrap() < 0.3, "{:?}", found.variances);
}
