//! The download as it comes: an archive with both tables.

use super::load::Table;
use super::{LoadError, Progress, Sink, TableKind};
use std::io::{Read, Seek};
use zip::ZipArchive;

/// More entries than this are no checklist.
const MOST_ENTRIES: usize = 100;
/// More unpacked bytes than this are no checklist (the real tables unpack to less than 1 GB).
const MOST_BYTES: u64 = 8 << 30;

/// Read all tables of a ZIP archive and hand their rows to a sink. Entries that are no tables (a
/// read-me file) are passed over; which table an entry is is known by its header, not by its name.
/// Returns the tables that were read with their numbers of rows.
///
/// # Errors
/// See [`LoadError`]; also when the archive holds no names table.
pub fn load_zip<R: Read + Seek>(
    reader: R,
    file: &str,
    sink: &mut dyn Sink,
    progress: &mut dyn FnMut(Progress) -> bool,
) -> Result<Vec<(TableKind, u64)>, LoadError> {
    let unreadable = |message: String| LoadError::Unreadable { file: file.to_owned(), message };
    let mut archive = ZipArchive::new(reader).map_err(|error| unreadable(error.to_string()))?;
    if archive.len() > MOST_ENTRIES {
        let what = format!("{} entries", archive.len());
        return Err(LoadError::TooLarge { file: file.to_owned(), what });
    }
    let mut done = Vec::new();
    let mut left = MOST_BYTES;
    for at in 0..archive.len() {
        let entry = archive.by_index(at).map_err(|error| unreadable(error.to_string()))?;
        let name = entry.name().map_err(|error| unreadable(error.to_string()))?.into_owned();
        let lower = name.to_lowercase();
        if entry.is_dir() || !(lower.ends_with(".csv") || lower.ends_with(".txt")) {
            continue;
        }
        let entry_file = format!("{file}, {name}");
        let mut limited = Limited { inner: entry, left, over: false };
        let result = read_entry(&mut limited, &entry_file, sink, progress);
        if limited.over {
            let what = format!("more than {MOST_BYTES} bytes unpacked");
            return Err(LoadError::TooLarge { file: file.to_owned(), what });
        }
        left = limited.left;
        done.extend(result?);
    }
    if done.iter().any(|(kind, _)| *kind != TableKind::Distribution) {
        return Ok(done);
    }
    let header = "no names table in the archive".to_owned();
    Err(LoadError::UnknownTable { file: file.to_owned(), header })
}

fn read_entry(
    reader: impl Read,
    file: &str,
    sink: &mut dyn Sink,
    progress: &mut dyn FnMut(Progress) -> bool,
) -> Result<Option<(TableKind, u64)>, LoadError> {
    match Table::open(reader, file) {
        Ok(mut table) => {
            let kind = table.kind;
            Ok(Some((kind, table.run(sink, progress)?)))
        }
        // A read-me beside the tables.
        Err(LoadError::UnknownTable { .. }) => Ok(None),
        Err(error) => Err(error),
    }
}

/// Stops an archive that unpacks without end.
struct Limited<R> {
    inner: R,
    left: u64,
    over: bool,
}

impl<R: Read> Read for Limited<R> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let read = self.inner.read(buffer)?;
        match self.left.checked_sub(read as u64) {
            Some(left) => {
                self.left = left;
                Ok(read)
            }
            None => {
                self.over = true;
                Err(std::io::Error::other("the archive unpacks to too many bytes"))
            }
        }
    }
}
