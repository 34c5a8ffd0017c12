//! How long does a flower last here?

use std::collections::BTreeMap;

use journal::{EntryRow, Known, PlantRow, Reader, SubjectKind, Uid};
use stats::survival::{Time, typical};

use crate::{
    Answer, AskError, Basis, Estimate, Evidence, Forecast, Gap, Hand, Mark, NotEnough, Result,
    Unit, acts::plants::need_plant,
};

/// Fewer ended flowers than these give no value. Common practice, no source: with two, the
/// interval of the median is the whole range.
const ENDED_NEEDED: usize = 3;
/// Fewer ended flowers of other plants than these are not borrowed from.
const BORROWED_NEEDED: usize = 8;
/// From how many plants is borrowed at the most: more would not narrow nature's spread.
const MOST_BORROWED: usize = 40;
/// The most flowers that are borrowed, the latest: the interval of a median of so many is far
/// narrower than the spread between plants.
const MOST_FLOWERS: usize = 120;
/// Probability of the intervals.
const LEVEL: f64 = 0.8;
/// The resampling of the Turnbull median is replayable.
const SEED: u64 = 0x0F10_3E55;
const KINDS: [&str; 4] = ["opened", "still_open", "ended", "pollinated"];

/// One flower or umbel, as far as the record follows it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Flower {
    plant: i64,
    kind: FlowerKind,
    /// First and last possible day of opening.
    opened: (i64, i64),
    /// First and last possible day of the end, if it ended by itself.
    ended: Option<(i64, i64)>,
    /// The last day on which it was certainly open.
    looked: i64,
    /// Whether it may still be open today.
    open_now: bool,
    known: Known,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum FlowerKind {
    Flower,
    Umbel,
}

impl Flower {
    /// How long it lasted \[d\].
    fn time(&self) -> Time {
        match self.ended {
            Some((first, last)) => {
                let least = (first - self.opened.1).max(0);
                let most = last - self.opened.0;
                if least == most {
                    Time::exact(to_f64(most))
                } else if least == 0 {
                    Time::before(to_f64(most))
                } else {
                    Time::between(to_f64(least), to_f64(most))
                }
            }
            None => Time::open(to_f64((self.looked - self.opened.1).max(0))),
        }
    }

    fn mark(&self) -> Mark {
        match self.ended {
            None => Mark::Open { from: self.opened.0, to: self.looked, known: self.known },
            Some((first, last)) if first == last => Mark::At { day: last, known: self.known },
            Some((first, last)) => Mark::Between { from: first, to: last, known: self.known },
        }
    }
}

/// A number of days as a calculator takes it; day numbers are far below the limit of exactness.
#[allow(clippy::cast_precision_loss)]
fn to_f64(days: i64) -> f64 {
    days as f64
}

/// Answers the question for the plant of this number.
pub(crate) fn flower_life(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<Answer> {
    let plant = need_plant(reader, number)?;
    let own = flowers(reader, &reader.entries_of_kinds(plant.id, &KINDS)?)?;
    let (kind, unplaced) = commonest(&own);
    let own_kind: Vec<Flower> = own.iter().copied().filter(|f| f.kind == kind).collect();
    if ended(&own_kind) >= ENDED_NEEDED {
        return build(&own_kind, &own_kind, Basis::LearntHere, kind, unplaced, hand);
    }
    let clone = flowers(reader, &reader.entries_of_clone(plant.clone, &KINDS)?)?;
    let clone_kind: Vec<Flower> = clone.iter().copied().filter(|f| f.kind == kind).collect();
    if ended(&clone_kind) >= ENDED_NEEDED {
        return build(&clone_kind, &own_kind, Basis::LearntFromClone, kind, unplaced, hand);
    }
    borrowed(reader, &plant, &own_kind, kind, hand)
}

fn borrowed(
    reader: &Reader<'_>,
    plant: &PlantRow,
    own: &[Flower],
    kind: FlowerKind,
    hand: &Hand,
) -> Result<Answer> {
    if !plant.genus.is_empty() {
        let all = flowers(reader, &reader.entries_of_genus(&plant.genus, &KINDS, MOST_BORROWED)?)?;
        let mut all: Vec<Flower> = all.into_iter().filter(|f| f.kind == kind).collect();
        all.drain(..all.len().saturating_sub(MOST_FLOWERS));
        if ended(&all) >= BORROWED_NEEDED {
            let basis = Basis::Borrowed { from: plant.genus.clone() };
            return build(&all, own, basis, kind, 0, hand);
        }
    }
    let mut evidence = evidence_of(own, kind);
    let have = ended(own);
    evidence.marks.push(Mark::Missing { count: ENDED_NEEDED - have });
    Ok(Answer {
        question: "flower_life",
        frame: match kind {
            FlowerKind::Flower => "How long a flower lasts: {value}",
            FlowerKind::Umbel => "How long an umbel lasts: {value}",
        },
        usually: None,
        next: None,
        evidence,
        basis: Basis::Nothing,
        gaps: Vec::new(),
        cautions: Vec::new(),
        not_enough: Some(NotEnough {
            have,
            need: ENDED_NEEDED,
            record: "Record the day a flower opens and the day it drops, or a look in between.",
        }),
    })
}

const fn frame(kind: FlowerKind) -> &'static str {
    match kind {
        FlowerKind::Flower => "A flower *usually* lasts {value}",
        FlowerKind::Umbel => "An umbel *usually* lasts {value}",
    }
}

