//! Opening the record, and who may read and write it when.

use std::{
    fs,
    path::{Path, PathBuf},
    sync::{Mutex, MutexGuard, PoisonError},
    time::Duration,
};

use rusqlite::{Connection, OpenFlags, OptionalExtension as _, Transaction, TransactionBehavior};

use crate::{
    Error, Operation, Reader, Result, Written, apply, backup, derive,
    schema::{self, APPLICATION, FORM},
};

const KEEP_SETTING: &str = "INSERT INTO house(key, value) VALUES(?1, ?2)
     ON CONFLICT(key) DO UPDATE SET value = excluded.value";

/// The record of one house: a SQLite file and a folder of photos beside it.
///
/// One writer at a time, any number of readers. Every connection runs in write-ahead mode with
/// `synchronous=FULL`, so that what was acknowledged survives a killed process and a power cut.
pub struct Journal {
    path: PathBuf,
    writer: Mutex<Connection>,
    readers: Mutex<Vec<Connection>>,
}

/// What opening found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Opened {
    /// A new, empty record was made.
    New,
    /// The record was there.
    Existing,
    /// The record was of an older form; it was copied first, then upgraded.
    Upgraded {
        /// The form it had.
        from: i64,
        /// The copy made before.
        backup: PathBuf,
    },
}

impl Journal {
    /// Opens the record at `path`, making it if there is none.
    ///
    /// # Errors
    /// If the file is not a record, is damaged, or is of a newer form; it is not touched then.
    pub fn open(path: impl AsRef<Path>) -> Result<(Self, Opened)> {
        let path = path.as_ref().to_path_buf();
        Self::open_file(&path).map_err(|e| e.at(&path))
    }

    fn open_file(path: &Path) -> Result<(Self, Opened)> {
        refuse_no_file(path)?;
        let opened = match is_new(path)? {
            true => Opened::New,
            false => match inspect(path)? {
                Form::Blank => Opened::New,
                Form::Known(form) if form < FORM => Opened::Upgraded {
                    from: form,
                    backup: backup::copy_before_upgrade(path, form)?,
                },
                Form::Known(_) => Opened::Existing,
            },
        };
        if opened == Opened::New {
            refuse_orphaned_log(path)?;
            if let Some(folder) = path.parent().filter(|p| !p.as_os_str().is_empty()) {
                fs::create_dir_all(folder).map_err(Error::file(folder))?;
            }
        }
        let mut writer = connect(path, false)?;
        if opened != Opened::Existing {
            schema::upgrade(&mut writer)?;
        }
        let path = path.to_path_buf();
        let journal = Self { path, writer: Mutex::new(writer), readers: Mutex::new(Vec::new()) };
        Ok((journal, opened))
    }

    /// The file.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The folder of photos beside the file.
    #[must_use]
    pub fn photo_folder(&self) -> PathBuf {
        self.path.with_extension("photos")
    }

