//! What is known of the flowers of each genus, kept between two looks at it.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use journal::{PlantRow, Reader, Touched};

use super::likely::{Likely, likely};
use super::read::Grown;
use crate::{Hand, Result};

/// Lists that are kept at the most: each holds thousands of draws for every plant.
const LISTS: usize = 4;
/// What may be written of a plant without anything changing in its flowers, but for the day of its
/// last entry.
pub(crate) const BESIDE: [&str; 15] = [
    "watered",
    "checked",
    "weighed",
    "measured",
    "reservoir",
    "note",
    "photo",
    "put_off",
    "wish",
    "potted",
    "checked_roots",
    "pest_seen",
    "damage_seen",
    "treated",
    "clean",
];
/// What changes the flowers of the plants that were touched, and so of their genera alone.
const OF_FLOWERS: [&str; 8] = [
    "opened",
    "bud_seen",
    "still_open",
    "ended",
    "pollinated",
    "placed",
    // A part comes with the word of what it is.
    "new part",
    "what",
];

/// What is known of flowers, genus by genus: read when it is asked for and kept. What is written of
/// flowers renews its genus; other care of plants nothing; whatever else (names, places, air, undoing
/// of any of these) everything, as does a new day.
#[derive(Debug, Default)]
pub struct Flowers {
    genera: HashMap<String, Arc<Grown>>,
    /// Who is likely in flower, by first and last day, since the last change.
    lists: HashMap<(i64, i64), Arc<Vec<Likely>>>,
    seen: i64,
    day: i64,
}

impl Flowers {
    /// What is known of the flowers of a plant's genus.
    ///
    /// # Errors
    /// If the record cannot be read.
    pub fn of(&mut self, reader: &Reader<'_>, plant: &PlantRow, hand: &Hand) -> Result<Arc<Grown>> {
        self.refresh(reader, hand)?;
        let before = self.genera.get(&plant.genus);
        if let Some(grown) = before.filter(|g| g.covers(plant)) {
            return Ok(Arc::clone(grown));
        }
        let beyond = before.is_some_and(|g| !g.holds(plant.id));
        let grown = Arc::new(Grown::read(reader, plant, hand)?);
        // A plant beyond those that are read of its genus does not drive out what serves them.
        if !plant.genus.is_empty() && !beyond {
            self.genera.insert(plant.genus.clone(), Arc::clone(&grown));
        }
        Ok(grown)
    }

    /// Lets go of what was changed by entries since.
    fn refresh(&mut self, reader: &Reader<'_>, hand: &Hand) -> Result<()> {
        let touched = reader.touched_since(self.seen)?;
        let today = hand.today_number();
        if self.day != today || touched.last != self.seen {
            self.lists.clear();
        }
        if self.day != today || touched.last < self.seen {
            self.genera.clear();
        } else if touched.last > self.seen && !self.genera.is_empty() {
            self.take_in(reader, &touched)?;
        }
        (self.seen, self.day) = (touched.last, today);
        Ok(())
    }

    fn take_in(&mut self, reader: &Reader<'_>, touched: &Touched) -> Result<()> {
        let only = |of: &[&[&str]]| {
            touched.what.iter().all(|w| of.iter().any(|list| list.contains(&w.as_str())))
        };
        if !only(&[&BESIDE, &OF_FLOWERS]) {
            self.genera.clear();
            return Ok(());
        }
        let flowers = !only(&[&BESIDE]);
        for id in &touched.plants {
            let Some(row) = reader.plant_by_id(*id)? else { continue };
            if !flowers {
                for grown in self.genera.values_mut().filter(|g| g.holds(*id)) {
                    Arc::make_mut(grown).renew(row.clone());
                }
                continue;
            }
            // Its genus, and whatever it was taken for before.
            let mut stale = Vec::new();
            for (genus, grown) in &mut self.genera {
                let concerned = *genus == row.genus || grown.holds(*id);
                if concerned && !Arc::make_mut(grown).retake(reader, &row)? {
                    stale.push(genus.clone());
                }
            }
            self.genera.retain(|genus, _| !stale.contains(genus));
        }
        Ok(())
    }

    /// How likely each living plant whose clone was ever seen in flower is in flower from one day to
    /// another; the likeliest first.
    ///
    /// # Errors
    /// If the record cannot be read, or a fit did not reach its optimum.
    pub fn likely(
        &mut self,
        reader: &Reader<'_>,
        hand: &Hand,
        from: i64,
        to: i64,
    ) -> Result<Arc<Vec<Likely>>> {
        self.refresh(reader, hand)?;
        if let Some(list) = self.lists.get(&(from, to)) {
            return Ok(Arc::clone(list));
        }
        let mut out = Vec::new();
        let living = reader.living()?;
        // Most plants of a house have never been seen in flower: they are not read any further.
        let opened: HashSet<i64> = reader.plants_with("opened")?.into_iter().collect();
        let mut clones: HashSet<i64> =
            living.iter().filter(|p| opened.contains(&p.id)).map(|p| p.clone).collect();
        let here: HashSet<i64> = living.iter().map(|p| p.id).collect();
        for id in opened.difference(&here) {
            clones.extend(reader.plant_by_id(*id)?.map(|p| p.clone));
        }
        for plant in living.into_iter().filter(|p| clones.contains(&p.clone)) {
            let grown = self.of(reader, &plant, hand)?;
            if let Some(likely) = likely(reader, &grown, &plant, from, to)? {
                out.push(likely);
            }
        }
        out.sort_by(|a, b| b.chance.total_cmp(&a.chance).then(a.plant.cmp(&b.plant)));
        let out = Arc::new(out);
        if self.lists.len() >= LISTS {
            self.lists.clear();
        }
        self.lists.insert((from, to), Arc::clone(&out));
        Ok(out)
    }
}
