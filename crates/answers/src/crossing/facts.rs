//! What is known of clones that bears on whether they cross: species, section, clade, ploidy, native
//! areas, kinship.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use descent::{Founder, Pedigree, Relation};
use journal::{Journal, OpId, ParentClaim, PedigreeRow, Reader, SubjectKind, Uid};
use names::checklist::{Checklist, Occurrence};
use serde::Serialize;
use serde_json::{Map, Value, json};

use super::{
    genes::{self, Genes},
    groups::Group,
    path::CrossKind,
};
use crate::{
    AskError, Hand, Result,
    acts::plants::{journal_read, write},
    name_text::names_context,
    parentage::pedigree,
};

/// The claim of a clone in which ploidy, section and clade are kept.
pub const CLAIM: &str = "breeding";

/// What is known of one clone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CloneFacts {
    /// Its identifier.
    pub uid: Uid,
    /// The clone that it is a sport of, or itself: their genes are the same but for the sport.
    pub root: Uid,
    /// Its number.
    pub number: i64,
    /// Its name, or empty.
    pub name: String,
    /// Its genus, or empty.
    pub genus: String,
    /// Its group.
    pub group: Group,
    /// Shares of species, as far as its founders are named; together 1 or less.
    pub species: BTreeMap<String, f64>,
    /// Sets of chromosomes, where somebody said.
    pub ploidy: Option<u32>,
    /// Section, where somebody said.
    pub section: Option<String>,
    /// Clade, where somebody said.
    pub clade: Option<String>,
    /// Genotypes by trait, where somebody said.
    pub genes: Genes,
}

/// What is known of all clones that matter, with kinship and areas.
#[derive(Debug, Clone)]
pub struct Facts {
    clones: HashMap<Uid, CloneFacts>,
    kinship: HashMap<Uid, HashMap<Uid, f64>>,
    areas: HashMap<String, BTreeSet<String>>,
    relations: HashMap<(Uid, Uid), CrossKind>,
    order: Vec<Uid>,
    parents: Vec<[Option<usize>; 2]>,
}

/// Genus and species of a name, where it is that of a species.
fn species_of(name: &str) -> Option<String> {
    let reading = names::read(name, &names_context());
    if reading.parts.is_formula() {
        return None;
    }
    Some(format!("{} {}", reading.genus()?, reading.species()?))
}

impl Facts {
    /// Reads what is known of these clones.
    ///
    /// # Errors
    /// If the record cannot be read.
    pub fn read(reader: &Reader<'_>, of: &[Uid], list: &Checklist) -> Result<Self> {
        let mut claims: HashMap<i64, Value> = reader
            .claims_of_all(SubjectKind::Clone, CLAIM)?
            .into_iter()
            .map(|(id, value, _)| (id, value))
            .collect();
        let roots = roots(reader, &claims)?;
        let root = |uid: Uid| roots.get(&uid).copied().unwrap_or(uid);
        let wanted: BTreeSet<Uid> = of.iter().flat_map(|c| [*c, root(*c)]).collect();
        let rows = reader.ancestry(&wanted.iter().copied().collect::<Vec<_>>())?;
        let tree = pedigree(&rows)?;
        let by_id: HashMap<String, &PedigreeRow> =
            rows.iter().map(|r| (r.uid.to_string(), r)).collect();
        let ids: Vec<Option<Uid>> = tree.ids().map(|id| id.parse().ok()).collect();
        let mut out = Self {
            clones: HashMap::new(),
            kinship: HashMap::new(),
            areas: HashMap::new(),
            relations: HashMap::new(),
            order: Vec::new(),
            parents: Vec::new(),
        };
        (out.order, out.parents) = in_order(&rows);
        for uid in &wanted {
            let Some(row) = reader.clone_by_uid(*uid)? else { continue };
            let claim = claims.remove(&row.id).unwrap_or_default();
            let word =
                |key: &str| claim.get(key).and_then(Value::as_str).map(|w| w.trim().to_lowercase());
            let species = composition(&tree, &by_id, root(*uid));
            for name in species.keys() {
                if !out.areas.contains_key(name) {
                    out.areas.insert(name.clone(), areas_of(list, name));
                }
            }
            let genus = if row.genus.is_empty() {
                species.keys().next().and_then(|s| s.split(' ').next()).unwrap_or("").to_owned()
            } else {
                row.genus.clone()
            };
            let kin = tree.kinship_with_all(&uid.to_string()).unwrap_or_default();
            let near = ids.iter().zip(kin).filter_map(|(id, k)| Some(((*id)?, k)));
            let near: HashMap<Uid, f64> =
                near.filter(|(id, k)| *k > 0.0 && wanted.contains(id)).collect();
            for other in near.keys().filter(|o| *o != uid) {
                let kind = match tree.relation(&uid.to_string(), &other.to_string()) {
                    Ok(Relation::FullSibs) => CrossKind::Sibs,
                    Ok(
                        Relation::Parent(_)
                        | Relation::Seedling(_)
                        | Relation::SelfedParent
                        | Relation::SelfedSeedling,
                    ) => CrossKind::Back,
                    Ok(_) => CrossKind::Related,
                    Err(_) => continue,
                };
                out.relations.insert((*uid, *other), kind);
            }
            out.kinship.insert(*uid, near);
            out.clones.insert(
                *uid,
                CloneFacts {
                    uid: *uid,
                    root: root(*uid),
                    number: row.number,
                    name: row.name,
                    group: Group::of_genus(&genus),
                    genus,
                    species,
                    ploidy: claim
                        .get("ploidy")
                        .and_then(Value::as_u64)
                        .and_then(|p| u32::try_from(p).ok()),
                    section: word("section"),
                    clade: word("clade"),
                    genes: claim
                        .get("genes")
                        .and_then(Value::as_str)
                        .and_then(|g| genes::read(g).ok())
                        .unwrap_or_default(),
                },
            );
        }
        Ok(out)
    }

