//! `time-to-event --competing`.

use crate::support::{Desk, bad, good};

const FLOWERS: &str = "\
days,end,genus,from
3,dropped,Begonia,
5,cut,Begonia,
5,,Begonia,
8,dropped,Begonia,2
4,0,Streptocarpus,
9,cut,Streptocarpus,
";

fn words<'a>(file: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    [&["time-to-event", file, "--time", "days", "--competing", "end"][..], more].concat()
}

#[test]
fn two_endings_by_group() {
    let desk = Desk::new();
    let file = desk.table("f.csv", FLOWERS);
    let found = good(&words(&file, &["--by", "genus"]));
    let begonia = &found.value()["groups"][0];
    assert_eq!((&begonia["group"], &begonia["n"]), (&"Begonia".into(), &4.into()));
    let causes = begonia["causes"].as_array().unwrap();
    assert_eq!(causes.len(), 2);
    // By hand: 1/4 dropped at 3; cut at 5: 3/4·1/3; dropped at 8: 1/2·1/1 more.
    let step = |cause: usize, at: usize, key: &str| causes[cause]["steps"][at][key].as_f64();
    assert_eq!((&causes[0]["cause"], &causes[1]["cause"]), (&"cut".into(), &"dropped".into()));
    assert_eq!(causes[1]["events"], 2);
    assert!((step(1, 0, "incidence").unwrap() - 0.25).abs() < 1e-12);
    assert!((step(0, 0, "incidence").unwrap() - 0.25).abs() < 1e-12);
    assert!((step(1, 1, "incidence").unwrap() - 0.75).abs() < 1e-12);
    assert_eq!(causes[1]["steps"][1]["at_risk"], 1);
    // Nothing left out before 5: the standard error of a share of four.
    assert!((step(1, 0, "se").unwrap() - (0.25_f64 * 0.75 / 4.0).sqrt()).abs() < 1e-12);
    // The other group has the same causes, dropped without a step.
    let other = &found.value()["groups"][1];
    assert_eq!(other["causes"][1]["steps"].as_array().unwrap().len(), 0);
    assert!(other["causes"][0]["steps"][0]["se"].is_null(), "the incidence has reached 1");
    let table = &found.table;
    assert_eq!(table.columns[1..3], ["cause", "time"]);
    assert_eq!(table.rows.len(), 4);
}

#[test]
fn a_late_entry_is_at_risk_only_then() {
    let desk = Desk::new();
    let file = desk.table("f.csv", "days,end,from\n1,dropped,\n3,cut,2\n4,dropped,\n");
    let found = good(&words(&file, &["--entry", "from", "--fit", "km"]));
    let causes = &found.value()["groups"][0]["causes"];
    assert_eq!(causes[1]["steps"][0]["at_risk"], 2);
    // 1/2 dropped at 1, then half of the other half cut at 3.
    assert_eq!(causes[0]["steps"][0]["incidence"], 0.25);
    assert_eq!(causes[1]["steps"][1]["incidence"], 0.75);
}

#[test]
fn what_cannot_be_used_is_named() {
    let desk = Desk::new();
    let refused = |text: &str, more: &[&str], status: u8, parts: &[&str]| {
        let file = desk.table("bad.csv", text);
        let problem = bad(&words(&file, more));
        assert_eq!(problem.status, status, "{}", problem.what);
        for part in parts {
            assert!(problem.what.contains(part), "{part}: {}", problem.what);
        }
    };
    refused("days,end\n3,cut\n,cut\n", &[], 2, &["row 3", "column days", "“” is not a time"]);
    refused("days,end\n3,cut\n-2,cut\n", &[], 2, &["row 3", "column days", "“-2”"]);
    refused("days,end\n3,cut\nsoon,cut\n", &[], 2, &["row 3", "column days", "“soon”"]);
    let late = "days,end,from\n3,cut,\n4,cut,6\n";
    refused(late, &["--entry", "from"], 2, &["row 3", "column from", "“6”"]);
    refused("days,why\n3,cut\n", &[], 2, &["row 1", "column end"]);
    refused("days,end\n3,\n4,0\n", &[], 3, &["no row has ended"]);
    refused("days,end\n3,cut\n", &["--fit", "weibull"], 2, &["--competing"]);
    refused("days,end\n3,cut\n", &["--event", "end"], 2, &["--event"]);
    let file = desk.table("alone.csv", "left,right,end\n3,3,cut\n");
    let problem = bad(&["time-to-event", &file, "--competing", "end"]);
    assert!(problem.status == 2 && problem.what.contains("--time"), "{}", problem.what);
    let problem = bad(&["time-to-event", &file]);
    assert!(problem.status == 2 && problem.what.contains("--fit"), "{}", problem.what);
}
