//! Delimited text and plain labels.
//!
//! Records are split here and not by a library because blank lines must keep
//! their row numbers, and an opening quote that is never closed must not
//! swallow the rest of the list.

use super::{Cell, Kind, Line, Sheet};
use crate::{fold::fold, words};

pub(crate) fn read(text: &str, file: &str) -> Sheet {
    let mut best: Option<(f64, Vec<Vec<String>>)> = None;
    for delimiter in [',', ';', '\t', '|'] {
        let records = split(text, delimiter);
        let score = score(&records);
        if score > 0.0 && best.as_ref().is_none_or(|b| score > b.0) {
            best = Some((score, records));
        }
    }
    let plain = std::path::Path::new(file)
        .extension()
        .is_none_or(|e| !e.eq_ignore_ascii_case("csv") && !e.eq_ignore_ascii_case("tsv"));
    // Labels have their commas and bars too; only a steady table is one.
    let needed = if plain { 0.75 } else { 0.35 };
    match best {
        Some((score, records)) if score >= needed => table(records),
        _ => labels(text),
    }
}

fn table(records: Vec<Vec<String>>) -> Sheet {
    let lines = (1..)
        .zip(records)
        .map(|(row, fields)| Line { row, cells: fields.iter().map(|f| Cell::text(f)).collect() })
        .collect();
    Sheet { name: None, kind: Kind::Table, lines }
}

fn labels(text: &str) -> Sheet {
    let lines = (1..)
        .zip(text.lines())
        .map(|(row, line)| Line { row, cells: vec![Cell::text(line)] })
        .collect();
    Sheet { name: None, kind: Kind::Labels, lines }
}

/// How steady the number of fields is, from 0 (no table) to just over 1.
fn score(records: &[Vec<String>]) -> f64 {
    let filled: Vec<&Vec<String>> =
        records.iter().filter(|r| r.iter().any(|f| !f.trim().is_empty())).take(300).collect();
    let widest = filled.iter().map(|r| r.len()).max().unwrap_or(0);
    if widest < 2 {
        return 0.0;
    }
    let mut counts = vec![0usize; widest + 1];
    for r in &filled {
        counts[r.len()] += 1;
    }
    let (mode, often) =
        counts.iter().enumerate().skip(2).max_by_key(|(_, n)| **n).unwrap_or((0, &0));
    if mode < 2 || filled.len() < 2 && mode < 3 {
        return 0.0;
    }
    #[allow(clippy::cast_precision_loss, reason = "at most 300 records")]
    let steady = *often as f64 / filled.len() as f64;
    let known = filled
        .iter()
        .take(12)
        .map(|r| r.iter().filter(|f| !words::header(&fold(f.trim())).is_empty()).count())
        .max()
        .unwrap_or(0);
    // Header words that fall into place are the best sign of the right delimiter.
    let bonus =
        if known >= 2 { 0.4 + 0.02 * f64::from(u8::try_from(known).unwrap_or(9)) } else { 0.0 };
    #[allow(clippy::cast_precision_loss, reason = "a handful of fields")]
    let width = (mode.min(12) as f64) * 0.005;
    steady + bonus + width
}

/// Splits into records; a record may run over lines inside quotes.
fn split(text: &str, delimiter: char) -> Vec<Vec<String>> {
    let chars: Vec<char> = text.chars().collect();
    let mut records = Vec::new();
    let mut record = Vec::new();
    let mut at = 0;
    while at < chars.len() {
        let (field, next) = field(&chars, at, delimiter);
        record.push(field);
        at = next;
        match chars.get(at) {
            Some(c) if *c == delimiter => {
                at += 1;
                if at == chars.len() {
                    record.push(String::new());
                }
            }
            _ => {
                if chars.get(at) == Some(&'\r') {
                    at += 1;
                }
                if chars.get(at) == Some(&'\n') {
                    at += 1;
                }
                records.push(std::mem::take(&mut record));
            }
        }
    }
    if !record.is_empty() {
        records.push(record);
    }
    records
}

fn field(chars: &[char], start: usize, delimiter: char) -> (String, usize) {
    let ends = |c: char| c == delimiter || c == '\n' || c == '\r';
    if chars[start] == '"'
        && let Some(found) = quoted(chars, start, delimiter)
    {
        return found;
    }
    let mut at = start;
    while at < chars.len() && !ends(chars[at]) {
        at += 1;
    }
    (chars[start..at].iter().collect(), at)
}

/// Longest quoted cell believed; beyond it the quote is taken as typed by mistake.
const LONGEST: usize = 20_000;

fn quoted(chars: &[char], start: usize, delimiter: char) -> Option<(String, usize)> {
    let mut out = String::new();
    let mut at = start + 1;
    while at < chars.len() && at - start < LONGEST {
        if chars[at] != '"' {
            out.push(chars[at]);
            at += 1;
            continue;
        }
        match chars.get(at + 1) {
            Some('"') => {
                out.push('"');
                at += 2;
            }
            // `"` in cell after cell: ditto marks, no quoted separators.
            _ if out.starts_with(delimiter) => return None,
            None => return Some((out, at + 1)),
            Some(c) if *c == delimiter || *c == '\n' || *c == '\r' => return Some((out, at + 1)),
            // "Copper Lorry" red, ...: a quote that opens a cell but does not close it.
            Some(_) => return None,
        }
    }
    None
}
