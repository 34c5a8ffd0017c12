//! Calendar weeks, quarters and half-years: intervals of days or months.

use std::sync::LazyLock;

use jiff::civil::{Date, ISOWeekDate, Weekday};
use regex::Regex;

use super::{Context, Read, numeric::full_year};
use crate::words::pattern;

const YEAR: &str = r"'?(\d{4}|\d{2})";
const WEEK: &str = r"(?:kw|kw\.|wk|wk\.|week|weeks|woche|kalenderwoche|semaine|sem\.|sem|semana|weeknr\.?|vecka|v\.|v)";

static WEEK_YEAR: LazyLock<Regex> = LazyLock::new(|| {
    pattern(&format!(r"^{WEEK}\s?(\d{{1,2}})\s?(?:[-/., ]|of|van|von|de|del|i|in)*\s?{YEAR}$"))
});
static NUMBER_WEEK_YEAR: LazyLock<Regex> =
    LazyLock::new(|| pattern(&format!(r"^(\d{{1,2}})\.?\s?{WEEK}\s?[-/., ]*\s?{YEAR}$")));
static YEAR_WEEK: LazyLock<Regex> =
    LazyLock::new(|| pattern(&format!(r"^(\d{{4}})\s?[-/., ]*\s?(?:{WEEK}|w)\s?(\d{{1,2}})$")));
static QUARTER: LazyLock<Regex> = LazyLock::new(|| {
    pattern(&format!(
        r"^(?:q|kw?artal|quartal|kwartaal|trim\.?|trimestre|t|kv\.?|kvartal)\s?([1-4])\s?[-/., ']*\s?{YEAR}$"
    ))
});
static NUMBER_QUARTER: LazyLock<Regex> = LazyLock::new(|| {
    pattern(&format!(
        r"^([1-4])(?:\.|e|er|o|º|st|nd|rd|th|:a|:e)?\s?(?:q|quarter|quartal|kwartaal|trim\.?|trimestre|kvartal(?:et)?)\s?(?:of|de|del|von|van)?\s?[-/., ']*\s?{YEAR}$"
    ))
});
static YEAR_QUARTER: LazyLock<Regex> =
    LazyLock::new(|| pattern(r"^(\d{4})\s?[-/., ]*\s?[qt]([1-4])$"));
static HALF: LazyLock<Regex> = LazyLock::new(|| {
    pattern(&format!(
        r"^(?:h([12])|([12])(?:\.|st|nd|e|er|o|º|:a)?\s?(?:half|halbjahr|hj\.?|semestre|halfjaar|halvar|halvaret))\s?(?:of|de|del|von|van)?\s?[-/., ']*\s?{YEAR}$"
    ))
});

fn interval(from: &str, to: &str, short: bool) -> Option<Read> {
    let read = Read::of(format!("{from}/{to}"))?.code("date_range");
    Some(if short { read.code("date_two_digit_year") } else { read })
}

fn months(year: &str, first: i8, last: i8, ctx: &Context) -> Option<Read> {
    let y = full_year(year, ctx);
    interval(&format!("{y:04}-{first:02}"), &format!("{y:04}-{last:02}"), year.len() == 2)
}

/// The days of a week counted after ISO 8601: week 1 holds the first Thursday of the year.
fn week(year: &str, number: &str, ctx: &Context) -> Option<Read> {
    let y = full_year(year, ctx);
    let monday: Date = ISOWeekDate::new(y, number.parse().ok()?, Weekday::Monday).ok()?.date();
    let sunday: Date = ISOWeekDate::new(y, number.parse().ok()?, Weekday::Sunday).ok()?.date();
    interval(&monday.to_string(), &sunday.to_string(), year.len() == 2)
}

/// "KW 12/2021", "Q2 2021", "1. Halbjahr 2020".
pub(super) fn read(t: &str, ctx: &Context) -> Option<Read> {
    let two = |re: &Regex| -> Option<(String, String)> {
        let c = re.captures(t)?;
        let mut groups = c.iter().skip(1).flatten().map(|m| m.as_str().to_owned());
        Some((groups.next()?, groups.next()?))
    };
    if let Some((number, year)) = two(&WEEK_YEAR).or_else(|| two(&NUMBER_WEEK_YEAR)) {
        return week(&year, &number, ctx);
    }
    if let Some((year, number)) = two(&YEAR_WEEK) {
        return week(&year, &number, ctx);
    }
    let quarter = two(&QUARTER)
        .or_else(|| two(&NUMBER_QUARTER))
        .or_else(|| two(&YEAR_QUARTER).map(|(year, number)| (number, year)));
    if let Some((number, year)) = quarter {
        let n: i8 = number.parse().ok()?;
        return months(&year, 3 * n - 2, 3 * n, ctx);
    }
    let (half, year) = two(&HALF)?;
    let n: i8 = half.parse().ok()?;
    months(&year, 6 * n - 5, 6 * n, ctx)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Language;

    #[test]
    fn weeks_quarters_and_halves_are_intervals() {
        let ctx = Context {
            order: super::super::Order::default(),
            lang: Language::De,
            written: None,
            last_year: 2030,
        };
        // Week 12 of 2021 began on Monday 22 March; week 1 of 2021 on 4 January (ISO 8601).
        for (text, edtf) in [
            ("kw 12/2021", "2021-03-22/2021-03-28"),
            ("kw12 21", "2021-03-22/2021-03-28"),
            ("2021-w01", "2021-01-04/2021-01-10"),
            ("12. kw 2021", "2021-03-22/2021-03-28"),
            ("vecka 1 2021", "2021-01-04/2021-01-10"),
            ("q2 2021", "2021-04/2021-06"),
            ("t2 2021", "2021-04/2021-06"),
            ("2e trimestre 2021", "2021-04/2021-06"),
            ("1. halbjahr 2020", "2020-01/2020-06"),
        ] {
            assert_eq!(read(text, &ctx).and_then(|r| r.edtf).as_deref(), Some(edtf), "{text}");
        }
        assert_eq!(read("kw 54 2021", &ctx), None);
        assert_eq!(read("12/2021", &ctx), None);
    }
}
