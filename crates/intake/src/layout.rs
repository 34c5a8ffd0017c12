//! Sheets cut into rows: header, titles, headings, totals, remarks.

use std::{collections::HashMap, sync::LazyLock};

use jiff::civil::Date;
use regex::Regex;

use crate::{
    Language, Mapping, Options, Role, Skipped, amount, columns, date, fate,
    flora::FLORA,
    fold::{fold, squeeze},
    input::{About, Input},
    labels,
    scatter::{self, plain},
    sheet::{Cell, Kind, Line, Sheet, Value},
    words::{self, has, pattern},
};

/// All sheets cut into rows.
#[derive(Debug, Default)]
pub(crate) struct Layout {
    pub sheets: Vec<About>,
    pub inputs: Vec<Input>,
    pub skipped: Vec<Skipped>,
    pub votes: HashMap<Language, u32>,
}

pub(crate) fn lay_out(sheets: &[Sheet], options: &Options) -> Layout {
    let mut out = Layout::default();
    for sheet in sheets {
        for line in &sheet.lines {
            for cell in &line.cells {
                words::vote(&fold(&cell.text), 1, &mut out.votes);
            }
        }
    }
    for sheet in sheets {
        match sheet.kind {
            Kind::Labels => labels::read(sheet, options, &mut out),
            Kind::Table => table(sheet, options, &mut out),
        }
    }
    out
}

pub(crate) fn shown(line: &Line) -> String {
    let cells: Vec<&str> = line
        .cells
        .iter()
        .filter(|c| !c.merged)
        .map(|c| c.text.trim())
        .filter(|t| !t.is_empty())
        .collect();
    squeeze(&cells.join(" | "))
}

fn table(sheet: &Sheet, options: &Options, out: &mut Layout) {
    if sheet.lines.iter().all(|l| l.cells.iter().all(Cell::is_empty)) {
        return;
    }
    let given = options.mappings.iter().find(|m| m.sheet == sheet.name && fits(m, sheet));
    let header = match given {
        Some(m) => m.header_row.and_then(|r| sheet.lines.iter().position(|l| l.row == r)),
        None => find_header(sheet),
    };
    let mapping = match given {
        Some(m) => m.clone(),
        None => recognise(sheet, header, &out.votes),
    };
    let about = describe(sheet, header, mapping);
    let index = out.sheets.len();
    let legend = legend(sheet, header, &about);
    out.sheets.push(about);
    let mut section = Section::default();
    let start = out.inputs.len();
    for (at, line) in sheet.lines.iter().enumerate() {
        let what = classify(sheet, at, header, &out.sheets[index]);
        match what {
            What::Data => {
                let input = cut(index, line, &out.sheets[index], &section, &legend);
                out.inputs.push(input);
            }
            What::Heading => {
                section = Section::of(&shown(line), &out.sheets[index]);
                skip(out, sheet, line, "a heading, not a plant");
            }
            What::Other(why) => skip(out, sheet, line, why),
        }
    }
    scatter::spread(&mut out.inputs[start..], &out.sheets[index]);
}

fn skip(out: &mut Layout, sheet: &Sheet, line: &Line, why: &str) {
    out.skipped.push(Skipped {
        row: line.row,
        sheet: sheet.name.clone(),
        why: why.to_owned(),
        text: shown(line),
    });
}

/// A remembered mapping counts only if the header still reads the same.
fn fits(mapping: &Mapping, sheet: &Sheet) -> bool {
    match mapping.header_row {
        None => true,
        Some(row) => sheet
            .lines
            .iter()
            .find(|l| l.row == row)
            .is_some_and(|l| mapping.header.is_empty() || header_texts(l) == mapping.header),
    }
}

fn header_texts(line: &Line) -> Vec<String> {
    line.cells.iter().map(|c| c.text.trim().to_owned()).collect()
}

fn find_header(sheet: &Sheet) -> Option<usize> {
    let mut best: Option<(usize, usize)> = None;
    for (at, line) in sheet.lines.iter().enumerate().take(40) {
        let score = columns::header_score(line);
        if score >= 2 && best.is_none_or(|b| score > b.1) {
            best = Some((at, score));
        }
    }
    best.map(|b| b.0)
}

