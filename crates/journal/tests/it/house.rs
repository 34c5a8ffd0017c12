//! A small record to test with.

use dates::Edtf;
use jiff::Timestamp;
use journal::{Draft, Journal, Known, Operation, SubjectKind, Uid};
use serde_json::{Map, Value, json};

pub fn now() -> Timestamp {
    "2025-11-21T18:00:00Z".parse().unwrap()
}

pub fn draft(act: &str, about: &str) -> Draft {
    Draft::new(act, about, "Ines", "bench", now())
}

pub fn day(text: &str) -> Edtf {
    Edtf::parse(text).unwrap()
}

pub fn map(value: Value) -> Map<String, Value> {
    match value {
        Value::Object(m) => m,
        _ => panic!("not an object"),
    }
}

pub fn open() -> (tempfile::TempDir, Journal) {
    let folder = tempfile::tempdir().unwrap();
    let (journal, _) = Journal::open(folder.path().join("collection.umbel")).unwrap();
    (folder, journal)
}

pub struct Plant {
    pub plant: Uid,
    pub clone: Uid,
    pub operation: Operation,
}

/// A plant that came from a keeper and stands somewhere.
pub fn plant(journal: &Journal, name: &str, keeper: Uid, place: Uid) -> Plant {
    let mut d = draft("add", name);
    let clone = d.create(SubjectKind::Clone, None);
    let plant = d.create(SubjectKind::Plant, None);
    d.claim(plant, "clone", json!(clone.to_string()));
    d.claim(clone, "name", json!({"text": name, "normal": name, "genus": name.split(' ').next()}));
    d.entry(
        plant,
        "arrived",
        day("2023-05"),
        Known::Remembered,
        map(json!({"from": keeper.to_string(), "received_as": "cutting"})),
        None,
    );
    d.entry(
        plant,
        "placed",
        day("2023-05"),
        Known::Seen,
        map(json!({"place": place.to_string()})),
        Some("north corner".to_owned()),
    );
    let operation = d.finish();
    journal.write(&operation).unwrap();
    Plant { plant, clone, operation }
}

pub fn keeper(journal: &Journal, name: &str) -> Uid {
    let mut d = draft("add", name);
    let uid = d.create(SubjectKind::Keeper, None);
    d.claim(uid, "name", json!(name));
    journal.write(&d.finish()).unwrap();
    uid
}

pub fn place(journal: &Journal, name: &str) -> Uid {
    let mut d = draft("add", name);
    let uid = d.create(SubjectKind::Place, None);
    d.claim(uid, "name", json!(name));
    journal.write(&d.finish()).unwrap();
    uid
}
