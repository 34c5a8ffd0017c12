//! What becomes of each row.

use std::collections::{BTreeMap, HashMap, HashSet};

use intake::{Ask, RelationKind, Row};
use journal::{Journal, PlantFilter, PlantSort, Reader, Uid};
use texts::Texts;

use super::{Choices, Reading, fingerprint_of};
use crate::{
    Hand, Result,
    acts::{pen::clone_key, plants::journal_read},
};

/// What becomes of a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fate {
    /// As many plants as the row counts, of a clone of their own.
    Plants,
    /// As many plants as the row counts, pieces of the clone of another row.
    Piece(usize),
    /// The plant of another row, written twice; adds nothing but its remarks.
    Same(usize),
    /// A cross that made no plant.
    Cross,
    /// It was brought in before.
    Before(Uid),
    /// It was left over before and waits, or was dismissed.
    LeftBefore,
    /// It cannot be written; why.
    LeftOver(String),
}

/// What would be written.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Preview {
    /// The fate of each row.
    pub fates: Vec<Fate>,
    /// Plants that would be written.
    pub plants: usize,
    /// Crosses that would be written.
    pub crosses: usize,
    /// Rows that repeat the plant of another row.
    pub same: usize,
    /// Rows that would be left over.
    pub left_over: usize,
    /// Rows brought in, or left over, before.
    pub before: usize,
    /// Whether the numbers of the list can be used as plant numbers: the record is empty and they
    /// are whole and given once.
    pub can_number: bool,
    /// Rows whose tag a plant of the record has already, with the number of that plant.
    pub tags_taken: Vec<(usize, i64)>,
}

/// What the rows are to become, and their names as keys.
pub(super) struct Plan {
    pub fates: Vec<Fate>,
    /// Key of the name of each row, empty where the name says nothing but a genus.
    pub keys: Vec<String>,
    /// Keys of all names and parents of the list: reading a name is the dearest step.
    pub known: HashMap<String, String>,
    /// The first row of each key that becomes a clone.
    pub first: HashMap<String, usize>,
}

/// Says what would become of each row. Nothing is written.
///
/// # Errors
/// Those of the file.
pub fn preview(journal: &Journal, hand: &Hand, reading: &Reading) -> Result<Preview> {
    journal_read(journal, |reader| {
        let plan = plan(reader, hand.texts(), reading, &HashMap::new())?;
        let mut out = Preview {
            can_number: can_number(reader, reading, &plan.fates)?,
            tags_taken: tags_taken(reader, reading, &plan.fates)?,
            ..Preview::default()
        };
        for (row, fate) in reading.rows.iter().zip(&plan.fates) {
            match fate {
                Fate::Plants | Fate::Piece(_) => out.plants += row.count.max(1) as usize,
                Fate::Same(_) => out.same += 1,
                Fate::Cross => out.crosses += 1,
                Fate::Before(_) | Fate::LeftBefore => out.before += 1,
                Fate::LeftOver(_) => out.left_over += 1,
            }
        }
        out.fates = plan.fates;
        Ok(out)
    })
}

pub(super) fn plan(
    reader: &Reader<'_>,
    t: Texts,
    reading: &Reading,
    refused: &HashMap<usize, String>,
) -> Result<Plan> {
    let rows = &reading.rows;
    let prints: Vec<String> = rows.iter().map(|r| r.fingerprint.clone()).collect();
    let before = reader.brought_in(&prints)?;
    let waiting: HashSet<String> = reader
        .left_over()?
        .iter()
        .filter_map(|l| fingerprint_of(&l.origin).map(str::to_owned))
        .collect();
    let apart = told_apart(reading);
    let mut fates = Vec::with_capacity(rows.len());
    for (i, row) in rows.iter().enumerate() {
        fates.push(if let Some(uid) = before.get(&row.fingerprint) {
            Fate::Before(*uid)
        } else if waiting.contains(&row.fingerprint) || dismissed(reader, row)? {
            Fate::LeftBefore
        } else if let Some(why) = refused.get(&i) {
            Fate::LeftOver(why.clone())
        } else if let Some(to) =
            tie(row, RelationKind::Duplicate).filter(|to| !apart.contains(&(*to, i)))
        {
            Fate::Same(to)
        } else if is_cross(row) {
            Fate::Cross
        } else if row.cells.iter().all(|c| c.trim().is_empty()) {
            Fate::LeftOver(t.t("nothing can be read in it").to_owned())
        } else {
            Fate::Plants
        });
    }
    let known = known(rows);
    let keys: Vec<String> = rows
        .iter()
        .map(|r| r.name.as_ref().and_then(|n| known.get(n)).cloned().unwrap_or_default())
        .collect();
    own_parents(rows, &keys, &known, &mut fates, t);
    circles(rows, &keys, &known, &mut fates, t);
    pieces(rows, &mut fates);
    let first = first_of(&keys, &fates);
    Ok(Plan { fates, keys, known, first })
}

