//! The simulated house: who and what is in it, and what is true of it.

use std::collections::HashMap;

use journal::{SubjectKind, Uid};
use serde_json::{Value, json};

use super::{
    Day,
    scribe::{Grounds, Pen, Scribe},
    stock, timeline,
};
use crate::{
    rng::Rng,
    truth::{BatchTruth, CloneTruth, CrossTruth, FlowerTruth, PlantTruth},
};

/// One clone.
#[derive(Debug, Clone)]
pub(super) struct CloneSim {
    pub uid: Uid,
    pub name: String,
    pub genus: String,
    pub flower_days: f64,
    /// Day of the year around which it flowers most \[d\].
    pub bloom: i32,
}

impl CloneSim {
    pub(super) fn truth(self) -> CloneTruth {
        CloneTruth {
            uid: self.uid,
            name: self.name,
            genus: self.genus,
            flower_days: self.flower_days,
        }
    }
}

/// How a plant's time here ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum End {
    Alive,
    Dead,
    Gone,
    Unknown,
}

/// One plant.
#[derive(Debug, Clone)]
pub(super) struct PlantSim {
    pub uid: Uid,
    pub clone: usize,
    pub place: usize,
    /// True day on which it came.
    pub came: Day,
    /// First day on which something can be written about it.
    pub since: Day,
    /// Last day on which it is here.
    pub until: Day,
    pub end: End,
    pub dry_days: f64,
    pub followed: bool,
    /// Written about by a story; left alone by chance.
    pub story: bool,
}

impl PlantSim {
    pub(super) fn truth(self, clone: Uid, number: i64) -> PlantTruth {
        PlantTruth {
            uid: self.uid,
            number,
            clone,
            came: timeline::date(self.came),
            until: timeline::date(self.until),
            state: match self.end {
                End::Alive => "alive",
                End::Dead => "dead",
                End::Gone => "gone",
                End::Unknown => "unknown",
            },
            dry_days: self.dry_days,
            followed: self.followed,
        }
    }
}

pub(super) struct World {
    pub scribe: Scribe,
    pub seed: u64,
    pub start: Day,
    pub last: Day,
    pub keepers: Vec<Uid>,
    pub places: Vec<Uid>,
    pub clones: Vec<CloneSim>,
    pub by_name: HashMap<String, usize>,
    pub plants: Vec<PlantSim>,
    pub flowers: Vec<FlowerTruth>,
    pub crosses: Vec<CrossTruth>,
    pub batches: Vec<BatchTruth>,
}

impl World {
    pub(super) fn new(seed: u64, start: Day, last: Day) -> Self {
        Self {
            scribe: Scribe::new(stock::GROWER, seed, last),
            seed,
            start,
            last,
            keepers: Vec::new(),
            places: Vec::new(),
            clones: Vec::new(),
            by_name: HashMap::new(),
            plants: Vec::new(),
            flowers: Vec::new(),
            crosses: Vec::new(),
            batches: Vec::new(),
        }
    }

    pub(super) fn rng(&self, label: &str) -> Rng {
        Rng::stream(self.seed, label)
    }

    /// A new clone with this name, with the parents it is said to have.
    pub(super) fn clone(&mut self, pen: Pen, name: &str, standing: &str, doubt: &str) -> usize {
        let uid = self.scribe.create(pen, SubjectKind::Clone, None);
        let (value, genus) = name_claim(name, standing, doubt);
        self.scribe.claim(pen, uid, "name", value);
        let mut rng = self.rng(&format!("clone {name} {}", self.clones.len()));
        let typical = flower_days(&genus);
        self.clones.push(CloneSim {
            uid,
            name: name.to_owned(),
            flower_days: rng.log_normal(typical, 0.12),
            bloom: bloom(&genus, &mut rng),
            genus,
        });
        let index = self.clones.len() - 1;
        self.by_name.entry(name.to_owned()).or_insert(index);
        index
    }

    /// The clone of this name; one without plants is made if there is none.
    pub(super) fn clone_named(&mut self, pen: Pen, name: &str) -> usize {
        match self.by_name.get(name) {
            Some(&index) => index,
            None => self.clone(pen, name, "believed", ""),
        }
    }

