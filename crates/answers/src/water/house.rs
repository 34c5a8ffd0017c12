//! The pots of a record, read once and kept up to date entry by entry.

use std::collections::{BTreeMap, HashMap, HashSet};

use jiff::civil::Weekday;
use journal::{Known, PlaceRow, PlantRow, Reader, SubjectKind, Uid};
use serde_json::{Map, Value};

use super::clocks::Climate;
use super::looks::{Found, Happening, What, Wish, what};
use super::night::{Night, night};
use super::pots::{Facts, Pot};
use super::today::{PlantToday, line};
use crate::{AskError, Hand, Result, climate, feed::Growth};

/// Entries that say something about water.
const KINDS: [&str; 6] = ["watered", "checked", "weighed", "reservoir", "potted", "placed"];
/// Entries before this many days ago are read only for where a plant stands and in what.
const REACH: i64 = 430;

/// A plant of the house with its pot.
#[derive(Debug, Clone)]
pub struct Housed {
    /// As lists show it.
    pub row: PlantRow,
    /// As drying sees it.
    pub pot: Pot,
    /// Whether it drinks as usual.
    pub growth: Growth,
}

/// All living plants, what the night learnt of them, and how they stand.
#[derive(Debug, Clone)]
pub struct Water {
    /// The living plants, in the order of their numbers.
    pub plants: Vec<Housed>,
    /// Places in walking order.
    pub places: Vec<PlaceRow>,
    /// On which days each place's round is, by the row of the place; none is no fixed days.
    pub rounds: HashMap<i64, Vec<Weekday>>,
    /// What the night learnt.
    pub night: Night,
    climates: BTreeMap<i64, Climate>,
    by_place: HashMap<Uid, i64>,
    /// Waterings of whole places: place, happening.
    of_places: Vec<(i64, Happening)>,
    seen: i64,
    /// Lines of the page Today, by the row of the plant, and for which day they were counted.
    pub(super) lines: HashMap<i64, Option<PlantToday>>,
    pub(super) counted_for: i64,
    /// Plants that were read anew since learning began; none for all.
    renewed: Option<HashSet<i64>>,
}

/// What was learnt from all pots, with every pot counted by it.
#[derive(Debug, Clone)]
pub struct Learnt {
    night: Night,
    lines: HashMap<i64, Option<PlantToday>>,
}

/// What is read about one plant before it is put together.
#[derive(Default)]
struct Gathered {
    happenings: Vec<Happening>,
    facts: Facts,
    first: Facts,
    places: Vec<(i64, i64)>,
}

impl Gathered {
    fn take(
        &mut self,
        kind: &str,
        detail: &Map<String, Value>,
        (from, to, known): (i64, i64, Known),
        from_day: i64,
        by_place: &HashMap<Uid, i64>,
    ) {
        if kind == "placed" {
            let place = detail.get("place").and_then(Value::as_str).and_then(|p| p.parse().ok());
            if let Some(id) = place.and_then(|p: Uid| by_place.get(&p)) {
                self.places.push((to, *id));
            }
            return;
        }
        let Some(what) = what(kind, detail, self.facts) else { return };
        if let What::Potted(facts) = what {
            self.facts = facts;
            if to < from_day {
                self.first = facts;
            }
        }
        // A reservoir that is told of makes the pot one with a reservoir from then on.
        if kind == "reservoir" && !self.facts.reservoir {
            self.facts.reservoir = true;
            let potted = What::Potted(self.facts);
            self.happenings.push(Happening { from, to, what: potted, known });
        }
        if to >= from_day {
            self.happenings.push(Happening { from, to, what, known });
        }
    }
}

impl Water {
    /// Reads all living plants and learns from them.
    ///
    /// # Errors
    /// If the record cannot be read, or the fit did not reach its optimum.
    pub fn read(reader: &Reader<'_>, hand: &Hand) -> Result<Self> {
        Self::read_with(reader, hand, None)
    }