fn recognise(sheet: &Sheet, header: Option<usize>, votes: &HashMap<Language, u32>) -> Mapping {
    let mut chosen = match header {
        Some(at) => columns::by_header(&sheet.lines[at].cells, votes),
        None => Vec::new(),
    };
    let first = header.map_or(0, |h| h + 1);
    let data: Vec<&Line> = sheet.lines[first..]
        .iter()
        .filter(|l| l.cells.iter().filter(|c| !c.is_empty()).count() > 1 || header.is_none())
        .collect();
    columns::by_content(&data, &mut chosen, header.is_some(), &plain());
    numbered_pots(&data, &mut chosen);
    let texts = header.map(|h| header_texts(&sheet.lines[h])).unwrap_or_default();
    Mapping {
        sheet: sheet.name.clone(),
        header_row: header.map(|h| sheet.lines[h].row),
        header: texts,
        columns: chosen.iter().map(|c| c.map_or(Role::Notes, |c| c.0)).collect(),
    }
}

/// A column "Pot" or "Cross" of X1, X2, X3 numbers them and tells neither sizes nor parents.
fn numbered_pots(data: &[&Line], chosen: &mut [Option<(Role, u8)>]) {
    if chosen.iter().flatten().any(|c| c.0 == Role::Tag) {
        return;
    }
    let pair = [Role::SeedParent, Role::PollenParent]
        .iter()
        .all(|r| chosen.iter().flatten().any(|c| c.0 == *r));
    let open = |role: Role| role == Role::Pot || (role == Role::Parents && pair);
    let Some(at) = chosen.iter().position(|c| c.is_some_and(|c| open(c.0))) else { return };
    let cells: Vec<&str> =
        data.iter().filter_map(|l| l.cells.get(at)).map(|c| c.text.trim()).collect();
    let filled: Vec<&&str> = cells.iter().filter(|t| !t.is_empty()).collect();
    let crosses = chosen[at].is_some_and(|c| c.0 == Role::Parents);
    let number = |t: &str| {
        let letters = t.trim_end_matches(|c: char| c.is_ascii_digit() || matches!(c, '-' | '.'));
        letters.len() < t.len()
            && (1..=3).contains(&letters.chars().count())
            && letters.chars().all(char::is_alphabetic)
            && (crosses || matches!(amount::pot(t), amount::PotCell::NotASize))
    };
    let distinct: std::collections::HashSet<&&&str> = filled.iter().collect();
    let many = distinct.len() * 10 >= filled.len() * 9;
    if many && !filled.is_empty() && filled.iter().all(|t| number(t)) {
        chosen[at] = Some((Role::Tag, 1));
    }
}

static MOTHER_FIRST: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:mother|seed parent|mutter|mere|madre|moeder|mor|female)\b.{0,30}(?:first|zuerst|d'abord|en premier|primero|primera|eerst|forst)|(?:first|zuerst|erst|eerst|forst).{0,20}(?:mother|mutter|mere|madre|moeder|mor)\b|mother x father|seed x pollen|mutter x vater|mere x pere|madre x padre|moeder x vader|mor x far",
    )
});

fn describe(sheet: &Sheet, header: Option<usize>, mapping: Mapping) -> About {
    let head = |role: Role| {
        let at = mapping.columns.iter().position(|r| *r == role)?;
        Some(fold(mapping.header.get(at)?))
    };
    let signs = |text: &str| -> Vec<String> {
        text.split(|c: char| {
            c.is_whitespace() || matches!(c, '(' | ')' | '[' | ']' | ',' | '/' | ':')
        })
        .map(|w| w.trim_end_matches('.').to_owned())
        .collect()
    };
    let currency = head(Role::Price).and_then(|h| {
        signs(&h)
            .iter()
            .find_map(|w| amount::currency(w).filter(|_| !matches!(w.as_str(), "c" | "p" | "ct")))
    });
    let pot_unit = head(Role::Pot).and_then(|h| signs(&h).iter().find_map(|w| amount::unit(w)));
    let asides: Vec<String> = sheet
        .lines
        .iter()
        .enumerate()
        .filter(|(at, l)| {
            header.is_some_and(|h| *at < h)
                || l.cells.iter().filter(|c| !c.is_empty() && !c.merged).count() == 1
        })
        .map(|(_, l)| fold(&shown(l)))
        .collect();
    let head_text = fold(&mapping.header.join(" "));
    About {
        name: sheet.name.clone(),
        labels: false,
        currency: currency.map(str::to_owned),
        pot_unit,
        mother_first: asides.iter().chain([&head_text]).any(|t| MOTHER_FIRST.is_match(t)),
        written: asides.iter().find_map(|t| written(t)),
        mapping,
    }
}

