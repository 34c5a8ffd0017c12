//! How many are needed, as asked in words.

use crate::support::{bad, good};

#[test]
fn one_of_sixteen_needs_forty_seven() {
    // Mather 1951 (from memory), reproduced: ln 0.05 / ln (15/16) = 46.4.
    let found = good(&["progeny", "--share", "1/16", "--confidence", "0.95"]);
    assert_eq!(found.value()["n"], 47);
    let exact = found.value()["exact"].as_f64().unwrap();
    // A closed form.
    assert!((exact - 0.05_f64.ln() / (15.0_f64 / 16.0).ln()).abs() < 1e-9, "{exact}");
    let words = ["progeny", "--successes", "6", "--trials", "10", "--at-least", "3"];
    let found = good(&words);
    assert_eq!((found.value()["n"].as_u64(), found.value()["exact"].is_null()), (Some(11), true));
}

#[test]
fn what_cannot_be_a_share_is_refused() {
    for (words, part) in [
        (vec!["progeny", "--share", "1.5"], "between 0 and 1"),
        (vec!["progeny"], "neither a share nor earlier trials"),
        (vec!["progeny", "--successes", "7", "--trials", "5"], "7 successes in 5 trials"),
        (vec!["progeny", "--share", "0.5", "--at-least", "0"], "0"),
        (vec!["progeny", "--share", "0.5", "--rho", "1"], "a correlation of 1"),
        (vec!["progeny", "--successes", "7"], "--trials"),
    ] {
        let refused = bad(&words);
        assert_eq!(refused.status, 2);
        assert!(refused.what.contains(part), "{} lacks {part}", refused.what);
    }
}

#[test]
fn every_row_of_the_table_of_needed_progeny() {
    // Mather 1951; Sedcole 1977; smallest n by the binomial tail of scipy 1.17.1. Whole numbers: exact.
    let path = format!("{}/../stats/tests/data/progeny_needed.csv", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).unwrap();
    let mut rows = 0;
    for line in text.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let (share, confidence, at_least) = (cells[0], cells[2], cells[3]);
        let words = ["progeny", "--share", share, "--confidence", confidence, "--at-least"];
        let found = good(&[&words[..], &[at_least]].concat());
        assert_eq!(found.value()["n"].to_string(), cells[4], "{line}");
        match cells[5].parse::<f64>() {
            Ok(exact) => {
                let actual = found.value()["exact"].as_f64().unwrap();
                assert!((actual - exact).abs() <= 1e-9 * exact, "{actual} is not {exact}");
            }
            Err(_) => assert!(found.value()["exact"].is_null()),
        }
        rows += 1;
    }
    assert_eq!(rows, 54);
}
