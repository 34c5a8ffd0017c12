//! Everything that one plant's page says.

use journal::{
    CloneRow, EntryRow, Known, ParentClaim, PhotoRow, PlantRow, QuestionRow, Reader, StatementRow,
    Uid,
};
use serde::Serialize;

use crate::{
    Answer, AskError, Hand, NameText, Parentage, QUESTIONS, Result, Sentence, ask, entry_sentence,
    name_text, parentage,
    registry::{Learnt, ask_with},
    things::cross_title,
};

/// What one plant's page says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlantPage {
    /// The plant.
    pub plant: PlantRow,
    /// Its clone.
    pub clone: CloneRow,
    /// What it is called here.
    pub name: NameText,
    /// Cross and seedling number, such as 19-7, while it is a seedling.
    pub seedling: Option<String>,
    /// Names it has or had, the present one first.
    pub names: Vec<NameClaim>,
    /// What it is suspected to be, if anything.
    pub suspected: Option<String>,
    /// How dry it is let become before it gets water: `never_dry`, `just_dry` or `bone_dry`.
    pub wish: &'static str,
    /// Whether it drinks as usual: `growing`, `resting` or `rootless`.
    pub growth: &'static str,
    /// How it came, as a sentence.
    pub arrived: Option<Sentence>,
    /// Since when it has stood where it stands.
    pub placed: Option<String>,
    /// Pot and mix, as a sentence with its date.
    pub potted: Option<(Sentence, String)>,
    /// Other plants that are pieces of the same clone, and pieces with others.
    pub pieces: Vec<PieceLine>,
    /// Descent.
    pub parentage: Option<Parentage>,
    /// The journal, the latest first.
    pub journal: Vec<JournalLine>,
    /// How many entries there are in all.
    pub entries: i64,
    /// Statements by others.
    pub statements: Vec<StatementLine>,
    /// Questions to ask.
    pub questions: Vec<QuestionRow>,
    /// Answers.
    pub answers: Vec<Answer>,
    /// Photos.
    pub photos: Vec<PhotoRow>,
    /// What is not recorded yet, in words of the reader.
    pub missing: Vec<String>,
    /// The row of a list that it was brought in from.
    pub brought_in: Option<String>,
    /// Seedlings of it: their names and the number of a plant here.
    pub children: Vec<(NameText, Option<i64>)>,
}

/// A name that a clone has or had.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NameClaim {
    /// The name.
    pub name: NameText,
    /// `as_received`, `believed`, `determined`, `doubted`, or empty.
    pub standing: String,
    /// Doubts in words.
    pub doubt: Option<String>,
    /// Since when, in words.
    pub since: String,
    /// On whose word.
    pub said_by: Option<String>,
    /// Why.
    pub reason: Option<String>,
    /// Whether it is the one that holds.
    pub holds: bool,
}

/// Another piece of the same clone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PieceLine {
    /// Its plant number, if it stands in this record.
    pub plant: Option<i64>,
    /// Who has it, or where it stands.
    pub where_: String,
    /// Its state, or what became of it.
    pub state: String,
    /// Since when, in words.
    pub since: String,
}

/// One line of the journal.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct JournalLine {
    /// Identifier of the entry.
    pub uid: journal::Uid,
    /// Its kind.
    pub kind: String,
    /// The date in words, short.
    pub date: String,
    /// The year it is filed under.
    pub year: Option<i16>,
    /// The sentence.
    pub sentence: Sentence,
    /// How it is known.
    pub known: Known,
    /// When it was written down, in words, where that is not then.
    pub written: Option<String>,
    /// Whether it holds.
    pub live: bool,
    /// Why it was withdrawn.
    pub why: Option<String>,
}

/// A statement with its date in words.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StatementLine {
    /// The statement.
    pub row: StatementRow,
    /// When it was said, in words.
    pub said_on: String,
}

/// How many entries of the journal a page shows before it folds.
const JOURNAL_SHOWN: usize = 60;

