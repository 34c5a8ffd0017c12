//! Intervals for a proportion against R 4.2.2.

use stats::success::{ProportionError, proportion};

use crate::{json, near};

#[test]
fn three_intervals() {
    let reference = json("intervals.json");
    let tolerance = reference["tolerance"]["abs"].as_f64().unwrap();
    let results = reference["expected"]["results"].as_array().unwrap();
    assert_eq!(results.len(), 9);
    for r in results {
        let (x, n) = (r["x"].as_u64().unwrap(), r["n"].as_u64().unwrap());
        let found = proportion(x, n, r["conf"].as_f64().unwrap()).unwrap();
        near(found.estimate, r["estimate"].as_f64().unwrap(), tolerance, "estimate");
        for (interval, name) in [
            (found.clopper_pearson, "clopper_pearson"),
            (found.wilson, "wilson"),
            (found.jeffreys, "jeffreys_modified"),
        ] {
            for (i, actual) in interval.iter().enumerate() {
                let what = format!("{name} {x} of {n}");
                near(*actual, r[name][i].as_f64().unwrap(), tolerance, &what);
            }
        }
    }
}

#[test]
fn the_three_in_a_hundred_rule_of_no_success() {
    // One-sided 95 % limit of 0 in 15: 1 − 0.05^(1/15); two-sided 90 % has the same upper end.
    let found = proportion(0, 15, 0.9).unwrap();
    near(found.clopper_pearson[1], 1.0 - 0.05f64.powf(1.0 / 15.0), 1e-12, "0 of 15");
}

#[test]
fn impossible_counts() {
    assert_eq!(proportion(0, 0, 0.95), Err(ProportionError::NoTrials));
    let error = proportion(3, 2, 0.95).unwrap_err().to_string();
    assert_eq!(error, "3 successes in 2 trials: there cannot be more successes than trials");
    assert_eq!(proportion(1, 2, 95.0), Err(ProportionError::Confidence(95.0)));
    assert!(proportion(1, 2, f64::NAN).is_err());
}
