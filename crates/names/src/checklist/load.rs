//! Reading tables: columns are found by their header, rows stream through.

use super::{AreaRecord, LoadError, NameRecord, Occurrence, Sink, Status};
use csv::StringRecord;
use std::io::{BufRead, BufReader, Read};

/// Rows between two calls of the progress callback.
const STEP: u64 = 8192;

/// How far the reading of a table has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Which table.
    pub table: TableKind,
    /// Rows read, without the header.
    pub rows: u64,
    /// Bytes of the (unpacked) table read.
    pub bytes: u64,
}

/// The tables that can be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TableKind {
    /// Names of the World Checklist of Vascular Plants.
    Names,
    /// Areas of those names.
    Distribution,
    /// Accepted names with lists of area codes, one row a name.
    Ranges,
}

/// Read one table from its header on, and hand its rows to a sink.
///
/// The layout is known by the header, the delimiter (pipe, comma, semicolon, tab) by its first line.
/// `file` names the source in errors. `progress` is called now and then; when it returns false the
/// reading stops with [`LoadError::Cancelled`]. Returns the kind of table and its number of rows.
///
/// # Errors
/// See [`LoadError`]; each names the file and, where there is one, row, column and value.
pub fn load_table<R: Read>(
    reader: R,
    file: &str,
    sink: &mut dyn Sink,
    progress: &mut dyn FnMut(Progress) -> bool,
) -> Result<(TableKind, u64), LoadError> {
    let mut table = Table::open(reader, file)?;
    let kind = table.kind;
    let rows = table.run(sink, progress)?;
    Ok((kind, rows))
}

/// A table whose header was understood.
pub(super) struct Table<R: Read> {
    file: String,
    pub kind: TableKind,
    reader: csv::Reader<BufReader<R>>,
    columns: Columns,
    unquote: bool,
    row: u64,
}

/// Positions of the columns that are used.
#[derive(Default)]
struct Columns {
    id: usize,
    name: usize,
    authors: Option<usize>,
    family: Option<usize>,
    rank: Option<usize>,
    ipni: Option<usize>,
    status: Option<usize>,
    accepted: Option<usize>,
    area: usize,
    introduced: Option<usize>,
    extinct: Option<usize>,
    doubtful: Option<usize>,
}

impl<R: Read> Table<R> {
    pub(super) fn open(reader: R, file: &str) -> Result<Self, LoadError> {
        let mut reader = BufReader::with_capacity(1 << 18, reader);
        let unreadable = |message: String| LoadError::Unreadable { file: file.to_owned(), message };
        let start = reader.fill_buf().map_err(|error| unreadable(error.to_string()))?;
        let bom = if start.starts_with(&[0xEF, 0xBB, 0xBF]) { 3 } else { 0 };
        let line = start[bom..].split(|b| *b == b'\n').next().unwrap_or_default();
        let delimiter = delimiter_of(line);
        reader.consume(bom);
        // Fields of the pipe-separated download may begin with a stray quote, so quotes mean nothing
        // there; pairs of them around a whole field are taken off below.
        let unquote = delimiter == b'|';
        let mut reader =
            csv::ReaderBuilder::new().delimiter(delimiter).quoting(!unquote).from_reader(reader);
        let header = match reader.headers() {
            Ok(header) => header.iter().map(clean_header).collect::<Vec<_>>(),
            Err(error) => return Err(csv_error(file, &error, 1)),
        };
        let (kind, columns) = layout(&header, file)?;
        Ok(Table { file: file.to_owned(), kind, reader, columns, unquote, row: 1 })
    }

    pub(super) fn run(
        &mut self,
        sink: &mut dyn Sink,
        progress: &mut dyn FnMut(Progress) -> bool,
    ) -> Result<u64, LoadError> {
        let mut record = StringRecord::new();
        let mut rows = 0;
        loop {
            match self.reader.read_record(&mut record) {
                Ok(false) => break,
                Ok(true) => {}
                Err(error) => return Err(csv_error(&self.file, &error, self.row + 1)),
            }
            self.row += 1;
            rows += 1;
            match self.kind {
                TableKind::Names => self.name(&record, sink)?,
                TableKind::Distribution => self.distribution(&record, sink)?,
                TableKind::Ranges => self.ranges(&record, sink)?,
            }
            if rows % STEP == 0 && !self.report(rows, progress) {
                return Err(LoadError::Cancelled { file: self.file.clone() });
            }
        }
        if !self.report(rows, progress) {
            return Err(LoadError::Cancelled { file: self.file.clone() });
        }
        Ok(rows)
    }

