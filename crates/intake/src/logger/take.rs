//! From bytes to readings: the layout is found first, then every line is taken.

use std::borrow::Cow;

use super::{
    Channel, Gap, LoggerAsk, LoggerColumn, LoggerFile, LoggerOptions, LoggerQuestion,
    LoggerReading, RefusedRow, StampKind, Why,
    columns::{channel, channel_of_unit, fahrenheit, is_time},
    lines::{cells, lines},
    number::{Number, has_decimal_comma, number},
    stamp::{Day, Stamp, serial, stamp, stamp_of_two, unix},
    zone::{Clocks, Lies, seconds},
};
use crate::{ReadError, sheet::decode};

/// How many lines are looked at to find the layout.
const SAMPLE: usize = 400;
const DELIMITERS: [char; 4] = [';', '\t', ',', '|'];
/// Limits of what a logger in a house can read \[°C\], \[%\]; common practice.
const TEMPERATURES: std::ops::RangeInclusive<f64> = -10.0..=60.0;
const HUMIDITIES: std::ops::RangeInclusive<f64> = 0.0..=105.0;
/// 2000-01-01: clocks that lost their battery begin before it.
const EARLIEST: i64 = 946_684_800;

/// In which cells a stamp stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum At {
    One(usize),
    DateTime(usize),
    TimeDate(usize),
    Unix(usize),
    Serial(usize),
}

impl At {
    fn cells(self) -> std::ops::Range<usize> {
        match self {
            Self::One(i) | Self::Unix(i) | Self::Serial(i) => i..i + 1,
            Self::DateTime(i) | Self::TimeDate(i) => i..i + 2,
        }
    }

    fn read(self, row: &[&str], comma: bool) -> Option<Stamp> {
        let cell = |i: usize| row.get(i).copied().filter(|c| !c.is_empty());
        match self {
            Self::One(i) => stamp(cell(i)?),
            Self::DateTime(i) => stamp_of_two(cell(i)?, cell(i + 1)?),
            Self::TimeDate(i) => stamp_of_two(cell(i + 1)?, cell(i)?),
            Self::Unix(i) => unix(cell(i)?),
            Self::Serial(i) => number(cell(i)?, comma).and_then(|n| serial(n.value)),
        }
    }

    /// Where the stamp of a line stands.
    fn find(row: &[&str]) -> Option<Self> {
        let one = row.iter().position(|c| stamp(c).is_some()).map(Self::One);
        let two =
            || row.windows(2).position(|w| stamp_of_two(w[0], w[1]).is_some()).map(Self::DateTime);
        let turned =
            || row.windows(2).position(|w| stamp_of_two(w[1], w[0]).is_some()).map(Self::TimeDate);
        one.or_else(two).or_else(turned)
    }
}

/// How a file is laid out.
struct Layout {
    delimiter: char,
    at: At,
    /// Decimal commas that are also delimiters: from this cell on two make one.
    joined: Option<usize>,
    comma: bool,
    header: Option<u32>,
    above: usize,
    /// The number of the first line with a reading.
    first: u32,
    columns: Vec<LoggerColumn>,
    example: String,
}

fn row_of<'t>(line: &'t str, delimiter: char, joined: Option<usize>, into: &mut Vec<&'t str>) {
    cells(line, delimiter, into);
    let Some(from) = joined else { return };
    let mut at = from;
    while at + 1 < into.len() {
        let start = into[at].as_ptr() as usize - line.as_ptr() as usize;
        let end = into[at + 1].as_ptr() as usize - line.as_ptr() as usize + into[at + 1].len();
        into[at] = &line[start..end];
        into.remove(at + 1);
        at += 1;
    }
}

fn is_number(cell: &str) -> bool {
    number(cell, true).or_else(|| number(cell, false)).is_some()
}