/// The day a remark says the list was made on.
pub(crate) fn written(text: &str) -> Option<Date> {
    if text.len() > 120 || !text.chars().any(|c| c.is_ascii_digit()) {
        return None;
    }
    let read = date::read(text, &plain());
    let edtf = read.edtf.filter(|e| e.len() >= 7)?;
    dates::Edtf::parse(&edtf).ok()?.latest()
}

type Legend = HashMap<String, fate::Fate>;

/// "grey line = dead": what the colours of lines mean.
fn legend(sheet: &Sheet, header: Option<usize>, about: &About) -> Legend {
    let mut legend = Legend::new();
    for (at, line) in sheet.lines.iter().enumerate() {
        let Some(cell) = line.cells.iter().find(|c| !c.is_empty() && !c.merged) else { continue };
        let t = fold(&cell.text);
        let said = t.split_once(['=', ':']).map(|(_, meaning)| meaning.to_owned());
        let meaning = said.as_deref().map(str::trim);
        let Some(fate) = meaning.and_then(|m| fate::in_notes(m).or_else(|| fate::in_state_cell(m)))
        else {
            continue;
        };
        let aside =
            header.is_some_and(|h| at < h) || classify(sheet, at, header, about) != What::Data;
        if !aside {
            continue;
        }
        let fill = cell.fill.clone().or_else(|| only_odd_fill(sheet, header));
        if let Some(fill) = fill {
            legend.insert(fill, fate);
        }
    }
    legend
}

/// The one colour of data lines, where a legend names a colour without showing it.
fn only_odd_fill(sheet: &Sheet, header: Option<usize>) -> Option<String> {
    let first = header.map_or(0, |h| h + 1);
    let mut fills: Vec<&String> = sheet.lines[first..]
        .iter()
        .flat_map(|l| l.cells.iter().filter_map(|c| c.fill.as_ref()))
        .collect();
    fills.sort();
    fills.dedup();
    match fills.as_slice() {
        [one] => Some((*one).clone()),
        _ => None,
    }
}

#[derive(Debug, Default, Clone)]
pub(crate) struct Section {
    pub place: Option<String>,
    pub genus: Option<String>,
    pub fate: Option<fate::Fate>,
}

impl Section {
    /// What a heading says about the rows under it.
    pub(crate) fn of(text: &str, about: &About) -> Self {
        let bare = text.trim_matches(|c: char| !c.is_alphanumeric() && c != ')').trim();
        let folded = fold(bare);
        let first = folded.split(' ').next().unwrap_or_default().to_owned();
        let genus = genus_heading(&first).filter(|_| folded.split(' ').count() <= 2);
        if genus.is_some() {
            return Self { genus, ..Self::default() };
        }
        let fate = if has(&folded, "dead") || has(&folded, "given") {
            fate::in_notes(&folded)
        } else {
            None
        };
        if fate.is_some() {
            return Self { fate, ..Self::default() };
        }
        let kind = [
            "gesner",
            "begoni",
            "aroid",
            "araceae",
            "aracee",
            "arace",
            "cact",
            "kakt",
            "orchid",
            "fern",
            "farn",
            "other",
            "various",
            "misc",
            "rest",
            "sonstige",
            "andere",
            "ubrige",
            "divers",
            "autres",
            "otras",
            "otros",
            "varios",
            "overig",
            "diversen",
            "ovrig",
            "peperom",
            "bromel",
            "climber",
            "kletter",
            "succulent",
            "sukkulent",
            "species",
            "hybrids",
            "hybrid",
            "crosses",
            "seedling",
            "samling",
            "anthuri",
            "hippeas",
            "cultivars",
            "new",
            "neu",
            "wanted",
            "plants",
        ];
        let taxonomic = kind.iter().any(|k| first.starts_with(k));
        let place = (!taxonomic && !about.has(Role::Place)).then(|| bare.to_owned());
        Self { place, ..Self::default() }
    }
}

/// "Begonias", "BEGONIEN", "Streptocarpus".
fn genus_heading(word: &str) -> Option<String> {
    let stems = [
        word,
        word.trim_end_matches('s'),
        word.trim_end_matches("er"),
        word.trim_end_matches("'s"),
    ];
    for stem in stems {
        if let Some(genus) = FLORA.genus(stem) {
            return Some(genus.to_owned());
        }
        if let Some(genus) = words::vernacular(stem)
            && fold(genus).starts_with(stem.get(..4).unwrap_or(stem))
        {
            return Some(genus.to_owned());
        }
    }
    None
}

