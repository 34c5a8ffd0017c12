//! From bytes to readings: the layout is found first, then every line is taken, then what only all
//! lines together can tell is settled.

use std::borrow::Cow;
use std::sync::atomic::Ordering;

use super::{
    Channel, LoggerAsk, LoggerFile, LoggerOptions, LoggerQuestion, RefusedRow, StampKind, Why,
    columns::fahrenheit,
    instants::{Instants, gaps, line_of, unique},
    layout::{At, Layout, SAMPLE, is_number, layout, row_of},
    lines::lines,
    number::{Number, number},
    stamp::{Day, Stamp},
};
use crate::{ReadError, sheet::decode};

/// A line whose stamp and values could be read; the order of day and month is settled later.
pub(super) struct Raw {
    pub(super) row: u32,
    pub(super) stamp: Stamp,
    pub(super) temperature: Option<f64>,
    pub(super) temperature_is_f: Option<bool>,
    pub(super) humidity: Option<f64>,
    pub(super) light: Option<f64>,
}

/// What stands for “no value”.
fn blank(cell: &str) -> bool {
    matches!(
        cell.to_ascii_lowercase().as_str(),
        "" | "-" | "--" | "---" | "n/a" | "na" | "nan" | "null" | "none"
    )
}

struct Taker<'t> {
    layout: &'t Layout,
    at: [Option<usize>; 3],
    raws: Vec<Raw>,
    refused: Vec<RefusedRow>,
}

impl<'t> Taker<'t> {
    fn new(layout: &'t Layout) -> Self {
        let at = [Channel::Temperature, Channel::Humidity, Channel::Light]
            .map(|c| layout.columns.iter().position(|col| col.channel == Some(c)));
        Self { layout, at, raws: Vec::new(), refused: Vec::new() }
    }

    fn refuse(&mut self, row: u32, why: Why, line: &str) {
        self.refused.push(RefusedRow { row, why, text: line.to_owned() });
    }

    fn line(&mut self, n: u32, line: &str, row: &[&str]) {
        let comma = self.layout.comma;
        let Some(stamp) = self.layout.at.read(row, comma) else {
            let some = self.at.iter().flatten().any(|i| row.get(*i).is_some_and(|c| is_number(c)));
            return self.refuse(n, if some { Why::NoTime } else { Why::NoReading }, line);
        };
        let mut strange = false;
        let mut value = |at: Option<usize>| -> Option<Number<'_>> {
            let cell = row.get(at?)?;
            let found = number(cell, comma);
            strange |= found.is_none() && !blank(cell);
            found
        };
        let (t, h, l) = (value(self.at[0]), value(self.at[1]), value(self.at[2]));
        let none = t.is_none() && h.is_none() && l.is_none();
        if none || strange {
            self.refuse(n, Why::NoValue, line);
        }
        if none {
            return;
        }
        self.raws.push(Raw {
            row: n,
            stamp,
            temperature: t.map(|t| t.value),
            temperature_is_f: t.and_then(|t| fahrenheit(t.unit)),
            humidity: h.map(|h| h.value),
            light: l.map(|l| l.value),
        });
    }
}

fn decoded<'b>(bytes: &'b [u8], file: &str) -> Result<Cow<'b, str>, ReadError> {
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    match std::str::from_utf8(bytes) {
        Ok(text) if !bytes.contains(&0) => Ok(Cow::Borrowed(text)),
        _ => decode::decode(bytes, file).map(Cow::Owned),
    }
}

pub(super) fn read(
    bytes: &[u8],
    file: &str,
    options: &LoggerOptions,
) -> Result<LoggerFile, ReadError> {
    if bytes.len() > options.most_bytes {
        let (bytes, limit) = (bytes.len(), options.most_bytes);
        return Err(ReadError::TooLarge { file: file.to_owned(), bytes, limit });
    }
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(&[0xD0, 0xCF, 0x11, 0xE0]) {
        return Err(ReadError::Workbook { file: file.to_owned() });
    }
    let text = decoded(bytes, file)?;
    // Some old programs end lines with a carriage return alone.
    let text = match text.contains('\n') {
        true => text,
        false => Cow::Owned(text.replace('\r', "\n")),
    };
    if text.trim().is_empty() {
        return Err(ReadError::Empty { file: file.to_owned() });
    }
    let mut layout = layout(&text, file)?;
    let mut questions = Vec::new();
    ask_columns(&text, &mut layout, options, &mut questions);
    let mut taker = Taker::new(&layout);
    let mut row = Vec::new();
    for (n, line) in lines(&text).filter(|(n, _)| *n >= layout.first) {
        row_of(line, layout.delimiter, layout.joined, &mut row);
        taker.line(n, line, &row);
        if n.is_multiple_of(4096)
            && let Some(lines) = &options.lines
        {
            lines.store(n as usize, Ordering::Relaxed);
        }
    }
    let Taker { raws, refused, .. } = taker;
    let above: String = lines(&text)
        .take_while(|(n, _)| *n < layout.first)
        .map(|(_, l)| l)
        .collect::<Vec<_>>()
        .join("\n");
    Ok(settle(&text, file, layout, (raws, refused), &above, options, questions))
}

