//! Do salts build up in this pot?

use std::collections::BTreeMap;

use culture::{
    Estimate as Held,
    feed::{label_slope, volumes_to_flush},
};
use journal::{Known, PlantRow, Reader, SubjectKind};
use serde_json::{Map, Value, json};

use super::{
    kept::{Kept, kept},
    salts_model::{Followed, Pot, Pour, follow, quantile},
    strength::{Fed, fed_words},
};
use crate::{
    Answer, Basis, Caution, Estimate, Evidence, Forecast, Gap, Hand, Mark, NotEnough, Result, Unit,
    acts::plants::need_plant,
    due::{About, Done, Due},
    potting::held_water,
    said::{figures, range_figures},
};

/// Conductivity of what runs out above which it is too salty for epiphytes \[mS/cm\]: the
/// calculators' alarm. Common practice, no source.
pub(crate) const LIMIT: f64 = 1.5;
/// What a rinse should bring it back to \[mS/cm\]. Common practice, no source: half the limit.
const RINSED: f64 = 0.75;
const NEEDED: usize = 3;
/// The latest waterings that are followed: before them the pot has forgotten.
const MOST: usize = 120;
const LEVEL: f64 = 0.8;
const SEED: u64 = 0x5A_175;
const DRAWS: usize = 400;
/// For all plants at once.
const FEW_DRAWS: usize = 64;

/// Conductivity of waters that are not on the shelf \[mS/cm\]: middle, least, most. From memory of
/// water reports and of meters of osmosis units.
const WATERS: [(&str, f64, f64, f64); 4] = [
    ("rain", 0.03, 0.01, 0.10),
    ("osmosis", 0.02, 0.01, 0.05),
    ("distilled", 0.01, 0.0, 0.02),
    ("melted", 0.02, 0.01, 0.05),
];
const TAP: (f64, f64, f64) = (0.5, 0.2, 0.9);

/// What the shelf says about what is poured.
pub(crate) struct Shelf {
    pub kept: Kept,
}

impl Shelf {
    pub fn new(reader: &Reader<'_>) -> Result<Self> {
        Ok(Self { kept: kept(reader)? })
    }

    /// Conductivity of a water by its kind \[mS/cm\]; of no kind, of whichever is at hand.
    fn water(&self, kind: &str) -> Held {
        let on_shelf: Vec<Held> = (self.kept.waters.iter())
            .filter(|w| kind.is_empty() || kind == "mixed" || w.kind == kind)
            .filter_map(|w| w.conducts())
            .collect();
        if !on_shelf.is_empty() {
            #[allow(clippy::cast_precision_loss)]
            let n = on_shelf.len() as f64;
            return Held {
                value: on_shelf.iter().map(|h| h.value).sum::<f64>() / n,
                lower: on_shelf.iter().map(|h| h.lower).fold(f64::INFINITY, f64::min),
                upper: on_shelf.iter().map(|h| h.upper).fold(0.0, f64::max),
            };
        }
        match WATERS.iter().find(|w| w.0 == kind) {
            Some(&(_, value, lower, upper)) => Held { value, lower, upper },
            None => Held { value: TAP.0, lower: TAP.1, upper: TAP.2 },
        }
    }

    /// What a feed adds \[mS/cm\]; `None` for a feed that is not on the shelf.
    fn feed(&self, feed: &str, rate: &str) -> Option<Held> {
        match fed_words(feed, rate, &self.kept) {
            Fed::Plain => Some(Held::exact(0.0)),
            Fed::Unknown => None,
            Fed::Known { feed, nitrogen } => {
                let slope = label_slope(self.kept.feeds[feed].at).ok()?;
                Some(Held {
                    value: nitrogen.value * slope.value,
                    lower: nitrogen.lower * slope.lower,
                    upper: nitrogen.upper * slope.upper,
                })
            }
        }
    }

    /// A watering, from its day and fields; whether its feed is known.
    pub fn pour(&self, day: i64, detail: &Map<String, Value>) -> (Pour, bool) {
        let words = |key: &str| detail.get(key).and_then(Value::as_str).unwrap_or("");
        let value =
            |key: &str| detail.get(key).and_then(|v| v.get("value")).and_then(Value::as_f64);
        let water = self.water(words("water"));
        let feed = self.feed(words("feed"), words("feed_rate"));
        let known = feed.is_some();
        // A feed of which nothing is known: between nothing and twice an ordinary one.
        let mut feed = feed.unwrap_or(Held { value: 0.5, lower: 0.1, upper: 1.2 });
        let mut water = water;
        if let Some(poured) = value("conductivity") {
            // The meter saw water and feed together.
            water = Held::exact(water.value.min(poured));
            feed = Held::exact((poured - water.value).max(0.0));
        }
        let pour = Pour {
            day,
            amount: value("amount").map(|l| 1000.0 * l),
            drained: value("drained").map(|l| 1000.0 * l),
            water,
            feed,
            drain: value("drain_conductivity"),
        };
        (pour, known || value("conductivity").is_some())
    }
}

