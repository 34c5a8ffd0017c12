//! Reference values in `tests/data`.

use std::path::PathBuf;

use serde_json::Value;

fn path(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name)
}

/// A JSON file of reference values.
pub fn json(name: &str) -> Value {
    let text = std::fs::read_to_string(path(name)).unwrap_or_else(|e| panic!("{name}: {e}"));
    serde_json::from_str(&text).unwrap()
}

/// A table of reference values.
pub struct Table {
    header: csv::StringRecord,
    rows: Vec<csv::StringRecord>,
}

/// A row of it.
pub struct Row<'a>(&'a csv::StringRecord, &'a csv::StringRecord);

/// A CSV file of reference values.
pub fn table(name: &str) -> Table {
    let mut reader = csv::Reader::from_path(path(name)).unwrap();
    let header = reader.headers().unwrap().clone();
    let rows: Vec<_> = reader.records().map(Result::unwrap).collect();
    assert!(!rows.is_empty(), "{name} is empty");
    Table { header, rows }
}

impl Table {
    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|r| Row(&self.header, r))
    }
}

impl Row<'_> {
    pub fn text(&self, column: &str) -> &str {
        let at = self.0.iter().position(|h| h == column).unwrap_or_else(|| panic!("no {column}"));
        &self.1[at]
    }

    pub fn number(&self, column: &str) -> f64 {
        self.text(column).parse().unwrap_or_else(|_| panic!("{column}: {}", self.text(column)))
    }
}

/// Asserts that two numbers differ by no more than `tolerance`.
#[track_caller]
pub fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "found {found}, expected {expected} ± {tolerance}"
    );
}
