//! Taking in the file of a logger: looked at first, then written as one operation.
//!
//! The same readings taken in again add nothing. Lines that were not taken are kept with the file
//! they came from, so that nothing of it is lost.

mod offset;

use std::{
    collections::BTreeMap,
    sync::{Arc, atomic::AtomicUsize},
};

use culture::air::{Odd, Sample, flat_samples, odd_readings};
use intake::{LoggerFile, LoggerOptions, LoggerReading};
use jiff::{Timestamp, tz::TimeZone};
use journal::{
    AirReading, Block, Change, Journal, Known, NewRefused, NewSeries, OpId, PlaceRow, Reader,
    RefusedLine, Uid,
};
use serde::Serialize;
use serde_json::{Value, json};

use super::plants::{journal_read, write};
use crate::{AskError, Hand, Result};

pub use offset::{Corrected, LoggerPair, SaltReading, compare_loggers, correct, salt_test};

/// How many lines of a file are kept in one change.
const LINES: usize = 1000;
/// A jump away and back within so many readings is a spike; one that stays is not.
const SPIKE: usize = 3;

/// A file that is to be taken in.
#[derive(Debug, Clone)]
pub struct ReadingsInput<'a> {
    /// The number of the place.
    pub place: i64,
    /// What the logger is called there; empty for the only one.
    pub logger: String,
    /// Name of the file.
    pub file: &'a str,
    /// Its bytes.
    pub bytes: &'a [u8],
    /// Answers to questions.
    pub answers: BTreeMap<String, String>,
    /// The time zone of the house.
    pub zone: TimeZone,
    /// How many lines have been read so far, for who watches.
    pub lines: Option<Arc<AtomicUsize>>,
}

/// A time between two instants \[s since 1970 UTC\].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Span {
    /// From.
    pub from: i64,
    /// Up to and with.
    pub to: i64,
}

/// How a file was understood, and what would be written.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Look {
    /// The file as read.
    pub read: LoggerFile,
    /// The place.
    #[serde(skip)]
    pub place: PlaceRow,
    /// What the logger is called there.
    pub logger: String,
    /// Readings that are new; none while a question is open.
    pub new: usize,
    /// Readings that are in the record already.
    pub before: usize,
    /// Lines that were not taken, or not whole, in their order.
    pub refused: Vec<RefusedLine>,
    /// How many of them there are, by the reason.
    pub refused_by_kind: Vec<(String, usize)>,
    /// Times during which the logger did not change for more than 6 hours.
    pub flat: Vec<Span>,
    /// First and last reading of the file.
    pub span: Option<Span>,
    #[serde(skip)]
    fresh: Vec<LoggerReading>,
}

/// What was written.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Taken {
    /// The operation; none when nothing was new.
    pub op: Option<OpId>,
    /// What the logger is called.
    pub logger: String,
    /// Readings written.
    pub new: usize,
    /// Readings that were in the record already.
    pub before: usize,
    /// Lines that were not taken, or not whole.
    pub refused: usize,
}

fn place_of(reader: &Reader<'_>, number: i64) -> Result<PlaceRow> {
    reader.place(number)?.ok_or_else(|| AskError::NotThere {
        kind: "place",
        which: number.to_string(),
        next: "the list of places shows which there are",
    })
}

/// The name of the logger that is meant.
fn logger_of(reader: &Reader<'_>, place: i64, typed: &str) -> Result<String> {
    if !typed.trim().is_empty() {
        return Ok(typed.trim().to_owned());
    }
    let known = reader.loggers(place)?;
    match known.as_slice() {
        [] => Ok("logger".to_owned()),
        [one] => Ok(one.name.clone()),
        several => {
            let names: Vec<&str> = several.iter().map(|l| l.name.as_str()).collect();
            let problem = format!("is not said, and there are several: {}", names.join(", "));
            Err(AskError::field("logger", "", problem))
        }
    }
}

/// The claim of a place that keeps what was answered about the files of its loggers.
const ANSWERED: &str = "logger_files";

/// What was answered about the files of a logger, when its last one was taken in.
fn remembered(reader: &Reader<'_>, place: i64, logger: &str) -> Result<BTreeMap<String, String>> {
    let all = reader.claimed(place, ANSWERED)?;
    let own = all.as_ref().and_then(|v| v.get(logger)).and_then(Value::as_object);
    let words = own.into_iter().flatten();
    Ok(words.filter_map(|(k, v)| Some((k.clone(), v.as_str()?.to_owned()))).collect())
}

/// The answers with which a file was read.
fn answered(read: &LoggerFile) -> BTreeMap<String, String> {
    let each = read.questions.iter();
    each.filter_map(|q| Some((q.key.to_owned(), q.answer.clone()?))).collect()
}

