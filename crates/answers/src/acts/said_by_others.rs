//! Statements by others and questions to ask: kept apart from what was seen here.

use journal::{Change, Journal, NewStatement, OpId, Reader, SubjectKind, Uid};

use super::{
    Pen,
    plants::{journal_read, need_plant},
    read_date,
};
use crate::{AskError, Hand, Result};

/// What somebody else said.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StatementInput {
    /// The words.
    pub text: String,
    /// Who said it: a keeper's name or other words.
    pub said_by: String,
    /// Letter, message, talk, video, book, page, label, list.
    pub medium: String,
    /// Address or title.
    pub address: String,
    /// Page or minute.
    pub spot: String,
    /// When it was said, as typed.
    pub said_on: String,
    /// How far it is trusted.
    pub trust: String,
    /// The question that it answers.
    pub answers: Option<Uid>,
}

fn words(text: &str) -> Option<String> {
    Some(text.trim().to_owned()).filter(|t| !t.is_empty())
}

/// The clone of a plant, or any other subject: statements are about the genetic individual.
fn subject(reader: &Reader<'_>, kind: SubjectKind, number: i64) -> Result<Uid> {
    if kind == SubjectKind::Plant {
        let plant = need_plant(reader, number)?;
        return Ok(reader.clone_by_id(plant.clone)?.map_or(plant.uid, |c| c.uid));
    }
    reader.subject_numbered(kind, number)?.map(|s| s.uid).ok_or_else(|| AskError::NotThere {
        kind: kind.as_str(),
        which: number.to_string(),
        next: "look up its number on its page",
    })
}

/// Keeps a statement about a plant's clone, a cross, a place or a keeper.
///
/// # Errors
/// If there are no words, the date cannot be read, or the subject is not there.
pub fn add_statement(
    journal: &Journal,
    hand: &Hand,
    kind: SubjectKind,
    number: i64,
    input: &StatementInput,
) -> Result<OpId> {
    let text = words(&input.text)
        .ok_or_else(|| AskError::field("text", "", "is empty; write what was said"))?;
    let said_on = match words(&input.said_on) {
        Some(typed) => Some(read_date(&typed, hand)?),
        None => None,
    };
    let operation = journal_read(journal, |reader| {
        let about = format!("{} {number}", kind.as_str());
        let mut pen = Pen::new(reader, hand, "statement", &about);
        let subject = subject(reader, kind, number)?;
        let keeper = match words(&input.said_by) {
            Some(name) => reader.keeper_named(&name)?.map(|k| k.uid),
            None => None,
        };
        pen.draft.push(Change::Statement(NewStatement {
            uid: Uid::new(),
            subject,
            text,
            keeper,
            said_by: if keeper.is_some() { None } else { words(&input.said_by) },
            medium: words(&input.medium),
            address: words(&input.address),
            spot: words(&input.spot),
            said_on,
            trust: words(&input.trust),
            answers: input.answers,
        }));
        Ok(pen.draft.finish())
    })?;
    journal.write(&operation)?;
    Ok(operation.id)
}

/// Notes something to ask about a plant's clone, a cross, a place or a keeper.
///
/// # Errors
/// If there are no words or the subject is not there.
pub fn add_question(
    journal: &Journal,
    hand: &Hand,
    kind: SubjectKind,
    number: i64,
    text: &str,
    whom: Option<&str>,
) -> Result<OpId> {
    let text =
        words(text).ok_or_else(|| AskError::field("text", "", "is empty; write what to ask"))?;
    let operation = journal_read(journal, |reader| {
        let mut pen = Pen::new(reader, hand, "ask", &format!("{} {number}", kind.as_str()));
        let subject = subject(reader, kind, number)?;
        let keeper = match whom.and_then(words) {
            Some(name) => Some(pen.keeper(&name)?),
            None => None,
        };
        pen.draft.push(Change::Question { uid: Uid::new(), subject, text, keeper });
        Ok(pen.draft.finish())
    })?;
    journal.write(&operation)?;
    Ok(operation.id)
}
