//! Dates as lists have them, turned into EDTF; what cannot be known stays open.

mod numeric;
mod span;
mod worded;

use dates::Edtf;
use jiff::civil::Date;

use crate::{
    Language,
    fold::fold,
    words::{self, find, has, is},
};

/// Which number comes first in 12/3/2020, if that is known, and from where.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Order {
    pub day_first: Option<bool>,
    /// Short years come first (21-08-14).
    pub year_first: bool,
}

#[derive(Debug, Clone, Copy)]
pub(crate) struct Context {
    pub order: Order,
    pub lang: Language,
    /// When the file says it was written.
    pub written: Option<Date>,
    /// Last year a two-digit year may mean.
    pub last_year: i16,
}

#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Read {
    pub edtf: Option<String>,
    pub codes: Vec<&'static str>,
    pub ambiguous: bool,
    pub sowing: bool,
    /// A date was found among other words.
    pub embedded: bool,
}

impl Read {
    fn code(mut self, code: &'static str) -> Self {
        self.codes.push(code);
        self
    }

    fn of(edtf: String) -> Option<Self> {
        // A year before 1900 or a day that does not exist is caught here, once.
        Edtf::parse(&edtf).ok()?;
        Some(Self { edtf: Some(edtf), ..Self::default() })
    }

    fn nothing(code: &'static str) -> Self {
        Self { codes: vec![code], ..Self::default() }
    }
}

/// Reads a date cell.
pub(crate) fn read(text: &str, ctx: &Context) -> Read {
    let mut t = fold(text).trim().trim_end_matches([',', ';']).trim().to_owned();
    if t.is_empty() || t == "-" || t == "--" || t == "---" {
        return Read::nothing("date_missing");
    }
    if is(&t, "unknown") || t.chars().all(|c| c == '?' || c == ' ') {
        return Read::nothing("date_unknown_stated");
    }
    let mut sowing = false;
    while let Some(range) = find(&t, "sowing") {
        t.replace_range(range, " ");
        sowing = true;
    }
    let t = t.trim().trim_start_matches([':', '-', '=']).trim();
    let mut read = expression(t, ctx).or_else(|| embedded(t, ctx)).unwrap_or_else(|| {
        let words_only = Read::nothing("date_not_a_date");
        if is(t, "unknown") { Read::nothing("date_unknown_stated") } else { words_only }
    });
    if sowing {
        read.sowing = true;
        read.codes.push("date_is_sowing");
    }
    read
}

fn mark(mut read: Read, sign: char, code: &'static str) -> Read {
    let plain = |e: &String| !e.contains(['[', '/', 'X', '?', '~']);
    read.edtf = read.edtf.map(|e| if plain(&e) { format!("{e}{sign}") } else { e });
    read.code(code)
}

fn expression(t: &str, ctx: &Context) -> Option<Read> {
    let t = t.trim();
    if t.is_empty() {
        return None;
    }
    if let Some(read) = numeric::digits_missing(t) {
        return Some(read);
    }
    if t.contains('?') {
        let bare = t.replace("(?)", " ").replace('?', " ");
        return expression(bare.trim(), ctx).map(|r| mark(r, '?', "date_uncertain"));
    }
    if let Some(rest) = about(t) {
        return expression(rest, ctx).map(|r| mark(r, '~', "date_approximate"));
    }
    if let Some(read) = bound(t, ctx) {
        return Some(read);
    }
    if let Some(read) = one_of(t, ctx) {
        return Some(read);
    }
    if let Some(read) = span::read(t, ctx).or_else(|| numeric::read(t, ctx)) {
        return Some(read);
    }
    if let Some(read) = worded::winter(t, ctx).or_else(|| range(t, ctx)) {
        return Some(read);
    }
    worded::read(t, ctx)
}

/// The rest after "about", "ca." and the like.
fn about(t: &str) -> Option<&str> {
    if let Some(rest) = t.strip_prefix(['~', '±', '≈']) {
        return Some(rest);
    }
    for ending in ["-ish", "ish", " or so", " oder so", " environ", " of zo"] {
        if let Some(rest) = t.strip_suffix(ending)
            && rest.ends_with(|c: char| c.is_ascii_digit())
        {
            return Some(rest);
        }
    }
    let range = find(t, "about")?;
    if range.start != 0 {
        return None;
    }
    Some(t[range.end..].trim_start_matches(['.', ' ', ',']))
}

fn bound(t: &str, ctx: &Context) -> Option<Read> {
    for (meaning, before) in [("before", true), ("after", false)] {
        let Some(range) = find(t, meaning) else { continue };
        if range.start != 0 {
            continue;
        }
        let rest = t[range.end..].trim_start_matches([' ', '-', '.']);
        let Some(read) = expression(rest, ctx) else { continue };
        let Some(edtf) = read.edtf else { continue };
        if edtf.contains(['[', '/']) {
            continue;
        }
        let edtf = if before { format!("/{edtf}") } else { format!("{edtf}/") };
        let code = if before { "date_before" } else { "date_range" };
        return Read::of(edtf).map(|mut r| {
            r.codes = read.codes;
            r.code(code)
        });
    }
    None
}

