//! One operation for a whole list.

use std::collections::HashMap;

use dates::Edtf;
use intake::{Ask, Role, Row};
use journal::{Change, Journal, Known, LeftOver, OpId, Operation, ParentClaim, SubjectKind, Uid};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

use super::{
    Fate, Reading,
    plan::{Plan, plan, says_no_clone},
    reading,
    words::{doubt, marked_origin, origin},
};
use crate::{
    Hand, Result,
    acts::{
        NewPlant, Pen, name_claim,
        plants::{before, journal_read, numbers_of, write_plant},
    },
};

/// What is chosen before a list is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Choices {
    /// Whether numbers of the list become plant numbers; only where
    /// [`super::Preview::can_number`] says so.
    pub use_numbers: bool,
}

/// What was written.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct BroughtIn {
    /// The operation, for undo; `None` where nothing was new.
    pub op: Option<OpId>,
    /// Plants.
    pub plants: usize,
    /// Clones, with those that are only parents.
    pub clones: usize,
    /// Keepers named for the first time.
    pub keepers: usize,
    /// Places named for the first time.
    pub places: usize,
    /// Crosses that made no plant.
    pub crosses: usize,
    /// Rows that were left over.
    pub left_over: usize,
    /// Rows that repeated the plant of another row.
    pub same: usize,
    /// Rows that were brought in before.
    pub before: usize,
    /// The lowest number given to a plant.
    pub first: Option<i64>,
    /// The highest number given to a plant.
    pub last: Option<i64>,
}

/// Writes a list as one operation. Rows that the record refuses are left over.
///
/// # Errors
/// Those of the file; the record is as it was then.
pub fn write(
    journal: &Journal,
    hand: &Hand,
    reading: &Reading,
    choices: &Choices,
) -> Result<BroughtIn> {
    let mut refused: HashMap<usize, String> = HashMap::new();
    loop {
        let made = journal_read(journal, |reader| {
            let plan = plan(reader, hand.texts(), reading, &refused)?;
            let pen = Pen::new(reader, hand, "bring_in", &reading.file);
            Composer::new(pen, hand, reading, choices, &plan).compose()
        })?;
        if made.operation.changes.is_empty() {
            reading::remember(journal, &reading.mappings)?;
            return Ok(made.tally);
        }
        match journal.write(&made.operation) {
            Ok(_) => {
                reading::remember(journal, &reading.mappings)?;
                return finished(journal, made);
            }
            Err(journal::Error::Change { index, count, problem }) => {
                let row = index.checked_sub(1).and_then(|i| made.owners.get(i)).copied();
                match row.filter(|r| !refused.contains_key(r)) {
                    Some(row) => refused.insert(row, problem.to_string()),
                    None => return Err(journal::Error::Change { index, count, problem }.into()),
                };
            }
            Err(e) => return Err(e.into()),
        }
    }
}

fn finished(journal: &Journal, made: Made) -> Result<BroughtIn> {
    let mut tally = made.tally;
    tally.op = Some(made.operation.id);
    for change in &made.operation.changes {
        if let Change::Create { kind, .. } = change {
            match kind {
                SubjectKind::Clone => tally.clones += 1,
                SubjectKind::Keeper => tally.keepers += 1,
                SubjectKind::Place => tally.places += 1,
                _ => {}
            }
        }
    }
    let numbers = numbers_of(journal, &made.plants)?;
    tally.first = numbers.iter().copied().min();
    tally.last = numbers.iter().copied().max();
    Ok(tally)
}

struct Made {
    operation: Operation,
    /// The row behind each change.
    owners: Vec<usize>,
    plants: Vec<Uid>,
    tally: BroughtIn,
}

struct Composer<'a, 'r, 'c> {
    pen: Pen<'r, 'c>,
    hand: &'a Hand,
    reading: &'a Reading,
    plan: &'a Plan,
    numbers: HashMap<usize, i64>,
    next: i64,
    typed: HashMap<usize, &'a str>,
    clones: HashMap<usize, Uid>,
    /// Parents that stand in no row.
    elsewhere: HashMap<String, Uid>,
    subjects: HashMap<usize, Uid>,
    with_parents: HashMap<Uid, (Option<String>, Option<String>)>,
    crosses: Vec<(ParentClaim, ParentClaim, Uid)>,
    owners: Vec<usize>,
    plants: Vec<Uid>,
    tally: BroughtIn,
}

