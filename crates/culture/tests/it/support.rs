//! Reference tables, and comparing.

use std::collections::BTreeMap;

use serde_json::Value;

/// A table of numbers.
pub fn table(text: &str) -> Vec<BTreeMap<String, f64>> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    reader
        .records()
        .map(|r| {
            let record = r.unwrap();
            header
                .iter()
                .zip(record.iter())
                .map(|(h, c)| (h.to_owned(), c.parse().unwrap()))
                .collect()
        })
        .collect()
}

/// A JSON file.
pub fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

/// A number in a JSON file, by its pointer.
pub fn number(value: &Value, pointer: &str) -> f64 {
    value.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("no {pointer}"))
}

/// Asserts that a number is within an absolute tolerance.
#[track_caller]
pub fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} is not within {tolerance} of {expected}"
    );
}

/// Asserts that a number is within a relative tolerance.
#[track_caller]
pub fn near_rel(found: f64, expected: f64, tolerance: f64) {
    near(found, expected, tolerance * expected.abs());
}
