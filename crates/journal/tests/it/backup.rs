//! Backups are read back, restored whole, and refused when they are not what they say.

use std::{fs, io::Write as _, path::Path};

use journal::{Error, Journal};
use zip::write::SimpleFileOptions;

use crate::house::{agrees, files_of, full, open, photo};

fn exported(journal: &Journal, to: &Path) -> std::collections::BTreeMap<String, Vec<u8>> {
    journal.export(to).unwrap();
    files_of(to)
}

#[test]
fn a_backup_verifies_and_restores_to_the_same_record() {
    let (folder, journal) = open();
    full(&journal);
    let zip = folder.path().join("backup.zip");
    let made = journal.back_up(&zip).unwrap();
    assert_eq!((made.plants, made.photos), (2, 1));
    assert_eq!(made, Journal::verify_backup(&zip).unwrap());
    let target = folder.path().join("elsewhere/again.umbel");
    Journal::restore(&zip, &target).unwrap();
    let (again, opened) = Journal::open(&target).unwrap();
    assert_eq!(opened, journal::Opened::Existing);
    assert!(again.doctor().unwrap().sound());
    let (a, b) = (folder.path().join("a"), folder.path().join("b"));
    assert!(exported(&journal, &a) == exported(&again, &b), "the exports differ");
    agrees(&again);
    let left: Vec<_> = fs::read_dir(folder.path().join("elsewhere"))
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|n| !n.starts_with("again.umbel") && n != "again.photos")
        .collect();
    assert!(left.is_empty(), "left lying about: {left:?}");
}

#[test]
fn a_record_is_restored_with_its_log_and_its_photos() {
    let (folder, journal) = open();
    full(&journal);
    // The record is open, and what was written last is still in the log beside it.
    let target = folder.path().join("copy/collection.umbel");
    let report = Journal::restore(journal.path(), &target).unwrap();
    assert_eq!((report.plants, report.photos), (2, 1));
    let (again, _) = Journal::open(&target).unwrap();
    assert_eq!(journal.projection_text().unwrap(), again.projection_text().unwrap());
    assert!(again.doctor().unwrap().sound());
}

#[test]
fn a_backup_that_was_cut_or_altered_is_refused_and_the_record_untouched() {
    let (folder, journal) = open();
    full(&journal);
    let zip = folder.path().join("backup.zip");
    journal.back_up(&zip).unwrap();
    let good = fs::read(&zip).unwrap();
    let before = journal.projection_text().unwrap();
    let target = folder.path().join("new.umbel");
    let step = good.len() / 23;
    let mut wrong: Vec<Vec<u8>> = (0..20).map(|i| good[..good.len() * i / 20].to_vec()).collect();
    for at in (40..good.len()).step_by(step) {
        let mut bytes = good.clone();
        bytes[at] ^= 0x55;
        wrong.push(bytes);
    }
    let mut refused = 0;
    for (i, bytes) in wrong.iter().enumerate() {
        let file = folder.path().join(format!("wrong-{i}.zip"));
        fs::write(&file, bytes).unwrap();
        if Journal::restore(&file, &target).is_ok() {
            // A byte that no reader looks at, such as a file date: then the record is the same.
            let (again, _) = Journal::open(&target).unwrap();
            assert_eq!(before, again.projection_text().unwrap(), "case {i}");
            drop(again);
            for end in ["", "-wal", "-shm"] {
                let _ = fs::remove_file(folder.path().join(format!("new.umbel{end}")));
            }
        } else {
            refused += 1;
            assert!(!target.exists(), "case {i} left a record");
        }
        assert_eq!(&fs::read(&file).unwrap(), bytes, "the backup itself is never touched");
    }
    assert!(refused >= 35, "only {refused} of {} were refused", wrong.len());
    assert_eq!(before, journal.projection_text().unwrap());
}

type Files<'a> = &'a [(&'a str, &'a [u8])];

