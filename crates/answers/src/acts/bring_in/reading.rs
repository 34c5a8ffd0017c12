//! A list as it was read, with the answers given so far.

use std::collections::BTreeSet;

use intake::{Answers, Language, Mapping, Options, Question, Row, Skipped};
use journal::Journal;
use serde::{Deserialize, Serialize};

use crate::{Hand, Result};

/// What the reader wants otherwise than it was recognised.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Wishes {
    /// Columns mapped by hand; empty where they are recognised or remembered.
    #[serde(default)]
    pub mappings: Vec<Mapping>,
    /// Answers to questions; `leave` puts a question off.
    #[serde(default)]
    pub answers: Answers,
}

/// A list as it was read; nothing of it is written.
#[derive(Debug, Clone)]
pub struct Reading {
    /// Name of the file.
    pub file: String,
    /// Every row, in the order of the file.
    pub rows: Vec<Row>,
    /// Lines that are no plants, with the reason.
    pub skipped: Vec<Skipped>,
    /// Every question, answered or not.
    pub questions: Vec<Question>,
    /// Questions that are still open, by their id.
    pub open: BTreeSet<String>,
    /// The answers given.
    pub answers: Answers,
    /// How the columns were read.
    pub mappings: Vec<Mapping>,
    /// The language of the list.
    pub language: Language,
}

/// Under which setting a mapping is remembered: by the words of its header.
fn key(mapping: &Mapping) -> Option<String> {
    let words: Vec<String> = mapping.header.iter().map(|w| w.trim().to_lowercase()).collect();
    words.iter().any(|w| !w.is_empty()).then(|| format!("mapping:{}", words.join("|")))
}

/// Keeps how the columns were read, for the next list with the same header.
///
/// # Errors
/// Those of the file.
pub(super) fn remember(journal: &Journal, mappings: &[Mapping]) -> Result<()> {
    for mapping in mappings {
        if let (Some(key), Ok(roles)) = (key(mapping), serde_json::to_string(&mapping.columns)) {
            journal.set_setting(&key, &roles)?;
        }
    }
    Ok(())
}

/// The mappings that are remembered for these headers, where they differ.
fn remembered(journal: &Journal, read: &[Mapping]) -> Result<Option<Vec<Mapping>>> {
    let mut out = read.to_vec();
    let mut other = false;
    for mapping in &mut out {
        let Some(kept) = key(mapping).map(|k| journal.setting(&k)).transpose()?.flatten() else {
            continue;
        };
        let Ok(roles) = serde_json::from_str::<Vec<intake::Role>>(&kept) else { continue };
        if roles.len() == mapping.columns.len() && roles != mapping.columns {
            mapping.columns = roles;
            other = true;
        }
    }
    Ok(other.then_some(out))
}

/// Reads a list. Columns are read as wished, or as they were for the last list with the same
/// header, or as they are recognised.
///
/// # Errors
/// If the file as a whole cannot be read; the error names the file and what to do.
pub fn understand(
    journal: &Journal,
    hand: &Hand,
    bytes: &[u8],
    file: &str,
    wishes: &Wishes,
) -> Result<Reading> {
    let options = Options {
        mappings: wishes.mappings.clone(),
        read_on: Some(hand.today),
        ..Options::default()
    };
    let mut all = intake::understand(bytes, file, &options)?;
    if wishes.mappings.is_empty()
        && let Some(mappings) = remembered(journal, &all.mappings)?
    {
        all = all.remap(mappings);
    }
    let mut questions = all.questions.clone();
    if !wishes.answers.is_empty() {
        all = all.apply(&wishes.answers);
        for question in &all.questions {
            if !questions.iter().any(|q| q.id == question.id) {
                questions.push(question.clone());
            }
        }
    }
    let open = all.questions.iter().map(|q| q.id.clone()).collect();
    Ok(Reading {
        file: file.to_owned(),
        rows: all.rows,
        skipped: all.skipped,
        questions,
        open,
        answers: wishes.answers.clone(),
        mappings: all.mappings,
        language: all.language,
    })
}
