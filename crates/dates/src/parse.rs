//! Reading the notation.

use jiff::civil::Date;

use crate::{
    EdtfError, Hemisphere,
    point::{Fineness, Point, Season},
};

/// One end of an interval.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum End {
    /// `..`: goes on without end.
    Open,
    /// Nothing written: there is an end, but it is not known.
    Unknown,
    At(Point),
}

/// What a text means.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Form {
    Point(Point),
    Interval(End, End),
    /// Each candidate is a date or a run of dates (`a..b`).
    OneOf(Vec<(Point, Point)>),
}

pub(crate) fn form(text: &str) -> Result<Form, EdtfError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(EdtfError::Empty);
    }
    if text.contains('T') {
        return Err(EdtfError::TimeOfDay { value: text.to_owned() });
    }
    if let Some(inner) = text.strip_prefix('[') {
        let inner = inner.strip_suffix(']').ok_or_else(|| notation(text))?;
        return one_of(inner, text);
    }
    match text.split_once('/') {
        Some((a, b)) => interval(a, b, text),
        None => Ok(Form::Point(point(text, text)?)),
    }
}

fn one_of(inner: &str, whole: &str) -> Result<Form, EdtfError> {
    let mut candidates = Vec::new();
    for item in inner.split(',') {
        let item = item.trim();
        let pair = match item.split_once("..") {
            Some((a, b)) => (point(a, whole)?, point(b, whole)?),
            None => {
                let only = point(item, whole)?;
                (only, only)
            }
        };
        forwards(pair.0, pair.1, whole)?;
        candidates.push(pair);
    }
    Ok(Form::OneOf(candidates))
}

fn interval(a: &str, b: &str, whole: &str) -> Result<Form, EdtfError> {
    let (start, end) = (end(a, whole)?, end(b, whole)?);
    if let (End::At(s), End::At(e)) = (start, end) {
        forwards(s, e, whole)?;
    }
    Ok(Form::Interval(start, end))
}

fn forwards(a: Point, b: Point, whole: &str) -> Result<(), EdtfError> {
    let first = a.bounds(Hemisphere::Northern).map(|x| x.0);
    let last = b.bounds(Hemisphere::Northern).map(|x| x.1);
    match (first, last) {
        (Some(f), Some(l)) if f > l => Err(EdtfError::Backwards { value: whole.to_owned() }),
        _ => Ok(()),
    }
}

fn end(text: &str, whole: &str) -> Result<End, EdtfError> {
    match text {
        "" => Ok(End::Unknown),
        ".." => Ok(End::Open),
        _ => point(text, whole).map(End::At),
    }
}

fn notation(whole: &str) -> EdtfError {
    EdtfError::Notation { value: whole.to_owned() }
}

fn point(text: &str, whole: &str) -> Result<Point, EdtfError> {
    let (body, uncertain, approximate) = match text.as_bytes().last() {
        Some(b'?') => (&text[..text.len() - 1], true, false),
        Some(b'~') => (&text[..text.len() - 1], false, true),
        Some(b'%') => (&text[..text.len() - 1], true, true),
        _ => (text, false, false),
    };
    let mut parts = body.split('-');
    let year = parts.next().unwrap_or_default();
    let (month, day) = (parts.next(), parts.next());
    if parts.next().is_some() {
        return Err(notation(whole));
    }
    let (year, coarse) = read_year(year).ok_or_else(|| notation(whole))?;
    let fine = match (coarse, month, day) {
        (Some(coarse), None, None) => coarse,
        (None, None, None) => Fineness::Year,
        (None, Some(month), day) => below_year(year, month, day, whole)?,
        _ => return Err(notation(whole)),
    };
    Ok(Point { year, fine, uncertain, approximate })
}

fn read_year(text: &str) -> Option<(i16, Option<Fineness>)> {
    if text.len() != 4 || !text.is_ascii() {
        return None;
    }
    let known = text.trim_end_matches('X');
    let coarse = match known.len() {
        4 => None,
        3 => Some(Fineness::Decade),
        2 => Some(Fineness::Century),
        0 => return Some((0, Some(Fineness::Nothing))),
        _ => return None,
    };
    if !known.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let year = text.replace('X', "0").parse().ok()?;
    Some((year, coarse))
}

fn two_digits(text: &str) -> Option<u8> {
    let ok = text.len() == 2 && text.bytes().all(|b| b.is_ascii_digit());
    if ok { text.parse().ok() } else { None }
}

fn below_year(
    year: i16,
    month: &str,
    day: Option<&str>,
    whole: &str,
) -> Result<Fineness, EdtfError> {
    if month == "XX" {
        return match day {
            None | Some("XX") => Ok(Fineness::YearMonthMissing),
            Some(_) => Err(notation(whole)),
        };
    }
    let number = two_digits(month).ok_or_else(|| notation(whole))?;
    if let Some(season) = season(number) {
        return if day.is_none() { Ok(season) } else { Err(notation(whole)) };
    }
    if !(1..=12).contains(&number) {
        return Err(EdtfError::NoSuchMonth { value: whole.to_owned(), month: number });
    }
    let month = number.cast_signed();
    match day {
        None => Ok(Fineness::Month(month)),
        Some("XX") => Ok(Fineness::MonthDayMissing(month)),
        Some(day) => {
            let day = two_digits(day).ok_or_else(|| notation(whole))?.cast_signed();
            Date::new(year, month, day)
                .map(|_| Fineness::Day(month, day))
                .map_err(|_| EdtfError::NoSuchDay { value: whole.to_owned() })
        }
    }
}

fn season(number: u8) -> Option<Fineness> {
    let half = match number {
        21..=24 => None,
        25..=28 => Some(Hemisphere::Northern),
        29..=32 => Some(Hemisphere::Southern),
        _ => return None,
    };
    let season = match (number - 21) % 4 {
        0 => Season::Spring,
        1 => Season::Summer,
        2 => Season::Autumn,
        _ => Season::Winter,
    };
    Some(Fineness::Season(season, half))
}
