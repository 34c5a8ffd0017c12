//! Writing the folder.

use std::{fs, path::Path};

use jiff::Timestamp;
use rusqlite::{Connection, types::ValueRef};

use super::{ExportReport, TABLES, neutral};
use crate::{Block, Error, Journal, Result, Uid, backup::photo_files, store};

impl Journal {
    /// Writes everything to a folder, which is made if there is none.
    ///
    /// # Errors
    /// If the folder holds anything already, or cannot be written.
    pub fn export(&self, folder: &Path) -> Result<ExportReport> {
        fs::create_dir_all(folder).map_err(Error::file(folder))?;
        if fs::read_dir(folder).map_err(Error::file(folder))?.next().is_some() {
            return Err(Error::NotARecord {
                path: folder.to_path_buf(),
                why: "the folder is not empty; choose another or a new one".to_owned(),
            });
        }
        let mut conn = store::connect(self.path(), true)?;
        let tx = conn.transaction()?;
        let mut rows = Vec::new();
        for table in TABLES {
            let header: Vec<&str> = table.columns.iter().map(|c| c.0).collect();
            let n = write_table(&tx, folder, table.name, &header, table.query)?;
            rows.push((format!("{}.csv", table.name), n));
        }
        let n = write_table(&tx, folder, "plants", PLANTS.0, PLANTS.1)?;
        rows.push(("plants.csv".to_owned(), n));
        rows.push(("readings.csv".to_owned(), write_readings(&tx, folder)?));
        let n = write_table(&tx, folder, "settings", &["key", "value"], SETTINGS)?;
        rows.push(("settings.csv".to_owned(), n));
        let photos = photo_files(&self.photo_folder())?;
        if !photos.is_empty() {
            let place = folder.join("photos");
            fs::create_dir_all(&place).map_err(Error::file(&place))?;
            for photo in &photos {
                if let Some(name) = photo.file_name() {
                    fs::copy(photo, place.join(name)).map_err(Error::file(photo))?;
                }
            }
        }
        let readme = folder.join("DESCRIPTION.md");
        fs::write(&readme, description()).map_err(Error::file(&readme))?;
        Ok(ExportReport { folder: folder.to_path_buf(), rows, photos: photos.len(), before: 0 })
    }
}

/// Without what lets devices in: a folder of tables is made to be handed on.
const SETTINGS: &str =
    "SELECT key, value FROM house WHERE key NOT IN ('passcode', 'sessions') ORDER BY key";

const PLANTS: (&[&str], &str) = (
    &[
        "number", "code", "name", "parents", "place", "from", "came", "received_as", "state", "tag",
        "pot", "entries",
    ],
    "SELECT number, code, name, parents, place_name, keeper_name, came, received_as, state, tag, pot, entries
     FROM plant ORDER BY number",
);

fn write_table(
    conn: &Connection,
    folder: &Path,
    name: &str,
    header: &[&str],
    query: &str,
) -> Result<usize> {
    let path = folder.join(format!("{name}.csv"));
    let failed =
        |e: csv::Error| Error::File { path: path.clone(), source: std::io::Error::other(e) };
    let mut out = csv::Writer::from_path(&path).map_err(failed)?;
    out.write_record(header).map_err(failed)?;
    let mut stmt = conn.prepare(query)?;
    let mut rows = stmt.query([])?;
    let mut n = 0;
    while let Some(row) = rows.next()? {
        let mut record = Vec::with_capacity(header.len());
        for (i, column) in header.iter().enumerate() {
            record.push(cell(column, row.get_ref(i)?));
        }
        out.write_record(&record).map_err(failed)?;
        n += 1;
    }
    out.flush().map_err(Error::file(&path))?;
    Ok(n)
}

/// The readings that hold, one a row, for people and other programs.
fn write_readings(conn: &Connection, folder: &Path) -> Result<usize> {
    let path = folder.join("readings.csv");
    let failed =
        |e: csv::Error| Error::File { path: path.clone(), source: std::io::Error::other(e) };
    let mut out = csv::Writer::from_path(&path).map_err(failed)?;
    out.write_record(["place", "logger", "time", "temperature", "humidity", "illuminance"])
        .map_err(failed)?;
    let mut stmt = conn.prepare(
        "SELECT p.number, x.logger, x.east, x.packed FROM series x JOIN place p ON p.id = x.subject
         WHERE x.live ORDER BY p.number, x.logger, x.first, x.id",
    )?;
    let mut rows = stmt.query([])?;
    let mut n = 0;
    while let Some(row) = rows.next()? {
        let (number, logger): (i64, String) = (row.get(0)?, row.get(1)?);
        let block = Block { east: row.get(2)?, packed: row.get(3)? };
        let readings =
            block.unpack().map_err(|why| Error::Readings { logger: logger.clone(), why })?;
        for r in readings {
            let time = Timestamp::from_second(r.time)
                .map_or_else(|_| r.time.to_string(), |t| t.to_string());
            let value = |v: Option<f64>| v.map_or_else(String::new, |v| v.to_string());
            out.write_record([
                number.to_string(),
                neutral(&logger),
                time,
                value(r.temperature),
                value(r.humidity),
                value(r.light),
            ])
            .map_err(failed)?;
            n += 1;
        }
    }
    out.flush().map_err(Error::file(&path))?;
    Ok(n)
}

fn cell(column: &str, value: ValueRef<'_>) -> String {
    match value {
        ValueRef::Null => String::new(),
        ValueRef::Integer(ms) if column == "recorded" => {
            Timestamp::from_millisecond(ms).map_or_else(|_| ms.to_string(), |t| t.to_string())
        }
        ValueRef::Integer(n) => n.to_string(),
        ValueRef::Real(x) => x.to_string(),
        ValueRef::Text(t) => neutral(&String::from_utf8_lossy(t)),
        ValueRef::Blob(b) => {
            <[u8; 16]>::try_from(b).map(|b| Uid::from_bytes(b).to_string()).unwrap_or_default()
        }
    }
}

fn description() -> String {
    use std::fmt::Write as _;
    let mut out = String::from(
        "# Data description\n\nA record of plants, as comma-separated tables in UTF-8 with a header \
         row. Text cells that a spreadsheet would take for a formula begin with an apostrophe, which \
         is not part of the text. Empty cells mean “not said”. Reading the folder in again gives the \
         same record; `plants.csv` and `readings.csv` (readings of loggers in °C, %, lx and UTC) are \
         for people and are not read, and `settings.csv` \
         (columns `key`, `value`) holds the settings of the house, without its passcode.\n",
    );
    for table in TABLES {
        let _ = write!(
            out,
            "\n## {}.csv\n\nA row is {}.\n\n| column | meaning |\n|---|---|\n",
            table.name, table.about
        );
        for (column, meaning) in table.columns {
            let _ = writeln!(out, "| {column} | {meaning} |");
        }
    }
    out
}
