//! Pages of crosses, keepers and places.

use journal::{
    CrossRow, KeeperRow, ParentClaim, PlaceRow, PlantFilter, PlantSort, QuestionRow, Reader,
    StatementRow, SubjectKind, Uid,
};
use serde::Serialize;
use texts::Texts;

use crate::{
    AskError, Hand, JournalLine, ListPage, NameText, PlantListQuery, Result, list_plants,
    name_text,
    plant_page::{display_name, journal_lines},
};

/// What the page of a keeper says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeeperPage {
    /// The keeper.
    pub keeper: KeeperRow,
    /// Person, nursery, fair and so on, or empty.
    pub kind: String,
    /// Notes.
    pub note: String,
    /// Plants that came from them.
    pub plants: ListPage,
    /// Statements by them.
    pub statements: Vec<StatementRow>,
    /// Questions that wait for them.
    pub questions: Vec<QuestionRow>,
    /// Pieces that went to them: date, plant number, name, sentence.
    pub went: Vec<(String, i64, NameText, String)>,
    /// Entries about them.
    pub journal: Vec<JournalLine>,
}

/// What the page of a place says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlacePage {
    /// The place.
    pub place: PlaceRow,
    /// Notes.
    pub note: String,
    /// Plants that stand there.
    pub plants: ListPage,
    /// Entries about it.
    pub journal: Vec<JournalLine>,
}

/// What the page of a cross says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CrossPage {
    /// The cross.
    pub cross: CrossRow,
    /// Its parents, set.
    pub title: NameText,
    /// Pollinations: plant number, and their journal.
    pub pollinations: Vec<(i64, Option<i64>, Vec<JournalLine>)>,
    /// Batches: number, what, and their journal.
    pub batches: Vec<(i64, String, Vec<JournalLine>)>,
    /// Seedlings with a number of their own: number, name, number of a plant.
    pub seedlings: Vec<(i64, NameText, Option<i64>)>,
    /// Crosses of the same two clones, the other way round.
    pub reciprocal: Vec<i64>,
    /// Entries about the cross.
    pub journal: Vec<JournalLine>,
    /// Statements about it.
    pub statements: Vec<StatementRow>,
}

fn absent(kind: &'static str, number: i64, next: &'static str) -> AskError {
    AskError::NotThere { kind, which: number.to_string(), next }
}

