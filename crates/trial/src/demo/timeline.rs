//! Days, seasons, and dates as vague as memory.

use dates::Edtf;
use jiff::civil::Date;

use super::Day;
use crate::{rng::Rng, truth::SAME_WINTER};

pub(super) fn date(day: Day) -> Date {
    dates::from_days(day).unwrap_or(Date::ZERO)
}

/// A whole day.
pub(super) fn on(day: Day) -> Edtf {
    Edtf::from_day(date(day))
}

/// A date from its notation.
pub(super) fn edtf(text: &str) -> Edtf {
    Edtf::parse(text).unwrap_or_else(|_| Edtf::unknown())
}

/// Between two looks; one day if they are the same.
pub(super) fn between(from: Day, to: Day) -> Edtf {
    if from >= to { on(to) } else { edtf(&format!("{}/{}", date(from), date(to))) }
}

/// The month of a day.
pub(super) fn month(day: Day) -> Edtf {
    let d = date(day);
    edtf(&format!("{:04}-{:02}", d.year(), d.month()))
}

/// The season of a day (northern): `2024-21` is spring 2024. January and February are called the
/// winter of the year before, as seasons are named by the year in which they begin.
pub(super) fn season(day: Day) -> Edtf {
    let d = date(day);
    let (year, code) = match d.month() {
        3..=5 => (d.year(), 21),
        6..=8 => (d.year(), 22),
        9..=11 => (d.year(), 23),
        12 => (d.year(), 24),
        _ => (d.year() - 1, 24),
    };
    edtf(&format!("{year:04}-{code}"))
}

/// Cosine of the time of year: 1 in mid-January, −1 in mid-July.
pub(super) fn winter(day: Day) -> f64 {
    let doy = f64::from(date(day).day_of_year());
    (std::f64::consts::TAU * (doy - 15.0) / 365.25).cos()
}

/// Factor on the median drying time.
pub(super) fn drying_season(day: Day) -> f64 {
    1.0 + SAME_WINTER * winter(day)
}

/// A day as vague as memory makes it: the older, the vaguer.
pub(super) fn remembered(rng: &mut Rng, day: Day) -> Edtf {
    let d = date(day);
    match rng.range(0, 9) {
        0 | 1 => on(day),
        2..=4 => month(day),
        5 => season(day),
        6 => edtf(&format!("{:04}", d.year())),
        7 => edtf(&format!("{:04}~", d.year())),
        8 => edtf(&format!("{:04}-{:02}?", d.year(), d.month())),
        _ => {
            let (from, to) = (date(day - rng.range(20, 60)), date(day + rng.range(20, 60)));
            edtf(&format!(
                "{:04}-{:02}/{:04}-{:02}",
                from.year(),
                from.month(),
                to.year(),
                to.month()
            ))
        }
    }
}
