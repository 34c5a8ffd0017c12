//! Stamps: what stands in a cell, before it is known which number is the day.

use jiff::civil::{Date, DateTime, Time};
use serde::Serialize;

/// How the stamps of a file are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StampKind {
    /// Year, month, day.
    YearFirst,
    /// Day, month, year.
    DayFirst,
    /// Month, day, year.
    MonthFirst,
    /// Seconds or milliseconds since 1970.
    Unix,
    /// Days since 1900, as spreadsheets count them.
    Serial,
    /// It cannot be told whether day or month comes first.
    Unsettled,
}

/// The date of a stamp.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Day {
    /// Settled.
    Is(Date),
    /// Two numbers of which either may be the day, and the year.
    Numbers(i8, i8, i16),
}

/// A stamp as it stands in a cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Stamp {
    /// A date with its time, and how far ahead of UTC it says to be \[s\].
    Civil { day: Day, time: Time, east: Option<i32> },
    /// An instant \[s since 1970 UTC\].
    Instant(i64),
}

impl Day {
    pub(super) fn date(self, day_first: bool) -> Option<Date> {
        match self {
            Self::Is(date) => Some(date),
            Self::Numbers(a, b, year) => {
                let (day, month) = if day_first { (a, b) } else { (b, a) };
                Date::new(year, month, day).ok()
            }
        }
    }
}

const MONTHS: [&[&str]; 12] = [
    &["jan", "ene", "gen"],
    &["feb", "fév", "fev"],
    &["mar", "mär", "mrz", "maa"],
    &["apr", "avr", "abr"],
    &["may", "mai", "mag", "mei", "maj"],
    &["jun", "juin", "giu"],
    &["jul", "juil", "lug"],
    &["aug", "aoû", "aou", "ago"],
    &["sep", "set"],
    &["oct", "okt", "ott", "out"],
    &["nov"],
    &["dec", "dez", "déc", "dic"],
];

fn month_word(word: &str) -> Option<i8> {
    let word = word.trim_end_matches('.').to_lowercase();
    // "jui" of juin and juillet is told by its fourth letter.
    (1i8..).zip(MONTHS).find(|(_, names)| names.iter().any(|n| word.starts_with(n))).map(|m| m.0)
}

/// A cursor over the bytes of a cell.
struct Cursor<'t> {
    text: &'t str,
}

impl<'t> Cursor<'t> {
    fn number(&mut self, most: usize) -> Option<(i64, usize)> {
        let n = self.text.bytes().take(most).take_while(u8::is_ascii_digit).count();
        let value = self.text.get(..n)?.parse().ok()?;
        self.text = &self.text[n..];
        Some((value, n))
    }

    fn one_of(&mut self, marks: &[char]) -> Option<char> {
        let c = self.text.chars().next().filter(|c| marks.contains(c))?;
        self.text = &self.text[c.len_utf8()..];
        Some(c)
    }

    fn spaces(&mut self) {
        self.text = self.text.trim_start_matches([' ', '\u{a0}', '\u{202f}']);
    }

    fn word(&mut self) -> &'t str {
        let n = self.text.find(|c: char| !c.is_alphabetic()).unwrap_or(self.text.len());
        let (word, rest) = self.text.split_at(n);
        self.text = rest;
        word
    }
}

fn year(value: i64, digits: usize) -> Option<i16> {
    match digits {
        4 => i16::try_from(value).ok(),
        2 => i16::try_from(if value < 80 { 2000 + value } else { 1900 + value }).ok(),
        _ => None,
    }
}

fn small(value: i64) -> Option<i8> {
    i8::try_from(value).ok()
}

/// Reads a date at the front of a text and returns what follows.
fn date(text: &str) -> Option<(Day, &str)> {
    let mut at = Cursor { text };
    if text.starts_with(char::is_alphabetic) {
        // A weekday may stand before it; a month word begins an American date.
        let word = at.word();
        at.one_of(&[',', '.']);
        at.spaces();
        let Some(month) = month_word(word) else {
            return date(at.text).filter(|_| at.text != text);
        };
        let (day, _) = at.number(2)?;
        at.one_of(&[',']);
        at.spaces();
        let (y, digits) = at.number(4)?;
        return Some((Day::Is(Date::new(year(y, digits)?, month, small(day)?).ok()?), at.text));
    }
    let (first, digits) = at.number(8)?;
    if digits == 8 {
        let (y, m, d) = (first / 10_000, first / 100 % 100, first % 100);
        let date = Date::new(i16::try_from(y).ok()?, small(m)?, small(d)?).ok()?;
        return Some((Day::Is(date), at.text));
    }
    at.spaces();
    let mark = at
        .one_of(&['-', '/', '.'])
        .or_else(|| at.text.starts_with(char::is_alphabetic).then_some(' '))?;
    at.spaces();
    if at.text.starts_with(char::is_alphabetic) {
        let month = month_word(at.word())?;
        at.one_of(&['.']);
        at.one_of(&['-', '/', ' ', ',']);
        at.spaces();
        let (y, n) = at.number(4)?;
        let date = Date::new(year(y, n)?, month, small(first)?).ok()?;
        return Some((Day::Is(date), at.text));
    }
    let (second, _) = at.number(2)?;
    at.one_of(&[mark])?;
    at.spaces();
    let (third, third_digits) = at.number(4)?;
    if digits == 4 {
        let date = Date::new(year(first, 4)?, small(second)?, small(third)?).ok()?;
        return (third_digits <= 2).then_some((Day::Is(date), at.text));
    }
    if digits > 2 {
        return None;
    }
    let (a, b, y) = (small(first)?, small(second)?, year(third, third_digits)?);
    // A date with points is written day first wherever points are used.
    if mark == '.' {
        return Some((Day::Is(Date::new(y, b, a).ok()?), at.text));
    }
    let fits = Date::new(y, a, b).is_ok() || Date::new(y, b, a).is_ok();
    fits.then_some((Day::Numbers(a, b, y), at.text))
}

