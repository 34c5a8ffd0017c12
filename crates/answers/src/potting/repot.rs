//! Does this plant need repotting?

use std::collections::BTreeMap;

use journal::{EntryRow, PlantRow, Reader};
use serde::Serialize;
use serde_json::{Map, Value};
use stats::survival::Time;

use super::{
    roots::{Believed, Chances, Filling, Look, MONTH, believe, fillings},
    trend::{Trend, trend},
};
use crate::{
    Answer, Basis, Caution, Estimate, Evidence, Forecast, Gap, Hand, Mark, NotEnough, Result, Unit,
    acts::plants::need_plant,
    feed::{group_key, group_words},
    water::{Drying, Facts, Water, Wish, follow, happening},
};

const LEVEL: f64 = 0.8;
/// Buds and flowers are asked about for so long after they were last seen \[d\]. Common practice.
const FLOWER: i64 = 45;
/// From this chance on a drying that changed is said. Common practice.
const SAID: f64 = 2.0 / 3.0;
const KINDS: [&str; 2] = ["potted", "checked_roots"];

/// What all looks at roots say, group by group.
#[derive(Default)]
pub(crate) struct AllRoots {
    times: BTreeMap<String, Vec<Time>>,
    looks: BTreeMap<String, Vec<Mark>>,
    plants: BTreeMap<String, usize>,
    believed: BTreeMap<String, Believed>,
    chances: Chances,
}

impl AllRoots {
    /// Reads the looks at the roots of all living plants.
    pub(crate) fn read(reader: &Reader<'_>) -> Result<Self> {
        let mut looks: BTreeMap<i64, (String, Vec<Look>)> = BTreeMap::new();
        reader.each_entry_of_plants_with(&KINDS, "roots", |genus, e| {
            if let Some(look) = Look::of_plain(&e) {
                let of = looks.entry(e.plant).or_insert_with(|| (key(genus), Vec::new()));
                of.1.push(look);
            }
        })?;
        let mut out = Self::default();
        for (key, looks) in looks.into_values() {
            let found: Vec<Filling> =
                fillings(&looks).into_iter().filter(|f| f.time().is_some()).collect();
            if found.is_empty() {
                continue;
            }
            *out.plants.entry(key.clone()).or_default() += 1;
            out.looks.entry(key.clone()).or_default().extend(found.iter().map(mark));
            out.times.entry(key).or_default().extend(found.iter().filter_map(Filling::time));
        }
        Ok(out)
    }

    /// What is believed of a group.
    pub(crate) fn believed(&mut self, group: &str) -> Result<&Believed> {
        if !self.believed.contains_key(group) {
            let times = self.times.get(group).map_or(&[][..], |t| t);
            let found = believe(Some(group), times)?;
            self.believed.insert(group.to_owned(), found);
        }
        self.believed.get(group).ok_or_else(|| {
            crate::AskError::field("group", group, "has no default for how long roots take")
        })
    }

    /// The chance that a filling has come to its end by today.
    pub(crate) fn chance(&mut self, group: &str, now: &Filling, today: i64) -> Result<f64> {
        if now.full.is_some() {
            return Ok(1.0);
        }
        self.believed(group)?;
        let Some(believed) = self.believed.get(group) else { return Ok(0.0) };
        self.chances.of(group, believed, months(now, today), room_at(now))
    }
}

/// The group of a genus.
pub(crate) fn key(genus: &str) -> String {
    group_key(genus).unwrap_or("other").to_owned()
}

/// The filling that goes on in the pot of each living plant, by row.
pub(crate) fn present(reader: &Reader<'_>) -> Result<BTreeMap<i64, Filling>> {
    let mut looks: BTreeMap<i64, Vec<Look>> = BTreeMap::new();
    reader.each_entry_of_the_living(&KINDS, i64::MIN, |e| {
        if let Some(look) = Look::of_plain(&e) {
            looks.entry(e.plant).or_default().push(look);
        }
    })?;
    let last = looks.into_iter().filter_map(|(plant, l)| Some((plant, *fillings(&l).last()?)));
    Ok(last.collect())
}

/// Months since potting, from the middle of a vague date's last possible day on: at least so long.
#[allow(clippy::cast_precision_loss)]
pub(crate) fn months(now: &Filling, today: i64) -> f64 {
    (today - now.potted.1).max(0) as f64 / MONTH
}

/// Months after potting at which roots surely had room.
#[allow(clippy::cast_precision_loss)]
pub(crate) fn room_at(now: &Filling) -> Option<f64> {
    now.room.map(|r| (r.0 - now.potted.1) as f64 / MONTH).filter(|m| *m > 0.0)
}

