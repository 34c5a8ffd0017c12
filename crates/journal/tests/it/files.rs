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

/// A process killed while it changed the file outside the log leaves a half change and the means
/// to take it back; a look that may only read failed on it, and the record could not be opened.
#[test]
fn a_half_change_that_a_killed_process_left_is_taken_back() {
    let (folder, journal) = open();
    full(&journal);
    let path = folder.path().join("plain.umbel");
    Journal::restore(journal.path(), &path).unwrap();
    let conn = rusqlite::Connection::open(&path).unwrap();
    conn.execute_batch(
        "PRAGMA cache_size = 1; BEGIN; UPDATE entry SET note = printf('%.9000c', 'x');
         UPDATE plant SET name = 'half';",
    )
    .unwrap();
    let killed = folder.path().join("killed.umbel");
    fs::copy(&path, &killed).unwrap();
    fs::copy(folder.path().join("plain.umbel-journal"), folder.path().join("killed.umbel-journal"))
        .unwrap();
    let changed = fs::read(&killed).unwrap().windows(9).any(|w| w == b"xxxxxxxxx");
    assert!(changed, "nothing was written");
    drop(conn);
    let (again, _) = Journal::open(&killed).unwrap();
    assert_eq!(again.projection_text().unwrap(), journal.projection_text().unwrap());
    assert!(again.doctor().unwrap().projection_agrees);
}