    /// Claims the parents written as in [`stock::CULTIVARS`].
    pub(super) fn parents(&mut self, pen: Pen, child: usize, seed: &str, pollen: &str) {
        if seed.is_empty() && pollen.is_empty() {
            return;
        }
        let value = json!({"seed": self.parent(pen, seed), "pollen": self.parent(pen, pollen)});
        let uid = self.clones[child].uid;
        self.scribe.claim(pen, uid, "parents", value);
    }

    pub(super) fn parent(&mut self, pen: Pen, words: &str) -> Value {
        match words {
            "" => json!("not_told"),
            "?" => json!("unknown"),
            one if !one.contains('|') => {
                let index = self.clone_named(pen, one);
                json!({"clone": self.clones[index].uid.to_string()})
            }
            several => {
                let uids: Vec<String> = several
                    .split('|')
                    .map(|name| {
                        let index = self.clone_named(pen, name);
                        self.clones[index].uid.to_string()
                    })
                    .collect();
                json!({"one_of": uids})
            }
        }
    }

    /// A new plant that is a piece of a clone; what it came as is written by the caller.
    pub(super) fn plant(
        &mut self,
        pen: Pen,
        clone: usize,
        place: usize,
        came: Day,
        since: Day,
    ) -> usize {
        let uid = self.scribe.create(pen, SubjectKind::Plant, None);
        let value = json!(self.clones[clone].uid.to_string());
        self.scribe.claim(pen, uid, "clone", value);
        let mut rng = self.rng(&format!("plant {}", self.plants.len()));
        let typical = dry_days(&self.clones[clone].genus);
        self.plants.push(PlantSim {
            uid,
            clone,
            place,
            came,
            since,
            until: self.last,
            end: End::Alive,
            dry_days: rng.log_normal(typical, 0.18),
            followed: false,
            story: false,
        });
        self.plants.len() - 1
    }

    /// A new name for a clone.
    pub(super) fn rename(
        &mut self,
        pen: Pen,
        clone: usize,
        name: &str,
        standing: &str,
        grounds: Grounds,
    ) {
        let (value, genus) = name_claim(name, standing, "");
        let uid = self.clones[clone].uid;
        self.scribe.claim_on(pen, uid, "name", value, grounds);
        self.clones[clone].name = name.to_owned();
        self.clones[clone].genus = genus;
        self.by_name.entry(name.to_owned()).or_insert(clone);
    }

    /// The first plant of the clone of this name.
    pub(super) fn plant_named(&self, name: &str) -> Option<usize> {
        let clone = *self.by_name.get(name)?;
        self.plants.iter().position(|p| p.clone == clone)
    }
}

/// The value of a claim of a name, and its genus or nothing.
pub(super) fn name_claim(text: &str, standing: &str, doubt: &str) -> (Value, String) {
    let reading = names::read(text, &names::Context::default());
    let genus = reading.genus().unwrap_or_default().to_owned();
    let mut value = json!({"text": text, "standing": standing});
    if let Some(normal) = &reading.normalised {
        value["normal"] = json!(normal);
        value["sort"] = json!(reading.sort_key());
    }
    // A description such as “blue one” names no genus.
    if !genus.is_empty() && text.starts_with(&genus) {
        value["genus"] = json!(genus);
    }
    if !doubt.is_empty() {
        value["doubt"] = json!(doubt);
    }
    (value, genus)
}

/// Typical median life of a flower or umbel \[d\]. Invented, but of the order that growers tell.
fn flower_days(genus: &str) -> f64 {
    match genus {
        "Aeschynanthus" => 9.0,
        "Streptocarpus" => 12.0,
        "Begonia" => 20.0,
        _ => 7.0,
    }
}

/// Typical median time from watering to dry at the equinoxes \[d\]. Invented.
fn dry_days(genus: &str) -> f64 {
    match genus {
        "Aeschynanthus" => 6.5,
        "Streptocarpus" => 5.0,
        "Begonia" => 7.0,
        _ => 8.5,
    }
}

fn bloom(genus: &str, rng: &mut Rng) -> i32 {
    match genus {
        "Aeschynanthus" => rng.range(150, 250),
        "Streptocarpus" => rng.range(110, 220),
        "Begonia" => rng.pick(&[45, 60, 75, 170, 190, 210]),
        _ => rng.range(90, 270),
    }
}
