//! `umbel calc diallel`.

use serde_json::Value;

use crate::support::{Desk, bad, good};

fn reference(name: &str) -> String {
    format!("{}/../stats/tests/data/{name}", env!("CARGO_MANIFEST_DIR"))
}

fn json(name: &str) -> Value {
    serde_json::from_str(&std::fs::read_to_string(reference(name)).unwrap()).unwrap()
}

fn near(found: &Value, expected: f64, what: &str) {
    let f = found.as_f64().unwrap_or_else(|| panic!("{what}: {found}"));
    assert!((f - expected).abs() <= 1e-6, "{what}: {f} is not {expected}");
}

#[test]
fn reference_cases() {
    for (name, method) in [("method1_p5", "1"), ("method2_p6", "2"), ("method4_p7", "4")] {
        let found = good(&["diallel", &reference(&format!("{name}.csv")), "--method", method]);
        let (value, case) = (found.value(), json(&format!("{name}.json")));
        let expected = &case["expected"];
        near(&value["mean"], expected["mean"].as_f64().unwrap(), "mean");
        for (g, e) in
            value["gca"].as_array().unwrap().iter().zip(expected["gca"].as_array().unwrap())
        {
            near(&g["effect"], e.as_f64().unwrap(), "general");
        }
        for (line, key) in [(0, "F_gca"), (1, "F_sca")] {
            near(&value["anova"][line]["f"], expected[key].as_f64().unwrap(), key);
        }
        assert_eq!(value["blocks"], true);
    }
    let found = good(&["diallel", &reference("lonnquist12_method4.csv"), "--method", "4"]);
    let expected = &json("lonnquist12_method4.json")["expected"];
    for g in found.value()["gca"].as_array().unwrap() {
        near(
            &g["effect"],
            expected["gca"][g["parent"].as_str().unwrap()].as_f64().unwrap(),
            "general",
        );
    }
    assert_eq!(found.value()["sca"].as_array().unwrap().len(), 66);
    assert_eq!(found.table.rows.len(), 78);
}

/// Crosses of three parents both ways, with replicates that are no complete blocks.
const SET: &str = "mother,father,height,rep
A,B,5,1\nA,B,6,2\nA,C,7,1\nA,C,7.5,2\nB,A,4,1\nB,A,5,2\nB,C,8,1\nB,C,8,1\nC,A,7,1\nC,A,6,2\nC,B,9,1\nC,B,8,2\n";

#[test]
fn columns_by_other_names_and_blocks_that_are_none() {
    let desk = Desk::new();
    let file = desk.table("d.csv", SET);
    let words = [
        "diallel",
        &file,
        "--method",
        "3",
        "--seed-parent",
        "mother",
        "--pollen-parent",
        "father",
        "--response",
        "height",
    ];
    let found = good(&words);
    let value = found.value();
    assert_eq!(value["blocks"], false);
    // A × B has 5.5 and B × A 4.5: half of the difference.
    let reciprocal = &value["reciprocal"][0];
    assert_eq!((&reciprocal["a"], &reciprocal["b"]), (&"A".into(), &"B".into()));
    near(&reciprocal["effect"], 0.5, "reciprocal");
    let p = bad(&[&words[..], &["--block", "rep"]].concat());
    assert!(p.what.contains("block 1 has 2 records of B × C"), "{}", p.what);
    assert_eq!(p.status, 2);
}

#[test]
fn what_cannot_be_used_is_named_with_its_place() {
    let desk = Desk::new();
    let head = "seed_parent,pollen_parent,y\n";
    let half = "A,B,5\nA,C,7\nA,D,6\nB,C,8\nB,D,9\n";
    for (text, method, part) in [
        (format!("{head}{half}"), "4", "method 4: there is no record of C × D"),
        (format!("{head}{half}C,D,7\nD,D,5\n"), "4", "D is selfed"),
        (format!("{head}{half}C,D,7\nD,C,5\n"), "4", "C and D are crossed both ways"),
        (format!("{head}{half}C,D,7\n"), "1", "there is no record of A × A"),
        (format!("{head}{half}C,D,7\n"), "3", "B × A"),
        (format!("{head}{half}C,D,x\n"), "4", "row 7, column y: “x” is not a number"),
        (format!("{head}{half}C,D,\n"), "4", "row 7, column y: “” is not a number"),
        (format!("{head}{half},D,3\n"), "4", "row 7, column seed_parent: “” is not a parent"),
        (format!("{head}A,B,5\n"), "4", "2 parents"),
        (format!("seed,pollen,y\n{half}"), "4", "column seed_parent"),
        (head.to_owned(), "4", "no row below the header"),
    ] {
        let p = bad(&["diallel", &desk.table("d.csv", &text), "--method", method]);
        assert_eq!(p.status, 2);
        assert!(p.what.contains(part), "{part}: {}", p.what);
        assert!(!p.next.is_empty());
    }
    let file = desk.table("d.csv", &format!("{head}{half}C,D,7\n"));
    for words in [
        vec!["diallel", &file],
        vec!["diallel", &file, "--method", "5"],
        vec!["diallel", &file, "--method", "4", "--block", "bed"],
    ] {
        assert_eq!(bad(&words).status, 2, "{words:?}");
    }
}
