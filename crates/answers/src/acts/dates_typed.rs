//! Dates as people type them into a form or behind a command.

use dates::Edtf;
use jiff::{ToSpan as _, civil::Date};

use crate::{AskError, Hand, Result};

/// Reads a date as typed: EDTF (`2024`, `2024-05`, `2024-21`, `2019/2020`, `1998~`), `today`,
/// `yesterday`, `3 days ago`, or day.month.year. Day and month in figures with slashes are not
/// guessed.
///
/// # Errors
/// If it is none of these; the error says what can be written.
pub fn read_date(typed: &str, hand: &Hand) -> Result<Edtf> {
    let text = typed.trim();
    let lower = text.to_lowercase();
    match lower.as_str() {
        "" | "today" | "now" | "heute" => return Ok(Edtf::from_day(hand.today)),
        "yesterday" | "gestern" => return Ok(Edtf::from_day(back(hand.today, 1))),
        "unknown" | "unbekannt" | "?" => return Ok(Edtf::unknown()),
        _ => {}
    }
    if let Ok(date) = Edtf::parse(text) {
        return Ok(date);
    }
    let days_ago = lower
        .strip_suffix(" days ago")
        .or_else(|| lower.strip_prefix("vor ").and_then(|r| r.strip_suffix(" tagen")));
    if let Some(n) = days_ago.and_then(|n| n.trim().parse::<i64>().ok()).filter(|n| *n < 40_000) {
        return Ok(Edtf::from_day(back(hand.today, n)));
    }
    if let Some(date) = day_month_year(text) {
        return Ok(date);
    }
    if let Some(date) = worded(&lower) {
        return Ok(date);
    }
    Err(AskError::field(
        "date",
        typed,
        "is not a date that can be read here; write it as 2024-05-07, 2024-05, 2024, spring 2024, today, or 7 May 2024",
    ))
}

fn back(day: Date, n: i64) -> Date {
    day.checked_sub(n.days()).unwrap_or(day)
}

fn day_month_year(text: &str) -> Option<Edtf> {
    let parts: Vec<&str> = text.split('.').map(str::trim).filter(|p| !p.is_empty()).collect();
    let [d, m, y] = parts.as_slice() else { return None };
    let date = Date::new(y.parse().ok()?, m.parse().ok()?, d.parse().ok()?).ok()?;
    (date.year() > 1000).then(|| Edtf::from_day(date))
}

const MONTHS: [&[&str]; 12] = [
    &["jan", "january", "januar"],
    &["feb", "february", "februar"],
    &["mar", "march", "märz", "mär"],
    &["apr", "april"],
    &["may", "mai"],
    &["jun", "june", "juni"],
    &["jul", "july", "juli"],
    &["aug", "august"],
    &["sep", "sept", "september"],
    &["oct", "october", "oktober", "okt"],
    &["nov", "november"],
    &["dec", "december", "dezember", "dez"],
];

const SEASONS: [(&[&str], u8); 4] = [
    (&["spring", "frühling", "frühjahr"], 21),
    (&["summer", "sommer"], 22),
    (&["autumn", "fall", "herbst"], 23),
    (&["winter"], 24),
];

/// “7 May 2024”, “May 2024”, “spring 2024”.
fn worded(lower: &str) -> Option<Edtf> {
    let words: Vec<&str> =
        lower.split([' ', ',', '.']).map(str::trim).filter(|w| !w.is_empty()).collect();
    let month = |w: &str| MONTHS.iter().position(|m| m.contains(&w)).map(|i| i + 1);
    match words.as_slice() {
        [season, year] if year.len() == 4 => {
            let year: u16 = year.parse().ok()?;
            if let Some((_, code)) = SEASONS.iter().find(|(s, _)| s.contains(season)) {
                return Edtf::parse(&format!("{year:04}-{code}")).ok();
            }
            Edtf::parse(&format!("{year:04}-{:02}", month(season)?)).ok()
        }
        [a, b, year] if year.len() == 4 => {
            let year: u16 = year.parse().ok()?;
            let (day, month) = match (month(a), month(b)) {
                (None, Some(m)) => (a.trim_end_matches(char::is_alphabetic).parse::<u8>().ok()?, m),
                (Some(m), None) => (b.trim_end_matches(char::is_alphabetic).parse::<u8>().ok()?, m),
                _ => return None,
            };
            Edtf::parse(&format!("{year:04}-{month:02}-{day:02}")).ok()
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use texts::Lang;

    fn hand() -> Hand {
        Hand {
            who: "Ines".to_owned(),
            device: "bench".to_owned(),
            now: "2025-11-21T18:00:00Z".parse().unwrap(),
            today: Date::constant(2025, 11, 21),
            lang: Lang::En,
            op: None,
        }
    }

    #[test]
    fn typed_dates_are_read_or_refused_but_never_guessed() {
        let cases = [
            ("today", "2025-11-21"),
            ("Yesterday", "2025-11-20"),
            ("3 days ago", "2025-11-18"),
            ("2024-05", "2024-05"),
            ("7 May 2024", "2024-05-07"),
            ("May 7, 2024", "2024-05-07"),
            ("spring 2024", "2024-21"),
            ("7.5.2024", "2024-05-07"),
            ("1998~", "1998~"),
            ("Herbst 2022", "2022-23"),
        ];
        for (typed, expected) in cases {
            assert_eq!(read_date(typed, &hand()).unwrap().as_str(), expected, "{typed}");
        }
        for typed in ["5/6/2024", "30 Feb 2022", "soon", "2024-13"] {
            let error = read_date(typed, &hand()).unwrap_err().to_string();
            assert!(error.contains(typed), "{error}");
        }
    }
}