impl<'a, 'r, 'c> Composer<'a, 'r, 'c> {
    fn new(
        pen: Pen<'r, 'c>,
        hand: &'a Hand,
        reading: &'a Reading,
        choices: &Choices,
        plan: &'a Plan,
    ) -> Self {
        let (numbers, last) = choices.numbers(&reading.rows);
        let mut typed = HashMap::new();
        for question in &reading.questions {
            if let Ask::Name { typed: words } | Ask::Genus { typed: words } = &question.ask {
                typed.extend(question.rows.iter().map(|r| (*r, words.as_str())));
            }
        }
        Self {
            pen,
            hand,
            reading,
            plan,
            next: last,
            numbers,
            typed,
            clones: HashMap::new(),
            elsewhere: HashMap::new(),
            subjects: HashMap::new(),
            with_parents: HashMap::new(),
            crosses: Vec::new(),
            owners: Vec::new(),
            plants: Vec::new(),
            tally: BroughtIn::default(),
        }
    }

    /// Marks all changes made since as belonging to this row.
    fn own(&mut self, row: usize) {
        self.owners.resize(self.pen.draft.len(), row);
    }

    fn compose(mut self) -> Result<Made> {
        let rows = &self.reading.rows;
        // All clones first, so that a parent is found wherever its own row stands.
        for (i, row) in rows.iter().enumerate() {
            if self.plan.fates[i] == Fate::Plants {
                let clone = self.new_clone(i, row);
                self.clones.insert(i, clone);
                self.own(i);
            }
        }
        for (i, row) in rows.iter().enumerate() {
            match self.plan.fates[i].clone() {
                Fate::Plants | Fate::Piece(_) => self.plants_of(i, row)?,
                Fate::Cross => self.cross_of(i, row)?,
                Fate::LeftOver(why) => self.leave(row, &why),
                Fate::Before(uid) => {
                    self.subjects.insert(i, uid);
                    self.tally.before += 1;
                }
                Fate::LeftBefore => self.tally.before += 1,
                Fate::Same(_) => {}
            }
            self.own(i);
        }
        for (i, row) in rows.iter().enumerate() {
            if let Fate::Same(to) = self.plan.fates[i] {
                self.repeat(row, to)?;
                self.own(i);
            }
        }
        Ok(Made {
            operation: self.pen.draft.finish(),
            owners: self.owners,
            plants: self.plants,
            tally: self.tally,
        })
    }

    /// The name as it stands in the list.
    fn typed_name(&self, i: usize, row: &Row) -> Option<String> {
        let mapping = self.reading.mappings.iter().find(|m| m.sheet == row.sheet);
        let cells = |wanted: &[Role]| -> Option<String> {
            let roles = &mapping?.columns;
            let words: Vec<&str> = roles
                .iter()
                .zip(&row.cells)
                .filter(|(r, c)| wanted.contains(r) && !c.trim().is_empty())
                .map(|(_, c)| c.trim())
                .collect();
            (!words.is_empty()).then(|| words.join(" "))
        };
        self.typed
            .get(&i)
            .map(|w| (*w).to_owned())
            .or_else(|| cells(&[Role::Name]))
            .or_else(|| cells(&[Role::Genus, Role::Species, Role::Cultivar]))
            .or_else(|| row.name.clone())
            .filter(|w| !w.trim().is_empty())
    }

    fn new_clone(&mut self, i: usize, row: &Row) -> Uid {
        let clone = self.pen.draft.create(SubjectKind::Clone, None);
        let claim = if row.needs_a_person {
            let words = doubt(row, self.hand.texts());
            self.typed_name(i, row).map(|n| {
                let mut claim = name_claim(&n, Some("doubted"), Some(&words));
                // Only the genus is safe meanwhile; a doubtful name is set as it was typed.
                if let Some(map) = claim.as_object_mut() {
                    map.remove("normal");
                    if let Some(genus) = row.name.as_deref().and_then(|n| n.split(' ').next()) {
                        map.insert("genus".to_owned(), json!(genus));
                    }
                }
                claim
            })
        } else {
            row.name.as_deref().map(|n| name_claim(n, Some("as_received"), None))
        };
        if let Some(claim) = claim {
            self.pen.draft.claim(clone, "name", claim);
        }
        clone
    }

