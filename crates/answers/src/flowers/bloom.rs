//! Flowers and umbels, followed from the entries of the journal to the times that a fit takes.

use std::collections::{BTreeMap, HashMap};

use journal::Known;
use serde::Serialize;
use stats::survival::{Time, parametric::Start};

/// What is followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FlowerKind {
    /// A single flower.
    Flower,
    /// An umbel, from the first flower that opens to the last that falls.
    Umbel,
}

/// What an entry says of a flower.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// A bud was seen.
    Bud,
    /// It opened.
    Opened(FlowerKind),
    /// It was still open.
    StillOpen,
    /// It ended by itself.
    Ended,
    /// It was cut or broken off.
    Cut,
    /// It was pollinated.
    Pollinated,
}

/// One entry, as far as flowers need it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Happening {
    /// The plant.
    pub plant: i64,
    /// The part it is about; none for the plant itself.
    pub part: Option<u64>,
    /// What happened.
    pub what: What,
    /// First possible day \[days since 1970-01-01\].
    pub from: i64,
    /// Last possible day.
    pub to: i64,
    /// How it is known.
    pub known: Known,
}

/// One flower or umbel, as far as the record follows it. Days are days since 1970-01-01.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bloom {
    /// Its plant.
    pub plant: i64,
    /// The part that bore it, if it was told.
    pub part: Option<u64>,
    /// Flower or umbel.
    pub kind: FlowerKind,
    /// First and last possible day of opening. Two days that differ are two looks where it was seen
    /// at the time, and a vague memory otherwise.
    pub opened: (i64, i64),
    /// First and last possible day of the end, if it ended by itself.
    pub ended: Option<(i64, i64)>,
    /// The last day on which it was certainly open.
    pub looked: i64,
    /// Whether nothing was written of its end.
    pub open: bool,
    /// Whether it was cut off.
    pub cut: bool,
    /// How it is known.
    pub known: Known,
}

/// A number of days as a calculator takes it; day numbers are far below the limit of exactness.
#[allow(clippy::cast_precision_loss)]
pub(super) fn to_f64(days: i64) -> f64 {
    days as f64
}

/// How far off middles of a vague start may lie: as many as the fit takes.
const AGES: i32 = 5;

impl Bloom {
    /// Whether its opening lies between two looks.
    fn held(&self) -> bool {
        self.opened.0 < self.opened.1 && matches!(self.known, Known::Seen | Known::Photo)
    }

    /// How long it lasted \[d\], counted from the last possible moment of its opening, with what is
    /// not known of that moment. Looks and single days count as noon; a flower that was seen to fall
    /// fell at some hour of that day.
    #[must_use]
    pub fn time(&self) -> (Time, Option<Start>) {
        let (first, zero) = self.opened;
        let start =
            (first < zero).then(|| Start { width: to_f64(zero - first), held: self.held() });
        let Some((c, d)) = self.ended else {
            return (Time::open(to_f64((self.looked - zero).max(0))), start);
        };
        let half = if c == d { 0.5 } else { 0.0 };
        let (left, right) = (to_f64(c - zero) - half, to_f64(d - zero) + half);
        if right <= 0.0 {
            // Opening and end within one vague date: shorter than that is all there is to say.
            return (Time::before(to_f64(d - first).max(0.5)), None);
        }
        let time = if left > 0.0 { Time::between(left, right) } else { Time::before(right) };
        (time, start)
    }

    /// How old it may have been when it was last seen open \[d\].
    #[must_use]
    pub fn ages(&self) -> Vec<f64> {
        let (first, zero) = self.opened;
        let since = to_f64((self.looked - zero).max(0));
        if first == zero {
            return vec![since];
        }
        let width = to_f64(zero - first);
        (0..AGES).map(|k| since + width * (f64::from(k) + 0.5) / f64::from(AGES)).collect()
    }

    /// The day it opened, in the middle of what is possible.
    #[must_use]
    pub fn about(&self) -> i64 {
        self.opened.0.midpoint(self.opened.1)
    }

