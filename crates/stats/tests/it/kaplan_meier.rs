//! Kaplan–Meier against R survival 3.5.3 (see tests/data/SOURCES.md), and by hand.

use serde_json::Value;
use stats::survival::{Interval, KaplanMeier, KmReport, SurvivalError, Time, km_report, log_rank};

use crate::{json, near, path};

fn rows(case: &str) -> Vec<(String, Time)> {
    let (file, group, prefix, time, event) = match case {
        "gehan" => ("gehan.csv", 3, "treat=", 1, 2),
        _ => ("lung.csv", 3, "sex=", 0, 1),
    };
    let mut reader = csv::Reader::from_path(path(file)).unwrap();
    let records = reader.records().map(|r| {
        let r = r.unwrap();
        let t: f64 = r[time].parse().unwrap();
        let seen = &r[event] == "1";
        (format!("{prefix}{}", &r[group]), if seen { Time::exact(t) } else { Time::open(t) })
    });
    records.collect()
}

fn optional(cell: &str) -> Option<f64> {
    (!cell.is_empty()).then(|| cell.parse().unwrap())
}

fn same(actual: Option<f64>, expected: Option<f64>, tolerance: f64, what: &str) {
    match (actual, expected) {
        (Some(a), Some(e)) => near(a, e, tolerance, what),
        (a, e) => assert_eq!(a, e, "{what}"),
    }
}

fn check_steps(report: &KmReport, file: &str, tolerance: f64) {
    let mut count = 0;
    for r in csv::Reader::from_path(path(file)).unwrap().records() {
        let r = r.unwrap();
        let group = report.groups.iter().find(|g| g.group == r[0]).unwrap();
        let time: f64 = r[1].parse().unwrap();
        let step = group.steps.iter().find(|s| s.time == time).unwrap();
        let what = format!("{file} {r:?}");
        assert_eq!((step.at_risk.to_string(), step.events.to_string()), (r[2].into(), r[3].into()));
        near(step.survival, r[4].parse().unwrap(), tolerance, &what);
        same(step.se, optional(&r[5]), tolerance, &what);
        same(step.lower, optional(&r[6]), tolerance, &what);
        same(step.upper, optional(&r[7]), tolerance, &what);
        count += 1;
    }
    assert_eq!(count, report.groups.iter().map(|g| g.steps.len()).sum::<usize>());
}

fn check_quantiles(report: &KmReport, expected: &Value, what: &str) {
    for group in &report.groups {
        for (i, q) in group.quantiles.iter().enumerate() {
            let wanted = |kind: &str| expected[kind][&group.group][i].as_f64();
            // Times of the data themselves: exact.
            assert_eq!(q.estimate, wanted("q"), "{what} {} {q:?}", group.group);
            assert_eq!(q.lower, wanted("lower"), "{what} {} {q:?}", group.group);
            assert_eq!(q.upper, wanted("upper"), "{what} {} {q:?}", group.group);
        }
    }
}

fn case(name: &str) {
    let reference = json(&format!("{name}_km.json"));
    let tolerance = reference["tolerance"]["abs"].as_f64().unwrap();
    let rows = rows(name);
    for (interval, word, file) in [
        (Interval::Plain, "plain", "plain"),
        (Interval::Log, "log", "log"),
        (Interval::LogLog, "log-log", "loglog"),
    ] {
        let report = km_report(&rows, &[0.25, 0.5, 0.75], 0.95, interval).unwrap();
        check_steps(&report, &format!("{name}_km_{file}.csv"), tolerance);
        check_quantiles(&report, &reference["expected"][word]["quantiles"], word);
    }
    let expected = &reference["expected"]["logrank"];
    let tolerance = reference["tolerance"]["logrank_abs"].as_f64().unwrap();
    let test = km_report(&rows, &[], 0.95, Interval::Log).unwrap().test.unwrap();
    near(test.chi_square, expected["chisq"].as_f64().unwrap(), tolerance, "chi square");
    near(test.p, expected["p"].as_f64().unwrap(), tolerance, "p");
    // The reference rounds its p-values to 15 digits; relative agreement shows the tail is right.
    near(test.p / expected["p"].as_f64().unwrap(), 1.0, 1e-9, "p, relative");
    assert_eq!(test.df, 1);
}

#[test]
fn remission_of_leukaemia() {
    case("gehan");
}

#[test]
fn lung_cancer() {
    case("lung");
}

