//! The light of a place day by day, for answers that count in it.

use std::collections::BTreeMap;

use culture::light::window::MEAN_DAYS;
use journal::{EntryRow, Reader};

use super::{
    described::{self, Dated},
    model::{self, Guess, Model},
    place::light,
    readings,
};
use crate::Result;

/// Daily light of each day from `from` to `to`, on average over the place, where it can be told:
/// the twelve months of the description that held on that day, with a straight line between their
/// middles. Where something of weight is not known there is none.
pub(crate) fn of_days(
    reader: &Reader<'_>,
    place: i64,
    entries: &[EntryRow],
    from: i64,
    to: i64,
) -> Result<BTreeMap<i64, f64>> {
    let history = described::history(reader, place)?;
    let latitude = model::latitude(reader)?;
    let mut courses: Vec<(Option<i64>, Option<[f64; 12]>)> = Vec::new();
    let mut out = BTreeMap::new();
    for day in from..=to {
        let Some(dated) = described::on_day(&history, day) else { continue };
        let known = courses.iter().find(|c| c.0 == dated.from);
        let course = match known {
            Some(c) => c.1,
            None => {
                let course = course(dated, entries, latitude, to)?;
                courses.push((dated.from, course));
                course
            }
        };
        if let Some(course) = course {
            out.insert(day, between(&course, day));
        }
    }
    Ok(out)
}

/// Twelve months of a description; none where it cannot be told.
fn course(
    dated: &Dated,
    entries: &[EntryRow],
    latitude: Option<f64>,
    day: i64,
) -> Result<Option<[f64; 12]>> {
    let d = &dated.described;
    let blind = d.window.is_some() && latitude.is_none();
    if blind || model::open_questions(d) || (d.window.is_none() && d.lamps.is_empty()) {
        return Ok(None);
    }
    let model = Model::build(d, Guess::Known, latitude, day).map_err(model::refused)?;
    let read = readings::of_place(entries, d, &model, dated.from, dates::Lang::En);
    let gains = readings::fitted(&model, &read);
    let means = model.mean_daily();
    Ok(Some(std::array::from_fn(|month| {
        let computed: Vec<f64> = means.iter().map(|m| m[month]).collect();
        light(gains.as_ref(), &computed).value
    })))
}

/// The value of a day between the middles of two months.
fn between(course: &[f64; 12], day: i64) -> f64 {
    let date = i32::try_from(day).ok().and_then(dates::from_days);
    let number = date.map_or(1.0, |d| f64::from(d.day_of_year()));
    let middles = MEAN_DAYS.map(f64::from);
    let next = middles.iter().position(|m| *m > number).unwrap_or(12);
    let (before, after) = ((next + 11) % 12, next % 12);
    let start = if next == 0 { middles[11] - 365.0 } else { middles[before] };
    let end = if next == 12 { middles[0] + 365.0 } else { middles[after] };
    let along = ((number - start) / (end - start)).clamp(0.0, 1.0);
    course[before] * (1.0 - along) + course[after] * along
}

#[cfg(test)]
mod tests {
    use super::between;

    #[test]
    fn a_day_lies_between_the_middles_of_two_months_and_the_year_is_a_ring() {
        let course: [f64; 12] = std::array::from_fn(|k| k as f64);
        let day =
            |text: &str| i64::from(dates::to_days(text.parse::<jiff::civil::Date>().unwrap()));
        // The mean day of a month is that month; 1e-12 covers rounding.
        assert!((between(&course, day("2025-01-17")) - 0.0).abs() < 1e-12);
        assert!((between(&course, day("2025-06-11")) - 5.0).abs() < 1e-12);
        assert!((between(&course, day("2025-02-01")) - 15.0 / 30.0).abs() < 1e-12);
        // From 10 December to 17 January in 38 days, down from 11 to 0.
        let new_year = between(&course, day("2025-12-31"));
        assert!((new_year - 11.0 * (1.0 - 21.0 / 38.0)).abs() < 1e-12, "{new_year}");
        assert!((between(&course, day("2026-01-01")) - 11.0 * 16.0 / 38.0).abs() < 1e-12);
    }
}