    /// The last day of which the record says something.
    #[must_use]
    pub fn last(&self) -> i64 {
        self.ended.map_or(self.looked, |e| e.1)
    }
}

/// Follows flowers through entries, which come earliest first. An entry about a part belongs to
/// that part; entries about the plant itself are taken as one flower after the other.
#[must_use]
pub fn follow(happenings: &[Happening]) -> Vec<Bloom> {
    let mut open: HashMap<(i64, Option<u64>), Bloom> = HashMap::new();
    let mut out = Vec::new();
    for h in happenings {
        let key = (h.plant, h.part);
        match h.what {
            What::Opened(kind) => {
                let bloom = Bloom {
                    plant: h.plant,
                    part: h.part,
                    kind,
                    opened: (h.from, h.to),
                    ended: None,
                    looked: h.to,
                    open: true,
                    cut: false,
                    known: h.known,
                };
                if let Some(before) = open.insert(key, bloom) {
                    out.push(Bloom { open: false, ..before });
                }
            }
            What::Bud => {}
            What::StillOpen => {
                if let Some(b) = open.get_mut(&key) {
                    b.looked = b.looked.max(h.from);
                }
            }
            What::Ended | What::Cut | What::Pollinated => {
                let Some(b) = open.remove(&key) else { continue };
                let known = if b.known == Known::Seen { h.known } else { b.known };
                // A look that found it open raises the first day on which it can have ended.
                let from = h.from.max(b.looked).min(h.to);
                out.push(if h.what == What::Ended {
                    Bloom { ended: Some((from, h.to)), open: false, known, ..b }
                } else {
                    // A cut flower would have gone on, and a pollinated one closes early: what it
                    // would have lasted is not seen.
                    let looked = b.looked.max(h.from);
                    Bloom { looked, open: false, cut: h.what == What::Cut, known, ..b }
                });
            }
        }
    }
    out.extend(open.into_values());
    out.sort_by_key(|b| (b.opened, b.plant, b.part));
    out
}

/// Flowers of a plant that opened within so many days of the one before are taken as one umbel \[d\].
/// Common practice, no source.
const WITHIN: i64 = 7;
/// And an umbel takes no longer than this to open \[d\]. Common practice, no source.
const LONGEST: i64 = 21;

