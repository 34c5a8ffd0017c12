//! Checklists of accepted names: the extract that ships, and one that was loaded.

use std::{
    fs,
    io::{Read, Seek, SeekFrom},
    path::{Path, PathBuf},
    sync::Arc,
};

use names::checklist::{self, Areas, Builder, Checklist, LoadError, NameCheck, OpenError};
use thiserror::Error;

use crate::names_context;

/// What the loaded list is credited to where it is shown.
const LOADED_CREDIT: &str = "World Checklist of Vascular Plants, Royal Botanic Gardens, Kew, CC BY, \
    as loaded here. Areas: World Geographical Scheme for Recording Plant Distributions, ed. 2, \
    Brummitt 2001, TDWG.";

/// Why a checklist cannot be loaded or opened.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ChecklistError {
    /// The download cannot be read.
    #[error(transparent)]
    Load(#[from] LoadError),
    /// The file beside the record is not a checklist.
    #[error("{path}: {source}. Load the checklist again")]
    Open {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        source: OpenError,
    },
    /// The file system.
    #[error("{path}: {source}. The checklist that was loaded before is as it was")]
    File {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// No names were found.
    #[error("{0} holds no names; choose the ZIP archive as it was downloaded, or its names table")]
    Empty(String),
}

/// The lists that names are held against.
#[derive(Clone)]
pub struct Checklists {
    loaded: Option<Arc<Checklist>>,
}

/// Where a loaded checklist lies: beside the record.
#[must_use]
pub fn place(record: &Path) -> PathBuf {
    record.with_extension("checklist")
}

impl Checklists {
    /// The shipped extract, and the checklist beside the record if one was loaded.
    ///
    /// # Errors
    /// If a checklist lies there but cannot be read.
    pub fn open(record: &Path) -> Result<Self, ChecklistError> {
        let path = place(record);
        let bytes = match fs::read(&path) {
            Ok(bytes) => bytes,
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
                return Ok(Self { loaded: None });
            }
            Err(source) => return Err(ChecklistError::File { path, source }),
        };
        let list =
            Checklist::open(bytes).map_err(|source| ChecklistError::Open { path, source })?;
        Ok(Self { loaded: Some(Arc::new(list)) })
    }

    /// The list that was loaded.
    #[must_use]
    pub fn loaded(&self) -> Option<&Checklist> {
        self.loaded.as_deref()
    }

    /// The list that names are held against: the loaded one, or the extract.
    #[must_use]
    pub fn list(&self) -> &Checklist {
        self.loaded().unwrap_or_else(|| Checklist::shipped())
    }

    /// Holds a name against the list. `origin` is where the plant is said to come from.
    #[must_use]
    pub fn check(&self, typed: &str, origin: Option<&str>) -> NameCheck {
        let reading = names::read(typed, &names_context());
        checklist::check_name(&reading, origin.filter(|o| !o.trim().is_empty()), self.list())
    }
}

/// Areas in words, from their codes; those of one region together.
#[must_use]
pub fn areas_in_words(codes: &[String]) -> Vec<(String, Vec<String>)> {
    let mut out: Vec<(String, Vec<String>)> = Vec::new();
    for code in codes {
        let (region, name) = match Areas::all().get(code) {
            Some(area) => (area.region.clone(), area.name.clone()),
            None => (String::new(), code.clone()),
        };
        match out.iter_mut().find(|g| g.0 == region) {
            Some(group) => group.1.push(name),
            None => out.push((region, vec![name])),
        }
    }
    out
}

/// Loads the public download, a ZIP archive or its tables one by one, and keeps it beside the
/// record. `progress` is told the rows read so far and stops the loading by `false`. Returns the
/// number of names and of areas.
///
/// # Errors
/// If a file cannot be read; the error names the file, and row, column and value where there is
/// one. What was loaded before stays then.
pub fn load<R: Read + Seek>(
    files: Vec<(String, R)>,
    record: &Path,
    progress: &mut dyn FnMut(u64) -> bool,
) -> Result<(usize, usize), ChecklistError> {
    let mut builder = Builder::new();
    let names: Vec<String> = files.iter().map(|f| f.0.clone()).collect();
    let mut before = 0;
    for (name, mut file) in files {
        let mut rows = 0;
        let mut told = |p: checklist::Progress| {
            rows = rows.max(p.rows);
            progress(before + p.rows)
        };
        let unreadable = |source| ChecklistError::File { path: PathBuf::from(&name), source };
        let mut head = [0u8; 4];
        let n = file.read(&mut head).map_err(unreadable)?;
        file.seek(SeekFrom::Start(0)).map_err(unreadable)?;
        if n == 4 && head == *b"PK\x03\x04" {
            checklist::load_zip(file, &name, &mut builder, &mut told)?;
        } else {
            checklist::load_table(file, &name, &mut builder, &mut told)?;
        }
        before += rows;
    }
    if builder.is_empty() {
        return Err(ChecklistError::Empty(names.join(", ")));
    }
    let list = builder.finish(LOADED_CREDIT);
    let path = place(record);
    let part = path.with_extension("checklist.part");
    let written = || -> std::io::Result<()> {
        let file = fs::File::create(&part)?;
        list.write_to(&file)?;
        file.sync_all()?;
        fs::rename(&part, &path)
    };
    written().map_err(|source| ChecklistError::File { path: path.clone(), source })?;
    Ok((list.len(), list.area_count()))
}