#[test]
fn published_digits_of_the_remission_curve() {
    // Textbook values (Kleinbaum & Klein, Collett; from memory), printed to three digits.
    let report = km_report(&rows("gehan"), &[], 0.95, Interval::Log).unwrap();
    let treated = report.groups.iter().find(|g| g.group == "treat=6-MP").unwrap();
    let printed: Vec<String> = treated.steps.iter().map(|s| format!("{:.3}", s.survival)).collect();
    assert_eq!(printed, ["0.857", "0.807", "0.753", "0.690", "0.627", "0.538", "0.448"]);
    // Observed and expected events per group, from R (survdiff), 1e-6.
    let test = report.test.unwrap();
    assert_eq!(test.observed, [9.0, 21.0]);
    near(test.expected[0], 19.2505009480311, 1e-6, "expected");
}

#[test]
fn three_records_by_hand() {
    let km = KaplanMeier::fit(
        &[Time::exact(2.0), Time::open(2.0), Time::exact(5.0)],
        0.8,
        Interval::Plain,
    )
    .unwrap();
    assert_eq!(km.steps.len(), 2);
    // The open record of day 2 still counts on day 2.
    assert_eq!((km.steps[0].at_risk, km.steps[0].survival), (3, 2.0 / 3.0));
    assert_eq!((km.steps[1].at_risk, km.steps[1].survival, km.steps[1].se), (1, 0.0, None));
    assert_eq!(km.quantile(0.5).estimate, Some(5.0));
}

#[test]
fn an_even_number_has_its_median_in_the_middle() {
    let times = [1.0, 2.0, 4.0, 9.0].map(Time::exact);
    let km = KaplanMeier::fit(&times, 0.8, Interval::LogLog).unwrap();
    assert_eq!(km.quantile(0.5).estimate, Some(3.0));
}

#[test]
fn a_late_entry_counts_only_from_then_on() {
    // A plant bought with a flower already 4 days open cannot have lost it on day 3.
    let times = [Time::exact(3.0), Time::exact(6.0), Time::exact(8.0).entered(4.0)];
    let km = KaplanMeier::fit(&times, 0.8, Interval::Plain).unwrap();
    let at_risk: Vec<usize> = km.steps.iter().map(|s| s.at_risk).collect();
    assert_eq!(at_risk, [2, 2, 1]);
    near(km.steps[1].survival, 0.25, 1e-15, "survival");
}

#[test]
fn bad_records_name_their_row() {
    let fit = |times: &[Time]| KaplanMeier::fit(times, 0.95, Interval::Log).unwrap_err();
    let good = Time::exact(1.0);
    assert_eq!(fit(&[]), SurvivalError::Empty);
    assert_eq!(fit(&[good, Time::exact(-1.0)]), SurvivalError::BadTime { row: 2, value: -1.0 });
    assert_eq!(fit(&[good, Time::between(1.0, 4.0)]), SurvivalError::IntervalRecord { row: 2 });
    assert_eq!(
        fit(&[Time { left: Some(5.0), right: Some(2.0), entry: 0.0 }]),
        SurvivalError::Reversed { row: 1, left: 5.0, right: 2.0 }
    );
    assert_eq!(
        fit(&[Time { left: None, right: None, entry: 0.0 }]),
        SurvivalError::NoTime { row: 1 }
    );
    assert_eq!(
        fit(&[good.entered(1.0)]),
        SurvivalError::LateEntry { row: 1, entry: 1.0, last: 1.0 }
    );
    let bad = KaplanMeier::fit(&[good], 1.5, Interval::Log).unwrap_err();
    assert_eq!(bad.to_string(), "confidence 1.5: expected a number between 0 and 1, such as 0.95");
}

#[test]
fn nothing_can_be_tested_without_events_or_groups() {
    let open = [Time::open(3.0)];
    assert_eq!(log_rank(&[&open, &open]), Ok(None));
    assert_eq!(log_rank(&[&open]), Ok(None));
}

#[test]
fn three_equal_groups_do_not_differ() {
    let group = [1.0, 3.0, 4.0, 8.0].map(Time::exact);
    let test = log_rank(&[&group, &group, &group]).unwrap().unwrap();
    assert_eq!(test.df, 2);
    near(test.chi_square, 0.0, 1e-12, "chi square");
    near(test.p, 1.0, 1e-9, "p");
}
