//! What is likely in flower when, and whether two plants meet: drawn by a fixed seed from what is
//! open now, what flowers again, and the months in which it usually does.

use std::sync::Arc;

use journal::{PlantRow, Reader};
use serde::Serialize;
use stats::random::Random;
use stats::survival::parametric::Remaining;

use super::FlowerKind;
use super::bloom::to_f64;
use super::kept::Flowers;
use super::lasts::failed;
use super::months::Months;
use super::read::Grown;
use crate::{Hand, Result};

/// How often a course is drawn: a chance of one half has a standard error of 1.1 %.
const DRAWS: usize = 2_000;
/// The drawing is replayable.
const SEED: u64 = 0x0F10_3E55;
/// Quantiles of which a table of times consists.
const TABLE: usize = 200;
/// Later times of a table are those of this chance.
const LAST: f64 = 0.998;
/// Flowerings in one draw, so that none goes on for ever.
const MOST: usize = 400;
/// A common flowering of at least so long counts as a meeting \[d\].
const MEETING: f64 = 1.0;
/// Pollen is at its best in the first so many days of a flower \[d\]: gesneriads, Folia Hort. 2023,
/// doi 10.2478/fhort-2023-0009; of other plants common practice, no source.
const POLLEN: f64 = 3.0;

/// When a plant is in flower, in many equally likely courses of the coming time.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// First and last moment of each flowering \[d since 1970-01-01\], for each draw.
    draws: Vec<Vec<(f64, f64)>>,
    /// The same without overlaps: spans in which anything is open.
    open: Vec<Vec<(f64, f64)>>,
}

/// Whether two plants are in flower together.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Meeting {
    /// The chance that both are in flower for a day or more at the same time.
    pub chance: f64,
    /// Expected days on which both are \[d\].
    pub days: f64,
    /// Expected days on which the first is in flower and the second has a flower of no more than
    /// three days, whose pollen is at its best \[d\].
    pub usable: f64,
}

/// What a forecast of flowers rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Rests {
    /// Its clone's gaps between flowerings.
    Gaps,
    /// Gaps of its genus.
    GapsOfGenus,
    /// The months in which its clone was seen in flower.
    Months,
}

/// A plant and how likely it is in flower.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Likely {
    /// The plant's number.
    pub plant: i64,
    /// What it is called.
    pub name: String,
    /// The chance that it is in flower on any of the days asked for.
    pub chance: f64,
    /// The same for each week of them, from the first day on.
    pub weeks: Vec<f64>,
    /// Expected days in flower \[d\].
    pub days: f64,
    /// What that rests on.
    pub rests: Rests,
    /// Every draw, to be set beside that of another plant.
    #[serde(skip)]
    pub course: Course,
}

impl Course {
    /// A course from its flowerings in each draw.
    #[must_use]
    pub fn new(draws: Vec<Vec<(f64, f64)>>) -> Self {
        let open = draws.iter().map(|d| united(d)).collect();
        Self { draws, open }
    }

    /// The chance that both are in flower for a day or more at the same time, from the beginning of a
    /// day to the end of another: that of [`Course::meets_in`] from every `each`-th draw alone.
    #[must_use]
    pub fn meet_chance(&self, other: &Course, (from, to): (i64, i64), each: usize) -> f64 {
        let (from, to) = (to_f64(from), to_f64(to) + 1.0);
        let (mut n, mut hits) = (0.0, 0.0);
        for (a, b) in self.open.iter().zip(&other.open).step_by(each.max(1)) {
            let mut days = 0.0;
            for x in a {
                for y in b {
                    days += (x.1.min(y.1).min(to) - x.0.max(y.0).max(from)).max(0.0);
                }
            }
            n += 1.0;
            hits += f64::from(u8::from(days >= MEETING));
        }
        if n > 0.0 { hits / n } else { 0.0 }
    }

    /// The chance to be in flower at some time from the beginning of a day to the end of another.
    #[must_use]
    pub fn chance(&self, from: i64, to: i64) -> f64 {
        let (a, b) = (to_f64(from), to_f64(to) + 1.0);
        let hits = self.draws.iter().filter(|d| d.iter().any(|s| s.0 < b && s.1 > a)).count();
        hits as f64 / self.draws.len().max(1) as f64
    }

