//! Dates of digits, with Roman months.

use std::sync::LazyLock;

use jiff::{ToSpan, civil::Date};
use regex::{Captures, Regex};

use super::{Context, Read};
use crate::words::pattern;

macro_rules! regexes {
    ($($name:ident = $text:expr;)*) => {
        $(static $name: LazyLock<Regex> = LazyLock::new(|| pattern($text));)*
    };
}

regexes! {
    ISO = r"^(\d{4})\s?[-./]\s?(\d{1,2})\s?[-./]\s?(\d{1,2})(?:[ t]\d{1,2}:\d{2}(?::\d{2})?)?$";
    COMPACT = r"^((?:19|20)\d{2})(\d{2})(\d{2})$";
    TRIPLE = r"^(\d{1,2})\s?([-./ ])\s?(\d{1,2})\.?\s?[-./, ]\s?'?(\d{4}|\d{2})\.?$";
    MONTH_YEAR = r"^(\d{1,2})\s?[-./]\s?(\d{4})$";
    YEAR_MONTH = r"^(\d{4})\s?([-./])\s?(\d{1,2})$";
    YEARS = r"^(\d{4})\s?[-/]\s?(\d{4})$";
    PAIR = r"^(\d{1,2})\s?[-./]\s?('?)(\d{2})$";
    YEAR = r"^(?:jahr |annee |ano |year |jaar |i |in |en |im )?(\d{4})\.?$";
    SHORT_YEAR = r"^'(\d{2})$";
    SERIAL = r"^(\d{5})(?:\.0)?$";
    ROMAN = r"^(?:(\d{1,2})\s?[-./ ]\s?)?(i|ii|iii|iv|v|vi|vii|viii|ix|x|xi|xii)\s?[-./ ]\s?'?(\d{4}|\d{2})$";
    MISSING = r"^(\d{3})[?x_]$|^(\d{2})(?:\?\?|xx|__)$";
    FULL_INSIDE = r"(?:^|[^\d])(\d{4}[-./]\d{1,2}[-./]\d{1,2}|\d{1,2}[-./]\d{1,2}[-./ ](?:\d{4}|\d{2}))(?:$|[^\d])";
    YEAR_INSIDE = r"(?:^|[^\d.,£$€])((?:19[5-9]|20[0-4])\d)(?:$|[^\d])";
    MONTH_INSIDE = r"(?:^|[^\d])(\d{1,2}[-./](?:19|20)\d{2})(?:$|[^\d])";
}

pub(super) fn full_year(digits: &str, ctx: &Context) -> i16 {
    let n: i16 = digits.parse().unwrap_or(0);
    if digits.len() > 2 {
        n
    } else if 2000 + n > ctx.last_year {
        1900 + n
    } else {
        2000 + n
    }
}

fn group<'t>(c: &Captures<'t>, i: usize) -> &'t str {
    c.get(i).map_or("", |m| m.as_str())
}

fn num(c: &Captures<'_>, i: usize) -> i8 {
    group(c, i).parse().unwrap_or(0)
}

pub(super) fn day(y: i16, m: i8, d: i8) -> Read {
    match Date::new(y, m, d) {
        Ok(date) => Read { edtf: Some(date.to_string()), ..Read::default() },
        Err(_) => Read::nothing("date_impossible"),
    }
}

pub(super) fn month(y: i16, m: i8) -> Read {
    if (1..=12).contains(&m) {
        Read { edtf: Some(format!("{y:04}-{m:02}")), ..Read::default() }
    } else {
        Read::nothing("date_impossible")
    }
}

/// `198?`, `20xx`: digits that are not known.
pub(super) fn digits_missing(t: &str) -> Option<Read> {
    let c = MISSING.captures(t)?;
    let edtf = match (c.get(1), c.get(2)) {
        (Some(decade), _) => format!("{}X", decade.as_str()),
        (_, Some(century)) => format!("{}XX", century.as_str()),
        _ => return None,
    };
    Read::of(edtf).map(|r| r.code("date_approximate"))
}

pub(super) fn read(t: &str, ctx: &Context) -> Option<Read> {
    if let Some(c) = ISO.captures(t).or_else(|| COMPACT.captures(t)) {
        return Some(day(full_year(group(&c, 1), ctx), num(&c, 2), num(&c, 3)));
    }
    if let Some(c) = TRIPLE.captures(t) {
        return Some(triple(&c, ctx));
    }
    if let Some(c) = YEARS.captures(t) {
        return Read::of(format!("{}/{}", group(&c, 1), group(&c, 2)))
            .map(|r| r.code("date_range"));
    }
    if let Some(c) = MONTH_YEAR.captures(t) {
        return Some(month(full_year(group(&c, 2), ctx), num(&c, 1)));
    }
    if let Some(c) = YEAR_MONTH.captures(t) {
        return Some(year_month(&c));
    }
    if let Some(c) = PAIR.captures(t) {
        return Some(pair(&c, ctx));
    }
    if let Some(c) = YEAR.captures(t) {
        let plausible = ("1800".."2100").contains(&group(&c, 1));
        return plausible.then(|| Read::of(group(&c, 1).to_owned())).flatten();
    }
    if let Some(c) = SHORT_YEAR.captures(t) {
        return Read::of(full_year(group(&c, 1), ctx).to_string())
            .map(|r| r.code("date_two_digit_year"));
    }
    if let Some(c) = SERIAL.captures(t) {
        return serial(group(&c, 1).parse().unwrap_or(0));
    }
    roman(t, ctx)
}