/// The waterings of a pot, with what the record leaves open.
#[derive(Debug, Clone, Default)]
struct Waterings {
    pours: Vec<Pour>,
    known: Vec<Known>,
    strange: usize,
    of_place: bool,
}

impl Waterings {
    fn take(&mut self, shelf: &Shelf, day: i64, known: Known, detail: &Map<String, Value>) {
        let (pour, fed_known) = shelf.pour(day, detail);
        self.strange += usize::from(!fed_known);
        self.pours.push(pour);
        self.known.push(known);
    }

    fn latest(&mut self) {
        let cut = self.pours.len().saturating_sub(MOST);
        self.pours.drain(..cut);
        self.known.drain(..cut);
    }

    /// The day of the last reading of what ran out.
    fn metered(&self) -> Option<i64> {
        self.pours.iter().rev().find(|p| p.drain.is_some()).map(|p| p.day)
    }
}

fn waterings(
    reader: &Reader<'_>,
    plant: &PlantRow,
    shelf: &Shelf,
    since: i64,
) -> Result<Waterings> {
    let mut out = Waterings::default();
    for e in reader.entries_of_kinds(plant.id, &["watered"])? {
        if let (Some(from), Some(to)) = (e.day_from, e.day_to)
            && from == to
            && from >= since
        {
            out.take(shelf, from, e.known, &e.detail);
        }
    }
    if out.pours.len() >= NEEDED {
        out.latest();
        return Ok(out);
    }
    let Some(place) = plant.place_id else { return Ok(out) };
    // Written down for the whole place: what stands there got it.
    let placed = reader.entries_of_kinds(plant.id, &["placed"])?.last().and_then(|e| e.day_to);
    let since = since.max(placed.unwrap_or(since));
    let mut of_place = Waterings { of_place: true, ..Waterings::default() };
    for e in reader.entries_about(place, 4 * MOST)?.iter().rev() {
        if let ("watered", true, Some(day)) = (e.kind.as_str(), e.live, e.day_from)
            && e.day_to == Some(day)
            && day >= since
        {
            of_place.take(shelf, day, e.known, &e.detail);
        }
    }
    if of_place.pours.len() > out.pours.len() {
        out = of_place;
    }
    out.latest();
    Ok(out)
}

