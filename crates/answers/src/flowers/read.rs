//! The flowers of a genus, read once and kept.

use std::collections::{HashMap, HashSet};
use std::sync::{Arc, Mutex, PoisonError};

use journal::{EntryRow, PlantRow, Reader, SubjectKind, Uid};
use serde_json::Value;

use super::again::{Again, AgainOf, Bud, buds};
use super::bloom::{FlowerKind, Happening, What, follow};
use super::life::{Followed, LifeFit, LifePrior, Weather, fit_life_for, too_many};
use crate::{AskError, Hand, Result, climate};

/// Entries that say something about flowers; the first is the one by which plants are chosen.
const KINDS: [&str; 6] = ["opened", "bud_seen", "still_open", "ended", "pollinated", "placed"];
/// From how many plants of a genus is learnt at the most: more would not narrow nature's spread.
const MOST_PLANTS: usize = 400;
/// Weather of the last so many days is that of “now” \[d\].
const NOW: i64 = 21;
/// A flower of which nothing was written for so long is not taken to be open any more \[d\]. Common
/// practice, no source.
pub(super) const FORGOTTEN: i64 = 45;

/// All that is known of the flowers of a genus, and of one clone where the genus is not known.
#[derive(Debug, Clone)]
pub struct Grown {
    genus: String,
    plants: HashMap<i64, PlantRow>,
    /// Every flower and umbel that was followed, earliest first.
    pub followed: Vec<Followed>,
    /// Every bud that was seen, earliest first.
    pub buds: Vec<Bud>,
    climates: HashMap<i64, (i64, Vec<climate::Day>)>,
    today: i64,
    fits: Arc<Mutex<Fits>>,
}

/// What was fitted so far.
#[derive(Debug, Default)]
struct Fits {
    /// By the kind of flower and, where flowers are very many, the clone that was asked about.
    lives: HashMap<(FlowerKind, Option<i64>), Kept<LifeFit>>,
    /// By the clone or genus, and the plant where that has more gaps than a fit takes.
    agains: HashMap<AgainOf, Kept<Again>>,
}

/// A fit, or why there is none.
type Kept<T> = Result<Arc<T>, String>;

impl Grown {
    /// Reads the flowers of a plant's genus, and of its clone in any case.
    ///
    /// # Errors
    /// If the record cannot be read.
    pub fn read(reader: &Reader<'_>, plant: &PlantRow, hand: &Hand) -> Result<Self> {
        let mut entries = reader.entries_of_clone(plant.clone, &KINDS)?;
        if !plant.genus.is_empty() {
            let known: HashSet<Uid> = entries.iter().map(|e| e.uid).collect();
            let of_genus = reader.entries_of_genus(&plant.genus, &KINDS, MOST_PLANTS)?;
            entries.extend(of_genus.into_iter().filter(|e| !known.contains(&e.uid)));
            entries.sort_by_key(|e| (e.day_from, e.uid));
        }
        let mut plants = HashMap::from([(plant.id, plant.clone())]);
        for id in entries.iter().filter_map(|e| e.plant) {
            if !plants.contains_key(&id)
                && let Some(row) = reader.plant_by_id(id)?
            {
                plants.insert(id, row);
            }
        }
        let clones: HashSet<i64> = plants.values().map(|p| p.clone).collect();
        for clone in clones {
            plants.extend(reader.pieces(clone)?.into_iter().map(|p| (p.id, p)));
        }
        let (happenings, placed) = happenings(reader, &entries)?;
        let today = hand.today_number();
        let mut grown = Self {
            genus: plant.genus.clone(),
            plants,
            followed: Vec::new(),
            buds: Vec::new(),
            climates: HashMap::new(),
            today,
            fits: Arc::default(),
        };
        grown.take(&happenings, &placed);
        grown.read_air(reader)?;
        Ok(grown)
    }

    /// Follows flowers and buds through entries.
    fn take(&mut self, happenings: &[Happening], placed: &Placed) {
        let flowering: Vec<Happening> =
            happenings.iter().filter(|h| h.what != What::Bud).copied().collect();
        for mut bloom in follow(&flowering) {
            let Some(row) = self.plants.get(&bloom.plant) else { continue };
            bloom.open &= row.state == "alive" && self.today - bloom.looked <= FORGOTTEN;
            let (clone, place) = (row.clone, place_on(row, placed, bloom.about()));
            let weather = Weather::default();
            self.followed.push(Followed { bloom, clone, place, weather });
        }
        self.followed.sort_by_key(|f| (f.bloom.opened, f.bloom.plant, f.bloom.part));
        self.buds.extend(buds(happenings));
        self.buds.sort_by_key(|b| (b.seen, b.plant));
    }

