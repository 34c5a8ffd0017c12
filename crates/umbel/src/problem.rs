//! What went wrong, what was not changed, and what to do next.

use answers::AskError;

/// The result of a subcommand.
pub type Result<T = ()> = std::result::Result<T, Problem>;

/// An error as the reader sees it.
#[derive(Debug)]
pub struct Problem {
    /// What happened, with the value.
    pub what: String,
    /// What was not changed, where anything could have been.
    pub kept: Option<&'static str>,
    /// The exact next step.
    pub next: String,
    /// The exit status.
    pub status: u8,
}

/// Said where a subcommand writes into the record.
const NOTHING_WRITTEN: &str = "nothing was written";

impl Problem {
    /// Something typed that cannot be read.
    pub fn input(what: impl Into<String>, next: impl Into<String>) -> Self {
        Self { what: what.into(), kept: None, next: next.into(), status: 2 }
    }

    /// Something that was understood but cannot be done.
    pub fn undone(what: impl Into<String>, next: impl Into<String>) -> Self {
        Self { what: what.into(), kept: Some(NOTHING_WRITTEN), next: next.into(), status: 1 }
    }

    /// A file that cannot be read or written.
    pub fn file(path: &std::path::Path, error: &std::io::Error) -> Self {
        Self::undone(
            format!("{}: {}", path.display(), plain_io(error)),
            "check the name of the file and that it can be read or written",
        )
    }

    /// Writes the error where errors belong.
    pub fn print(&self) {
        eprintln!("umbel: {}", self.what);
        if let Some(kept) = self.kept {
            eprintln!("{kept}");
        }
        eprintln!("next: {}", self.next);
    }
}

fn plain_io(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        std::io::ErrorKind::PermissionDenied => "it may not be opened".to_owned(),
        std::io::ErrorKind::IsADirectory => "it is a folder, not a file".to_owned(),
        _ => error.to_string(),
    }
}

/// Cuts a message at its last hint, if it carries one.
fn split_hint(text: &str) -> (String, Option<String>) {
    for mark in [". Next: ", ". Change ", "; use ", "; check ", "; write ", "; take ", "; read "] {
        if let Some((what, next)) = text.rsplit_once(mark) {
            let verb = mark.trim_start_matches(['.', ';', ' ']);
            let verb = verb.strip_prefix("Next: ").unwrap_or(verb).to_lowercase();
            return (what.to_owned(), Some(format!("{verb}{next}")));
        }
    }
    (text.to_owned(), None)
}

impl From<AskError> for Problem {
    fn from(error: AskError) -> Self {
        match error {
            AskError::Record(e) => e.into(),
            AskError::NotThere { kind, which, next } => {
                Self::undone(format!("there is no {kind} {which}"), next)
            }
            AskError::Field { field, value, problem } => {
                let (what, next) = split_hint(&format!("{field}: “{value}” {problem}"));
                let next = next.unwrap_or_else(|| "correct it and run the command again".into());
                Self { status: 2, ..Self::undone(what, next) }
            }
            AskError::Odd(why) => Self::undone(
                format!("this is possible but odd: {why}"),
                "look at the date and the plant; add --sure to write it as it stands",
            ),
            AskError::List(e) => {
                let (what, next) = split_hint(&e.to_string());
                let next = next.unwrap_or_else(|| "choose another file".into());
                Self { status: 2, ..Self::undone(what, next) }
            }
            other => Self::undone(other.to_string(), "`umbel doctor` looks the record over"),
        }
    }
}

impl From<journal::Error> for Problem {
    fn from(error: journal::Error) -> Self {
        match error {
            journal::Error::RestsOn(later) => {
                let list: Vec<String> =
                    later.iter().map(|r| format!("  {}: {}", r.act, r.about)).collect();
                Self::undone(
                    format!("{} later steps rest on this one:\n{}", later.len(), list.join("\n")),
                    "undo those first, or add --together to undo them with it",
                )
            }
            journal::Error::NothingToUndo(why) => Self::undone(
                format!("there is nothing to undo: {why}"),
                "`umbel history` lists what was done",
            ),
            journal::Error::Change { problem, .. } => {
                let (what, next) = split_hint(&problem.to_string());
                let next = next.unwrap_or_else(|| "correct it and run the command again".into());
                Self { status: 2, ..Self::undone(what, next) }
            }
            other => Self::undone(other.to_string(), next_for(&other)),
        }
    }
}

fn next_for(error: &journal::Error) -> &'static str {
    match error {
        journal::Error::NotARecord { .. } => "choose a .umbel file, or a backup",
        journal::Error::Newer { .. } => "bring this machine to a later Umbel",
        journal::Error::Damaged { .. } => {
            "`umbel restore BACKUP` brings the newest backup into place"
        }
        journal::Error::BadBackup { .. } => {
            "make another with `umbel backup`, or take an older one"
        }
        journal::Error::Table { .. } => "correct that cell and read the folder in again",
        journal::Error::Photo(_) => "choose a JPEG, PNG or WebP file",
        _ => "`umbel doctor` looks the record over",
    }
}

impl From<calc::Problem> for Problem {
    fn from(error: calc::Problem) -> Self {
        Self { what: error.what, kept: None, next: error.next, status: error.status }
    }
}