    /// The same from parts that are at hand: clones, kinship of pairs, native areas of species.
    #[must_use]
    pub fn plain(
        clones: Vec<CloneFacts>,
        kinship: &[(Uid, Uid, f64)],
        areas: HashMap<String, BTreeSet<String>>,
    ) -> Self {
        let mut near: HashMap<Uid, HashMap<Uid, f64>> = HashMap::new();
        for (a, b, k) in kinship {
            near.entry(*a).or_default().insert(*b, *k);
            near.entry(*b).or_default().insert(*a, *k);
        }
        Self {
            clones: clones.into_iter().map(|c| (c.uid, c)).collect(),
            kinship: near,
            areas,
            relations: HashMap::new(),
            order: Vec::new(),
            parents: Vec::new(),
        }
    }

    /// What is known of a clone.
    #[must_use]
    pub fn of(&self, clone: Uid) -> Option<&CloneFacts> {
        self.clones.get(&clone)
    }

    /// Kinship of two clones, unknown parents taken as unrelated.
    #[must_use]
    pub fn kinship(&self, a: Uid, b: Uid) -> f64 {
        let root = |uid| self.of(uid).map_or(uid, |f| f.root);
        self.kinship.get(&root(a)).and_then(|k| k.get(&root(b))).copied().unwrap_or(0.0)
    }

    /// The clones of which facts are known.
    pub(super) fn clones(&self) -> impl Iterator<Item = Uid> {
        self.clones.keys().copied()
    }

    /// All clones behind these, parents before children, with the places of their parents.
    pub(super) fn pedigree(&self) -> (&[Uid], &[[Option<usize>; 2]]) {
        (&self.order, &self.parents)
    }

    /// How two clones that are not the same are related.
    #[must_use]
    pub(super) fn relation(&self, a: Uid, b: Uid) -> CrossKind {
        self.relations.get(&(a, b)).copied().unwrap_or(CrossKind::Single)
    }

    /// How much of two clones is of the same species; none where the species of one are not known.
    #[must_use]
    pub fn same_species(&self, a: &CloneFacts, b: &CloneFacts) -> Option<f64> {
        if a.species.is_empty() || b.species.is_empty() {
            return None;
        }
        Some(a.species.iter().map(|(s, x)| x.min(*b.species.get(s).unwrap_or(&0.0))).sum())
    }

    /// How much of the smaller native range of their species the other shares, weighed by their
    /// shares; none where the checklist has no areas for one of them.
    #[must_use]
    pub fn shared_range(&self, a: &CloneFacts, b: &CloneFacts) -> Option<f64> {
        let (mut sum, mut weight) = (0.0, 0.0);
        for (s, x) in &a.species {
            for (t, y) in &b.species {
                let (one, two) = (self.areas.get(s)?, self.areas.get(t)?);
                let least = one.len().min(two.len());
                if least == 0 {
                    return None;
                }
                let common = one.intersection(two).count();
                sum += x * y * common as f64 / least as f64;
                weight += x * y;
            }
        }
        (weight > 0.0).then(|| sum / weight)
    }
}