    /// Reads all living plants; what was learnt before is kept where it is given.
    fn read_with(reader: &Reader<'_>, hand: &Hand, learnt: Option<Night>) -> Result<Self> {
        let today = hand.today_number();
        let places = reader.places()?;
        let by_place: HashMap<Uid, i64> = places.iter().map(|p| (p.uid, p.id)).collect();
        let from_day = today - REACH;
        let mut gathered: HashMap<i64, Gathered> = HashMap::new();
        // Potting and places reach back as far as the record does.
        let mut take = |e: journal::PlainEntry| {
            if let (Some(from), Some(to)) = (e.day_from, e.day_to) {
                gathered.entry(e.plant).or_default().take(
                    &e.kind,
                    &e.detail,
                    (from, to, e.known),
                    from_day,
                    &by_place,
                );
            }
        };
        reader.each_entry_of_the_living(&["potted", "placed"], i64::MIN, |e| {
            if e.day_to.is_some_and(|d| d < from_day) {
                take(e);
            }
        })?;
        reader.each_entry_of_the_living(&KINDS, from_day, take)?;
        let of_places = of_places(reader, &places, from_day)?;
        let wishes = words_of_all(reader, "wish")?;
        let growths = words_of_all(reader, "growth")?;
        let plants: Vec<Housed> = (reader.living()?.into_iter())
            .map(|row| {
                let g = gathered.remove(&row.id).unwrap_or_default();
                let wish = wishes.get(&row.id).map_or("", String::as_str);
                let growth = growths.get(&row.id).map_or("", String::as_str);
                housed(row, g, (wish, growth), &of_places)
            })
            .collect();
        let climates = climates(reader, &places, from_day, today)?;
        let night = match learnt {
            Some(night) => night,
            None => learn(&plants, &climates, today)?,
        };
        Ok(Self {
            rounds: rounds(reader)?,
            plants,
            night,
            climates,
            by_place,
            of_places,
            seen: reader.touched_since(i64::MAX)?.last,
            places,
            lines: HashMap::new(),
            counted_for: i64::MIN,
            renewed: None,
        })
    }

    /// Takes in what was written since. Gives whether something changed that the night has not
    /// learnt from yet.
    ///
    /// # Errors
    /// Those of [`Water::read`].
    pub fn refresh(&mut self, reader: &Reader<'_>, hand: &Hand) -> Result<bool> {
        let touched = reader.touched_since(self.seen)?;
        if touched.last == self.seen && self.night.day == hand.today_number() {
            return Ok(false);
        }
        if touched.last < self.seen || touched.others || touched.plants.len() > 400 {
            let learnt = self.night.clone();
            *self = Self::read_with(reader, hand, Some(learnt))?;
            return Ok(true);
        }
        self.seen = touched.last;
        for id in &touched.plants {
            self.renew(reader, *id, hand)?;
        }
        Ok(!touched.plants.is_empty() || self.night.day != hand.today_number())
    }

    /// Reads one plant anew.
    fn renew(&mut self, reader: &Reader<'_>, id: i64, hand: &Hand) -> Result<()> {
        self.lines.remove(&id);
        if let Some(renewed) = &mut self.renewed {
            renewed.insert(id);
        }
        let at = self.plants.iter().position(|p| p.row.id == id);
        let Some(row) = reader.plant_by_id(id)?.filter(|p| p.state == "alive") else {
            if let Some(at) = at {
                self.plants.remove(at);
            }
            return Ok(());
        };
        let mut g = Gathered::default();
        let from_day = hand.today_number() - REACH;
        for e in reader.entries_of_kinds(id, &KINDS)? {
            if let (Some(from), Some(to)) = (e.day_from, e.day_to) {
                let when = (from, to, e.known);
                g.take(&e.kind, &e.detail, when, from_day, &self.by_place);
            }
        }
        let (wish, growth) =
            (reader.claimed_words(id, "wish")?, reader.claimed_words(id, "growth")?);
        let housed = housed(row, g, (&wish, &growth), &self.of_places);
        match at {
            Some(at) => self.plants[at] = housed,
            None => {
                let next = self.plants.partition_point(|p| p.row.number < housed.row.number);
                self.plants.insert(next, housed);
            }
        }
        Ok(())
    }

    /// The night's fit over what is held now: takes up to seconds for thousands of plants.
    ///
    /// # Errors
    /// When the optimum was not reached.
    pub fn learn(&self, today: i64) -> Result<Night> {
        learn(&self.plants, &self.climates, today)
    }

    /// The same, as a piece of work that can be done beside everything else. Every pot is counted
    /// in it too, so that nobody waits for that.
    pub fn learning(&mut self, today: i64) -> Box<dyn FnOnce() -> Result<Learnt> + Send> {
        self.renewed = Some(HashSet::new());
        let (plants, climates) = (self.plants.clone(), self.climates.clone());
        Box::new(move || {
            let night = learn(&plants, &climates, today)?;
            let lines = plants.iter().map(|p| (p.row.id, line(&night, p, today))).collect();
            Ok(Learnt { night, lines })
        })
    }

    /// Takes over what was learnt.
    pub fn take(&mut self, learnt: Learnt) {
        let Learnt { night, mut lines } = learnt;
        match self.renewed.take() {
            Some(renewed) => lines.retain(|id, _| !renewed.contains(id)),
            None => lines.clear(),
        }
        self.counted_for = night.day;
        self.night = night;
        self.lines = lines;
    }

    /// The plant of this number.
    #[must_use]
    pub fn plant(&self, number: i64) -> Option<&Housed> {
        let at = self.plants.binary_search_by_key(&number, |p| p.row.number).ok()?;
        self.plants.get(at)
    }
}