fn mark(f: &Filling) -> Mark {
    let known = f.known;
    match (f.room, f.full) {
        (room, Some(full)) => {
            Mark::Between { from: room.map_or(f.potted.0, |r| r.0), to: full.1, known }
        }
        (room, None) => {
            Mark::Open { from: f.potted.0, to: room.map_or(f.potted.1, |r| r.1), known }
        }
    }
}

/// Whether it is in bud or flower, as far as somebody wrote.
pub(crate) fn in_flower(reader: &Reader<'_>, plant: i64, today: i64) -> Result<bool> {
    let kinds = ["bud_seen", "opened", "still_open", "ended"];
    let last = reader.entries_of_kinds(plant, &kinds)?.into_iter().rev();
    let mut recent = last.filter(|e| e.day_to.is_some_and(|d| today - d <= FLOWER));
    Ok(recent.next().is_some_and(|e| e.kind != "ended"))
}

/// How its drying changed since it was potted. Days are counted by demand where the clocks reach
/// back to the potting, else they are plain days, in which a season may hide.
pub(crate) fn trend_of(
    reader: &Reader<'_>,
    plant: &PlantRow,
    potted: i64,
    water: Option<&Water>,
) -> Result<Option<Trend>> {
    let wish = Wish::of_word(&reader.claimed_words(plant.id, "wish")?);
    let entries = reader.entries_of_kinds(plant.id, &["watered", "checked", "potted"])?;
    let happenings: Vec<_> = entries.iter().filter_map(happening).collect();
    let dryings: Vec<Drying> = follow(&happenings, wish, Facts::default()).past;
    let counted = water.and_then(|w| Some((&w.night.clocks, w.plant(plant.number)?)));
    Ok(match counted.filter(|(clocks, _)| clocks.shared().first <= potted) {
        #[allow(clippy::cast_precision_loss)]
        Some((clocks, housed)) => trend(&dryings, potted, true, &|from, to| {
            clocks.between(&housed.pot, from as f64, to as f64)
        }),
        #[allow(clippy::cast_precision_loss)]
        None => trend(&dryings, potted, false, &|from, to| (to - from) as f64),
    })
}