    fn report(&self, rows: u64, progress: &mut dyn FnMut(Progress) -> bool) -> bool {
        progress(Progress { table: self.kind, rows, bytes: self.reader.position().byte() })
    }

    fn field<'r>(&self, record: &'r StringRecord, column: Option<usize>) -> &'r str {
        let field = column.and_then(|at| record.get(at)).unwrap_or_default().trim();
        match field.strip_prefix('"').and_then(|inner| inner.strip_suffix('"')) {
            Some(inner) if self.unquote => inner,
            _ => field,
        }
    }

    fn number(&self, value: &str, column: &'static str) -> Result<u64, LoadError> {
        // Some editions write whole numbers as 43184.0.
        let whole = value.strip_suffix(".0").unwrap_or(value);
        whole.parse().map_err(|_| self.bad(column, value, "a whole number"))
    }

    fn bad(&self, column: &'static str, value: &str, expected: &'static str) -> LoadError {
        let value = value.chars().take(80).collect();
        LoadError::BadValue { file: self.file.clone(), row: self.row, column, value, expected }
    }

    fn refused(&self, message: String) -> LoadError {
        LoadError::Refused { file: self.file.clone(), row: self.row, message }
    }

    fn name(&self, record: &StringRecord, sink: &mut dyn Sink) -> Result<(), LoadError> {
        let columns = &self.columns;
        let id = self.number(self.field(record, Some(columns.id)), "plant_name_id")?;
        let name = self.field(record, Some(columns.name));
        if name.is_empty() {
            return Err(self.bad("taxon_name", name, "a name"));
        }
        let status = self.field(record, columns.status);
        if status.is_empty() {
            return Err(self.bad("taxon_status", status, "a status"));
        }
        let accepted = match self.field(record, columns.accepted) {
            "" | "NA" => None,
            value => Some(self.number(value, "accepted_plant_name_id")?),
        };
        let record = NameRecord {
            id,
            name,
            authors: self.field(record, columns.authors),
            family: self.field(record, columns.family),
            rank: self.field(record, columns.rank),
            ipni: self.field(record, columns.ipni),
            status: Status::of(status),
            accepted,
        };
        sink.name(record).map_err(|message| self.refused(message))
    }

    fn flag(
        &self,
        record: &StringRecord,
        column: Option<usize>,
        name: &'static str,
    ) -> Result<bool, LoadError> {
        match self.field(record, column) {
            "" | "0" | "0.0" | "FALSE" | "false" | "NA" => Ok(false),
            "1" | "1.0" | "TRUE" | "true" => Ok(true),
            value => Err(self.bad(name, value, "0 or 1")),
        }
    }

    fn distribution(&self, record: &StringRecord, sink: &mut dyn Sink) -> Result<(), LoadError> {
        let columns = &self.columns;
        let name_id = self.number(self.field(record, Some(columns.id)), "plant_name_id")?;
        let area = self.field(record, Some(columns.area));
        // Some rows know a continent or region only; they say nothing at level 3.
        if area.is_empty() {
            return Ok(());
        }
        if !is_code(area) {
            return Err(self.bad("area_code_l3", area, "a three-letter area code"));
        }
        let introduced = self.flag(record, columns.introduced, "introduced")?;
        let extinct = self.flag(record, columns.extinct, "extinct")?;
        let doubtful = self.flag(record, columns.doubtful, "location_doubtful")?;
        let occurrence = match (doubtful, introduced, extinct) {
            (true, _, _) => Occurrence::Doubtful,
            (_, true, _) => Occurrence::Introduced,
            (_, _, true) => Occurrence::Extinct,
            _ => Occurrence::Native,
        };
        sink.area(AreaRecord { name_id, area, occurrence }).map_err(|message| self.refused(message))
    }

    fn ranges(&self, record: &StringRecord, sink: &mut dyn Sink) -> Result<(), LoadError> {
        let columns = &self.columns;
        let name = self.field(record, Some(columns.name));
        if name.is_empty() {
            return Err(self.bad("accepted_name", name, "a name"));
        }
        let id = self.row;
        let taken = NameRecord {
            id,
            name,
            authors: "",
            family: self.field(record, columns.family),
            rank: self.field(record, columns.rank),
            ipni: self.field(record, columns.ipni),
            status: Status::Accepted,
            accepted: Some(id),
        };
        sink.name(taken).map_err(|message| self.refused(message))?;
        let lists = [
            (Some(columns.area), "native_l3", Occurrence::Native),
            (columns.introduced, "introduced_l3", Occurrence::Introduced),
            (columns.extinct, "extinct_l3", Occurrence::Extinct),
        ];
        for (column, title, occurrence) in lists {
            for area in self.field(record, column).split([';', ' ']).filter(|code| !code.is_empty())
            {
                if !is_code(area) {
                    return Err(self.bad(title, area, "a three-letter area code"));
                }
                sink.area(AreaRecord { name_id: id, area, occurrence })
                    .map_err(|message| self.refused(message))?;
            }
        }
        Ok(())
    }
}