    /// Expected days in flower from the beginning of a day to the end of another.
    #[must_use]
    pub fn days(&self, from: i64, to: i64) -> f64 {
        let span = (to_f64(from), to_f64(to) + 1.0);
        let sum: f64 = self.open.iter().map(|d| shared(d, &[span])).sum();
        sum / self.draws.len().max(1) as f64
    }

    /// Whether two plants meet: draws of one beside those of the other. The second gives the pollen.
    #[must_use]
    pub fn meets(&self, other: &Course) -> Meeting {
        self.meets_within(other, (f64::NEG_INFINITY, f64::INFINITY))
    }

    /// The same from the beginning of a day to the end of another.
    #[must_use]
    pub fn meets_in(&self, other: &Course, from: i64, to: i64) -> Meeting {
        self.meets_within(other, (to_f64(from), to_f64(to) + 1.0))
    }

    fn meets_within(&self, other: &Course, (from, to): (f64, f64)) -> Meeting {
        let mut sums = [0.0; 3];
        for ((a, b), open) in self.open.iter().zip(&other.draws).zip(&other.open) {
            let own: Vec<(f64, f64)> =
                a.iter().map(|s| (s.0.max(from), s.1.min(to))).filter(|s| s.0 < s.1).collect();
            let fresh: Vec<(f64, f64)> = b.iter().map(|s| (s.0, s.1.min(s.0 + POLLEN))).collect();
            let days = shared(&own, open);
            sums[0] += f64::from(u8::from(days >= MEETING));
            sums[1] += days;
            sums[2] += shared(&own, &united(&fresh));
        }
        let n = self.draws.len().min(other.draws.len()).max(1) as f64;
        Meeting { chance: sums[0] / n, days: sums[1] / n, usable: sums[2] / n }
    }
}

/// Spans without overlaps, earliest first.
fn united(spans: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut sorted = spans.to_vec();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut out: Vec<(f64, f64)> = Vec::new();
    for s in sorted {
        match out.last_mut() {
            Some(last) if s.0 <= last.1 => last.1 = last.1.max(s.1),
            _ => out.push(s),
        }
    }
    out
}

/// Time that two lists of spans without overlaps have in common.
fn shared(a: &[(f64, f64)], b: &[(f64, f64)]) -> f64 {
    let each = a.iter().flat_map(|x| b.iter().map(move |y| x.1.min(y.1) - x.0.max(y.0)));
    each.filter(|d| *d > 0.0).sum()
}

/// Times that are equally likely.
struct Table(Vec<f64>);

impl Table {
    fn of(left: &Remaining) -> Self {
        // Few chances are computed and the times lie between them: the draws are far coarser.
        const KNOTS: usize = 64;
        let last = left.quantile(LAST);
        let time = |k: usize| last * k as f64 / KNOTS as f64;
        let over: Vec<f64> = (0..=KNOTS).map(|k| 1.0 - left.beyond(time(k))).collect();
        let at = |p: f64| {
            let next = over.partition_point(|o| *o < p).clamp(1, KNOTS);
            let (a, b) = (over[next - 1], over[next]);
            let share = if b > a { ((p - a) / (b - a)).clamp(0.0, 1.0) } else { 1.0 };
            time(next - 1) + share * last / KNOTS as f64
        };
        Self((0..TABLE).map(|k| at((k as f64 + 0.5) / TABLE as f64)).collect())
    }

    fn draw(&self, random: &mut Random) -> f64 {
        self.0[random.below(self.0.len())]
    }
}

/// What a unit (a peduncle, or a plant) does next.
struct Unit {
    /// The day from which its waiting counts.
    since: i64,
    left: Table,
    further: Table,
}

/// The course of a plant's flowering from one day to another.
///
/// # Errors
/// If the record cannot be read, or a fit did not reach its optimum.
pub fn course(
    reader: &Reader<'_>,
    grown: &Grown,
    plant: &PlantRow,
    from: i64,
    to: i64,
) -> Result<Course> {
    Ok(course_on(reader, grown, plant, from, to)?.0)
}

