//! Tests of the `stats` crate.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed, which is its job")]

mod competing;
mod counts;
mod crossed;
mod curve;
mod diallel;
mod drying;
mod drying_shared;
mod genetics;
mod kaplan_meier;
mod laplace;
mod logistic;
mod mixed;
mod model;
mod optimise;
mod parametric;
mod parametric_cure;
mod parametric_plainly;
mod parametric_properties;
mod parametric_published;
mod parametric_small;
mod parametric_started;
mod pedigree;
mod permutation;
mod quadrature;
mod random;
mod report;
mod scores;
mod selection;
mod simulation;
mod small_data;
mod sparse;
mod special;
mod success;
mod turnbull;
mod two_steps;

/// A reference file of the tests.
fn path(file: &str) -> String {
    format!("{}/tests/data/{file}", env!("CARGO_MANIFEST_DIR"))
}

fn json(file: &str) -> serde_json::Value {
    serde_json::from_str(&std::fs::read_to_string(path(file)).unwrap()).unwrap()
}

fn near(actual: f64, expected: f64, tolerance: f64, what: &str) {
    assert!((actual - expected).abs() <= tolerance, "{what}: {actual} is not {expected}");
}