fn learn(plants: &[Housed], climates: &BTreeMap<i64, Climate>, today: i64) -> Result<Night> {
    let pots: Vec<Pot> = plants.iter().map(|p| p.pot.clone()).collect();
    night(&pots, climates, today).map_err(|e| {
        AskError::field("dryings", &pots.len().to_string(), format!("could not be fitted: {e}"))
    })
}

fn housed(
    row: PlantRow,
    mut g: Gathered,
    (wish, growth): (&str, &str),
    of_places: &[(i64, Happening)],
) -> Housed {
    if let (true, Some(place)) = (g.places.is_empty(), row.place_id) {
        g.places.push((i64::MIN / 2, place));
    }
    g.places.sort_by_key(|p| p.0);
    let mut pot = Pot {
        key: row.id,
        species: species(&row.name),
        genus: row.genus.clone(),
        wish: Wish::of_word(wish),
        happenings: g.happenings,
        facts: g.first,
        places: g.places,
    };
    let shared: Vec<Happening> = (of_places.iter())
        .filter(|(place, h)| pot.place_on(h.to) == Some(*place))
        .map(|(_, h)| *h)
        .collect();
    if !shared.is_empty() {
        pot.happenings.extend(shared);
        pot.happenings.sort_by_key(|h| h.to);
    }
    Housed { row, pot, growth: Growth::of_word(growth) }
}

/// Genus and epithet; of a plant whose second word is no epithet the whole name.
fn species(name: &str) -> String {
    let mut words = name.split_whitespace();
    match (words.next(), words.next()) {
        (Some(genus), Some(second)) if second.chars().next().is_some_and(char::is_lowercase) => {
            format!("{genus} {second}")
        }
        _ => name.to_owned(),
    }
}

fn of_places(
    reader: &Reader<'_>,
    places: &[PlaceRow],
    from_day: i64,
) -> Result<Vec<(i64, Happening)>> {
    let mut out = Vec::new();
    for place in places {
        for e in reader.entries_about(place.id, usize::MAX)? {
            let (Some(from), Some(to)) = (e.day_from, e.day_to) else { continue };
            if e.kind != "watered" || to < from_day {
                continue;
            }
            // Nobody said that each pot was looked at.
            let found: Option<Found> = None;
            let what = What::Look { found, watered: true, limp: false, full: None };
            out.push((place.id, Happening { from, to, what, known: e.known }));
        }
    }
    Ok(out)
}

fn words_of_all(reader: &Reader<'_>, field: &str) -> Result<HashMap<i64, String>> {
    let all = reader.claims_of_all(SubjectKind::Plant, field)?;
    Ok(all.into_iter().filter_map(|(id, v, _)| Some((id, v.as_str()?.to_owned()))).collect())
}

/// The words of weekdays, Monday first.
pub const DAYS: [(&str, Weekday); 7] = [
    ("mon", Weekday::Monday),
    ("tue", Weekday::Tuesday),
    ("wed", Weekday::Wednesday),
    ("thu", Weekday::Thursday),
    ("fri", Weekday::Friday),
    ("sat", Weekday::Saturday),
    ("sun", Weekday::Sunday),
];

fn rounds(reader: &Reader<'_>) -> Result<HashMap<i64, Vec<Weekday>>> {
    let all = reader.claims_of_all(SubjectKind::Place, "rounds")?;
    let days = |v: &Value| -> Vec<Weekday> {
        let words = v.as_array().into_iter().flatten().filter_map(Value::as_str);
        words.filter_map(|w| DAYS.iter().find(|d| d.0 == w).map(|d| d.1)).collect()
    };
    Ok(all.into_iter().map(|(id, v, _)| (id, days(&v))).filter(|r| !r.1.is_empty()).collect())
}

fn climates(
    reader: &Reader<'_>,
    places: &[PlaceRow],
    from: i64,
    to: i64,
) -> Result<BTreeMap<i64, Climate>> {
    let mut out = BTreeMap::new();
    for place in places {
        let days = climate::days(reader, place.id, from, to)?;
        let days: Vec<_> = days.iter().map(climate::Day::demand).collect();
        // A few hand readings are no climate: the days between them would be guesses.
        let known = days.iter().filter(|d| d.deficit.is_some() || d.light.is_some()).count();
        if known * 2 > days.len().min(60) {
            out.insert(place.id, (from, days));
        }
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    #[test]
    fn species_are_genus_and_epithet() {
        let cases = [
            ("Begonia bowerae", "Begonia bowerae"),
            ("Begonia bowerae 'Nigramarga'", "Begonia bowerae"),
            ("Streptocarpus 'Hartley Dusk'", "Streptocarpus 'Hartley Dusk'"),
            ("Begonia", "Begonia"),
            ("", ""),
        ];
        for (name, expected) in cases {
            assert_eq!(super::species(name), expected);
        }
    }
}
