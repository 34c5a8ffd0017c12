//! Bytes turned into sheets of cells, whatever kind of file they came in.

mod book;
pub(crate) mod decode;
mod delimited;

use jiff::civil::Date;

use crate::{Limits, ReadError};

/// What a cell holds besides its text.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Value {
    Empty,
    Text,
    Number(f64),
    Day(Date),
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Cell {
    pub text: String,
    pub value: Value,
    pub formula: bool,
    /// Colour of the cell's ground as `#RRGGBB`; white and none are `None`.
    pub fill: Option<String>,
    /// The text comes from the first cell of a merged block.
    pub merged: bool,
}

impl Cell {
    pub(crate) fn text(text: &str) -> Self {
        let value = if text.trim().is_empty() { Value::Empty } else { Value::Text };
        Self { text: text.to_owned(), value, formula: false, fill: None, merged: false }
    }

    pub(crate) fn empty() -> Self {
        Self::text("")
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.text.trim().is_empty()
    }
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Line {
    /// 1-based row of the spreadsheet, record of the table, or line of the text.
    pub row: u32,
    pub cells: Vec<Cell>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Table,
    /// Plain text, one label a line.
    Labels,
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Sheet {
    pub name: Option<String>,
    pub kind: Kind,
    pub lines: Vec<Line>,
}

/// Reads a file by its content; the name only helps to tell text from table.
pub(crate) fn open(bytes: &[u8], file: &str, limits: &Limits) -> Result<Vec<Sheet>, ReadError> {
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") {
        return book::open(bytes, file, limits);
    }
    if bytes.starts_with(&[0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1, 0x1A, 0xE1]) {
        return book::open_old(bytes, file, limits);
    }
    if bytes.len() > limits.text_bytes {
        return Err(ReadError::TooLarge {
            file: file.to_owned(),
            bytes: bytes.len(),
            limit: limits.text_bytes,
        });
    }
    let text = decode::decode(bytes, file)?;
    Ok(vec![delimited::read(&text, file)])
}
