//! From the clock on the wall to instants.

use jiff::{
    Timestamp,
    civil::{Date, DateTime},
    tz::{AmbiguousOffset, TimeZone},
};

const DAY: i64 = 86_400;

/// How a time of the clock lies among instants.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lies {
    /// Once: how far ahead of UTC \[s\].
    Once(i32),
    /// Never: the clocks were put forward over it.
    Never,
    /// Twice: first with the one, then with the other \[s ahead of UTC\].
    Twice(i32, i32),
}

/// The clocks of a house, with the days in mind that were asked about last.
pub(super) struct Clocks<'z> {
    zone: &'z TimeZone,
    /// The logger's clock stands at standard time all year.
    standard: bool,
    civil: Option<(Date, Option<i32>)>,
    utc: Option<(i64, Option<i32>)>,
}

pub(super) fn seconds(civil: DateTime) -> i64 {
    let of_day =
        i64::from(civil.hour()) * 3600 + i64::from(civil.minute()) * 60 + i64::from(civil.second());
    i64::from(dates::to_days(civil.date())) * DAY + of_day
}

impl<'z> Clocks<'z> {
    pub(super) fn new(zone: &'z TimeZone, standard: bool) -> Self {
        Self { zone, standard, civil: None, utc: None }
    }

    fn offset_at(&self, time: i64) -> i32 {
        Timestamp::from_second(time).map_or(0, |t| self.zone.to_offset(t).seconds())
    }

    /// How far ahead of UTC the clocks of the house were at an instant \[s\].
    pub(super) fn east(&mut self, time: i64) -> i32 {
        let day = time.div_euclid(DAY);
        if self.utc.is_none_or(|(d, _)| d != day) {
            let (start, end) = (self.offset_at(day * DAY), self.offset_at((day + 1) * DAY));
            self.utc = Some((day, (start == end).then_some(start)));
        }
        match self.utc {
            Some((_, Some(east))) => east,
            _ => self.offset_at(time),
        }
    }

    /// Standard time of the year of a date \[s ahead of UTC\]: the lesser of winter and summer.
    fn standard_of(&self, date: Date) -> i32 {
        let noon = |month: i8| {
            Date::new(date.year(), month, 1).map_or(0, |d| i64::from(dates::to_days(d)) * DAY)
        };
        self.offset_at(noon(1)).min(self.offset_at(noon(7)))
    }

    /// How a time of the logger's clock lies.
    pub(super) fn lies(&mut self, civil: DateTime) -> Lies {
        let date = civil.date();
        if self.civil.is_none_or(|(d, _)| d != date) {
            let constant = if self.standard {
                Some(self.standard_of(date))
            } else {
                let unmoved =
                    |d: Date| match self.ambiguity(d.to_datetime(jiff::civil::Time::midnight())) {
                        AmbiguousOffset::Unambiguous { offset } => Some(offset.seconds()),
                        _ => None,
                    };
                let next = date.tomorrow().ok().and_then(unmoved);
                unmoved(date).filter(|o| Some(*o) == next)
            };
            self.civil = Some((date, constant));
        }
        if let Some((_, Some(east))) = self.civil {
            return Lies::Once(east);
        }
        match self.ambiguity(civil) {
            AmbiguousOffset::Unambiguous { offset } => Lies::Once(offset.seconds()),
            AmbiguousOffset::Gap { .. } => Lies::Never,
            AmbiguousOffset::Fold { before, after } => {
                Lies::Twice(before.seconds(), after.seconds())
            }
        }
    }

    fn ambiguity(&self, civil: DateTime) -> AmbiguousOffset {
        self.zone.to_ambiguous_timestamp(civil).offset()
    }
}