fn ended(flowers: &[Flower]) -> usize {
    flowers.iter().filter(|f| f.ended.is_some()).count()
}

fn build(
    all: &[Flower],
    own: &[Flower],
    basis: Basis,
    kind: FlowerKind,
    other_kind: usize,
    hand: &Hand,
) -> Result<Answer> {
    let times: Vec<Time> = all.iter().map(Flower::time).collect();
    let found = typical(&times, LEVEL, SEED)
        .map_err(|e| AskError::field("flowers", &all.len().to_string(), e.to_string()))?;
    let mut evidence = evidence_of(all, kind);
    if matches!(basis, Basis::Borrowed { .. }) {
        evidence.marks = all
            .iter()
            .filter(|f| !own.contains(f))
            .map(|f| Mark::Borrowed { day: f.ended.map_or(f.looked, |e| e.1) })
            .chain(own.iter().map(Flower::mark))
            .collect();
    }
    let today = hand.today_number();
    let next = own.iter().filter(|f| f.open_now).min_by_key(|f| f.opened.0).map(|f| {
        let age = to_f64((today - f.opened.1).max(0));
        let event = found.curve.next_event(age, LEVEL);
        let day = |age_then: f64| f.opened.1 + rounded(age_then);
        Forecast {
            frame: match kind {
                FlowerKind::Flower => "*next:* the open flower ends {value}",
                FlowerKind::Umbel => "*next:* the open umbel ends {value}",
            },
            day: event.as_ref().and_then(|e| e.middle).map(day),
            from: event.as_ref().map(|e| day(e.lower)),
            to: event.as_ref().and_then(|e| e.upper).map(day),
            level: LEVEL,
        }
    });
    let next = next.or(Some(Forecast {
        frame: "*next:* none open",
        day: None,
        from: None,
        to: None,
        level: LEVEL,
    }));
    Ok(Answer {
        question: "flower_life",
        frame: frame(kind),
        usually: Some(Estimate {
            value: found.median,
            lower: found.lower,
            upper: found.upper,
            level: LEVEL,
            unit: Unit::Days,
        }),
        next,
        gaps: gaps(all, &evidence, other_kind),
        evidence,
        basis,
        cautions: Vec::new(),
        not_enough: None,
    })
}

#[allow(clippy::cast_possible_truncation)]
fn rounded(days: f64) -> i64 {
    days.round() as i64
}

fn evidence_of(flowers: &[Flower], kind: FlowerKind) -> Evidence {
    let mut e = Evidence {
        what: match kind {
            FlowerKind::Flower => "one flower|{n} flowers",
            FlowerKind::Umbel => "one umbel|{n} umbels",
        },
        ..Evidence::default()
    };
    let mut plants = std::collections::BTreeSet::new();
    for f in flowers {
        e.count(f.known);
        plants.insert(f.plant);
        e.reach(f.opened.0, f.ended.map_or(f.looked, |x| x.1));
        match f.ended {
            None => e.open += 1,
            Some((a, b)) if a != b => e.between_looks += 1,
            Some(_) => {}
        }
        e.marks.push(f.mark());
    }
    e.plants = plants.len();
    e
}

/// Days a month has, roughly, to find the season of a day number.
fn month_of(day: i64) -> i8 {
    i32::try_from(day).ok().and_then(dates::from_days).map_or(1, |d| d.month())
}