/// The page of a keeper.
///
/// # Errors
/// If there is none or the record cannot be read.
pub fn keeper_page(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<KeeperPage> {
    let keeper = reader
        .keeper(number)?
        .ok_or_else(|| absent("keeper", number, "the list of keepers shows which there are"))?;
    let filter = PlantFilter { keeper: Some(number), ..PlantFilter::default() };
    let query = PlantListQuery { filter, sort: PlantSort::Name, page: 1 };
    let mut went = Vec::new();
    for kind in ["promised", "given", "sold", "swapped"] {
        for e in reader.all_of_kind(kind)? {
            let to = e.detail.get("to").and_then(|v| v.as_str());
            if to != Some(keeper.uid.to_string().as_str()) {
                continue;
            }
            let Some(plant) = e.plant.map(|p| reader.plant_by_id(p)).transpose()?.flatten() else {
                continue;
            };
            let sentence = crate::entry_sentence(reader, &e, hand.texts())?;
            let date = dates::say(&e.happened, hand.lang, None);
            went.push((date, plant.number, display_name(&plant.name, None, hand), sentence.text));
        }
    }
    Ok(KeeperPage {
        kind: hand.texts().word(&reader.claimed_words(keeper.id, "kind")?),
        note: reader.claimed_words(keeper.id, "note")?,
        plants: list_plants(reader, &query, hand)?,
        statements: reader.statements_by(keeper.id)?,
        questions: reader.open_questions(Some(keeper.id))?,
        went,
        journal: journal_lines(reader, &reader.entries_about(keeper.id, 200)?, hand)?,
        keeper,
    })
}

/// The page of a place.
///
/// # Errors
/// If there is none or the record cannot be read.
pub fn place_page(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<PlacePage> {
    let place = reader
        .place(number)?
        .ok_or_else(|| absent("place", number, "the list of places shows which there are"))?;
    let filter = PlantFilter {
        place: Some(number),
        state: Some("alive".to_owned()),
        ..PlantFilter::default()
    };
    let query = PlantListQuery { filter, sort: PlantSort::Name, page: 1 };
    Ok(PlacePage {
        note: reader.claimed_words(place.id, "note")?,
        plants: list_plants(reader, &query, hand)?,
        journal: journal_lines(reader, &reader.entries_about(place.id, 200)?, hand)?,
        place,
    })
}

/// A parent in words, set.
///
/// # Errors
/// If the record cannot be read.
pub fn parent_words(reader: &Reader<'_>, parent: &ParentClaim, t: Texts) -> Result<NameText> {
    let name = |uid: &Uid| -> Result<NameText> {
        Ok(match reader.clone_by_uid(*uid)? {
            Some(c) if !c.name.is_empty() => name_text(&c.name),
            _ => NameText::words(t.t("not named")),
        })
    };
    Ok(match parent {
        ParentClaim::NotTold => NameText::words(t.t("not recorded")),
        ParentClaim::Unknown => NameText::words(t.t("unknown")),
        ParentClaim::Clone(uid) => name(uid)?,
        ParentClaim::OneOf(list) => {
            let mut out = NameText { plain: String::new(), runs: Vec::new() };
            for (i, uid) in list.iter().enumerate() {
                if i > 0 {
                    let or = NameText::words(t.t(" or "));
                    out.plain.push_str(&or.plain);
                    out.runs.extend(or.runs);
                }
                let one = name(uid)?;
                out.plain.push_str(&one.plain);
                out.runs.extend(one.runs);
            }
            out
        }
    })
}

/// Seed parent × pollen parent, set.
///
/// # Errors
/// If the record cannot be read.
pub fn cross_title(reader: &Reader<'_>, cross: &CrossRow, t: Texts) -> Result<NameText> {
    if let (ParentClaim::Clone(a), ParentClaim::Clone(b)) = (&cross.seed, &cross.pollen) {
        let (a, b) = (reader.clone_by_uid(*a)?, reader.clone_by_uid(*b)?);
        if let (Some(a), Some(b)) = (a, b)
            && !a.name.is_empty()
            && !b.name.is_empty()
        {
            return Ok(name_text(&format!("{} × {}", a.name, b.name)));
        }
    }
    let mut title = parent_words(reader, &cross.seed, t)?;
    let pollen = parent_words(reader, &cross.pollen, t)?;
    let times = NameText::words("\u{a0}× ");
    title.plain.push_str(" × ");
    title.plain.push_str(&pollen.plain);
    title.runs.extend(times.runs);
    title.runs.extend(pollen.runs);
    Ok(title)
}

/// The page of a cross.
///
/// # Errors
/// If there is none or the record cannot be read.
pub fn cross_page(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<CrossPage> {
    let cross = reader
        .cross(number)?
        .ok_or_else(|| absent("cross", number, "the list of crosses shows which there are"))?;
    let t = hand.texts();
    let cross_uid = cross.uid.to_string();
    let mut pollinations = Vec::new();
    for s in reader.subjects_of_kind(SubjectKind::Pollination)? {
        let of = reader.claimed(s.id, "cross")?;
        if of.as_ref().and_then(|v| v.as_str()) != Some(cross_uid.as_str()) {
            continue;
        }
        let plant = s.of.map(|p| reader.plant_by_id(p)).transpose()?.flatten();
        let lines = journal_lines(reader, &reader.entries_about(s.id, 200)?, hand)?;
        pollinations.push((s.number, plant.map(|p| p.number), lines));
    }
    let mut batches = Vec::new();
    for s in reader.subjects_of(cross.id, SubjectKind::Batch)? {
        let what = t.word(&reader.claimed_words(s.id, "what")?);
        batches.push((
            s.number,
            what,
            journal_lines(reader, &reader.entries_about(s.id, 200)?, hand)?,
        ));
    }
    let mut seedlings = Vec::new();
    for (id, n) in reader.seedlings(cross.id)? {
        let Some(clone) = reader.clone_by_id(id)? else { continue };
        let plant = reader.pieces(id)?.first().map(|p| p.number);
        let label = format!("{number}-{n}");
        seedlings.push((n, display_name(&clone.name, Some(&label), hand), plant));
    }
    let reciprocal = reader
        .crosses()?
        .into_iter()
        .filter(|c| {
            c.id != cross.id
                && matches!(c.seed, ParentClaim::Clone(_))
                && c.seed == cross.pollen
                && c.pollen == cross.seed
        })
        .map(|c| c.number)
        .collect();
    Ok(CrossPage {
        title: cross_title(reader, &cross, t)?,
        pollinations,
        batches,
        seedlings,
        reciprocal,
        journal: journal_lines(reader, &reader.entries_about(cross.id, 200)?, hand)?,
        statements: reader.statements(cross.id)?,
        cross,
    })
}
