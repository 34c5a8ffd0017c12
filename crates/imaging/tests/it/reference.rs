//! Agreement with the reference files beside this folder.

use std::collections::HashMap;

use imaging::{Lab, Srgb8, ciede2000};
use serde_json::Value;

type Row = HashMap<String, String>;

fn case(name: &str) -> (Vec<Row>, f64) {
    let path = |kind: &str| format!("{}/tests/data/{name}.{kind}", env!("CARGO_MANIFEST_DIR"));
    let json: Value =
        serde_json::from_str(&std::fs::read_to_string(path("json")).unwrap()).unwrap();
    let mut reader = csv::Reader::from_path(path("csv")).unwrap();
    (reader.deserialize().map(Result::unwrap).collect(), json["tolerance"]["abs"].as_f64().unwrap())
}

fn number(row: &Row, column: &str) -> f64 {
    row[column].parse().unwrap()
}

/// Tolerance 1e-4, that of the file: the published values have four decimals.
#[test]
fn ciede2000_is_that_of_the_34_published_pairs() {
    let (rows, tolerance) = case("ciede2000_sharma");
    assert_eq!(rows.len(), 34);
    for row in &rows {
        let lab = |n: &str| {
            let [l, a, b] = ["L", "a", "b"].map(|c| number(row, &format!("{c}{n}")));
            Lab::new(l, a, b)
        };
        let expected = number(row, "dE00_published");
        for actual in [ciede2000(lab("1"), lab("2")), ciede2000(lab("2"), lab("1"))] {
            assert!((actual - expected).abs() <= tolerance, "pair {}: {actual}", row["pair"]);
        }
    }
}

/// The file allows 0.05 for other roundings of the white point; with the same figures 1e-6 is kept,
/// and a twentieth of the tolerance would already be a fault.
#[test]
fn pixels_have_the_lab_of_the_reference() {
    let (rows, tolerance) = case("srgb_lab_open");
    assert_eq!(rows.len(), 11);
    for row in &rows {
        let light = row["hex"].parse::<Srgb8>().unwrap().linear();
        let (xyz, d65, d50) = (light.xyz().0, light.lab_d65(), light.lab_d50());
        let mut pairs = vec![
            ("X", xyz[0]),
            ("Y", xyz[1]),
            ("Z", xyz[2]),
            ("L65", d65.l),
            ("a65", d65.a),
            ("b65", d65.b),
            ("L50", d50.l),
            ("a50", d50.a),
            ("b50", d50.b),
            ("C65", d65.chroma()),
        ];
        if d65.chroma() > 0.01 {
            pairs.push(("h65", d65.hue()));
        }
        for (column, actual) in pairs {
            let expected = number(row, column);
            assert!((actual - expected).abs() <= tolerance, "{} {column}: {actual}", row["hex"]);
            assert!((actual - expected).abs() <= 1e-6, "{} {column}: {actual}", row["hex"]);
        }
    }
}
