//! How long does a flower last here?

use std::collections::BTreeSet;

use journal::PlantRow;
use stats::survival::parametric::ParametricError;

use super::bloom::{Bloom, FlowerKind, to_f64};
use super::life::{Followed, LEVEL, LifeFit, LifePrior, day_after};
use super::read::Grown;
use crate::{
    Answer, AskError, Basis, Estimate, Evidence, Forecast, Gap, Hand, Mark, NotEnough, Result, Unit,
};

/// From so many ended flowers on an answer is called learnt. Common practice, no source.
const ENDED_NEEDED: usize = 3;
/// Below this share of information a number is mostly the default.
const MOSTLY_DEFAULT: f64 = 0.2;

pub(super) fn failed(e: &ParametricError) -> AskError {
    AskError::field("flowers", "", format!("could not be fitted: {e}"))
}

/// Records that no fit can hold together leave the question open; the page goes on.
pub(super) fn or_unfitted(
    question: &'static str,
    frame: &'static str,
    answer: Result<Answer>,
) -> Result<Answer> {
    match answer {
        Err(AskError::Field { field, .. }) if field == "flowers" => Ok(Answer {
            question,
            frame,
            usually: None,
            next: None,
            evidence: Evidence { what: what(FlowerKind::Flower), ..Evidence::default() },
            basis: Basis::Nothing,
            gaps: vec![Gap {
                text: "The records of these flowers could not be fitted together, so nothing is said.",
                n: 0,
            }],
            cautions: Vec::new(),
            not_enough: None,
        }),
        other => other,
    }
}

/// How long the flowers of a plant last, and when the open one ends.
///
/// # Errors
/// When the fit did not reach its optimum.
pub fn flower_life_of(grown: &Grown, plant: &PlantRow, hand: &Hand) -> Result<Answer> {
    let own: Vec<&Followed> = grown.followed.iter().filter(|f| f.bloom.plant == plant.id).collect();
    let clone: Vec<&Followed> = grown.followed.iter().filter(|f| f.clone == plant.clone).collect();
    let kind = commonest(if own.is_empty() { &clone } else { &own });
    let other_kind = own.iter().filter(|f| f.bloom.kind != kind).count();
    let of_kind = |of: &[&Followed]| -> Vec<Followed> {
        of.iter().filter(|f| f.bloom.kind == kind).map(|f| **f).collect()
    };
    let (own, clone, genus) = (of_kind(&own), of_kind(&clone), grown.of_kind(kind));
    if genus.is_empty() {
        return Ok(nothing(kind));
    }
    let fit = grown.life_for(kind, plant.clone)?;
    let used: Vec<Followed> = fit.used.iter().map(|k| genus[*k]).collect();
    let (shown, basis) = rests_on(&own, &clone, &used, grown.genus(), kind);
    let air = grown.air_now(plant);
    let [lower, value, upper] = fit.typical(plant.clone, air).map_err(|e| failed(&e))?;
    let mut evidence = evidence_of(&shown, kind);
    if matches!(basis, Basis::Borrowed { .. }) {
        let is_own = |f: &Followed| own.contains(f);
        evidence.marks = (shown.iter().filter(|f| !is_own(f)))
            .map(|f| Mark::Borrowed { day: f.bloom.last() })
            .chain(own.iter().map(|f| mark(&f.bloom)))
            .collect();
    }
    let ended_own = ended(&own);
    if !matches!(basis, Basis::LearntHere | Basis::LearntFromClone) {
        evidence.marks.push(Mark::Missing { count: ENDED_NEEDED.saturating_sub(ended_own) });
    }
    let mostly = fit.information(plant.clone).map_err(|e| failed(&e))? < MOSTLY_DEFAULT;
    let known = [air.warmth.is_some(), used.iter().any(|f| f.weather.warmth.is_some())];
    Ok(Answer {
        question: "flower_life",
        frame: frame(kind),
        usually: Some(Estimate {
            value: Some(value),
            lower: Some(lower),
            upper: Some(upper),
            level: LEVEL,
            unit: Unit::Days,
        }),
        next: Some(coming(&fit, plant, &genus, grown, hand)?),
        gaps: gaps(&used, &evidence, other_kind, known, mostly),
        evidence,
        basis,
        cautions: Vec::new(),
        not_enough: None,
    })
}

