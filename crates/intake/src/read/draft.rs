//! A row on its way from typed to understood.

use std::collections::HashMap;

use sha2::{Digest, Sha256};

use super::{fields, lineage, names};
use crate::{
    Language, Options, Part, Pot, Price, Relation, Role, Row,
    amount::Money,
    date::{self, Order, Read},
    fold::{fold, key},
    input::Input,
    layout::Layout,
    name::{Name, Registry},
    sheet::Value,
    words,
};

#[derive(Debug, Clone)]
pub(crate) struct Draft {
    pub input: Input,
    pub name: Name,
    pub text: Option<String>,
    pub ask: bool,
    pub seed: Option<String>,
    pub pollen: Option<String>,
    pub source: Option<String>,
    pub date: Read,
    pub date_text: String,
    pub received: Option<&'static str>,
    pub money: Money,
    pub price: Option<Price>,
    pub pot: Option<Pot>,
    pub place: Option<String>,
    pub state: &'static str,
    pub tag: Option<String>,
    pub count: u32,
    /// Remarks as they count: a ditto mark stands for the remark above.
    pub said: String,
    pub codes: Vec<String>,
    pub relations: Vec<Relation>,
    /// Unnamed: its name is a formula or only the genus.
    pub unnamed: bool,
    pub corrected: Vec<Part>,
}

impl Draft {
    pub(crate) fn code(&mut self, code: impl Into<String>) {
        let code = code.into();
        if !self.codes.contains(&code) {
            self.codes.push(code);
        }
    }

    pub(crate) fn has(&self, code: &str) -> bool {
        self.codes.iter().any(|c| c == code)
    }

    pub(crate) fn drop_code(&mut self, code: &str) {
        self.codes.retain(|c| c != code);
    }

    pub(crate) fn corrected(&mut self, part: Part) {
        if !self.corrected.contains(&part) {
            self.corrected.push(part);
        }
    }
}

/// How the file's dates are ordered.
fn order(layout: &Layout, lang: Language, options: &Options) -> Order {
    let texts: Vec<&str> = layout
        .inputs
        .iter()
        .flat_map(|i| {
            let cell = i.date.iter().filter(|c| !matches!(c.value, Value::Day(_)));
            cell.map(|c| c.text.as_str())
        })
        .collect();
    let year_first = lang == Language::Sv
        || texts.iter().filter(|t| date::starts_with_year(t)).count() * 2 > texts.len();
    let day_first = match options.answers.get("date_order").map(String::as_str) {
        Some("day_first") => Some(true),
        Some("month_first") => Some(false),
        _ => {
            let seen: Vec<bool> = texts.iter().filter_map(|t| date::evidence(t)).collect();
            match (seen.contains(&true), seen.contains(&false)) {
                (true, false) => Some(true),
                (false, true) => Some(false),
                (true, true) => None,
                (false, false) => (lang != Language::En).then_some(true),
            }
        }
    };
    Order { day_first, year_first }
}

pub(super) struct Setting<'a> {
    pub layout: &'a Layout,
    pub lang: Language,
    pub options: &'a Options,
    pub registry: Registry,
    pub order: Order,
    /// The unit nearly all pots of each sheet have.
    pub units: Vec<Option<&'static str>>,
}

/// All rows read one by one; ties between them come later.
pub(super) fn drafts(layout: &Layout, lang: Language, options: &Options) -> Vec<Draft> {
    let registry = names::registry(layout, lang);
    let order = order(layout, lang, options);
    let units = (0..layout.sheets.len()).map(|s| fields::usual_unit(layout, s, lang)).collect();
    let set = Setting { layout, lang, options, registry, order, units };
    let mut out: Vec<Draft> = Vec::with_capacity(layout.inputs.len());
    for (index, input) in layout.inputs.iter().enumerate() {
        let previous = out.last().filter(|p| p.input.sheet == input.sheet);
        let draft = one(&set, index, input, previous);
        out.push(draft);
    }
    lineage::complete(&mut out, &set);
    out
}

fn one(set: &Setting<'_>, index: usize, input: &Input, previous: Option<&Draft>) -> Draft {
    let mut d = Draft {
        input: input.clone(),
        name: Name::default(),
        text: None,
        ask: false,
        seed: None,
        pollen: None,
        source: None,
        date: Read::default(),
        date_text: String::new(),
        received: None,
        money: Money::default(),
        price: None,
        pot: None,
        place: None,
        state: "alive",
        tag: None,
        count: 1,
        said: String::new(),
        codes: input.codes.iter().map(|c| (*c).to_owned()).collect(),
        relations: Vec::new(),
        unnamed: false,
        corrected: Vec::new(),
    };
    fields::said(&mut d, previous);
    names::read(&mut d, index, set, previous);
    fields::tag(&mut d);
    fields::date(&mut d, set, previous);
    fields::source(&mut d, set, previous);
    lineage::read(&mut d, set, previous);
    fields::received(&mut d, set, previous);
    fields::price(&mut d, set);
    fields::pot(&mut d, set);
    fields::place(&mut d, previous);
    fields::count(&mut d);
    fields::state(&mut d, set);
    // Without even a genus there is always something to ask.
    d.ask |= d.text.is_none();
    d
}

/// Whether a cell is a ditto mark.
pub(super) fn is_ditto(text: &str) -> bool {
    let t = fold(text.trim());
    !t.is_empty()
        && (words::is(t.trim_end_matches('.'), "ditto")
            || matches!(t.as_str(), "\"\"" | "-\"-" | "- \" -" | "'" | ",,"))
}

/// The finished rows.
pub(super) fn rows(drafts: Vec<Draft>, layout: &Layout) -> Vec<Row> {
    let mut seen: HashMap<String, u32> = HashMap::new();
    drafts
        .into_iter()
        .map(|d| {
            let about = &layout.sheets[d.input.sheet];
            let fingerprint = fingerprint(about.name.as_deref(), &d.input.cells, &mut seen);
            Row {
                row: d.input.row,
                sheet: about.name.clone(),
                name: d.text,
                needs_a_person: d.ask,
                seed_parent: d.seed,
                pollen_parent: d.pollen,
                source: d.source,
                acquired: d.date.edtf,
                acquired_ambiguous: d.date.ambiguous,
                received_as: d.received.map(str::to_owned),
                price: d.price,
                pot: d.pot,
                place: d.place,
                state: d.state.to_owned(),
                tag: d.tag,
                problems: d.codes,
                cells: d.input.cells,
                notes: d.input.notes.into_iter().chain(d.name.words).collect(),
                corrected: d.corrected,
                count: d.count,
                relations: d.relations,
                fingerprint,
            }
        })
        .collect()
}

/// Hash of what the row says, whatever its capitals, blanks and place in the file.
fn fingerprint(sheet: Option<&str>, cells: &[String], seen: &mut HashMap<String, u32>) -> String {
    let plain: Vec<String> = cells.iter().map(|c| key(c)).collect();
    let mut text = plain.join("\u{1f}");
    text.truncate(text.trim_end_matches('\u{1f}').len());
    let text = format!("{}\u{1e}{text}", sheet.unwrap_or_default());
    let nth = seen.entry(text.clone()).or_insert(0);
    let digest = Sha256::digest(format!("{text}\u{1e}{nth}").as_bytes());
    *nth += 1;
    digest.iter().take(16).map(|b| format!("{b:02x}")).collect()
}

/// Whether a sheet is a list of crosses: parents in columns, no column for names.
pub(super) fn crosses(d: &Draft, layout: &Layout) -> bool {
    let about = &layout.sheets[d.input.sheet];
    about.has(Role::SeedParent) && !about.has(Role::Name)
}