#[derive(Debug, PartialEq, Eq, Clone, Copy)]
pub(crate) enum What {
    Data,
    Heading,
    Other(&'static str),
}

fn classify(sheet: &Sheet, at: usize, header: Option<usize>, about: &About) -> What {
    let line = &sheet.lines[at];
    let filled: Vec<(usize, &Cell)> =
        line.cells.iter().enumerate().filter(|(_, c)| !c.is_empty() && !c.merged).collect();
    if filled.is_empty() {
        return What::Other("an empty row");
    }
    if Some(at) == header {
        return What::Other("the header");
    }
    if header.is_some_and(|h| at < h) {
        return What::Other("a title above the header");
    }
    if header.is_some() && header_texts(line) == about.mapping.header {
        return What::Other("the header again");
    }
    let column = |i: usize| about.mapping.columns.get(i).copied().unwrap_or(Role::Notes);
    let names = |r: Role| {
        matches!(
            r,
            Role::Name
                | Role::Genus
                | Role::Species
                | Role::Cultivar
                | Role::SeedParent
                | Role::PollenParent
                | Role::Parents
        )
    };
    let named = filled.iter().any(|(i, _)| names(column(*i)));
    let plant = filled.iter().any(|(i, c)| names(column(*i)) && plant_like(&c.text));
    if !plant && filled.iter().any(|(_, c)| total(&c.text)) {
        return What::Other("a sum of the sheet's own, not a plant");
    }
    if let [(i, cell)] = filled.as_slice() {
        return single(sheet, at, header, cell, names(column(*i)));
    }
    if named {
        return What::Data;
    }
    if filled.iter().all(|(_, c)| {
        !matches!(c.value, Value::Text)
            || amount::number(c.text.trim()).is_some()
                && c.text.trim().starts_with(|ch: char| ch.is_ascii_digit())
    }) {
        return What::Other("numbers without a plant");
    }
    if filled.iter().all(|(i, _)| matches!(column(*i), Role::Notes | Role::Ignore)) {
        return What::Other("a remark, not a plant");
    }
    What::Data
}

fn total(text: &str) -> bool {
    let t = fold(text.trim());
    let first: String = t.split([' ', ':', '=']).next().unwrap_or_default().to_owned();
    words::is(&first, "total") && t.split(' ').count() <= 4
        || words::is(t.trim_end_matches(':'), "total")
}

pub(crate) fn plant_like(text: &str) -> bool {
    let t = fold(text.trim());
    let tokens: Vec<&str> = t.split(' ').collect();
    let Some(first) = tokens.first() else { return false };
    let stem = first.trim_end_matches(['.', ',']);
    let quoted = t.chars().filter(|c| matches!(c, '\'' | '"')).count() >= 2;
    let genus = FLORA.genus(stem).is_some()
        || words::vernacular(stem).is_some()
        || FLORA.nearest_genus(stem).is_some();
    let short = first.ends_with('.') && stem.len() <= 6 && FLORA.starting(stem).next().is_some();
    let shouting = text.chars().filter(|c| c.is_alphabetic()).all(char::is_uppercase);
    let alone = tokens.len() == 1;
    quoted
        || t.contains(" x ")
        || t.contains('×')
        || (genus && !alone && !(shouting && tokens.len() < 2))
        || (short && !alone)
        || (tokens.len() <= 6
            && !t.contains('=')
            && words::has(&t, "seedling")
            && t.chars().any(|c| c.is_ascii_digit()))
}

/// A line with one filled cell: a plant with nothing else told, a heading, or a remark.
fn single(sheet: &Sheet, at: usize, header: Option<usize>, cell: &Cell, named: bool) -> What {
    let one_column =
        sheet.lines.iter().all(|l| l.cells.iter().filter(|c| !c.is_empty()).count() <= 1);
    if (named || header.is_none()) && plant_like(&cell.text) {
        return What::Data;
    }
    if one_column && header.is_some() {
        return What::Data;
    }
    if !matches!(cell.value, Value::Text) {
        return What::Other("a lone number or date");
    }
    let words = cell.text.split_whitespace().count();
    let more = sheet.lines[at + 1..]
        .iter()
        .any(|l| l.cells.iter().filter(|c| !c.is_empty() && !c.merged).count() > 1);
    let short = words <= 6 && cell.text.chars().count() <= 50;
    if short && more { What::Heading } else { What::Other("a remark, not a plant") }
}

fn cut(index: usize, line: &Line, about: &About, section: &Section, legend: &Legend) -> Input {
    let cells = line.cells.iter().map(|c| c.text.clone()).collect();
    let mut input = Input::new(index, line.row, cells);
    let (mut genus, mut species, mut cultivar) = (String::new(), String::new(), String::new());
    for (i, cell) in line.cells.iter().enumerate() {
        let role = about.mapping.columns.get(i).copied().unwrap_or(Role::Notes);
        let text = cell.text.trim();
        if text.contains('\n') {
            input.codes.push("line_break_in_cell");
        }
        // A name's blanks matter: they are remarked on.
        match role {
            Role::Name => input.name.clone_from(&cell.text),
            Role::Genus => genus = text.to_owned(),
            Role::Species => species = text.to_owned(),
            Role::Cultivar => cultivar = text.to_owned(),
            Role::SeedParent => input.seed = text.to_owned(),
            Role::PollenParent => input.pollen = text.to_owned(),
            Role::Parents => input.parents = text.to_owned(),
            Role::Source => input.source = text.to_owned(),
            Role::Date | Role::Sown => input.date = Some(cell.clone()),
            Role::ReceivedAs => input.received = text.to_owned(),
            Role::Price => input.price = Some(cell.clone()),
            Role::Currency => input.currency = text.to_owned(),
            Role::Pot => input.pot = text.to_owned(),
            Role::State => {
                let header = about.mapping.header.get(i).map(|h| fold(h)).unwrap_or_default();
                let gone =
                    has(&header, "dead") && !header.contains('/') && !header.contains(" or ");
                // "Died" over a date: any date says that it did.
                let day = text.chars().any(|c| c.is_ascii_digit());
                input.state = if gone && day { "dead".to_owned() } else { text.to_owned() };
            }
            Role::Tag => input.tag = text.to_owned(),
            Role::Count => input.count = text.to_owned(),
            Role::Place => {
                if input.place.is_empty() {
                    input.place_merged = cell.merged;
                    input.place = text.to_owned();
                } else if !text.is_empty() {
                    input.place = format!("{}, {text}", input.place);
                }
            }
            Role::Notes if !text.is_empty() && !cell.merged => input.notes.push(text.to_owned()),
            Role::Notes | Role::Ignore => {}
        }
    }
    compose(&mut input, &genus, &species, &cultivar);
    if input.place.is_empty()
        && let Some(place) = &section.place
    {
        input.place.clone_from(place);
    }
    input.genus.clone_from(&section.genus);
    input.heading_fate = section.fate;
    input.colour_fate = colour(line, legend);
    input
}

/// A name spread over columns for genus, species and cultivar.
fn compose(input: &mut Input, genus: &str, species: &str, cultivar: &str) {
    if genus.is_empty() && species.is_empty() && cultivar.is_empty() {
        return;
    }
    let mut parts: Vec<String> = Vec::new();
    let name = input.name.trim().to_owned();
    let has_genus = !genus.is_empty() && fold(&name).starts_with(&fold(genus));
    if !genus.is_empty() && !has_genus {
        parts.push(genus.to_owned());
    }
    let with_genus =
        name.is_empty() && !genus.is_empty() && fold(species).starts_with(&fold(genus));
    if with_genus {
        parts.clear();
    }
    parts
        .extend([name.as_str(), species].iter().filter(|p| !p.is_empty()).map(|p| (*p).to_owned()));
    if !cultivar.is_empty() && cultivar != "-" {
        let odd = |c: char| matches!(c, '\'' | '"' | '‘' | '’' | '“' | '”' | '„' | '«' | '´' | '`');
        // An apostrophe inside is no quote.
        let plain = !cultivar.starts_with(odd)
            && !cultivar.ends_with(odd)
            && !cultivar.contains(['"', '“', '”', '„', '«'])
            && !words::has(&fold(cultivar), "unidentified")
            && !fold(cultivar).contains(" x ");
        // A column of its own is as good as quotes.
        parts.push(if plain { format!("'{cultivar}'") } else { cultivar.to_owned() });
    }
    input.name = parts.join(" ");
}

fn colour(line: &Line, legend: &Legend) -> Option<fate::Fate> {
    let filled: Vec<&Cell> = line.cells.iter().filter(|c| !c.is_empty() && !c.merged).collect();
    let of = |c: &&Cell| c.fill.as_ref().and_then(|f| legend.get(f)).copied();
    let painted: Vec<fate::Fate> = filled.iter().filter_map(of).collect();
    (painted.len() * 2 > filled.len()).then(|| painted.first().copied()).flatten()
}
