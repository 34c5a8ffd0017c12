//! The keeper: looks, forgets, misreads, writes.

use serde_json::{Map, Value, json};

use super::{
    HouseTruth, Keeper, Law, Place, Pot, TrueDrying, World, Written,
    soil::{Soil, State},
    stream,
};
use crate::rng::Rng;

/// Longest step in which a pot is followed \[d\].
const STEP: f64 = 0.125;
/// A pot that is not dry after so long will not be \[d\].
const NEVER: f64 = 220.0;

/// A plant through the record.
struct Plant<'a> {
    index: usize,
    pot: &'a Pot,
    place: &'a Place,
    soil: Soil,
    now: f64,
    /// The last watering: day and moment.
    watered: Option<(i64, f64)>,
    dry: Option<f64>,
    rng: Rng,
}

impl Plant<'_> {
    /// Follows the pot up to a moment.
    fn follow(&mut self, until: f64) {
        if let Some(dry) = run(&mut self.soil, self.place, self.now, until, self.dry.is_some()) {
            self.dry = Some(dry);
        }
        self.now = until;
    }

    /// When this drying ended, or would have.
    fn ended(&self) -> Option<TrueDrying> {
        let (watered, moment) = self.watered?;
        let dry = self.dry.or_else(|| {
            let mut soil = self.soil.clone();
            run(&mut soil, self.place, self.now, moment + NEVER, false)
        });
        Some(TrueDrying { plant: self.index, watered, moment, dry: dry.unwrap_or(moment + NEVER) })
    }

    fn water(&mut self, day: i64, truth: &mut HouseTruth) {
        truth.dryings.extend(self.ended());
        self.soil.water(self.now, &mut self.rng);
        self.watered = Some((day, self.now));
        self.dry = None;
    }

    /// A look, as it is read.
    fn look(&mut self, keeper: &Keeper, truth: &mut HouseTruth) -> State {
        let state = self.soil.state(&mut self.rng);
        // Nobody takes a soaked pot for dry, nor a dusty one for moist.
        if (0.5..1.4).contains(&self.soil.dryness()) && self.rng.chance(keeper.misreads) {
            truth.misread += 1;
            return match state {
                State::Wet | State::Moist => State::Dry,
                State::Dry | State::BoneDry => State::Moist,
            };
        }
        state
    }

    /// Whether the keeper believes it dry, from the leaves and the days.
    fn believed_dry(&mut self) -> bool {
        self.soil.dryness() * self.rng.log_normal(1.0, 0.3) > 0.9
    }

    fn weight(&mut self) -> String {
        // Pot, mix and plant dry, the water, and a kitchen scale.
        let dry = 0.9 * self.soil.holds + 2.0 * self.soil.width();
        let water = match self.soil.dryness() {
            d if d < 1.6 => self.soil.holds * (1.0 - 0.65 * d).max(0.0),
            _ => 0.0,
        };
        format!("{:.0} g", dry + water + 2.0 * self.rng.normal())
    }
}

/// Follows a pot over a place's days; the moment at which it became dry, if it did.
fn run(soil: &mut Soil, place: &Place, from: f64, until: f64, dry: bool) -> Option<f64> {
    let (mut now, mut found) = (from, None);
    while now < until {
        // A step never reaches into the next day.
        let next = (now + STEP).min(now.floor() + 1.0).min(until);
        let before = soil.dryness();
        soil.pass(now, next - now, &place.on(now.floor() as i64));
        let after = soil.dryness();
        if !dry && before < 1.0 && after >= 1.0 {
            found = Some(now + (next - now) * (1.0 - before) / (after - before));
            // Who only wants to know this needs no more.
            if until - from > 100.0 {
                return found;
            }
        }
        now = next;
    }
    found
}

/// What a day is like for the keeper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Day {
    Nothing,
    /// Water for all before a journey, without looking.
    Leaving,
    Round,
    Hurried,
    Ordinary,
}

fn calendar(world: &World) -> Vec<Day> {
    let keeper = &world.keeper;
    let mut rng = stream(world, "calendar");
    let mut days: Vec<Day> = (0..world.days)
        .map(|d| {
            let round = keeper.rounds.contains(&d.rem_euclid(7));
            match round && !rng.chance(keeper.forgets_round) {
                true if rng.chance(keeper.hurries) => Day::Hurried,
                true => Day::Round,
                false => Day::Ordinary,
            }
        })
        .collect();
    for week in days.chunks_mut(7) {
        if rng.chance(keeper.forgets_week) {
            week.fill(Day::Nothing);
        }
    }
    for year in 0..=(world.days / 365) {
        if keeper.holidays {
            let leaves = year * 365 + i64::from(rng.range(90, 190));
            let back = leaves + i64::from(rng.range(8, 16));
            for d in leaves..back {
                if let Some(day) = usize::try_from(d).ok().and_then(|d| days.get_mut(d)) {
                    *day = if d == leaves { Day::Leaving } else { Day::Nothing };
                }
            }
        }
    }
    days
}