fn archive(path: &Path, files: Files<'_>) {
    let mut zip = zip::ZipWriter::new(fs::File::create(path).unwrap());
    for (name, bytes) in files {
        zip.start_file(*name, SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap();
}

#[test]
fn hostile_archives_are_refused_and_write_nothing_outside() {
    let (folder, journal) = open();
    full(&journal);
    let copy = folder.path().join("plain.umbel");
    Journal::restore(journal.path(), &copy).unwrap();
    let record = fs::read(&copy).unwrap();
    let leaf = photo("a leaf");
    let zeros = vec![0u8; 80 * 1024 * 1024];
    let long = format!("photos/{}.png", "a".repeat(60_000));
    let cases: &[(&str, Files<'_>)] = &[
        ("up", &[("collection.umbel", &record), ("../evil.png", &leaf)]),
        ("up in photos", &[("collection.umbel", &record), ("photos/../../evil.png", &leaf)]),
        ("absolute", &[("collection.umbel", &record), ("/evil.png", &leaf)]),
        ("extra", &[("collection.umbel", &record), ("run.sh", b"rm")]),
        ("record elsewhere", &[("sub/collection.umbel", &record)]),
        ("photo of another name", &[("collection.umbel", &record), ("photos/00.png", &leaf)]),
        ("long name", &[("collection.umbel", &record), (&long, &leaf)]),
        ("no photo", &[("collection.umbel", &record), ("photos/a.svg", b"<svg/>")]),
        ("no record", &[("photos/a.png", &leaf)]),
        ("nothing", &[]),
        ("not SQLite", &[("collection.umbel", b"hello")]),
        ("zeros packed a thousandfold", &[("collection.umbel", &zeros)]),
    ];
    for (what, files) in cases {
        let sub = folder.path().join("hostile");
        fs::create_dir_all(&sub).unwrap();
        let zip = sub.join("backup.zip");
        archive(&zip, files);
        let target = sub.join("deep/new.umbel");
        let error = Journal::restore(&zip, &target).expect_err(what);
        assert!(
            matches!(
                error,
                Error::BadBackup { .. } | Error::NotARecord { .. } | Error::Damaged { .. }
            ),
            "{what}: {error:?}"
        );
        let left: Vec<_> = files_of(&sub).into_keys().collect();
        assert_eq!(left, ["backup.zip"], "{what}");
        fs::remove_dir_all(&sub).unwrap();
    }
    assert!(!folder.path().join("evil.png").exists());
}

#[test]
fn a_record_with_triggers_is_refused() {
    let (folder, journal) = open();
    full(&journal);
    let copy = folder.path().join("plain.umbel");
    Journal::restore(journal.path(), &copy).unwrap();
    let conn = rusqlite::Connection::open(&copy).unwrap();
    conn.execute_batch("CREATE TRIGGER t AFTER INSERT ON entry BEGIN DELETE FROM claim; END")
        .unwrap();
    drop(conn);
    let error = Journal::open(&copy).err().unwrap().to_string();
    assert!(error.contains("triggers"), "{error}");
}

#[test]
fn a_backup_never_takes_the_place_of_something_else() {
    let (folder, journal) = open();
    full(&journal);
    let letter = folder.path().join("letter.txt");
    fs::write(&letter, "Dear Tansy").unwrap();
    for taken in [letter.as_path(), journal.path(), folder.path()] {
        assert!(journal.back_up(taken).is_err(), "{}", taken.display());
    }
    assert_eq!(fs::read_to_string(&letter).unwrap(), "Dear Tansy");
    let zip = folder.path().join("backup.zip");
    fs::create_dir(folder.path().join("backup.check")).unwrap();
    fs::write(folder.path().join("backup.check/mine.txt"), "mine").unwrap();
    journal.back_up(&zip).unwrap();
    journal.back_up(&zip).unwrap();
    assert!(folder.path().join("backup.check/mine.txt").exists());
}

#[test]
fn restoring_over_a_record_or_beside_its_log_is_refused() {
    let (folder, journal) = open();
    full(&journal);
    let zip = folder.path().join("backup.zip");
    journal.back_up(&zip).unwrap();
    let error = Journal::restore(&zip, journal.path()).unwrap_err().to_string();
    assert!(error.contains("a record already"), "{error}");
    let target = folder.path().join("moved.umbel");
    fs::write(folder.path().join("moved.umbel-wal"), "entries of the record moved away").unwrap();
    let error = Journal::restore(&zip, &target).unwrap_err().to_string();
    assert!(error.contains("moved.umbel-wal"), "{error}");
    assert!(Journal::open(&target).is_err());
}
