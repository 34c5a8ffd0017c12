//! Just enough calendar to put ticks on a time axis. Days are counted from 1970-01-01.

/// The day number of a date in the Gregorian calendar (the well-known era arithmetic: years are
/// counted from March so that the leap day comes last).
pub(crate) fn day_of(year: i64, month: u32, day: u32) -> i64 {
    let y = if month <= 2 { year - 1 } else { year };
    let era = y.div_euclid(400);
    let of_era = y.rem_euclid(400);
    let from_march = i64::from((month + 9) % 12);
    let of_year = (153 * from_march + 2) / 5 + i64::from(day) - 1;
    era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719_468
}

/// The year in which a day lies.
pub(crate) fn year_of(day: i64) -> i64 {
    // A first guess from the mean length of a year is off by at most one.
    let mut year = 1970 + (day as f64 / 365.2425).floor() as i64;
    while day_of(year, 1, 1) > day {
        year -= 1;
    }
    while day_of(year + 1, 1, 1) <= day {
        year += 1;
    }
    year
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_days() {
        assert_eq!(day_of(1970, 1, 1), 0);
        assert_eq!(day_of(2000, 3, 1), 11_017);
        assert_eq!(day_of(1969, 12, 31), -1);
        assert_eq!(year_of(-1), 1969);
        assert_eq!(year_of(0), 1970);
    }

    #[test]
    fn every_day_of_two_centuries_lies_in_its_year() {
        let mut expected = 1899;
        for day in day_of(1899, 1, 1)..day_of(2101, 1, 1) {
            if day == day_of(expected + 1, 1, 1) {
                expected += 1;
            }
            assert_eq!(year_of(day), expected, "day {day}");
        }
    }
}
