//! One date without interval or set: year, month, season or day, perhaps with digits missing.

use jiff::civil::Date;

/// Which half of the globe a season without one is read for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Hemisphere {
    /// Spring is March to May.
    #[default]
    Northern,
    /// Spring is September to November.
    Southern,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Season {
    Spring,
    Summer,
    Autumn,
    Winter,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fineness {
    /// `XXXX`
    Nothing,
    /// `19XX`
    Century,
    /// `198X`
    Decade,
    Year,
    /// `2024-XX` and `2024-XX-XX`: the year is all that is known, but a month was meant.
    YearMonthMissing,
    Season(Season, Option<Hemisphere>),
    Month(i8),
    /// `2024-05-XX`
    MonthDayMissing(i8),
    Day(i8, i8),
}

/// A year and how far below it is known, with the two doubts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Point {
    /// First year it can be.
    pub year: i16,
    pub fine: Fineness,
    pub uncertain: bool,
    pub approximate: bool,
}

impl Point {
    /// First and last day; `None` for `XXXX`.
    pub(crate) fn bounds(&self, home: Hemisphere) -> Option<(Date, Date)> {
        let y = self.year;
        match self.fine {
            Fineness::Nothing => None,
            Fineness::Century => span(y, 1, y + 99, 12),
            Fineness::Decade => span(y, 1, y + 9, 12),
            Fineness::Year | Fineness::YearMonthMissing => span(y, 1, y, 12),
            Fineness::Month(m) | Fineness::MonthDayMissing(m) => span(y, m, y, m),
            Fineness::Day(m, d) => Date::new(y, m, d).ok().map(|date| (date, date)),
            Fineness::Season(season, named) => {
                let first = first_month(season, named.unwrap_or(home));
                // December to February belongs to the year of its December.
                if first == 12 { span(y, 12, y + 1, 2) } else { span(y, first, y, first + 2) }
            }
        }
    }
}

fn first_month(season: Season, half: Hemisphere) -> i8 {
    match (season, half) {
        (Season::Spring, Hemisphere::Northern) | (Season::Autumn, Hemisphere::Southern) => 3,
        (Season::Summer, Hemisphere::Northern) | (Season::Winter, Hemisphere::Southern) => 6,
        (Season::Autumn, Hemisphere::Northern) | (Season::Spring, Hemisphere::Southern) => 9,
        (Season::Winter, Hemisphere::Northern) | (Season::Summer, Hemisphere::Southern) => 12,
    }
}

fn span(y1: i16, m1: i8, y2: i16, m2: i8) -> Option<(Date, Date)> {
    let first = Date::new(y1, m1, 1).ok()?;
    // A winter or a century that would end after the year 9999 ends with it.
    let last = Date::new(y2, m2, 1).map_or(Date::MAX, |d| d.last_of_month());
    Some((first, last))
}