fn gaps(all: &[Flower], evidence: &Evidence, other_kind: usize) -> Vec<Gap> {
    let mut out = Vec::new();
    if evidence.plants == 1 {
        out.push(Gap { text: "One plant only: plant and place cannot be told apart.", n: 1 });
    }
    if evidence.between_looks * 2 > evidence.records {
        out.push(Gap {
            text: "{n} of them were looked at only now and then; a look every other day near the end would narrow this.",
            n: evidence.between_looks,
        });
    }
    let winter = all.iter().filter(|f| matches!(month_of(f.opened.0), 11 | 12 | 1 | 2)).count();
    let summer = all.iter().filter(|f| matches!(month_of(f.opened.0), 5..=8)).count();
    if winter == 0 {
        out.push(Gap { text: "No winter flowers are recorded.", n: 0 });
    } else if summer == 0 {
        out.push(Gap { text: "No summer flowers are recorded.", n: 0 });
    }
    out.push(Gap {
        text: "Warmth shortens a flower's life; no reading of the air stands beside these.",
        n: 0,
    });
    if other_kind > 0 {
        out.push(Gap {
            text: "One flower that was followed as another kind of part is not counted.|{n} flowers that were followed as another kind of part are not counted.",
            n: other_kind,
        });
    }
    out
}

/// The kind of part that is followed most, and how many flowers are of another kind.
fn commonest(flowers: &[Flower]) -> (FlowerKind, usize) {
    let umbels = flowers.iter().filter(|f| f.kind == FlowerKind::Umbel).count();
    let single = flowers.len() - umbels;
    if umbels > single { (FlowerKind::Umbel, single) } else { (FlowerKind::Flower, umbels) }
}

/// Follows flowers through entries, which come earliest first. An entry about a part belongs to
/// that part; entries about the plant itself are taken as one flower after the other.
fn flowers(reader: &Reader<'_>, entries: &[EntryRow]) -> Result<Vec<Flower>> {
    let mut open: BTreeMap<(i64, Option<Uid>), Flower> = BTreeMap::new();
    let mut out = Vec::new();
    for e in entries {
        let Some(plant) = e.plant else { continue };
        let part = (e.subject_kind == SubjectKind::Part).then_some(e.subject);
        let key = (plant, part);
        match e.kind.as_str() {
            "opened" => {
                if let Some(before) = open.remove(&key) {
                    out.push(Flower { open_now: false, ..before });
                }
                if let (Some(a), Some(b), Some(kind)) = (e.day_from, e.day_to, kind_of(reader, e)?)
                {
                    let flower = Flower {
                        plant,
                        kind,
                        opened: (a, b),
                        ended: None,
                        looked: b,
                        open_now: true,
                        known: e.known,
                    };
                    open.insert(key, flower);
                }
            }
            "still_open" => {
                if let (Some(f), Some(day)) = (open.get_mut(&key), e.day_from) {
                    f.looked = f.looked.max(day);
                }
            }
            "ended" => close(&mut open, &key, e, &mut out),
            "pollinated" => {
                // A pollinated flower closes early; what it would have lasted is not seen.
                if let (Some(f), Some(day)) = (open.remove(&key), e.day_from)
                    && part.is_some()
                {
                    out.push(Flower { looked: f.looked.max(day), open_now: false, ..f });
                }
            }
            _ => {}
        }
    }
    out.extend(open.into_values());
    out.sort_by_key(|f| f.opened);
    Ok(out)
}

fn close(
    open: &mut BTreeMap<(i64, Option<Uid>), Flower>,
    key: &(i64, Option<Uid>),
    e: &EntryRow,
    out: &mut Vec<Flower>,
) {
    let Some(f) = open.remove(key) else { return };
    let cut = matches!(e.detail.get("how").and_then(|v| v.as_str()), Some("cut" | "broken"));
    let known = if f.known == Known::Seen { e.known } else { f.known };
    let flower = match (e.day_from, e.day_to) {
        (Some(first), Some(_)) if cut => {
            Flower { looked: f.looked.max(first), open_now: false, known, ..f }
        }
        // A look that found it open raises the first day on which it can have ended.
        (Some(first), Some(last)) => Flower {
            ended: Some((first.max(f.looked).min(last), last)),
            open_now: false,
            known,
            ..f
        },
        _ => Flower { open_now: false, known, ..f },
    };
    out.push(flower);
}

/// Flower or umbel: as the entry says, or else as its part is described.
fn kind_of(reader: &Reader<'_>, e: &EntryRow) -> Result<Option<FlowerKind>> {
    let said = e.detail.get("part").and_then(|v| v.as_str()).map(str::to_owned);
    let what = match said {
        Some(word) => word,
        None if e.subject_kind == SubjectKind::Part => match reader.subject(e.subject)? {
            Some(part) => reader.claimed_words(part.id, "what")?,
            None => String::new(),
        },
        None => String::new(),
    };
    Ok(match what.as_str() {
        "" | "flower" => Some(FlowerKind::Flower),
        "umbel" | "peduncle" => Some(FlowerKind::Umbel),
        _ => None,
    })
}
