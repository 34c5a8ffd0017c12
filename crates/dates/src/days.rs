//! Day numbers, the unit interval bounds are computed in.

use jiff::{Span, civil::Date};

const EPOCH: Date = Date::constant(1970, 1, 1);

/// The number of days from 1970-01-01 to `date` \[days\]; negative before it.
///
/// Every date jiff can hold (years -9999 to 9999) fits.
#[must_use]
pub fn to_days(date: Date) -> i32 {
    (date - EPOCH).get_days()
}

/// The date `days` days after 1970-01-01, or `None` outside the years -9999 to 9999.
#[must_use]
pub fn from_days(days: i32) -> Option<Date> {
    let span = Span::new().try_days(days).ok()?;
    EPOCH.checked_add(span).ok()
}
