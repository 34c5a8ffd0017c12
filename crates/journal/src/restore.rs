//! Bringing a backup, or a record of one's own, into place.

use std::{
    fs,
    io::Read as _,
    path::{Path, PathBuf},
};

use crate::{
    BackupReport, Error, Journal, Result, backup,
    photos::{LARGEST, write_durably},
    store,
};

/// The largest record that is unpacked from a backup [bytes].
const LARGEST_RECORD: u64 = 16 * 1024 * 1024 * 1024;
/// The most files that a backup may hold.
const MOST_FILES: usize = 200_000;

impl Journal {
    /// Reads a backup back and says what it holds, changing nothing.
    ///
    /// # Errors
    /// If it is not a backup, is damaged, or is of a newer form.
    pub fn verify_backup(path: &Path) -> Result<BackupReport> {
        if is_record(path)? {
            store::inspect(path)?;
            let conn = store::connect(path, true)?;
            let (operations, plants, entries) = backup::counts(&conn)?;
            return Ok(BackupReport {
                path: path.to_path_buf(),
                size: fs::metadata(path).map_err(Error::file(path))?.len(),
                hash: backup::hash_file(path)?,
                operations,
                plants,
                entries,
                photos: 0,
            });
        }
        backup::verify(path)
    }

    /// Restores a backup, or a `.umbel` file, to `target`, which must not exist yet. The backup
    /// is checked first and is not touched.
    ///
    /// # Errors
    /// If the backup is not good or `target` is there already.
    pub fn restore(from: &Path, target: &Path) -> Result<BackupReport> {
        if target.exists() {
            return Err(Error::NotARecord {
                path: target.to_path_buf(),
                why: "there is a record already; move it away or choose another name".to_owned(),
            });
        }
        let report = Self::verify_backup(from)?;
        if let Some(folder) = target.parent().filter(|p| !p.as_os_str().is_empty()) {
            fs::create_dir_all(folder).map_err(Error::file(folder))?;
        }
        if is_record(from)? {
            let part = target.with_extension("part");
            fs::copy(from, &part).map_err(Error::file(&part))?;
            fs::rename(&part, target).map_err(Error::file(target))?;
            return Ok(report);
        }
        let folder = target.with_extension("restoring");
        if folder.exists() {
            fs::remove_dir_all(&folder).map_err(Error::file(&folder))?;
        }
        let database = unpack(from, &folder)?;
        let photos = database.with_extension("photos");
        if photos.is_dir() {
            let place = target.with_extension("photos");
            fs::create_dir_all(&place).map_err(Error::file(&place))?;
            for photo in backup::photo_files(&photos)? {
                if let Some(name) = photo.file_name() {
                    fs::rename(&photo, place.join(name)).map_err(Error::file(&photo))?;
                }
            }
        }
        fs::rename(&database, target).map_err(Error::file(target))?;
        fs::remove_dir_all(&folder).map_err(Error::file(&folder))?;
        Ok(report)
    }
}

fn is_record(path: &Path) -> Result<bool> {
    let mut head = [0u8; 16];
    let mut file = fs::File::open(path).map_err(Error::file(path))?;
    let n = file.read(&mut head).map_err(Error::file(path))?;
    Ok(n == 16 && &head == b"SQLite format 3\0")
}

/// Unpacks a backup into a new folder and returns the database. Names inside the archive are
/// never used as paths: the record gets a fixed name and photos are named by their hash.
pub(crate) fn unpack(path: &Path, folder: &Path) -> Result<PathBuf> {
    let bad = |why: String| Error::BadBackup { path: path.to_path_buf(), why };
    let file = fs::File::open(path).map_err(Error::file(path))?;
    let mut zip = zip::ZipArchive::new(file)
        .map_err(|e| Error::NotARecord { path: path.to_path_buf(), why: e.to_string() })?;
    if zip.len() > MOST_FILES {
        return Err(bad(format!("it holds {} files, at most {MOST_FILES} are read", zip.len())));
    }
    fs::create_dir_all(folder).map_err(Error::file(folder))?;
    let database = folder.join("collection.umbel");
    let photos = database.with_extension("photos");
    for i in 0..zip.len() {
        let mut entry = zip.by_index(i).map_err(|e| bad(e.to_string()))?;
        let name = entry.name().map_err(|e| bad(e.to_string()))?.into_owned();
        if name == "collection.umbel" {
            let mut out = fs::File::create(&database).map_err(Error::file(&database))?;
            let copied = std::io::copy(&mut (&mut entry).take(LARGEST_RECORD), &mut out)
                .map_err(|e| bad(format!("{name}: {e}")))?;
            if copied != entry.size() {
                return Err(bad(format!("{name} has {copied} bytes instead of {}", entry.size())));
            }
        } else if let Some(photo) = name.strip_prefix("photos/") {
            let (hash, ending) = photo.split_once('.').unwrap_or((photo, ""));
            let mut bytes = Vec::new();
            (&mut entry)
                .take(LARGEST as u64 + 1)
                .read_to_end(&mut bytes)
                .map_err(|e| bad(format!("{name}: {e}")))?;
            if bytes.len() > LARGEST || crate::photos::hash_of(&bytes) != hash {
                return Err(bad(format!("the photo {name} is not what its name says")));
            }
            if !["jpg", "png", "webp"].contains(&ending) {
                return Err(bad(format!("{name} is no photo")));
            }
            fs::create_dir_all(&photos).map_err(Error::file(&photos))?;
            write_durably(&photos.join(format!("{hash}.{ending}")), &bytes)?;
        } else {
            return Err(bad(format!("{name} does not belong into a backup")));
        }
    }
    if !database.is_file() {
        return Err(bad("there is no collection.umbel in it".to_owned()));
    }
    store::inspect(&database)?;
    Ok(database)
}
