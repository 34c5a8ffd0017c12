//! Workbooks: cells, merged blocks and colours, with caps on what is unpacked.

use std::io::{Cursor, Read};

use calamine::{Data, Reader, Xls, Xlsx};
use jiff::civil::Date;

use super::{Cell, Kind, Line, Sheet, Value};
use crate::{Limits, ReadError, fold::compose};

pub(crate) fn open(bytes: &[u8], file: &str, limits: &Limits) -> Result<Vec<Sheet>, ReadError> {
    check_archive(bytes, file, limits)?;
    let damaged = |e: &dyn std::fmt::Display| ReadError::Damaged {
        file: file.to_owned(),
        why: e.to_string(),
    };
    if let Ok(mut book) = Xlsx::new(Cursor::new(bytes)) {
        let mut sheets = Vec::new();
        for name in book.sheet_names() {
            let mut sheet = cells_of(&mut book, &name).map_err(|e| damaged(&e))?;
            if let Ok(styles) = book.worksheet_style(&name) {
                for line in &mut sheet.lines {
                    for (col, cell) in (0..).zip(&mut line.cells) {
                        cell.fill = styles.get((line.row - 1, col)).and_then(colour);
                    }
                }
            }
            for block in book.merge_cells_by_sheet_name(&name).unwrap_or_default() {
                spread(&mut sheet, block.start, block.end);
            }
            sheets.push(sheet);
        }
        return Ok(sheets);
    }
    let mut book = calamine::Ods::new(Cursor::new(bytes)).map_err(|e| damaged(&e))?;
    Ok(book.worksheets().iter().map(|(name, range)| from_range(name, range)).collect())
}

/// A workbook in the old binary container: readable, or locked with a password.
pub(crate) fn open_old(bytes: &[u8], file: &str, limits: &Limits) -> Result<Vec<Sheet>, ReadError> {
    let wide: Vec<u8> = "EncryptedPackage".encode_utf16().flat_map(u16::to_le_bytes).collect();
    if bytes.windows(wide.len()).any(|w| w == wide) {
        return Err(ReadError::Password { file: file.to_owned() });
    }
    if bytes.len() > limits.archive_bytes {
        return Err(ReadError::TooLarge {
            file: file.to_owned(),
            bytes: bytes.len(),
            limit: limits.archive_bytes,
        });
    }
    let macros: Vec<u8> = "_VBA_PROJECT".encode_utf16().flat_map(u16::to_le_bytes).collect();
    if bytes.windows(macros.len()).any(|w| w == macros) {
        return Err(ReadError::Macros { file: file.to_owned() });
    }
    let mut book = Xls::new(Cursor::new(bytes)).map_err(|e| match e {
        calamine::XlsError::Password => ReadError::Password { file: file.to_owned() },
        other => ReadError::Damaged { file: file.to_owned(), why: other.to_string() },
    })?;
    Ok(book.worksheets().iter().map(|(name, range)| from_range(name, range)).collect())
}

fn check_archive(bytes: &[u8], file: &str, limits: &Limits) -> Result<(), ReadError> {
    let damaged = |why: String| ReadError::Damaged { file: file.to_owned(), why };
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|e| damaged(e.to_string()))?;
    if zip.len() > limits.archive_entries {
        return Err(damaged(format!("it holds {} parts", zip.len())));
    }
    let macros = zip.file_names().any(|n| {
        let Ok(n) = n else { return false };
        let n = n.to_ascii_lowercase();
        n.ends_with("vbaproject.bin") || n.starts_with("basic/")
    });
    if macros || file.to_ascii_lowercase().ends_with(".xlsm") {
        return Err(ReadError::Macros { file: file.to_owned() });
    }
    // The sizes written in the archive may lie, so they are counted while unpacking.
    let mut left = limits.archive_bytes as u64;
    for i in 0..zip.len() {
        let entry = zip.by_index(i).map_err(|e| damaged(e.to_string()))?;
        let mut capped = entry.take(left + 1);
        let read =
            std::io::copy(&mut capped, &mut std::io::sink()).map_err(|e| damaged(e.to_string()))?;
        if read > left {
            return Err(ReadError::TooLarge {
                file: file.to_owned(),
                bytes: limits.archive_bytes.saturating_add(1),
                limit: limits.archive_bytes,
            });
        }
        left -= read;
    }
    Ok(())
}

/// A sheet wider or longer than this is cut off by its empty edge, not read cell by cell.
const WIDEST: usize = 200;

/// Longest sheet read; a few thousand plants are a large collection.
const LONGEST: u32 = 200_000;

/// Reads cell by cell: a sheet whose last used cell lies far out must not cost
/// the memory of the empty block before it.
fn cells_of(book: &mut Xlsx<Cursor<&[u8]>>, name: &str) -> Result<Sheet, calamine::XlsxError> {
    let mut lines: Vec<Line> = Vec::new();
    let mut reader = book.worksheet_cells_reader(name)?;
    while let Some(found) = reader.next_cell()? {
        let (row, col) = found.get_position();
        if row < LONGEST && (col as usize) < WIDEST {
            put(&mut lines, row, col, cell(&Data::from(found.get_value().clone())));
        }
    }
    drop(reader);
    let mut reader = book.worksheet_cells_reader(name)?;
    while let Some(found) = reader.next_formula()? {
        let (row, col) = found.get_position();
        if found.get_value().is_empty() || row >= LONGEST || col as usize >= WIDEST {
            continue;
        }
        let known = lines
            .get(row as usize)
            .and_then(|l| l.cells.get(col as usize))
            .is_some_and(|c| !c.is_empty());
        // A program that never calculated left no value; a plain sum can be done here.
        if !known && let Some(value) = sum(found.get_value()) {
            put(&mut lines, row, col, cell(&Data::Float(value)));
        }
        if let Some(cell) = lines.get_mut(row as usize).and_then(|l| l.cells.get_mut(col as usize))
        {
            cell.formula = true;
        }
    }
    Ok(Sheet { name: Some(name.to_owned()), kind: Kind::Table, lines })
}