/// The commonest place of the stamp among lines that also hold a number, and how many these are.
fn stamps_at(sample: &[(u32, &str)], delimiter: char) -> Option<(At, usize)> {
    let mut found: Vec<(At, usize)> = Vec::new();
    let mut row = Vec::new();
    for (_, line) in sample {
        cells(line, delimiter, &mut row);
        let Some(at) = At::find(&row) else { continue };
        let value = (0..row.len()).any(|i| !at.cells().contains(&i) && is_number(row[i]));
        if !value {
            continue;
        }
        match found.iter_mut().find(|f| f.0 == at) {
            Some(f) => f.1 += 1,
            None => found.push((at, 1)),
        }
    }
    found.into_iter().max_by_key(|f| f.1)
}

/// A column of numbers that count time: seconds since 1970, or days of a spreadsheet.
fn counted_at(sample: &[(u32, &str)], delimiter: char) -> Option<(At, usize)> {
    let mut best: Option<(At, usize)> = None;
    for i in 0..4 {
        for at in [At::Unix(i), At::Serial(i)] {
            let mut row = Vec::new();
            let (mut n, mut onward) = (0usize, 0usize);
            let mut before: Option<f64> = None;
            for (_, line) in sample {
                cells(line, delimiter, &mut row);
                let value = row.len() > 1 && at.read(&row, true).is_some();
                let Some(now) = row.get(i).filter(|_| value).and_then(|c| number(c, true)) else {
                    continue;
                };
                n += 1;
                onward += usize::from(before.is_some_and(|b| b != now.value));
                before = Some(now.value);
            }
            // A value that stands still, as a light may at night, counts no time.
            let counts = n >= 2 && onward * 10 >= (n - 1) * 8;
            if counts && best.is_none_or(|b| n > b.1) {
                best = Some((at, n));
            }
        }
    }
    best
}

fn layout(text: &str, file: &str) -> Result<Layout, ReadError> {
    let sample: Vec<(u32, &str)> = lines(text).take(SAMPLE).collect();
    let best = |find: fn(&[(u32, &str)], char) -> Option<(At, usize)>| {
        DELIMITERS
            .iter()
            .rev()
            .filter_map(|d| find(&sample, *d).map(|(at, n)| (*d, at, n)))
            .max_by_key(|f| f.2)
    };
    let (delimiter, at, _) = best(stamps_at)
        .or_else(|| best(counted_at))
        .ok_or_else(|| ReadError::NoReadings { file: file.to_owned() })?;
    let mut row = Vec::new();
    let first = sample.iter().position(|(_, line)| {
        cells(line, delimiter, &mut row);
        at.read(&row, true).is_some()
    });
    let first = first.ok_or_else(|| ReadError::NoReadings { file: file.to_owned() })?;
    let headings = headings(&sample[..first], delimiter, at);
    let mut layout = Layout {
        delimiter,
        at,
        joined: None,
        comma: false,
        header: headings.as_ref().map(|h| h.0),
        above: first,
        first: sample[first].0,
        columns: Vec::new(),
        example: sample[first].1.to_owned(),
    };
    let headings = headings.map(|h| h.1).unwrap_or_default();
    layout.above -= usize::from(layout.header.is_some());
    let data = &sample[first..];
    layout.joined = joined(data, &layout, headings.len());
    decimal_comma(data, &mut layout);
    columns(data, &mut layout, &headings);
    Ok(layout)
}

/// The heading of each column, from the nearest line above the readings that names one; a line of
/// units below it is joined to it.
fn headings(above: &[(u32, &str)], delimiter: char, at: At) -> Option<(u32, Vec<String>)> {
    let mut row = Vec::new();
    let mut units: Option<Vec<String>> = None;
    for (n, line) in above.iter().rev().take(6) {
        cells(line, delimiter, &mut row);
        let named = row
            .iter()
            .enumerate()
            .filter(|(i, c)| channel(c).is_some() || at.cells().contains(i) && is_time(c))
            .count();
        let words = row.iter().filter(|c| c.chars().any(char::is_alphabetic)).count();
        if row.len() >= 2 && named >= 1 && words >= 2 {
            let mut all: Vec<String> = row.iter().map(|c| (*c).to_owned()).collect();
            for (heading, unit) in all.iter_mut().zip(units.unwrap_or_default()) {
                if !unit.is_empty() {
                    *heading = format!("{heading} {unit}").trim().to_owned();
                }
            }
            return Some((*n, all));
        }
        let own = row.iter().map(|c| (*c).to_owned()).collect();
        units = (row.len() >= 2).then_some(own);
    }
    None
}