    /// Reads the flowers of one of its plants again. `false` where that is not enough: a plant that
    /// did not take part, or a place of which the air has not been read.
    ///
    /// # Errors
    /// If the record cannot be read.
    pub(super) fn retake(&mut self, reader: &Reader<'_>, row: &PlantRow) -> Result<bool> {
        if !self.holds(row.id) {
            return Ok(false);
        }
        let (happenings, placed) = happenings(reader, &reader.entries_of_kinds(row.id, &KINDS)?)?;
        self.plants.insert(row.id, row.clone());
        self.followed.retain(|f| f.bloom.plant != row.id);
        self.buds.retain(|b| b.plant != row.id);
        self.take(&happenings, &placed);
        self.fits = Arc::default();
        for k in 0..self.followed.len() {
            let f = self.followed[k];
            let Some(place) = f.place.filter(|_| f.bloom.plant == row.id) else { continue };
            let known = self.climates.get(&place).is_some_and(|c| c.0 <= f.bloom.about());
            if !known {
                return Ok(false);
            }
            self.followed[k].weather = self.air(place, f.bloom.about(), f.bloom.last());
        }
        Ok(row.place_id.is_none_or(|p| self.climates.contains_key(&p)))
    }

    /// Reads the air of the places at which something flowered or stands.
    fn read_air(&mut self, reader: &Reader<'_>) -> Result<()> {
        let mut first: HashMap<i64, i64> = HashMap::new();
        for f in &self.followed {
            if let Some(place) = f.place {
                let day = first.entry(place).or_insert(self.today);
                *day = (*day).min(f.bloom.about());
            }
        }
        for place in self.plants.values().filter_map(|p| p.place_id) {
            first.entry(place).or_insert(self.today);
        }
        for (place, from) in first {
            let from = from.min(self.today - NOW);
            let days = climate::days_of_air(reader, place, from, self.today)?;
            self.climates.insert(place, (from, days));
        }
        for k in 0..self.followed.len() {
            let f = self.followed[k];
            let air = f.place.map(|p| self.air(p, f.bloom.about(), f.bloom.last()));
            self.followed[k].weather = air.unwrap_or_default();
        }
        Ok(())
    }

    fn air(&self, place: i64, from: i64, to: i64) -> Weather {
        let Some((first, days)) = self.climates.get(&place) else { return Weather::default() };
        let at = |day: i64| usize::try_from(day - first).unwrap_or(0).min(days.len());
        Weather::over(&days[at(from)..at(to.max(from) + 1)])
    }

    /// The air of the last weeks where a plant stands.
    #[must_use]
    pub fn air_now(&self, plant: &PlantRow) -> Weather {
        plant.place_id.map(|p| self.air(p, self.today - NOW, self.today)).unwrap_or_default()
    }

    /// Whether everything that could be asked about this plant was read.
    pub(super) fn covers(&self, plant: &PlantRow) -> bool {
        let known = |p: &PlantRow| p.place_id == plant.place_id && p.state == plant.state;
        self.plants.get(&plant.id).is_some_and(known)
    }

    /// Whether a plant took part.
    pub(super) fn holds(&self, plant: i64) -> bool {
        self.plants.contains_key(&plant)
    }

    /// Takes in that something was written of a plant which says nothing of its flowers: it was
    /// looked at, and is not in flower again.
    pub(super) fn renew(&mut self, row: PlantRow) {
        self.plants.insert(row.id, row);
        // Lives stay as they are. Whoever still holds what was before keeps fits of their own.
        let lives = self.fits.lock().unwrap_or_else(PoisonError::into_inner).lives.clone();
        self.fits = Arc::new(Mutex::new(Fits { lives, agains: HashMap::new() }));
    }

    /// The number of a plant that was read; 0 of another.
    pub(super) fn number_of(&self, plant: i64) -> i64 {
        self.plants.get(&plant).map_or(0, |p| p.number)
    }

    /// The last day of which something is known of a plant: the day of its last entry.
    pub(super) fn known_until(&self, plant: i64) -> i64 {
        let last = self.plants.get(&plant).and_then(|p| p.last_day);
        last.unwrap_or(self.today).min(self.today)
    }

    /// The genus; may be empty.
    #[must_use]
    pub fn genus(&self) -> &str {
        &self.genus
    }

    /// Pieces of a clone that were read.
    pub(super) fn pieces(&self, clone: i64) -> impl Iterator<Item = &PlantRow> {
        self.plants.values().filter(move |p| p.clone == clone)
    }

    /// The flowers of one kind, each with its place in [`Grown::followed`].
    pub(super) fn of_kind(&self, kind: FlowerKind) -> Vec<Followed> {
        self.followed.iter().filter(|f| f.bloom.kind == kind).copied().collect()
    }

    /// What was learnt of flowers of one kind, for all clones alike: fitted at the first call, and
    /// kept.
    ///
    /// # Errors
    /// When the optimum was not reached.
    pub fn life(&self, kind: FlowerKind) -> Result<Arc<LifeFit>> {
        self.life_of(kind, None)
    }

    /// The same for one clone: where the genus has more flowers than a fit takes, all of its own are
    /// among them.
    ///
    /// # Errors
    /// When the optimum was not reached.
    pub fn life_for(&self, kind: FlowerKind, clone: i64) -> Result<Arc<LifeFit>> {
        self.life_of(kind, too_many(&self.of_kind(kind)).then_some(clone))
    }