/// Clones with parents before children; a parent that is not one known clone is none.
pub(super) fn in_order(rows: &[PedigreeRow]) -> (Vec<Uid>, Vec<[Option<usize>; 2]>) {
    let known = |p: &ParentClaim| match p {
        ParentClaim::Clone(uid) => Some(*uid),
        _ => None,
    };
    let (mut order, mut parents) = (Vec::new(), Vec::new());
    let mut at: HashMap<Uid, usize> = HashMap::new();
    let mut waiting: Vec<&PedigreeRow> = rows.iter().collect();
    // There is no circle, or the pedigree would have been refused: each round places somebody.
    while !waiting.is_empty() {
        let before = waiting.len();
        waiting.retain(|row| {
            let sides = [known(&row.seed), known(&row.pollen)];
            let ready = sides.iter().flatten().all(|p| at.contains_key(p));
            if ready {
                at.insert(row.uid, order.len());
                parents.push(sides.map(|p| p.and_then(|p| at.get(&p).copied())));
                order.push(row.uid);
            }
            !ready
        });
        if waiting.len() == before {
            break;
        }
    }
    (order, parents)
}

/// The first clone behind each sport, through sports of sports.
fn roots(reader: &Reader<'_>, claims: &HashMap<i64, Value>) -> Result<HashMap<Uid, Uid>> {
    let mut of: HashMap<Uid, Uid> = HashMap::new();
    for (id, claim) in claims {
        let source = claim.get("sport_of").and_then(Value::as_str).and_then(|u| u.parse().ok());
        if let (Some(source), Some(clone)) = (source, reader.clone_by_id(*id)?) {
            of.insert(clone.uid, source);
        }
    }
    let mut out = HashMap::new();
    for start in of.keys() {
        let mut at = *start;
        // A circle of sports ends where it began.
        for _ in 0..of.len() {
            match of.get(&at).filter(|next| *next != start) {
                Some(next) => at = *next,
                None => break,
            }
        }
        out.insert(*start, at);
    }
    Ok(out)
}

/// Shares of species by the founders of a clone.
fn composition(
    tree: &Pedigree,
    rows: &HashMap<String, &PedigreeRow>,
    uid: Uid,
) -> BTreeMap<String, f64> {
    let mut out = BTreeMap::new();
    for share in tree.founders(&uid.to_string()).unwrap_or_default() {
        if let Founder::Known(id) = &share.founder
            && let Some(row) = rows.get(id)
            && let Some(species) = species_of(&row.name)
        {
            *out.entry(species).or_insert(0.0) += share.share;
        }
    }
    out
}

/// Native areas of level 3 by the checklist.
fn areas_of(list: &Checklist, species: &str) -> BTreeSet<String> {
    let Some(entry) = list.find(species).and_then(|e| e.accepted()) else {
        return BTreeSet::new();
    };
    let native = entry.areas().filter(|(_, how)| *how == Occurrence::Native);
    native.map(|(code, _)| code.to_owned()).collect()
}

/// What was said of a clone for breeding, as it would be typed: by the keys of [`describe`].
///
/// # Errors
/// If the record cannot be read.
pub fn described(reader: &Reader<'_>, clone: i64) -> Result<BTreeMap<String, String>> {
    let Some(row) = reader.clone_by_id(clone)? else { return Ok(BTreeMap::new()) };
    let claimed = reader.claimed(row.id, CLAIM)?;
    let mut out = BTreeMap::new();
    for (key, value) in claimed.as_ref().and_then(Value::as_object).into_iter().flatten() {
        let text = match value {
            Value::String(text) if key == "sport_of" => {
                let source = text.parse().ok().map(|uid| reader.clone_by_uid(uid)).transpose()?;
                source.flatten().map(|c| c.number.to_string()).unwrap_or_default()
            }
            Value::String(text) => text.clone(),
            other => other.to_string(),
        };
        out.insert(key.clone(), text);
    }
    Ok(out)
}

