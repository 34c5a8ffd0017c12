//! Tables handed to a calculator: columns by name, cells with their place.

use std::{
    io::Read as _,
    path::{Path, PathBuf},
};

use crate::problem::{Problem, Result, cell};

/// A CSV with a header.
pub struct Input {
    file: String,
    header: Vec<String>,
    rows: Vec<csv::StringRecord>,
}

/// Reads a file, or standard input for `-`, as text.
pub fn text(path: &Path) -> Result<(String, String)> {
    let (bytes, name) = if path == Path::new("-") {
        let mut bytes = Vec::new();
        std::io::stdin()
            .read_to_end(&mut bytes)
            .map_err(|e| Problem::file(&PathBuf::from("standard input"), &e))?;
        (bytes, "standard input".to_owned())
    } else {
        let read = std::fs::read(path);
        (
            read.map_err(|e| Problem { status: 2, kept: None, ..Problem::file(path, &e) })?,
            path.display().to_string(),
        )
    };
    let text = String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        let row = 1 + e.as_bytes()[..at].iter().filter(|b| **b == b'\n').count();
        Problem::input(
            format!("{name}, row {row}: the text is not UTF-8"),
            "save the file as UTF-8",
        )
    })?;
    Ok((text.trim_start_matches('\u{feff}').to_owned(), name))
}

impl Input {
    /// Reads a table.
    pub fn read(path: &Path) -> Result<Self> {
        let (text, file) = text(path)?;
        let mut reader =
            csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes());
        let failed = |e: csv::Error| {
            let row = e.position().map_or(1, csv::Position::line);
            let why = match e.kind() {
                csv::ErrorKind::UnequalLengths { expected_len, len, .. } => {
                    format!("{len} cells where the header has {expected_len}")
                }
                _ => e.to_string(),
            };
            Problem::input(
                format!("{file}, row {row}: {why}"),
                "give every row as many cells as the header, separated by commas",
            )
        };
        let header: Vec<String> =
            reader.headers().map_err(failed)?.iter().map(str::to_owned).collect();
        if header.iter().all(String::is_empty) {
            return Err(Problem::input(
                format!("{file}, row 1: there is no header"),
                "write the names of the columns into the first row",
            ));
        }
        let rows = reader.records().collect::<std::result::Result<Vec<_>, _>>().map_err(failed)?;
        if rows.is_empty() {
            return Err(Problem::input(
                format!("{file}: there is no row below the header"),
                "give at least one row",
            ));
        }
        Ok(Self { file, header, rows })
    }

    /// The name of the file, for messages.
    pub fn file(&self) -> &str {
        &self.file
    }

    /// Whether there is such a column.
    pub fn has(&self, column: &str) -> bool {
        self.header.iter().any(|h| h == column)
    }

    /// How many rows there are.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// The cells of a column that must be there, with the row in the file.
    pub fn column(&self, column: &str) -> Result<Vec<(usize, &str)>> {
        let at = self.header.iter().position(|h| h == column).ok_or_else(|| {
            cell(
                &self.file,
                1,
                column,
                &self.header.join(","),
                format!("a header with the column {column}"),
                "rename the column, or name yours with the option",
            )
        })?;
        Ok(self.rows.iter().zip(2..).map(|(r, n)| (n, r.get(at).unwrap_or(""))).collect())
    }

    /// A column of numbers; blank cells are `None`.
    pub fn numbers(&self, column: &str) -> Result<Vec<Option<f64>>> {
        self.column(column)?
            .into_iter()
            .map(|(row, text)| {
                if text.is_empty() {
                    return Ok(None);
                }
                let read = text.parse::<f64>().ok().filter(|n| n.is_finite());
                let hint = if text.contains(',') {
                    "write the decimal point as a dot"
                } else {
                    "correct the cell, or leave it blank where nothing is known"
                };
                read.map(Some).ok_or_else(|| cell(&self.file, row, column, text, "a number", hint))
            })
            .collect()
    }
}
