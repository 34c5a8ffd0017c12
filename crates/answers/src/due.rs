//! What wants doing: the lines of the page Today that are not about water.
//!
//! Each answer that has something to remind of hands its lines over as [`Due`]. A line has a
//! reason, what is written when it is done, and may be put off; putting off is a claim, so that it
//! can be undone and is never lost.

use journal::{Journal, OpId, Reader, SubjectKind};
use serde::Serialize;
use serde_json::{Map, Value, json};

use crate::{
    AskError, Hand, Result,
    acts::plants::{journal_read, write},
};

/// What a line is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct About {
    /// Plant, place, batch, cross and so on.
    pub kind: SubjectKind,
    /// Its number.
    pub number: i64,
}

/// What is written when a line is done.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Done {
    /// What the button says, in the reader's language.
    pub words: String,
    /// The kind of entry.
    pub kind: &'static str,
    /// Its fields.
    pub detail: Map<String, Value>,
}

/// Something that wants doing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Due {
    /// The heading under which it stands, in words of the catalogue.
    pub group: &'static str,
    /// What distinguishes it from other lines about the same subject: `look_again`, `repot`.
    pub key: String,
    /// What it is about.
    pub about: About,
    /// From which day on it wants doing \[days since 1970-01-01\].
    pub day: i64,
    /// The last day on which it still helps, where there is one \[days since 1970-01-01\].
    pub until: Option<i64>,
    /// What to do, in the reader's language; the names in `{}` marks are in `names`.
    pub text: String,
    /// Why, in the reader's language.
    pub reason: String,
    /// Plants or places named in it, for links: kind and number with what they are called.
    pub named: Vec<(About, String)>,
    /// What may be written when it is done, the first by the key.
    pub done: Vec<Done>,
    /// To which day it was put off, if it was \[days since 1970-01-01\].
    pub put_off: Option<i64>,
}

/// One source of lines: everything that is due up to a fortnight from today.
type Source = fn(&Reader<'_>, &Hand) -> Result<Vec<Due>>;

/// Who hands lines over, in the order of the page.
const SOURCES: &[Source] =
    &[crate::air::due, crate::pests::due, crate::potting::due, crate::feed::due, crate::crossing::due];

/// All lines, earliest first within each group. Those put off beyond today are there too, with the
/// day to which they were put off.
///
/// # Errors
/// If the record cannot be read.
pub fn due(reader: &Reader<'_>, hand: &Hand) -> Result<Vec<Due>> {
    let put_off = all_put_off(reader)?;
    let mut lines = Vec::new();
    for source in SOURCES {
        lines.extend(source(reader, hand)?);
    }
    let order = |group: &str, lines: &[Due]| lines.iter().position(|l| l.group == group);
    let mut keyed: Vec<(usize, Due)> =
        lines.iter().map(|l| (order(l.group, &lines).unwrap_or(0), l.clone())).collect();
    for (_, line) in &mut keyed {
        line.put_off = put_off
            .iter()
            .find(|p| p.0 == line.about && p.1 == line.key)
            .map(|p| p.2)
            .filter(|day| *day > hand.today_number());
    }
    keyed.sort_by_key(|(group, line)| (*group, line.day));
    Ok(keyed.into_iter().map(|k| k.1).collect())
}

/// What lines can be about.
const PUT_OFF: [SubjectKind; 5] = [
    SubjectKind::Plant,
    SubjectKind::Place,
    SubjectKind::Batch,
    SubjectKind::Cross,
    SubjectKind::Pollination,
];

/// Every putting-off that was written: about what, which line, to which day.
fn all_put_off(reader: &Reader<'_>) -> Result<Vec<(About, String, i64)>> {
    let mut out = Vec::new();
    for kind in PUT_OFF {
        for (subject, value, _) in reader.claims_of_all(kind, "put_off")? {
            let Some(row) = reader.subject_by_id(subject)? else { continue };
            let about = About { kind, number: row.number };
            for (key, day) in value.as_object().into_iter().flatten() {
                let day = day.as_str().and_then(|d| d.parse::<jiff::civil::Date>().ok());
                if let Some(day) = day {
                    out.push((about, key.clone(), i64::from(dates::to_days(day))));
                }
            }
        }
    }
    Ok(out)
}

/// Puts a line off to a day. Other lines about the same subject keep theirs.
///
/// # Errors
/// If the subject is not there, or the day is not after today.
pub fn put_off(
    journal: &Journal,
    hand: &Hand,
    about: About,
    key: &str,
    to: jiff::civil::Date,
) -> Result<OpId> {
    if to <= hand.today {
        let problem = "is not after today; choose a later day";
        return Err(AskError::field("put off to", &to.to_string(), problem));
    }
    let (uid, mut days) = journal_read(journal, |r| {
        let row = r.subject_numbered(about.kind, about.number)?.ok_or_else(|| {
            let (kind, next) = ("subject", "go back to Today and choose the line again");
            AskError::NotThere { kind, which: about.number.to_string(), next }
        })?;
        let days = r.claimed(row.id, "put_off")?.and_then(|v| v.as_object().cloned());
        Ok((row.uid, days.unwrap_or_default()))
    })?;
    days.insert(key.to_owned(), json!(to.to_string()));
    let mut draft = hand.draft("put_off", &format!("{} {}", about.kind.as_str(), about.number));
    draft.claim(uid, "put_off", Value::Object(days));
    write(journal, draft)
}