fn dismissed(reader: &Reader<'_>, row: &Row) -> Result<bool> {
    Ok(reader.setting(&crate::left_over::dismissed_key(&row.fingerprint))?.is_some())
}

/// Pairs of rows that were said to be two plants, earlier first.
fn told_apart(reading: &Reading) -> HashSet<(usize, usize)> {
    reading
        .questions
        .iter()
        .filter(|q| reading.answers.get(&q.id).is_some_and(|a| a == "two_plants"))
        .filter_map(|q| match &q.ask {
            Ask::SamePlant { first, second } => Some((*first, *second)),
            _ => None,
        })
        .collect()
}

fn tie(row: &Row, kind: RelationKind) -> Option<usize> {
    row.relations.iter().find(|r| r.kind == kind).map(|r| r.to)
}

fn is_cross(row: &Row) -> bool {
    row.state == "unknown"
        && row.problems.iter().any(|p| p == "failed_cross" || p == "pending_cross")
}

/// Whether a name says no more than a genus, or is a formula: not one individual.
pub(super) fn says_no_clone(name: &str) -> bool {
    let name = name.trim();
    !name.contains(' ') || name.contains(" × ")
}

/// Keys of all names of individuals that the rows speak of.
fn known(rows: &[Row]) -> HashMap<String, String> {
    let mut out: HashMap<String, String> = HashMap::new();
    for row in rows {
        for name in
            row.name.as_deref().filter(|n| !says_no_clone(n)).into_iter().chain(parents(row))
        {
            if !out.contains_key(name) {
                out.insert(name.to_owned(), clone_key(name));
            }
        }
    }
    out
}

/// The first row of each key that becomes a clone of its own.
fn first_of(keys: &[String], fates: &[Fate]) -> HashMap<String, usize> {
    let mut first = HashMap::new();
    for (i, key) in keys.iter().enumerate() {
        if fates[i] == Fate::Plants && !key.is_empty() {
            first.entry(key.clone()).or_insert(i);
        }
    }
    first
}

fn parents(row: &Row) -> impl Iterator<Item = &str> {
    [row.seed_parent.as_deref(), row.pollen_parent.as_deref()]
        .into_iter()
        .flatten()
        .filter(|p| *p != "unknown" && !says_no_clone(p))
}

/// A cultivar is one clone, so it cannot be a parent of itself; seed of a species can be.
fn own_parents(
    rows: &[Row],
    keys: &[String],
    known: &HashMap<String, String>,
    fates: &mut [Fate],
    t: Texts,
) {
    for (i, row) in rows.iter().enumerate() {
        let name = row.name.as_deref().unwrap_or_default();
        if fates[i] != Fate::Plants || keys[i].is_empty() || !name.contains('\'') {
            continue;
        }
        if parents(row).any(|p| known.get(p) == Some(&keys[i])) {
            fates[i] = Fate::LeftOver(t.f(
                "{name} would be its own parent; change its name or that parent",
                &[("name", &name)],
            ));
        }
    }
}

/// Rows whose parents lead back to themselves: the row that closes the circle is left over.
fn circles(
    rows: &[Row],
    keys: &[String],
    known: &HashMap<String, String>,
    fates: &mut [Fate],
    t: Texts,
) {
    let first = first_of(keys, fates);
    let above: Vec<Vec<usize>> = rows
        .iter()
        .enumerate()
        .map(|(i, row)| {
            let found = parents(row).filter_map(|p| first.get(known.get(p)?).copied());
            found.filter(|p| *p != i).collect()
        })
        .collect();
    let mut done = vec![false; rows.len()];
    for start in 0..rows.len() {
        let mut path: Vec<(usize, usize)> = vec![(start, 0)];
        while let Some(&mut (at, ref mut next)) = path.last_mut() {
            let Some(&to) = above[at].get(*next).filter(|_| !done[at]) else {
                done[at] = true;
                path.pop();
                continue;
            };
            *next += 1;
            if let Some(from) = path.iter().position(|p| p.0 == to) {
                let names: Vec<String> = path[from..]
                    .iter()
                    .map(|p| rows[p.0].name.clone().unwrap_or_default())
                    .chain([rows[to].name.clone().unwrap_or_default()])
                    .collect();
                fates[at] = Fate::LeftOver(t.f(
                    "the parents run in a circle: {circle}; change one of these parents",
                    &[("circle", &names.join(" ← "))],
                ));
                done[at] = true;
                path.pop();
            } else if !done[to] && matches!(fates[to], Fate::Plants) {
                path.push((to, 0));
            }
        }
    }
}

