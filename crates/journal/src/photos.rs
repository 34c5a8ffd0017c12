//! The folder of photos: each file is named by the hash of its content, never by what was sent.

use std::{
    fs,
    io::Write as _,
    path::{Path, PathBuf},
};

use sha2::{Digest as _, Sha256};

use crate::{Error, Journal, Result, Uid};

/// The largest photo that is taken in \[bytes\].
pub(crate) const LARGEST: usize = 40 * 1024 * 1024;

/// A photo that has been put into the folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhotoFile {
    /// SHA-256 of the content, in hexadecimal.
    pub hash: String,
    /// `jpg`, `png` or `webp`, from the content.
    pub ending: &'static str,
    /// Size \[bytes\].
    pub size: usize,
}

/// Why a file is not taken as a photo.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhotoError {
    /// Too large.
    #[error(
        "the photo has {0} bytes, at most {LARGEST} are taken; make it smaller and send it again"
    )]
    Large(usize),
    /// Not a photo by its first bytes.
    #[error("this is not a JPEG, PNG or WebP photo; save it as one of these and send it again")]
    Kind,
}

/// The kind of a photo by its first bytes.
fn ending_of(bytes: &[u8]) -> Option<&'static str> {
    match bytes {
        [0xFF, 0xD8, 0xFF, ..] => Some("jpg"),
        [0x89, b'P', b'N', b'G', 0x0D, 0x0A, 0x1A, 0x0A, ..] => Some("png"),
        [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some("webp"),
        _ => None,
    }
}

pub(crate) fn hash_of(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

pub(crate) fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    bytes.iter().fold(String::new(), |mut s, b| {
        let _ = write!(s, "{b:02x}");
        s
    })
}

impl Journal {
    /// Puts a photo into the folder, durably; one that is there already is left as it is.
    ///
    /// # Errors
    /// If it is too large, not a photo, or cannot be written.
    pub fn keep_photo(&self, bytes: &[u8]) -> Result<PhotoFile> {
        if bytes.len() > LARGEST {
            return Err(PhotoError::Large(bytes.len()).into());
        }
        let ending = ending_of(bytes).ok_or(PhotoError::Kind)?;
        let hash = hash_of(bytes);
        let folder = self.photo_folder();
        let target = folder.join(format!("{hash}.{ending}"));
        // One that is there but was damaged since is put right.
        if !target.exists() || crate::backup::hash_file(&target)? != hash {
            fs::create_dir_all(&folder).map_err(Error::file(&folder))?;
            write_durably(&target, bytes)?;
        }
        Ok(PhotoFile { hash, ending, size: bytes.len() })
    }

    /// The file of a photo, if the words can be one and it is there.
    #[must_use]
    pub fn photo_path(&self, hash: &str, ending: &str) -> Option<PathBuf> {
        let sound = hash.len() == 64
            && hash.bytes().all(|b| b.is_ascii_hexdigit() && !b.is_ascii_uppercase())
            && ["jpg", "png", "webp"].contains(&ending);
        let path = self.photo_folder().join(format!("{hash}.{ending}"));
        (sound && path.is_file()).then_some(path)
    }
}

/// Writes beside, syncs, renames: a killed process leaves the whole file or none.
pub(crate) fn write_durably(target: &Path, bytes: &[u8]) -> Result<()> {
    // A name of its own, so that two who keep the same photo at once do not mix their bytes.
    let beside = target.with_extension(format!("{}.part", Uid::new()));
    let written = write_and_rename(&beside, target, bytes);
    if written.is_err() {
        let _ = fs::remove_file(&beside);
    }
    written
}

fn write_and_rename(beside: &Path, target: &Path, bytes: &[u8]) -> Result<()> {
    let mut file = fs::File::create(beside).map_err(Error::file(beside))?;
    file.write_all(bytes).map_err(Error::file(beside))?;
    file.sync_all().map_err(Error::file(beside))?;
    rename_durably(beside, target)
}

/// Renames, and syncs the folder, without which a power cut can take the new name away again.
pub(crate) fn rename_durably(from: &Path, to: &Path) -> Result<()> {
    fs::rename(from, to).map_err(Error::file(to))?;
    #[cfg(unix)]
    if let Some(folder) = to.parent() {
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        let opened = fs::File::open(folder).map_err(Error::file(folder))?;
        opened.sync_all().map_err(Error::file(folder))?;
    }
    Ok(())
}
