//! Bringing a backup, or a record of one's own, into place.

use std::{
    fs,
    io::Read as _,
    path::{Path, PathBuf},
};

use crate::{
    BackupReport, Error, Journal, Result, Uid, backup,
    photos::{LARGEST, rename_durably, write_durably},
    store,
};

/// The largest record that is unpacked from a backup \[bytes\].
const LARGEST_RECORD: u64 = 16 * 1024 * 1024 * 1024;
/// Records are packed to a fifth or a tenth; one packed tighter than to this share is an archive
/// made to fill a disk.
const HIGHEST_RATIO: u64 = 200;
/// Records up to this size are taken however tightly they are packed \[bytes\].
const ALWAYS_TAKEN: u64 = 64 * 1024 * 1024;
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
            let (operations, plants, entries) = backup::check_database(path, path)?;
            return Ok(BackupReport {
                path: path.to_path_buf(),
                size: fs::metadata(path).map_err(Error::file(path))?.len(),
                hash: backup::hash_file(path)?,
                operations,
                plants,
                entries,
                photos: backup::photo_files(&path.with_extension("photos"))?.len(),
            });
        }
        backup::verify(path)
    }

    /// Restores a backup, or a `.umbel` file with the folder of photos beside it, to `target`,
    /// which must not exist yet. The backup is checked first and is not touched.
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
        store::refuse_orphaned_log(target)?;
        let report = Self::verify_backup(from)?;
        if let Some(folder) = target.parent().filter(|p| !p.as_os_str().is_empty()) {
            fs::create_dir_all(folder).map_err(Error::file(folder))?;
        }
        let folder = store::beside(target, &format!(".{}.restoring", Uid::new()));
        let restored = bring_into_place(from, target, &folder);
        let _ = fs::remove_dir_all(&folder);
        restored.map(|()| report)
    }
}

/// Makes the record in `folder`, then moves it to `target`: photos first, so that there is no
/// record before it is whole.
fn bring_into_place(from: &Path, target: &Path, folder: &Path) -> Result<()> {
    let (database, photos, ours) = if is_record(from)? {
        fs::create_dir_all(folder).map_err(Error::file(folder))?;
        let database = folder.join("collection.umbel");
        // Not a plain copy: the newest entries may still lie in the log beside the file.
        backup::copy_database(&store::connect(from, true)?, &database)?;
        (database, from.with_extension("photos"), false)
    } else {
        let database = unpack(from, folder, true)?.database;
        let photos = database.with_extension("photos");
        (database, photos, true)
    };
    let place = target.with_extension("photos");
    for photo in backup::photo_files(&photos)? {
        let Some(name) = photo.file_name() else { continue };
        fs::create_dir_all(&place).map_err(Error::file(&place))?;
        if ours {
            rename_durably(&photo, &place.join(name))?;
        } else {
            let bytes = fs::read(&photo).map_err(Error::file(&photo))?;
            write_durably(&place.join(name), &bytes)?;
        }
    }
    rename_durably(&database, target)
}

fn is_record(path: &Path) -> Result<bool> {
    if path.is_dir() {
        let why = "it is a folder".to_owned();
        return Err(Error::NotARecord { path: path.to_path_buf(), why });
    }
    let mut head = [0u8; 16];
    let mut file = fs::File::open(path).map_err(Error::file(path))?;
    let n = file.read(&mut head).map_err(Error::file(path))?;
    Ok(n == 16 && &head == b"SQLite format 3\0")
}

/// What was unpacked.
pub(crate) struct Unpacked {
    pub(crate) database: PathBuf,
    /// How many photos the backup holds.
    pub(crate) photos: usize,
}

/// Unpacks a backup into a new folder. Every photo is checked against its hash and, if
/// `keep_photos`, written. Names inside the archive are never used as paths: the record gets a
/// fixed name and photos are named by their hash.
pub(crate) fn unpack(path: &Path, folder: &Path, keep_photos: bool) -> Result<Unpacked> {
    let bad = |why: String| Error::BadBackup { path: path.to_path_buf(), why };
    let file = fs::File::open(path).map_err(Error::file(path))?;
    let mut zip = zip::ZipArchive::new(file)
        .map_err(|e| Error::NotARecord { path: path.to_path_buf(), why: e.to_string() })?;
    if zip.len() > MOST_FILES {
        return Err(bad(format!("it holds {} files, at most {MOST_FILES} are read", zip.len())));
    }
    fs::create_dir_all(folder).map_err(Error::file(folder))?;
    let database = folder.join("collection.umbel");
    let photos_folder = database.with_extension("photos");
    let mut photos = 0;
    for i in 0..zip.len() {
        let mut entry = zip.by_index(i).map_err(|e| bad(e.to_string()))?;
        let name = entry.name().map_err(|e| bad(e.to_string()))?.into_owned();
        if name == "collection.umbel" {
            unpack_database(&mut entry, &database).map_err(bad)?;
        } else if let Some(photo) = name.strip_prefix("photos/") {
            let (file_name, bytes) =
                read_photo(&mut entry, photo).map_err(|why| bad(format!("{name} {why}")))?;
            photos += 1;
            if keep_photos {
                fs::create_dir_all(&photos_folder).map_err(Error::file(&photos_folder))?;
                write_durably(&photos_folder.join(file_name), &bytes)?;
            }
        } else {
            return Err(bad(format!("{name} does not belong into a backup")));
        }
    }
    if !database.is_file() {
        return Err(bad("there is no collection.umbel in it".to_owned()));
    }
    if store::inspect(&database)? == store::Form::Blank {
        return Err(bad("its record is empty".to_owned()));
    }
    Ok(Unpacked { database, photos })
}

fn unpack_database(
    entry: &mut zip::read::ZipFile<'_, fs::File>,
    database: &Path,
) -> Result<(), String> {
    let size = entry.size();
    let dense = entry.compressed_size().saturating_mul(HIGHEST_RATIO).max(ALWAYS_TAKEN);
    if size > LARGEST_RECORD.min(dense) {
        return Err(format!(
            "collection.umbel claims {size} bytes packed into {}, which no record does",
            entry.compressed_size()
        ));
    }
    let mut out = fs::File::create_new(database).map_err(|e| format!("collection.umbel: {e}"))?;
    let copied = std::io::copy(&mut entry.take(size + 1), &mut out)
        .map_err(|e| format!("collection.umbel: {e}"))?;
    if copied != size {
        return Err(format!("collection.umbel does not have the {size} bytes that it claims"));
    }
    out.sync_all().map_err(|e| format!("collection.umbel: {e}"))
}

/// The file name that a photo gets, and its bytes, if they are what its name says.
fn read_photo(
    entry: &mut zip::read::ZipFile<'_, fs::File>,
    name: &str,
) -> Result<(String, Vec<u8>), String> {
    let (hash, ending) = name.split_once('.').unwrap_or((name, ""));
    if !["jpg", "png", "webp"].contains(&ending) {
        return Err("is no photo".to_owned());
    }
    let mut bytes = Vec::new();
    entry.take(LARGEST as u64 + 1).read_to_end(&mut bytes).map_err(|e| format!("({e})"))?;
    if bytes.len() > LARGEST || crate::photos::hash_of(&bytes) != hash {
        return Err("is not the photo that its name says".to_owned());
    }
    Ok((format!("{hash}.{ending}"), bytes))
}