/// Answers the question for the plant of this number.
pub(crate) fn salts(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<Answer> {
    let plant = need_plant(reader, number)?;
    let shelf = Shelf::new(reader)?;
    let potted = reader.entries_of_kinds(plant.id, &["potted"])?;
    let last = potted.last();
    let since = last.and_then(|e| e.day_to).unwrap_or(i64::MIN);
    let found = waterings(reader, &plant, &shelf, since)?;
    let held = last.and_then(|e| held_water(&e.detail, &shelf.kept));
    let evidence = evidence_of(&found);
    let (Some(held), true) = (held, found.pours.len() >= NEEDED) else {
        return Ok(not_enough(&found, held.is_some(), evidence));
    };
    let pot = Pot { capacity: held.water, pours: found.pours.clone() };
    let followed = follow(&pot, LIMIT, DRAWS, SEED)
        .map_err(|e| crate::AskError::field("watering", &number.to_string(), e.to_string()))?;
    Ok(answer(&pot, &found, &followed, held.tested, evidence, hand))
}

fn evidence_of(found: &Waterings) -> Evidence {
    let mut e = Evidence { what: "one watering|{n} waterings", plants: 1, ..Evidence::default() };
    for (pour, known) in found.pours.iter().zip(&found.known) {
        e.count(*known);
        e.reach(pour.day, pour.day);
        e.marks.push(Mark::At { day: pour.day, known: *known });
    }
    e
}

fn not_enough(found: &Waterings, pot: bool, mut evidence: Evidence) -> Answer {
    let have = found.pours.len().min(NEEDED);
    let mut gaps = Vec::new();
    if !pot {
        gaps.push(Gap { text: "The size of its pot is not recorded.", n: 0 });
    }
    if have < NEEDED {
        evidence.marks.push(Mark::Missing { count: NEEDED - have });
    }
    Answer {
        question: "salts",
        frame: "Salts in its pot: {value}",
        usually: None,
        next: None,
        evidence,
        basis: Basis::Nothing,
        gaps,
        cautions: Vec::new(),
        not_enough: Some(NotEnough {
            have,
            need: NEEDED,
            record: "Record pot and mix, each watering with its feed, and now and then what the meter shows in what runs out.",
        }),
    }
}

fn answer(
    pot: &Pot,
    found: &Waterings,
    followed: &Followed,
    tested: bool,
    evidence: Evidence,
    hand: &Hand,
) -> Answer {
    let metered = found.metered().is_some_and(|day| hand.today_number() - day <= 90);
    let now = quantile(&followed.now, 0.5);
    let mut gaps = Vec::new();
    if let Some(volume) = rinse(now, pot) {
        gaps.push(Gap {
            text: "{n} mL of soft water, poured through in one go, would bring it to half the limit of 1.5 mS/cm.",
            n: volume,
        });
    }
    if !metered {
        gaps.push(Gap {
            text: "Nobody measured what runs out, so this is a budget of what came and went: how much runs through and how much the plant takes are guessed.",
            n: 0,
        });
    }
    if found.strange > 0 {
        gaps.push(Gap {
            text: "One watering names a feed that is not on the shelf.|{n} waterings name a feed that is not on the shelf.",
            n: found.strange,
        });
    }
    if found.of_place {
        gaps.push(Gap { text: "The waterings are those of its place.", n: 0 });
    }
    if !tested {
        gaps.push(Gap {
            text: "A test of its mix at the sink would say how much water the pot holds.",
            n: 0,
        });
    }
    let cautions = if now > LIMIT {
        vec![Caution {
            lead: "Rinse before feeding again.",
            text: "Look for a white crust and brown root tips; let it drain freely and empty the saucer. Not while it rests cold and wet.",
        }]
    } else {
        Vec::new()
    };
    Answer {
        question: "salts",
        frame: "The water in its pot *now* stands at {value}",
        usually: Some(Estimate {
            value: Some(now),
            lower: Some(quantile(&followed.now, 0.1)),
            upper: Some(quantile(&followed.now, 0.9)),
            level: LEVEL,
            unit: Unit::Conductivity,
        }),
        next: Some(coming(pot, followed, hand)),
        evidence,
        basis: if metered { Basis::MeasuredHere } else { Basis::CommonPractice },
        gaps,
        cautions,
        not_enough: None,
    }
}

/// Water that a rinse takes \[mL\], to the next 50; none where none is wanted.
fn rinse(now: f64, pot: &Pot) -> Option<usize> {
    if now <= LIMIT {
        return None;
    }
    let soft = 0.03;
    let volumes = volumes_to_flush(now, RINSED, soft).ok()?;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let fifties = (volumes * pot.capacity.value / 50.0).ceil() as usize;
    Some(50 * fifties)
}

fn coming(pot: &Pot, followed: &Followed, hand: &Hand) -> Forecast {
    let none = |frame| Forecast { frame, day: None, from: None, to: None, level: LEVEL };
    let [from, middle, to] = [0.1, 0.5, 0.9].map(|q| quantile(&followed.until, q));
    if middle <= 0.0 {
        return none("*next:* a rinse is due now");
    }
    if !from.is_finite() {
        return none("*next:* at this rate no rinse within half a year");
    }
    let last = pot.pours.last().map_or(hand.today_number(), |p| p.day);
    #[allow(clippy::cast_possible_truncation)]
    let day = |after: f64| after.is_finite().then(|| last + after.round() as i64);
    Forecast {
        frame: "*next:* a rinse {value}, if all goes on as it did",
        day: day(middle),
        from: day(from),
        to: day(to),
        level: LEVEL,
    }
}

/// Days of waterings that are read for the pots of Today.
const REACH: i64 = 800;

/// The pots whose water should be rinsed out, kept pot by pot.
#[derive(Debug, Clone, Default)]
pub(crate) struct Pots {
    lines: BTreeMap<i64, Due>,
}

/// What is read of a pot: its potting, and its waterings since.
#[derive(Default)]
struct Read {
    potted: Option<Map<String, Value>>,
    found: Waterings,
}

impl Read {
    fn take(
        &mut self,
        shelf: &Shelf,
        kind: &str,
        (from, to, known): (Option<i64>, Option<i64>, Known),
        detail: &Map<String, Value>,
    ) {
        match (kind, from, to) {
            ("potted", ..) => {
                *self = Self { potted: Some(detail.clone()), found: Waterings::default() };
            }
            (_, Some(from), Some(to)) if from == to => self.found.take(shelf, from, known, detail),
            _ => {}
        }
    }

    /// The pot as it is followed; none where too little is known of it.
    fn pot(mut self, shelf: &Shelf, today: i64) -> Option<Pot> {
        let held = held_water(&self.potted?, &shelf.kept)?;
        let recent = self.found.pours.last().is_some_and(|p| today - p.day <= 60);
        if self.found.pours.len() < NEEDED || !recent {
            return None;
        }
        self.found.latest();
        Some(Pot { capacity: held.water, pours: self.found.pours })
    }
}

impl Pots {
    /// Follows every pot.
    ///
    /// # Errors
    /// If the record cannot be read.
    pub(crate) fn read(reader: &Reader<'_>, hand: &Hand) -> Result<Self> {
        let mut out = Self::default();
        let Some(shelf) = shelf_in_use(reader)? else { return Ok(out) };
        let today = hand.today_number();
        let mut pots: BTreeMap<i64, Read> = BTreeMap::new();
        reader.each_entry_of_the_living(&["potted", "watered"], today - REACH, |e| {
            let days = (e.day_from, e.day_to, e.known);
            pots.entry(e.plant).or_default().take(&shelf, &e.kind, days, &e.detail);
        })?;
        for (id, read) in pots {
            out.settle(reader, id, read.pot(&shelf, today), hand)?;
        }
        Ok(out)
    }

    /// Follows some pots anew.
    ///
    /// # Errors
    /// If the record cannot be read.
    pub(crate) fn refresh(&mut self, reader: &Reader<'_>, ids: &[i64], hand: &Hand) -> Result<()> {
        if ids.is_empty() {
            return Ok(());
        }
        let Some(shelf) = shelf_in_use(reader)? else { return Ok(()) };
        let today = hand.today_number();
        for id in ids {
            let mut read = Read::default();
            for e in reader.entries_of_kinds(*id, &["potted", "watered"])? {
                if e.day_to.is_some_and(|d| d >= today - REACH) {
                    read.take(&shelf, &e.kind, (e.day_from, e.day_to, e.known), &e.detail);
                }
            }
            self.settle(reader, *id, read.pot(&shelf, today), hand)?;
        }
        Ok(())
    }

    /// Keeps the line of a pot, if it has one.
    fn settle(
        &mut self,
        reader: &Reader<'_>,
        id: i64,
        pot: Option<Pot>,
        hand: &Hand,
    ) -> Result<()> {
        self.lines.remove(&id);
        let Some(pot) = pot else { return Ok(()) };
        let Ok(followed) = follow(&pot, LIMIT, FEW_DRAWS, SEED) else { return Ok(()) };
        // Surer than even: two thirds of all guesses are above the limit.
        if quantile(&followed.now, 1.0 / 3.0) <= LIMIT {
            return Ok(());
        }
        if let Some(plant) = reader.plant_by_id(id)?.filter(|p| p.state == "alive") {
            self.lines.insert(id, line(&plant, &pot, &followed, hand));
        }
        Ok(())
    }

    /// The lines, in the order in which plants came into the record.
    pub(crate) fn lines(&self) -> impl Iterator<Item = &Due> {
        self.lines.values()
    }
}

/// The shelf; none without feeds or waters on it, where every pot would be a guess.
fn shelf_in_use(reader: &Reader<'_>) -> Result<Option<Shelf>> {
    let shelf = Shelf::new(reader)?;
    let empty = shelf.kept.feeds.is_empty() && shelf.kept.waters.is_empty();
    Ok((!empty).then_some(shelf))
}

fn line(plant: &PlantRow, pot: &Pot, followed: &Followed, hand: &Hand) -> Due {
    let t = hand.texts();
    let [low, now, high] = [0.1, 0.5, 0.9].map(|q| quantile(&followed.now, q));
    let volume = rinse(now.max(LIMIT + 0.01), pot).unwrap_or(50);
    let about = About { kind: SubjectKind::Plant, number: plant.number };
    let name = if plant.name.is_empty() { t.t("not named").to_owned() } else { plant.name.clone() };
    let detail = json!({"amount": format!("{volume} ml"), "water": "rain"});
    Due {
        group: "Pots and feed",
        key: "rinse".to_owned(),
        about,
        day: hand.today_number(),
        until: None,
        text: t.f(
            "Rinse {} with {n} mL of rain or other soft water, then let it drain",
            &[("n", &volume), ("", &"{}")],
        ),
        reason: t.f(
            "the water in its pot is believed to stand at {n} mS/cm ({range}); above 1.5 salts harm roots of epiphytes; common practice, no source",
            &[
                ("n", &figures(now, 2, t.lang())),
                ("range", &range_figures(low, high, 2, t.lang())),
            ],
        ),
        named: vec![(about, name)],
        done: vec![Done {
            words: t.t("rinsed").to_owned(),
            kind: "watered",
            detail: detail.as_object().cloned().unwrap_or_default(),
        }],
        put_off: None,
    }
}
