//! How long does it take until this plant is dry?

use std::collections::BTreeMap;

use journal::{EntryRow, PlantRow, Reader};
use stats::survival::{Time, typical};

use super::looks::{Drying, Happening, Looks, UNWATCHED, Wish, follow, happening};
use crate::{
    Answer, AskError, Basis, Caution, Estimate, Evidence, Forecast, Gap, Hand, Mark, NotEnough,
    Result, Unit, acts::plants::need_plant,
};

/// Fewer dryings seen to their end than these give no value. Common practice, no source: with two,
/// the interval of the median is the whole range.
const ENDED_NEEDED: usize = 3;
/// Fewer ended dryings of other plants than these are not borrowed from.
const BORROWED_NEEDED: usize = 8;
/// From how many plants is borrowed at the most, and how many of their latest dryings.
const MOST_BORROWED: usize = 40;
const MOST_DRYINGS: usize = 120;
/// Of the plant's own dryings only the latest: pots, roots and seasons change.
const MOST_OWN: usize = 60;
/// Probability of the intervals.
const LEVEL: f64 = 0.8;
/// The resampling of the Turnbull median is replayable.
const SEED: u64 = 0x0D_4711;
const KINDS: [&str; 3] = ["watered", "checked", "potted"];

/// Answers the question for the plant of this number.
pub(crate) fn drying(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<Answer> {
    let plant = need_plant(reader, number)?;
    let wish = Wish::of_word(&reader.claimed_words(plant.id, "wish")?);
    let entries = reader.entries_of_kinds(plant.id, &KINDS)?;
    let happenings: Vec<Happening> = entries.iter().filter_map(happening).collect();
    let own = follow(&happenings, wish);
    let past = latest(&own.past, MOST_OWN);
    if ended(past) >= ENDED_NEEDED {
        return build(past, 1, &own, Basis::LearntHere, hand);
    }
    borrowed(reader, &plant, &own, wish, hand)
}

fn latest(dryings: &[Drying], most: usize) -> &[Drying] {
    &dryings[dryings.len().saturating_sub(most)..]
}

fn ended(dryings: &[Drying]) -> usize {
    dryings.iter().filter(|d| d.dry.is_some()).count()
}

fn borrowed(
    reader: &Reader<'_>,
    plant: &PlantRow,
    own: &Looks,
    wish: Wish,
    hand: &Hand,
) -> Result<Answer> {
    if !plant.genus.is_empty() {
        let entries = reader.entries_of_genus(&plant.genus, &KINDS, MOST_BORROWED)?;
        let (all, plants) = of_all(&entries, wish);
        let all = latest(&all, MOST_DRYINGS);
        if ended(all) >= BORROWED_NEEDED {
            return build(all, plants, own, Basis::Borrowed { from: plant.genus.clone() }, hand);
        }
    }
    let have = ended(&own.past);
    let mut evidence = evidence_of(&own.past, 1);
    evidence.marks.push(Mark::Missing { count: ENDED_NEEDED - have });
    let gaps = unwatched(own).into_iter().collect();
    Ok(Answer {
        question: "drying",
        frame: "How long it takes to dry: {value}",
        usually: None,
        next: None,
        evidence,
        basis: Basis::Nothing,
        gaps,
        cautions: Vec::new(),
        not_enough: Some(NotEnough {
            have,
            need: ENDED_NEEDED,
            record: "Record each watering, and how dry the pot was when you looked.",
        }),
    })
}

/// The dryings of many plants in the order of time, and of how many plants they are.
fn of_all(entries: &[EntryRow], wish: Wish) -> (Vec<Drying>, usize) {
    let mut by_plant: BTreeMap<i64, Vec<Happening>> = BTreeMap::new();
    for e in entries {
        if let (Some(plant), Some(h)) = (e.plant, happening(e)) {
            by_plant.entry(plant).or_default().push(h);
        }
    }
    let each: Vec<Vec<Drying>> = by_plant.values().map(|h| follow(h, wish).past).collect();
    let plants = each.iter().filter(|d| !d.is_empty()).count();
    let mut all: Vec<Drying> = each.into_iter().flatten().collect();
    all.sort_by_key(|d| d.since);
    (all, plants)
}

/// How long one drying took \[d\].
#[allow(clippy::cast_precision_loss)]
fn time(d: &Drying) -> Option<Time> {
    match d.limits() {
        (Some(left), Some(right)) => Some(Time::between(left as f64, right as f64)),
        (None, Some(right)) => Some(Time::before(right as f64)),
        (Some(left), None) => Some(Time::open(left as f64)),
        (None, None) => None,
    }
}

fn build(all: &[Drying], plants: usize, own: &Looks, basis: Basis, hand: &Hand) -> Result<Answer> {
    let times: Vec<Time> = all.iter().filter_map(time).collect();
    let found = typical(&times, LEVEL, SEED)
        .map_err(|e| AskError::field("dryings", &all.len().to_string(), e.to_string()))?;
    let mut evidence = evidence_of(all, plants);
    if matches!(basis, Basis::Borrowed { .. }) {
        evidence.marks = (all.iter())
            .map(|d| Mark::Borrowed { day: d.dry.or(d.moist).unwrap_or(d.since) })
            .chain(own.past.iter().map(mark))
            .collect();
    }
    Ok(Answer {
        question: "drying",
        frame: "After watering it is *usually* dry in {value}",
        usually: Some(Estimate {
            value: found.median,
            lower: found.lower,
            upper: found.upper,
            level: LEVEL,
            unit: Unit::Days,
        }),
        next: Some(coming(own, &found.curve, hand.today_number())),
        gaps: unwatched(own).into_iter().chain(gaps(all, &evidence, hand)).collect(),
        evidence,
        basis,
        cautions: cautions(own),
        not_enough: None,
    })
}

/// When it will be dry, given that it was not at the last look.
fn coming(own: &Looks, curve: &stats::survival::Curve, today: i64) -> Forecast {
    let none = |frame| Forecast { frame, day: None, from: None, to: None, level: LEVEL };
    let Some(now) = own.now else {
        return none("*next:* not known, since the last watering has no day");
    };
    if now.dry.is_some_and(|day| today - day <= UNWATCHED) {
        return none("*next:* it was found dry and waits for water");
    }
    let looked = now.moist.unwrap_or(now.since);
    if today - looked > UNWATCHED {
        return none("*next:* not known, since nothing was written for four weeks");
    }
    #[allow(clippy::cast_precision_loss)]
    let event = curve.next_event((looked - now.since) as f64, LEVEL);
    #[allow(clippy::cast_possible_truncation)]
    let day = |after: f64| now.since + after.round() as i64;
    match event {
        None => none("*next:* too few dryings lasted so long to say when"),
        Some(e) => Forecast {
            frame: if e.upper.is_some_and(|u| day(u) < today) {
                "*next:* very likely dry already, {value}"
            } else {
                "*next:* dry {value}"
            },
            day: e.middle.map(day),
            from: Some(day(e.lower)),
            to: e.upper.map(day),
            level: LEVEL,
        },
    }
}

fn mark(d: &Drying) -> Mark {
    match (d.moist, d.dry) {
        (from, Some(to)) => Mark::Between { from: from.unwrap_or(d.since), to, known: d.known },
        (to, None) => Mark::Open { from: d.since, to: to.unwrap_or(d.since), known: d.known },
    }
}

fn evidence_of(dryings: &[Drying], plants: usize) -> Evidence {
    let mut e = Evidence { what: "one drying|{n} dryings", plants, ..Evidence::default() };
    for d in dryings {
        e.count(d.known);
        e.reach(d.since, d.dry.or(d.moist).unwrap_or(d.since));
        match d.dry {
            None => e.open += 1,
            Some(_) => e.between_looks += 1,
        }
        e.marks.push(mark(d));
    }
    e
}

fn unwatched(own: &Looks) -> Option<Gap> {
    (own.unwatched > 0).then_some(Gap {
        text: "One watering was followed by four weeks without an entry and is not counted.|{n} waterings were followed by four weeks without an entry and are not counted.",
        n: own.unwatched,
    })
}

fn gaps(all: &[Drying], evidence: &Evidence, hand: &Hand) -> Vec<Gap> {
    let mut out = Vec::new();
    let unseen = all.iter().filter(|d| d.dry.is_some() && d.moist.is_none()).count();
    if unseen * 2 > evidence.records {
        out.push(Gap {
            text: "{n} of them were dry at the first look; a look in between would narrow this.",
            n: unseen,
        });
    }
    // A season is a quarter of a year.
    let last = evidence.last.unwrap_or(0);
    if hand.today_number() - last > 91 {
        out.push(Gap { text: "Nothing newer than a season is recorded.", n: 0 });
    }
    out.push(Gap {
        text: "Light and warmth change how fast a pot dries; this does not allow for them yet.",
        n: 0,
    });
    out
}

/// A limp plant in a pot that is not dry has a trouble that water makes worse.
fn cautions(own: &Looks) -> Vec<Caution> {
    let since = own.now.map(|n| n.since);
    let limp = own.limp_and_wet.last().is_some_and(|day| since.is_some_and(|s| *day >= s));
    if limp {
        return vec![Caution {
            lead: "Limp in a moist pot.",
            text: "Look at the roots before watering: they may be rotten.",
        }];
    }
    Vec::new()
}
