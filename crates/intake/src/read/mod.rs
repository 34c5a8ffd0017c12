//! From sheets to rows as understood.

mod ask;
mod draft;
mod fields;
mod keepers;
mod kin;
mod lineage;
mod money;
mod names;

pub(crate) use fields::{FROM, later};

use serde_json::{Map, Value, json};

use crate::{
    Answers, Language, Mapping, Options, Question, ReadError, Row, Skipped,
    layout::{self, Layout},
    sheet::{self, Sheet},
};

/// A file as understood.
#[derive(Debug, Clone)]
pub struct Understood {
    /// Name of the file.
    pub file: String,
    /// Every plant, in the order of the file.
    pub rows: Vec<Row>,
    /// Every line that is no plant, with the reason.
    pub skipped: Vec<Skipped>,
    /// What only the owner can settle.
    pub questions: Vec<Question>,
    /// How the columns were read, one for each sheet; to be remembered.
    pub mappings: Vec<Mapping>,
    /// The language the list is written in.
    pub language: Language,
    sheets: Vec<Sheet>,
    options: Options,
}

/// Reads a list.
///
/// # Errors
/// Only if the file as a whole cannot be read: too large, an unknown encoding,
/// macros, a password, a damaged workbook, or nothing in it. A bad row is kept
/// with its problems and never blocks the others.
pub fn understand(bytes: &[u8], file: &str, options: &Options) -> Result<Understood, ReadError> {
    let sheets = sheet::open(bytes, file, &options.limits)?;
    let nothing =
        sheets.iter().all(|s| s.lines.iter().all(|l| l.cells.iter().all(|c| c.is_empty())));
    if nothing {
        return Err(ReadError::Empty { file: file.to_owned() });
    }
    Ok(from_sheets(sheets, file, options))
}

fn from_sheets(sheets: Vec<Sheet>, file: &str, options: &Options) -> Understood {
    let layout = layout::lay_out(&sheets, options);
    let language = language(&layout, options);
    let mut drafts = draft::drafts(&layout, language, options);
    keepers::unify(&mut drafts, options);
    money::settle(&mut drafts, &layout, language, options);
    kin::tie(&mut drafts, &layout, options);
    let questions = ask::questions(&drafts, options);
    let rows = draft::rows(drafts, &layout);
    Understood {
        file: file.to_owned(),
        rows,
        skipped: layout.skipped,
        questions,
        mappings: layout.sheets.iter().map(|s| s.mapping.clone()).collect(),
        language,
        sheets,
        options: options.clone(),
    }
}

fn language(layout: &Layout, options: &Options) -> Language {
    if let Some(lang) = options.language {
        return lang;
    }
    let mut votes = layout.votes.clone();
    for header in layout.sheets.iter().flat_map(|s| &s.mapping.header) {
        let mut langs: Vec<Language> =
            crate::columns::readings(header).iter().filter_map(|r| r.1).collect();
        langs.sort_unstable();
        langs.dedup();
        for lang in &langs {
            // Header words are chosen with care; words in cells may be names.
            *votes.entry(*lang).or_default() += if langs.len() == 1 { 12 } else { 2 };
        }
    }
    let order =
        [Language::En, Language::De, Language::Fr, Language::Es, Language::Nl, Language::Sv];
    let mut best = (Language::En, 0);
    for lang in order {
        let n = votes.get(&lang).copied().unwrap_or(0);
        if n > best.1 {
            best = (lang, n);
        }
    }
    best.0
}

impl Understood {
    /// Reads the same file again with these answers added to those already given.
    #[must_use]
    pub fn apply(&self, answers: &Answers) -> Self {
        let mut options = self.options.clone();
        options.answers.extend(answers.iter().map(|(k, v)| (k.clone(), v.clone())));
        from_sheets(self.sheets.clone(), &self.file, &options)
    }

    /// Reads the same file again with columns mapped otherwise.
    #[must_use]
    pub fn remap(&self, mappings: Vec<Mapping>) -> Self {
        let options = Options { mappings, ..self.options.clone() };
        from_sheets(self.sheets.clone(), &self.file, &options)
    }

    /// Rows and skipped lines as JSON.
    #[must_use]
    pub fn to_json(&self) -> Value {
        let rows: Vec<Value> = self.rows.iter().map(row_json).collect();
        let skipped: Vec<Value> = self
            .skipped
            .iter()
            .map(|s| json!({"row": s.row, "sheet": s.sheet, "why": s.why}))
            .collect();
        json!({"rows": rows, "skipped": skipped})
    }
}

/// A whole number without a decimal point.
fn number(value: f64) -> Value {
    #[allow(clippy::cast_possible_truncation, reason = "checked to be whole and small")]
    if value.fract() == 0.0 && value.abs() < 1e15 { json!(value as i64) } else { json!(value) }
}

fn row_json(row: &Row) -> Value {
    let mut out = Map::new();
    let mut put = |key: &str, value: Value| {
        out.insert(key.to_owned(), value);
    };
    put("row", json!(row.row));
    put("sheet", json!(row.sheet));
    put("name", json!(row.name));
    put("needs_a_person", json!(row.needs_a_person));
    put("seed_parent", json!(row.seed_parent));
    put("pollen_parent", json!(row.pollen_parent));
    put("source", json!(row.source));
    put("acquired", json!(row.acquired));
    put("acquired_ambiguous", json!(row.acquired_ambiguous));
    put("received_as", json!(row.received_as));
    let price =
        row.price.as_ref().map(|p| json!({"amount": number(p.amount), "currency": p.currency}));
    put("price", json!(price));
    let pot = row.pot.as_ref().map(|p| json!({"value": number(p.value), "unit": p.unit}));
    put("pot", json!(pot));
    put("place", json!(row.place));
    put("state", json!(row.state));
    put("tag", json!(row.tag));
    put("problems", json!(row.problems));
    Value::Object(out)
}