    fn life_of(&self, kind: FlowerKind, own: Option<i64>) -> Result<Arc<LifeFit>> {
        let mut fits = self.fits.lock().unwrap_or_else(PoisonError::into_inner);
        let fit = fits.lives.entry((kind, own)).or_insert_with(|| {
            let prior = LifePrior::of(&self.genus, kind);
            let fit = fit_life_for(&self.of_kind(kind), own, prior);
            fit.map(Arc::new).map_err(|e| e.to_string())
        });
        kept(fit)
    }

    /// Flowering again of a plant's clone, else of its genus, else nothing: fitted at the first call,
    /// and kept.
    ///
    /// # Errors
    /// When the optimum was not reached.
    pub fn again(&self, plant: &PlantRow) -> Result<Option<Arc<Again>>> {
        let Some((of, gaps, flowerings)) = self.gaps_for(plant) else { return Ok(None) };
        let mut fits = self.fits.lock().unwrap_or_else(PoisonError::into_inner);
        let fit = fits.agains.entry(of).or_insert_with(|| {
            Self::fit_again(of, gaps, flowerings).map(Arc::new).map_err(|e| e.to_string())
        });
        kept(fit).map(Some)
    }
}

fn kept<T>(fit: &Kept<T>) -> Result<Arc<T>> {
    fit.clone().map_err(|e| AskError::field("flowers", "", format!("could not be fitted: {e}")))
}

/// Where a plant stood on a day; where it stands now if nobody wrote of an earlier place.
fn place_on(row: &PlantRow, placed: &HashMap<i64, Vec<(i64, i64)>>, day: i64) -> Option<i64> {
    let moves = placed.get(&row.id).map_or(&[][..], |m| m);
    let stood = moves.iter().rev().find(|m| m.0 <= day).or(moves.first());
    stood.map(|m| m.1).or(row.place_id)
}

/// Places of each plant: since when, which.
type Placed = HashMap<i64, Vec<(i64, i64)>>;

fn happenings(reader: &Reader<'_>, entries: &[EntryRow]) -> Result<(Vec<Happening>, Placed)> {
    let by_place: HashMap<Uid, i64> = reader.places()?.iter().map(|p| (p.uid, p.id)).collect();
    let mut placed: Placed = HashMap::new();
    let mut kinds: HashMap<Uid, String> = HashMap::new();
    let mut parts: HashMap<Uid, u64> = HashMap::new();
    let mut out = Vec::new();
    for e in entries {
        let (Some(plant), Some(from), Some(to)) = (e.plant, e.day_from, e.day_to) else { continue };
        if e.kind == "placed" {
            let place = e.detail.get("place").and_then(Value::as_str).and_then(|p| p.parse().ok());
            if let Some(id) = place.and_then(|p: Uid| by_place.get(&p)) {
                placed.entry(plant).or_default().push((to, *id));
            }
            continue;
        }
        let part = (e.subject_kind == SubjectKind::Part).then_some(e.subject);
        let Some(what) = what(reader, e, &mut kinds)? else { continue };
        let next = parts.len() as u64;
        let part = part.map(|p| *parts.entry(p).or_insert(next));
        out.push(Happening { plant, part, what, from, to, known: e.known });
    }
    Ok((out, placed))
}

fn what(
    reader: &Reader<'_>,
    e: &EntryRow,
    kinds: &mut HashMap<Uid, String>,
) -> Result<Option<What>> {
    Ok(match e.kind.as_str() {
        "opened" => kind_of(reader, e, kinds)?.map(What::Opened),
        "bud_seen" => kind_of(reader, e, kinds)?.map(|_| What::Bud),
        "still_open" => Some(What::StillOpen),
        "pollinated" => Some(What::Pollinated),
        "ended" => {
            let how = e.detail.get("how").and_then(Value::as_str);
            Some(if matches!(how, Some("cut" | "broken")) { What::Cut } else { What::Ended })
        }
        _ => None,
    })
}

/// Flower or umbel: as the entry says, or else as its part is described.
fn kind_of(
    reader: &Reader<'_>,
    e: &EntryRow,
    kinds: &mut HashMap<Uid, String>,
) -> Result<Option<FlowerKind>> {
    let said = e.detail.get("part").and_then(Value::as_str).map(str::to_owned);
    let word = match said {
        Some(word) => word,
        None if e.subject_kind == SubjectKind::Part => match kinds.get(&e.subject) {
            Some(word) => word.clone(),
            None => {
                let word = match reader.subject(e.subject)? {
                    Some(part) => reader.claimed_words(part.id, "what")?,
                    None => String::new(),
                };
                kinds.insert(e.subject, word.clone());
                word
            }
        },
        None => String::new(),
    };
    Ok(match word.as_str() {
        "" | "flower" => Some(FlowerKind::Flower),
        "umbel" | "peduncle" => Some(FlowerKind::Umbel),
        _ => None,
    })
}
