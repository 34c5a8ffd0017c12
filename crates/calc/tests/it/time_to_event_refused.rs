//! What the options of a fit by a formula refuse: where, and what to do next.

use crate::support::{Desk, bad, good};

const LOOKS: &str = "subject,left,right,kind,from\na,3,4,firm,1\na,4,6,firm,\nb,5,7,soft,2\n\
                     b,2,3,soft,\na,6,,firm,3\nb,,2,soft,\n";

/// Refuses with status 2, saying all of this.
fn refused(words: &[&str], said: &[&str]) {
    let problem = bad(words);
    for part in said {
        assert!(problem.what.contains(part), "{words:?}: no {part} in {}", problem.what);
    }
    assert_eq!(problem.status, 2, "{words:?}: {}", problem.what);
    assert!(!problem.next.is_empty(), "{words:?} says what to do next");
}

/// A table with one cell exchanged.
fn slip(desk: &Desk, name: &str, right: &str, wrong: &str) -> String {
    assert_eq!(LOOKS.matches(right).count(), 1, "{right} is there once");
    desk.table(name, &LOOKS.replace(right, wrong))
}

fn weibull<'a>(file: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    [&["time-to-event", file, "--fit", "weibull"], more].concat()
}

#[test]
fn cure() {
    let desk = Desk::new();
    let file = desk.table("l.csv", LOOKS);
    refused(&weibull(&file, &["--cure", "--cure-terms", "age"]), &["row 1", "column age"]);
    refused(&weibull(&file, &["--cure-terms", "kind"]), &["--cure"]);
    let blank = slip(&desk, "b.csv", "5,7,soft", "5,7,");
    let asked = ["--cure", "--cure-terms", "kind"];
    refused(&weibull(&blank, &asked), &["row 4", "column kind", "“”"]);
    let one = desk.table("o.csv", &LOOKS.replace("soft", "firm"));
    refused(&weibull(&one, &asked), &["kind", "“firm”"]);
    let text = slip(&desk, "t.csv", "a,6,", "a,six,");
    refused(&weibull(&text, &["--cure"]), &["row 6", "column left", "“six”"]);
}

#[test]
fn misread() {
    let desk = Desk::new();
    let file = desk.table("l.csv", LOOKS);
    for rate in ["0.5", "-0.1", "often", "nan"] {
        let option = format!("--misread={rate}");
        refused(&weibull(&file, &[&option]), &["--misread", rate, "below 0.5"]);
    }
    let late = slip(&desk, "r.csv", "b,5,7", "b,9,7");
    refused(&weibull(&late, &["--misread", "0.05"]), &["row 4", "column right", "“7”", "9"]);
}

#[test]
fn clock() {
    let desk = Desk::new();
    let file = desk.table("l.csv", LOOKS);
    let clock = |name: &str, rows: &str| desk.table(name, &format!("subject,day,rate\n{rows}"));
    let with = |clock: &str, said: &[&str]| refused(&weibull(&file, &["--clock", clock]), said);
    with(&clock("1.csv", "a,0,1\na,3,fast\n"), &["1.csv", "row 3", "column rate", "“fast”"]);
    with(&clock("2.csv", "a,0,1\na,3,-2\n"), &["2.csv", "row 3", "column rate", "“-2”"]);
    with(&clock("3.csv", "a,0,1\nb,,2\n"), &["3.csv", "row 3", "column day", "“”"]);
    with(&clock("4.csv", "a,0,1\nb,2,2\nb,2,3\n"), &["4.csv", "subject b", "day 2"]);
    with(&clock("5.csv", "a,-4,1\n"), &["5.csv", "subject a", "-4"]);
    with(&desk.table("6.csv", "subject,date,rate\na,0,1\n"), &["6.csv", "row 1", "column day"]);
    with("there-is-none.csv", &["there-is-none.csv"]);
    let nobody = desk.table("n.csv", &LOOKS.replace("subject", "plant"));
    let even = clock("7.csv", "a,0,1\n");
    refused(&weibull(&nobody, &["--clock", &even]), &["n.csv", "row 1", "column subject"]);
}

#[test]
fn given_after() {
    let desk = Desk::new();
    let file = desk.table("l.csv", LOOKS);
    refused(&weibull(&file, &["--given-after", "soon"]), &["--given-after", "soon"]);
    refused(&weibull(&file, &["--given-after=-1"]), &["without event", "-1"]);
    refused(&weibull(&file, &["--given-after", "inf"]), &["without event", "inf"]);
    let found = good(&weibull(&file, &["--given-after", "5"]));
    let row = &found.value()["predictions"][0];
    assert!(row["next"]["lower"].as_f64().unwrap() >= 5.0, "{row}");
}

#[test]
fn prior() {
    let desk = Desk::new();
    let file = desk.table("l.csv", LOOKS);
    let with = |name: &str, text: &str, said: &[&str]| {
        let prior = desk.table(name, text);
        refused(&weibull(&file, &["--prior", &prior]), &[said, &[name]].concat());
    };
    with("1.json", "{\n\"coefficients\": 3}", &["row 2", "3"]);
    with("2.json", "{\n\n\"scales\": {}}", &["row 3", "scales"]);
    let of =
        |sd: &str| format!(r#"{{"coefficients":[{{"term":"(intercept)","mean":1,"sd":{sd}}}]}}"#);
    with("3.json", &of("0"), &["(intercept)", "sd", "0"]);
    with("4.json", &of("-0.5"), &["(intercept)", "sd", "-0.5"]);
    with("5.json", &of("\"wide\""), &["row 1", "wide"]);
    with("6.json", r#"{"scale":{"gamma":{"shape":2,"rate":-3}}}"#, &["scale", "rate", "-3"]);
    with("7.json", r#"{"random":[{"group":"shelf","half_normal":{"scale":1}}]}"#, &["shelf"]);
    refused(&weibull(&file, &["--prior", "none.json"]), &["none.json"]);
    let both = desk.table("8.json", &of("0.5"));
    refused(&weibull(&file, &["--prior", &both, "--cure"]), &["--cure"]);
}

#[test]
fn entry() {
    let desk = Desk::new();
    let file = desk.table("l.csv", LOOKS);
    let entered = ["--entry", "from"];
    let found = good(&weibull(&file, &entered));
    assert_eq!(found.value()["n"], 6);
    refused(&weibull(&file, &["--entry", "since"]), &["row 1", "column since"]);
    let late = slip(&desk, "late.csv", "soft,2", "soft,8");
    refused(&weibull(&late, &entered), &["row 4", "column from", "“8”", "7"]);
    let text = slip(&desk, "text.csv", "soft,2", "soft,early");
    refused(&weibull(&text, &entered), &["row 4", "column from", "“early”"]);
    let before = slip(&desk, "before.csv", "soft,2", "soft,-2");
    refused(&weibull(&before, &entered), &["row 4", "column from", "“-2”", "from 0 on"]);
    let right = slip(&desk, "right.csv", "b,5,7", "b,5,-7");
    refused(&weibull(&right, &entered), &["row 4", "column right", "“-7”", "from 0 on"]);
    // A clock does not change what is quoted.
    let clock = desk.table("clock.csv", "subject,day,rate\nb,0,2\n");
    let both = ["--entry", "from", "--clock", &clock];
    refused(&weibull(&late, &both), &["row 4", "column from", "“8”", "7"]);
}