/// Ties to rows that are not written lead on to the next that is.
fn pieces(rows: &[Row], fates: &mut [Fate]) {
    let mut root_of: BTreeMap<usize, usize> = BTreeMap::new();
    for (i, row) in rows.iter().enumerate() {
        if !matches!(fates[i], Fate::Plants) {
            continue;
        }
        let Some(mut to) = tie(row, RelationKind::SameClone) else { continue };
        for _ in 0..rows.len() {
            match (&fates[to], tie(&rows[to], RelationKind::SameClone)) {
                (Fate::Same(next), _) | (Fate::Piece(next), _) => to = *next,
                (Fate::LeftOver(_) | Fate::LeftBefore | Fate::Cross, Some(next)) => to = next,
                _ => break,
            }
        }
        match fates[to] {
            Fate::Plants | Fate::Before(_) if to != i => fates[i] = Fate::Piece(to),
            _ => {
                // The row it is a piece of is not written: the first piece stands for the clone.
                let root = *root_of.entry(to).or_insert(i);
                if root != i {
                    fates[i] = Fate::Piece(root);
                }
            }
        }
    }
    for i in 0..rows.len() {
        let Fate::Same(mut to) = fates[i] else { continue };
        for _ in 0..rows.len() {
            match fates[to] {
                Fate::Same(next) => to = next,
                _ => break,
            }
        }
        fates[i] = match fates[to] {
            Fate::Plants | Fate::Piece(_) | Fate::Cross | Fate::Before(_) if to != i => {
                Fate::Same(to)
            }
            _ => Fate::Plants,
        };
    }
}

/// A tag as a plant number.
pub(super) fn number(row: &Row) -> Option<i64> {
    row.tag.as_deref()?.trim().parse().ok().filter(|n| (1..1_000_000).contains(n))
}

fn can_number(reader: &Reader<'_>, reading: &Reading, fates: &[Fate]) -> Result<bool> {
    if reader.totals()?.0 > 0 || reader.operations(1)?.iter().any(|o| o.live) {
        return Ok(false);
    }
    let mut seen = HashSet::new();
    let mut tagged = reading
        .rows
        .iter()
        .zip(fates)
        .filter(|(r, f)| matches!(f, Fate::Plants | Fate::Piece(_)) && r.tag.is_some());
    Ok(tagged.all(|(r, _)| number(r).is_some_and(|n| seen.insert(n))) && !seen.is_empty())
}

fn tags_taken(reader: &Reader<'_>, reading: &Reading, fates: &[Fate]) -> Result<Vec<(usize, i64)>> {
    if reader.totals()?.0 == 0 || reading.rows.iter().all(|r| r.tag.is_none()) {
        return Ok(Vec::new());
    }
    let all = reader.plants(&PlantFilter::default(), PlantSort::Number, 0, 1_000_000)?;
    let tags: HashMap<String, i64> = all
        .rows
        .into_iter()
        .filter(|p| !p.tag.is_empty())
        .map(|p| (p.tag.to_lowercase(), p.number))
        .collect();
    Ok(reading
        .rows
        .iter()
        .enumerate()
        .filter(|(i, _)| matches!(fates[*i], Fate::Plants | Fate::Piece(_)))
        .filter_map(|(i, r)| Some((i, *tags.get(&r.tag.as_ref()?.to_lowercase())?)))
        .collect())
}

impl Choices {
    /// The number that each row's first plant gets, where numbers of the list are used.
    pub(super) fn numbers(&self, rows: &[Row]) -> (HashMap<usize, i64>, i64) {
        if !self.use_numbers {
            return (HashMap::new(), 0);
        }
        let given: HashMap<usize, i64> =
            rows.iter().enumerate().filter_map(|(i, r)| Some((i, number(r)?))).collect();
        let last = given.values().copied().max().unwrap_or(0);
        (given, last)
    }
}
