//! Light.

mod days;
mod factors;
mod lamps;
mod outdoors;
mod readings;
mod shelves;
mod sun_and_day;
mod windows;

use culture::light::sun::Moment;

/// A moment as the reference tables write it: `2024-03-20 06:30:00Z`, with or without T, fraction
/// and `+00:00`.
pub fn moment(text: &str) -> Moment {
    let digits: Vec<&str> =
        text.trim_end_matches("+00:00").trim_end_matches('Z').split(['-', ' ', 'T', ':']).collect();
    let n = |k: usize| digits[k].parse::<u32>().unwrap();
    Moment::utc((digits[0].parse().unwrap(), n(1), n(2)), (n(3), n(4), digits[5].parse().unwrap()))
        .unwrap()
}

/// A date as the reference tables write it.
pub fn date(text: &str) -> (i32, u32, u32) {
    let d: Vec<i32> = text.split('-').map(|p| p.parse().unwrap()).collect();
    (d[0], d[1].unsigned_abs(), d[2].unsigned_abs())
}