/// Whether a folded phrase of "or" counts in this language.
pub(crate) fn or_word(word: &str, lang: Language) -> bool {
    let long = word.len() > 2;
    words::meanings(word).iter().any(|m| m.0 == "or" && (long || m.1 == Some(lang)))
        || (word == "or")
}

fn one_of(t: &str, ctx: &Context) -> Option<Read> {
    let tokens: Vec<&str> = t.split(' ').collect();
    let at = tokens.iter().position(|w| or_word(w, ctx.lang))?;
    let right = expression(&tokens[at + 1..].join(" "), ctx)?;
    let year = right.edtf.as_ref()?.get(..4)?.to_owned();
    let left_text = tokens[..at].join(" ");
    let left = expression(&left_text, ctx)
        .filter(|l| l.edtf.is_some())
        .or_else(|| expression(&format!("{left_text} {year}"), ctx))?;
    let (a, b) = (left.edtf?, right.edtf?);
    Read::of(format!("[{a},{b}]")).map(|mut r| {
        r.codes = right.codes;
        r.code("date_one_of")
    })
}

fn range(t: &str, ctx: &Context) -> Option<Read> {
    let opened =
        ["between ", "zwischen ", "entre ", "tussen ", "mellan ", "from ", "von ", "de ", "van "];
    let t = opened.iter().find_map(|p| t.strip_prefix(p)).unwrap_or(t);
    let joints = [
        " to ", " - ", " bis ", " until ", " and ", " und ", " et ", " y ", " en ", " och ",
        " t/m ", " tot ", " till ", " a ", " hasta ", "-", "/",
    ];
    for joint in joints {
        let Some((a, b)) = t.split_once(joint) else { continue };
        // "mid-May", "mi-mai" is no interval.
        if is(a.trim(), "part") {
            continue;
        }
        let Some(right) = expression(b, ctx).filter(|r| r.edtf.is_some() && !r.ambiguous) else {
            continue;
        };
        let right_edtf = right.edtf.clone()?;
        if right_edtf.contains(['[', '/', '?', '~']) {
            continue;
        }
        let full = expression(a, ctx).filter(|l| l.edtf.is_some() && !l.ambiguous);
        let borrowed = || {
            let year = right_edtf.get(..4)?;
            // "March-April 2021": the first month has the year of the second.
            if a.trim().chars().any(|c| c.is_ascii_digit()) {
                return None;
            }
            expression(&format!("{} {year}", a.trim()), ctx).filter(|l| l.edtf.is_some())
        };
        let Some(left) = full.or_else(borrowed) else { continue };
        let left_edtf = left.edtf?;
        if left_edtf.contains(['[', '/', '?', '~']) {
            continue;
        }
        if let Some(mut read) = Read::of(format!("{left_edtf}/{right_edtf}")) {
            read.codes = right.codes;
            return Some(read.code("date_range"));
        }
    }
    None
}

/// A date somewhere among other words.
fn embedded(t: &str, ctx: &Context) -> Option<Read> {
    let ago = ["vor ", "il y a ", "hace ", "for "].iter().any(|p| {
        t.strip_prefix(p)
            .is_some_and(|r| r.contains(' ') && r.starts_with(|c: char| c.is_ascii_digit()))
    });
    let years = ["anos", "ans", "jahren", "jaren", "years", "ar sedan", "annees"];
    if has(t, "ago")
        && !t.chars().any(|c| c.is_ascii_digit())
        && years.iter().any(|y| t.contains(y))
    {
        return Some(Read::nothing("date_not_a_date"));
    }
    if ago || has(t, "last") || has(t, "ago") {
        return Some(Read::nothing("date_relative"));
    }
    let found =
        phrase(t, ctx).or_else(|| numeric::inside(t, ctx)).or_else(|| worded::inside(t, ctx))?;
    Some(Read { embedded: true, ..found })
}

/// The longest run of words that is a date with a word to it ("vers 2016", "vor 2010").
fn phrase(t: &str, ctx: &Context) -> Option<Read> {
    let tokens: Vec<&str> = t.split(' ').collect();
    if tokens.len() > 14 || !t.chars().any(|c| c.is_ascii_digit()) {
        return None;
    }
    let starts: Vec<usize> = (0..tokens.len())
        .filter(|i| {
            let w = tokens[*i].trim_end_matches('.');
            is(w, "about") || is(w, "before") || is(w, "part") || is(tokens[*i], "about")
        })
        .collect();
    starts.into_iter().find_map(|from| {
        (from + 2..=tokens.len().min(from + 5)).rev().find_map(|to| {
            let last = tokens[to - 1];
            let dated = last.chars().any(|c| c.is_ascii_digit());
            let text = tokens[from..to].join(" ");
            dated.then(|| expression(&text, ctx)).flatten().filter(|r| r.edtf.is_some())
        })
    })
}

/// Day-first or month-first evidence in a cell: `Some(true)` where the day must come first.
pub(crate) fn evidence(text: &str) -> Option<bool> {
    numeric::evidence(&fold(text))
}

/// Whether the cell holds a short date that starts with the year, or a full one that does.
pub(crate) fn starts_with_year(text: &str) -> bool {
    numeric::year_first(&fold(text))
}
