//! Running a calculator on a table written for the test.

use std::path::PathBuf;

use calc::{Found, Problem};
use tempfile::TempDir;

/// A folder with tables.
pub struct Desk {
    folder: TempDir,
}

impl Desk {
    pub fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    /// Writes a table and returns its path.
    pub fn table(&self, name: &str, text: &str) -> String {
        let path: PathBuf = self.folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        path.display().to_string()
    }
}

/// Runs a calculator that must succeed.
pub fn good(words: &[&str]) -> Found {
    calc::answer(words).unwrap_or_else(|e| panic!("{words:?}: {} ({})", e.what, e.next))
}

/// Runs a calculator that must refuse.
pub fn bad(words: &[&str]) -> Problem {
    match calc::answer(words) {
        Ok(found) => panic!("{words:?} was not refused: {:?}", found.json),
        Err(problem) => problem,
    }
}
