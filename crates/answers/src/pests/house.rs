//! What the record says about pests: who stood where, and every find, look, treatment and damage.

use std::{
    cell::RefCell,
    collections::{BTreeMap, HashMap},
    rc::Rc,
};

use journal::{EntryRow, Known, PlaceRow, PlantRow, Reader, SubjectKind};
use serde::Serialize;
use serde_json::{Map, Value};
use texts::Texts;

use super::species::{Pest, population, read};
use crate::{Hand, NameText, Result, climate, climate::Day, plant_page::display_name};

/// What a find, look or treatment is about: a plant, a batch or a place, by its number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
pub struct Unit {
    /// Plant, batch or place.
    pub kind: SubjectKind,
    /// Its number.
    pub number: i64,
}

/// A plant or batch as it is named in a sentence.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Named {
    /// What it is.
    pub unit: Unit,
    /// Its name; of a batch, words.
    pub name: NameText,
    /// Whether it is still here and alive.
    pub here: bool,
}

/// One entry about pests.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Sign {
    pub entry: EntryRow,
    pub unit: Unit,
    /// First and last possible day \[days since 1970-01-01\].
    pub from: i64,
    pub to: i64,
}

impl Sign {
    pub(crate) fn known(&self) -> Known {
        self.entry.known
    }

    pub(crate) fn words(&self, key: &str) -> Option<&str> {
        self.entry.detail.get(key).and_then(Value::as_str).map(str::trim).filter(|w| !w.is_empty())
    }

    pub(crate) fn count(&self, key: &str) -> Option<i64> {
        self.entry.detail.get(key).and_then(Value::as_i64)
    }

    pub(crate) fn flag(&self, key: &str) -> bool {
        self.entry.detail.get(key).and_then(Value::as_bool).unwrap_or(false)
    }

    pub(crate) fn pest(&self) -> &'static Pest {
        read(self.typed())
    }

    /// The pest as typed: found, looked for or treated against.
    pub(crate) fn typed(&self) -> &str {
        ["pest", "looked_for", "against"].iter().find_map(|k| self.words(k)).unwrap_or("")
    }

    /// Whether a look or treatment counts for a population: it names the pest or names none.
    pub(crate) fn meant_for(&self, key: &str) -> bool {
        let typed = self.typed();
        typed.is_empty() || population(typed) == key
    }
}

/// A stay of a plant or batch at a place.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Stay {
    pub place: i64,
    pub spot: String,
    /// First and last day \[days since 1970-01-01\].
    pub from: i64,
    pub to: i64,
}

/// Everything that the answers about pests need, read once.
pub(crate) struct House<'a, 'c> {
    pub reader: &'a Reader<'c>,
    pub hand: &'a Hand,
    pub today: i64,
    /// In walking order.
    pub places: Vec<PlaceRow>,
    pub living: BTreeMap<i64, PlantRow>,
    pub stays: HashMap<Unit, Vec<Stay>>,
    pub found: Vec<Sign>,
    pub clean: Vec<Sign>,
    pub treated: Vec<Sign>,
    pub damage: Vec<Sign>,
    pub shared: Vec<Sign>,
    by_row: RefCell<HashMap<i64, i64>>,
    days: RefCell<HashMap<i64, Rc<Vec<Day>>>>,
}

impl<'a, 'c> House<'a, 'c> {
    pub(crate) fn read(reader: &'a Reader<'c>, hand: &'a Hand) -> Result<Self> {
        let living = reader.living()?;
        let by_row = living.iter().map(|p| (p.id, p.number)).collect();
        let mut house = Self {
            reader,
            hand,
            today: hand.today_number(),
            places: reader.places()?,
            living: living.into_iter().map(|p| (p.number, p)).collect(),
            stays: HashMap::new(),
            found: Vec::new(),
            clean: Vec::new(),
            treated: Vec::new(),
            damage: Vec::new(),
            shared: Vec::new(),
            by_row: RefCell::new(by_row),
            days: RefCell::default(),
        };
        house.found = house.signs("pest_seen")?;
        house.clean = house.signs("clean")?;
        house.treated = house.signs("treated")?;
        house.damage = house.signs("damage_seen")?;
        house.shared = house.signs("shared")?;
        house.stays = house.all_stays()?;
        Ok(house)
    }

    pub(crate) fn t(&self) -> Texts {
        self.hand.texts()
    }

    /// Entries of a kind with a day, the earliest first. One about a part is about its plant.
    pub(crate) fn signs(&self, kind: &str) -> Result<Vec<Sign>> {
        let mut out = Vec::new();
        for entry in self.reader.all_of_kind(kind)? {
            let (Some(from), Some(to)) =
                (entry.day_from.or(entry.day_to), entry.day_to.or(entry.day_from))
            else {
                continue;
            };
            let unit = match entry.plant {
                Some(row) => Unit { kind: SubjectKind::Plant, number: self.number_of(row)? },
                None => Unit { kind: entry.subject_kind, number: entry.subject_number },
            };
            out.push(Sign { entry, unit, from, to });
        }
        out.sort_by_key(|s| s.to);
        Ok(out)
    }

