//! Reading a folder in again, operation by operation.

use std::{collections::HashMap, fs, path::Path};

use jiff::Timestamp;
use serde_json::Value;

use dates::Edtf;

use super::{ExportReport, TABLES, plain};
use crate::{
    Block, Change, Error, Journal, Known, LeftOver, NewEntry, NewRefused, NewSeries, NewStatement,
    OpId, Operation, Result, SubjectKind, Uid, Written, backup::photo_files,
};

struct RowOf<'a> {
    file: &'a str,
    row: usize,
    header: &'a csv::StringRecord,
    cells: &'a csv::StringRecord,
}

impl RowOf<'_> {
    fn text(&self, column: &str) -> Result<String> {
        let at = self.header.iter().position(|h| h == column).ok_or_else(|| {
            self.bad(column, "", "is missing; the file needs this column".to_owned())
        })?;
        Ok(plain(self.cells.get(at).unwrap_or("")).to_owned())
    }

    fn maybe(&self, column: &str) -> Result<Option<String>> {
        Ok(Some(self.text(column)?).filter(|t| !t.is_empty()))
    }

    fn read<T: std::str::FromStr>(&self, column: &str, expected: &str) -> Result<T> {
        let text = self.text(column)?;
        text.parse().map_err(|_| self.bad(column, &text, format!("is not {expected}")))
    }

    fn maybe_read<T: std::str::FromStr>(&self, column: &str, expected: &str) -> Result<Option<T>> {
        if self.maybe(column)?.is_some() { self.read(column, expected).map(Some) } else { Ok(None) }
    }

    fn uid(&self, column: &str) -> Result<Uid> {
        self.read(column, "an identifier (UUID)")
    }

    fn maybe_uid(&self, column: &str) -> Result<Option<Uid>> {
        self.maybe_read(column, "an identifier (UUID)")
    }

    fn date(&self, column: &str) -> Result<Option<Edtf>> {
        self.maybe_read(column, "a date as EDTF, such as 2024-05")
    }

    fn json(&self, column: &str) -> Result<Value> {
        let text = self.text(column)?;
        serde_json::from_str(&text)
            .map_err(|e| self.bad(column, &text, format!("is not JSON ({e})")))
    }

    fn known(&self) -> Result<Known> {
        let text = self.text("known")?;
        Known::of_word(&text).ok_or_else(|| {
            self.bad("known", &text, "is not seen, remembered, photo or told".to_owned())
        })
    }

    fn bad(&self, column: &str, value: &str, problem: String) -> Error {
        Error::Table {
            file: self.file.to_owned(),
            row: self.row,
            column: column.to_owned(),
            value: value.to_owned(),
            problem,
        }
    }

    fn operation(&self) -> Result<Operation> {
        let recorded: Timestamp =
            self.read("recorded", "an instant, such as 2024-05-07T12:00:00Z")?;
        Ok(Operation {
            id: self.uid("id")?,
            recorded,
            who: self.text("who")?,
            device: self.text("device")?,
            act: self.text("act")?,
            about: self.text("about")?,
            changes: Vec::new(),
        })
    }

    fn change(&self, table: &str) -> Result<Change> {
        Ok(match table {
            "subjects" => {
                let word = self.text("kind")?;
                Change::Create {
                    uid: self.uid("id")?,
                    kind: SubjectKind::of_word(&word).ok_or_else(|| {
                        self.bad("kind", &word, "is not a kind of subject".to_owned())
                    })?,
                    number: Some(self.read("number", "a whole number")?),
                    code: self.maybe_read("code", "a code of six characters")?,
                    of: self.maybe_uid("of")?,
                }
            }
            "claims" => Change::Claim {
                uid: self.uid("id")?,
                subject: self.uid("subject")?,
                field: self.text("field")?,
                value: self.json("value")?,
                as_of: self.date("as_of")?,
                said_by: self.maybe("said_by")?,
                reason: self.maybe("reason")?,
                known: self.known()?,
            },
            "entries" => Change::Entry(NewEntry {
                uid: self.uid("id")?,
                subject: self.uid("subject")?,
                kind: self.text("kind")?,
                happened: self.read("happened", "a date as EDTF, such as 2024-05")?,
                known: self.known()?,
                detail: match self.json("detail")? {
                    Value::Object(map) => map,
                    other => {
                        return Err(self.bad(
                            "detail",
                            &other.to_string(),
                            "is not a JSON object".to_owned(),
                        ));
                    }
                },
                note: self.maybe("note")?,
                replaces: self.maybe_uid("replaces")?,
            }),
            "statements" => Change::Statement(NewStatement {
                uid: self.uid("id")?,
                subject: self.uid("subject")?,
                text: self.text("text")?,
                keeper: self.maybe_uid("keeper")?,
                said_by: self.maybe("said_by")?,
                medium: self.maybe("medium")?,
                address: self.maybe("address")?,
                spot: self.maybe("spot")?,
                said_on: self.date("said_on")?,
                trust: self.maybe("trust")?,
                answers: self.maybe_uid("answers")?,
            }),
            "questions" => Change::Question {
                uid: self.uid("id")?,
                subject: self.uid("subject")?,
                text: self.text("text")?,
                keeper: self.maybe_uid("keeper")?,
            },
            "left_over" => Change::LeftOver(LeftOver {
                uid: self.uid("id")?,
                origin: self.text("origin")?,
                cells: serde_json::from_value(self.json("cells")?).map_err(|e| {
                    self.bad("cells", "", format!("is not a JSON list of words ({e})"))
                })?,
                why: self.text("why")?,
            }),
            "brought_in" => Change::BroughtIn {
                fingerprint: self.text("fingerprint")?,
                subject: self.uid("subject")?,
                origin: self.text("origin")?,
            },
            "series" => Change::Series(NewSeries {
                uid: self.uid("id")?,
                subject: self.uid("subject")?,
                logger: self.text("logger")?,
                origin: self.text("origin")?,
                block: Block::of_hex(
                    self.read("east", "a whole number of seconds")?,
                    &self.text("packed")?,
                )
                .ok_or_else(|| self.bad("packed", "", "is not hexadecimal digits".to_owned()))?,
            }),
            "refused" => Change::Refused(NewRefused {
                uid: self.uid("id")?,
                subject: self.uid("subject")?,
                logger: self.text("logger")?,
                origin: self.text("origin")?,
                lines: serde_json::from_value(self.json("lines")?)
                    .map_err(|e| self.bad("lines", "", format!("is not a list of lines ({e})")))?,
            }),
            "withdrawals" => {
                Change::Withdraw { target: self.uid("target")?, why: self.maybe("why")? }
            }
            _ => Change::Reverse { op: self.uid("target")? },
        })
    }
}

