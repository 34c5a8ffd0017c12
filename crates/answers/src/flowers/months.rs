//! Which months is it in flower, and what is likely in the coming weeks?

use std::collections::{BTreeMap, BTreeSet};

use jiff::{ToSpan, civil::Date};
use journal::{PlantRow, Reader};
use serde::Serialize;
use stats::special::beta_quantile;

use super::FlowerKind;
use super::lasts::evidence_of;
use super::life::{Followed, LEVEL};
use super::likely::course;
use super::read::Grown;
use crate::{Answer, Basis, Estimate, Forecast, Gap, Hand, Mark, NotEnough, Result, Unit};

/// Years in which somebody looked before a month is named.
const YEARS: usize = 2;
/// Pieces of a clone whose whole journals are read.
const PIECES: usize = 40;

/// One month of the year.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Month {
    /// Years (of any piece) in which something was written about the plant in this month.
    pub looked: usize,
    /// Those of them in which it was in flower.
    pub flowered: usize,
    /// Share of years with flowers: lower limit, middle, upper limit (80 %), from
    /// Beta(k + ½, n − k + ½). Without any look it says next to nothing: 0.02 to 0.98.
    pub share: [f64; 3],
}

/// The months of a clone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Months {
    /// January first.
    pub months: [Month; 12],
    /// Years in which anybody looked, in the month that was looked at most.
    pub years: usize,
    /// Pieces they are of.
    pub pieces: usize,
}

impl Month {
    fn new(flowered: usize, looked: usize) -> Self {
        #[allow(clippy::cast_precision_loss)]
        let (k, n) = (flowered as f64, looked as f64);
        let share = [0.5 * (1.0 - LEVEL), 0.5, 0.5 * (1.0 + LEVEL)]
            .map(|p| beta_quantile(p, k + 0.5, n - k + 0.5));
        Self { looked, flowered, share }
    }
}

fn date(day: i64) -> Option<Date> {
    i32::try_from(day).ok().and_then(dates::from_days)
}

/// Year and month of a day.
fn month(day: i64) -> Option<(i16, i8)> {
    date(day).map(|d| (d.year(), d.month()))
}

/// A plant: first and last possible days of its entries, and its flowers.
pub type Piece = (Vec<(i64, i64)>, Vec<Followed>);

/// The months in which a plant was looked at and in flower. `written` are first and last possible
/// days of entries: a date vaguer than a month is no look. A flower that is known to have been open
/// is a look as well. A month in which nobody wrote anything is not a month without flowers.
#[must_use]
pub fn months_of(plants: &[Piece]) -> Months {
    let mut looked = [0; 12];
    let mut flowered = [0; 12];
    let mut pieces = 0;
    for (written, followed) in plants {
        let looks: BTreeSet<(i16, i8)> = (written.iter())
            .filter_map(|(a, b)| Some((month(*a)?, month(*b)?)))
            .filter(|(a, b)| a == b)
            .map(|(a, _)| a)
            .collect();
        let mut open = BTreeSet::new();
        for f in followed {
            let b = &f.bloom;
            let last = b.ended.map_or(b.looked, |e| e.0).max(b.opened.1);
            let (Some(mut day), Some(last)) = (date(b.opened.1), date(last)) else { continue };
            // A vague opening is no certain flower of that month.
            if b.opened.1 - b.opened.0 > 45 {
                continue;
            }
            while (day.year(), day.month()) <= (last.year(), last.month()) {
                open.insert((day.year(), day.month()));
                day = day.first_of_month().saturating_add(1.month());
            }
        }
        pieces += usize::from(!looks.is_empty() || !open.is_empty());
        for (_, m) in looks.union(&open) {
            looked[usize::from(m.unsigned_abs()) - 1] += 1;
        }
        for (_, m) in open {
            flowered[usize::from(m.unsigned_abs()) - 1] += 1;
        }
    }
    let months = std::array::from_fn(|m| Month::new(flowered[m], looked[m]));
    Months { months, years: looked.into_iter().max().unwrap_or(0), pieces }
}

