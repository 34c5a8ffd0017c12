//! `doctor` finds what is wrong.

use std::fs;

use crate::house::{full, open};

#[test]
fn a_sound_record_is_called_sound() {
    let (_folder, journal) = open();
    full(&journal);
    let health = journal.doctor().unwrap();
    assert!(health.sound(), "{health:?}");
    assert_eq!(health.counts.1, 2);
}

#[test]
fn a_projection_that_was_tampered_with_is_found_and_put_right() {
    let tampering = [
        "UPDATE plant SET name = 'Begonia rex' WHERE number = 1",
        "UPDATE clone SET pieces = 7",
        "DELETE FROM place",
        "UPDATE entry SET live = 0 WHERE id = 1",
        "DELETE FROM search WHERE rowid = (SELECT min(id) FROM plant)",
        "INSERT INTO search(rowid, body) VALUES(999, 'ghost')",
        "UPDATE keeper SET plants = plants + 1",
    ];
    for sql in tampering {
        let (_folder, journal) = open();
        full(&journal);
        let conn = rusqlite::Connection::open(journal.path()).unwrap();
        assert_ne!(conn.execute(sql, []).unwrap(), 0, "{sql}");
        drop(conn);
        let health = journal.doctor().unwrap();
        assert!(!health.projection_agrees && !health.sound(), "not found: {sql}");
        assert!(!journal.doctor().unwrap().projection_agrees, "looking changed it: {sql}");
        journal.rebuild().unwrap();
        assert!(journal.doctor().unwrap().sound(), "not put right: {sql}");
    }
}

#[test]
fn a_reference_that_leads_nowhere_is_found() {
    let (_folder, journal) = open();
    full(&journal);
    let conn = rusqlite::Connection::open(journal.path()).unwrap();
    conn.execute_batch("PRAGMA foreign_keys = OFF; UPDATE brought_in SET subject = 4711").unwrap();
    drop(conn);
    assert_eq!(journal.doctor().unwrap().foreign_keys, 1);
}

#[test]
fn a_missing_and_a_damaged_photo_are_found_and_can_be_put_back() {
    let (_folder, journal) = open();
    full(&journal);
    let file = fs::read_dir(journal.photo_folder()).unwrap().next().unwrap().unwrap().path();
    let name = file.file_name().unwrap().to_str().unwrap().to_owned();
    let good = fs::read(&file).unwrap();
    fs::write(&file, b"\x89PNG\r\n\x1a\nanother leaf").unwrap();
    let health = journal.doctor().unwrap();
    assert_eq!((health.damaged_photos, health.missing_photos), (vec![name.clone()], vec![]));
    fs::remove_file(&file).unwrap();
    let health = journal.doctor().unwrap();
    assert_eq!((health.damaged_photos, health.missing_photos), (vec![], vec![name]));
    fs::write(&file, b"\x89PNG\r\n\x1a\nanother leaf").unwrap();
    journal.keep_photo(&good).unwrap();
    assert!(journal.doctor().unwrap().sound(), "keeping it again puts it right");
}