/// A day counted by a spreadsheet from 1899-12-30.
pub(crate) fn serial(days: i64) -> Option<Read> {
    // 1975 to 2064: other five-digit numbers are not taken for dates.
    if !(27_400..60_300).contains(&days) {
        return None;
    }
    let date = Date::constant(1899, 12, 30).checked_add(days.days()).ok()?;
    Read::of(date.to_string()).map(|r| r.code("date_serial"))
}

fn year_month(c: &Captures<'_>) -> Read {
    let (y, text) = (group(c, 1).parse::<i16>().unwrap_or(0), group(c, 3));
    let n = num(c, 3);
    if text.len() == 2 && n > 12 {
        let end = y / 100 * 100 + i16::from(n);
        return Read::of(format!("{y}/{end}"))
            .map_or_else(|| Read::nothing("date_impossible"), |r| r.code("date_range"));
    }
    // 2011/12 is as likely the two years as December.
    if group(c, 2) == "/" && i16::from(n) == y % 100 + 1 {
        return Read { ambiguous: true, ..Read::nothing("ambiguous_date") };
    }
    month(y, n)
}

fn pair(c: &Captures<'_>, ctx: &Context) -> Read {
    let (a, b) = (num(c, 1), num(c, 3));
    if (1..=12).contains(&a) && (b > 12 || b == 0 || group(c, 2) == "'") {
        return month(full_year(group(c, 3), ctx), a).code("date_two_digit_year");
    }
    if a > 12 {
        return Read::nothing("date_no_year");
    }
    Read { ambiguous: true, ..Read::nothing("ambiguous_date") }
}

fn triple(c: &Captures<'_>, ctx: &Context) -> Read {
    let (a, b, last) = (num(c, 1), num(c, 3), group(c, 4));
    let short = last.len() == 2;
    let third: i8 = if short { last.parse().unwrap_or(0) } else { 0 };
    let year_first = short
        && third <= 31
        && b <= 12
        && (a > 31 || (group(c, 2) == "-" && group(c, 1).len() == 2 && ctx.order.year_first));
    let mut read = if year_first {
        day(full_year(group(c, 1), ctx), b, third)
    } else {
        day_and_month(a, b, full_year(last, ctx), short && (1..=12).contains(&third), ctx)
    };
    if short && !read.ambiguous {
        read.codes.push("date_two_digit_year");
    }
    read
}

fn day_and_month(a: i8, b: i8, y: i16, year_unclear: bool, ctx: &Context) -> Read {
    if a > 12 || a == b {
        return day(y, b, a);
    }
    if b > 12 {
        return day(y, a, b);
    }
    match ctx.order.day_first {
        Some(true) => day(y, b, a).code("date_order_from_file"),
        Some(false) => day(y, a, b).code("date_order_from_file"),
        None if year_unclear => Read { ambiguous: true, ..Read::nothing("ambiguous_date") },
        None => {
            let (one, two) = (day(y, b, a).edtf, day(y, a, b).edtf);
            let mut both: Vec<String> = [one, two].into_iter().flatten().collect();
            both.sort();
            Read {
                edtf: Some(format!("[{}]", both.join(","))),
                ambiguous: true,
                codes: vec!["ambiguous_date"],
                ..Read::default()
            }
        }
    }
}

fn roman(t: &str, ctx: &Context) -> Option<Read> {
    let c = ROMAN.captures(t)?;
    let names = ["i", "ii", "iii", "iv", "v", "vi", "vii", "viii", "ix", "x", "xi", "xii"];
    let m = (1i8..).zip(names).find(|(_, n)| *n == group(&c, 2))?.0;
    let y = full_year(group(&c, 3), ctx);
    let mut read = if c.get(1).is_some() { day(y, m, num(&c, 1)) } else { month(y, m) };
    if group(&c, 3).len() == 2 {
        read.codes.push("date_two_digit_year");
    }
    Some(read.code("date_roman_month"))
}

pub(super) fn inside(t: &str, ctx: &Context) -> Option<Read> {
    let found = FULL_INSIDE
        .captures(t)
        .or_else(|| MONTH_INSIDE.captures(t))
        .and_then(|c| read(group(&c, 1), ctx));
    found.filter(|r| r.edtf.is_some() || r.ambiguous)
}

pub(super) fn year_inside(t: &str) -> Option<Read> {
    Read::of(group(&YEAR_INSIDE.captures(t)?, 1).to_owned())
}

pub(super) fn evidence(t: &str) -> Option<bool> {
    let c = FULL_INSIDE.captures(t)?;
    let c = TRIPLE.captures(group(&c, 1))?;
    let (a, b) = (num(&c, 1), num(&c, 3));
    if a > 12 && b <= 12 {
        // 21-08-14 may start with the year and then says nothing.
        let doubtful = group(&c, 4).len() == 2 && group(&c, 2) == "-";
        (!doubtful).then_some(true)
    } else if b > 12 && a <= 12 {
        Some(false)
    } else {
        None
    }
}

pub(super) fn year_first(t: &str) -> bool {
    ISO.is_match(t.trim())
}