    fn clone_for(&mut self, i: usize, row: &Row) -> Result<Uid> {
        let at = match self.plan.fates[i] {
            Fate::Piece(to) => to,
            _ => i,
        };
        if let Some(uid) = self.clones.get(&at) {
            return Ok(*uid);
        }
        let known = match self.plan.fates[at] {
            Fate::Before(uid) => match self.pen.reader().plant_by_uid(uid)? {
                Some(plant) => self.pen.reader().clone_by_id(plant.clone)?.map(|c| c.uid),
                None => None,
            },
            _ => None,
        };
        let uid = match known {
            Some(uid) => uid,
            None => self.new_clone(i, row),
        };
        self.clones.insert(at, uid);
        Ok(uid)
    }

    fn plants_of(&mut self, i: usize, row: &Row) -> Result<()> {
        let first = self.clone_for(i, row)?;
        let many = row.count.max(1) as usize;
        let told = |code: &str| row.problems.iter().any(|p| p == code);
        // Seedlings, and different kinds in one row, are each a clone of their own.
        let apart = many > 1
            && matches!(self.plan.fates[i], Fate::Plants)
            && (told("unnamed_seedling")
                || told("several_kinds_in_one_row")
                || matches!(row.received_as.as_deref(), Some("seed" | "seedling")));
        for n in 0..many {
            let clone = if n > 0 && apart { self.new_clone(i, row) } else { first };
            self.parents_of(clone, row)?;
            let number = match self.numbers.get(&i) {
                Some(number) if n == 0 => Some(*number),
                _ if self.numbers.is_empty() => None,
                _ => {
                    self.next += 1;
                    Some(self.next)
                }
            };
            let new = self.new_plant(i, row, clone, number, n);
            for plant in write_plant(&mut self.pen, self.hand, &new)? {
                self.kept_as_typed(plant, row, n == 0);
                self.plants.push(plant);
                self.tally.plants += 1;
                self.subjects.entry(i).or_insert(plant);
            }
        }
        Ok(())
    }

    fn new_plant(
        &self,
        i: usize,
        row: &Row,
        clone: Uid,
        number: Option<i64>,
        n: usize,
    ) -> NewPlant {
        let told = |code: &str| row.problems.iter().any(|p| p == code);
        let came = row.acquired.as_deref().and_then(|d| Edtf::parse(d).ok());
        let here = came.as_ref().and_then(Edtf::day) == Some(self.hand.today);
        let own = row.source.as_deref() == Some("own");
        NewPlant {
            number,
            keeper: row.source.clone().filter(|_| !own),
            own,
            came,
            known: if here { Known::Seen } else { Known::Remembered },
            received_as: row.received_as.clone(),
            price: row.price.as_ref().map(|p| json!({"amount": p.amount, "currency": p.currency})),
            swapped_for: told("received_in_swap")
                .then(|| self.hand.texts().t("something in exchange").to_owned()),
            free: told("free"),
            place: row.place.clone(),
            pot: row.pot.as_ref().map(|p| format!("{} {}", p.value, p.unit)),
            tag: row.tag.clone().filter(|_| n == 0 && !self.numbers.contains_key(&i)),
            clone: Some(clone),
            state: match row.state.as_str() {
                "dead" => Some("dead".to_owned()),
                "given_away" => Some("gone".to_owned()),
                "unknown" => Some("unknown".to_owned()),
                _ => None,
            },
            count: 1,
            ..NewPlant::default()
        }
    }

    /// Claims the parents of a clone once; a later row that tells others keeps them in its words.
    fn parents_of(&mut self, clone: Uid, row: &Row) -> Result<()> {
        if row.seed_parent.is_none() && row.pollen_parent.is_none() {
            return Ok(());
        }
        let told = (row.seed_parent.clone(), row.pollen_parent.clone());
        if self.with_parents.contains_key(&clone) {
            return Ok(());
        }
        let seed = self.parent(told.0.as_deref(), Some(clone))?;
        let pollen = if told.0 == told.1 {
            seed.clone()
        } else {
            self.parent(told.1.as_deref(), Some(clone))?
        };
        self.pen.claim_parents(clone, &seed, &pollen);
        self.with_parents.insert(clone, told);
        Ok(())
    }