/// Asks which column is which where neither headings nor units say so.
fn ask_columns(
    text: &str,
    layout: &mut Layout,
    options: &LoggerOptions,
    questions: &mut Vec<LoggerQuestion>,
) {
    if layout.columns.iter().any(|c| c.channel.is_some()) {
        return;
    }
    let mut row = Vec::new();
    let mut counts = vec![0usize; layout.columns.len()];
    for (_, line) in lines(text).filter(|(n, _)| *n >= layout.first).take(SAMPLE) {
        row_of(line, layout.delimiter, layout.joined, &mut row);
        for (count, cell) in counts.iter_mut().zip(&row) {
            *count += usize::from(is_number(cell));
        }
    }
    let most = counts.iter().copied().max().unwrap_or(0);
    let numbers: Vec<usize> = (0..counts.len())
        .filter(|i| !layout.at.cells().contains(i) && counts[*i] * 2 > most && counts[*i] > 0)
        .collect();
    let choices = if numbers.len() > 1 {
        vec!["temperature_humidity", "humidity_temperature"]
    } else {
        vec!["temperature", "humidity"]
    };
    let answer = options.answers.get("columns").filter(|a| choices.contains(&a.as_str())).cloned();
    for (i, word) in numbers.iter().zip(answer.iter().flat_map(|a| a.split('_'))) {
        layout.columns[*i].channel = Some(match word {
            "humidity" => Channel::Humidity,
            _ => Channel::Temperature,
        });
    }
    questions.push(LoggerQuestion {
        key: "columns",
        ask: LoggerAsk::Columns,
        example: layout.example.clone(),
        choices,
        answer,
    });
}

/// Whether the day stands first; `None` when it cannot be told.
fn day_first(raws: &[Raw]) -> Option<bool> {
    let (mut first, mut second) = (0usize, 0usize);
    for raw in raws {
        if let Stamp::Civil { day: Day::Numbers(a, b, _), .. } = raw.stamp {
            first += usize::from(a > 12);
            second += usize::from(b > 12);
        }
    }
    match (first, second) {
        (0, 0) => by_continuity(raws),
        (a, b) if a > 10 * b => Some(true),
        (a, b) if b > 10 * a => Some(false),
        _ => None,
    }
}

/// A record without a long gap one way, and with leaps of weeks the other way, is read the one way.
fn by_continuity(raws: &[Raw]) -> Option<bool> {
    let longest = |day_first: bool| -> Option<i64> {
        let mut longest = 0;
        let mut before: Option<i64> = None;
        for raw in raws {
            let now = i64::from(dates::to_days(raw.stamp.civil(day_first)?.date()));
            longest = longest.max(before.map_or(0, |b| (now - b).abs()));
            before = Some(now);
        }
        Some(longest)
    };
    match (longest(true), longest(false)) {
        (Some(a), Some(b)) if a <= 3 && b >= 20 => Some(true),
        (Some(a), Some(b)) if b <= 3 && a >= 20 => Some(false),
        _ => None,
    }
}

