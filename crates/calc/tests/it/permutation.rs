//! The log-rank test by permutation, in the report of Kaplan–Meier curves.

use crate::support::{Desk, good};

#[test]
fn small_groups_are_exchanged_in_every_way() {
    let desk = Desk::new();
    let mut text = "days,seen,mix\n".to_owned();
    for day in 1..=8 {
        text += &format!("{day},1,{}\n", if day <= 4 { "peat" } else { "bark" });
    }
    let file = desk.table("mix.csv", &text);
    let words = ["time-to-event", &file, "--fit", "km", "--time", "days", "--event", "seen"];
    let found = good(&[&words[..], &["--by", "mix"]].concat());
    let permutation = &found.value()["permutation"];
    // 2 of 70: R survival 3.5.3, survdiff on every arrangement.
    assert!((permutation["p"].as_f64().unwrap() - 2.0 / 70.0).abs() < 1e-12);
    assert_eq!((&permutation["arrangements"], &permutation["exact"]), (&70.into(), &true.into()));
    assert!(permutation["se"].is_null());
    assert!((found.value()["test"]["chi_square"].as_f64().unwrap() - 7.344407).abs() < 1e-6);
    // One group has nothing to be exchanged with.
    assert!(good(&words).value()["permutation"].is_null());
}
