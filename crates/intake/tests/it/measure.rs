//! Percentages for each field over the lists with known truth.

use std::path::PathBuf;

use intake::{Options, understand};
use serde_json::Value;

use crate::compare::{FIELDS, Score, compare};

pub fn data() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data")
}

pub fn measure(folder: &str) -> Score {
    let mut score = Score::default();
    let folder = data().join(folder);
    let mut truths: Vec<_> = std::fs::read_dir(&folder)
        .expect("the folder of lists")
        .map(|e| e.expect("an entry").path())
        .filter(|p| p.to_string_lossy().ends_with(".truth.json"))
        .collect();
    truths.sort();
    assert!(!truths.is_empty());
    for path in truths {
        let list = PathBuf::from(path.to_string_lossy().replace(".truth.json", ""));
        let name = list.file_name().expect("a name").to_string_lossy().into_owned();
        let bytes = std::fs::read(&list).expect("the list");
        let truth: Vec<Value> =
            serde_json::from_slice(&std::fs::read(&path).expect("the truth")).expect("JSON");
        let read = understand(&bytes, &name, &Options::default()).expect("readable");
        compare(&name, &truth, &read.to_json(), &mut score);
    }
    score
}

/// The aims, on lists the reader was tuned on: names and dates 97 %, parents 93 %, every other field 95 %.
pub fn assert_aims(score: &Score) {
    assert_aims_without_tags(score);
    assert!(score.percent("tag") >= 95.0, "tag: {:.2} %", score.percent("tag"));
}

/// The aims for lists whose truth names no tags.
pub fn assert_aims_without_tags(score: &Score) {
    assert_eq!(score.lost, 0, "rows lost");
    assert_eq!(score.extra, 0, "rows that are no plants");
    assert_eq!(score.falsely_sure, 0, "doubtful names given as sure");
    for field in &FIELDS {
        let aim = match *field {
            "name" | "acquired" => 97.0,
            "seed_parent" | "pollen_parent" => 93.0,
            _ => 95.0,
        };
        assert!(score.percent(field) >= aim, "{field}: {:.2} %", score.percent(field));
    }
}

#[test]
fn given_lists() {
    let score = measure("");
    println!("{}", score.wrong.join("\n"));
    println!("{}", score.table());
    println!("missed {:?}\nextra {:?}", score.missed_codes, score.extra_codes);
    assert_aims(&score);
    // Codes are a service to the reader; nine in ten must be right both ways.
    assert!(score.recall() >= 90.0 && score.precision() >= 90.0);
}

/// Lists in other styles: no header, columns for genus and species, two columns
/// of which one tells a story, parents in a column, colours explained below.
/// Their truth was made from the reader's own output and looked through by eye,
/// so this guards against change; it is no independent measure.
#[test]
fn further_lists() {
    let score = measure("more");
    println!("{}", score.wrong.join("\n"));
    println!("{}", score.table());
    assert_aims(&score);
}

/// Lists written with their truth before the reader was run on them, in three
/// sets. The reader was mended on each set only after its first run, whose
/// figures stand in `tests/data/unseen/README.md`. The aims here guard what has
/// been reached since; they are no measure of lists never met.
fn unseen(folder: &str, aims: &[(&str, f64)], codes: f64) {
    let score = measure(folder);
    println!("{}", score.wrong.join("\n"));
    println!("{}", score.table());
    println!("missed {:?}\nextra {:?}", score.missed_codes, score.extra_codes);
    assert_eq!((score.lost, score.extra, score.falsely_sure), (0, 0, 0));
    for field in FIELDS.iter().chain(&["tag"]) {
        // 99 % unless said otherwise: one wrong row in a hundred is let pass.
        let aim = aims.iter().find(|a| a.0 == *field).map_or(99.0, |a| a.1);
        assert!(score.percent(field) >= aim, "{field}: {:.2} %", score.percent(field));
    }
    assert!(score.recall() >= codes && score.precision() >= codes);
}

#[test]
fn unseen_lists() {
    unseen("unseen", &[], 98.0);
}

#[test]
fn second_unseen_lists() {
    unseen("unseen2", &[("name", 98.5), ("needs_a_person", 98.5)], 97.5);
}

#[test]
fn third_unseen_lists() {
    unseen("unseen3", &[], 98.0);
}