/// Whether temperatures are in °F: by words, else by values that can only be one of the two.
fn unit_of(layout: &Layout, above: &str, raws: &[Raw]) -> (Option<bool>, bool) {
    let heading = layout.columns.iter().find(|c| c.channel == Some(Channel::Temperature));
    let told = heading
        .and_then(|c| fahrenheit(&c.heading))
        .or_else(|| raws.iter().find_map(|r| r.temperature_is_f))
        .or_else(|| {
            let above: Vec<bool> = above
                .lines()
                .filter(|l| {
                    l.to_lowercase().contains("unit")
                        || l.contains('°')
                        || l.to_lowercase().contains("fahrenheit")
                        || l.to_lowercase().contains("celsius")
                        || l.to_lowercase().contains("einheit")
                })
                .filter_map(fahrenheit)
                .collect();
            above.first().copied().filter(|f| above.iter().all(|o| o == f))
        });
    if told.is_some() {
        return (told, false);
    }
    let mut values: Vec<f64> =
        raws.iter().filter_map(|r| r.temperature).filter(|t| (-40.0..=140.0).contains(t)).collect();
    if values.is_empty() {
        return (Some(false), false);
    }
    values.sort_by(f64::total_cmp);
    let at = |share: f64| values[((values.len() - 1) as f64 * share) as usize];
    // Rooms with plants: as °F the first would be freezing, as °C the second an oven.
    if at(0.95) <= 38.0 {
        (Some(false), true)
    } else if at(0.05) >= 50.0 {
        (Some(true), true)
    } else {
        (None, false)
    }
}

fn settle(
    text: &str,
    file: &str,
    layout: Layout,
    (raws, mut refused): (Vec<Raw>, Vec<RefusedRow>),
    above: &str,
    options: &LoggerOptions,
    mut questions: Vec<LoggerQuestion>,
) -> LoggerFile {
    let answer = |key: &str, choices: &[&str]| {
        options.answers.get(key).filter(|a| choices.contains(&a.as_str())).cloned()
    };
    let numbers = |r: &&Raw| matches!(r.stamp, Stamp::Civil { day: Day::Numbers(..), .. });
    let mut kind = match layout.at {
        At::Unix(_) => StampKind::Unix,
        At::Serial(_) => StampKind::Serial,
        _ => StampKind::YearFirst,
    };
    let mut first = true;
    if let Some(example) = raws.iter().find(numbers) {
        let told = day_first(&raws);
        let choices = ["day_first", "month_first"];
        let answered = answer("date_order", &choices);
        if told.is_none() {
            questions.push(LoggerQuestion {
                key: "date_order",
                ask: LoggerAsk::DateOrder,
                example: line_of(text, example.row).to_owned(),
                choices: choices.to_vec(),
                answer: answered.clone(),
            });
        }
        let settled = told.or(answered.map(|a| a == "day_first"));
        first = settled.unwrap_or(true);
        kind = match settled {
            Some(true) => StampKind::DayFirst,
            Some(false) => StampKind::MonthFirst,
            None => StampKind::Unsettled,
        };
    } else if kind == StampKind::YearFirst {
        let digits = layout.stamp.bytes().take_while(u8::is_ascii_digit).count();
        if (1..=2).contains(&digits) {
            kind = StampKind::DayFirst;
        }
    }
    let (mut is_f, by_values) = unit_of(&layout, above, &raws);
    if is_f.is_none() {
        let choices = ["celsius", "fahrenheit"];
        let answered = answer("unit", &choices);
        let example = raws.iter().find(|r| r.temperature.is_some()).map_or(0, |r| r.row);
        is_f = answered.as_ref().map(|a| a == "fahrenheit");
        questions.push(LoggerQuestion {
            key: "unit",
            ask: LoggerAsk::Unit,
            example: line_of(text, example).to_owned(),
            choices: choices.to_vec(),
            answer: answered,
        });
    }
    let mut out = LoggerFile {
        file: file.to_owned(),
        delimiter: layout.delimiter,
        decimal_comma: layout.comma,
        header: layout.header,
        columns: layout.columns,
        stamps: kind,
        fahrenheit: is_f,
        unit_by_values: by_values,
        readings: Vec::new(),
        refused: Vec::new(),
        above: layout.above,
        gaps: Vec::new(),
        step: None,
        questions,
    };
    if out.open() == 0 {
        let mut timed = Instants::new(options, text, first);
        timed.take(raws, is_f.unwrap_or(false), &mut refused);
        if let Some(question) = timed.question {
            out.questions.push(question);
        }
        if out.open() == 0 {
            out.readings = timed.readings;
            unique(&mut out.readings, text, &mut refused);
            gaps(&mut out);
        }
    }
    refused.sort_by_key(|r| (r.row, r.why));
    // The first reason is enough.
    refused.dedup_by_key(|r| r.row);
    out.refused = refused;
    out
}
