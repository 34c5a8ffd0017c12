//! Genera and species epithets: for shortened genera and slips of the pen.

use std::{
    collections::{BTreeMap, HashMap, HashSet},
    sync::LazyLock,
};

use strsim::osa_distance;

use crate::fold::fold;

pub(crate) struct Flora {
    /// Folded genus to genus.
    genera: BTreeMap<String, String>,
    /// Genus to its epithets as written.
    epithets: HashMap<String, Vec<String>>,
    /// Epithet to the genera that have it.
    owners: HashMap<String, Vec<String>>,
    synonyms: HashSet<String>,
}

pub(crate) static FLORA: LazyLock<Flora> = LazyLock::new(load);

fn load() -> Flora {
    let mut flora = Flora {
        genera: BTreeMap::new(),
        epithets: HashMap::new(),
        owners: HashMap::new(),
        synonyms: HashSet::new(),
    };
    let lists =
        [include_str!("../data/species.txt"), include_str!("../data/species-checklist.txt")];
    for line in lists.iter().flat_map(|l| l.lines()).filter(|l| !l.starts_with('#')) {
        let Some((genus, rest)) = line.split_once(':') else { continue };
        flora.genera.insert(fold(genus), genus.to_owned());
        for epithet in rest.split_whitespace() {
            let known = flora.epithets.entry(genus.to_owned()).or_default();
            known.push(epithet.to_owned());
            let owners = flora.owners.entry(epithet.to_owned()).or_default();
            if !owners.iter().any(|g| g == genus) {
                owners.push(genus.to_owned());
            }
        }
    }
    for line in include_str!("../data/genera-more.txt").lines().filter(|l| !l.starts_with('#')) {
        for genus in line.split_whitespace() {
            flora.genera.insert(fold(genus), genus.to_owned());
        }
    }
    let old = include_str!("../data/synonyms.txt").lines().filter(|l| !l.starts_with('#'));
    flora.synonyms = old.map(str::to_owned).collect();
    flora
}

/// How an epithet stands to the names known for its genus.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Spelling {
    Known,
    /// One clear correction.
    Corrected(String),
    /// Not known here, which says nothing.
    Unknown,
}

impl Flora {
    /// The genus written so, whatever its capitals.
    pub(crate) fn genus(&self, folded: &str) -> Option<&str> {
        self.genera.get(folded).map(String::as_str)
    }

    /// Genera that start with these folded letters.
    pub(crate) fn starting<'a>(&'a self, folded: &'a str) -> impl Iterator<Item = &'a String> {
        self.genera
            .range(folded.to_owned()..)
            .take_while(move |(k, _)| k.starts_with(folded))
            .map(|(_, g)| g)
    }

    /// Whether species of the genus are listed, which only much-grown genera are.
    pub(crate) fn much_grown(&self, genus: &str) -> bool {
        self.epithets.contains_key(genus)
    }

    /// A genus with one slip in it; long names may have two.
    pub(crate) fn nearest_genus(&self, folded: &str) -> Option<&str> {
        let length = folded.chars().count();
        if length < 6 {
            return None;
        }
        let allowed = if length >= 9 { 2 } else { 1 };
        let first: String = folded.chars().take(1).collect();
        let mut best: Option<(usize, &str)> = None;
        let mut tied = false;
        for (key, genus) in self.genera.range(first.clone()..) {
            if !key.starts_with(&first) {
                break;
            }
            let distance = osa_distance(folded, key);
            // The right letters in the wrong order ("Fuschia") are one slip.
            let shuffled = distance == 2 && length >= 7 && same_letters(folded, key);
            if distance > allowed && !shuffled {
                continue;
            }
            match best {
                Some((d, _)) if d < distance => {}
                Some((d, _)) if d == distance => tied = true,
                _ => (best, tied) = (Some((distance, genus.as_str())), false),
            }
        }
        if tied { None } else { best.map(|b| b.1) }
    }

    pub(crate) fn has(&self, genus: &str, epithet: &str) -> bool {
        self.owners.get(epithet).is_some_and(|g| g.iter().any(|x| x == genus))
    }

    /// The genera that have an epithet.
    pub(crate) fn owners(&self, epithet: &str) -> &[String] {
        self.owners.get(epithet).map_or(&[], Vec::as_slice)
    }

    /// Looks an epithet (lower case, as typed) up in its genus.
    pub(crate) fn spelling(&self, genus: &str, epithet: &str) -> Spelling {
        let Some(known) = self.epithets.get(genus) else { return Spelling::Unknown };
        if known.iter().any(|e| e == epithet) {
            return Spelling::Known;
        }
        let folded = fold(epithet);
        if let Some(same) = known.iter().find(|e| fold(e) == folded) {
            return Spelling::Corrected(same.clone());
        }
        // "especiosa": Spanish puts an e before s and a consonant.
        if let Some(bare) = folded.strip_prefix("es").map(|_| &folded[1..])
            && let Some(same) = known.iter().find(|e| fold(e) == bare)
        {
            return Spelling::Corrected(same.clone());
        }
        let length = folded.chars().count();
        // Short epithets lie close together by nature; longer ones do not.
        let allowed = match length {
            0..=4 => return Spelling::Unknown,
            5..=9 => 1,
            _ => 2,
        };
        let first = folded.chars().next();
        let mut best: Option<(usize, &String)> = None;
        let mut tied = false;
        for candidate in known {
            let spread = candidate.len().abs_diff(folded.len());
            if spread > allowed + 1 || candidate.chars().next() != first {
                continue;
            }
            let distance = if ending_differs(&folded, candidate) {
                1
            } else {
                osa_distance(&folded, candidate)
            };
            if distance > allowed {
                continue;
            }
            match best {
                Some((d, _)) if d < distance => {}
                Some((d, b)) if d == distance && b != candidate => tied = true,
                _ => (best, tied) = (Some((distance, candidate)), false),
            }
        }
        match best {
            Some((_, name)) if !tied => Spelling::Corrected(name.clone()),
            _ => Spelling::Unknown,
        }
    }

    /// Whether the full name is an older name of a plant.
    pub(crate) fn is_synonym(&self, genus: &str, species: Option<&str>) -> bool {
        self.synonyms.contains(&format!("{genus} *"))
            || species.is_some_and(|s| self.synonyms.contains(&format!("{genus} {s}")))
    }
}

fn same_letters(a: &str, b: &str) -> bool {
    let sorted = |s: &str| {
        let mut letters: Vec<char> = s.chars().collect();
        letters.sort_unstable();
        letters
    };
    sorted(a) == sorted(b)
}

/// Differ only in the gender of the ending (-us, -a, -um and the like).
fn ending_differs(a: &str, b: &str) -> bool {
    let endings = [("us", "a"), ("us", "um"), ("a", "um"), ("is", "e"), ("er", "ra")];
    endings.iter().any(|(x, y)| {
        let swap = |p: &str, q: &str| {
            a.strip_suffix(p).is_some_and(|s| s.len() > 3 && b.strip_suffix(q) == Some(s))
        };
        swap(x, y) || swap(y, x)
    })
}
