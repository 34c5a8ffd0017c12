//! Lists that are being looked at: kept beside the record, so that they survive a restart.

use std::{
    fs,
    path::{Path, PathBuf},
};

use answers::acts::bring_in::{BroughtIn, Choices, Wishes};
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

use crate::{App, WebError};

/// A list that is being looked at.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Draft {
    /// Known by its content and name.
    pub id: String,
    /// Name of the file.
    pub file: String,
    /// Answers and columns.
    #[serde(default)]
    pub wishes: Wishes,
    /// What is chosen for the writing.
    #[serde(default)]
    pub choices: Choices,
    /// What was written, once it was.
    #[serde(default)]
    pub written: Option<BroughtIn>,
}

impl Draft {
    pub(super) fn new(file: &str, bytes: &[u8]) -> Self {
        let mut hash = Sha256::new();
        hash.update(file.as_bytes());
        hash.update([0]);
        hash.update(bytes);
        let id = hash.finalize().iter().take(8).map(|b| format!("{b:02x}")).collect();
        Self {
            id,
            file: file.to_owned(),
            wishes: Wishes::default(),
            choices: Choices::default(),
            written: None,
        }
    }
}

fn folder(app: &App) -> PathBuf {
    app.journal().path().parent().unwrap_or_else(|| Path::new(".")).join("drafts")
}

/// The folder of one draft; only names that this module gives are paths.
fn place(app: &App, id: &str) -> Result<PathBuf, WebError> {
    if id.len() == 16 && id.bytes().all(|b| b.is_ascii_hexdigit()) {
        Ok(folder(app).join(id))
    } else {
        Err(WebError::NoPage(format!("import/{id}")))
    }
}

fn missing(id: &str, path: &Path, source: std::io::Error) -> WebError {
    match source.kind() {
        std::io::ErrorKind::NotFound => WebError::NoPage(format!("import/{id}")),
        _ => WebError::File { path: path.to_path_buf(), source },
    }
}

pub(super) fn load(app: &App, id: &str) -> Result<Draft, WebError> {
    let path = place(app, id)?.join("draft.json");
    let text = fs::read(&path).map_err(|e| missing(id, &path, e))?;
    serde_json::from_slice(&text)
        .map_err(|e| WebError::Conflict(format!("{}: {e}", path.display())))
}

pub(super) fn bytes(app: &App, id: &str) -> Result<Vec<u8>, WebError> {
    let path = place(app, id)?.join("list");
    fs::read(&path).map_err(|e| missing(id, &path, e))
}

pub(super) fn keep(app: &App, draft: &Draft, bytes: Option<&[u8]>) -> Result<(), WebError> {
    let folder = place(app, &draft.id)?;
    fs::create_dir_all(&folder).map_err(WebError::file(&folder))?;
    if let Some(bytes) = bytes {
        let path = folder.join("list");
        fs::write(&path, bytes).map_err(WebError::file(&path))?;
    }
    let path = folder.join("draft.json");
    let text = serde_json::to_vec_pretty(draft)
        .map_err(|e| WebError::Conflict(format!("{}: {e}", path.display())))?;
    let part = folder.join("draft.part");
    fs::write(&part, text).map_err(WebError::file(&part))?;
    fs::rename(&part, &path).map_err(WebError::file(&path))
}

/// Drafts that are not written yet, by name.
pub(super) fn kept(app: &App) -> Vec<Draft> {
    let mut out: Vec<Draft> = fs::read_dir(folder(app))
        .into_iter()
        .flatten()
        .filter_map(Result::ok)
        .filter_map(|e| load(app, e.file_name().to_str()?).ok())
        .filter(|d| d.written.is_none())
        .collect();
    out.sort_by(|a, b| a.file.cmp(&b.file));
    out
}

pub(super) fn remove(app: &App, id: &str) -> Result<(), WebError> {
    let folder = place(app, id)?;
    fs::remove_dir_all(&folder).map_err(|e| missing(id, &folder, e))
}
