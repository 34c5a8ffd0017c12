//! Dates with words: months by name, seasons, feasts, parts of a year, decades.

use std::sync::LazyLock;

use jiff::{ToSpan, civil::Date};
use regex::Regex;

use super::{
    Context, Read,
    numeric::{day, full_year, month, year_inside},
};
use crate::words::{self, find, has, pattern};

static DECADE: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"^(?:the |in den |den |die |les |de |los |anni |early |late |mid )?(?:annees |anos |jaren )?'?(\d{4}|\d{2})(?:'?s|er(?: jahre?n?)?|-?er|-?talet|-?tal|er-jahre)?$",
    )
});
static DECADE_MARK: LazyLock<Regex> =
    LazyLock::new(|| pattern(r"annees|anos \d|jaren|\ds$|\d's$|\der|talet|\dtal|-tal"));
static TWO_YEARS: LazyLock<Regex> =
    LazyLock::new(|| pattern(r"'?(\d{4}|\d{2})\s?[-/]\s?'?(\d{4}|\d{2})"));
static ONE_YEAR: LazyLock<Regex> =
    LazyLock::new(|| pattern(r"(?:^|[^\d])('?)(\d{4}|\d{2})(?:$|[^\d])"));

pub(super) fn read(t: &str, ctx: &Context) -> Option<Read> {
    if t.ends_with(" ago") || (has(t, "ago") && words::month(last_word(t)).is_none()) {
        let near = [
            "gestern",
            "hier",
            "ayer",
            "gisteren",
            "i gar",
            "yesterday",
            "week",
            "woche",
            "month",
            "monat",
            "semana",
            "mes",
            "semaine",
            "mois",
            "maand",
            "vecka",
            "manad",
        ];
        let counted = t.chars().any(|c| c.is_ascii_digit()) || near.iter().any(|w| t.contains(w));
        let code = if counted { "date_relative" } else { "date_not_a_date" };
        return Some(Read::nothing(code));
    }
    if let Some(range) = find(t, "part")
        && range.start == 0
    {
        let rest = t[range.end..].trim_start_matches(['-', ' ', '.']);
        let rest = ["of ", "de ", "d'", "des ", "van ", "av ", "der ", "del "]
            .iter()
            .find_map(|p| rest.strip_prefix(p))
            .unwrap_or(rest);
        let read = super::expression(rest, ctx)?;
        let vague = read.edtf.is_some() && !read.codes.contains(&"date_shortened");
        return Some(if vague { read.code("date_shortened") } else { read });
    }
    decade(t)
        .or_else(|| season(t, ctx))
        .or_else(|| feast(t, ctx))
        .or_else(|| named_month(t, ctx))
        .or_else(|| relative(t, ctx))
}

fn last_word(t: &str) -> &str {
    t.rsplit(' ').next().unwrap_or(t)
}

fn decade(t: &str) -> Option<Read> {
    if !DECADE_MARK.is_match(t) {
        return None;
    }
    let digits = DECADE.captures(t)?.get(1)?.as_str();
    let tens = if digits.len() == 4 {
        digits.get(..3)?.to_owned()
    } else {
        let century = if digits < "30" { "20" } else { "19" };
        format!("{century}{}", digits.get(..1)?)
    };
    digits
        .ends_with('0')
        .then(|| Read::of(format!("{tens}X")))
        .flatten()
        .map(|r| r.code("date_approximate"))
}

struct Year {
    year: i16,
    short: bool,
    two: bool,
}

fn year_in(t: &str, ctx: &Context) -> Option<Year> {
    if let Some(c) = TWO_YEARS.captures(t) {
        let (a, b) = (c.get(1)?.as_str(), c.get(2)?.as_str());
        let (first, second) = (full_year(a, ctx), full_year(b, ctx));
        if second == first + 1 {
            return Some(Year { year: first, short: a.len() == 2, two: true });
        }
    }
    let c = ONE_YEAR.captures(t)?;
    let digits = c.get(2)?.as_str();
    Some(Year { year: full_year(digits, ctx), short: digits.len() == 2, two: false })
}

fn season(t: &str, ctx: &Context) -> Option<Read> {
    let names = [("spring", 21), ("summer", 22), ("autumn", 23), ("winter", 24)];
    let (number, range) = names.iter().find_map(|(m, n)| find(t, m).map(|r| (*n, r)))?;
    let mut rest = t.to_owned();
    rest.replace_range(range, " ");
    let Some(year) = year_in(&rest, ctx) else {
        return Some(without_year(t, ctx, None));
    };
    if year.two && number != 24 {
        return None;
    }
    let mut read = Read::of(format!("{}-{number}", year.year))?;
    if has(&rest, "part") {
        read.codes.push("date_shortened");
    }
    if year.short {
        read.codes.push("date_two_digit_year");
    }
    read.codes.push("date_season");
    if year.two {
        read.codes.push("date_winter_two_years");
    }
    Some(read)
}

