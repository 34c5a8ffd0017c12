//! Backups: made while the record is in use, read back before they are called good.

use std::{
    fs,
    io::{Read as _, Write as _},
    path::{Path, PathBuf},
    time::Duration,
};

use jiff::Timestamp;
use rusqlite::{Connection, TransactionBehavior};
use sha2::{Digest as _, Sha256};

use crate::{
    Block, Error, Journal, Result, Uid,
    photos::{hex, rename_durably},
    store,
};

/// A backup older than this is due again. Common practice, no source.
const DUE_AFTER: Duration = Duration::from_secs(24 * 3600);

/// What a verified backup holds.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct BackupReport {
    /// The file.
    pub path: PathBuf,
    /// Its size \[bytes\].
    pub size: u64,
    /// SHA-256 of the whole file, in hexadecimal.
    pub hash: String,
    /// Operations in it.
    pub operations: i64,
    /// Plants in it.
    pub plants: i64,
    /// Entries in it.
    pub entries: i64,
    /// Photos in it.
    pub photos: usize,
}

/// What `doctor` found.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Health {
    /// The file.
    pub path: PathBuf,
    /// The file form.
    pub form: i64,
    /// Lines of SQLite's integrity check; `ok` alone when it is sound.
    pub integrity: Vec<String>,
    /// Rows whose foreign key leads nowhere.
    pub foreign_keys: usize,
    /// Whether deriving the projection again gives the same.
    pub projection_agrees: bool,
    /// Photos named by the record that are not in the folder.
    pub missing_photos: Vec<String>,
    /// Photos whose content does not match their name.
    pub damaged_photos: Vec<String>,
    /// Blocks of readings that are not what was packed, with logger and file.
    pub damaged_readings: Vec<String>,
    /// Operations, plants, entries.
    pub counts: (i64, i64, i64),
}

impl Health {
    /// Whether nothing is wrong.
    #[must_use]
    pub fn sound(&self) -> bool {
        self.integrity == ["ok"]
            && self.foreign_keys == 0
            && self.projection_agrees
            && self.missing_photos.is_empty()
            && self.damaged_photos.is_empty()
            && self.damaged_readings.is_empty()
    }
}

/// Whether a backup made at `last` is due again at `now`.
#[must_use]
pub fn backup_due(last: Option<Timestamp>, now: Timestamp) -> bool {
    last.is_none_or(|l| now.duration_since(l).unsigned_abs() >= DUE_AFTER)
}

pub(crate) fn counts(conn: &Connection) -> rusqlite::Result<(i64, i64, i64)> {
    conn.query_row(
        "SELECT (SELECT count(*) FROM operation), (SELECT count(*) FROM plant),
                (SELECT count(*) FROM entry)",
        [],
        |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?)),
    )
}

fn integrity(conn: &Connection) -> rusqlite::Result<Vec<String>> {
    let mut stmt = conn.prepare("PRAGMA integrity_check(20)")?;
    stmt.query_map([], |r| r.get(0))?.collect()
}

fn broken_keys(conn: &Connection) -> rusqlite::Result<usize> {
    let mut stmt = conn.prepare("PRAGMA foreign_key_check")?;
    let mut rows = stmt.query([])?;
    let mut n = 0;
    while rows.next()?.is_some() {
        n += 1;
    }
    Ok(n)
}

/// Copies the record beside itself before an upgrade and checks the copy.
pub(crate) fn copy_before_upgrade(path: &Path, form: i64) -> Result<PathBuf> {
    let copy = free_name(path, &format!("before-form-{}", form + 1))?;
    let source = store::connect(path, true)?;
    if let Err(e) = copy_database(&source, &copy) {
        let _ = fs::remove_file(&copy);
        return Err(e);
    }
    Ok(copy)
}

fn free_name(path: &Path, word: &str) -> Result<PathBuf> {
    let stem = path.file_stem().and_then(|s| s.to_str()).unwrap_or("collection");
    for n in 0..1000 {
        let suffix = if n == 0 { String::new() } else { format!("-{n}") };
        let candidate = path.with_file_name(format!("{stem}.{word}{suffix}.umbel"));
        if !candidate.exists() {
            return Ok(candidate);
        }
    }
    Err(Error::BadBackup { path: path.to_path_buf(), why: "no free name for the copy".to_owned() })
}

pub(crate) fn copy_database(source: &Connection, target: &Path) -> Result<()> {
    let mut copy = Connection::open(target)?;
    {
        let backup = rusqlite::backup::Backup::new(source, &mut copy)?;
        backup.run_to_completion(4096, Duration::ZERO, None)?;
    }
    // A backup is one file: nothing may stay behind in a log beside it.
    copy.query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(()))?;
    let found = integrity(&copy)?;
    let broken = broken_keys(&copy)?;
    let same = counts_of_base(source)? == counts_of_base(&copy)?;
    if found != ["ok"] || broken > 0 || !same {
        return Err(Error::BadBackup { path: target.to_path_buf(), why: found.join("; ") });
    }
    drop(copy);
    let file = fs::File::open(target).map_err(Error::file(target))?;
    file.sync_all().map_err(Error::file(target))
}

