//! How long does it take until this plant is dry?

use journal::Reader;

use super::house::{Housed, Water};
use super::looks::{Drying, Looks, UNWATCHED};
use super::state::{ODD, PotNow};
use crate::{
    Answer, Basis, Caution, Estimate, Evidence, Forecast, Gap, Hand, Mark, NotEnough, Result, Unit,
    acts::plants::need_plant,
};

/// From so many of its own dryings that ended on it is called learnt here; before that borrowed.
const OWN: usize = 2;
/// Of the plant's own dryings only the latest are shown and used: pots, roots and seasons change.
const MOST: usize = 60;
/// Probability of the intervals.
const LEVEL: f64 = 0.8;

/// Answers the question for the plant of this number.
pub(crate) fn drying(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<Answer> {
    let plant = need_plant(reader, number)?;
    let water = Water::read(reader, hand)?;
    match water.plant(plant.number) {
        Some(housed) => Ok(drying_of(&water, housed, hand)),
        None => Ok(not_living(&plant.state)),
    }
}

/// A plant that is dead or gone dries no more.
fn not_living(state: &str) -> Answer {
    Answer {
        question: "drying",
        frame: FRAME,
        usually: None,
        next: None,
        evidence: Evidence { what: WHAT, ..Evidence::default() },
        basis: Basis::Nothing,
        gaps: Vec::new(),
        cautions: Vec::new(),
        not_enough: Some(NotEnough {
            have: 0,
            need: 1,
            record: if state == "unknown" {
                "Say first whether it is still alive."
            } else {
                "It lives here no longer, so nothing is said about its water."
            },
        }),
    }
}

const FRAME: &str = "After watering it is *usually* dry in {value}";
const WHAT: &str = "one drying|{n} dryings";

/// The answer for a plant of a house that has been read already.
#[must_use]
pub fn drying_of(water: &Water, housed: &Housed, hand: &Hand) -> Answer {
    let today = hand.today_number();
    let now = water.night.now(&housed.pot);
    let past = &now.looks.past[now.looks.past.len().saturating_sub(MOST)..];
    let mut evidence = evidence_of(past, 1);
    let own = past.iter().filter(|d| d.dry.is_some() || d.weighed.is_some()).count();
    let basis = if own >= OWN {
        Basis::LearntHere
    } else if water.night.gradient_norm.is_some() && !housed.row.genus.is_empty() {
        Basis::Borrowed { from: housed.row.genus.clone() }
    } else {
        Basis::CommonPractice
    };
    if own < OWN {
        evidence.marks.push(Mark::Missing { count: OWN - own });
    }
    let [lower, value, upper] = now.usually(today);
    let pace = pace(water, housed, today);
    Answer {
        question: "drying",
        frame: FRAME,
        usually: Some(Estimate {
            value: Some(value),
            lower: Some(lower),
            upper: Some(upper),
            level: LEVEL,
            unit: Unit::Days,
        }),
        next: Some(coming(&now, today)),
        gaps: unwatched(&now.looks).into_iter().chain(gaps(past, &evidence, hand, pace)).collect(),
        evidence,
        basis,
        cautions: cautions(&now),
        not_enough: None,
    }
}

/// Whether the air or light of its place is known.
fn pace(water: &Water, housed: &Housed, today: i64) -> bool {
    water.night.clocks.knows(housed.pot.place_on(today))
}

/// When it will be dry, given that it was not at the last look.
fn coming(now: &PotNow<'_>, today: i64) -> Forecast {
    let none = |frame| Forecast { frame, day: None, from: None, to: None, level: LEVEL };
    let Some(running) = now.looks.now else {
        return none("*next:* not known, since the last watering has no day");
    };
    if running.dry.is_some_and(|day| today - day <= UNWATCHED) {
        return none("*next:* it was found dry and waits for water");
    }
    let looked = running.moist.unwrap_or(running.since);
    if today - looked > UNWATCHED {
        return none("*next:* not known, since nothing was written for four weeks");
    }
    #[allow(clippy::cast_possible_truncation)]
    let day = |chance: f64| now.due(chance).map(|d| d.ceil() as i64);
    let (from, middle, to) = (day(0.1), day(0.5), day(0.9));
    Forecast {
        frame: if to.is_some_and(|t| t < today) {
            "*next:* very likely dry already, {value}"
        } else {
            "*next:* dry {value}"
        },
        day: middle,
        from,
        to,
        level: LEVEL,
    }
}

fn mark(d: &Drying) -> Mark {
    match (d.moist, d.dry) {
        (from, Some(to)) => Mark::Between { from: from.unwrap_or(d.since), to, known: d.known },
        (to, None) => Mark::Open { from: d.since, to: to.unwrap_or(d.since), known: d.known },
    }
}

fn evidence_of(dryings: &[Drying], plants: usize) -> Evidence {
    let mut e = Evidence { what: WHAT, plants, ..Evidence::default() };
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

fn gaps(all: &[Drying], evidence: &Evidence, hand: &Hand, pace: bool) -> Vec<Gap> {
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
    if !pace {
        out.push(Gap {
            text: "No air or light is recorded for its place: how fast the weeks ran is learnt from the looks at all pots.",
            n: 0,
        });
    }
    out
}

/// What to look at before the next watering.
fn cautions(now: &PotNow<'_>) -> Vec<Caution> {
    let since = now.looks.now.map(|n| n.since);
    let limp = now.looks.limp_and_wet.last().is_some_and(|day| since.is_some_and(|s| *day >= s));
    let mut out = Vec::new();
    if limp {
        out.push(Caution {
            lead: "Limp in a moist pot.",
            text: "Look at the roots before watering: they may be rotten.",
        });
    }
    match now.odd {
        Some(z) if z > ODD => out.push(Caution {
            lead: "Drying much slower than usual.",
            text: "Look at the roots before watering: a pot whose roots are gone stays wet.",
        }),
        Some(z) if z < -ODD => out.push(Caution {
            lead: "Drying much faster than usual.",
            text: "Look whether roots fill the pot, the mix sheds water, or it stands warmer than before.",
        }),
        _ => {}
    }
    out
}
