//! Everything goes out as a folder of tables and comes back without loss.

use std::{fs, path::Path};

use journal::{Error, Journal};

use crate::house::{agrees, files_of, full, open};

fn read_back(folder: &Path) -> (tempfile::TempDir, Journal, journal::ExportReport) {
    let (kept, again) = open();
    let report = again.read_export(folder).unwrap();
    (kept, again, report)
}

#[test]
fn a_folder_read_into_an_empty_record_gives_the_same_record() {
    let (folder, journal) = open();
    full(&journal);
    let first = folder.path().join("first");
    let report = journal.export(&first).unwrap();
    assert_eq!(report.photos, 1);
    let (_kept, again, read) = read_back(&first);
    assert_eq!((read.photos, read.before), (1, 0));
    let second = folder.path().join("second");
    again.export(&second).unwrap();
    let (a, b) = (files_of(&first), files_of(&second));
    assert_eq!(a.keys().collect::<Vec<_>>(), b.keys().collect::<Vec<_>>());
    for (name, bytes) in &a {
        assert!(bytes == &b[name], "{name} differs: {}", String::from_utf8_lossy(&b[name]));
    }
    assert_eq!(journal.projection_text().unwrap(), again.projection_text().unwrap());
    assert_eq!(again.setting("who").unwrap().as_deref(), Some("=Ines"));
    agrees(&again);
    for name in [
        "entries.csv",
        "claims.csv",
        "statements.csv",
        "left_over.csv",
        "withdrawals.csv",
        "reversals.csv",
        "questions.csv",
        "brought_in.csv",
        "series.csv",
        "refused.csv",
        "readings.csv",
    ] {
        assert!(a[name].split(|b| *b == b'\n').count() > 2, "{name} holds nothing to compare");
    }
}

/// A folder of tables is handed on: what lets devices into a house stays there, and a folder from
/// elsewhere does not let its own devices in.
#[test]
fn passcode_and_known_devices_are_neither_written_nor_read() {
    let (folder, journal) = open();
    journal.set_setting("house", "GLASSHOUSE.LOCAL").unwrap();
    journal.set_setting("passcode", "$argon2id$of-this-house").unwrap();
    journal.set_setting("sessions", "[devices]").unwrap();
    let out = folder.path().join("out");
    journal.export(&out).unwrap();
    let path = out.join("settings.csv");
    let written = std::fs::read_to_string(&path).unwrap();
    assert!(written.contains("GLASSHOUSE.LOCAL"), "{written}");
    assert!(!written.contains("passcode") && !written.contains("sessions"), "{written}");

    std::fs::write(&path, format!("{written}passcode,theirs\nsessions,theirs\n")).unwrap();
    let (_kept, again, _) = read_back(&out);
    assert_eq!(again.setting("house").unwrap().as_deref(), Some("GLASSHOUSE.LOCAL"));
    assert_eq!(again.setting("passcode").unwrap(), None);
    assert_eq!(again.setting("sessions").unwrap(), None);
}

#[test]
fn reading_the_same_folder_twice_adds_nothing() {
    let (folder, journal) = open();
    full(&journal);
    let out = folder.path().join("out");
    journal.export(&out).unwrap();
    let before = journal.projection_text().unwrap();
    let report = journal.read_export(&out).unwrap();
    assert_eq!(report.before, report.rows[0].1, "every operation was there before");
    assert_eq!(before, journal.projection_text().unwrap());
}

#[test]
fn no_cell_begins_as_a_formula() {
    let (folder, journal) = open();
    full(&journal);
    let out = folder.path().join("out");
    journal.export(&out).unwrap();
    let mut cells = 0;
    for name in files_of(&out).keys().filter(|n| n.ends_with(".csv")) {
        let mut reader = csv::Reader::from_path(out.join(name)).unwrap();
        for record in reader.records() {
            for cell in &record.unwrap() {
                assert!(!cell.starts_with(['=', '+', '-', '@', '\t', '\r']), "{name}: {cell:?}");
                cells += 1;
            }
        }
    }
    assert!(cells > 500, "only {cells} cells were looked at");
}

#[test]
fn a_cell_that_cannot_be_read_is_named_and_nothing_is_written() {
    let cases = [
        ("entries.csv", "2024-05~", "last may", "happened"),
        ("entries.csv", "told", "dreamt", "known"),
        ("subjects.csv", "keeper", "kipper", "kind"),
        ("operations.csv", "2025-11-21T18:00:00Z", "soon", "recorded"),
        ("left_over.csv", "\"[\"\"=1+1", "\"{\"\"=1+1", "cells"),
        ("statements.csv", "2001-02?", "then", "said_on"),
    ];
    for (name, from, to, column) in cases {
        let (folder, journal) = open();
        full(&journal);
        let out = folder.path().join("out");
        journal.export(&out).unwrap();
        let text = fs::read_to_string(out.join(name)).unwrap();
        assert!(text.contains(from), "{name} has no {from}");
        fs::write(out.join(name), text.replacen(from, to, 1)).unwrap();
        let (_kept, empty) = open();
        let error = empty.read_export(&out).unwrap_err();
        let said = error.to_string();
        assert!(matches!(error, Error::Table { .. }), "{said}");
        assert!(said.contains(name) && said.contains(column) && said.contains("row "), "{said}");
        assert_eq!(empty.read(|r| r.totals()).unwrap(), (0, 0));
        assert!(empty.read(|r| r.operations(1)).unwrap().is_empty());
    }
}