/// Settings that are neither written to a folder nor taken from one.
const SECRETS: [&str; 2] = ["passcode", "sessions"];

/// The settings of the house; folders of people who wrote them by hand may have none.
fn settings(folder: &Path) -> Result<Vec<(String, String)>> {
    let path = folder.join("settings.csv");
    if !path.exists() {
        return Ok(Vec::new());
    }
    let failed =
        |e: csv::Error| Error::File { path: path.clone(), source: std::io::Error::other(e) };
    let mut reader = csv::Reader::from_path(&path).map_err(failed)?;
    let header = reader.headers().map_err(failed)?.clone();
    let mut out = Vec::new();
    for (i, record) in reader.records().enumerate() {
        let cells = record.map_err(failed)?;
        let row = RowOf { file: "settings.csv", row: i + 2, header: &header, cells: &cells };
        let key = row.text("key")?;
        // A folder from elsewhere must not decide who is let in.
        if !SECRETS.contains(&key.as_str()) {
            out.push((key, row.text("value")?));
        }
    }
    Ok(out)
}

impl Journal {
    /// Reads an exported folder in. Operations that are in the record already are left as they
    /// are. Nothing is written unless every file can be read.
    ///
    /// # Errors
    /// Naming file, row, column and value of the first cell that cannot be read; the record is
    /// as it was then.
    pub fn read_export(&self, folder: &Path) -> Result<ExportReport> {
        let mut operations: Vec<Operation> = Vec::new();
        let mut at: HashMap<OpId, usize> = HashMap::new();
        let mut rows = Vec::new();
        for table in TABLES {
            let file = format!("{}.csv", table.name);
            let path = folder.join(&file);
            let failed = |e: csv::Error| Error::File {
                path: path.clone(),
                source: std::io::Error::other(e),
            };
            let mut reader = csv::Reader::from_path(&path).map_err(failed)?;
            let header = reader.headers().map_err(failed)?.clone();
            let mut n = 0;
            for (i, record) in reader.records().enumerate() {
                let cells = record.map_err(failed)?;
                let row = RowOf { file: &file, row: i + 2, header: &header, cells: &cells };
                if table.name == "operations" {
                    let operation = row.operation()?;
                    at.insert(operation.id, operations.len());
                    operations.push(operation);
                } else {
                    let op = row.uid("operation")?;
                    let index = *at.get(&op).ok_or_else(|| {
                        row.bad("operation", &op.to_string(), "is not in operations.csv".to_owned())
                    })?;
                    operations[index].changes.push(row.change(table.name)?);
                }
                n += 1;
            }
            rows.push((file, n));
        }
        let settings = settings(folder)?;
        let before = self.write_all(&operations)?;
        for (key, value) in settings {
            // What is set here already stays.
            if self.setting(&key)?.is_none() {
                self.set_setting(&key, &value)?;
            }
        }
        let place = folder.join("photos");
        let photos = photo_files(&place)?;
        for photo in &photos {
            let bytes = fs::read(photo).map_err(Error::file(photo))?;
            self.keep_photo(&bytes)?;
        }
        Ok(ExportReport { folder: folder.to_path_buf(), rows, photos: photos.len(), before })
    }

    /// Writes many operations, all or none; returns how many were there before.
    fn write_all(&self, operations: &[Operation]) -> Result<usize> {
        self.change(|tx| {
            let mut before = 0;
            for operation in operations {
                if crate::apply::apply(tx, operation)? == Written::Before {
                    before += 1;
                }
            }
            Ok(before)
        })
    }
}