/// Where decimal commas that were not quoted fall together with the delimiter: each value then
/// takes two cells.
fn joined(data: &[(u32, &str)], layout: &Layout, headings: usize) -> Option<usize> {
    let from = layout.at.cells().end;
    let values = headings.checked_sub(from).filter(|v| *v > 0)?;
    if layout.delimiter != ',' || layout.at.cells().start > 0 {
        return None;
    }
    let mut row = Vec::new();
    let mut doubled = 0;
    for (_, line) in data {
        cells(line, ',', &mut row);
        doubled += usize::from(row.len() == from + 2 * values);
    }
    (doubled * 10 > data.len() * 6).then_some(from)
}

fn decimal_comma(data: &[(u32, &str)], layout: &mut Layout) {
    let (mut commas, mut points) = (0usize, 0usize);
    let mut row = Vec::new();
    for (_, line) in data {
        row_of(line, layout.delimiter, layout.joined, &mut row);
        for (i, cell) in row.iter().enumerate() {
            if !layout.at.cells().contains(&i) || matches!(layout.at, At::Serial(_)) {
                commas += usize::from(has_decimal_comma(cell));
                points += usize::from(cell.contains('.') && is_number(cell));
            }
        }
    }
    layout.comma = commas > points;
}

/// Settles what each column holds, by heading first, then by the units in its cells.
fn columns(data: &[(u32, &str)], layout: &mut Layout, headings: &[String]) {
    let mut row = Vec::new();
    let mut width = headings.len();
    let mut units: Vec<Option<Channel>> = Vec::new();
    for (_, line) in data.iter().take(40) {
        row_of(line, layout.delimiter, layout.joined, &mut row);
        width = width.max(row.len().min(60));
        units.resize(width.max(units.len()), None);
        for (unit, cell) in units.iter_mut().zip(&row) {
            let told = number(cell, layout.comma).and_then(|n| channel_of_unit(n.unit));
            *unit = unit.or(told);
        }
    }
    let mut taken: Vec<Channel> = Vec::new();
    for i in 0..width {
        let heading = headings.get(i).cloned().unwrap_or_default();
        let is_stamp = layout.at.cells().contains(&i);
        let by_unit = || heading.is_empty().then(|| units.get(i).copied().flatten()).flatten();
        let found = channel(&heading).or_else(by_unit).filter(|c| !is_stamp && !taken.contains(c));
        taken.extend(found);
        layout.columns.push(LoggerColumn { heading, channel: found });
    }
}

/// A line whose stamp and values could be read; the order of day and month is settled later.
struct Raw {
    row: u32,
    stamp: Stamp,
    temperature: Option<f64>,
    temperature_is_f: Option<bool>,
    humidity: Option<f64>,
    light: Option<f64>,
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
    } else if kind == StampKind::YearFirst && layout.example.contains('.') {
        let point = layout.example.find('.').unwrap_or(0);
        let dotted = layout.example[..point].trim_end_matches(|c: char| c.is_ascii_digit());
        if dotted.trim().trim_matches('"').is_empty() || dotted.ends_with(layout.delimiter) {
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
    out.refused = refused;
    out
}

fn line_of(text: &str, row: u32) -> &str {
    text.split('\n').nth(row.saturating_sub(1) as usize).unwrap_or("").trim_end_matches('\r')
}

/// Looks lines up by their number; asked in rising order it walks the text once.
struct Lines<'t> {
    rest: std::iter::Zip<std::ops::RangeFrom<u32>, std::str::Split<'t, char>>,
}