const fn frame(kind: FlowerKind) -> &'static str {
    match kind {
        FlowerKind::Flower => "A flower *usually* lasts {value}",
        FlowerKind::Umbel => "An umbel *usually* lasts {value}",
    }
}

fn ended(flowers: &[Followed]) -> usize {
    flowers.iter().filter(|f| f.bloom.ended.is_some()).count()
}

/// The kind of part that is followed most.
pub(super) fn commonest(followed: &[&Followed]) -> FlowerKind {
    let umbels = followed.iter().filter(|f| f.bloom.kind == FlowerKind::Umbel).count();
    if 2 * umbels > followed.len() { FlowerKind::Umbel } else { FlowerKind::Flower }
}

/// Whose flowers are shown, and what that makes of the answer.
fn rests_on(
    own: &[Followed],
    clone: &[Followed],
    used: &[Followed],
    genus: &str,
    kind: FlowerKind,
) -> (Vec<Followed>, Basis) {
    if ended(own) >= ENDED_NEEDED {
        (own.to_vec(), Basis::LearntHere)
    } else if ended(clone) >= ENDED_NEEDED {
        (clone.to_vec(), Basis::LearntFromClone)
    } else if ended(used) >= ENDED_NEEDED && !genus.is_empty() {
        (used.to_vec(), Basis::Borrowed { from: genus.to_owned() })
    } else {
        let basis = match LifePrior::of(genus, kind).source {
            Some(source) => Basis::Published { source },
            None => Basis::CommonPractice,
        };
        (used.to_vec(), basis)
    }
}

/// Nothing of the genus was ever followed.
fn nothing(kind: FlowerKind) -> Answer {
    Answer {
        question: "flower_life",
        frame: match kind {
            FlowerKind::Flower => "How long a flower lasts: {value}",
            FlowerKind::Umbel => "How long an umbel lasts: {value}",
        },
        usually: None,
        next: None,
        evidence: Evidence {
            what: what(kind),
            marks: vec![Mark::Missing { count: ENDED_NEEDED }],
            ..Evidence::default()
        },
        basis: Basis::Nothing,
        gaps: Vec::new(),
        cautions: Vec::new(),
        not_enough: Some(NotEnough {
            have: 0,
            need: ENDED_NEEDED,
            record: "Record the day a flower opens and the day it drops, or a look in between.",
        }),
    }
}

/// When the flower ends that has been open longest.
fn coming(
    fit: &LifeFit,
    plant: &PlantRow,
    genus: &[Followed],
    grown: &Grown,
    hand: &Hand,
) -> Result<Forecast> {
    let none = |frame| Forecast { frame, day: None, from: None, to: None, level: LEVEL };
    let open = genus.iter().enumerate().filter(|(_, f)| f.bloom.plant == plant.id && f.bloom.open);
    let Some((index, f)) = open.min_by_key(|(_, f)| f.bloom.opened) else {
        return Ok(none("*next:* none open"));
    };
    // A flower that has just been seen to open has met no air of its own yet.
    let air = if f.weather.warmth.is_some() { f.weather } else { grown.air_now(plant) };
    let left = fit.left(plant.clone, (index, &f.bloom), air).map_err(|e| failed(&e))?;
    let next = left.next(LEVEL).map_err(|e| failed(&e))?;
    let day = |left: f64| day_after(f.bloom.looked, left);
    let to = next.upper.map(day);
    let over = to.is_some_and(|d| d < hand.today_number());
    Ok(Forecast {
        frame: match (f.bloom.kind, over) {
            (FlowerKind::Flower, false) => "*next:* the open flower ends {value}",
            (FlowerKind::Umbel, false) => "*next:* the open umbel ends {value}",
            (FlowerKind::Flower, true) => "*next:* the flower is very likely over, {value}",
            (FlowerKind::Umbel, true) => "*next:* the umbel is very likely over, {value}",
        },
        day: next.median.map(day),
        from: next.lower.map(day),
        to,
        level: LEVEL,
    })
}

