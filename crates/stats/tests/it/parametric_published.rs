//! Figures that stand in print or can be had with pencil and paper.

use stats::model::{Column, Fixed, Frame};
use stats::survival::parametric::{Fit, Law, Options, fit};

use crate::near;
use crate::parametric::{Table, design};

fn cosmesis(law: Law) -> Fit {
    let table = Table::read("cosmesis.csv");
    let fixed = design(&table.frame(&["treatment"]), &["treatment"]);
    fit(&table.intervals(), &fixed, law, &Options::default()).unwrap()
}

fn remission(law: Law) -> Fit {
    let table = Table::read("gehan.csv");
    let frame = table.frame(&["treat"]).reference("treat", "control");
    let fixed = design(&frame, &["treat"]);
    fit(&table.seen("time", "cens"), &fixed, law, &Options::default()).unwrap()
}

#[test]
fn breast_retraction() {
    // Data: Finkelstein & Wolfe 1985, Biometrics 41:933–945. These figures were computed beforehand by
    // another program and are not in print; half of their last digit is allowed.
    let weibull = cosmesis(Law::Weibull);
    near(weibull.parameters[0], 3.899, 5e-4, "intercept");
    near(weibull.se(0), 0.141, 5e-4, "its standard error");
    near(weibull.parameters[1], -0.568, 5e-4, "treatment");
    near(weibull.se(1), 0.176, 5e-4, "its standard error");
    near(weibull.scale, 0.619, 5e-4, "scale");
    near(weibull.log_likelihood, -143.32, 5e-3, "log-likelihood");
    let log_hazard = -weibull.parameters[1] / weibull.scale;
    near(log_hazard, 0.916, 5e-4, "log hazard ratio");
    let lognormal = cosmesis(Law::Lognormal);
    near(lognormal.parameters[0], 3.548, 5e-4, "intercept");
    near(lognormal.parameters[1], -0.421, 5e-4, "treatment");
    near(lognormal.scale, 0.882, 5e-4, "scale");
    near(lognormal.log_likelihood, -146.62, 5e-3, "log-likelihood");
    // Huang & Wellner 1995 give 0.797 (standard error 0.29; quoted at second hand) for proportional
    // hazards without any form of the curve. That is another model, so only the direction and the
    // order of size can agree: within one of its standard errors.
    near(log_hazard, 0.797, 0.29, "order of size of the log hazard ratio");
}

#[test]
fn remission_times_by_a_weibull() {
    // Venables & Ripley, Modern Applied Statistics with S, chapter on survival; from memory: 2.248,
    // 1.267, scale 0.732, log-likelihood −106.6 (−106.58).
    let found = remission(Law::Weibull);
    assert_eq!((found.n, found.events), (42, 30));
    near(found.parameters[0], 2.248, 5e-4, "intercept");
    near(found.parameters[1], 1.267, 5e-4, "6-MP");
    near(found.scale, 0.732, 5e-4, "scale");
    near(found.log_likelihood, -106.58, 5e-3, "log-likelihood");
}

/// Events over total time, the rate of an exponential (Cox & Oakes 1984, Analysis of Survival Data,
/// chapter 3; from memory), whose logarithm has the standard error 1/√events.
#[test]
fn remission_times_by_an_exponential_in_closed_form() {
    // 21 events in 182 weeks without treatment, 9 in 359 weeks with it (counted from the data).
    let (control, treated) = ((21.0f64, 182.0f64), (9.0f64, 359.0f64));
    let found = remission(Law::Exponential);
    near(found.parameters[0], (control.1 / control.0).ln(), 1e-9, "ln mean of the control");
    near(found.se(0), 1.0 / control.0.sqrt(), 1e-9, "its standard error");
    let ratio = (treated.1 / treated.0 / (control.1 / control.0)).ln();
    near(found.parameters[1], ratio, 1e-9, "6-MP");
    near(found.se(1), (1.0 / control.0 + 1.0 / treated.0).sqrt(), 1e-9, "its standard error");
    let at_top = |(d, t): (f64, f64)| d * (d / t).ln() - d;
    near(found.log_likelihood, at_top(control) + at_top(treated), 1e-9, "log-likelihood");
    let both = (control.0 + treated.0, control.1 + treated.1);
    near(found.log_likelihood_null, at_top(both), 1e-9, "null");

    let table = Table::read("gehan.csv");
    let alone = Fixed::build(&Frame::new(42), &[]).unwrap();
    let times = table.seen("time", "cens");
    let found = fit(&times, &alone, Law::Exponential, &Options::default()).unwrap();
    near((-found.parameters[0]).exp(), both.0 / both.1, 1e-9, "rate");
    near(found.se(0), 1.0 / both.0.sqrt(), 1e-9, "standard error of its logarithm");
    near(found.scale, 1.0, 0.0, "scale");
}

#[test]
fn exact_times_by_a_lognormal_are_mean_and_spread_of_logarithms() {
    // Textbook closed form: least squares on ln t, with the divisor n; the standard error of ln s is
    // 1/√(2n), that of a group's mean s/√n.
    let cold = [3.0f64, 5.0, 8.0, 13.0, 21.0];
    let warm = [2.0f64, 3.0, 4.0, 9.0, 6.0];
    let times: Vec<_> =
        cold.iter().chain(&warm).map(|t| stats::survival::Time::exact(*t)).collect();
    let words = (0..10).map(|i| if i < 5 { "cold" } else { "warm" }.to_owned()).collect();
    let fixed = design(&Frame::new(10).with("room", Column::Words(words)).unwrap(), &["room"]);
    let found = fit(&times, &fixed, Law::Lognormal, &Options::default()).unwrap();
    let mean = |of: &[f64; 5]| of.iter().map(|t| t.ln()).sum::<f64>() / 5.0;
    let square = |of: &[f64; 5]| of.iter().map(|t| (t.ln() - mean(of)).powi(2)).sum::<f64>();
    let s = ((square(&cold) + square(&warm)) / 10.0).sqrt();
    near(found.parameters[0], mean(&cold), 1e-8, "intercept");
    near(found.parameters[1], mean(&warm) - mean(&cold), 1e-8, "warm");
    near(found.scale, s, 1e-8, "scale");
    near(found.se(0), s / 5f64.sqrt(), 1e-8, "standard error of the intercept");
    near(found.se(1), s * 0.4f64.sqrt(), 1e-8, "standard error of the difference");
    near(found.log_scale().1.unwrap(), 1.0 / 20f64.sqrt(), 1e-7, "standard error of ln s");
}