/// Reads a file and says what would be written, changing nothing.
///
/// # Errors
/// When there is no such place, or the file cannot be read at all.
pub fn look_at_readings(journal: &Journal, hand: &Hand, input: &ReadingsInput<'_>) -> Result<Look> {
    let mut options = LoggerOptions::new(input.zone.clone());
    let (place, logger, remembered) = journal_read(journal, |r| {
        let place = place_of(r, input.place)?;
        let logger = logger_of(r, place.id, &input.logger)?;
        let remembered = remembered(r, place.id, &logger)?;
        Ok((place, logger, remembered))
    })?;
    // What was answered for this logger before is not asked again; it can be answered otherwise.
    options.answers = remembered;
    options.answers.extend(input.answers.clone());
    options.lines.clone_from(&input.lines);
    // Clocks may be some hours off; a day ahead they are not believed.
    options.latest = Some(hand.now.as_second() + 86_400);
    let mut read = intake::read_logger(input.bytes, input.file, &options)?;
    let mut refused: Vec<RefusedLine> = read
        .refused
        .iter()
        .map(|r| RefusedLine { row: r.row, why: r.why.as_str().to_owned(), text: r.text.clone() })
        .collect();
    let mut late: Vec<(u32, &str)> = take_spikes(&mut read.readings);
    let flat = flat_spans(&read.readings);
    let span = read.readings.first().zip(read.readings.last());
    let span = span.map(|(a, b)| Span { from: a.time, to: b.time });
    let known = match span {
        Some(s) => journal_read(journal, |r| Ok(r.readings(place.id, &logger, s.from, s.to)?))?,
        None => Vec::new(),
    };
    let (mut fresh, mut before, mut at) = (Vec::new(), 0, 0);
    for reading in &read.readings {
        while known.get(at).is_some_and(|k| k.reading.time < reading.time) {
            at += 1;
        }
        match known.get(at).filter(|k| k.reading.time == reading.time) {
            None => fresh.push(*reading),
            Some(k) if same(&k.reading, reading) => before += 1,
            Some(_) => late.push((reading.row, "contradicts")),
        }
    }
    refused.extend(lines_of(input, &mut late));
    refused.sort_by_key(|r| r.row);
    let mut kinds: BTreeMap<&str, usize> = BTreeMap::new();
    for r in &refused {
        *kinds.entry(&r.why).or_default() += 1;
    }
    let mut refused_by_kind: Vec<(String, usize)> =
        kinds.into_iter().map(|(k, n)| (k.to_owned(), n)).collect();
    refused_by_kind.sort_by_key(|(_, n)| std::cmp::Reverse(*n));
    Ok(Look {
        read,
        place,
        logger,
        new: fresh.len(),
        before,
        refused,
        refused_by_kind,
        flat,
        span,
        fresh,
    })
}

/// The same to a thousandth, as the record keeps it.
fn same(kept: &AirReading, read: &LoggerReading) -> bool {
    let close = |a: Option<f64>, b: Option<f64>| match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() < 0.000_51,
        (a, b) => a.is_none() && b.is_none(),
    };
    close(kept.temperature, read.temperature)
        && close(kept.humidity, read.humidity)
        && close(kept.light, read.light)
}

/// The lines of rows that were refused after reading, as they stand in the file.
fn lines_of(input: &ReadingsInput<'_>, late: &mut [(u32, &str)]) -> Vec<RefusedLine> {
    late.sort_unstable_by_key(|l| l.0);
    let mut lines = (1u32..).zip(input.bytes.split(|b| *b == b'\n'));
    late.iter()
        .map(|(row, why)| {
            let text = lines.find(|(n, _)| n == row).map_or_else(String::new, |(_, line)| {
                String::from_utf8_lossy(line).trim_end_matches('\r').to_owned()
            });
            RefusedLine { row: *row, why: (*why).to_owned(), text }
        })
        .collect()
}

/// Takes readings out that jump away and come back at once.
fn take_spikes(readings: &mut Vec<LoggerReading>) -> Vec<(u32, &'static str)> {
    let told: Vec<(f64, f64, f64)> = readings
        .iter()
        .map(|r| {
            let hour = (r.time - readings[0].time) as f64 / 3600.0;
            (hour, r.temperature.unwrap_or(f64::NAN), r.humidity.unwrap_or(f64::NAN))
        })
        .collect();
    let jumps: Vec<usize> =
        odd_readings(&told).into_iter().filter(|o| o.1 == Odd::Jump).map(|o| o.0).collect();
    let mut spikes = vec![false; readings.len()];
    let mut at = 0;
    while let (Some(&away), Some(&back)) = (jumps.get(at), jumps.get(at + 1)) {
        let returned = away > 0 && (told[back].1 - told[away - 1].1).abs() < 4.0;
        if back - away <= SPIKE && returned {
            spikes[away..back].fill(true);
            at += 2;
        } else {
            at += 1;
        }
    }
    let mut out = Vec::new();
    let mut i = 0;
    readings.retain(|r| {
        let spike = spikes[i];
        i += 1;
        if spike {
            out.push((r.row, "spike"));
        }
        !spike
    });
    out
}

