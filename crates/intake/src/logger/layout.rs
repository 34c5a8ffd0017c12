//! How a file is laid out: its delimiter, where stamps stand, what each column holds.

use super::{
    Channel, LoggerColumn,
    columns::{channel, channel_of_unit, is_time},
    lines::{cells, lines},
    number::{has_decimal_comma, number},
    stamp::{Stamp, serial, stamp, stamp_of_two, unix},
};
use crate::ReadError;

/// How many lines are looked at to find the layout.
pub(super) const SAMPLE: usize = 400;
const DELIMITERS: [char; 4] = [';', '\t', ',', '|'];

/// In which cells a stamp stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum At {
    One(usize),
    DateTime(usize),
    TimeDate(usize),
    Unix(usize),
    Serial(usize),
}

impl At {
    pub(super) fn cells(self) -> std::ops::Range<usize> {
        match self {
            Self::One(i) | Self::Unix(i) | Self::Serial(i) => i..i + 1,
            Self::DateTime(i) | Self::TimeDate(i) => i..i + 2,
        }
    }

    pub(super) fn read(self, row: &[&str], comma: bool) -> Option<Stamp> {
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
pub(super) struct Layout {
    pub(super) delimiter: char,
    pub(super) at: At,
    /// Decimal commas that are also delimiters: from this cell on two make one.
    pub(super) joined: Option<usize>,
    pub(super) comma: bool,
    pub(super) header: Option<u32>,
    pub(super) above: usize,
    /// The number of the first line with a reading.
    pub(super) first: u32,
    pub(super) columns: Vec<LoggerColumn>,
    pub(super) example: String,
    /// The first cell of the first stamp.
    pub(super) stamp: String,
}

pub(super) fn row_of<'t>(
    line: &'t str,
    delimiter: char,
    joined: Option<usize>,
    into: &mut Vec<&'t str>,
) {
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

pub(super) fn is_number(cell: &str) -> bool {
    number(cell, true).or_else(|| number(cell, false)).is_some()
}

/// Finds where stamps stand among sample lines cut by a delimiter, and in how many.
type Finder = fn(&[(u32, &str)], char) -> Option<(At, usize)>;

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

/// The cell in which the date of a stamp stands.
fn stamp_cell(at: At) -> usize {
    match at {
        At::TimeDate(i) => i + 1,
        other => other.cells().start,
    }
}

pub(super) fn layout(text: &str, file: &str) -> Result<Layout, ReadError> {
    let sample: Vec<(u32, &str)> = lines(text).take(SAMPLE).collect();
    let best = |find: Finder| {
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
        stamp: row.get(stamp_cell(at)).map(|c| (*c).to_owned()).unwrap_or_default(),
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
