//! What the names of a file tell about each other: its genera, cultivars and species.

use std::collections::{BTreeMap, HashMap, HashSet};

use strsim::osa_distance;

use super::Name;
use crate::fold::{fold, key};

#[derive(Debug, Clone)]
pub(crate) struct Known {
    pub genus: String,
    pub species: Option<(bool, String)>,
    /// The cultivar epithet as first written in quotes.
    pub epithet: String,
    /// Order number of the row it was first met in.
    pub row: usize,
    pub times: usize,
    quoted: bool,
}

#[derive(Debug, Default)]
pub(crate) struct Registry {
    genera: BTreeMap<String, (String, usize)>,
    cultivars: HashMap<String, Vec<Known>>,
    /// Cultivar keys with one letter left out, to find near spellings without comparing all.
    near: HashMap<String, Vec<String>>,
    species: HashMap<String, HashSet<String>>,
    /// Word count of the longest cultivar key.
    pub longest: usize,
}

impl Registry {
    /// Notes a genus written in full.
    pub(crate) fn add_genus(&mut self, genus: &str) {
        let entry = self.genera.entry(fold(genus)).or_insert_with(|| (genus.to_owned(), 0));
        entry.1 += 1;
    }

    /// Notes what a row's name tells.
    pub(crate) fn add(&mut self, name: &Name, row: usize, quoted: bool) {
        if let Some(pair) = &name.formula {
            self.add(&pair.0, row, quoted);
            self.add(&pair.1, row, quoted);
            return;
        }
        let Some(genus) = &name.genus else { return };
        if let Some(species) = &name.species {
            self.species.entry(genus.clone()).or_default().insert(species.clone());
        }
        let Some(cultivar) = &name.cultivar else { return };
        let k = key(cultivar);
        if k.is_empty() {
            return;
        }
        self.longest = self.longest.max(k.split(' ').count());
        let list = self.cultivars.entry(k.clone()).or_default();
        let species = name.species.clone().map(|s| (name.hybrid, s));
        if let Some(known) = list.iter_mut().find(|e| e.genus == *genus) {
            known.times += 1;
            if quoted && !known.quoted {
                known.epithet.clone_from(cultivar);
                known.quoted = true;
            }
            if known.species.is_none() {
                known.species = species;
            }
            return;
        }
        let known = Known {
            genus: genus.clone(),
            species,
            epithet: cultivar.clone(),
            row,
            times: 1,
            quoted,
        };
        list.push(known);
        if list.len() == 1 {
            for variant in shortened_by_one(&k) {
                self.near.entry(variant).or_default().push(k.clone());
            }
        }
    }

    /// A genus met in the file, whether or not it is generally known.
    pub(crate) fn genus(&self, folded: &str) -> Option<&str> {
        self.genera.get(folded).map(|g| g.0.as_str())
    }

    pub(crate) fn genera_starting(&self, folded: &str) -> Vec<String> {
        self.genera
            .range(folded.to_owned()..)
            .take_while(|(k, _)| k.starts_with(folded))
            .map(|(_, g)| g.0.clone())
            .collect()
    }

    /// The genus, if the whole file has only one.
    pub(crate) fn only_genus(&self) -> Option<&str> {
        let mut all = self.genera.values();
        match (all.next(), all.next()) {
            (Some(one), None) => Some(&one.0),
            _ => None,
        }
    }

    pub(crate) fn genera(&self) -> impl Iterator<Item = &String> {
        self.genera.values().map(|g| &g.0)
    }

    pub(crate) fn has_species(&self, genus: &str, epithet: &str) -> bool {
        self.species.get(genus).is_some_and(|s| s.contains(epithet))
    }

    pub(crate) fn knows(&self, key: &str) -> bool {
        self.cultivars.contains_key(key)
    }

    /// The cultivar of that key, in that genus if one is given; `None` where several fit.
    pub(crate) fn cultivar(&self, key: &str, genus: Option<&str>) -> Option<&Known> {
        let list = self.cultivars.get(key)?;
        match genus {
            Some(genus) => list.iter().find(|k| k.genus == genus),
            None => match list.as_slice() {
                [one] => Some(one),
                _ => None,
            },
        }
    }

    /// The genus among `genera` that has this cultivar in another row.
    pub(crate) fn genus_of(&self, key: &str, genera: &[String]) -> Option<String> {
        let list = self.cultivars.get(key)?;
        let fits: Vec<&Known> = list.iter().filter(|k| genera.contains(&k.genus)).collect();
        match fits.as_slice() {
            [one] => Some(one.genus.clone()),
            _ => None,
        }
    }

    /// Another cultivar of the genus that differs by one slip and was there first or more often.
    pub(crate) fn nearly(&self, cultivar: &str, genus: &str, row: usize) -> Option<&Known> {
        let k = key(cultivar);
        if k.chars().count() < 6 {
            return None;
        }
        let own = self.cultivar(&k, Some(genus));
        let mut variants = shortened_by_one(&k);
        variants.push(k.clone());
        let digits = |s: &str| s.chars().filter(char::is_ascii_digit).collect::<String>();
        variants
            .iter()
            .filter_map(|v| self.near.get(v))
            .flatten()
            .filter(|other| {
                **other != k && osa_distance(other, &k) == 1 && digits(other) == digits(&k)
            })
            .filter_map(|other| self.cultivar(other, Some(genus)))
            .find(|other| {
                let mine = own.map_or((1, row), |o| (o.times, o.row));
                other.times > mine.0 || (other.times == mine.0 && other.row < mine.1)
            })
    }
}

fn shortened_by_one(k: &str) -> Vec<String> {
    let chars: Vec<char> = k.chars().collect();
    let mut out: Vec<String> = (0..chars.len())
        .map(|i| chars.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, c)| *c).collect())
        .collect();
    out.push(k.to_owned());
    out
}
