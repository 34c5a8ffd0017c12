//! A name held against a checklist: spelling, synonymy, native range.

use super::areas::Areas;
use super::image::{Checklist, Entry};
use super::{Occurrence, Status};
use crate::reading::{Parts, Reading};
use crate::write::rank_term;
use serde::Serialize;

/// Spellings further off than this are not offered \[letters\].
const FARTHEST: usize = 3;
/// Most spellings that are offered.
const MOST: usize = 5;

/// How the spelling compares with the list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum Spelling {
    /// The name is in the list.
    Exact,
    /// It is not, but these are near: name and distance in letters, nearest first.
    Near {
        /// Names that are near, with the distance.
        names: Vec<(String, usize)>,
    },
    /// Neither it nor anything near is in the list, though its genus is.
    NotFound,
    /// The list has nothing in this genus: it can say nothing.
    GenusNotInList,
    /// There is no species to look for (a cultivar of a genus, a formula, sp.).
    NothingToCheck,
}

/// Whether a stated origin lies in the native range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum OriginCheck {
    /// Native there.
    Native,
    /// Introduced there.
    Introduced,
    /// Was native there.
    Extinct,
    /// The record there is doubtful.
    Doubtful,
    /// Not known from there: the origin or the name may be wrong.
    Outside,
    /// The list tells no areas for this name.
    RangeUnknown,
    /// The place was not recognised as an area.
    PlaceUnknown,
}

/// A name held against a checklist.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NameCheck {
    /// What was looked for: the botanical part without author and signs of doubt.
    pub looked_for: Option<String>,
    /// How the spelling compares.
    pub spelling: Spelling,
    /// Standing of the name found.
    pub status: Option<Status>,
    /// The accepted name, where the name found is another.
    pub accepted: Option<String>,
    /// Authors of the accepted name, or of the name itself.
    pub authors: Option<String>,
    /// Level-3 codes of the native areas of the accepted name.
    pub native: Vec<String>,
    /// Level-3 codes where it was introduced.
    pub introduced: Vec<String>,
    /// Level-3 codes where it is extinct.
    pub extinct: Vec<String>,
    /// How the stated origin fits, if one was stated.
    pub origin: Option<OriginCheck>,
    /// Where the list comes from; show it beside the result.
    pub credit: String,
}

/// Hold a reading against a checklist. `origin` is where the plant is said to come from: an area
/// code or the name of an area, region or continent.
pub fn check_name(reading: &Reading, origin: Option<&str>, list: &Checklist) -> NameCheck {
    let mut check = NameCheck {
        looked_for: botanical(&reading.parts),
        spelling: Spelling::NothingToCheck,
        status: None,
        accepted: None,
        authors: None,
        native: Vec::new(),
        introduced: Vec::new(),
        extinct: Vec::new(),
        origin: None,
        credit: list.credit().to_owned(),
    };
    let Some(name) = check.looked_for.clone() else { return check };
    if let Some(entry) = list.find(&name) {
        check.spelling = Spelling::Exact;
        describe(&mut check, entry, origin);
        return check;
    }
    let near: Vec<(String, usize)> = list
        .nearest(&name, FARTHEST.min(name.chars().count() / 5))
        .into_iter()
        .take(MOST)
        .map(|(entry, distance)| (entry.name().to_owned(), distance))
        .collect();
    let genus = name.split(' ').next().unwrap_or_default();
    check.spelling = if !near.is_empty() {
        Spelling::Near { names: near }
    } else if list.has_genus(genus) {
        Spelling::NotFound
    } else {
        Spelling::GenusNotInList
    };
    check
}

/// Genus, species and last infraspecific element, without signs, authors and doubt.
fn botanical(parts: &Parts) -> Option<String> {
    let genus = parts.genus.as_deref().filter(|_| !parts.common_name)?;
    let species = parts.species.as_ref()?;
    let mut name = format!("{genus} {}", species.text);
    if let Some(infra) = parts.infra.last() {
        name.push_str(&format!(" {} {}", rank_term(infra.rank), infra.epithet.text));
    }
    Some(name)
}

fn describe(check: &mut NameCheck, entry: Entry<'_>, origin: Option<&str>) {
    check.status = Some(entry.status());
    let accepted = entry.accepted();
    if let Some(accepted) = accepted.filter(|accepted| !accepted.is(&entry)) {
        check.accepted = Some(accepted.name().to_owned());
    }
    let holder = accepted.unwrap_or(entry);
    check.authors = Some(holder.authors().to_owned()).filter(|authors| !authors.is_empty());
    for (code, occurrence) in holder.areas() {
        match occurrence {
            Occurrence::Native => check.native.push(code.to_owned()),
            Occurrence::Introduced => check.introduced.push(code.to_owned()),
            Occurrence::Extinct => check.extinct.push(code.to_owned()),
            Occurrence::Doubtful => {}
        }
    }
    for codes in [&mut check.native, &mut check.introduced, &mut check.extinct] {
        codes.sort();
    }
    check.origin = origin.map(|place| fits(holder, place));
}

fn fits(entry: Entry<'_>, place: &str) -> OriginCheck {
    let areas = Areas::all().find(place);
    if areas.is_empty() {
        return OriginCheck::PlaceUnknown;
    }
    let mut any = false;
    let mut best: Option<Occurrence> = None;
    for (code, occurrence) in entry.areas() {
        any = true;
        if areas.iter().any(|area| area.code == code) {
            best = Some(best.map_or(occurrence, |before| before.min(occurrence)));
        }
    }
    match best {
        Some(Occurrence::Native) => OriginCheck::Native,
        Some(Occurrence::Introduced) => OriginCheck::Introduced,
        Some(Occurrence::Extinct) => OriginCheck::Extinct,
        Some(Occurrence::Doubtful) => OriginCheck::Doubtful,
        None if any => OriginCheck::Outside,
        None => OriginCheck::RangeUnknown,
    }
}