/// The value of a formula of numbers with + and - alone.
fn sum(formula: &str) -> Option<f64> {
    let bare = formula.trim().trim_start_matches('=');
    if bare.is_empty() || !bare.chars().all(|c| c.is_ascii_digit() || "+-. ".contains(c)) {
        return None;
    }
    let mut total = 0.0;
    for term in bare.replace('-', "+-").split('+').map(str::trim).filter(|t| !t.is_empty()) {
        total += term.replace(' ', "").parse::<f64>().ok()?;
    }
    Some(total)
}

fn put(lines: &mut Vec<Line>, row: u32, col: u32, cell: Cell) {
    while lines.len() <= row as usize {
        let number = u32::try_from(lines.len()).unwrap_or(u32::MAX - 1) + 1;
        lines.push(Line { row: number, cells: Vec::new() });
    }
    if let Some(line) = lines.get_mut(row as usize) {
        if line.cells.len() <= col as usize {
            line.cells.resize(col as usize + 1, Cell::empty());
        }
        line.cells[col as usize] = cell;
    }
}

fn from_range(name: &str, range: &calamine::Range<Data>) -> Sheet {
    let (first_row, first_col) = range.start().unwrap_or((0, 0));
    let mut lines = Vec::new();
    for (i, row) in range.rows().enumerate() {
        let mut cells = vec![Cell::empty(); first_col as usize];
        cells.extend(row.iter().take(WIDEST).map(cell));
        let number = first_row + u32::try_from(i).unwrap_or(u32::MAX - first_row) + 1;
        lines.push(Line { row: number, cells });
    }
    Sheet { name: Some(name.to_owned()), kind: Kind::Table, lines }
}

fn cell(data: &Data) -> Cell {
    let (text, value) = match data {
        Data::Empty => (String::new(), Value::Empty),
        Data::String(s) | Data::DateTimeIso(s) | Data::DurationIso(s) => {
            let day = match data {
                Data::DateTimeIso(s) => s.get(..10).and_then(|d| d.parse::<Date>().ok()),
                _ => None,
            };
            let value = match day {
                Some(day) => Value::Day(day),
                None if s.trim().is_empty() => Value::Empty,
                None => Value::Text,
            };
            (compose(s), value)
        }
        Data::Float(f) => (number(*f), Value::Number(*f)),
        #[allow(clippy::cast_precision_loss, reason = "cells hold small whole numbers")]
        Data::Int(i) => (i.to_string(), Value::Number(*i as f64)),
        Data::Bool(b) => (b.to_string(), Value::Text),
        Data::DateTime(dt) => {
            let (y, m, d, ..) = dt.to_ymd_hms_milli();
            match Date::new(y.cast_signed(), m.cast_signed(), d.cast_signed()) {
                Ok(day) => (day.to_string(), Value::Day(day)),
                Err(_) => (number(dt.as_f64()), Value::Number(dt.as_f64())),
            }
        }
        // A cell in error says nothing; its row still counts.
        _ => (String::new(), Value::Empty),
    };
    Cell { text, value, formula: false, fill: None, merged: false }
}

fn number(f: f64) -> String {
    let rounded = (f * 1e6).round() / 1e6;
    rounded.to_string()
}

fn at(sheet: &mut Sheet, row: u32, col: u32) -> Option<&mut Cell> {
    let first = sheet.lines.first()?.row;
    let line = sheet.lines.get_mut((row + 1).checked_sub(first)? as usize)?;
    line.cells.get_mut(col as usize)
}

fn colour(style: &calamine::Style) -> Option<String> {
    let color = style.fill.as_ref().and_then(calamine::Fill::get_color)?;
    let white = color.to_argb() & 0x00FF_FFFF == 0x00FF_FFFF;
    if white { None } else { Some(color.to_string()) }
}

/// Gives every cell of a block merged downwards the text of its first cell.
fn spread(sheet: &mut Sheet, start: (u32, u32), end: (u32, u32)) {
    // A title merged across a row stays in its first cell.
    if end.0 == start.0 || end.0 - start.0 > 10_000 {
        return;
    }
    let Some(first) = at(sheet, start.0, start.1).cloned() else { return };
    for row in start.0 + 1..=end.0 {
        // A row may end before the block's column.
        if let Some(line) = sheet.lines.get_mut(row as usize)
            && line.cells.len() <= start.1 as usize
            && line.cells.iter().any(|c| !c.is_empty())
        {
            line.cells.resize(start.1 as usize + 1, Cell::empty());
        }
        if let Some(cell) = at(sheet, row, start.1)
            && cell.is_empty()
        {
            *cell = Cell { merged: true, fill: None, ..first.clone() };
        }
    }
}
