//! Errors as pages: what happened with its values, what was not changed, and the next step.

use std::path::PathBuf;

use answers::AskError;

/// Why a page cannot be shown or a form not be taken.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum WebError {
    /// Asking or writing failed.
    #[error(transparent)]
    Ask(#[from] AskError),
    /// The record failed.
    #[error(transparent)]
    Record(#[from] journal::Error),
    /// Printing failed.
    #[error(transparent)]
    Print(#[from] printing::PrintError),
    /// No such page.
    #[error("there is no page “{0}”")]
    NoPage(String),
    /// A form holds something that cannot be read.
    #[error("{field}: “{value}” {problem}")]
    Form {
        /// The field.
        field: String,
        /// What was sent.
        value: String,
        /// What is wrong and what to write instead.
        problem: String,
    },
    /// The act does not fit the present state.
    #[error("{0}")]
    Conflict(String),
    /// The device is in hands that may not do it.
    #[error("{0}")]
    NotAllowed(String),
    /// The file system.
    #[error("{path}: {source}")]
    File {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// No passcode has been set, so the pages are for this machine only.
    #[error(
        "the pages cannot be opened to phones: no passcode has been set. Open them on this machine, set one on the page House under “Phones at the shelf”, and start again"
    )]
    NoPasscode,
    /// The address is in use or cannot be listened on.
    #[error("{address} cannot be listened on: {source}. Choose another with --port")]
    Listen {
        /// The address.
        address: String,
        /// What the system said.
        source: std::io::Error,
    },
}

impl WebError {
    pub(crate) fn file(path: impl Into<PathBuf>) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.into();
        move |source| Self::File { path, source }
    }

    pub(crate) fn form(field: &str, value: &str, problem: &str) -> Self {
        Self::Form { field: field.to_owned(), value: value.to_owned(), problem: problem.to_owned() }
    }

    /// The status of the answer.
    pub(crate) fn status(&self) -> u16 {
        match self {
            Self::NoPage(_) | Self::Ask(AskError::NotThere { .. }) => 404,
            Self::NotAllowed(_) => 403,
            Self::Ask(AskError::Odd(_)) | Self::Conflict(_) | Self::NoPasscode => 409,
            Self::Ask(_) | Self::Form { .. } | Self::Print(_) => 422,
            Self::Record(e) => match e {
                journal::Error::Sqlite(_) | journal::Error::File { .. } => 500,
                journal::Error::RestsOn(_) => 409,
                _ => 422,
            },
            Self::File { .. } | Self::Listen { .. } => 500,
        }
    }
}
