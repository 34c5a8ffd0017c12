//! What cannot be done is said with its values, changes nothing, and names the next step.

use crate::support::House;

fn begun() -> House {
    let house = House::new();
    house.good(&["add", "--name", "Begonia bowerae", "--came", "2024-03-05", "--number", "12"]);
    house
}

#[test]
fn what_is_typed_wrong_is_named_and_nothing_is_written() {
    let house = begun();
    let before = house.good(&["history", "--as", "csv"]).out;
    let cases: [(i32, &[&str], &str); 12] = [
        (1, &["show", "99"], "99"),
        (2, &["show", "twelve"], "twelve"),
        (2, &["log", "watered", "12", "--on", "30 Feb 2024"], "30 Feb 2024"),
        (2, &["log", "watered", "12", "--on", "5/6/2024"], "5/6/2024"),
        (2, &["log", "watered", "12", "colour=red"], "colour"),
        (2, &["log", "checked", "12", "found=soggy"], "soggy"),
        (2, &["log", "germinated", "12", "so_far=some"], "some"),
        (2, &["log", "potted", "12", "pot=blue"], "blue"),
        (1, &["log", "given", "12", "to=Nobody"], "Nobody"),
        (2, &["log", "watered", "18-12"], "18-12"),
        (2, &["log", "watered"], "about"),
        (2, &["add", "--name", "Begonia rex", "--number", "12"], "12"),
    ];
    for (status, words, value) in cases {
        let said = house.refused(status, words);
        assert!(said.contains(value), "{words:?}: {said}");
    }
    assert_eq!(house.good(&["history", "--as", "csv"]).out, before);
}

#[test]
fn a_plant_cannot_be_its_own_ancestor() {
    let house = begun();
    house.good(&["add", "--name", "Begonia 'Marl Evening'", "--seed", "12"]);
    let said = house.refused(2, &["parents", "12", "--seed", "13"]);
    assert!(said.contains("bowerae") && said.contains("Marl Evening"), "{said}");
    let said = house.refused(2, &["parents", "12", "--seed", "12"]);
    assert!(said.contains("bowerae"), "{said}");
}

#[test]
fn odd_entries_are_asked_about_and_written_when_sure() {
    let house = begun();
    let said = house.refused(1, &["log", "watered", "12", "--on", "2023-01-01"]);
    assert!(said.contains("odd") && said.contains("--sure"), "{said}");
    house.good(&["log", "watered", "12", "--on", "2023-01-01", "--sure"]);
}

#[test]
fn without_a_collection_nothing_is_begun_by_looking() {
    let house = House::new();
    for words in [&["list"][..], &["show", "1"], &["doctor"], &["log", "watered", "1"]] {
        let said = house.refused(1, words);
        assert!(said.contains("collection.umbel"), "{said}");
    }
    assert!(!house.collection().exists());
}

#[test]
fn files_that_are_no_records_are_not_touched() {
    let house = House::new();
    std::fs::write(house.file("notes.txt"), "Water the ferns on Tuesday, all of them.").unwrap();
    house.refused(1, &["list", "--collection", "notes.txt"]);
    house.refused(1, &["verify", "notes.txt"]);
    house.refused(1, &["restore", "notes.txt"]);
    house.refused(1, &["demo", "notes.txt"]);
    let kept = std::fs::read_to_string(house.file("notes.txt")).unwrap();
    assert_eq!(kept, "Water the ferns on Tuesday, all of them.");
    assert!(!house.collection().exists());
}

#[test]
fn lists_that_cannot_be_read_are_refused_whole() {
    let house = House::new();
    std::fs::write(house.file("empty.csv"), "").unwrap();
    let said = house.refused(2, &["import", "empty.csv", "--dry-run"]);
    assert!(said.contains("empty.csv"), "{said}");
    house.refused(1, &["import", "nowhere.csv", "--dry-run"]);
    std::fs::write(house.file("a.csv"), "name\nBegonia rex\n").unwrap();
    let said = house.refused(2, &["import", "a.csv", "--dry-run", "--answer", "yes"]);
    assert!(said.contains("KEY=VALUE"), "{said}");
}