/// Lives through the record.
pub(super) fn live(world: &World, places: &[Place], pots: &[Pot]) -> (Vec<Written>, HouseTruth) {
    let mut truth = HouseTruth {
        lost_roots: pots.iter().map(|p| p.loses_roots).collect(),
        ..HouseTruth::default()
    };
    let mut book = Vec::new();
    let mut plants: Vec<Plant<'_>> = (pots.iter().enumerate())
        .map(|(index, pot)| {
            let mut rng = stream(world, &format!("life {index}"));
            let soil = Soil::new(world, pot, &mut rng);
            let now = world.first_day as f64;
            let place = &places[pot.place];
            book.push(potted(index, pot.potted, pot.width, pot));
            Plant { index, pot, place, soil, now, watered: None, dry: None, rng }
        })
        .collect();
    book.sort_by_key(|w: &Written| w.day);
    let mut hours = stream(world, "hours");
    for (offset, kind) in (0..).zip(calendar(world)) {
        let day = world.first_day + offset;
        let hour = match world.law {
            Law::DemandClock => 0.0,
            // Between breakfast and the evening.
            Law::WaterBalance => hours.between(0.3, 0.85),
        };
        for plant in &mut plants {
            plant.follow(day as f64 + hour);
            if plant.pot.potted_on == Some(day) && plant.watered.is_some() {
                plant.soil.pot_on(day);
                book.push(potted(plant.index, day, plant.soil.width(), plant.pot));
                // New mix is watered in.
                plant.water(day, &mut truth);
                book.push(write(day, plant, "watered", Map::new()));
                continue;
            }
            visit(world, plant, day, kind, &mut book, &mut truth);
        }
    }
    for plant in &plants {
        truth.dryings.extend(plant.ended());
    }
    truth.dryings.sort_by(|a, b| a.moment.total_cmp(&b.moment).then(a.plant.cmp(&b.plant)));
    (book, truth)
}

fn visit(
    world: &World,
    plant: &mut Plant<'_>,
    day: i64,
    kind: Day,
    book: &mut Vec<Written>,
    truth: &mut HouseTruth,
) {
    let keeper = &world.keeper;
    match kind {
        Day::Nothing => {}
        Day::Leaving | Day::Hurried => give(plant, day, Map::new(), book, truth),
        Day::Round => {
            if plant.rng.chance(keeper.passes_over) {
                return;
            }
            let limp = plant.soil.dryness() > 1.5 && plant.rng.chance(0.6);
            let mut detail = fields(json!({"round": true}));
            if limp {
                detail.insert("limp".to_owned(), json!(true));
            }
            if plant.look(keeper, truth) >= State::Dry {
                give(plant, day, detail, book, truth);
            } else {
                // A round has one word for all that is not dry.
                detail.insert("found".to_owned(), json!("wet"));
                looked(plant, day, detail, book);
            }
        }
        Day::Ordinary => {
            let believed = plant.believed_dry();
            if believed && plant.rng.chance(keeper.waters_unseen) {
                give(plant, day, Map::new(), book, truth);
                return;
            }
            let chance = if believed { keeper.looks_on_suspicion } else { keeper.looks_anyway };
            if !plant.rng.chance(chance) {
                return;
            }
            let state = plant.look(keeper, truth);
            let detail = fields(json!({"found": state.word()}));
            if state >= State::Dry {
                give(plant, day, detail, book, truth);
            } else if plant.rng.chance(keeper.writes_moist) {
                looked(plant, day, detail, book);
            }
        }
    }
}

/// A look after which nothing is done.
fn looked(plant: &mut Plant<'_>, day: i64, detail: Map<String, Value>, book: &mut Vec<Written>) {
    if plant.pot.weighed {
        let weight = plant.weight();
        book.push(write(day, plant, "weighed", fields(json!({"weight": weight}))));
    }
    book.push(write(day, plant, "checked", detail));
}

/// Water, after the look that `detail` tells of.
fn give(
    plant: &mut Plant<'_>,
    day: i64,
    mut detail: Map<String, Value>,
    book: &mut Vec<Written>,
    truth: &mut HouseTruth,
) {
    // Once a day is enough.
    if plant.watered.is_some_and(|(last, _)| last == day) {
        return;
    }
    if plant.pot.weighed {
        let weight = plant.weight();
        book.push(write(day, plant, "weighed", fields(json!({"weight": weight}))));
    }
    plant.water(day, truth);
    if plant.pot.weighed {
        detail.insert("weight_after".to_owned(), json!(plant.weight()));
    }
    book.push(write(day, plant, "watered", detail));
}

fn write(day: i64, plant: &Plant<'_>, kind: &'static str, detail: Map<String, Value>) -> Written {
    Written { day, plant: plant.index, kind, detail }
}

fn potted(plant: usize, day: i64, width: f64, pot: &Pot) -> Written {
    let detail = json!({"pot": format!("{width:.0} cm"), "material": pot.material.as_str()});
    Written { day, plant, kind: "potted", detail: fields(detail) }
}

fn fields(value: Value) -> Map<String, Value> {
    match value {
        Value::Object(map) => map,
        _ => Map::new(),
    }
}