/// A winter with both its years ("hiver 2021-2022"), which is no interval.
pub(super) fn winter(t: &str, ctx: &Context) -> Option<Read> {
    if !has(t, "winter") || !year_in(t, ctx)?.two {
        return None;
    }
    season(t, ctx)
}

/// Easter Sunday of a year of the Gregorian calendar, by the method of Meeus, Jones and Butcher.
fn easter(year: i16) -> Option<Date> {
    let y = i32::from(year);
    let (a, b, c) = (y % 19, y / 100, y % 100);
    let (d, e) = (b / 4, b % 4);
    let g = (8 * b + 13) / 25;
    let h = (19 * a + b - d - g + 15) % 30;
    let (i, k) = (c / 4, c % 4);
    let l = (32 + 2 * e + 2 * i - h - k) % 7;
    let m = (a + 11 * h + 19 * l) / 433;
    let n = (h + l - 7 * m + 90) / 25;
    let p = (h + l - 7 * m + 33 * n + 19) % 32;
    Date::new(year, i8::try_from(n).ok()?, i8::try_from(p).ok()?).ok()
}

#[derive(Clone, Copy)]
enum Feast {
    Month(i8),
    Moving(i64),
    Mothers,
}

impl Feast {
    fn edtf(self, year: i16) -> Option<String> {
        match self {
            Feast::Month(m) => Some(format!("{year:04}-{m:02}")),
            Feast::Moving(days) => {
                let date = easter(year)?.checked_add(days.days()).ok()?;
                Some(format!("{year:04}-{:02}", date.month()))
            }
            // March in Britain, May in most other countries.
            Feast::Mothers => Some(format!("[{year:04}-03,{year:04}-05]")),
        }
    }
}

fn feast_in(t: &str) -> Option<(Feast, std::ops::Range<usize>)> {
    let moving = [("easter", 0), ("pentecost", 49), ("carnival", -47)];
    for (meaning, days) in moving {
        if let Some(range) = find(t, meaning) {
            return Some((Feast::Moving(days), range));
        }
    }
    if let Some(range) = find(t, "mothersday") {
        return Some((Feast::Mothers, range));
    }
    let months = [
        "holiday1",
        "holiday2",
        "holiday3",
        "holiday4",
        "holiday5",
        "holiday6",
        "holiday7",
        "holiday8",
        "holiday9",
        "holiday10",
        "holiday11",
        "holiday12",
    ];
    let found = |(m, meaning): (i8, &&str)| find(t, meaning).map(|r| (Feast::Month(m), r));
    // The longest phrase wins: "boxing day" before "day".
    (1i8..).zip(months.iter()).filter_map(found).max_by_key(|(_, r)| r.len())
}

fn feast(t: &str, ctx: &Context) -> Option<Read> {
    let (feast, range) = feast_in(t)?;
    let plain_month = words::month(&t[range.clone()]).is_some();
    if plain_month && ctx.lang != crate::Language::Sv {
        return None;
    }
    let mut rest = t.to_owned();
    rest.replace_range(range, " ");
    let Some(year) = year_in(&rest, ctx) else {
        return Some(without_year(t, ctx, Some(feast)));
    };
    let mut read = Read::of(feast.edtf(year.year)?)?;
    if year.short {
        read.codes.push("date_two_digit_year");
    }
    Some(read.code("date_holiday"))
}

/// "last xmas", "Easter this year": known only if the list says when it was written.
fn without_year(t: &str, ctx: &Context, feast: Option<Feast>) -> Read {
    let (last, this) = (has(t, "last"), has(t, "this"));
    if !last && !this {
        return Read::nothing("date_no_year");
    }
    let (Some(written), Some(feast)) = (ctx.written, feast) else {
        return Read::nothing("date_relative");
    };
    let same_year = feast.edtf(written.year());
    let past = same_year
        .as_ref()
        .and_then(|e| dates::Edtf::parse(e).ok())
        .and_then(|e| e.latest())
        .is_some_and(|d| d < written);
    let edtf = match (this, past) {
        (true, _) | (false, true) => same_year,
        (false, false) => feast.edtf(written.year() - 1),
    };
    let read = Read { edtf, ..Read::nothing("date_relative") };
    read.code("date_holiday")
}

