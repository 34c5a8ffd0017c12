//! An operation in the making that knows keepers, places and clones by name.

use std::collections::HashMap;

use journal::{Draft, Known, ParentClaim, Reader, SubjectKind, Uid};
use serde_json::json;

use super::names_given::name_claim;
use crate::{Hand, Result, names_context};

/// What is typed about one parent.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum ParentInput {
    /// Nothing was said.
    #[default]
    NotTold,
    /// Said to be unknown.
    Unknown,
    /// The clone of this plant.
    Plant(i64),
    /// A name, of something in the record or not.
    Named(String),
    /// One of these names.
    OneOf(Vec<String>),
}

impl ParentInput {
    /// Reads a parent as typed: empty, `unknown` or `?`, a plant number, a name, or names joined
    /// by ` or `.
    #[must_use]
    pub fn read(typed: &str) -> Self {
        let text = typed.trim();
        match text.to_lowercase().as_str() {
            "" => return Self::NotTold,
            "?" | "unknown" | "unbekannt" | "op" | "open pollinated" | "bees" => {
                return Self::Unknown;
            }
            _ => {}
        }
        if let Ok(n) = text.trim_start_matches('#').parse() {
            return Self::Plant(n);
        }
        let several: Vec<String> = text
            .split(" or ")
            .flat_map(|p| p.split(" oder "))
            .map(|p| p.trim().to_owned())
            .filter(|p| !p.is_empty())
            .collect();
        if several.len() > 1 { Self::OneOf(several) } else { Self::Named(text.to_owned()) }
    }
}

/// An operation in the making. Keepers, places and parents that are named for the first time are
/// made with it; the same name means the same thing throughout.
pub struct Pen<'r, 'c> {
    /// The changes so far.
    pub draft: Draft,
    reader: &'r Reader<'c>,
    keepers: HashMap<String, Uid>,
    places: HashMap<String, Uid>,
    clones: HashMap<String, Uid>,
}

impl<'r, 'c> Pen<'r, 'c> {
    /// Begins an operation.
    #[must_use]
    pub fn new(reader: &'r Reader<'c>, hand: &Hand, act: &str, about: &str) -> Self {
        Self {
            draft: hand.draft(act, about),
            reader,
            keepers: HashMap::new(),
            places: HashMap::new(),
            clones: HashMap::new(),
        }
    }

    /// The record as it was when the operation began.
    #[must_use]
    pub fn reader(&self) -> &'r Reader<'c> {
        self.reader
    }

    /// The keeper of this name.
    ///
    /// # Errors
    /// If the record cannot be read.
    pub fn keeper(&mut self, name: &str) -> Result<Uid> {
        let key = name.trim().to_lowercase();
        if let Some(uid) = self.keepers.get(&key) {
            return Ok(*uid);
        }
        let uid = match self.reader.keeper_named(name)? {
            Some(row) => row.uid,
            None => self.named(SubjectKind::Keeper, name),
        };
        self.keepers.insert(key, uid);
        Ok(uid)
    }

    /// The place of this name.
    ///
    /// # Errors
    /// If the record cannot be read.
    pub fn place(&mut self, name: &str) -> Result<Uid> {
        let key = name.trim().to_lowercase();
        if let Some(uid) = self.places.get(&key) {
            return Ok(*uid);
        }
        let uid = match self.reader.place_named(name)? {
            Some(row) => row.uid,
            None => self.named(SubjectKind::Place, name),
        };
        self.places.insert(key, uid);
        Ok(uid)
    }

    fn named(&mut self, kind: SubjectKind, name: &str) -> Uid {
        let uid = self.draft.create(kind, None);
        self.draft.claim(uid, "name", json!(name.trim()));
        uid
    }

    /// Says that this name means this clone for the rest of the operation, unless it means one
    /// already.
    pub fn remember_clone(&mut self, name: &str, clone: Uid) {
        self.clones.entry(clone_key(name)).or_insert(clone);
    }

    /// The clone that a parent's name means: the one clone of that name, or a new one without
    /// plants where there is none. Where several clones have the name, the first is meant: which
    /// of them cannot be told from the name.
    ///
    /// # Errors
    /// If the record cannot be read.
    pub fn clone_named(&mut self, name: &str) -> Result<Uid> {
        let key = clone_key(name);
        if let Some(uid) = self.clones.get(&key) {
            return Ok(*uid);
        }
        let uid = match self.reader.clones_sorted_as(&key)?.first() {
            Some(row) => row.uid,
            None => {
                let uid = self.draft.create(SubjectKind::Clone, None);
                self.draft.claim(uid, "name", name_claim(name, None, None));
                uid
            }
        };
        self.clones.insert(key, uid);
        Ok(uid)
    }

    /// What is claimed about a parent.
    ///
    /// # Errors
    /// If a plant of that number is not in the record.
    pub fn parent(&mut self, input: &ParentInput) -> Result<ParentClaim> {
        Ok(match input {
            ParentInput::NotTold => ParentClaim::NotTold,
            ParentInput::Unknown => ParentClaim::Unknown,
            ParentInput::Plant(number) => {
                let plant = self.reader.plant(*number)?.ok_or_else(|| crate::AskError::NotThere {
                    kind: "plant",
                    which: number.to_string(),
                    next: "write its number as it stands on the label, or the name of the parent",
                })?;
                let clone = self.reader.clone_by_id(plant.clone)?;
                clone.map_or(ParentClaim::NotTold, |c| ParentClaim::Clone(c.uid))
            }
            ParentInput::Named(name) => ParentClaim::Clone(self.clone_named(name)?),
            ParentInput::OneOf(names) => {
                let list = names.iter().map(|n| self.clone_named(n)).collect::<Result<_>>()?;
                ParentClaim::OneOf(list)
            }
        })
    }

    /// Claims the parents of a clone or cross, where anything was said.
    pub fn claim_parents(&mut self, subject: Uid, seed: &ParentClaim, pollen: &ParentClaim) {
        if *seed != ParentClaim::NotTold || *pollen != ParentClaim::NotTold {
            self.draft.claim(subject, "parents", json!({"seed": seed, "pollen": pollen}));
        }
    }

    /// Adds an entry with fields that hold something.
    pub fn entry(
        &mut self,
        subject: Uid,
        kind: &str,
        happened: dates::Edtf,
        known: Known,
        detail: serde_json::Value,
        note: Option<String>,
    ) -> Uid {
        let mut map = detail.as_object().cloned().unwrap_or_default();
        map.retain(|_, v| !v.is_null());
        self.draft.entry(subject, kind, happened, known, map, note)
    }
}

/// Under which key clones of one name are found.
pub(crate) fn clone_key(name: &str) -> String {
    names::read(name, &names_context()).sort_key()
}
