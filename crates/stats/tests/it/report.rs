//! The shape of the serialisable answers.

use serde_json::json;
use stats::survival::{Interval, SurvivalError, Time, km_report, turnbull_report};

#[test]
fn kaplan_meier() {
    let rows = [("b", Time::exact(2.0)), ("a", Time::exact(1.0)), ("a", Time::open(3.0))]
        .map(|(g, t)| (g.to_owned(), t));
    let report = km_report(&rows, &[0.5], 0.95, Interval::Plain).unwrap();
    let value = serde_json::to_value(report).unwrap();
    assert_eq!(value["groups"][0]["group"], "a");
    assert_eq!(value["groups"][0]["n"], 2);
    assert_eq!(
        value["groups"][1],
        json!({
            "group": "b", "n": 1, "events": 1,
            "steps": [{"time": 2.0, "at_risk": 1, "events": 1, "survival": 0.0,
                       "se": null, "lower": null, "upper": null}],
            "quantiles": [{"q": 0.5, "estimate": 2.0, "lower": null, "upper": null}]
        })
    );
    let keys: Vec<&String> = value["test"].as_object().unwrap().keys().collect();
    assert_eq!(keys, ["chi_square", "df", "p"]);
}

#[test]
fn turnbull() {
    let rows = [("x".to_owned(), Time::between(1.0, 4.0)), ("x".to_owned(), Time::open(2.0))];
    let value = serde_json::to_value(turnbull_report(&rows).unwrap()).unwrap();
    assert_eq!(
        value,
        json!({"groups": [{"group": "x", "log_likelihood": 0.0, "masses": [
            {"left": 2.0, "right": 4.0, "mass": 1.0}
        ]}]})
    );
}

#[test]
fn rows_are_counted_over_all_groups() {
    let rows = [("a".to_owned(), Time::exact(1.0)), ("b".to_owned(), Time::between(1.0, 2.0))];
    let error = km_report(&rows, &[], 0.95, Interval::Log).unwrap_err();
    assert_eq!(error, SurvivalError::IntervalRecord { row: 2 });
    let error = km_report(&rows[..1], &[1.0], 0.95, Interval::Log).unwrap_err();
    assert_eq!(error, SurvivalError::BadQuantile(1.0));
}
