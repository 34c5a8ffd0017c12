//! Rows that did not fit: what waits, mending and dismissing.

use journal::{Change, Journal, OpId, Uid};

use crate::{
    AskError, Hand, Result,
    acts::{
        NewPlant, Pen,
        bring_in::{self, fingerprint_of, without_fingerprint},
        plants::{journal_read, numbers_of, write_plant},
    },
};

/// A row that waits to be mended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Waiting {
    /// Its identifier.
    pub uid: Uid,
    /// File, sheet and row.
    pub origin: String,
    /// What was typed.
    pub cells: Vec<String>,
    /// Why it did not fit, and what would mend it.
    pub why: String,
}

/// Under which setting it is kept that a row was dismissed.
pub(crate) fn dismissed_key(fingerprint: &str) -> String {
    format!("dismissed:{fingerprint}")
}

/// What waits to be mended, the oldest first.
///
/// # Errors
/// Those of the file.
pub fn waiting(journal: &Journal) -> Result<Vec<Waiting>> {
    journal_read(journal, |r| {
        Ok(r.left_over()?
            .into_iter()
            .map(|l| Waiting {
                uid: l.uid,
                origin: without_fingerprint(&l.origin).to_owned(),
                cells: l.cells,
                why: l.why,
            })
            .collect())
    })
}

/// The row of this identifier.
///
/// # Errors
/// If it does not wait any more.
pub fn one(journal: &Journal, uid: Uid) -> Result<Waiting> {
    waiting(journal)?.into_iter().find(|l| l.uid == uid).ok_or_else(|| AskError::NotThere {
        kind: "left-over row",
        which: uid.to_string(),
        next: "it may have been mended or dismissed; the list shows what waits",
    })
}

/// What can be recognised in the cells of a row, for a form to begin with.
#[must_use]
pub fn recognised(row: &Waiting, hand: &Hand) -> Option<intake::Row> {
    let words: Vec<&str> = row.cells.iter().map(|c| c.trim()).filter(|c| !c.is_empty()).collect();
    let line = words.join(" - ").replace(['\n', '\r'], " ");
    let options = intake::Options { read_on: Some(hand.today), ..intake::Options::default() };
    let read = intake::understand(line.as_bytes(), "row.txt", &options).ok()?;
    read.rows.into_iter().next()
}

/// Writes a plant in place of a row that was left over. Returns the number of the plant.
///
/// # Errors
/// If the row does not wait any more or the plant cannot be written.
pub fn mend(journal: &Journal, hand: &Hand, uid: Uid, new: &NewPlant) -> Result<(OpId, i64)> {
    let (operation, plants) = journal_read(journal, |reader| {
        let row = reader.left_over()?.into_iter().find(|l| l.uid == uid).ok_or_else(|| {
            AskError::NotThere {
                kind: "left-over row",
                which: uid.to_string(),
                next: "it may have been mended already; the list shows what waits",
            }
        })?;
        let from = without_fingerprint(&row.origin).to_owned();
        let mut pen = Pen::new(reader, hand, "mend", &from);
        let plants = write_plant(&mut pen, hand, new)?;
        for plant in &plants {
            let typed = serde_json::json!({"from": from, "cells": row.cells});
            pen.draft.claim(*plant, "typed", typed);
            if let Some(mark) = fingerprint_of(&row.origin) {
                pen.draft.push(Change::BroughtIn {
                    fingerprint: mark.to_owned(),
                    subject: *plant,
                    origin: from.clone(),
                });
            }
        }
        pen.draft.push(Change::Withdraw { target: uid, why: Some("mended".to_owned()) });
        Ok((pen.draft.finish(), plants))
    })?;
    journal.write(&operation)?;
    let number = numbers_of(journal, &plants)?.first().copied().unwrap_or(0);
    Ok((operation.id, number))
}

/// Takes a row off the list; the same list brought in again does not bring it back.
///
/// # Errors
/// If the row does not wait any more.
pub fn dismiss(journal: &Journal, hand: &Hand, uid: Uid) -> Result<OpId> {
    let row = journal_read(journal, |r| Ok(r.left_over()?.into_iter().find(|l| l.uid == uid)))?
        .ok_or_else(|| AskError::NotThere {
            kind: "left-over row",
            which: uid.to_string(),
            next: "it may have been dismissed already; the list shows what waits",
        })?;
    let op = crate::acts::withdraw(
        journal,
        hand,
        uid,
        without_fingerprint(&row.origin),
        Some("dismissed"),
    )?;
    if let Some(mark) = bring_in::fingerprint_of(&row.origin) {
        journal.set_setting(&dismissed_key(mark), "yes")?;
    }
    Ok(op)
}