fn relative(t: &str, ctx: &Context) -> Option<Read> {
    let (last, this) = (has(t, "last"), has(t, "this"));
    if !(last || this) || !has(t, "year") {
        return if last { Some(Read::nothing("date_relative")) } else { None };
    }
    let Some(written) = ctx.written else { return Some(Read::nothing("date_relative")) };
    let year = if this { written.year() } else { written.year() - 1 };
    Read::of(year.to_string()).map(|r| r.code("date_relative"))
}

struct Number<'t> {
    text: &'t str,
    ordinal: bool,
    tick: bool,
    after_month: bool,
}

fn named_month(t: &str, ctx: &Context) -> Option<Read> {
    let mut months = Vec::new();
    let mut numbers: Vec<Number<'_>> = Vec::new();
    let mut strange = 0;
    for token in t.split([' ', '-', '/', '.', ',', '(', ')', ':']).filter(|w| !w.is_empty()) {
        if let Some(m) = words::month(token) {
            months.push(m.cast_signed());
            continue;
        }
        let digits = token.trim_start_matches('\'');
        let tail = digits.trim_start_matches(|c: char| c.is_ascii_digit());
        let bare = &digits[..digits.len() - tail.len()];
        let ordinal = matches!(
            tail,
            "st" | "nd" | "rd" | "th" | "er" | "e" | "º" | "°" | "de" | "ste" | "a" | ":a" | ":e"
        );
        if bare.is_empty() || !(tail.is_empty() || ordinal) || bare.len() > 4 || bare.len() == 3 {
            strange += usize::from(!filler(token));
            continue;
        }
        let tick = token.starts_with('\'');
        numbers.push(Number { text: bare, ordinal, tick, after_month: !months.is_empty() });
    }
    if strange > 0 || months.is_empty() || months.len() > 1 {
        return None;
    }
    Some(month_and_numbers(*months.first()?, &numbers, ctx))
}

fn filler(token: &str) -> bool {
    matches!(
        token,
        "of" | "de"
            | "del"
            | "le"
            | "den"
            | "der"
            | "am"
            | "im"
            | "in"
            | "on"
            | "the"
            | "i"
            | "en"
            | "el"
            | "op"
            | "van"
            | "mon"
            | "tue"
            | "wed"
            | "thu"
            | "fri"
            | "sat"
            | "sun"
            | "montag"
            | "dienstag"
            | "mittwoch"
            | "donnerstag"
            | "freitag"
            | "samstag"
            | "sonntag"
            | "mo"
            | "di"
            | "mi"
            | "do"
            | "fr"
            | "sa"
            | "so"
            | "monday"
            | "tuesday"
            | "wednesday"
            | "thursday"
            | "friday"
            | "saturday"
            | "sunday"
            | "samedi"
            | "dimanche"
            | "sabado"
            | "domingo"
            | "zaterdag"
            | "zondag"
            | "lordag"
            | "sondag"
            | "ler"
            | "about"
    )
}

fn month_and_numbers(m: i8, numbers: &[Number<'_>], ctx: &Context) -> Read {
    let short = |text: &str| text.len() <= 2;
    let with_code = |read: Read, text: &str| {
        if short(text) { read.code("date_two_digit_year") } else { read }
    };
    match numbers {
        [] => Read::nothing("date_no_year"),
        [n] if n.text.len() == 4 => month(full_year(n.text, ctx), m),
        [n] if n.tick || (n.after_month && !n.ordinal && n.text.len() == 2) => {
            with_code(month(full_year(n.text, ctx), m), n.text)
        }
        [_] => Read::nothing("date_no_year"),
        [a, b] => {
            let (d, y) = if a.text.len() == 4 && !a.ordinal { (b, a) } else { (a, b) };
            if d.text.len() > 2 || y.text.len() == 1 {
                return Read::nothing("date_impossible");
            }
            let number = d.text.parse().unwrap_or(0);
            with_code(day(full_year(y.text, ctx), m, number), y.text)
        }
        _ => Read::nothing("date_not_a_date"),
    }
}

/// A month by name with its year, or a year alone, among other words.
pub(super) fn inside(t: &str, ctx: &Context) -> Option<Read> {
    let tokens: Vec<&str> = t.split([' ', ',', ';', '(', ')']).filter(|w| !w.is_empty()).collect();
    let at = tokens.iter().position(|w| words::month(w).is_some());
    if let Some(at) = at {
        for from in [at.saturating_sub(1), at] {
            for to in [at + 3, at + 2] {
                let Some(part) = tokens.get(from..to.min(tokens.len())) else { continue };
                if let Some(read) = named_month(&part.join(" "), ctx)
                    && read.edtf.is_some()
                {
                    return Some(read);
                }
            }
        }
    }
    season(t, ctx).or_else(|| feast(t, ctx)).filter(|r| r.edtf.is_some()).or_else(|| year_inside(t))
}