/// Rows of every ordinary table, whatever tables a form has.
fn counts_of_base(conn: &Connection) -> rusqlite::Result<Vec<(String, i64)>> {
    let mut stmt = conn.prepare(
        "SELECT name FROM sqlite_schema WHERE type = 'table' AND sql NOT LIKE 'CREATE VIRTUAL%'
         AND name NOT LIKE 'sqlite_%' ORDER BY name",
    )?;
    let names: Vec<String> = stmt.query_map([], |r| r.get(0))?.collect::<rusqlite::Result<_>>()?;
    let mut out = Vec::with_capacity(names.len());
    for name in names {
        let quoted = name.replace('"', "\"\"");
        let n = conn.query_row(&format!("SELECT count(*) FROM \"{quoted}\""), [], |r| r.get(0))?;
        out.push((name, n));
    }
    Ok(out)
}

impl Journal {
    /// Makes a backup: one archive with the record and all photos, then reads it back.
    ///
    /// # Errors
    /// If it cannot be written or does not read back as it was written; then nothing is left
    /// under its name.
    pub fn back_up(&self, target: &Path) -> Result<BackupReport> {
        refuse_to_overwrite(target)?;
        // Names of their own, so that nothing that lies beside the backup is ever overwritten.
        let part = store::beside(target, &format!(".{}.part", Uid::new()));
        let database = store::beside(&part, "-db");
        if let Some(folder) = target.parent().filter(|p| !p.as_os_str().is_empty()) {
            fs::create_dir_all(folder).map_err(Error::file(folder))?;
        }
        let made = self.pack(&part, &database);
        let _ = fs::remove_file(&database);
        if let Err(e) = made {
            let _ = fs::remove_file(&part);
            return Err(e);
        }
        let mut report = match verify(&part) {
            Ok(r) => r,
            Err(e) => {
                let _ = fs::remove_file(&part);
                return Err(e);
            }
        };
        rename_durably(&part, target)?;
        report.path = target.to_path_buf();
        Ok(report)
    }

    fn pack(&self, part: &Path, database: &Path) -> Result<()> {
        let source = store::connect(self.path(), true)?;
        copy_database(&source, database)?;
        let file = fs::File::create(part).map_err(Error::file(part))?;
        let mut zip = zip::ZipWriter::new(file);
        let packed = zip::write::SimpleFileOptions::default();
        let stored = packed.compression_method(zip::CompressionMethod::Stored);
        let failed = |e: zip::result::ZipError| Error::BadBackup {
            path: part.to_path_buf(),
            why: e.to_string(),
        };
        zip.start_file("collection.umbel", packed.large_file(true)).map_err(failed)?;
        let mut copy = fs::File::open(database).map_err(Error::file(database))?;
        std::io::copy(&mut copy, &mut zip).map_err(Error::file(part))?;
        for photo in photo_files(&self.photo_folder())? {
            let name = photo.file_name().and_then(|n| n.to_str()).unwrap_or("").to_owned();
            zip.start_file(format!("photos/{name}"), stored).map_err(failed)?;
            let mut f = fs::File::open(&photo).map_err(Error::file(&photo))?;
            std::io::copy(&mut f, &mut zip).map_err(Error::file(part))?;
        }
        let mut file = zip.finish().map_err(failed)?;
        file.flush().map_err(Error::file(part))?;
        file.sync_all().map_err(Error::file(part))
    }

    /// Looks the record over without changing it.
    ///
    /// # Errors
    /// If the file cannot be read at all.
    pub fn doctor(&self) -> Result<Health> {
        self.look_over().map_err(|e| e.at(self.path()))
    }

    fn look_over(&self) -> Result<Health> {
        let mut conn = self.writer();
        let form = conn.query_row("PRAGMA user_version", [], |r| r.get(0))?;
        let found = integrity(&conn)?;
        let foreign_keys = broken_keys(&conn)?;
        let counts = counts(&conn)?;
        let damaged_readings = damaged_readings(&conn)?;
        // With a damaged block nothing can be derived from the readings.
        let projection_agrees = damaged_readings.is_empty() && {
            // Derived again inside a transaction that is never committed, and compared with what
            // the same transaction found, since another process may be writing.
            let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
            let now = fingerprint(&tx)?;
            crate::derive::rebuild(&tx)?;
            let again = fingerprint(&tx)?;
            tx.rollback()?;
            now == again
        };
        let mut missing_photos = Vec::new();
        let mut damaged_photos = Vec::new();
        let mut stmt = conn.prepare(
            "SELECT json_extract(c.value,'$.hash'), json_extract(c.value,'$.ending')
             FROM claim c JOIN subject s ON s.id = c.subject
             WHERE s.kind = 'photo' AND c.field = 'content' AND c.live AND s.live",
        )?;
        let named: Vec<(Option<String>, Option<String>)> =
            stmt.query_map([], |r| Ok((r.get(0)?, r.get(1)?)))?.collect::<rusqlite::Result<_>>()?;
        for (hash, ending) in named {
            let (hash, ending) = (hash.unwrap_or_default(), ending.unwrap_or_default());
            match self.photo_path(&hash, &ending) {
                None => missing_photos.push(format!("{hash}.{ending}")),
                Some(path) => {
                    if hash_file(&path)? != hash {
                        damaged_photos.push(format!("{hash}.{ending}"));
                    }
                }
            }
        }
        Ok(Health {
            path: self.path().to_path_buf(),
            form,
            integrity: found,
            foreign_keys,
            projection_agrees,
            missing_photos,
            damaged_photos,
            damaged_readings,
            counts,
        })
    }
}

