//! Tables handed to a calculator: columns by name, cells with their place.

use std::{fmt::Display, io::Read as _, path::Path};

use serde_json::Value;

use crate::{
    Found, Table,
    problem::{Problem, Result},
};

/// A CSV with a header.
#[derive(Debug)]
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
            .map_err(|e| Problem::file("standard input", &e))?;
        (bytes, "standard input".to_owned())
    } else {
        let name = path.display().to_string();
        (std::fs::read(path).map_err(|e| Problem::file(&name, &e))?, name)
    };
    let text = String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        let row = 1 + e.as_bytes()[..at].iter().filter(|b| **b == b'\n').count();
        Problem::input(
            format!("{name}, row {row}: the text is not UTF-8"),
            "save the file as UTF-8",
        )
    })?;
    match text.strip_prefix('\u{feff}') {
        Some(rest) => Ok((rest.to_owned(), name)),
        None => Ok((text, name)),
    }
}

impl Input {
    /// Reads a table.
    pub fn read(path: &Path) -> Result<Self> {
        let (text, file) = text(path)?;
        let mut reader =
            csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes());
        let failed = |e| not_a_row(&file, &e);
        let header: Vec<String> =
            reader.headers().map_err(failed)?.iter().map(str::to_owned).collect();
        if header.iter().all(String::is_empty) {
            return Err(no_header(&file));
        }
        let rows = reader.records().collect::<std::result::Result<Vec<_>, _>>().map_err(failed)?;
        if rows.is_empty() {
            return Err(no_rows(&file));
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

    /// The names of the columns.
    pub fn header(&self) -> &[String] {
        &self.header
    }

    /// The rows in order.
    pub fn each(&self) -> impl Iterator<Item = Row<'_>> {
        (0..self.rows.len()).map(|at| Row { input: self, at })
    }

    /// The cells of the rows in order.
    pub fn records(&self) -> impl Iterator<Item = &csv::StringRecord> {
        self.rows.iter()
    }

    /// How many rows there are.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// The cells of a column that must be there, with the row in the file.
    pub fn column(&self, column: &str) -> Result<Vec<(usize, &str)>> {
        let at = self.header.iter().position(|h| h == column);
        let at = at.ok_or_else(|| no_column(&self.file, &self.header, column))?;
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
                read.map(Some)
                    .ok_or_else(|| Problem::cell(&self.file, row, column, text, "a number", hint))
            })
            .collect()
    }
}

/// Says why the reader of tables stopped.
pub fn not_a_row(file: &str, error: &csv::Error) -> Problem {
    let row = error.position().map_or(1, csv::Position::line);
    match error.kind() {
        csv::ErrorKind::UnequalLengths { expected_len, len, .. } => {
            unequal(file, row, *len, *expected_len)
        }
        _ => cells(file, row, &error.to_string()),
    }
}

/// Says that a row is longer or shorter than the header.
pub fn unequal(file: &str, row: u64, len: u64, expected: u64) -> Problem {
    cells(file, row, &format!("{len} cells where the header has {expected}"))
}

fn cells(file: &str, row: u64, why: &str) -> Problem {
    Problem::input(
        format!("{file}, row {row}: {why}"),
        "give every row as many cells as the header, separated by commas",
    )
}

/// Says that the first row names no columns.
pub fn no_header(file: &str) -> Problem {
    Problem::input(
        format!("{file}, row 1: there is no header"),
        "write the names of the columns into the first row",
    )
}

/// Says that there is only a header.
pub fn no_rows(file: &str) -> Problem {
    Problem::input(format!("{file}: there is no row below the header"), "give at least one row")
}

/// Says that a column is missing.
pub fn no_column(file: &str, header: &[String], column: &str) -> Problem {
    Problem::cell(
        file,
        1,
        column,
        &header.join(","),
        format!("a header with the column {column}"),
        "rename the column, or name yours with the option",
    )
}

/// A row of a table with its place, for calculators that work row by row.
pub struct Row<'a> {
    input: &'a Input,
    at: usize,
}

impl Input {
    /// The cells of a row by column, as they were typed (`row` counts from 0).
    pub fn cells(&self, row: usize) -> serde_json::Map<String, Value> {
        let cells = self.rows.get(row).into_iter().flatten().map(repeated);
        self.header.iter().cloned().zip(cells).collect()
    }

    /// Repeats every row and adds what was calculated from it.
    ///
    /// # Errors
    /// Those of `calculate`.
    pub fn each_row(
        &self,
        new: &[&str],
        mut calculate: impl FnMut(&Row<'_>) -> Result<Vec<Value>>,
    ) -> Result<Found> {
        // A column of the input that is called like a calculated one gives way to it.
        let kept: Vec<usize> =
            (0..self.header.len()).filter(|i| !new.contains(&self.header[*i].as_str())).collect();
        let mut table =
            Table::new(kept.iter().map(|i| self.header[*i].as_str()).chain(new.iter().copied()));
        for (at, record) in self.rows.iter().enumerate() {
            let mut cells: Vec<Value> =
                kept.iter().map(|i| repeated(record.get(*i).unwrap_or(""))).collect();
            cells.extend(calculate(&Row { input: self, at })?);
            table.row(cells);
        }
        Ok(Found::rows(table))
    }
}

/// A cell as it was typed: a number where it is one.
pub fn repeated(text: &str) -> Value {
    match text.parse::<f64>() {
        _ if text.is_empty() => Value::Null,
        Ok(number) if number.is_finite() => {
            text.parse::<i64>().map_or_else(|_| Value::from(number), Value::from)
        }
        _ => Value::from(text),
    }
}

impl Row<'_> {
    /// The cells as they were typed.
    pub fn cells(&self) -> Vec<Value> {
        self.input.rows[self.at].iter().map(repeated).collect()
    }

    /// The text of a cell; `None` when blank or when there is no such column.
    pub fn text(&self, column: &str) -> Option<&str> {
        let at = self.input.header.iter().position(|h| h == column)?;
        self.input.rows[self.at].get(at).filter(|t| !t.is_empty())
    }

    /// A number that may be blank, or whose column may be missing.
    ///
    /// # Errors
    /// When the cell is not a number.
    pub fn maybe(&self, column: &str) -> Result<Option<f64>> {
        let Some(text) = self.text(column) else { return Ok(None) };
        match text.parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(Some(number)),
            _ if text.contains(',') => {
                Err(self.refuse(column, "a number", "write the decimal point as a dot"))
            }
            _ => Err(self.refuse(column, "a number", "correct the cell")),
        }
    }

    /// A number that must be there.
    ///
    /// # Errors
    /// When the column is missing, or the cell blank or not a number.
    pub fn number(&self, column: &str) -> Result<f64> {
        if !self.input.has(column) {
            self.input.column(column)?;
        }
        self.maybe(column)?.ok_or_else(|| self.refuse(column, "a number", "fill the cell in"))
    }

    /// Says that a cell cannot be used, with its place.
    pub fn refuse(&self, column: &str, expected: impl Display, hint: &str) -> Problem {
        let value = self.text(column).unwrap_or("");
        Problem::cell(&self.input.file, self.at + 2, column, value, expected, hint)
    }
}
