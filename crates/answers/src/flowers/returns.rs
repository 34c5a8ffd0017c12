//! When does it flower again?

use journal::PlantRow;

use super::again::{Again, FLOWERINGS, Gap as Wait};
use super::bloom::FlowerKind;
use super::lasts::{evidence_of, failed};
use super::life::{Followed, LEVEL, day_after};
use super::read::Grown;
use crate::{
    Answer, Basis, Estimate, Evidence, Forecast, Gap, Hand, Mark, NotEnough, Result, Unit,
};

const WHAT: &str = "one flowering|{n} flowerings";

/// When a plant flowers again.
///
/// # Errors
/// When the fit did not reach its optimum.
pub fn flowers_again_of(grown: &Grown, plant: &PlantRow, hand: &Hand) -> Result<Answer> {
    let again = grown.again(plant)?;
    let Some(again) = again.as_deref() else { return too_few(grown, plant, hand) };
    let [lower, value, upper] = again.fit.typical().map_err(|e| failed(&e))?;
    let basis = if again.of_clone {
        if again.gaps.iter().all(|g| g.plant == plant.id) {
            Basis::LearntHere
        } else {
            Basis::LearntFromClone
        }
    } else {
        Basis::Borrowed { from: grown.genus().to_owned() }
    };
    Ok(Answer {
        question: "flowers_again",
        frame: if again.peduncles {
            "A peduncle *usually* flowers again after {value}"
        } else {
            "It *usually* flowers again after {value}"
        },
        usually: Some(Estimate {
            value: Some(value),
            lower: Some(lower),
            upper: Some(upper),
            level: LEVEL,
            unit: Unit::Days,
        }),
        next: Some(coming(grown, again, plant, hand)?),
        evidence: evidence(again),
        gaps: gaps(again),
        basis,
        cautions: Vec::new(),
        not_enough: None,
    })
}

/// How many flowerings there are, and what to write down.
fn too_few(grown: &Grown, plant: &PlantRow, hand: &Hand) -> Result<Answer> {
    let have = grown.flowerings_of_clone(plant.clone);
    let own: Vec<Followed> =
        grown.followed.iter().filter(|f| f.bloom.plant == plant.id).copied().collect();
    let mut evidence = Evidence { what: WHAT, ..evidence_of(&own, FlowerKind::Flower) };
    let missing = FLOWERINGS.saturating_sub(have).max(1);
    evidence.marks.push(Mark::Missing { count: missing });
    let waiting = grown.waiting(plant.id, hand.today_number()).is_some();
    Ok(Answer {
        question: "flowers_again",
        frame: "When it flowers again: {value}",
        usually: None,
        next: if waiting { Some(of_bud(grown, plant, hand)?) } else { None },
        evidence,
        basis: Basis::Nothing,
        gaps: Vec::new(),
        cautions: Vec::new(),
        not_enough: Some(NotEnough {
            have,
            need: FLOWERINGS.max(have + 1),
            record: "Record each flowering of a peduncle under the same part, or of the plant: the day it opens is enough.",
        }),
    })
}

fn none(frame: &'static str) -> Forecast {
    Forecast { frame, day: None, from: None, to: None, level: LEVEL }
}

/// When the bud opens that was seen.
fn of_bud(grown: &Grown, plant: &PlantRow, hand: &Hand) -> Result<Forecast> {
    let today = hand.today_number();
    let Some(bud) = grown.waiting(plant.id, today) else { return Ok(none("*next:* not known")) };
    // It was not open when the plant was last written about.
    let looked = grown.known_until(plant.id).max(bud.seen.1);
    let left = grown.until_open(looked - bud.seen.1).map_err(|e| failed(&e))?;
    let next = left.next(LEVEL).map_err(|e| failed(&e))?;
    let day = |left: f64| day_after(looked, left);
    Ok(Forecast {
        frame: "*next:* the bud opens {value}",
        day: next.median.map(day),
        from: next.lower.map(day),
        to: next.upper.map(day),
        level: LEVEL,
    })
}

/// When the next of a plant's peduncles flowers.
fn coming(grown: &Grown, again: &Again, plant: &PlantRow, hand: &Hand) -> Result<Forecast> {
    if plant.state != "alive" {
        return Ok(none("*next:* it lives here no longer"));
    }
    if grown.waiting(plant.id, hand.today_number()).is_some() {
        return of_bud(grown, plant, hand);
    }
    let running: Vec<(usize, &Wait)> = (again.gaps.iter().enumerate())
        .filter(|(_, g)| g.plant == plant.id && g.next.is_none() && !g.lost)
        .collect();
    let Some(looked) = running.iter().map(|(_, g)| g.until).max() else {
        return Ok(none("*next:* not known, since no flowering of this plant is recorded"));
    };
    let mut left = Vec::new();
    for (index, gap) in running {
        left.push(again.fit.left(index, gap).map_err(|e| failed(&e))?);
    }
    // The first of several: none of them has flowered.
    let none_yet = |t: f64| left.iter().map(|l| l.beyond(t)).product::<f64>();
    let by = |chance: f64| {
        let (mut low, mut high) = (0.0, 1.0);
        while none_yet(high) > 1.0 - chance && high < 1e5 {
            (low, high) = (high, 2.0 * high);
        }
        for _ in 0..30 {
            let mid = 0.5 * (low + high);
            if none_yet(mid) > 1.0 - chance {
                low = mid;
            } else {
                high = mid;
            }
        }
        day_after(looked, 0.5 * (low + high))
    };
    let (from, day, to) = (by(0.1), by(0.5), by(0.9));
    Ok(Forecast {
        frame: if day < hand.today_number() {
            "*next:* it should be flowering by now, {value}"
        } else {
            "*next:* flowers again {value}"
        },
        day: Some(day),
        from: Some(from),
        to: Some(to),
        level: LEVEL,
    })
}

fn evidence(again: &Again) -> Evidence {
    let mut e = Evidence { what: WHAT, ..Evidence::default() };
    let mut plants: Vec<i64> = again.gaps.iter().map(|g| g.plant).collect();
    plants.sort_unstable();
    plants.dedup();
    e.plants = plants.len();
    for g in &again.gaps {
        let known = g.since.known;
        e.count(known);
        e.reach(g.since.began.0, g.until.min(g.next.map_or(g.until, |n| n.1)));
        match g.next {
            None => {
                e.open += 1;
                e.marks.push(Mark::Open { from: g.since.began.0, to: g.until, known });
            }
            Some((from, to)) if from == to => e.marks.push(Mark::At { day: to, known }),
            Some((from, to)) => {
                e.between_looks += 1;
                e.marks.push(Mark::Between { from, to, known });
            }
        }
    }
    e
}

fn gaps(again: &Again) -> Vec<Gap> {
    let mut out = Vec::new();
    if !again.peduncles {
        out.push(Gap {
            text: "Peduncles are not told apart; flowers of a plant within two weeks count as one flowering.",
            n: 0,
        });
    }
    let lost = again.gaps.iter().filter(|g| g.lost).count();
    if lost > 0 {
        out.push(Gap {
            text: "One peduncle was cut or lost before it could flower again.|{n} peduncles were cut or lost before they could flower again.",
            n: lost,
        });
    }
    let spread: i64 =
        again.gaps.iter().filter_map(|g| g.next).map(|n| n.1 - n.0).max().unwrap_or(0);
    if spread > 31 {
        out.push(Gap { text: "Some openings are known to the month only, or worse.", n: 0 });
    }
    out.push(Gap {
        text: "Season, light and length of day are not allowed for; see also its months.",
        n: 0,
    });
    out
}
