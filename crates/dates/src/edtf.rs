//! The date itself.

use std::{cmp::Ordering, fmt, str::FromStr};

use jiff::civil::Date;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};

use crate::{
    EdtfError, Hemisphere,
    parse::{End, Form, form},
    point::{Fineness, Point},
};

/// How finely a date is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Precision {
    /// One day.
    Day,
    /// A month; its day is not known.
    Month,
    /// A quarter of a year.
    Season,
    /// A year; also where a month was meant but is missing (`2024-XX`).
    Year,
    /// Ten years (`198X`).
    Decade,
    /// A hundred years (`19XX`).
    Century,
    /// From one date to another, or with an open or unknown end.
    Interval,
    /// One of several dates.
    OneOf,
    /// Nothing is known (`XXXX`).
    Unknown,
}

/// A date in EDTF notation: the text as written, and what it means.
///
/// Two dates are equal when they are written alike. They sort by first day,
/// then last day, then text; an unknown start comes first, an open end last.
#[derive(Debug, Clone)]
pub struct Edtf {
    text: String,
    form: Form,
    earliest: Option<Date>,
    latest: Option<Date>,
}

impl Edtf {
    /// Reads EDTF notation (see the crate's page for the levels).
    ///
    /// # Errors
    /// Says what is wrong and names the value: notation, month, day, an
    /// interval that runs backwards, or a time of day.
    pub fn parse(text: &str) -> Result<Self, EdtfError> {
        let form = form(text)?;
        let (earliest, latest) = bounds(&form, Hemisphere::Northern);
        Ok(Self { text: text.trim().to_owned(), form, earliest, latest })
    }

    /// The date of which nothing is known, `XXXX`.
    #[must_use]
    pub fn unknown() -> Self {
        let point =
            Point { year: 0, fine: Fineness::Nothing, uncertain: false, approximate: false };
        Self { text: "XXXX".to_owned(), form: Form::Point(point), earliest: None, latest: None }
    }

    /// A date known to the day. Years before 0 are not in the notation and become unknown.
    #[must_use]
    pub fn from_day(day: Date) -> Self {
        Self::parse(&day.to_string()).unwrap_or_else(|_| Self::unknown())
    }

    /// The text as written, without blanks around it.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// The first day it can be; `None` where the start is open or unknown.
    ///
    /// Doubt (`?`) and approximation (`~`) do not widen the bounds: the
    /// notation gives them no width.
    #[must_use]
    pub fn earliest(&self) -> Option<Date> {
        self.earliest
    }

    /// The last day it can be; `None` where the end is open or unknown.
    #[must_use]
    pub fn latest(&self) -> Option<Date> {
        self.latest
    }

    /// First and last day where seasons 21-24 are those of the given hemisphere.
    #[must_use]
    pub fn bounds_in(&self, home: Hemisphere) -> (Option<Date>, Option<Date>) {
        bounds(&self.form, home)
    }

    /// The day, when the date is exact to the day and not in doubt.
    #[must_use]
    pub fn day(&self) -> Option<Date> {
        let exact = matches!(
            &self.form,
            Form::Point(Point {
                fine: Fineness::Day(..),
                uncertain: false,
                approximate: false,
                ..
            })
        );
        if exact { self.earliest } else { None }
    }

    /// How finely the date is known.
    #[must_use]
    pub fn precision(&self) -> Precision {
        match &self.form {
            Form::OneOf(_) => Precision::OneOf,
            Form::Interval(a, b) if !at(a) && !at(b) => Precision::Unknown,
            Form::Interval(..) => Precision::Interval,
            Form::Point(p) => match p.fine {
                Fineness::Nothing => Precision::Unknown,
                Fineness::Century => Precision::Century,
                Fineness::Decade => Precision::Decade,
                Fineness::Year | Fineness::YearMonthMissing => Precision::Year,
                Fineness::Season(..) => Precision::Season,
                Fineness::Month(_) | Fineness::MonthDayMissing(_) => Precision::Month,
                Fineness::Day(..) => Precision::Day,
            },
        }
    }

    /// Whether any part is marked doubtful (`?` or `%`).
    #[must_use]
    pub fn uncertain(&self) -> bool {
        self.points().iter().any(|p| p.uncertain)
    }

    /// Whether any part is marked approximate (`~` or `%`).
    #[must_use]
    pub fn approximate(&self) -> bool {
        self.points().iter().any(|p| p.approximate)
    }

    pub(crate) fn form(&self) -> &Form {
        &self.form
    }

    fn points(&self) -> Vec<Point> {
        match &self.form {
            Form::Point(p) => vec![*p],
            Form::OneOf(list) => list.iter().flat_map(|(a, b)| [*a, *b]).collect(),
            Form::Interval(a, b) => [a, b]
                .iter()
                .filter_map(|end| if let End::At(p) = end { Some(*p) } else { None })
                .collect(),
        }
    }
}

fn at(end: &End) -> bool {
    matches!(end, End::At(p) if p.fine != Fineness::Nothing)
}

fn bounds(form: &Form, home: Hemisphere) -> (Option<Date>, Option<Date>) {
    let of = |end: &End| match end {
        End::At(p) => p.bounds(home),
        End::Open | End::Unknown => None,
    };
    match form {
        Form::Point(p) => (p.bounds(home).map(|b| b.0), p.bounds(home).map(|b| b.1)),
        Form::Interval(a, b) => (of(a).map(|x| x.0), of(b).map(|x| x.1)),
        Form::OneOf(list) => {
            // One candidate of which nothing is known leaves the whole set unbounded.
            let first: Option<Vec<_>> = list.iter().map(|c| c.0.bounds(home)).collect();
            let last: Option<Vec<_>> = list.iter().map(|c| c.1.bounds(home)).collect();
            (
                first.and_then(|v| v.iter().map(|b| b.0).min()),
                last.and_then(|v| v.iter().map(|b| b.1).max()),
            )
        }
    }
}

impl PartialEq for Edtf {
    fn eq(&self, other: &Self) -> bool {
        self.text == other.text
    }
}

impl Eq for Edtf {}

impl std::hash::Hash for Edtf {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.text.hash(state);
    }
}

impl Ord for Edtf {
    fn cmp(&self, other: &Self) -> Ordering {
        let last = |e: &Self| (e.latest.is_none(), e.latest);
        self.earliest
            .cmp(&other.earliest)
            .then_with(|| last(self).cmp(&last(other)))
            .then_with(|| self.text.cmp(&other.text))
    }
}

impl PartialOrd for Edtf {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl fmt::Display for Edtf {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}

impl FromStr for Edtf {
    type Err = EdtfError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Self::parse(text)
    }
}

impl From<Date> for Edtf {
    fn from(day: Date) -> Self {
        Self::from_day(day)
    }
}

impl Serialize for Edtf {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.text)
    }
}

impl<'de> Deserialize<'de> for Edtf {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Self::parse(&text).map_err(D::Error::custom)
    }
}