impl<'t> Lines<'t> {
    fn new(text: &'t str) -> Self {
        Self { rest: (1u32..).zip(text.split('\n')) }
    }

    fn get(&mut self, row: u32) -> &'t str {
        self.rest.find(|(n, _)| *n == row).map_or("", |(_, l)| l.trim_end_matches('\r'))
    }
}

/// Puts readings on the line of instants.
struct Instants<'o> {
    options: &'o LoggerOptions,
    text: &'o str,
    day_first: bool,
    readings: Vec<LoggerReading>,
    question: Option<LoggerQuestion>,
}

impl<'o> Instants<'o> {
    fn new(options: &'o LoggerOptions, text: &'o str, day_first: bool) -> Self {
        Self { options, text, day_first, readings: Vec::new(), question: None }
    }

    fn take(&mut self, mut raws: Vec<Raw>, is_f: bool, refused: &mut Vec<RefusedRow>) {
        let wall = |r: &Raw| match r.stamp {
            Stamp::Instant(s) => Some(s),
            s => s.civil(self.day_first).map(seconds),
        };
        // Some write the newest first.
        let ends = raws.iter().find_map(&wall).zip(raws.iter().rev().find_map(&wall));
        if ends.is_some_and(|(a, b)| a > b) {
            raws.reverse();
        }
        let choices = ["house", "standard"];
        let answer = self.options.answers.get("clock").filter(|a| choices.contains(&a.as_str()));
        if let Some(row) = clock_in_doubt(&raws, self.day_first, &self.options.zone) {
            self.question = Some(LoggerQuestion {
                key: "clock",
                ask: LoggerAsk::Clock,
                example: line_of(self.text, row).to_owned(),
                choices: choices.to_vec(),
                answer: answer.cloned(),
            });
        }
        let mut clocks = Clocks::new(&self.options.zone, answer.is_some_and(|a| a == "standard"));
        let mut house = Clocks::new(&self.options.zone, false);
        let mut bad: Vec<(u32, Why)> = Vec::new();
        let mut before = i64::MIN;
        self.readings.reserve(raws.len());
        for raw in &raws {
            let time = match instant(raw, self.day_first, &mut clocks, before) {
                Ok(time) if time >= EARLIEST && self.options.latest.is_none_or(|l| time <= l) => {
                    time
                }
                Ok(_) => {
                    bad.push((raw.row, Why::OutOfTime));
                    continue;
                }
                Err(why) => {
                    bad.push((raw.row, why));
                    continue;
                }
            };
            before = time;
            let (reading, impossible) = values(raw, time, house.east(time), is_f);
            if impossible {
                bad.push((raw.row, Why::Impossible));
            }
            self.readings.extend(reading);
        }
        bad.sort_unstable_by_key(|b| b.0);
        let mut lines = Lines::new(self.text);
        refused.extend(bad.into_iter().map(|(row, why)| RefusedRow {
            row,
            why,
            text: lines.get(row).to_owned(),
        }));
        self.readings.sort_by_key(|r| r.time);
    }
}

fn instant(raw: &Raw, day_first: bool, clocks: &mut Clocks<'_>, before: i64) -> Result<i64, Why> {
    let (civil, east) = match raw.stamp {
        Stamp::Instant(s) => return Ok(s),
        Stamp::Civil { east, .. } => (raw.stamp.civil(day_first).ok_or(Why::NoTime)?, east),
    };
    let wall = seconds(civil);
    if let Some(east) = east {
        return Ok(wall - i64::from(east));
    }
    match clocks.lies(civil) {
        Lies::Once(east) => Ok(wall - i64::from(east)),
        Lies::Never => Err(Why::SkippedHour),
        // The hour that is there twice is passed through once, then again.
        Lies::Twice(first, second) => {
            let early = wall - i64::from(first);
            Ok(if early > before { early } else { wall - i64::from(second) })
        }
    }
}

