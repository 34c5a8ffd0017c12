//! Everything as a folder of CSV files with a data description, and back without loss.
//!
//! The files hold the operations themselves, column by column, so that reading them in again
//! gives the same record. `plants.csv` is there for people and is not read.

mod columns;
mod read_in;
mod write_out;

use std::path::PathBuf;

pub use columns::{TABLES, TableDescription};

/// What was written to a folder, or read from one.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct ExportReport {
    /// The folder.
    pub folder: PathBuf,
    /// Rows of each file.
    pub rows: Vec<(String, usize)>,
    /// Photos.
    pub photos: usize,
    /// Operations that were there before, when reading in.
    pub before: usize,
}

/// Characters that make a spreadsheet read a cell as a formula. Such cells get an apostrophe in
/// front, and cells that begin with an apostrophe get another, so that it can be taken away again.
const FORMULA: [char; 7] = ['=', '+', '-', '@', '\t', '\r', '\''];

/// A text cell that no spreadsheet takes for a formula.
fn neutral(text: &str) -> String {
    if text.starts_with(FORMULA) { format!("'{text}") } else { text.to_owned() }
}

/// The text of a cell written by [`neutral`].
fn plain(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(FORMULA) => rest,
        _ => cell,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_are_neutral_and_come_back() {
        for text in ["=1+1", "+49", "-3", "@x", "'quoted", "''", "plain", "", "\tx", "'=x"] {
            let cell = neutral(text);
            assert!(!cell.starts_with(['=', '+', '-', '@', '\t', '\r']), "{cell:?}");
            assert_eq!(plain(&cell), text);
        }
    }
}