    fn number_of(&self, row: i64) -> Result<i64> {
        let known = self.by_row.borrow().get(&row).copied();
        if let Some(n) = known {
            return Ok(n);
        }
        let number = self.reader.plant_by_id(row)?.map_or(0, |p| p.number);
        self.by_row.borrow_mut().insert(row, number);
        Ok(number)
    }

    fn all_stays(&self) -> Result<HashMap<Unit, Vec<Stay>>> {
        let places: HashMap<String, i64> =
            self.places.iter().map(|p| (p.uid.to_string(), p.number)).collect();
        let mut out: HashMap<Unit, Vec<Stay>> = HashMap::new();
        for sign in self.signs("placed")? {
            let Some(&place) = sign.words("place").and_then(|uid| places.get(uid)) else {
                continue;
            };
            let stays = out.entry(sign.unit).or_default();
            if let Some(before) = stays.last_mut() {
                before.to = sign.from.max(before.from);
            }
            let spot = sign.words("spot").unwrap_or("").to_lowercase();
            stays.push(Stay { place, spot, from: sign.from, to: i64::MAX });
        }
        for (unit, stays) in &mut out {
            // Where it is first known to stand it is taken to have stood since it came.
            let row = if unit.kind == SubjectKind::Plant {
                self.reader.plant(unit.number)?
            } else {
                None
            };
            let came = row.and_then(|p| p.came).and_then(|c| c.earliest());
            if let (Some(first), Some(came)) = (stays.first_mut(), came) {
                first.from = first.from.min(i64::from(dates::to_days(came)));
            }
            if unit.kind != SubjectKind::Plant || self.living.contains_key(&unit.number) {
                continue;
            }
            let last = self.reader.plant(unit.number)?.and_then(|p| p.last_day);
            if let (Some(stay), Some(last)) = (stays.last_mut(), last) {
                stay.to = last.max(stay.from);
            }
        }
        Ok(out)
    }

    /// The place where something stood on a day; a place stands for itself.
    pub(crate) fn place_at(&self, unit: Unit, day: i64) -> Option<i64> {
        if unit.kind == SubjectKind::Place {
            return Some(unit.number);
        }
        let stays = self.stays.get(&unit)?;
        stays.iter().rfind(|s| s.from <= day && day <= s.to).map(|s| s.place)
    }

    /// Where something stands today.
    pub(crate) fn place_now(&self, unit: Unit) -> Option<i64> {
        self.place_at(unit, self.today)
    }

    pub(crate) fn place(&self, number: i64) -> Option<&PlaceRow> {
        self.places.iter().find(|p| p.number == number)
    }

    pub(crate) fn place_name(&self, number: Option<i64>) -> String {
        match number.and_then(|n| self.place(n)) {
            Some(p) => p.name.clone(),
            None => self.t().t("place not recorded").to_owned(),
        }
    }

    /// Whether a sign about a plant, its batch or its place reached a unit on that day.
    pub(crate) fn reaches(&self, sign: &Sign, unit: Unit) -> bool {
        sign.unit == unit
            || (sign.unit.kind == SubjectKind::Place
                && self.place_at(unit, sign.to) == Some(sign.unit.number))
    }

    pub(crate) fn named(&self, unit: Unit) -> Result<Named> {
        let row = match unit.kind {
            SubjectKind::Plant => match self.living.get(&unit.number) {
                Some(p) => Some(p.clone()),
                None => self.reader.plant(unit.number)?,
            },
            _ => None,
        };
        let here = match (&row, unit.kind) {
            (Some(p), _) => p.state == "alive",
            (None, SubjectKind::Plant) => false,
            _ => true,
        };
        let name = match (row, unit.kind) {
            (Some(p), _) => display_name(&p.name, None, self.hand),
            (None, SubjectKind::Place) => NameText::words(&self.place_name(Some(unit.number))),
            _ => NameText::words(&self.t().f("batch {n}", &[("n", &unit.number)])),
        };
        Ok(Named { unit, name, here })
    }

    /// The days at a place from the first find of the record, or a year ago, up to today.
    pub(crate) fn days_at(&self, place: Option<i64>, from: i64) -> Result<Vec<Day>> {
        let Some(row) = place.and_then(|n| self.place(n)) else {
            return Ok(vec![Day::default(); usize::try_from(self.today - from + 1).unwrap_or(0)]);
        };
        if from > self.today {
            return Ok(Vec::new());
        }
        let first = self.first_day().min(from);
        let known = self.days.borrow().get(&row.number).cloned();
        let all = match known {
            Some(all) if all.len() as i64 > self.today - from => all,
            _ => {
                let all = Rc::new(climate::days(self.reader, row.id, first, self.today)?);
                self.days.borrow_mut().insert(row.number, all.clone());
                all
            }
        };
        let count = usize::try_from(self.today - from + 1).unwrap_or(0).min(all.len());
        Ok(all[all.len() - count..].to_vec())
    }

    /// The first day of which the climate is asked: a year ago is enough for what is not over.
    fn first_day(&self) -> i64 {
        self.today - 366
    }

    /// The fields of an entry that repeats a look for a pest.
    pub(crate) fn detail(pairs: &[(&str, &str)]) -> Map<String, Value> {
        pairs
            .iter()
            .filter(|p| !p.1.is_empty())
            .map(|p| (p.0.to_owned(), Value::from(p.1)))
            .collect()
    }
}