fn course_on(
    reader: &Reader<'_>,
    grown: &Grown,
    plant: &PlantRow,
    from: i64,
    to: i64,
) -> Result<(Course, Rests)> {
    let umbels = grown.followed.iter().filter(|f| f.clone == plant.clone);
    let kind = umbels.map(|f| f.bloom.kind).max().unwrap_or(FlowerKind::Flower);
    let fit = grown.life(kind)?;
    let air = grown.air_now(plant);
    let life = Table::of(&fit.further(plant.clone, air).map_err(|e| failed(&e))?);
    let of_kind = grown.of_kind(kind);
    let mut open = Vec::new();
    for (index, f) in of_kind.iter().enumerate() {
        if f.bloom.plant == plant.id && f.bloom.open {
            let left = fit.left(plant.clone, (index, &f.bloom), air).map_err(|e| failed(&e))?;
            open.push((f.bloom.about(), f.bloom.looked, Table::of(&left)));
        }
    }
    let again = grown.again(plant)?;
    let again = again.as_deref();
    let mut units = Vec::new();
    let mut spread = 0.0;
    if let Some(again) = again {
        for (index, g) in again.gaps.iter().enumerate() {
            if g.plant == plant.id && g.next.is_none() && !g.lost {
                units.push(Unit {
                    since: g.until,
                    left: Table::of(&again.fit.left(index, g).map_err(|e| failed(&e))?),
                    further: Table::of(&again.fit.further(index).map_err(|e| failed(&e))?),
                });
            }
        }
        let all = again.gaps.iter().map(|g| to_f64(g.since.spread)).sum::<f64>();
        spread = all / again.gaps.len().max(1) as f64;
    }
    let rests = match again {
        Some(a) if !units.is_empty() && a.of_clone => Rests::Gaps,
        Some(_) if !units.is_empty() => Rests::GapsOfGenus,
        _ => Rests::Months,
    };
    let months = match rests {
        Rests::Months => Some(grown.months(reader, plant.clone)?),
        _ => None,
    };
    let mut random = Random::new(SEED ^ u64::try_from(plant.number).unwrap_or(0));
    let draws = (0..DRAWS)
        .map(|_| {
            let mut spans: Vec<(f64, f64)> = (open.iter())
                .map(|(opened, looked, left)| {
                    let now = to_f64(*looked) + 0.5;
                    (to_f64(*opened) + 0.5, now + left.draw(&mut random))
                })
                .collect();
            for unit in &units {
                let mut at = to_f64(unit.since) + 0.5 + unit.left.draw(&mut random);
                for _ in 0..MOST {
                    if at > to_f64(to) + 1.0 {
                        break;
                    }
                    let end = at + spread * random.unit() * 2.0 + life.draw(&mut random);
                    spans.push((at, end));
                    at += unit.further.draw(&mut random).max(1.0);
                }
            }
            if let Some(months) = &months {
                by_months(months, &life, (from, to), &mut random, &mut spans);
            }
            spans
        })
        .collect();
    Ok((Course::new(draws), rests))
}

/// Flowerings by the months: in each month of the span it is in flower in the share of years that is
/// believed, from some day of the month on.
fn by_months(
    months: &Months,
    life: &Table,
    (from, to): (i64, i64),
    random: &mut Random,
    spans: &mut Vec<(f64, f64)>,
) {
    // The share itself is uncertain; it is the same for all years of a draw.
    let shares = months.months.map(|m| {
        let (k, n) = (m.flowered as f64, m.looked as f64);
        let (a, b) = (random.gamma(k + 0.5), random.gamma(n - k + 0.5));
        a / (a + b)
    });
    let date = |day: i64| i32::try_from(day).ok().and_then(dates::from_days);
    let (Some(mut month), Some(last)) = (date(from), date(to)) else { return };
    month = month.first_of_month();
    while month <= last {
        let share = shares[usize::from(month.month().unsigned_abs()) - 1];
        if random.unit() < share {
            let first = to_f64(i64::from(dates::to_days(month)));
            let at = first + f64::from(month.days_in_month()) * random.unit();
            spans.push((at, at + life.draw(random)));
        }
        month = month.last_of_month().tomorrow().unwrap_or(jiff::civil::Date::MAX);
        if month == jiff::civil::Date::MAX {
            return;
        }
    }
}