impl Grown {
    /// The months in which a clone is in flower.
    ///
    /// # Errors
    /// If the record cannot be read.
    pub fn months(&self, reader: &Reader<'_>, clone: i64) -> Result<Months> {
        let mut flowers: BTreeMap<i64, Vec<Followed>> = BTreeMap::new();
        for f in self.followed.iter().filter(|f| f.clone == clone) {
            flowers.entry(f.bloom.plant).or_default().push(*f);
        }
        let mut ids: Vec<i64> = self.pieces(clone).map(|p| p.id).collect();
        ids.sort_unstable();
        let mut plants = Vec::new();
        for id in ids.into_iter().take(PIECES) {
            let days = reader.days_written(id)?;
            plants.push((days, flowers.remove(&id).unwrap_or_default()));
        }
        Ok(months_of(&plants))
    }
}

/// In which months the clone of a plant is in flower, and what the coming weeks bring.
///
/// # Errors
/// If the record cannot be read, or a fit did not reach its optimum.
pub fn flower_months_of(
    reader: &Reader<'_>,
    grown: &Grown,
    plant: &PlantRow,
    hand: &Hand,
) -> Result<Answer> {
    let clone: Vec<Followed> =
        grown.followed.iter().filter(|f| f.clone == plant.clone).copied().collect();
    let kind = clone.first().map_or(FlowerKind::Flower, |f| f.bloom.kind);
    let mut evidence = evidence_of(&clone, kind);
    let months = if clone.is_empty() { None } else { Some(grown.months(reader, plant.clone)?) };
    let basis = match clone.iter().all(|f| f.bloom.plant == plant.id) {
        true => Basis::LearntHere,
        false => Basis::LearntFromClone,
    };
    let said = months.as_ref().filter(|m| m.years >= YEARS);
    let Some(months) = said else {
        let have = months.map_or(0, |m| m.years);
        evidence.marks.push(Mark::Missing { count: YEARS - have });
        return Ok(Answer {
            question: "flower_months",
            frame: "When it is in flower: {value}",
            usually: None,
            next: None,
            evidence,
            basis: Basis::Nothing,
            gaps: Vec::new(),
            cautions: Vec::new(),
            not_enough: Some(NotEnough {
                have,
                need: YEARS,
                record: "Counted are years in which something was written about it in the same month, in flower or not: write now and then how it stands.",
            }),
        });
    };
    let (best, month) = best_month(months);
    let next = next_weeks(reader, grown, plant, hand)?;
    Ok(Answer {
        question: "flower_months",
        frame: in_month(best),
        usually: Some(Estimate {
            value: Some(100.0 * month.share[1]),
            lower: Some(100.0 * month.share[0]),
            upper: Some(100.0 * month.share[2]),
            level: LEVEL,
            unit: Unit::Percent,
        }),
        next: Some(next),
        evidence,
        basis,
        gaps: gaps(months),
        cautions: Vec::new(),
        not_enough: None,
    })
}

/// The month with the largest share.
fn best_month(months: &Months) -> (usize, &Month) {
    let mut best = (0, &months.months[0]);
    for (k, m) in months.months.iter().enumerate() {
        if m.flowered > 0 && (best.1.flowered == 0 || m.share[1] > best.1.share[1]) {
            best = (k, m);
        }
    }
    best
}

const fn in_month(month: usize) -> &'static str {
    match month {
        0 => "Most often in flower in January: in {value} of the years",
        1 => "Most often in flower in February: in {value} of the years",
        2 => "Most often in flower in March: in {value} of the years",
        3 => "Most often in flower in April: in {value} of the years",
        4 => "Most often in flower in May: in {value} of the years",
        5 => "Most often in flower in June: in {value} of the years",
        6 => "Most often in flower in July: in {value} of the years",
        7 => "Most often in flower in August: in {value} of the years",
        8 => "Most often in flower in September: in {value} of the years",
        9 => "Most often in flower in October: in {value} of the years",
        10 => "Most often in flower in November: in {value} of the years",
        _ => "Most often in flower in December: in {value} of the years",
    }
}