/// Times during which nothing changed for more than 6 hours.
fn flat_spans(readings: &[LoggerReading]) -> Vec<Span> {
    let samples: Vec<Sample> = readings
        .iter()
        .map(|r| Sample {
            hour: r.time as f64 / 3600.0,
            temperature: r.temperature,
            humidity: r.humidity,
        })
        .collect();
    let flat = flat_samples(&samples);
    let mut out: Vec<Span> = Vec::new();
    for (i, r) in readings.iter().enumerate().filter(|(i, _)| flat[*i]) {
        match out.last_mut().filter(|_| i > 0 && flat[i - 1]) {
            Some(last) => last.to = r.time,
            None => out.push(Span { from: r.time, to: r.time }),
        }
    }
    out
}

/// Writes a file that was looked at, as one operation.
///
/// # Errors
/// While a question is open, or when the record cannot be written.
pub fn take_readings(journal: &Journal, hand: &Hand, look: &Look) -> Result<Taken> {
    if let Some(open) = look.read.questions.iter().find(|q| q.answer.is_none()) {
        let problem = format!("is not answered; choose one of {}", open.choices.join(", "));
        return Err(AskError::field(open.key, "", problem));
    }
    let mut taken = Taken {
        op: None,
        logger: look.logger.clone(),
        new: look.new,
        before: look.before,
        refused: look.refused.len(),
    };
    if look.fresh.is_empty() {
        return Ok(taken);
    }
    let mut draft =
        hand.draft("readings", &format!("place {}: {}", look.place.number, look.read.file));
    let subject = look.place.uid;
    let (logger, origin) = (look.logger.clone(), look.read.file.clone());
    for run in look.fresh.chunk_by(|a, b| a.east == b.east) {
        for part in run.chunks(Block::MOST) {
            let list: Vec<AirReading> = part.iter().map(kept).collect();
            let block = Block::pack(&list, part[0].east)
                .map_err(|e| AskError::field("readings", &origin, e.to_string()))?;
            draft.push(Change::Series(NewSeries {
                uid: Uid::new(),
                subject,
                logger: logger.clone(),
                origin: origin.clone(),
                block,
            }));
        }
    }
    for lines in look.refused.chunks(LINES) {
        draft.push(Change::Refused(NewRefused {
            uid: Uid::new(),
            subject,
            logger: logger.clone(),
            origin: origin.clone(),
            lines: lines.to_vec(),
        }));
    }
    let answered = answered(&look.read);
    let (before, all) = journal_read(journal, |r| {
        let all = r.claimed(look.place.id, ANSWERED)?.and_then(|v| v.as_object().cloned());
        Ok((remembered(r, look.place.id, &logger)?, all.unwrap_or_default()))
    })?;
    if !answered.is_empty() && answered != before {
        let mut all = all;
        all.insert(logger.clone(), json!(answered));
        draft.claim(subject, ANSWERED, Value::Object(all));
    }
    let detail = json!({
        "logger": logger, "file": origin, "readings": look.new, "refused": look.refused.len(),
    });
    let detail = detail.as_object().cloned().unwrap_or_default();
    draft.entry(subject, "logger_read", happened(&look.fresh, hand), Known::Seen, detail, None);
    taken.op = Some(write(journal, draft)?);
    Ok(taken)
}

fn kept(r: &LoggerReading) -> AirReading {
    AirReading { time: r.time, temperature: r.temperature, humidity: r.humidity, light: r.light }
}

/// From the first to the last day of the readings, by the clocks of the house.
fn happened(readings: &[LoggerReading], hand: &Hand) -> dates::Edtf {
    let day = |r: Option<&LoggerReading>| {
        r.and_then(|r| Timestamp::from_second(r.time + i64::from(r.east)).ok())
            .map_or(hand.today, |t| t.to_zoned_datetime(TimeZone::UTC).date())
            .min(hand.today)
    };
    let (from, to) = (day(readings.first()), day(readings.last()));
    let text = if from == to { from.to_string() } else { format!("{from}/{to}") };
    dates::Edtf::parse(&text).unwrap_or_else(|_| dates::Edtf::from_day(hand.today))
}

/// Why a line was not taken, in words.
#[must_use]
pub fn why_words(why: &str, t: texts::Texts) -> &'static str {
    match why {
        "no_reading" => t.t("no reading"),
        "no_time" => t.t("no time that can be read"),
        "no_value" => t.t("no value that can be read"),
        "impossible" => t.t("a value that cannot be"),
        "skipped_hour" => t.t("in the hour that the clocks skip"),
        "same_time" => t.t("the same time with other values"),
        "again" => t.t("the same reading again"),
        "out_of_time" => t.t("long ago or in the future"),
        "spike" => t.t("a jump away and back"),
        "contradicts" => t.t("other values than in the record"),
        _ => t.t("not taken"),
    }
}

/// What a column of a logger's file holds, in words.
#[must_use]
pub fn channel_words(channel: intake::Channel, t: texts::Texts) -> &'static str {
    match channel {
        intake::Channel::Temperature => t.t("temperature"),
        intake::Channel::Humidity => t.t("humidity"),
        intake::Channel::Light => t.t("illuminance"),
    }
}
