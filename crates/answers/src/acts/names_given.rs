//! Judging a name before it is written.

use journal::Reader;
use names::{Reading, Severity, Verdict};
use serde::Serialize;
use serde_json::{Value, json};

use crate::{NameText, Result, name_text, names_context};

/// The last day of the rules under which cultivar epithets might be Latin.
const BEFORE_1959: jiff::civil::Date = jiff::civil::Date::constant(1958, 12, 31);

/// What was made of a name.
#[derive(Debug, Clone, Serialize)]
pub struct NameVerdict {
    /// The reading: verdict, normal form, parts, problems.
    pub reading: Reading,
    /// The name as it would be kept, set.
    pub shown: NameText,
    /// Epithets of this collection that could be taken for it, with the reason.
    pub alike: Vec<(String, String)>,
}

/// Judges a name: its form by the rules, and whether its epithet is already in the collection.
///
/// # Errors
/// If the record cannot be read.
pub fn judge_name(reader: &Reader<'_>, typed: &str) -> Result<NameVerdict> {
    let reading = names::read(typed, &names_context());
    let shown = name_text(reading.normalised.as_deref().unwrap_or(typed.trim()));
    let mut alike = Vec::new();
    if let (Some(genus), Some(epithet)) = (reading.genus(), reading.cultivar()) {
        let class = names::denomination_class(genus);
        for clone in reader.clones_of_genus(class)? {
            let other = names::read(&clone.name, &names_context());
            let Some(their) = other.cultivar() else { continue };
            let why = match names::compare_epithets(epithet, their) {
                names::Confusable::Different => continue,
                names::Confusable::Same => "the same epithet",
                names::Confusable::AskDistance => "spelt almost alike",
                names::Confusable::AskSound => "sounds alike",
            };
            if !alike.iter().any(|(n, _)| *n == clone.name) {
                alike.push((clone.name.clone(), why.to_owned()));
            }
        }
    }
    Ok(NameVerdict { reading, shown, alike })
}

/// The value of a `name` claim: what was typed, and the normal form where there is a definite
/// one. What cannot be read as a name is kept word for word.
#[must_use]
pub fn name_claim(typed: &str, standing: Option<&str>, doubt: Option<&str>) -> Value {
    let mut reading = names::read(typed, &names_context());
    if reading.verdict == Verdict::Invalid {
        // A plant may well carry a name of before 1959, when epithets in Latin were usual.
        let old = names::read(typed, &names::Context::on(BEFORE_1959));
        if old.verdict != Verdict::Invalid {
            reading = old;
        }
    }
    let sound = reading.verdict != Verdict::Invalid
        && !reading.problems.iter().any(|p| p.severity == Severity::Ask);
    let mut value = json!({"text": typed.trim()});
    if let Some(map) = value.as_object_mut() {
        if let Some(normal) = reading.normalised.as_ref().filter(|_| sound) {
            map.insert("normal".to_owned(), json!(normal));
        }
        if reading.kind != names::Kind::Unreadable {
            map.insert("sort".to_owned(), json!(reading.sort_key()));
            // In words that are no name, a first word without a capital is no genus either.
            let stands =
                |g: &&str| reading.verdict != Verdict::Invalid || typed.trim().starts_with(g);
            if let Some(genus) = reading.genus().filter(stands) {
                map.insert("genus".to_owned(), json!(genus));
            }
        }
        if let Some(s) = standing.filter(|s| !s.is_empty()) {
            map.insert("standing".to_owned(), json!(s));
        }
        if let Some(d) = doubt.filter(|d| !d.trim().is_empty()) {
            map.insert("doubt".to_owned(), json!(d.trim()));
        }
    }
    value
}