/// Reads a time at the front of a text and returns what follows.
fn time(text: &str) -> Option<(Time, &str)> {
    let mut at = Cursor { text };
    let (mut hour, _) = at.number(2)?;
    at.one_of(&[':', '.', 'h'])?;
    let (minute, digits) = at.number(2)?;
    if digits != 2 {
        return None;
    }
    let mut second = 0;
    if at.one_of(&[':', '.']).is_some() {
        second = at.number(2)?.0;
        if at.one_of(&['.', ',']).is_some() {
            // Parts of a second are less than a logger's clock can be trusted with.
            at.number(9)?;
        }
    }
    let rest = at.text;
    at.spaces();
    let half = at.text.to_ascii_lowercase();
    let afternoon =
        ["am", "a.m.", "pm", "p.m.", "a. m.", "p. m."].iter().find(|w| half.starts_with(**w));
    let rest = match afternoon {
        Some(word) => {
            if !(1..=12).contains(&hour) {
                return None;
            }
            hour = hour % 12 + if word.starts_with('p') { 12 } else { 0 };
            &at.text[word.len()..]
        }
        None => rest,
    };
    Some((Time::new(small(hour)?, small(minute)?, small(second)?, 0).ok()?, rest))
}

/// Reads an offset: `Z`, `+01:00`, `+0100`, `+01`, `UTC+1`.
fn offset(text: &str) -> Option<i32> {
    let text = text.trim();
    if matches!(text, "Z" | "z" | "UTC" | "GMT") {
        return Some(0);
    }
    let text = text.strip_prefix("UTC").or_else(|| text.strip_prefix("GMT")).unwrap_or(text);
    let mut at = Cursor { text };
    let sign = if at.one_of(&['+', '-', '−'])? == '+' { 1 } else { -1 };
    let (hours, _) = at.number(2)?;
    at.one_of(&[':']);
    let minutes = if at.text.is_empty() { 0 } else { at.number(2)?.0 };
    let ok = at.text.is_empty() && hours <= 14 && minutes < 60;
    ok.then(|| sign * i32::try_from(3600 * hours + 60 * minutes).unwrap_or(0))
}

/// Reads a whole cell as date and time.
pub(super) fn stamp(cell: &str) -> Option<Stamp> {
    if !cell.starts_with(|c: char| c.is_ascii_digit() || c.is_alphabetic()) {
        return None;
    }
    let (day, rest) = date(cell)?;
    let rest = rest.strip_prefix(['T', 't', ',', '_', '-']).unwrap_or(rest).trim_start();
    let (time, rest) = match packed_time(rest) {
        Some(found) => found,
        None => time(rest)?,
    };
    let rest = rest.trim();
    let east = if rest.is_empty() { None } else { Some(offset(rest)?) };
    Some(Stamp::Civil { day, time, east })
}

/// `1405` or `140530` behind a packed date.
fn packed_time(text: &str) -> Option<(Time, &str)> {
    let n = text.bytes().take_while(u8::is_ascii_digit).count();
    if n != 4 && n != 6 || text[n..].starts_with([':', '.']) {
        return None;
    }
    let two = |i: usize| text.get(i..i + 2).and_then(|t| t.parse::<i8>().ok());
    let second = if n == 6 { two(4)? } else { 0 };
    Some((Time::new(two(0)?, two(2)?, second, 0).ok()?, &text[n..]))
}

/// Reads a date and a time that stand in two cells.
pub(super) fn stamp_of_two(day: &str, hour: &str) -> Option<Stamp> {
    let (day, rest) = date(day)?;
    let rest = rest.trim();
    // A spreadsheet may write the date of a time as midnight.
    if !rest.is_empty() && !time(rest).is_some_and(|(t, r)| t == Time::midnight() && r.is_empty()) {
        return None;
    }
    let (time, rest) = time(hour.trim())?;
    let rest = rest.trim();
    let east = if rest.is_empty() { None } else { Some(offset(rest)?) };
    Some(Stamp::Civil { day, time, east })
}