/// The page of the plant with this number.
///
/// # Errors
/// If there is no such plant or the record cannot be read.
pub fn plant_page(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<PlantPage> {
    page(reader, number, hand, &|key| ask(reader, key, number, hand))
}

/// The same, with what has been learnt at hand.
///
/// # Errors
/// Those of [`plant_page`].
pub fn plant_page_with(
    reader: &Reader<'_>,
    number: i64,
    hand: &Hand,
    learnt: Learnt<'_>,
) -> Result<PlantPage> {
    page(reader, number, hand, &|key| ask_with(reader, key, number, hand, learnt))
}

fn page(
    reader: &Reader<'_>,
    number: i64,
    hand: &Hand,
    answer: &dyn Fn(&'static str) -> Result<Answer>,
) -> Result<PlantPage> {
    let plant = reader.plant(number)?.ok_or_else(|| AskError::NotThere {
        kind: "plant",
        which: number.to_string(),
        next: "the list of plants shows which there are",
    })?;
    let clone = reader.clone_by_id(plant.clone)?.ok_or_else(|| AskError::NotThere {
        kind: "clone",
        which: plant.clone.to_string(),
        next: "`umbel doctor` looks the record over",
    })?;
    let t = hand.texts();
    let seedling = seedling_number(reader, &clone)?;
    let name = display_name(&plant.name, seedling.as_deref(), hand);
    let entries = reader.journal_of_plant(plant.id, JOURNAL_SHOWN)?;
    let latest = |kind: &str| -> Result<Option<EntryRow>> {
        Ok(reader
            .entries_of_kinds(plant.id, &[kind])?
            .into_iter()
            .rfind(|e| e.subject == plant.uid))
    };
    let arrived = match latest("arrived")? {
        Some(e) => {
            let mut s = entry_sentence(reader, &e, t)?;
            if e.happened.earliest().is_some() || e.happened.latest().is_some() {
                let date = dates::say(&e.happened, hand.lang, None);
                s.text = format!("{}, {date}.", s.text.trim_end_matches('.'));
            }
            Some(s)
        }
        None => None,
    };
    // “Some time up to …” is no date to stand on a page.
    let placed = since_placed(reader, &plant)?
        .filter(|e| e.happened.earliest().is_some())
        .map(|e| dates::say(&e.happened, hand.lang, None));
    let potted = match latest("potted")? {
        Some(e) => Some((entry_sentence(reader, &e, t)?, dates::say(&e.happened, hand.lang, None))),
        None => None,
    };
    let statements = reader
        .statements(plant.id)?
        .into_iter()
        .chain(reader.statements(clone.id)?)
        .map(|row| StatementLine {
            said_on: row
                .said_on
                .as_ref()
                .map(|d| dates::say(d, hand.lang, None))
                .unwrap_or_default(),
            row,
        })
        .collect();
    let mut questions = reader.questions(plant.id)?;
    questions.extend(reader.questions(clone.id)?);
    let children = reader
        .children(clone.id)?
        .into_iter()
        .map(|c| {
            let number = reader.pieces(c.id)?.first().map(|p| p.number);
            let label = seedling_number(reader, &c)?;
            Ok((display_name(&c.name, label.as_deref(), hand), number))
        })
        .collect::<Result<_>>()?;
    Ok(PlantPage {
        names: names_of(reader, &clone, hand)?,
        suspected: Some(reader.claimed_words(clone.id, "suspected")?).filter(|s| !s.is_empty()),
        growth: crate::water::Growth::of_word(&reader.claimed_words(plant.id, "growth")?).as_str(),
        wish: crate::water::Wish::of_word(&reader.claimed_words(plant.id, "wish")?).as_str(),
        pieces: pieces(reader, &plant, hand)?,
        parentage: parentage(reader, clone.uid, t)?,
        journal: journal_lines(reader, &entries, hand)?,
        entries: plant.entries,
        answers: QUESTIONS.iter().map(|q| answer(q.key)).collect::<Result<_>>()?,
        photos: reader.photos_of_plant(plant.id)?,
        missing: missing(&plant, &clone, arrived.is_some(), potted.is_some(), hand),
        brought_in: reader.origin_of(plant.id)?,
        name,
        seedling,
        arrived,
        placed,
        potted,
        statements,
        questions,
        children,
        plant,
        clone,
    })
}

/// The clone of a plant and what it is called.
///
/// # Errors
/// If there is no such plant or the record cannot be read.
pub fn clone_named(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<(Uid, NameText)> {
    let plant = crate::acts::plants::need_plant(reader, number)?;
    let clone = reader.clone_by_id(plant.clone)?.ok_or_else(|| AskError::NotThere {
        kind: "clone of plant",
        which: number.to_string(),
        next: "`umbel doctor` looks the record over",
    })?;
    let seedling = seedling_number(reader, &clone)?;
    Ok((clone.uid, display_name(&clone.name, seedling.as_deref(), hand)))
}

/// The whole journal of a plant, for the page that shows nothing else.
///
/// # Errors
/// If there is no such plant or the record cannot be read.
pub fn whole_journal(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<Vec<JournalLine>> {
    let plant = reader.plant(number)?.ok_or_else(|| AskError::NotThere {
        kind: "plant",
        which: number.to_string(),
        next: "the list of plants shows which there are",
    })?;
    journal_lines(reader, &reader.journal_of_plant(plant.id, usize::MAX)?, hand)
}

/// The name that a page shows: the believed name, with the seedling number while there is no
/// epithet, or words when there is none.
/// The entry by which a plant came to where it stands: a later one that only names another spot of
/// the same place does not count.
fn since_placed(reader: &Reader<'_>, plant: &PlantRow) -> Result<Option<EntryRow>> {
    let entries = reader.entries_of_kinds(plant.id, &["placed"])?;
    let own: Vec<EntryRow> = entries.into_iter().filter(|e| e.subject == plant.uid).collect();
    let last = own.last().and_then(|e| e.detail.get("place").cloned());
    let stay = own.into_iter().rev().take_while(|e| e.detail.get("place") == last.as_ref());
    Ok(stay.last())
}

pub(crate) fn display_name(name: &str, seedling: Option<&str>, hand: &Hand) -> NameText {
    match (name.is_empty(), seedling) {
        (true, Some(s)) => NameText::words(s),
        (true, None) => NameText::words(hand.texts().t("not named")),
        (false, Some(s)) if !name.contains('\'') => name_text(name).then(s),
        (false, _) => name_text(name),
    }
}

pub(crate) fn seedling_number(reader: &Reader<'_>, clone: &CloneRow) -> Result<Option<String>> {
    let (Some(cross), Some(n)) = (clone.crossing, clone.seedling) else { return Ok(None) };
    Ok(reader.cross_by_id(cross)?.map(|c| format!("{}-{n}", c.number)))
}

fn names_of(reader: &Reader<'_>, clone: &CloneRow, hand: &Hand) -> Result<Vec<NameClaim>> {
    let mut out = Vec::new();
    let mut holds = true;
    for claim in reader.claims(clone.id, "name")?.into_iter().filter(|c| c.live) {
        let word = |key: &str| {
            claim
                .value
                .get(key)
                .and_then(|v| v.as_str())
                .filter(|s| !s.is_empty())
                .map(str::to_owned)
        };
        let shown = word("normal").or_else(|| word("text")).unwrap_or_default();
        out.push(NameClaim {
            name: name_text(&shown),
            standing: word("standing").unwrap_or_default(),
            doubt: word("doubt"),
            since: match &claim.as_of {
                Some(d) => dates::say(d, hand.lang, None),
                None => recorded_words(claim.recorded, hand),
            },
            said_by: claim.said_by,
            reason: claim.reason,
            holds,
        });
        holds = false;
    }
    Ok(out)
}

/// The day of recording, in words.
fn recorded_words(ms: i64, hand: &Hand) -> String {
    day_of_recording(ms)
        .map(|d| dates::say(&dates::Edtf::from_day(d), hand.lang, None))
        .unwrap_or_default()
}

fn day_of_recording(ms: i64) -> Option<jiff::civil::Date> {
    i32::try_from(ms.div_euclid(86_400_000)).ok().and_then(dates::from_days)
}

fn pieces(reader: &Reader<'_>, plant: &PlantRow, hand: &Hand) -> Result<Vec<PieceLine>> {
    let t = hand.texts();
    let mut out = Vec::new();
    let all = reader.pieces(plant.clone)?;
    for piece in all.iter().filter(|p| p.id != plant.id) {
        out.push(PieceLine {
            plant: Some(piece.number),
            where_: piece.place.clone(),
            state: t.word(&piece.state),
            since: piece.came.as_ref().map(|d| dates::say(d, hand.lang, None)).unwrap_or_default(),
        });
    }
    for piece in &all {
        for e in reader.entries_of_kinds(piece.id, &["given", "sold", "swapped"])? {
            let to = e.detail.get("to").and_then(|v| v.as_str()).and_then(|s| s.parse().ok());
            let keeper = match to {
                Some(uid) => match reader.subject(uid)? {
                    Some(s) => reader.keeper(s.number)?.map(|k| k.name).unwrap_or_default(),
                    None => String::new(),
                },
                None => String::new(),
            };
            if !keeper.is_empty() {
                out.push(PieceLine {
                    plant: None,
                    where_: keeper,
                    state: t.word(&e.kind),
                    since: dates::say(&e.happened, hand.lang, None),
                });
            }
        }
    }
    Ok(out)
}

/// Lines of the journal, with remembered entries saying when they were written down.
pub(crate) fn journal_lines(
    reader: &Reader<'_>,
    entries: &[EntryRow],
    hand: &Hand,
) -> Result<Vec<JournalLine>> {
    let t = hand.texts();
    entries
        .iter()
        .map(|e| {
            let written = (e.known == Known::Remembered).then(|| recorded_words(e.recorded, hand));
            let day = e.happened.latest().or(e.happened.earliest());
            Ok(JournalLine {
                uid: e.uid,
                kind: e.kind.clone(),
                date: short_date(&e.happened, hand, day),
                year: day.map(jiff::civil::Date::year),
                sentence: entry_sentence(reader, e, t)?,
                known: e.known,
                written,
                live: e.live,
                why: e.withdrawn_why.clone(),
            })
        })
        .collect()
}

/// A date as a narrow column shows it: “12–15 Nov” between two looks.
pub(crate) fn short_date(
    date: &dates::Edtf,
    hand: &Hand,
    year_of: Option<jiff::civil::Date>,
) -> String {
    let say = |d: jiff::civil::Date| dates::say(&dates::Edtf::from_day(d), hand.lang, year_of);
    if let (dates::Precision::Interval, Some(a), Some(b)) =
        (date.precision(), date.earliest(), date.latest())
    {
        if a.year() == b.year() && a.month() == b.month() {
            let dot = if hand.lang == texts::Lang::De { "." } else { "" };
            return format!("{}{dot}–{}", a.day(), say(b));
        }
        return format!("{}–{}", say(a), say(b));
    }
    dates::say(date, hand.lang, year_of)
}

fn missing(
    plant: &PlantRow,
    clone: &CloneRow,
    arrived: bool,
    potted: bool,
    hand: &Hand,
) -> Vec<String> {
    let t = hand.texts();
    let mut out = Vec::new();
    if plant.name.is_empty() {
        out.push(t.t("its name").to_owned());
    }
    if plant.keeper.is_empty() && !plant.own {
        out.push(t.t("whom it came from").to_owned());
    }
    if !arrived
        || plant.came.as_ref().is_none_or(|d| d.earliest().is_none() && d.latest().is_none())
    {
        out.push(t.t("when it came").to_owned());
    }
    let told = |p: &ParentClaim| *p != ParentClaim::NotTold;
    if plant.name.contains('\'') && !told(&clone.seed) && !told(&clone.pollen) {
        out.push(t.t("its parents").to_owned());
    }
    if plant.place.is_empty() && plant.state == "alive" {
        out.push(t.t("where it stands").to_owned());
    }
    if !potted && plant.state == "alive" {
        out.push(t.t("its pot and mix").to_owned());
    }
    out
}

/// The title of the cross that a plant is a seedling of, for its page.
///
/// # Errors
/// If the record cannot be read.
pub fn cross_of(
    reader: &Reader<'_>,
    clone: &CloneRow,
    hand: &Hand,
) -> Result<Option<(i64, NameText)>> {
    let Some(id) = clone.crossing else { return Ok(None) };
    let Some(cross) = reader.cross_by_id(id)? else { return Ok(None) };
    Ok(Some((cross.number, cross_title(reader, &cross, hand.texts())?)))
}