/// Says what is known of a clone for breeding: `ploidy`, `section`, `clade`, `genes`, and the number of the
/// clone that it is a sport of (`sport_of`); an empty text takes
/// back what was said, and what is not named stays as it was.
///
/// # Errors
/// If there is no such clone, or something typed cannot be.
pub fn describe(
    journal: &Journal,
    hand: &Hand,
    clone: i64,
    typed: &[(&str, &str)],
) -> Result<OpId> {
    let (uid, all) = journal_read(journal, |r| {
        let row = r.subject_numbered(SubjectKind::Clone, clone)?.ok_or_else(|| {
            let next = "the page of a plant names its clone";
            AskError::NotThere { kind: "clone", which: clone.to_string(), next }
        })?;
        let claimed = r.claimed(row.id, CLAIM)?;
        let mut all = claimed.and_then(|v| v.as_object().cloned()).unwrap_or_default();
        for (key, text) in typed {
            if *key == "sport_of" && !text.trim().is_empty() {
                let source = sport_of(r, clone, text.trim())?;
                all.insert((*key).to_owned(), json!(source.to_string()));
            } else {
                set(&mut all, key, text.trim())?;
            }
        }
        Ok((row.uid, all))
    })?;
    let mut draft = hand.draft("describe", &format!("clone {clone}"));
    draft.claim(uid, CLAIM, Value::Object(all));
    write(journal, draft)
}

fn sport_of(reader: &Reader<'_>, clone: i64, text: &str) -> Result<Uid> {
    let number: Option<i64> = text.parse().ok();
    let source = number.map(|n| reader.subject_numbered(SubjectKind::Clone, n)).transpose()?;
    match source.flatten() {
        Some(_) if number == Some(clone) => {
            let problem = "is the clone itself; write the number of the clone that it arose on";
            Err(AskError::field("sport of", text, problem))
        }
        Some(source) => Ok(source.uid),
        None => Err(AskError::NotThere {
            kind: "clone",
            which: text.to_owned(),
            next: "write the number of the clone that it arose on",
        }),
    }
}

fn set(all: &mut Map<String, Value>, key: &str, text: &str) -> Result<()> {
    if !["ploidy", "section", "clade", "genes", "sport_of"].contains(&key) {
        let problem = "is not known; write one of ploidy, section, clade, genes, sport_of";
        return Err(AskError::field("breeding", key, problem));
    }
    if text.is_empty() {
        all.remove(key);
        return Ok(());
    }
    let value = match key {
        "ploidy" => json!(ploidy(text)?),
        "genes" => json!(genes::written(&genes::read(text)?)),
        _ => json!(text),
    };
    all.insert(key.to_owned(), value);
    Ok(())
}

/// Sets of chromosomes as typed: `4`, `4x`, `tetraploid`.
fn ploidy(text: &str) -> Result<u32> {
    const WORDS: [(&str, u32); 5] =
        [("haploid", 1), ("diploid", 2), ("triploid", 3), ("tetraploid", 4), ("hexaploid", 6)];
    let plain = text.to_lowercase();
    if let Some((_, n)) = WORDS.iter().find(|w| w.0 == plain) {
        return Ok(*n);
    }
    let number = plain.trim_end_matches(['x', '×', ' ']).trim();
    match number.parse::<u32>() {
        Ok(n) if (1..=16).contains(&n) => Ok(n),
        Ok(n) if n > 16 => Err(AskError::field(
            "ploidy",
            text,
            "cannot be: that many sets of chromosomes are not known here. If it is the number of \
             chromosomes, divide it by that of one set, and write 2, 3 or 4",
        )),
        _ => Err(AskError::field("ploidy", text, "is no ploidy; write 2, 3, 4 or tetraploid")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ploidy_is_read_as_growers_write_it_and_what_cannot_be_is_refused() {
        for (typed, sets) in [("2", 2), ("4x", 4), ("Triploid", 3), ("6 x", 6)] {
            assert_eq!(ploidy(typed).unwrap(), sets, "{typed}");
        }
        for typed in ["0", "22", "-2", "2.5", "many"] {
            assert!(ploidy(typed).is_err(), "{typed}");
        }
        assert!(ploidy("28").unwrap_err().to_string().contains("divide it"));
    }

    #[test]
    fn a_species_is_read_from_its_name_and_a_cultivar_has_none() {
        assert_eq!(species_of("Begonia bowerae").as_deref(), Some("Begonia bowerae"));
        assert_eq!(species_of("Begonia 'Silt Choir'"), None);
        assert_eq!(species_of("Begonia bowerae × Begonia venosa"), None);
    }
}
