//! What is opened as a record, and what is refused.

use std::fs;

use journal::{Error, Journal, Opened};

use crate::house::{full, open};

fn refused(path: &std::path::Path, says: &str) {
    let before = fs::read(path).ok();
    let error =
        Journal::open(path).err().unwrap_or_else(|| panic!("{} was opened", path.display()));
    assert!(error.to_string().contains(says), "{error}");
    assert!(!matches!(error, Error::Sqlite(_)), "{error:?} does not say what it is");
    assert_eq!(before, fs::read(path).ok(), "{} was touched", path.display());
}

#[test]
fn what_is_no_record_is_refused_and_not_touched() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::write(at("text"), "just some words, longer than the head of a file").unwrap();
    refused(&at("text"), "does not begin as a SQLite file");
    fs::write(at("short"), "x").unwrap();
    refused(&at("short"), "does not begin as a SQLite file");
    rusqlite::Connection::open(at("other")).unwrap().execute_batch("CREATE TABLE t(x)").unwrap();
    refused(&at("other"), "another program");
    refused(folder.path(), "folder");
    refused(std::path::Path::new(""), "no file was named");
    let (kept, journal) = open();
    let newer = journal.path().to_path_buf();
    drop(journal);
    rusqlite::Connection::open(&newer).unwrap().pragma_update(None, "user_version", 99).unwrap();
    refused(&newer, "form 99");
    assert!(Journal::verify_backup(&newer).unwrap_err().to_string().contains("form 99"));
    drop(kept);
}

#[test]
fn a_record_whose_making_was_cut_short_is_made_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("collection.umbel");
    let conn = rusqlite::Connection::open(&path).unwrap();
    conn.query_row("PRAGMA journal_mode = WAL", [], |_| Ok(())).unwrap();
    conn.execute_batch("VACUUM").unwrap();
    drop(conn);
    assert!(fs::metadata(&path).unwrap().len() > 0);
    let (journal, opened) = Journal::open(&path).unwrap();
    assert_eq!(opened, Opened::New);
    full(&journal);
}

/// `:memory:` has a meaning to SQLite: a record of this name was lost at the end of the program.
#[test]
fn no_file_name_makes_the_record_vanish() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(":memory:");
    let (journal, _) = Journal::open(&path).unwrap();
    full(&journal);
    drop(journal);
    let (again, opened) = Journal::open(&path).unwrap();
    assert_eq!(opened, Opened::Existing);
    assert_eq!(again.read(|r| r.totals()).unwrap().0, 2);
}