fn values(raw: &Raw, time: i64, east: i32, is_f: bool) -> (Option<LoggerReading>, bool) {
    let to_c = |t: f64| {
        let f = raw.temperature_is_f.unwrap_or(is_f);
        if f { ((t - 32.0) / 1.8 * 1000.0).round() / 1000.0 } else { t }
    };
    let told = (raw.temperature.map(to_c), raw.humidity, raw.light);
    let temperature = told.0.filter(|t| TEMPERATURES.contains(t));
    let humidity = told.1.filter(|h| HUMIDITIES.contains(h));
    let light = told.2.filter(|l| (0.0..=200_000.0).contains(l));
    let impossible = temperature.is_none() && told.0.is_some()
        || humidity.is_none() && told.1.is_some()
        || light.is_none() && told.2.is_some();
    let any = temperature.is_some() || humidity.is_some() || light.is_some();
    let reading = LoggerReading { row: raw.row, time, east, temperature, humidity, light };
    (any.then_some(reading), impossible)
}

/// The row that shows that the logger's clock may not follow those of the house: times that the
/// clocks of the house skipped, or an hour passed once that they passed twice.
fn clock_in_doubt(raws: &[Raw], day_first: bool, zone: &jiff::tz::TimeZone) -> Option<u32> {
    let mut clocks = Clocks::new(zone, false);
    let mut skipped: Vec<u32> = Vec::new();
    let mut twice: Option<(u32, i64, bool)> = None;
    let mut before: Option<i64> = None;
    for raw in raws {
        let Stamp::Civil { east: None, .. } = raw.stamp else { return None };
        let Some(civil) = raw.stamp.civil(day_first) else { continue };
        let wall = seconds(civil);
        let near = before.is_some_and(|b| wall - b <= 7200);
        match clocks.lies(civil) {
            Lies::Never => skipped.push(raw.row),
            Lies::Twice(..) if twice.is_none() && near => twice = Some((raw.row, wall, true)),
            Lies::Twice(..) => {
                if let Some(t) = &mut twice {
                    t.2 &= before.is_some_and(|b| wall > b);
                    t.1 = wall;
                }
            }
            Lies::Once(_) => {
                // It came out of the hour without having gone back.
                if let Some((row, last, onward)) = twice.take()
                    && onward
                    && (1..=7200).contains(&(wall - last))
                {
                    return Some(row);
                }
            }
        }
        before = Some(wall);
    }
    (skipped.len() >= 2).then(|| skipped[0])
}

/// Keeps one reading of each instant.
fn unique(readings: &mut Vec<LoggerReading>, text: &str, refused: &mut Vec<RefusedRow>) {
    let mut bad: Vec<(u32, Why)> = Vec::new();
    readings.dedup_by(|later, first| {
        if later.time != first.time {
            return false;
        }
        let same = (later.temperature, later.humidity, later.light)
            == (first.temperature, first.humidity, first.light);
        bad.push((later.row, if same { Why::Again } else { Why::SameTime }));
        true
    });
    bad.sort_unstable_by_key(|b| b.0);
    let mut lines = Lines::new(text);
    refused.extend(bad.into_iter().map(|(row, why)| RefusedRow {
        row,
        why,
        text: lines.get(row).to_owned(),
    }));
}

fn gaps(out: &mut LoggerFile) {
    let mut steps: Vec<i64> = out.readings.windows(2).map(|w| w[1].time - w[0].time).collect();
    if steps.is_empty() {
        return;
    }
    let middle = steps.len() / 2;
    let step = *steps.select_nth_unstable(middle).1;
    out.step = Some(step);
    let longest = 7200.max(3 * step);
    out.gaps = out
        .readings
        .windows(2)
        .filter(|w| w[1].time - w[0].time > longest)
        .map(|w| Gap { from: w[0].time, to: w[1].time })
        .collect();
}
