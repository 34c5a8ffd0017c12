//! Reading: from the typed text to a verdict, parts and a normal form.

mod author;
mod clean;
mod cultivated;
mod epithets;
mod formula;
mod genus;
mod name;
mod open;
pub(crate) mod problems;
mod quote;
mod token;

use crate::context::Context;
use crate::reading::{Epithet, HybridSign, Kind, Parts, Reading, Severity, Verdict};
use crate::rules;
use crate::write::normal_form;
pub(crate) use problems::Problems;

/// A name longer than this is no name \[characters\].
const LONGEST: usize = 500;

/// What is carried along while one text is read.
struct Reader<'c, 'p> {
    context: &'c Context<'c>,
    problems: &'p mut Problems,
    in_formula: bool,
    depth: usize,
    /// Genera of the operands so far.
    genera: Vec<String>,
    /// Genus, its hybrid sign, and species of the operand before.
    last: Option<(String, bool, Option<Epithet>)>,
    /// Whether the text began with a small letter.
    genus_was_small: bool,
}

impl Reader<'_, '_> {
    /// Let a parentage in brackets repeat the genus of the name before it.
    fn remember_for_parentage(&mut self, parts: &Parts) {
        if let Some(genus) = &parts.genus {
            self.genera.push(genus.clone());
            self.last = Some((genus.clone(), parts.sign.is_some(), None));
        }
        self.in_formula = true;
    }
}

/// Read a name: what kind it is, its parts, whether it may stand, and its normal form.
///
/// Any text is accepted; one that is no name gets the verdict invalid and a problem that says why.
/// The normal form, where there is one, reads back as itself.
pub fn read(input: &str, context: &Context) -> Reading {
    let mut reading = read_once(input, context);
    let mut problems = Problems::default();
    // A repair must itself stand: the normal form is read again until it rests.
    for round in 0.. {
        let Some(normal) = &reading.normalised else { break };
        if normal == input && round == 0 {
            break;
        }
        let again = read_once(normal, context);
        if again.normalised.as_deref() == Some(normal) {
            break;
        }
        problems.absorb(std::mem::take(&mut reading.problems));
        problems.absorb(again.problems);
        if again.normalised.is_none() || round >= 3 {
            let message = "What was understood does not make a well-formed name.";
            problems.error("not_well_formed", message, rules::INPUT);
            reading.normalised = None;
            reading.verdict = Verdict::Invalid;
            break;
        }
        reading.normalised = again.normalised;
        reading.kind = again.kind;
        let asides = std::mem::take(&mut reading.parts);
        reading.parts = again.parts;
        keep_asides(&mut reading.parts, asides);
        reading.verdict = reading.verdict.max(again.verdict);
    }
    problems.absorb(std::mem::take(&mut reading.problems));
    reading.problems = problems.into_sorted();
    reading
}

/// What a name lost on the way to its normal form stays in the parts.
fn keep_asides(parts: &mut Parts, before: Parts) {
    parts.synonym = parts.synonym.take().or(before.synonym);
    parts.parentage = parts.parentage.take().or(before.parentage);
    parts.marks.extend(before.marks);
    parts.as_typed.extend(before.as_typed);
    parts.left_over.extend(before.left_over);
}

fn read_once(input: &str, context: &Context) -> Reading {
    let mut problems = Problems::default();
    let mut parts = Parts::default();
    if input.chars().nth(LONGEST).is_some() {
        let message = format!("More than {LONGEST} characters are no name.");
        problems.error("too_long", message, rules::INPUT);
        return finish(input, parts, problems, context);
    }
    let text = clean::clean(input, &mut problems);
    if text.is_empty() {
        problems.error("empty", "There is no name here.", rules::INPUT);
    } else {
        let mut reader = Reader {
            context,
            problems: &mut problems,
            in_formula: false,
            depth: 0,
            genera: Vec::new(),
            last: None,
            genus_was_small: crate::text::starts_lower(&text),
        };
        parts = reader.any(&token::tokens(&text));
    }
    finish(input, parts, problems, context)
}

fn finish(input: &str, mut parts: Parts, mut problems: Problems, context: &Context) -> Reading {
    let replaced = replace(&mut parts, context, &mut problems);
    let kind = kind_of(&parts);
    if kind == Kind::Unreadable && !problems.any(Severity::Error) {
        problems.error("unreadable", "No name could be read here.", rules::INPUT);
    }
    let verdict = match problems.gravest() {
        Some(Severity::Error) => Verdict::Invalid,
        _ if problems.any(Severity::Fix) => Verdict::Correctable,
        _ => Verdict::Valid,
    };
    let normalised = match (verdict, replaced) {
        (Verdict::Invalid, _) => None,
        (_, Some(name)) => Some(name),
        _ => Some(normal_form(&parts)),
    };
    let problems = problems.into_sorted();
    Reading { input: input.to_owned(), verdict, normalised, kind, parts, problems }
}

/// Look the name up in the table of synonyms of the caller.
fn replace(parts: &mut Parts, context: &Context, problems: &mut Problems) -> Option<String> {
    if context.synonyms.is_empty() {
        return None;
    }
    let plain = normal_form(parts).replace('’', "'");
    let row = context.synonyms.iter().find(|row| row.name == plain && row.accepted != plain)?;
    problems.keep_only_fixes();
    let why = if row.why.is_empty() { "" } else { " " };
    let message = format!("{plain} is replaced by {}.{why}{}", row.accepted, row.why);
    problems.fix("replaced", message, rules::TABLE);
    let typed = std::mem::take(parts);
    let accepted = read_once(row.accepted, &Context { synonyms: &[], ..*context });
    *parts = accepted.parts;
    keep_asides(parts, typed);
    parts.as_typed.push(plain);
    accepted.normalised.or_else(|| Some(row.accepted.to_owned()))
}

fn kind_of(parts: &Parts) -> Kind {
    if parts.is_formula() {
        return match parts.joined_by {
            Some(HybridSign::Graft) => Kind::Chimaera,
            _ => Kind::Formula,
        };
    }
    let doubt = parts.genus_qualifier.is_some()
        || parts.species.as_ref().is_some_and(|species| species.qualifier.is_some())
        || parts.infra.iter().any(|infra| infra.epithet.qualifier.is_some());
    if parts.sign == Some(HybridSign::Graft) {
        Kind::Chimaera
    } else if parts.trade.is_some() {
        Kind::TradeDesignation
    } else if parts.cultivar.is_some() {
        Kind::Cultivar
    } else if parts.grex.is_some() {
        Kind::Grex
    } else if parts.group.is_some() {
        Kind::Group
    } else if parts.genus.is_none() && parts.species.is_none() {
        Kind::Unreadable
    } else if parts.tag.is_some() && parts.species.is_none() {
        Kind::Tag
    } else if parts.open.is_some() || doubt {
        Kind::Open
    } else {
        Kind::Botanical
    }
}