/// Blocks of readings that are not what was packed.
fn damaged_readings(conn: &Connection) -> rusqlite::Result<Vec<String>> {
    let mut stmt =
        conn.prepare("SELECT id, logger, origin, first, last, count, east, packed FROM series")?;
    let mut rows = stmt.query([])?;
    let mut out = Vec::new();
    while let Some(r) = rows.next()? {
        let block = Block { east: r.get(6)?, packed: r.get(7)? };
        let told: (i64, i64, i64) = (r.get(3)?, r.get(4)?, r.get(5)?);
        let why = match block.unpack() {
            Err(e) => e.to_string(),
            Ok(list) => {
                let ends = list.first().zip(list.last());
                let count = i64::try_from(list.len()).unwrap_or(0);
                if ends.map(|(a, b)| (a.time, b.time, count)) == Some(told) {
                    continue;
                }
                "what stands beside it differs from what it holds".to_owned()
            }
        };
        let (id, logger, origin): (i64, String, String) = (r.get(0)?, r.get(1)?, r.get(2)?);
        out.push(format!("block {id}, logger {logger}, from {origin}: {why}"));
    }
    Ok(out)
}

/// The fingerprint of the whole projection; as a text it would not fit into memory for long.
fn fingerprint(conn: &Connection) -> Result<String> {
    let mut hasher = Sha256::new();
    crate::derive::dump(conn, &mut |line| hasher.update(line))?;
    Ok(hex(&hasher.finalize()))
}

/// A backup may take the place of an older backup, and of nothing else.
fn refuse_to_overwrite(target: &Path) -> Result<()> {
    if !target.exists() {
        return Ok(());
    }
    let mut head = [0u8; 4];
    let read = fs::File::open(target).and_then(|mut f| f.read(&mut head));
    if target.is_dir() || read.map_err(Error::file(target))? < 4 || &head != b"PK\x03\x04" {
        return Err(Error::BadBackup {
            path: target.to_path_buf(),
            why: "something that is no backup lies there already; choose another name".to_owned(),
        });
    }
    Ok(())
}

pub(crate) fn photo_files(folder: &Path) -> Result<Vec<PathBuf>> {
    if !folder.is_dir() {
        return Ok(Vec::new());
    }
    let mut out = Vec::new();
    for entry in fs::read_dir(folder).map_err(Error::file(folder))? {
        let path = entry.map_err(Error::file(folder))?.path();
        let ours = path
            .extension()
            .and_then(|e| e.to_str())
            .is_some_and(|e| ["jpg", "png", "webp"].contains(&e));
        if ours && path.is_file() {
            out.push(path);
        }
    }
    out.sort();
    Ok(out)
}

pub(crate) fn hash_file(path: &Path) -> Result<String> {
    let mut file = fs::File::open(path).map_err(Error::file(path))?;
    let mut hasher = Sha256::new();
    let mut buffer = vec![0u8; 1 << 16];
    loop {
        let n = file.read(&mut buffer).map_err(Error::file(path))?;
        if n == 0 {
            return Ok(hex(&hasher.finalize()));
        }
        hasher.update(&buffer[..n]);
    }
}

/// Reads a backup back: unpacks its database beside it, checks that and every photo's hash,
/// counts, and removes what it unpacked.
pub(crate) fn verify(path: &Path) -> Result<BackupReport> {
    let folder = store::beside(path, &format!(".{}.check", Uid::new()));
    let checked = crate::restore::unpack(path, &folder, false)
        .and_then(|unpacked| Ok((check_database(path, &unpacked.database)?, unpacked.photos)));
    let _ = fs::remove_dir_all(&folder);
    let ((operations, plants, entries), photos) = checked?;
    Ok(BackupReport {
        path: path.to_path_buf(),
        size: fs::metadata(path).map_err(Error::file(path))?.len(),
        hash: hash_file(path)?,
        operations,
        plants,
        entries,
        photos,
    })
}

/// Checks a database from `path` and counts its operations, plants and entries.
pub(crate) fn check_database(path: &Path, database: &Path) -> Result<(i64, i64, i64)> {
    let check = || -> Result<(i64, i64, i64)> {
        let conn = store::connect(database, true)?;
        let found = integrity(&conn)?;
        let broken = broken_keys(&conn)?;
        if found != ["ok"] || broken > 0 {
            let why = format!("{}; {broken} references lead nowhere", found.join("; "));
            return Err(Error::BadBackup { path: path.to_path_buf(), why });
        }
        Ok(counts(&conn)?)
    };
    check().map_err(|e| e.at(path))
}