/// How likely it is in flower within four weeks, in words.
fn next_weeks(
    reader: &Reader<'_>,
    grown: &Grown,
    plant: &PlantRow,
    hand: &Hand,
) -> Result<Forecast> {
    let today = hand.today_number();
    let chance = course(reader, grown, plant, today, today + 28)?.chance(today, today + 28);
    Ok(Forecast {
        frame: match crate::water::percent(chance) {
            95.. => "*next:* almost certainly in flower within four weeks",
            80..95 => "*next:* very likely in flower within four weeks",
            60..80 => "*next:* likely in flower within four weeks",
            40..60 => "*next:* as likely in flower within four weeks as not",
            20..40 => "*next:* unlikely in flower within four weeks",
            _ => "*next:* very unlikely in flower within four weeks",
        },
        day: None,
        from: None,
        to: None,
        level: LEVEL,
    })
}

fn gaps(months: &Months) -> Vec<Gap> {
    let mut out = Vec::new();
    let unseen = months.months.iter().filter(|m| m.looked == 0).count();
    if unseen > 0 {
        out.push(Gap {
            text: "Of one month nothing was ever written: it is not known to be without flowers.|Of {n} months nothing was ever written: they are not known to be without flowers.",
            n: unseen,
        });
    }
    let also = months.months.iter().filter(|m| m.flowered > 0 && m.share[1] > 0.5).count();
    if also > 1 {
        out.push(Gap {
            text: "In {n} months it is in flower in more than half of the years.",
            n: also,
        });
    }
    out
}

#[cfg(test)]
mod tests {
    use journal::Known;

    use super::super::{Bloom, Weather};
    use super::*;

    fn day(year: i16, month: i8, day: i8) -> i64 {
        i64::from(dates::to_days(Date::constant(year, month, day)))
    }

    fn flower(from: i64, to: i64) -> Followed {
        Followed {
            bloom: Bloom {
                plant: 1,
                part: None,
                kind: FlowerKind::Flower,
                opened: (from, from),
                ended: Some((to, to)),
                looked: from,
                open: false,
                cut: false,
                known: Known::Seen,
            },
            clone: 1,
            place: None,
            weather: Weather::default(),
        }
    }

    /// By hand: May looked at in three years, in flower in two; June in flower once, as the flower
    /// of the end of May 2024 lasted; no word of December.
    #[test]
    fn only_months_that_were_looked_at_count() {
        let at = |y, m, d| (day(y, m, d), day(y, m, d));
        let written = vec![
            at(2023, 5, 3),
            at(2024, 5, 3),
            at(2025, 5, 3),
            at(2025, 6, 1),
            // A season is no look at any of its months.
            (day(2024, 9, 1), day(2024, 11, 30)),
        ];
        let flowers = vec![
            flower(day(2023, 5, 10), day(2023, 5, 20)),
            flower(day(2024, 5, 28), day(2024, 6, 4)),
        ];
        let m = months_of(&[(written, flowers)]);
        assert_eq!((m.months[4].looked, m.months[4].flowered), (3, 2));
        assert_eq!((m.months[5].looked, m.months[5].flowered), (2, 1));
        assert_eq!((m.months[9].looked, m.months[11].looked, m.years), (0, 0, 3));
        assert_eq!(best_month(&m).0, 4);
        // One of two by Jeffreys: Beta(1.5, 1.5) is symmetrical.
        let [low, middle, high] = m.months[5].share;
        assert!((middle - 0.5).abs() < 1e-9 && (low + high - 1.0).abs() < 1e-9);
        // Nothing known: the arcsine law, whose quantiles are sin²(πp/2).
        let nothing = m.months[11].share[0];
        let exact = (0.05 * std::f64::consts::PI).sin().powi(2);
        assert!((nothing - exact).abs() < 1e-9, "{nothing} against {exact}");
    }

    #[test]
    fn flowers_over_the_end_of_a_year_count_in_both() {
        let m = months_of(&[(Vec::new(), vec![flower(day(2023, 12, 20), day(2024, 1, 5))])]);
        let counts: Vec<usize> = m.months.iter().map(|m| m.flowered).collect();
        assert_eq!(counts, [1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1]);
    }
}