#[allow(clippy::let_and_return, reason = "words are found by the name of what holds them")]
const fn what(kind: FlowerKind) -> &'static str {
    let evidence = match kind {
        FlowerKind::Flower => "one flower|{n} flowers",
        FlowerKind::Umbel => "one umbel|{n} umbels",
    };
    evidence
}

pub(super) fn mark(b: &Bloom) -> Mark {
    match b.ended {
        None => Mark::Open { from: b.opened.0, to: b.looked, known: b.known },
        Some((first, last)) if first == last => Mark::At { day: last, known: b.known },
        Some((first, last)) => Mark::Between { from: first, to: last, known: b.known },
    }
}

/// What flowers of one kind make for an answer to rest on.
pub(super) fn evidence_of(flowers: &[Followed], kind: FlowerKind) -> Evidence {
    let mut e = Evidence { what: what(kind), ..Evidence::default() };
    let mut plants = BTreeSet::new();
    for Followed { bloom: b, .. } in flowers {
        e.count(b.known);
        plants.insert(b.plant);
        e.reach(b.opened.0, b.last());
        match b.ended {
            None => e.open += 1,
            Some((first, last)) if first != last => e.between_looks += 1,
            Some(_) => {}
        }
        e.marks.push(mark(b));
    }
    e.plants = plants.len();
    e
}

/// The month of a day number.
pub(super) fn month_of(day: i64) -> i8 {
    i32::try_from(day).ok().and_then(dates::from_days).map_or(1, |d| d.month())
}

fn gaps(
    used: &[Followed],
    evidence: &Evidence,
    other_kind: usize,
    [now, then]: [bool; 2],
    mostly: bool,
) -> Vec<Gap> {
    let mut out = Vec::new();
    if mostly {
        out.push(Gap {
            text: "Mostly the default; followed flowers, from opening to end, would replace it.",
            n: 0,
        });
    }
    if evidence.plants == 1 {
        out.push(Gap { text: "One plant only: plant and place cannot be told apart.", n: 1 });
    }
    if evidence.between_looks * 2 > evidence.records {
        out.push(Gap {
            text: "{n} of them were looked at only now and then; a look every other day near the end would narrow this.",
            n: evidence.between_looks,
        });
    }
    // With looks as far apart as a flower lasts, some were never seen.
    let missed = |b: &Bloom| to_f64(b.opened.1 - b.opened.0) >= 5.0;
    let rare = used.iter().filter(|f| missed(&f.bloom)).count();
    if rare * 2 > used.len() {
        out.push(Gap {
            text: "Flowers that open and end between two looks are never seen; that is allowed for, as well as weekly looks can tell.",
            n: 0,
        });
    }
    let months: Vec<i8> = used.iter().map(|f| month_of(f.bloom.opened.0)).collect();
    if !months.iter().any(|m| matches!(m, 11 | 12 | 1 | 2)) {
        out.push(Gap { text: "No winter flowers are recorded.", n: 0 });
    } else if !months.iter().any(|m| matches!(m, 5..=8)) {
        out.push(Gap { text: "No summer flowers are recorded.", n: 0 });
    }
    if !then {
        out.push(Gap {
            text: "Warmth shortens a flower's life; no reading of the air stands beside these.",
            n: 0,
        });
    } else if !now {
        out.push(Gap {
            text: "The air of the last weeks at its place is not known; this is for the air that these flowers had.",
            n: 0,
        });
    }
    if other_kind > 0 {
        out.push(Gap {
            text: "One flower that was followed as another kind of part is not counted.|{n} flowers that were followed as another kind of part are not counted.",
            n: other_kind,
        });
    }
    out
}
