//! How long roots take to fill a pot: from looks at roots to a time to event.

use std::collections::BTreeMap;

use culture::Estimate;
use journal::{Known, PlainEntry};
use serde_json::{Map, Value};
use stats::{
    model::{Fixed, Frame},
    prior::{NormalPrior, SpreadPrior},
    survival::{
        Time,
        parametric::{Beliefs, Law, Posterior, posterior},
    },
};

use crate::{AskError, Result};

/// Days of a month, on average.
pub(crate) const MONTH: f64 = 30.436_875;
const LEVEL: f64 = 0.8;

/// Months after which roots usually fill the pot of a group of plants, where nothing is recorded:
/// middle, and how far off it is as a factor. Common practice, no source.
pub(crate) fn usual_months(group: Option<&str>) -> f64 {
    match group {
        Some("thick-leaved epiphytic climbers" | "orchids") => 24.0,
        Some("aroids" | "gesneriads") => 15.0,
        _ => 18.0,
    }
}

const OFF: f64 = 0.3;

/// What one entry says of a pot and its roots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Look {
    /// First and last possible day \[days since 1970-01-01\].
    pub from: i64,
    pub to: i64,
    /// Whether it was potted then.
    pub potted: bool,
    /// Whether its roots circled, if anybody looked.
    pub full: Option<bool>,
    pub known: Known,
}

impl Look {
    pub(crate) fn of(
        kind: &str,
        days: (Option<i64>, Option<i64>),
        detail: &Map<String, Value>,
        known: Known,
    ) -> Option<Self> {
        let potted = kind == "potted";
        if !potted && kind != "checked_roots" {
            return None;
        }
        let full = detail.get("roots").and_then(Value::as_str).map(|r| r == "circling");
        Some(Self { from: days.0?, to: days.1?, potted, full, known })
    }

    pub(crate) fn of_plain(e: &PlainEntry) -> Option<Self> {
        Self::of(&e.kind, (e.day_from, e.day_to), &e.detail, e.known)
    }
}

/// One filling of a pot, from potting on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Filling {
    /// First and last possible day of potting \[days since 1970-01-01\].
    pub potted: (i64, i64),
    /// The last look at which roots did not circle: first and last possible day.
    pub room: Option<(i64, i64)>,
    /// The first look at which they did.
    pub full: Option<(i64, i64)>,
    pub known: Known,
}

impl Filling {
    /// The time it took \[months\], if any look says anything. A vague date is its whole interval.
    #[allow(clippy::cast_precision_loss)]
    pub(crate) fn time(&self) -> Option<Time> {
        let left = self.room.map(|r| (r.0 - self.potted.1) as f64 / MONTH).filter(|m| *m > 0.0);
        let right = self.full.map(|f| (f.1 - self.potted.0) as f64 / MONTH).filter(|m| *m > 0.0);
        match (left, right) {
            (Some(l), Some(r)) if r > l => Some(Time::between(l, r)),
            (Some(l), None) => Some(Time::open(l)),
            (None | Some(_), Some(r)) => Some(Time::before(r)),
            (None, None) => None,
        }
    }
}

/// The fillings of one plant, earliest first; the last goes on. `looks` come earliest first.
pub(crate) fn fillings(looks: &[Look]) -> Vec<Filling> {
    let mut out: Vec<Filling> = Vec::new();
    for look in looks {
        if let (Some(now), Some(full)) = (out.last_mut(), look.full) {
            let seen = if full { &mut now.full } else { &mut now.room };
            // The first look at full roots counts, and the last at roots with room before it.
            if (full && seen.is_none()) || (!full && now.full.is_none()) {
                let seen = if full { &mut now.full } else { &mut now.room };
                *seen = Some((look.from, look.to));
                now.known = look.known;
            }
        }
        if look.potted {
            let potted = (look.from, look.to);
            out.push(Filling { potted, room: None, full: None, known: look.known });
        }
    }
    out
}

/// What the looks of a group of plants say, with the default of common practice behind them.
pub(crate) struct Believed {
    posterior: Posterior,
    design: Fixed,
    /// Where the typical time lies \[months\].
    pub usual: Estimate,
    /// How far the looks moved the default, from 0 to 1.
    pub information: f64,
}

fn failed(e: impl std::fmt::Display) -> AskError {
    AskError::field("root looks", "", e.to_string())
}

/// Believes the default of a group and the times of its looks.
pub(crate) fn believe(group: Option<&str>, times: &[Time]) -> Result<Believed> {
    // A pot that was looked at at once says nothing, but lets the default stand alone.
    let nothing = [Time::open(0.01)];
    let times = if times.is_empty() { &nothing[..] } else { times };
    let fixed = Fixed::build(&Frame::new(times.len()), &[]).map_err(failed)?;
    let median = usual_months(group).ln();
    let beliefs = Beliefs {
        coefficients: vec![Some(NormalPrior { mean: median, sd: OFF })],
        // Single pots differ by a factor of about 1.5: gamma with mean 0.4. Common practice.
        scale: Some(SpreadPrior::Gamma { shape: 4.0, rate: 10.0 }),
        spreads: Vec::new(),
        sum_few: false,
    };
    let found = posterior(times, &fixed, Law::Lognormal, &[], &beliefs, LEVEL).map_err(failed)?;
    let design = Fixed::build(&Frame::new(1), &[]).map_err(failed)?;
    let b = found.coefficients[0].1;
    Ok(Believed {
        usual: Estimate { value: b.median.exp(), lower: b.lower.exp(), upper: b.upper.exp() },
        information: b.information.unwrap_or(0.0),
        posterior: found,
        design,
    })
}

