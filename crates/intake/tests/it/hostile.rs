//! Files made to do harm, or merely far too large: each gets its own error.

use std::io::{Cursor, Write};

use intake::{Limits, Options, ReadError, understand};
use zip::{CompressionMethod, ZipWriter, write::SimpleFileOptions};

use crate::measure::data;

fn refused(bytes: &[u8], name: &str) -> ReadError {
    let error = understand(bytes, name, &Options::default()).unwrap_err();
    let said = error.to_string();
    assert!(said.contains(name) && said.contains("Next:"), "{said}");
    error
}

fn cabinet() -> Vec<u8> {
    std::fs::read(data().join("cabinet.xlsx")).expect("the workbook")
}

/// The parts of a sound workbook with one more part.
fn with_part(name: &str, content: impl FnOnce(&mut dyn Write)) -> Vec<u8> {
    let sound = cabinet();
    let mut old = zip::ZipArchive::new(Cursor::new(sound)).expect("an archive");
    let mut new = ZipWriter::new(Cursor::new(Vec::new()));
    for i in 0..old.len() {
        let part = old.by_index_raw(i).expect("a part");
        new.raw_copy_file(part).expect("copied");
    }
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    new.start_file(name, options).expect("a part");
    content(&mut new);
    new.finish().expect("an archive").into_inner()
}

#[test]
fn text_of_100_megabytes_is_too_large() {
    let line = b"Begonia rex,Orla,2020,9cm,sill\n";
    let bytes = line.repeat(100_000_000 / line.len() + 1);
    let error = refused(&bytes, "endless.csv");
    assert!(matches!(error, ReadError::TooLarge { bytes: b, limit, .. }
        if b == bytes.len() && limit == Limits::default().text_bytes));
}

#[test]
fn a_workbook_that_unpacks_to_gigabytes_is_too_large() {
    // 300 MB of blanks pack into a few hundred kilobytes.
    let bomb = with_part("xl/worksheets/sheet9.xml", |out| {
        let block = vec![b' '; 1 << 20];
        for _ in 0..300 {
            out.write_all(&block).expect("written");
        }
    });
    assert!(bomb.len() < 2_000_000);
    assert!(matches!(refused(&bomb, "bomb.xlsx"), ReadError::TooLarge { .. }));
}

#[test]
fn a_workbook_of_too_many_parts_is_damaged() {
    let mut new = ZipWriter::new(Cursor::new(Vec::new()));
    for i in 0..=Limits::default().archive_entries {
        new.start_file(format!("xl/{i}.xml"), SimpleFileOptions::default()).expect("a part");
    }
    let bytes = new.finish().expect("an archive").into_inner();
    assert!(matches!(refused(&bytes, "parts.xlsx"), ReadError::Damaged { why, .. }
        if why.contains("4001 parts")));
}

#[test]
fn macros_are_found_by_their_part_whatever_the_file_is_called() {
    for part in ["xl/vbaProject.bin", "xl/VBAPROJECT.BIN", "customized/vbaProject.bin"] {
        let bytes = with_part(part, |out| out.write_all(b"code").expect("written"));
        assert!(matches!(refused(&bytes, "harmless.xlsx"), ReadError::Macros { .. }), "{part}");
    }
    // The same workbook with a part of no harm is read.
    let plain = with_part("xl/notes.bin", |out| out.write_all(b"text").expect("written"));
    assert!(understand(&plain, "plain.xlsx", &Options::default()).is_ok());
}

#[test]
fn an_encrypted_workbook_asks_for_the_password_to_be_taken_off() {
    let bytes = std::fs::read(data().join("refused/locked.xlsx")).expect("the workbook");
    assert!(matches!(refused(&bytes, "locked.xlsx"), ReadError::Password { .. }));
}

#[test]
fn an_archive_that_is_no_workbook_is_damaged() {
    let mut new = ZipWriter::new(Cursor::new(Vec::new()));
    new.start_file("letter.txt", SimpleFileOptions::default()).expect("a part");
    new.write_all(b"no workbook").expect("written");
    let bytes = new.finish().expect("an archive").into_inner();
    assert!(matches!(refused(&bytes, "letter.xlsx"), ReadError::Damaged { .. }));
    // Cut off in the middle.
    let whole = cabinet();
    assert!(matches!(refused(&whole[..whole.len() / 2], "half.xlsx"), ReadError::Damaged { .. }));
}

#[test]
fn a_cell_far_out_costs_nothing() {
    // One cell in the last corner a workbook can have.
    let xml = r#"<?xml version="1.0"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>Begonia rex</t></is></c></row><row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData></worksheet>"#;
    let sound = cabinet();
    let mut old = zip::ZipArchive::new(Cursor::new(sound)).expect("an archive");
    let mut new = ZipWriter::new(Cursor::new(Vec::new()));
    for i in 0..old.len() {
        let part = old.by_index_raw(i).expect("a part");
        if part.name().is_ok_and(|n| n == "xl/worksheets/sheet1.xml") {
            new.start_file("xl/worksheets/sheet1.xml", SimpleFileOptions::default())
                .expect("a part");
            new.write_all(xml.as_bytes()).expect("written");
        } else {
            new.raw_copy_file(part).expect("copied");
        }
    }
    let bytes = new.finish().expect("an archive").into_inner();
    let read = understand(&bytes, "far.xlsx", &Options::default()).expect("readable");
    assert!(read.rows.iter().any(|r| r.name.as_deref() == Some("Begonia rex")));
    assert!(read.skipped.len() < 1000, "{} lines", read.skipped.len());
}

#[test]
fn a_quote_never_closed_loses_no_row() {
    let mut list = String::from("Plant,From,Remarks\nBegonia rex,Orla,\"it said\n");
    for i in 0..500 {
        list.push_str(&format!("Begonia 'Number {i}',Dov,\n"));
    }
    let read = understand(list.as_bytes(), "quote.csv", &Options::default()).expect("readable");
    assert_eq!(read.rows.len(), 501);
}