/// The umbel, truss or peduncle of each bloom, by a number: flowers of one plant that opened about
/// together, and umbels of one peduncle.
#[must_use]
pub fn clusters(blooms: &[Bloom]) -> Vec<u32> {
    let mut order: Vec<usize> = (0..blooms.len()).collect();
    order.sort_by_key(|i| (blooms[*i].plant, blooms[*i].about(), *i));
    let mut of_part: BTreeMap<(i64, u64), u32> = BTreeMap::new();
    // Of each plant: first and last opening of the umbel that opens, and its number.
    let mut of_plant: BTreeMap<i64, (i64, i64, u32)> = BTreeMap::new();
    let mut out = vec![0; blooms.len()];
    let mut next = 0;
    for i in order {
        let b = &blooms[i];
        let day = b.about();
        let known = match (b.kind, b.part) {
            (FlowerKind::Umbel, Some(part)) => of_part.get(&(b.plant, part)).copied(),
            (FlowerKind::Umbel, None) => None,
            (FlowerKind::Flower, _) => of_plant
                .get(&b.plant)
                .filter(|(first, last, _)| day - last <= WITHIN && day - first <= LONGEST)
                .map(|c| c.2),
        };
        let number = known.unwrap_or(next);
        next += u32::from(known.is_none());
        match (b.kind, b.part) {
            (FlowerKind::Umbel, Some(part)) => {
                of_part.insert((b.plant, part), number);
            }
            (FlowerKind::Umbel, None) => {}
            (FlowerKind::Flower, _) => {
                let first = if known.is_some() { of_plant[&b.plant].0 } else { day };
                of_plant.insert(b.plant, (first, day, number));
            }
        }
        out[i] = number;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bloom(opened: (i64, i64), ended: Option<(i64, i64)>, looked: i64) -> Bloom {
        Bloom {
            plant: 1,
            part: None,
            kind: FlowerKind::Flower,
            opened,
            ended,
            looked,
            open: ended.is_none(),
            cut: false,
            known: Known::Seen,
        }
    }

    /// By hand: noon of the day of opening is zero.
    #[test]
    fn days_and_looks_become_times() {
        let held = |width| Some(Start { width, held: true });
        let cases = [
            // Opened on day 10, seen to fall on day 18: 7½ to 8½ days.
            (bloom((10, 10), Some((18, 18)), 10), Time::between(7.5, 8.5), None),
            // Open at the look on day 17, gone at that on day 24.
            (bloom((10, 10), Some((17, 24)), 17), Time::between(7.0, 14.0), None),
            // Not yet on day 3, open on day 10, gone on day 17: up to 7 days since day 10.
            (bloom((3, 10), Some((10, 17)), 10), Time::before(7.0), held(7.0)),
            (bloom((10, 10), None, 15), Time::open(5.0), None),
            (bloom((3, 10), None, 10), Time::open(0.0), held(7.0)),
            // Gone on the day it opened.
            (bloom((10, 10), Some((10, 10)), 10), Time::before(0.5), None),
            // Both within the same month.
            (bloom((1, 30), Some((1, 30)), 30), Time::before(29.0), None),
        ];
        for (bloom, time, start) in cases {
            assert_eq!(bloom.time(), (time, start), "{bloom:?}");
        }
        let told = Bloom { known: Known::Remembered, ..bloom((1, 30), None, 35) };
        assert_eq!(told.time().1, Some(Start { width: 29.0, held: false }), "no look, no missing");
        assert_eq!(bloom((3, 8), None, 10).ages(), [2.5, 3.5, 4.5, 5.5, 6.5]);
    }

    #[test]
    fn flowers_that_open_together_are_one_umbel() {
        let day = |d: i64, plant: i64| Bloom { plant, ..bloom((d, d), None, d) };
        let all = [day(1, 1), day(5, 1), day(6, 2), day(12, 1), day(30, 1), day(37, 1)];
        let c = clusters(&all);
        assert_eq!(
            (c[0] == c[1], c[1] == c[3], c[3] == c[4], c[4] == c[5]),
            (true, true, false, true)
        );
        assert_ne!(c[2], c[0], "another plant");
        // Day after day for a month is more than one umbel.
        let long: Vec<Bloom> = (0..40).map(|d| day(d, 1)).collect();
        let c = clusters(&long);
        assert_eq!((c[0] == c[21], c[21] == c[22]), (true, false));
        let umbel = |d: i64, part| Bloom { part, kind: FlowerKind::Umbel, ..day(d, 1) };
        let c =
            clusters(&[umbel(1, Some(7)), umbel(3, Some(8)), umbel(90, Some(7)), umbel(2, None)]);
        assert!(c[0] == c[2] && c[0] != c[1] && c[3] != c[0] && c[3] != c[1], "{c:?}");
    }

    #[test]
    fn a_cut_or_pollinated_flower_is_at_least_so_old() {
        let at = |day: i64, what| Happening {
            plant: 1,
            part: Some(1),
            what,
            from: day,
            to: day,
            known: Known::Seen,
        };
        for (what, cut) in [(What::Cut, true), (What::Pollinated, false)] {
            let all = follow(&[
                at(10, What::Opened(FlowerKind::Flower)),
                at(12, What::StillOpen),
                at(15, what),
            ]);
            assert_eq!(
                (all.len(), all[0].looked, all[0].ended, all[0].open, all[0].cut),
                (1, 15, None, false, cut)
            );
        }
        // A second opening of the same part closes the first without an end.
        let all = follow(&[
            at(10, What::Opened(FlowerKind::Umbel)),
            at(80, What::Opened(FlowerKind::Umbel)),
        ]);
        assert_eq!((all.len(), all[0].open, all[1].open), (2, false, true));
    }
}