    pub(crate) fn writer(&self) -> MutexGuard<'_, Connection> {
        // A panic of another thread rolls its transaction back; the connection itself is sound.
        self.writer.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Reads from one consistent state of the record.
    ///
    /// # Errors
    /// Those of `ask`, and of the file.
    pub fn read<T>(&self, ask: impl FnOnce(&Reader<'_>) -> Result<T>) -> Result<T> {
        self.read_unplaced(ask).map_err(|e| e.at(&self.path))
    }

    fn read_unplaced<T>(&self, ask: impl FnOnce(&Reader<'_>) -> Result<T>) -> Result<T> {
        let pooled = self.readers.lock().unwrap_or_else(PoisonError::into_inner).pop();
        let mut conn = match pooled {
            Some(c) => c,
            None => connect(&self.path, true)?,
        };
        let answer = {
            let tx = conn.transaction()?;
            let answer = ask(&Reader::new(&tx))?;
            tx.finish()?;
            answer
        };
        let mut pool = self.readers.lock().unwrap_or_else(PoisonError::into_inner);
        if pool.len() < 4 {
            pool.push(conn);
        }
        Ok(answer)
    }

    /// Writes an operation: all of it or nothing. One that is in the record already is left as
    /// it is, so that it can arrive twice.
    ///
    /// # Errors
    /// If a change cannot be written; the error names which and why, and the record is as it was.
    pub fn write(&self, operation: &Operation) -> Result<Written> {
        self.change(|tx| apply::apply(tx, operation))
    }

    /// Runs `change` in a transaction of its own that is committed only if it succeeds.
    pub(crate) fn change<T>(
        &self,
        change: impl FnOnce(&Transaction<'_>) -> Result<T>,
    ) -> Result<T> {
        let run = || -> Result<T> {
            let mut conn = self.writer();
            let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
            let done = change(&tx)?;
            tx.commit()?;
            Ok(done)
        };
        run().map_err(|e| e.at(&self.path))
    }

    /// Drops the projection and derives it again from the operations.
    ///
    /// # Errors
    /// Those of the file.
    pub fn rebuild(&self) -> Result<()> {
        self.change(|tx| derive::rebuild(tx))
    }

    /// Everything of the projection as text, in a fixed order: two records with the same
    /// operations give the same text.
    ///
    /// # Errors
    /// Those of the file.
    pub fn projection_text(&self) -> Result<String> {
        let mut text = String::new();
        derive::dump(&self.writer(), &mut |line| text.push_str(line))?;
        Ok(text)
    }

    /// A setting of the house, such as its name for labels.
    ///
    /// # Errors
    /// Those of the file.
    pub fn setting(&self, key: &str) -> Result<Option<String>> {
        self.read(|r| r.setting(key))
    }

    /// Changes a setting of the house by what it was, in one transaction: two programs that change
    /// it at once lose nothing of each other. `change` gives the new value with what to tell.
    ///
    /// # Errors
    /// Those of the file.
    pub fn change_setting<T>(
        &self,
        key: &str,
        change: impl FnOnce(Option<String>) -> (String, T),
    ) -> Result<T> {
        self.change(|tx| {
            let before = tx
                .prepare_cached("SELECT value FROM house WHERE key = ?1")?
                .query_row([key], |r| r.get(0))
                .optional()?;
            let (after, told) = change(before);
            tx.prepare_cached(KEEP_SETTING)?.execute((key, after))?;
            Ok(told)
        })
    }

    /// Keeps a setting of the house.
    ///
    /// # Errors
    /// Those of the file.
    pub fn set_setting(&self, key: &str, value: &str) -> Result<()> {
        self.writer().execute(KEEP_SETTING, (key, value))?;
        Ok(())
    }
}

fn not_a_record(path: &Path, why: &str) -> Error {
    Error::NotARecord { path: path.to_path_buf(), why: why.to_owned() }
}

/// An empty path would make SQLite keep the record in memory and lose it at the end.
fn refuse_no_file(path: &Path) -> Result<()> {
    if path.as_os_str().is_empty() {
        return Err(not_a_record(path, "no file was named"));
    }
    if path.is_dir() {
        return Err(not_a_record(path, "it is a folder"));
    }
    Ok(())
}

fn is_new(path: &Path) -> Result<bool> {
    match fs::metadata(path) {
        Ok(m) => Ok(m.len() == 0),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(true),
        Err(e) => Err(Error::File { path: path.to_path_buf(), source: e }),
    }
}

/// A write-ahead log whose record was moved away holds entries of that record: a new record
/// under the same name would throw them away or, worse, take them for its own.
pub(crate) fn refuse_orphaned_log(path: &Path) -> Result<()> {
    let log = beside(path, "-wal");
    let lies_there = fs::metadata(&log).is_ok_and(|m| m.len() > 0);
    if lies_there && !path.exists() {
        return Err(not_a_record(
            path,
            &format!(
                "{} lies here and belongs to a record of this name that was moved away; move it \
                 to where that record is",
                log.display()
            ),
        ));
    }
    Ok(())
}

pub(crate) fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

/// What a file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Form {
    /// A SQLite file without anything in it: what is left when the making of a new record was
    /// cut short.
    Blank,
    /// A record of this form.
    Known(i64),
}

/// Looks at a file without changing it, and returns its form.
pub(crate) fn inspect(path: &Path) -> Result<Form> {
    refuse_no_file(path)?;
    let mut head = [0u8; 16];
    {
        use std::io::Read as _;
        let mut file = fs::File::open(path).map_err(Error::file(path))?;
        let n = file.read(&mut head).map_err(Error::file(path))?;
        if n < 16 || &head != b"SQLite format 3\0" {
            return Err(Error::NotARecord {
                path: path.to_path_buf(),
                why: "it does not begin as a SQLite file does".to_owned(),
            });
        }
    }
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let damaged = |e: rusqlite::Error| match e.sqlite_error_code() {
        Some(rusqlite::ErrorCode::DatabaseCorrupt | rusqlite::ErrorCode::NotADatabase) => {
            Error::Damaged { path: path.to_path_buf(), why: e.to_string() }
        }
        _ => Error::Sqlite(e),
    };
    let mut conn = Connection::open_with_flags(located(path)?, flags).map_err(damaged)?;
    conn.busy_timeout(Duration::from_secs(10))?;
    let asked = conn.query_row("PRAGMA application_id", [], |r| r.get::<_, i32>(0));
    let application = match asked {
        Err(e) if e.sqlite_error_code() == Some(rusqlite::ErrorCode::ReadOnly) => {
            // A process was killed while it changed the file; SQLite has to take that half change
            // back before anything can be read, and cannot while it may only read.
            let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
            conn = Connection::open_with_flags(located(path)?, flags).map_err(damaged)?;
            conn.busy_timeout(Duration::from_secs(10))?;
            conn.query_row("PRAGMA application_id", [], |r| r.get(0)).map_err(damaged)?
        }
        asked => asked.map_err(damaged)?,
    };
    let form: i64 = conn.query_row("PRAGMA user_version", [], |r| r.get(0)).map_err(damaged)?;
    let objects = |condition: &str| -> Result<i64> {
        let sql = format!("SELECT count(*) FROM sqlite_schema {condition}");
        conn.query_row(&sql, [], |r| r.get(0)).map_err(damaged)
    };
    if application == 0 && form == 0 && objects("")? == 0 {
        return Ok(Form::Blank);
    }
    if application != APPLICATION {
        return Err(Error::NotARecord {
            path: path.to_path_buf(),
            why: "it is a SQLite file of another program".to_owned(),
        });
    }
    if form > FORM {
        return Err(Error::Newer { path: path.to_path_buf(), found: form, known: FORM });
    }
    // Umbel makes none: in a file from elsewhere they could change what is written.
    if objects("WHERE type IN ('trigger', 'view')")? > 0 {
        return Err(not_a_record(path, "it holds triggers or views, which no record does"));
    }
    Ok(Form::Known(form))
}

/// The path in full, so that no name has a special meaning to SQLite (`:memory:`).
fn located(path: &Path) -> Result<PathBuf> {
    std::path::absolute(path).map_err(Error::file(path))
}

pub(crate) fn connect(path: &Path, read_only: bool) -> Result<Connection> {
    let flags = if read_only {
        OpenFlags::SQLITE_OPEN_READ_ONLY
    } else {
        OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE
    } | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let conn = Connection::open_with_flags(located(path)?, flags)?;
    conn.busy_timeout(Duration::from_secs(10))?;
    conn.set_prepared_statement_cache_capacity(128);
    if !read_only {
        conn.query_row("PRAGMA journal_mode = WAL", [], |_| Ok(()))?;
    }
    // The writer keeps more pages [KiB]: a long list that is brought in touches every index.
    let pages = if read_only { 16_000 } else { 64_000 };
    conn.pragma_update(None, "cache_size", -pages)?;
    conn.execute_batch(
        "PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;
         PRAGMA temp_store = MEMORY; PRAGMA trusted_schema = OFF;",
    )?;
    Ok(conn)
}
