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
    /// What distinguishes it from other lines about the same subject: `repot`, or, where one
    /// subject may have several, with what it is against: `look_again thrips`.
    pub key: String,
    /// What it is about.
    pub about: About,
    /// From which day on it wants doing \[days since 1970-01-01\].
    pub day: i64,
    /// The last day on which it still helps, where there is one \[days since 1970-01-01\].
    pub until: Option<i64>,
    /// What to do, in the reader's language; `{}` stands where what is in `named` is to be read.
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

impl Due {
    /// What to do, as plain words.
    #[must_use]
    pub fn plain(&self) -> String {
        let names: Vec<&str> = self.named.iter().map(|n| n.1.as_str()).collect();
        self.text.replace("{}", &names.join(", "))
    }
}

/// One source of lines: everything that is due up to a fortnight from today.
type Source = fn(&Reader<'_>, &Hand) -> Result<Vec<Due>>;

/// Who hands lines over, in the order of the page. Salts in pots come after them, pot by pot.
const SOURCES: [Source; 4] =
    [crate::air::due, crate::pests::due, crate::potting::due, crate::crossing::due];
const AIR: usize = 0;
const PESTS: usize = 1;
const POTTING: usize = 2;
const CROSSES: usize = 3;

/// What changes some of the lines only: kinds of entries and fields that are claimed, with the
/// sources that read them. (Pots are told which plants were touched in any case.) Whatever is not
/// named here may change every line.
const CHANGES: [(&[&str], &[usize]); 7] = [
    (&["put_off", "note", "measured", "weighed", "checked", "reservoir", "watered", "wish"], &[]),
    (&["bud_seen", "opened", "still_open", "ended"], &[POTTING, CROSSES]),
    (&CROSSED, &[CROSSES]),
    (&["potted", "checked_roots"], &[POTTING]),
    (&["clean", "pest_seen", "treated", "damage_seen", "shared", "let_in"], &[PESTS]),
    (&["readings"], &[AIR, PESTS]),
    (&["air", "loggers"], &[AIR, PESTS]),
];

/// Entries that follow a cross.
const CROSSED: [&str; 8] = [
    "pollinated",
    "pod_seen",
    "pod_ripe",
    "pod_lost",
    "seeds_counted",
    "sown",
    "germinated",
    "pricked_out",
];

/// Which sources a change concerns; none where it may be all.
fn concerned(what: &str) -> Option<&'static [usize]> {
    CHANGES.iter().find(|c| c.0.contains(&what)).map(|c| c.1)
}

/// The lines of a record, kept between two looks at them: what was written since renews only what
/// it can have changed.
#[derive(Debug, Clone)]
pub struct Lines {
    seen: i64,
    day: i64,
    lang: texts::Lang,
    sources: Vec<Vec<Due>>,
    pots: crate::feed::Pots,
}

impl Lines {
    /// Reads everything.
    ///
    /// # Errors
    /// If the record cannot be read.
    pub fn read(reader: &Reader<'_>, hand: &Hand) -> Result<Self> {
        let mut sources = Vec::new();
        for source in SOURCES {
            sources.push(source(reader, hand)?);
        }
        Ok(Self {
            seen: reader.touched_since(i64::MAX)?.last,
            day: hand.today_number(),
            lang: hand.lang,
            sources,
            pots: crate::feed::Pots::read(reader, hand)?,
        })
    }

    /// Takes in what was written since.
    ///
    /// # Errors
    /// Those of [`Lines::read`].
    pub fn refresh(&mut self, reader: &Reader<'_>, hand: &Hand) -> Result<()> {
        let touched = reader.touched_since(self.seen)?;
        let same_day = self.day == hand.today_number() && self.lang == hand.lang;
        if same_day && touched.last == self.seen {
            return Ok(());
        }
        let parts: Option<Vec<&[usize]>> = touched.what.iter().map(|w| concerned(w)).collect();
        let Some(parts) = parts.filter(|_| same_day && touched.last > self.seen) else {
            *self = Self::read(reader, hand)?;
            return Ok(());
        };
        for (i, kept) in self.sources.iter_mut().enumerate() {
            if parts.iter().any(|p| p.contains(&i)) {
                *kept = SOURCES[i](reader, hand)?;
            }
        }
        self.pots.refresh(reader, &touched.plants, hand)?;
        self.seen = touched.last;
        Ok(())
    }

    /// All lines, earliest first within each group. Those put off beyond today are there too, with
    /// the day to which they were put off.
    ///
    /// # Errors
    /// If the record cannot be read.
    pub fn all(&self, reader: &Reader<'_>, hand: &Hand) -> Result<Vec<Due>> {
        let lines = self.sources.iter().flatten().chain(self.pots.lines()).cloned().collect();
        Ok(ordered(lines, &all_put_off(reader)?, hand))
    }
}

/// All lines as [`Lines::all`] gives them, read anew.
///
/// # Errors
/// If the record cannot be read.
pub fn due(reader: &Reader<'_>, hand: &Hand) -> Result<Vec<Due>> {
    Lines::read(reader, hand)?.all(reader, hand)
}

fn ordered(lines: Vec<Due>, put_off: &[(About, String, i64)], hand: &Hand) -> Vec<Due> {
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
    keyed.into_iter().map(|k| k.1).collect()
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
    // Days that are over hold nothing back any more.
    days.retain(|_, d| d.as_str().is_some_and(|d| d > hand.today.to_string().as_str()));
    days.insert(key.to_owned(), json!(to.to_string()));
    let mut draft = hand.draft("put_off", &format!("{} {}", about.kind.as_str(), about.number));
    draft.claim(uid, "put_off", Value::Object(days));
    write(journal, draft)
}
