//! `umbel import`: the dry run as JSON, and writing.

use std::collections::BTreeSet;

use crate::support::{House, data};

const LISTS: [&str; 8] = [
    "shelf-list.csv",
    "sammlung.csv",
    "cabinet.xlsx",
    "stickers.txt",
    "lijst.csv",
    "lista.csv",
    "växter.csv",
    "plantes-serre.csv",
];

const KEYS: [&str; 16] = [
    "row",
    "sheet",
    "name",
    "needs_a_person",
    "seed_parent",
    "pollen_parent",
    "source",
    "acquired",
    "acquired_ambiguous",
    "received_as",
    "price",
    "pot",
    "place",
    "state",
    "tag",
    "problems",
];

#[test]
fn the_dry_run_has_the_agreed_keys_and_writes_nothing() {
    let house = House::new();
    for list in LISTS {
        let file = data("intake", list);
        let value = house.good(&["import", &file, "--dry-run", "--as", "json"]).json();
        let rows = value["rows"].as_array().unwrap();
        assert!(rows.len() > 15, "{list}: {} rows", rows.len());
        for row in rows {
            let keys: Vec<&str> = row.as_object().unwrap().keys().map(String::as_str).collect();
            assert_eq!(keys, KEYS, "{list}");
            assert!(row["row"].is_u64() && row["needs_a_person"].is_boolean(), "{list}: {row}");
            assert!(row["problems"].is_array(), "{list}: {row}");
            assert_eq!(row["sheet"].is_string(), list.ends_with("xlsx"), "{list}: {row}");
            for (key, parts) in [("price", ["amount", "currency"]), ("pot", ["value", "unit"])] {
                if let Some(map) = row[key].as_object() {
                    assert!(parts.iter().all(|p| map.contains_key(*p)), "{list}: {row}");
                }
            }
        }
        for skipped in value["skipped"].as_array().unwrap() {
            assert!(skipped["row"].is_u64() && skipped["why"].is_string(), "{list}: {skipped}");
        }
        assert!(!house.collection().exists(), "{list} began a collection");
    }
}

#[test]
fn the_dry_run_as_csv_has_as_many_rows_as_the_json() {
    let house = House::new();
    let file = data("intake", "sammlung.csv");
    let json = house.good(&["import", &file, "--dry-run", "--as", "json"]).json();
    let csv = house.good(&["import", &file, "--dry-run", "--as", "csv"]).out;
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    assert_eq!(reader.headers().unwrap().get(2), Some("name"));
    assert_eq!(reader.records().count(), json["rows"].as_array().unwrap().len());
}

#[test]
fn a_list_is_written_once_and_can_be_taken_back() {
    let house = House::new();
    let file = data("intake", "shelf-list.csv");
    let first = house.good(&["import", &file, "--as", "json"]).json();
    let plants = first["plants"].as_u64().unwrap();
    assert!(plants > 50, "{first}");
    let listed = house.good(&["list", "--state", "any", "--as", "json"]).json();
    assert_eq!(listed["total"].as_u64(), Some(plants));
    let again = house.good(&["import", &file, "--as", "json"]).json();
    assert_eq!(again["plants"].as_u64(), Some(0), "{again}");
    house.good(&["undo"]);
    let listed = house.good(&["list", "--state", "any", "--as", "json"]).json();
    assert_eq!(listed["total"].as_u64(), Some(0));
}

#[test]
fn rows_left_over_are_listed_and_can_be_dismissed() {
    let house = House::new();
    let file = data("intake", "cabinet.xlsx");
    let written = house.good(&["import", &file, "--as", "json"]).json();
    let left = written["left_over"].as_u64().unwrap();
    let rows = house.good(&["left-over", "--as", "json"]).json();
    assert_eq!(rows.as_array().map(Vec::len), usize::try_from(left).ok(), "{rows}");
    for row in rows.as_array().unwrap() {
        assert!(row["origin"].as_str().unwrap().contains("cabinet.xlsx"), "{row}");
        house.good(&["left-over", "--dismiss", row["ending"].as_str().unwrap()]);
    }
    assert_eq!(house.good(&["left-over", "--as", "json"]).json().as_array().unwrap().len(), 0);
    house.refused(1, &["left-over", "--dismiss", "nothing"]);
}

#[test]
fn an_answer_settles_its_question() {
    let house = House::new();
    let file = data("intake", "shelf-list.csv");
    let ambiguous = |more: &[&str]| -> BTreeSet<u64> {
        let mut words = vec!["import", file.as_str(), "--dry-run", "--as", "json"];
        words.extend(more);
        let value = house.good(&words).json();
        let rows = value["rows"].as_array().unwrap().iter();
        rows.filter(|r| r["acquired_ambiguous"] == true).filter_map(|r| r["row"].as_u64()).collect()
    };
    let before = ambiguous(&[]);
    assert!(!before.is_empty());
    let shown = house.good(&["import", &file, "--dry-run"]).out;
    let key = shown
        .lines()
        .find(|l| l.contains("day or the month"))
        .and_then(|l| l.split_whitespace().next())
        .unwrap_or_else(|| panic!("{shown}"))
        .to_owned();
    let after = ambiguous(&["--answer", &format!("{key}=day_first")]);
    assert!(after.len() < before.len(), "{key}: {before:?} {after:?}");
}