/// How likely each living plant whose clone was ever seen in flower is in flower from one day to
/// another; the likeliest first.
///
/// # Errors
/// If the record cannot be read, or a fit did not reach its optimum.
pub fn likely_in_flower(
    reader: &Reader<'_>,
    hand: &Hand,
    from: i64,
    to: i64,
) -> Result<Arc<Vec<Likely>>> {
    Flowers::default().likely(reader, hand, from, to)
}

/// How likely one plant is in flower; none where nothing of its clone was ever seen in flower.
///
/// # Errors
/// If the record cannot be read, or a fit did not reach its optimum.
pub fn likely(
    reader: &Reader<'_>,
    grown: &Grown,
    plant: &PlantRow,
    from: i64,
    to: i64,
) -> Result<Option<Likely>> {
    if !grown.followed.iter().any(|f| f.clone == plant.clone) || from > to {
        return Ok(None);
    }
    let (course, rests) = course_on(reader, grown, plant, from, to)?;
    let weeks = (from..=to).step_by(7).map(|w| course.chance(w, (w + 6).min(to))).collect();
    Ok(Some(Likely {
        plant: plant.number,
        name: plant.name.clone(),
        chance: course.chance(from, to),
        weeks,
        days: course.days(from, to),
        rests,
        course,
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Starts N(0, 3) and N(6, 4) days, lives log-normal about 9 and 7 days with 0.25: they meet with
    /// P = 0.65, 3.1 days on average (computed from these formulas elsewhere, by simulation).
    #[test]
    fn two_plants_meet_as_often_as_computed() {
        let mut random = Random::new(7);
        let mut course = |mean: f64, sd: f64, life: f64| {
            let draws = (0..40_000).map(|_| {
                let start = mean + sd * random.normal();
                vec![(start, start + life * (0.25 * random.normal()).exp())]
            });
            Course::new(draws.collect())
        };
        let (a, b) = (course(0.0, 3.0, 9.0), course(6.0, 4.0, 7.0));
        let m = a.meets(&b);
        assert!((a.meet_chance(&b, (-1000, 1000), 1) - m.chance).abs() < 1e-12);
        // Four standard errors of both simulations, and half of the last digit.
        assert!((m.chance - 0.65).abs() < 0.02, "{m:?}");
        assert!((m.days - 3.1).abs() < 0.12, "{m:?}");
        assert!(m.usable > 0.5 && m.usable < m.days.min(POLLEN), "{m:?}");
    }

    #[test]
    fn spans_that_overlap_count_once() {
        let c = |s: &[(f64, f64)]| Course::new(vec![s.to_vec()]);
        let a = c(&[(0.0, 4.0), (2.0, 6.0), (10.0, 11.0)]);
        assert!((a.days(0, 19) - 7.0).abs() < 1e-12);
        assert!((a.days(5, 10) - 2.0).abs() < 1e-12);
        let m = a.meets(&c(&[(5.5, 10.4)]));
        assert!((m.days - 0.9).abs() < 1e-12 && m.chance == 0.0, "{m:?}");
        assert_eq!((a.chance(6, 9), a.chance(6, 10)), (0.0, 1.0));
        // Pollen of three days: 5.5 to 8.5 beside 0 to 6 is half a day; the other way round it is 0
        // to 5 and 10 to 11 beside 5.5 to 10.4.
        let b = c(&[(5.5, 10.4)]);
        assert!((a.meets(&b).usable - 0.5).abs() < 1e-9, "{:?}", a.meets(&b));
        assert!((b.meets(&a).usable - 0.4).abs() < 1e-9, "{:?}", b.meets(&a));
        // On day 10 alone: 0.4 days.
        assert!((a.meets_in(&b, 10, 10).days - 0.4).abs() < 1e-9);
    }
}
