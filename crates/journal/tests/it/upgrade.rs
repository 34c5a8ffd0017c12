//! Each form that was ever released is kept as a file and opened.

use std::{fs, path::Path};

use journal::{Journal, Opened};

use crate::house::{agrees, full};

fn fixture(form: u32) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/fixtures/form-{form}.umbel"))
}

/// Writes the fixture of the newest form again; run by hand when a form is released.
#[test]
#[ignore = "writes tests/fixtures"]
fn write_the_fixture_of_this_form() {
    let folder = tempfile::tempdir().unwrap();
    let (journal, _) = Journal::open(folder.path().join("collection.umbel")).unwrap();
    full(&journal);
    let _ = fs::remove_file(fixture(2));
    let _ = fs::remove_dir_all(fixture(2).with_extension("photos"));
    Journal::restore(journal.path(), &fixture(2)).unwrap();
}

fn opened(form: u32) -> (tempfile::TempDir, Journal, Opened) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("collection.umbel");
    Journal::restore(&fixture(form), &path).unwrap();
    let (journal, opened) = Journal::open(&path).unwrap();
    (folder, journal, opened)
}

/// What every form holds: see house::full.
fn holds_what_it_held(journal: &Journal) {
    assert!(journal.doctor().unwrap().sound());
    let (plants, entries) = journal.read(|r| r.totals()).unwrap();
    assert_eq!((plants, entries), (2, 30));
    assert_eq!(journal.read(|r| r.left_over()).unwrap()[0].cells.len(), 18);
    agrees(journal);
}

#[test]
fn a_file_of_form_1_is_copied_upgraded_and_holds_what_it_held() {
    let (folder, journal, opened) = opened(1);
    let Opened::Upgraded { from: 1, backup } = opened else { panic!("{opened:?}") };
    assert_eq!(backup, folder.path().join("collection.before-form-2.umbel"));
    holds_what_it_held(&journal);
    assert_eq!(journal.read(|r| r.all_loggers()).unwrap(), []);
    // The copy is the file as it was: it can be restored and is upgraded in its turn.
    let again = folder.path().join("again.umbel");
    Journal::restore(&backup, &again).unwrap();
    let (again, told) = Journal::open(&again).unwrap();
    assert!(matches!(told, Opened::Upgraded { from: 1, .. }), "{told:?}");
    assert_eq!(journal.projection_text().unwrap(), again.projection_text().unwrap());
    // Readings go into the upgraded file as into any other.
    crate::series::hang_logger(&journal);
    assert!(journal.doctor().unwrap().sound());
    agrees(&journal);
}

#[test]
fn a_file_of_form_2_opens_and_holds_what_it_held() {
    let (_folder, journal, opened) = opened(2);
    assert_eq!(opened, Opened::Existing);
    holds_what_it_held(&journal);
    let loggers = journal.read(|r| r.all_loggers()).unwrap();
    assert_eq!((loggers.len(), loggers[0].readings), (1, 5000));
}

/// A file marked as ours without any table stands for a form before the first, so that the way of
/// the upgrade itself is walked: copy first, then change, all or nothing.
#[test]
fn an_older_form_is_copied_first_and_then_upgraded() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("collection.umbel");
    let conn = rusqlite::Connection::open(&path).unwrap();
    conn.execute_batch(
        "PRAGMA application_id = 1433231980; CREATE TABLE old(x); INSERT INTO old VALUES(7)",
    )
    .unwrap();
    drop(conn);
    let before = fs::read(&path).unwrap();
    let (journal, opened) = Journal::open(&path).unwrap();
    let Opened::Upgraded { from: 0, backup } = opened else { panic!("{opened:?}") };
    let copy = rusqlite::Connection::open(&backup).unwrap();
    let kept: i64 = copy.query_row("SELECT x FROM old", [], |r| r.get(0)).unwrap();
    assert_eq!(kept, 7);
    assert_eq!(fs::read(&backup).unwrap().len(), before.len());
    full(&journal);
    assert!(journal.doctor().unwrap().sound());
    drop(journal);
    assert_eq!(Journal::open(&path).unwrap().1, Opened::Existing);
}

#[test]
fn an_upgrade_that_cannot_be_done_leaves_the_file_and_the_copy() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("collection.umbel");
    let conn = rusqlite::Connection::open(&path).unwrap();
    // Its table has the name of one that the upgrade makes.
    conn.execute_batch(
        "PRAGMA application_id = 1433231980; CREATE TABLE plant(x); INSERT INTO plant VALUES(7)",
    )
    .unwrap();
    drop(conn);
    assert!(Journal::open(&path).is_err());
    let conn = rusqlite::Connection::open(&path).unwrap();
    let (form, kept): (i64, i64) = conn
        .query_row("SELECT (SELECT user_version FROM pragma_user_version), x FROM plant", [], |r| {
            Ok((r.get(0)?, r.get(1)?))
        })
        .unwrap();
    assert_eq!((form, kept), (0, 7));
    assert!(folder.path().join("collection.before-form-1.umbel").exists());
}
