//! What a calculator was given that it cannot use, or why it came to no end.

use std::fmt::Display;

/// The result of a calculator.
pub type Result<T = crate::Found> = std::result::Result<T, Problem>;

/// An error as the reader sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// What happened, with the value and its place.
    pub what: String,
    /// The exact next step.
    pub next: String,
    /// The exit status: 2 for what cannot be read, 3 for what came to no end.
    pub status: u8,
}

impl Problem {
    /// Something typed that cannot be read.
    pub fn input(what: impl Into<String>, next: impl Into<String>) -> Self {
        Self { what: what.into(), next: next.into(), status: 2 }
    }

    /// A calculation that did not come to an end.
    pub fn unfinished(what: impl Into<String>, next: impl Into<String>) -> Self {
        Self { what: what.into(), next: next.into(), status: 3 }
    }

    /// A file that cannot be read.
    pub fn file(name: &str, error: &std::io::Error) -> Self {
        let why = match error.kind() {
            std::io::ErrorKind::NotFound => "there is no such file or folder".to_owned(),
            std::io::ErrorKind::PermissionDenied => "it may not be opened".to_owned(),
            std::io::ErrorKind::IsADirectory => "it is a folder, not a file".to_owned(),
            _ => error.to_string(),
        };
        Self::input(format!("{name}: {why}"), "check the name of the file and that it can be read")
    }

    /// A cell that cannot be used: file, row (the header is row 1), column, value, what was expected.
    pub fn cell(
        file: &str,
        row: usize,
        column: &str,
        value: &str,
        expected: impl Display,
        hint: impl Into<String>,
    ) -> Self {
        Self::input(
            format!("{file}, row {row}, column {column}: “{value}” is not {expected}"),
            hint.into(),
        )
    }
}