    fn parent(&mut self, name: Option<&str>, child: Option<Uid>) -> Result<ParentClaim> {
        let Some(name) = name.map(str::trim).filter(|n| !n.is_empty()) else {
            return Ok(ParentClaim::NotTold);
        };
        if name == "unknown" {
            return Ok(ParentClaim::Unknown);
        }
        // A genus or a formula names no individual: it never means a plant that stands here.
        if says_no_clone(name) {
            return Ok(ParentClaim::Clone(self.bare_clone(name)));
        }
        let key = self.plan.known.get(name);
        let here = key
            .and_then(|k| self.plan.first.get(k))
            .and_then(|row| self.clones.get(row))
            .or_else(|| self.elsewhere.get(name))
            .copied();
        let uid = match here {
            Some(uid) => uid,
            None => {
                let uid = self.pen.clone_named(name)?;
                self.elsewhere.insert(name.to_owned(), uid);
                uid
            }
        };
        if Some(uid) != child {
            return Ok(ParentClaim::Clone(uid));
        }
        // Seed of a species bears the name of its parent: another individual of that name.
        let other = self
            .plan
            .keys
            .iter()
            .enumerate()
            .filter(|(_, k)| Some(*k) == key)
            .find_map(|(i, _)| self.clones.get(&i).copied().filter(|c| Some(*c) != child));
        Ok(ParentClaim::Clone(other.unwrap_or_else(|| self.bare_clone(name))))
    }

    fn bare_clone(&mut self, name: &str) -> Uid {
        let uid = self.pen.draft.create(SubjectKind::Clone, None);
        self.pen.draft.claim(uid, "name", name_claim(name, None, None));
        uid
    }

    /// Remarks as notes, the row as it was typed, and where it came from.
    fn kept_as_typed(&mut self, subject: Uid, row: &Row, remarks: bool) {
        if remarks {
            for note in row.notes.iter().filter(|n| !n.trim().is_empty()) {
                let when = before(self.hand);
                let words = Some(note.trim().to_owned());
                self.pen.entry(subject, "note", when, Known::Remembered, Value::Null, words);
            }
        }
        let from = origin(&self.reading.file, row);
        self.pen.draft.claim(subject, "typed", json!({"from": from, "cells": row.cells}));
        self.pen.draft.push(Change::BroughtIn {
            fingerprint: row.fingerprint.clone(),
            subject,
            origin: from,
        });
    }

    fn cross_of(&mut self, i: usize, row: &Row) -> Result<()> {
        let seed = self.parent(row.seed_parent.as_deref(), None)?;
        let pollen = self.parent(row.pollen_parent.as_deref(), None)?;
        let known = matches!((&seed, &pollen), (ParentClaim::Clone(_), ParentClaim::Clone(_)));
        let in_record = self.pen.reader().crosses()?.into_iter();
        let same = self
            .crosses
            .iter()
            .cloned()
            .chain(in_record.map(|c| (c.seed, c.pollen, c.uid)))
            .find(|c| known && c.0 == seed && c.1 == pollen);
        let cross = match same {
            Some(found) => found.2,
            None => {
                let uid = self.pen.draft.create(SubjectKind::Cross, None);
                self.pen.claim_parents(uid, &seed, &pollen);
                self.crosses.push((seed, pollen, uid));
                uid
            }
        };
        self.batch_of(cross, row);
        self.kept_as_typed(cross, row, true);
        self.subjects.insert(i, cross);
        self.tally.crosses += 1;
        Ok(())
    }

    /// What was sown of a cross, where a day of sowing is told.
    fn batch_of(&mut self, cross: Uid, row: &Row) {
        let sown = row.received_as.is_some() || row.problems.iter().any(|p| p == "date_is_sowing");
        let Some(when) = row.acquired.as_deref().filter(|_| sown).and_then(|d| Edtf::parse(d).ok())
        else {
            return;
        };
        let batch = self.pen.draft.create(SubjectKind::Batch, Some(cross));
        self.pen.draft.claim(batch, "what", json!("seedlings"));
        self.pen.entry(batch, "sown", when, Known::Remembered, json!({}), None);
        if row.problems.iter().any(|p| p == "failed_cross") {
            let why = self.hand.texts().t("nothing came of it");
            let gone = before(self.hand);
            self.pen.entry(batch, "lost", gone, Known::Remembered, json!({"why": why}), None);
        }
    }

    /// A row that says again what another says.
    fn repeat(&mut self, row: &Row, to: usize) -> Result<()> {
        let Some(subject) = self.subjects.get(&to).copied() else {
            return Ok(());
        };
        if let Some(clone) = self.clones.get(&to).copied() {
            self.parents_of(clone, row)?;
        }
        self.kept_as_typed(subject, row, true);
        self.tally.same += 1;
        Ok(())
    }

    fn leave(&mut self, row: &Row, why: &str) {
        self.pen.draft.push(Change::LeftOver(LeftOver {
            uid: Uid::new(),
            origin: marked_origin(&self.reading.file, row),
            cells: row.cells.clone(),
            why: why.to_owned(),
        }));
        self.tally.left_over += 1;
    }
}