/// Seconds or milliseconds since 1970, of this century.
pub(super) fn unix(cell: &str) -> Option<Stamp> {
    let whole = cell
        .split_once('.')
        .map_or(cell, |(w, f)| if f.bytes().all(|b| b.is_ascii_digit()) { w } else { cell });
    let value: i64 = whole.parse().ok()?;
    let seconds = match whole.len() {
        9 | 10 => value,
        12 | 13 => value.div_euclid(1000),
        _ => return None,
    };
    (946_684_800..4_102_444_800).contains(&seconds).then_some(Stamp::Instant(seconds))
}

/// Days since 1899-12-30 with parts of a day, of this century: 36,526 to 73,050.
pub(super) fn serial(value: f64) -> Option<Stamp> {
    if !(36_526.0..73_050.0).contains(&value) {
        return None;
    }
    let seconds = (value * 86_400.0).round() as i64;
    let day = i32::try_from(seconds.div_euclid(86_400)).ok()?;
    let date = dates::from_days(day - 25_569)?;
    let of_day = i32::try_from(seconds.rem_euclid(86_400)).ok()?;
    let time = Time::midnight().saturating_add(jiff::SignedDuration::from_secs(i64::from(of_day)));
    Some(Stamp::Civil { day: Day::Is(date), time, east: None })
}

impl Stamp {
    pub(super) fn civil(self, day_first: bool) -> Option<DateTime> {
        match self {
            Self::Civil { day, time, .. } => Some(day.date(day_first)?.to_datetime(time)),
            Self::Instant(_) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(cell: &str, day_first: bool) -> Option<String> {
        match stamp(cell)? {
            Stamp::Civil { day, time, east } => {
                let date = day.date(day_first)?;
                let east = east.map_or(String::new(), |e| format!(" {e:+}"));
                Some(format!("{date} {time}{east}"))
            }
            Stamp::Instant(s) => Some(s.to_string()),
        }
    }

    #[test]
    fn stamps_are_read_in_the_ways_they_are_written() {
        for (cell, expected) in [
            ("2025-11-21T14:05:30Z", "2025-11-21 14:05:30 +0"),
            ("2025-11-21 14:05", "2025-11-21 14:05:00"),
            ("2025/11/21 14:05:30.250", "2025-11-21 14:05:30"),
            ("2025-11-21T14:05:30+01:00", "2025-11-21 14:05:30 +3600"),
            ("2025-11-21 14:05:30 -0530", "2025-11-21 14:05:30 -19800"),
            ("21.11.2025 14:05", "2025-11-21 14:05:00"),
            ("21.11.25 14:05:09", "2025-11-21 14:05:09"),
            ("21/11/2025 14:05", "2025-11-21 14:05:00"),
            ("21-Nov-2025 02:05 PM", "2025-11-21 14:05:00"),
            ("Nov 21, 2025 2:05:00 PM", "2025-11-21 14:05:00"),
            ("Fri 21 Nov 2025 14:05", "2025-11-21 14:05:00"),
            ("21. Dez. 2025 14:05", "2025-12-21 14:05:00"),
            ("20251121T140530", "2025-11-21 14:05:30"),
            ("20251121 1405", "2025-11-21 14:05:00"),
            ("2025-11-21 12:05 a.m.", "2025-11-21 00:05:00"),
            ("2025-11-21 12:05 PM", "2025-11-21 12:05:00"),
        ] {
            assert_eq!(told(cell, true).as_deref(), Some(expected), "{cell}");
        }
        assert_eq!(told("11/21/2025 2:05 PM", false).as_deref(), Some("2025-11-21 14:05:00"));
        for cell in [
            "",
            "22.5",
            "2025-13-21 14:05",
            "2025-11-21",
            "hello",
            "2025-11-21 25:05",
            "60",
            "31.02.2025 10:00",
            "2025-11-21 14:05 lunch",
            "2025-11-21 14:05 PM",
        ] {
            assert_eq!(told(cell, true), None, "{cell}");
        }
    }

    #[test]
    fn numbers_that_count_time_are_read() {
        assert_eq!(unix("1763733900"), Some(Stamp::Instant(1_763_733_900)));
        assert_eq!(unix("1763733900123"), Some(Stamp::Instant(1_763_733_900)));
        assert_eq!((unix("45982"), unix("22.5")), (None, None));
        // 45982.5868… is 2025-11-21 14:05.
        let Some(Stamp::Civil { day, time, .. }) = serial(45_982.586_805_555_6) else { panic!() };
        assert_eq!(format!("{} {time}", day.date(true).unwrap()), "2025-11-21 14:05:00");
        assert_eq!(serial(21.5), None);
    }

    #[test]
    fn date_and_time_in_two_cells_are_one_stamp() {
        let Some(Stamp::Civil { day, time, .. }) = stamp_of_two("21.11.2025", "2:05 pm") else {
            panic!()
        };
        assert_eq!(format!("{} {time}", day.date(true).unwrap()), "2025-11-21 14:05:00");
        assert!(stamp_of_two("21.11.2025 00:00", "14:05").is_some());
        assert!(stamp_of_two("21.11.2025 03:00", "14:05").is_none());
        assert!(stamp_of_two("21.11.2025", "60").is_none());
    }
}