/// Answers the question for the plant of this number.
pub(crate) fn repot(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<Answer> {
    repot_with(reader, number, hand, None)
}

/// The same, with what has been learnt about water at hand.
pub(crate) fn repot_with(
    reader: &Reader<'_>,
    number: i64,
    hand: &Hand,
    water: Option<&Water>,
) -> Result<Answer> {
    let plant = need_plant(reader, number)?;
    let mut roots = AllRoots::read(reader)?;
    let entries = reader.entries_of_kinds(plant.id, &KINDS)?;
    let own: Vec<Look> = entries
        .iter()
        .filter_map(|e| Look::of(&e.kind, (e.day_from, e.day_to), &e.detail, e.known))
        .collect();
    let Some(now) = fillings(&own).last().copied() else { return Ok(never_potted()) };
    let group = key(&plant.genus);
    let evidence = evidence_of(&roots, &group);
    let basis = basis_of(&evidence, &group, hand);
    let flower = in_flower(reader, plant.id, hand.today_number())?;
    let trend = trend_of(reader, &plant, now.potted.1, water)?;
    let believed = roots.believed(&group)?;
    Ok(Answer {
        question: "repot",
        frame: "Roots *usually* fill the pot in {value}",
        usually: Some(Estimate {
            value: Some(believed.usual.value),
            lower: Some(believed.usual.lower),
            upper: Some(believed.usual.upper),
            level: LEVEL,
            unit: Unit::Months,
        }),
        next: Some(coming(believed, &now, hand.today_number())?),
        gaps: gaps(believed, &now, trend.as_ref(), latest_mix(&entries), hand),
        evidence,
        basis,
        cautions: cautions(flower, &entries),
        not_enough: None,
    })
}

fn never_potted() -> Answer {
    Answer {
        question: "repot",
        frame: "When it needs a new pot: {value}",
        usually: None,
        next: None,
        evidence: Evidence {
            what: "one potting|{n} pottings",
            marks: vec![Mark::Missing { count: 1 }],
            ..Evidence::default()
        },
        basis: Basis::Nothing,
        gaps: Vec::new(),
        cautions: Vec::new(),
        not_enough: Some(NotEnough {
            have: 0,
            need: 1,
            record: "Record when it was potted; about when is enough. Then look at its roots now and then.",
        }),
    }
}

fn evidence_of(roots: &AllRoots, group: &str) -> Evidence {
    let marks = roots.looks.get(group).cloned().unwrap_or_default();
    let mut e = Evidence {
        what: "one pot whose roots were looked at|{n} pots whose roots were looked at",
        plants: roots.plants.get(group).copied().unwrap_or(0),
        ..Evidence::default()
    };
    for mark in &marks {
        match *mark {
            Mark::Between { from, to, known } => {
                e.count(known);
                e.reach(from, to);
                e.between_looks += 1;
            }
            Mark::Open { from, to, known } => {
                e.count(known);
                e.reach(from, to);
                e.open += 1;
            }
            _ => {}
        }
    }
    e.marks = marks;
    e
}

fn basis_of(evidence: &Evidence, group: &str, hand: &Hand) -> Basis {
    if evidence.records == 0 {
        return Basis::CommonPractice;
    }
    Basis::Borrowed { from: group_words(group, hand.texts()).to_owned() }
}

fn coming(believed: &Believed, now: &Filling, today: i64) -> Result<Forecast> {
    let none = |frame| Forecast { frame, day: None, from: None, to: None, level: LEVEL };
    if now.full.is_some() {
        return Ok(none("*next:* its roots circled at the last look, so it wants a larger pot"));
    }
    let [lower, middle, upper] = believed.next(room_at(now))?;
    #[allow(clippy::cast_possible_truncation)]
    let day = |m: f64| now.potted.1 + (m * MONTH).round() as i64;
    let (Some(lower), Some(middle)) = (lower.map(day), middle.map(day)) else {
        return Ok(none("*next:* not known"));
    };
    Ok(Forecast {
        frame: if middle < today {
            "*next:* probably full already, {value}; look at its roots"
        } else {
            "*next:* full {value}"
        },
        day: Some(middle),
        from: Some(lower),
        to: upper.map(day),
        level: LEVEL,
    })
}

fn latest_mix(entries: &[EntryRow]) -> Map<String, Value> {
    let potted = entries.iter().rev().find(|e| e.kind == "potted");
    potted.and_then(|e| e.detail.get("mix")).and_then(Value::as_object).cloned().unwrap_or_default()
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn gaps(
    believed: &Believed,
    now: &Filling,
    trend: Option<&Trend>,
    mix: Map<String, Value>,
    hand: &Hand,
) -> Vec<Gap> {
    let mut out = Vec::new();
    if believed.information < 0.2 {
        out.push(Gap {
            text: "Mostly the default of common practice; looks at roots, with room or full, would replace it.",
            n: 0,
        });
    }
    if now.room.is_none() && now.full.is_none() {
        out.push(Gap { text: "Nobody looked at its roots since it was potted.", n: 0 });
    }
    match trend {
        None => out.push(Gap {
            text: "Too few dryings at potting and now to tell whether it dries faster than it did.",
            n: 0,
        }),
        Some(t) if t.faster >= SAID => out.push(Gap {
            text: "It dries faster than when it was potted, in {n} % of the time: roots that fill the pot do that. The season is not allowed for in full.",
            n: (100.0 * t.ratio).round() as usize,
        }),
        Some(t) if t.slower >= SAID => out.push(Gap {
            text: "It dries much slower than when it was potted, in {n} % of the time: a mix that has decayed, or lost roots. Look at both.",
            n: (100.0 * t.ratio).round() as usize,
        }),
        Some(_) => {}
    }
    let bark = mix.keys().any(|k| {
        let k = k.to_lowercase();
        k.contains("bark") || k.contains("rinde")
    });
    if bark && months(now, hand.today_number()) > 24.0 {
        out.push(Gap {
            text: "Bark of two years and more holds less air: test a pot of it at the sink.",
            n: 0,
        });
    }
    out
}

fn cautions(flower: bool, entries: &[EntryRow]) -> Vec<Caution> {
    let mut out = Vec::new();
    if flower {
        out.push(Caution {
            lead: "In bud or flower.",
            text: "Wait until it has flowered: repotted now, it would drop them.",
        });
    }
    let looked = entries.iter().rev().find(|e| e.detail.contains_key("roots"));
    if looked.and_then(|e| e.detail.get("rotten")).and_then(Value::as_bool) == Some(true) {
        out.push(Caution {
            lead: "Rotten roots.",
            text: "A smaller pot, not a larger one: wet mix without roots rots on.",
        });
    }
    out
}

/// How likely a plant needs repotting now, for lists.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Chance {
    /// The chance that roots fill its pot by now, from 0 to 1; 1 where they were seen to.
    pub chance: f64,
    /// Whether they were seen to.
    pub seen: bool,
    /// Months since it was potted.
    pub months: f64,
}