fn is_code(area: &str) -> bool {
    area.len() == 3 && area.bytes().all(|b| b.is_ascii_alphanumeric())
}

fn delimiter_of(line: &[u8]) -> u8 {
    let count = |delimiter: u8| line.iter().filter(|b| **b == delimiter).count();
    [b'|', b'\t', b';', b','].into_iter().max_by_key(|d| count(*d)).unwrap_or(b',')
}

fn clean_header(name: &str) -> String {
    name.trim().trim_matches('"').to_lowercase()
}

fn layout(header: &[String], file: &str) -> Result<(TableKind, Columns), LoadError> {
    let find = |name: &str| header.iter().position(|column| column == name);
    let need = |name: &'static str| {
        find(name).ok_or(LoadError::MissingColumn { file: file.to_owned(), column: name })
    };
    let common = Columns { family: find("family"), ipni: find("ipni_id"), ..Columns::default() };
    if find("area_code_l3").is_some() {
        let columns = Columns {
            id: need("plant_name_id")?,
            area: need("area_code_l3")?,
            introduced: find("introduced"),
            extinct: find("extinct"),
            doubtful: find("location_doubtful"),
            ..common
        };
        return Ok((TableKind::Distribution, columns));
    }
    if find("taxon_name").is_some() || find("taxon_status").is_some() {
        let columns = Columns {
            id: need("plant_name_id")?,
            name: need("taxon_name")?,
            status: Some(need("taxon_status")?),
            accepted: Some(need("accepted_plant_name_id")?),
            authors: find("taxon_authors"),
            rank: find("taxon_rank"),
            ..common
        };
        return Ok((TableKind::Names, columns));
    }
    if find("accepted_name").is_some() {
        let columns = Columns {
            name: need("accepted_name")?,
            area: need("native_l3")?,
            introduced: find("introduced_l3"),
            extinct: find("extinct_l3"),
            rank: find("rank"),
            ..common
        };
        return Ok((TableKind::Ranges, columns));
    }
    let header = header.join(",").chars().take(60).collect();
    Err(LoadError::UnknownTable { file: file.to_owned(), header })
}

fn csv_error(file: &str, error: &csv::Error, row: u64) -> LoadError {
    let file = file.to_owned();
    match error.kind() {
        csv::ErrorKind::UnequalLengths { expected_len, len, .. } => {
            LoadError::RowLength { file, row, found: *len, expected: *expected_len }
        }
        csv::ErrorKind::Utf8 { .. } => LoadError::NotUtf8 { file, row },
        _ => LoadError::Unreadable { file, message: format!("row {row}: {error}") },
    }
}
