//! `umbel calc index`.

use serde_json::{Value, json};

use crate::support::{Desk, bad, good};

fn reference(name: &str) -> Value {
    let path = format!("{}/../stats/tests/data/{name}.json", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

/// The same, relative to the expected value.
fn same(found: &Value, expected: &Value, what: &str) {
    match expected {
        Value::Array(list) => {
            assert_eq!(found.as_array().unwrap().len(), list.len(), "{what}");
            list.iter().enumerate().for_each(|(i, e)| same(&found[i], e, what));
        }
        number => {
            let (f, e) = (found.as_f64().unwrap(), number.as_f64().unwrap());
            assert!((f - e).abs() <= 1e-8 * e.abs(), "{what}: {f} is not {e}");
        }
    }
}

#[test]
fn reference_cases() {
    let desk = Desk::new();
    for name in ["mrode_beef", "three_trait"] {
        let case = reference(name);
        let inputs = &case["inputs"];
        let asked = json!({
            "P": inputs["P"], "G": inputs["G"], "weights": inputs["economic_weights"],
            "intensity": inputs["selection_intensity"], "desired_gains": inputs["desired_gains"],
        });
        let file = desk.table(&format!("{name}.json"), &asked.to_string());
        let found = good(&["index", &file]);
        let (value, expected) = (found.value(), &case["expected"]);
        for key in ["b", "sd_index", "response_aggregate", "response_traits", "accuracy"] {
            same(&value[key], &expected[key], key);
        }
        for key in ["b", "gains_per_unit_i", "i_needed"] {
            if !expected["desired_gains"].is_null() {
                same(&value["desired_gains"][key], &expected["desired_gains"][key], key);
            }
        }
        assert_eq!(value["warnings"], json!([]));
        assert!(value["restricted"].is_null());
        assert_eq!(found.table.rows.len(), inputs["P"].as_array().unwrap().len());
    }
}

const PLAIN: &str =
    r#"{"P": [[1, 0.2], [0.2, 1]], "G": [[0.4, 0.1], [0.1, 0.25]], "weights": [1, 0.5]"#;

#[test]
fn a_trait_held_still_and_the_best_of_a_few() {
    let desk = Desk::new();
    let file =
        desk.table("a.json", &format!("{PLAIN}, \"restricted\": [1], \"intensity\": 1.755}}"));
    let found = good(&["index", &file]);
    let held = &found.value()["restricted"];
    assert!(held["response_traits"][0].as_f64().unwrap().abs() < 1e-12);
    assert!(held["response_traits"][1].as_f64().unwrap() > 0.0);
    // Ten in a hundred: 1.730 of 1.755 of infinitely many (from memory).
    let i = good(&["index", "--intensity-of", "10,100"]);
    let i = i.value()["i"].as_f64().unwrap();
    assert!((i - 1.730).abs() < 0.001, "{i}");
    let of_few = good(&["index", &file, "--intensity-of", "10,100"]);
    assert_eq!(of_few.value()["intensity"], json!(i));
    let without = desk.table("b.json", &format!("{PLAIN}}}"));
    let found = good(&["index", &without]);
    assert!(found.value()["response_aggregate"].is_null() && found.value()["b"].is_array());
}

#[test]
fn what_is_odd_stands_under_warnings() {
    let desk = Desk::new();
    let text =
        r#"{"P": [[1, 0], [0, 1]], "G": [[0.5, 0.6], [0.6, 0.5]], "weights": [1, 1], "colour": 3}"#;
    let found = good(&["index", &desk.table("a.json", text)]);
    let warnings = found.value()["warnings"].to_string();
    for part in ["G is not positive definite", "P − G", "accuracy is above 1", "colour"] {
        assert!(warnings.contains(part), "{warnings}");
    }
    assert!(found.value()["accuracy"].as_f64().unwrap() > 1.0);
}

#[test]
fn what_cannot_be_read_is_named() {
    let desk = Desk::new();
    let unit = r#""P": [[1, 0], [0, 1]]"#;
    let half = r#""G": [[0.5, 0], [0, 0.5]]"#;
    for (text, part) in [
        ("{", "line 1"),
        ("[1]", "not an object"),
        (&format!("{{{half}, \"weights\": [1, 1]}}"), "there is no P"),
        (&format!("{{{unit}, \"weights\": [1, 1]}}"), "there is no G"),
        (&format!("{{{unit}, {half}}}"), "neither weights nor desired_gains"),
        (&format!("{{{unit}, {half}, \"weights\": 1}}"), "weights: “1” is not a list"),
        (&format!("{{{unit}, {half}, \"weights\": [1, \"x\"]}}"), "number 2: “x” is not a number"),
        (&format!("{{{unit}, {half}, \"weights\": [1]}}"), "1 numbers where P has 2 traits"),
        (&format!("{{{unit}, {half}, \"weights\": [0, 0]}}"), "all weights are 0"),
        (&format!("{{{unit}, {half}, \"weights\": [1, 1], \"restricted\": [3]}}"), "no trait 3"),
        (&format!("{{{unit}, {half}, \"weights\": [1, 1], \"restricted\": [0]}}"), "“0”"),
        (
            &format!("{{{unit}, {half}, \"weights\": [1, 1], \"restricted\": [1, 2]}}"),
            "all 2 traits",
        ),
        (
            &format!("{{{unit}, {half}, \"desired_gains\": [1, 1], \"restricted\": [1]}}"),
            "without weights",
        ),
        (&format!("{{{unit}, {half}, \"weights\": [1, 1], \"intensity\": -1}}"), "“-1”"),
        (&format!("{{\"P\": [[1, 0]], {half}, \"weights\": [1, 1]}}"), "row 1 of P has 2"),
        (
            &format!("{{\"P\": [[1, 0.1], [0.2, 1]], {half}, \"weights\": [1, 1]}}"),
            "P has 0.1 in row 1",
        ),
        (
            &format!("{{\"P\": [[1, true], [0, 1]], {half}, \"weights\": [1, 1]}}"),
            "P, row 1, number 2",
        ),
        (&format!("{{\"P\": [[0, 0], [0, 1]], {half}, \"weights\": [1, 1]}}"), "variance of 0"),
        (&format!("{{{unit}, \"G\": [[-1, 0], [0, 1]], \"weights\": [1, 1]}}"), "variance of -1"),
        (&format!("{{\"P\": [[1, 1], [1, 1]], {half}, \"weights\": [1, 1]}}"), "P is singular"),
    ] {
        let p = bad(&["index", &desk.table("bad.json", text)]);
        assert_eq!(p.status, 2, "{text}");
        assert!(p.what.contains(part), "{text}: {}", p.what);
        assert!(!p.next.is_empty());
    }
    for words in [
        &["index"][..],
        &["index", "--intensity-of", "5"],
        &["index", "--intensity-of", "6,5"],
        &["index", "--intensity-of", "0,5"],
        &["index", "nowhere.json"],
    ] {
        assert_eq!(bad(words).status, 2, "{words:?}");
    }
}