impl Believed {
    /// The chance that roots fill the pot by so many months after potting, given that they did not
    /// at the last look.
    pub(crate) fn chance(&self, months: f64, room_at: Option<f64>) -> Result<f64> {
        if months <= 0.0 {
            return Ok(0.0);
        }
        let after = room_at.filter(|m| *m > 0.0);
        self.posterior.chance_by(&self.design, &[], months, after).map_err(failed)
    }

    /// When the next pot is full \[months after potting\]: lower, middle, upper.
    pub(crate) fn next(&self, room_at: Option<f64>) -> Result<[Option<f64>; 3]> {
        let after = room_at.filter(|m| *m > 0.0);
        let rows = self.posterior.predict(&self.design, &[], &[], after, LEVEL).map_err(failed)?;
        let next = rows.first().map(|r| r.next);
        Ok(next.map_or([None; 3], |n| [n.lower, n.median, n.upper]))
    }
}

/// Chances by month and group, worked out once each: many pots are equally old.
#[derive(Default)]
pub(crate) struct Chances {
    known: BTreeMap<(String, i64, i64), f64>,
}

impl Chances {
    /// As [`Believed::chance`], to the next half month.
    #[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss)]
    pub(crate) fn of(
        &mut self,
        group: &str,
        believed: &Believed,
        months: f64,
        room_at: Option<f64>,
    ) -> Result<f64> {
        let half = |m: f64| (2.0 * m).round() as i64;
        let key = (group.to_owned(), half(months), half(room_at.unwrap_or(0.0)));
        if let Some(chance) = self.known.get(&key) {
            return Ok(*chance);
        }
        let room = (key.2 > 0).then_some(key.2 as f64 / 2.0);
        let chance = believed.chance(key.1 as f64 / 2.0, room)?;
        self.known.insert(key, chance);
        Ok(chance)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn look(day: i64, potted: bool, full: Option<bool>) -> Look {
        Look { from: day, to: day, potted, full, known: Known::Seen }
    }

    #[test]
    fn looks_leave_intervals_and_potting_begins_anew() {
        let looks = [
            look(0, true, None),
            look(200, false, Some(false)),
            look(300, false, Some(true)),
            look(330, false, Some(true)),
            look(400, true, Some(true)),
            look(500, false, Some(false)),
        ];
        let found = fillings(&looks);
        assert_eq!(found.len(), 2);
        let days = |m: Option<f64>| m.map(|m| (m * MONTH).round());
        let first = found[0].time().unwrap();
        assert_eq!((days(first.left), days(first.right)), (Some(200.0), Some(300.0)));
        let second = found[1].time().unwrap();
        assert_eq!((days(second.left), second.right), (Some(100.0), None));
        // Repotting without a look at the roots says nothing: people repot what they think is full.
        let unseen = fillings(&[look(0, true, None), look(400, true, None)]);
        assert!(unseen.iter().all(|f| f.time().is_none()), "{unseen:?}");
    }

    #[test]
    fn a_vague_potting_is_its_whole_interval() {
        let potted = Look { from: 0, to: 365, ..look(0, true, None) };
        let times =
            |day: i64, full: bool| fillings(&[potted, look(day, false, Some(full))])[0].time();
        let seen = times(700, false).unwrap();
        assert!((seen.left.unwrap() * MONTH - 335.0).abs() < 1e-9, "at least this long");
        let full = times(700, true).unwrap();
        assert!((full.right.unwrap() * MONTH - 700.0).abs() < 1e-9, "at most this long");
        assert!(times(300, false).is_none(), "it may have been potted after the look");
    }

    #[test]
    fn without_looks_the_default_stands_and_looks_move_it() {
        let default = believe(Some("gesneriads"), &[]).unwrap();
        // The prior itself: median 15 months, log sd 0.3, so 80 % from 10.2 to 22.0; 3 % for the
        // grid of the scale.
        assert!((default.usual.value / 15.0 - 1.0).abs() < 0.03, "{:?}", default.usual);
        assert!((default.usual.lower / 10.2 - 1.0).abs() < 0.05, "{:?}", default.usual);
        assert!(default.information < 0.1);
        assert!((default.chance(15.0, None).unwrap() - 0.5).abs() < 0.02);
        let quick: Vec<Time> = (0..12).map(|_| Time::between(6.0, 8.0)).collect();
        let moved = believe(Some("gesneriads"), &quick).unwrap();
        assert!(moved.usual.upper < 9.5 && moved.information > 0.5, "{:?}", moved.usual);
        assert!(moved.chance(12.0, None).unwrap() > 0.85);
        // Room at the last look makes it later.
        assert!(moved.chance(12.0, Some(10.0)).unwrap() < moved.chance(12.0, None).unwrap());
        let next = default.next(Some(14.0)).unwrap();
        assert!(next[0].unwrap() > 14.0 && next[1].unwrap() < next[2].unwrap());
        let mut cached = Chances::default();
        let (once, again) = (
            cached.of("g", &moved, 12.1, None).unwrap(),
            cached.of("g", &moved, 11.9, None).unwrap(),
        );
        assert!((once - again).abs() < 1e-12 && once > 0.85);
    }
}
