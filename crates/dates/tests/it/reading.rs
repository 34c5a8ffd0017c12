//! Notation in, first and last day out.

use dates::{Edtf, EdtfError, Hemisphere, Precision, from_days, to_days};
use jiff::civil::{Date, date};
use proptest::prelude::*;

fn open(day: Option<Date>) -> String {
    day.map_or_else(|| "-".to_owned(), |d| d.to_string())
}

#[test]
fn bounds_of_each_form() {
    let cases = [
        ("2024", "2024-01-01", "2024-12-31", Precision::Year),
        ("2024-02", "2024-02-01", "2024-02-29", Precision::Month),
        ("2023-02-XX", "2023-02-01", "2023-02-28", Precision::Month),
        ("2024-XX", "2024-01-01", "2024-12-31", Precision::Year),
        ("2024-05-07", "2024-05-07", "2024-05-07", Precision::Day),
        ("2022-21", "2022-03-01", "2022-05-31", Precision::Season),
        ("2022-22", "2022-06-01", "2022-08-31", Precision::Season),
        ("2022-23", "2022-09-01", "2022-11-30", Precision::Season),
        ("2022-24", "2022-12-01", "2023-02-28", Precision::Season),
        ("2022-29", "2022-09-01", "2022-11-30", Precision::Season),
        ("198X", "1980-01-01", "1989-12-31", Precision::Decade),
        ("19XX", "1900-01-01", "1999-12-31", Precision::Century),
        ("2019/2020", "2019-01-01", "2020-12-31", Precision::Interval),
        ("2019-05/..", "2019-05-01", "-", Precision::Interval),
        ("/2015", "-", "2015-12-31", Precision::Interval),
        ("../2015-03-02", "-", "2015-03-02", Precision::Interval),
        ("[2019,2020-05]", "2019-01-01", "2020-05-31", Precision::OneOf),
        ("[2023-04-07,2023-07-04]", "2023-04-07", "2023-07-04", Precision::OneOf),
        ("[2019..2021]", "2019-01-01", "2021-12-31", Precision::OneOf),
        ("1998~", "1998-01-01", "1998-12-31", Precision::Year),
        ("2018?", "2018-01-01", "2018-12-31", Precision::Year),
        ("XXXX", "-", "-", Precision::Unknown),
        ("/", "-", "-", Precision::Unknown),
        ("9999-24", "9999-12-01", "9999-12-31", Precision::Season),
    ];
    for (text, first, last, precision) in cases {
        let date = Edtf::parse(text).unwrap();
        assert_eq!(open(date.earliest()), first, "earliest of {text}");
        assert_eq!(open(date.latest()), last, "latest of {text}");
        assert_eq!(date.precision(), precision, "precision of {text}");
        assert_eq!(date.as_str(), text);
        let back: Edtf = serde_json::from_str(&serde_json::to_string(&date).unwrap()).unwrap();
        assert_eq!(back, date);
    }
}

#[test]
fn doubts_are_kept() {
    let of = |text: &str| {
        let date = Edtf::parse(text).unwrap();
        (date.uncertain(), date.approximate(), date.day().is_some())
    };
    assert_eq!(of("2018?"), (true, false, false));
    assert_eq!(of("1998~"), (false, true, false));
    assert_eq!(of("2018-05-03%"), (true, true, false));
    assert_eq!(of("2018-05-03"), (false, false, true));
    assert_eq!(of("2018?/2019"), (true, false, false));
}

#[test]
fn what_is_wrong_names_the_value() {
    let no_day = |v: &str| EdtfError::NoSuchDay { value: v.to_owned() };
    assert_eq!(Edtf::parse("2022-02-30"), Err(no_day("2022-02-30")));
    assert_eq!(Edtf::parse("2021-02-29"), Err(no_day("2021-02-29")));
    let month = EdtfError::NoSuchMonth { value: "2022-13".to_owned(), month: 13 };
    assert_eq!(Edtf::parse("2022-13"), Err(month));
    let back = EdtfError::Backwards { value: "2022/2021".to_owned() };
    assert_eq!(Edtf::parse("2022/2021"), Err(back));
    assert_eq!(Edtf::parse("  "), Err(EdtfError::Empty));
    for wrong in
        ["22", "2022-5", "2022-05-1", "[2022", "2022-21-03", "5/2021", "2022-05-07-01", "é"]
    {
        let said = Edtf::parse(wrong).unwrap_err().to_string();
        assert!(said.contains(wrong), "{said} should name {wrong}");
    }
    assert!(matches!(Edtf::parse("2022-05-07T10:00"), Err(EdtfError::TimeOfDay { .. })));
}

#[test]
fn southern_seasons() {
    let spring = Edtf::parse("2022-21").unwrap();
    let (first, last) = spring.bounds_in(Hemisphere::Southern);
    assert_eq!((open(first), open(last)), ("2022-09-01".to_owned(), "2022-11-30".to_owned()));
    let summer = Edtf::parse("2022-22").unwrap();
    assert_eq!(open(summer.bounds_in(Hemisphere::Southern).1), "2023-02-28");
    let named = Edtf::parse("2022-25").unwrap();
    assert_eq!(open(named.bounds_in(Hemisphere::Southern).0), "2022-03-01");
}

#[test]
fn order_is_first_day_then_last_day() {
    let mut list: Vec<Edtf> = ["2022", "2022-01", "/2015", "2022-01-01", "2022/..", "2019"]
        .iter()
        .map(|t| t.parse().unwrap())
        .collect();
    list.sort();
    let said: Vec<_> = list.iter().map(Edtf::as_str).collect();
    assert_eq!(said, ["/2015", "2019", "2022-01-01", "2022-01", "2022", "2022/.."]);
}

#[test]
fn day_numbers() {
    assert_eq!(to_days(date(1970, 1, 1)), 0);
    assert_eq!(to_days(date(1969, 12, 31)), -1);
    // 2000-03-01 is day 11017: 30 years of 365 days, 8 leap days (1972 to 2000) and 59 days.
    assert_eq!(to_days(date(2000, 3, 1)), 30 * 365 + 8 + 59);
    assert_eq!(from_days(11017), Some(date(2000, 3, 1)));
    assert_eq!(from_days(i32::MAX), None);
}

proptest! {
    #[test]
    fn no_text_panics_and_bounds_never_cross(text in "[0-9X?~%/.,\\[\\]T -]{0,24}") {
        if let Ok(date) = Edtf::parse(&text)
            && let (Some(a), Some(b)) = (date.earliest(), date.latest())
        {
            prop_assert!(a <= b, "{text}: {a} after {b}");
        }
    }

    #[test]
    fn every_day_comes_back(days in -700_000i32..2_000_000) {
        let day = from_days(days).unwrap();
        prop_assert_eq!(to_days(day), days);
        if day.year() >= 0 {
            prop_assert_eq!(Edtf::from_day(day).day(), Some(day));
        }
    }
}
