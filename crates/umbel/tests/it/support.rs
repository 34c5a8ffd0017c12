//! A house in a temporary folder, in which the built command is run.

use std::{
    io::Write as _,
    path::{Path, PathBuf},
    process::{Command, Stdio},
};

use serde_json::Value;
use tempfile::TempDir;

/// What a run gave.
pub struct Ran {
    pub status: i32,
    pub out: String,
    pub err: String,
}

impl Ran {
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out)
            .unwrap_or_else(|e| panic!("not JSON ({e}): {}{}", self.out, self.err))
    }
}

/// A folder with at most one collection.
pub struct House {
    pub folder: TempDir,
}

impl House {
    pub fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    pub fn file(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn collection(&self) -> PathBuf {
        self.file("collection.umbel")
    }

    /// Runs the command.
    pub fn run(&self, arguments: &[&str]) -> Ran {
        self.run_with("", arguments)
    }

    /// Runs the command with this on standard input.
    pub fn run_with(&self, input: &str, arguments: &[&str]) -> Ran {
        let mut child = Command::new(env!("CARGO_BIN_EXE_umbel"))
            .args(arguments)
            .env("UMBEL_COLLECTION", self.collection())
            .env("UMBEL_WHO", "Ines")
            .env("LC_ALL", "C")
            .env("NO_COLOR", "1")
            .current_dir(self.folder.path())
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // A command that refuses its arguments may end before it reads.
        let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
        let done = child.wait_with_output().unwrap();
        Ran {
            status: done.status.code().unwrap_or(-1),
            out: String::from_utf8(done.stdout).unwrap(),
            err: String::from_utf8(done.stderr).unwrap(),
        }
    }

    /// Runs the command, which must succeed.
    pub fn good(&self, arguments: &[&str]) -> Ran {
        let ran = self.run(arguments);
        assert_eq!(ran.status, 0, "{arguments:?}: {}{}", ran.out, ran.err);
        ran
    }

    /// Runs the command, which must be refused with this status, say something and a next step,
    /// and print nothing as a result.
    pub fn refused(&self, status: i32, arguments: &[&str]) -> String {
        let ran = self.run(arguments);
        assert_eq!(ran.status, status, "{arguments:?}: {}{}", ran.out, ran.err);
        assert_eq!(ran.out, "", "{arguments:?}");
        assert!(ran.err.contains("\nnext: "), "{arguments:?}: {}", ran.err);
        ran.err
    }
}

/// A file of another crate's tests.
pub fn data(of: &str, name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    folder.join(of).join("tests/data").join(name).display().to_string()
}

/// Asserts that two numbers differ by no more than this.
#[track_caller]
pub fn close(got: &Value, expected: f64, within: f64) {
    let got = got.as_f64().unwrap_or_else(|| panic!("{got} is not a number"));
    assert!((got - expected).abs() <= within, "{got} is not {expected}");
}
