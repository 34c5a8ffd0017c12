//! The file of a logger read into readings; nothing is written.
//!
//! [`read_logger`] takes the bytes of a file of any maker and gives back every reading with its
//! instant, every line that was not taken with the reason, the gaps, and the questions that only a
//! person can settle. What is ambiguous (day or month first, °C or °F, clocks that were not put
//! forward) is asked, never guessed.

mod columns;
mod instants;
mod layout;
mod lines;
mod number;
mod stamp;
mod take;
mod zone;

use std::{
    collections::BTreeMap,
    sync::{Arc, atomic::AtomicUsize},
};

use jiff::tz::TimeZone;
use serde::Serialize;

pub use columns::Channel;
pub use stamp::StampKind;

use crate::ReadError;

/// What the reader has to be told.
#[derive(Debug, Clone)]
pub struct LoggerOptions {
    /// The time zone of the house, for stamps without an offset of their own.
    pub zone: TimeZone,
    /// Answers to questions, by their key.
    pub answers: BTreeMap<String, String>,
    /// Longest file \[bytes\].
    pub most_bytes: usize,
    /// The latest instant that can have been recorded \[s since 1970 UTC\].
    pub latest: Option<i64>,
    /// How many lines have been read so far, for who watches.
    pub lines: Option<Arc<AtomicUsize>>,
}

impl LoggerOptions {
    /// Without answers, for files of up to 256 MB.
    #[must_use]
    pub fn new(zone: TimeZone) -> Self {
        Self { zone, answers: BTreeMap::new(), most_bytes: 256 << 20, latest: None, lines: None }
    }
}

/// One reading.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LoggerReading {
    /// Line of the file, from 1.
    pub row: u32,
    /// When \[s since 1970-01-01T00:00Z\].
    pub time: i64,
    /// How far the clocks of the house were ahead of UTC then \[s\].
    pub east: i32,
    /// Temperature \[°C\].
    pub temperature: Option<f64>,
    /// Relative humidity \[%\].
    pub humidity: Option<f64>,
    /// Illuminance \[lx\].
    pub light: Option<f64>,
}

/// Why a line, or a value of it, was not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Why {
    /// Words where a reading was expected.
    NoReading,
    /// The stamp is none, or no such time exists.
    NoTime,
    /// No value in it can be read.
    NoValue,
    /// Outside of −10 to 60 °C, 0 to 105 %, or light below 0; other values of the line were taken.
    Impossible,
    /// The clocks were put forward over this time, so that it never was.
    SkippedHour,
    /// The same instant stands in the file already, with other values.
    SameTime,
    /// The same line again.
    Again,
    /// Before 2000, or after the day the file was read on.
    OutOfTime,
}

impl Why {
    /// The word in tables and files.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::NoReading => "no_reading",
            Self::NoTime => "no_time",
            Self::NoValue => "no_value",
            Self::Impossible => "impossible",
            Self::SkippedHour => "skipped_hour",
            Self::SameTime => "same_time",
            Self::Again => "again",
            Self::OutOfTime => "out_of_time",
        }
    }
}

/// A line that was not taken, or not whole.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RefusedRow {
    /// Line of the file, from 1.
    pub row: u32,
    /// Why.
    pub why: Why,
    /// The line as it stands there.
    pub text: String,
}

/// A time without readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Gap {
    /// The last reading before it \[s since 1970 UTC\].
    pub from: i64,
    /// The first after it \[s since 1970 UTC\].
    pub to: i64,
}

/// What is asked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LoggerAsk {
    /// Whether the day or the month comes first.
    DateOrder,
    /// Whether temperatures are in °C or °F.
    Unit,
    /// Which column holds what, where no header says so.
    Columns,
    /// Whether the clock of the logger was put forward and back with those of the house.
    Clock,
}

/// A question that only a person can settle.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LoggerQuestion {
    /// By what it is answered: `date_order`, `unit`, `columns`, `clock`.
    pub key: &'static str,
    /// What is asked.
    pub ask: LoggerAsk,
    /// Something of the file that shows it.
    pub example: String,
    /// The possible answers.
    pub choices: Vec<&'static str>,
    /// The answer that was given, if one was.
    pub answer: Option<String>,
}

/// A column as it was understood.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LoggerColumn {
    /// Its heading, or empty.
    pub heading: String,
    /// What it holds; none for what is passed over.
    pub channel: Option<Channel>,
}

/// A file as understood.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LoggerFile {
    /// Its name.
    pub file: String,
    /// What separates its columns.
    pub delimiter: char,
    /// Whether its numbers have a decimal comma.
    pub decimal_comma: bool,
    /// The line of its header, from 1.
    pub header: Option<u32>,
    /// Its columns.
    pub columns: Vec<LoggerColumn>,
    /// How its stamps are written.
    pub stamps: StampKind,
    /// Whether temperatures are in °F; none when nobody said and it cannot be told.
    pub fahrenheit: Option<bool>,
    /// Why the unit is believed, where no word of the file names it.
    pub unit_by_values: bool,
    /// The readings in order of time; empty while a question is open.
    pub readings: Vec<LoggerReading>,
    /// Lines that were not taken, in their order.
    pub refused: Vec<RefusedRow>,
    /// Lines above the header, blank ones left out.
    pub above: usize,
    /// Times of more than 2 hours, and more than three usual steps, without readings.
    pub gaps: Vec<Gap>,
    /// The usual time between two readings \[s\].
    pub step: Option<i64>,
    /// What was asked, answered or not.
    pub questions: Vec<LoggerQuestion>,
}

impl LoggerFile {
    /// Questions without an answer.
    #[must_use]
    pub fn open(&self) -> usize {
        self.questions.iter().filter(|q| q.answer.is_none()).count()
    }

    /// How many lines were refused, by kind, the commonest first.
    #[must_use]
    pub fn refused_by_kind(&self) -> Vec<(Why, usize)> {
        let mut counts: BTreeMap<Why, usize> = BTreeMap::new();
        for r in &self.refused {
            *counts.entry(r.why).or_default() += 1;
        }
        let mut out: Vec<_> = counts.into_iter().collect();
        out.sort_by_key(|(_, n)| std::cmp::Reverse(*n));
        out
    }
}

/// Reads the file of a logger.
///
/// # Errors
/// When it is too large, no text, empty, or no line of it is a reading.
pub fn read_logger(
    bytes: &[u8],
    file: &str,
    options: &LoggerOptions,
) -> Result<LoggerFile, ReadError> {
    take::read(bytes, file, options)
}
