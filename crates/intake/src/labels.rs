//! Plain text, one label a line: parts told apart by what they are.

use std::collections::HashMap;

use crate::{
    Mapping, Options, Skipped, amount, date,
    fold::{fold, squeeze},
    input::{About, Input},
    layout::{Layout, Section, plant_like, written},
    read::FROM,
    received,
    sheet::{Cell, Line, Sheet},
    words::{self, find, has},
};

/// Signs that stand between blanks, then those that need none.
const SPACED: [&str; 14] =
    ["-", "–", "—", "|", "/", "//", "+", "·", "•", ":", "::", "->", "=>", "~"];
const TIGHT: [&str; 8] = ["\t", "|", ";", "  ", "//", ", ", ",", ": "];

pub(crate) fn read(sheet: &Sheet, options: &Options, out: &mut Layout) {
    let usual = usual_separator(sheet);
    let index = out.sheets.len();
    let asides: Vec<String> = sheet.lines.iter().take(5).map(|l| fold(&l.cells[0].text)).collect();
    let mut about = About {
        name: sheet.name.clone(),
        mapping: Mapping { sheet: None, header_row: None, header: Vec::new(), columns: Vec::new() },
        labels: true,
        currency: None,
        pot_unit: None,
        mother_first: false,
        written: None,
    };
    about.written = asides.iter().filter(|t| !plant_like(t)).find_map(|t| written(t));
    out.sheets.push(about);
    let repeated = repeated_parts(sheet, &usual);
    let mut section = Section::default();
    let mut seen = false;
    for line in &sheet.lines {
        let text = unnumbered(line.cells[0].text.trim()).1.to_owned();
        let why = match kind(&text, seen, &usual) {
            LineKind::Empty => "an empty row",
            LineKind::Heading => {
                section = Section::of(&text, &out.sheets[index]);
                "a heading, not a plant"
            }
            LineKind::Remark => "a remark, not a plant",
            LineKind::Label => {
                seen = true;
                let input = label(index, line, &usual, &section, &repeated, options);
                out.inputs.push(input);
                continue;
            }
        };
        out.skipped.push(Skipped { row: line.row, sheet: None, why: why.to_owned(), text });
    }
}

enum LineKind {
    Empty,
    Heading,
    Remark,
    Label,
}

fn kind(text: &str, seen: bool, usual: &str) -> LineKind {
    if text.is_empty() || text.chars().all(|c| !c.is_alphanumeric()) {
        return LineKind::Empty;
    }
    let framed = |open: &[char], close: &[char]| text.starts_with(open) && text.ends_with(close);
    let inner = text.trim_matches(|c: char| !c.is_alphanumeric());
    let letters: Vec<char> = inner.chars().filter(|c| c.is_alphabetic()).collect();
    let marked = framed(
        &['-', '=', '*', '~', '#', '_', '—', '–'],
        &['-', '=', '*', '~', '#', '_', '—', '–'],
    ) || framed(&['['], &[']'])
        || text.starts_with("# ")
        || text.starts_with("## ")
        || (text.ends_with(':') && text.split_whitespace().count() <= 5);
    if marked && !plant_like(inner) {
        return LineKind::Heading;
    }
    if plant_like(text) {
        return LineKind::Label;
    }
    let parts = split(text, usual).0.len();
    let shouting = letters.len() > 3 && letters.iter().all(|c| c.is_uppercase());
    if parts == 1 && shouting {
        return LineKind::Heading;
    }
    if !seen && written(&fold(text)).is_some() && parts < 4 {
        return LineKind::Remark;
    }
    if !seen && (text.contains('=') || text.split_whitespace().count() > 8) {
        return LineKind::Remark;
    }
    if parts == 1 {
        let count = text.split_whitespace().count();
        return if count > 8 || (!seen && count > 3) {
            LineKind::Remark
        } else if count <= 4
            && crate::flora::FLORA.genus(fold(text).split(' ').next().unwrap_or_default()).is_none()
        {
            LineKind::Heading
        } else {
            LineKind::Label
        };
    }
    LineKind::Label
}

fn usual_separator(sheet: &Sheet) -> String {
    let mut counts: HashMap<&str, usize> = HashMap::new();
    for line in &sheet.lines {
        let text = &line.cells[0].text;
        if let Some(sep) = SPACED
            .iter()
            .find(|s| text.contains(&format!(" {s} ")))
            .or_else(|| TIGHT.iter().find(|s| text.contains(**s)))
        {
            *counts.entry(sep).or_default() += 1;
        }
    }
    let best = counts.iter().max_by_key(|(s, n)| (**n, std::cmp::Reverse(**s)));
    best.map_or_else(|| "-".to_owned(), |(s, _)| (*s).to_owned())
}

/// Cuts a line at its separator; also says which one it was.
fn split(text: &str, usual: &str) -> (Vec<String>, String) {
    let spaced =
        |sep: &str| text.split_whitespace().any(|t| t == sep) && text.contains(&format!(" {sep} "));
    let usual_spaced = SPACED.contains(&usual) && spaced(usual);
    let tight_usual = !SPACED.contains(&usual) && text.contains(usual);
    let sep = if usual_spaced || tight_usual {
        usual.to_owned()
    } else if let Some(sep) =
        SPACED.iter().find(|s| spaced(s) && !(**s == "/" && text.contains(';')))
    {
        (*sep).to_owned()
    } else {
        TIGHT
            .iter()
            .find(|s| text.contains(**s))
            .map_or_else(|| usual.to_owned(), |s| (*s).to_owned())
    };
    let is_spaced = SPACED.contains(&sep.as_str()) && spaced(&sep);
    let parts: Vec<String> = if is_spaced {
        at_tokens(text, &sep)
    } else {
        text.split(sep.as_str()).map(str::trim).map(str::to_owned).collect()
    };
    let parts = in_brackets(parts, &sep, is_spaced);
    let parts =
        if sep == "  " { parts.into_iter().filter(|p| !p.is_empty()).collect() } else { parts };
    (parts, sep)
}

/// A sign inside brackets cuts nothing.
fn in_brackets(parts: Vec<String>, sep: &str, spaced: bool) -> Vec<String> {
    let open = |s: &str| s.matches('(').count() > s.matches(')').count();
    let sep = if spaced { format!(" {sep} ") } else { sep.trim_end().to_owned() + " " };
    let mut out: Vec<String> = Vec::new();
    for part in parts {
        match out.last_mut().filter(|last| open(last) && part.contains(')')) {
            Some(last) => *last = format!("{last}{sep}{part}"),
            None => out.push(part),
        }
    }
    out
}

fn at_tokens(text: &str, sep: &str) -> Vec<String> {
    let mut parts = vec![Vec::new()];
    for token in text.split_whitespace() {
        if token == sep {
            parts.push(Vec::new());
        } else if let Some(last) = parts.last_mut() {
            last.push(token);
        }
    }
    parts.into_iter().map(|p: Vec<&str>| p.join(" ")).collect()
}

/// Parts that stand on several lines are more likely keepers than remarks.
fn repeated_parts(sheet: &Sheet, usual: &str) -> HashMap<String, usize> {
    let mut counts = HashMap::new();
    for line in &sheet.lines {
        for part in split(line.cells[0].text.trim(), usual).0.iter().skip(1) {
            *counts.entry(fold(part)).or_default() += 1;
        }
    }
    counts
}

fn label(
    index: usize,
    line: &Line,
    usual: &str,
    section: &Section,
    repeated: &HashMap<String, usize>,
    options: &Options,
) -> Input {
    let whole = line.cells[0].text.trim().to_owned();
    let (number, text) = unnumbered(&whole);
    let (parts, sep) = split(text, usual);
    let mut input = Input::new(index, line.row, vec![whole.clone()]);
    input.tag = number.unwrap_or_default().to_owned();
    if sep != usual && parts.len() > 1 {
        input.codes.push("separator_varies");
    }
    let mut parts = parts.into_iter();
    input.name = parts.next().unwrap_or_default();
    let mut parts: Vec<String> = parts.collect();
    parts.splice(0..0, behind_name(&mut input.name, parts.is_empty()));
    let last_year = options.read_on.map_or(2049, |d| d.year() + 1);
    let ctx = date::Context {
        order: date::Order::default(),
        lang: crate::Language::En,
        written: None,
        last_year,
    };
    for part in parts {
        let part = squeeze(&part);
        if part.is_empty() {
            input.codes.push("empty_part");
            continue;
        }
        place_part(&part, &mut input, repeated, &ctx);
    }
    input.place = section.place.clone().unwrap_or_default();
    input.genus.clone_from(&section.genus);
    input.heading_fate = section.fate;
    input
}

pub(crate) fn place_part(
    part: &str,
    input: &mut Input,
    repeated: &HashMap<String, usize>,
    ctx: &date::Context,
) {
    let t = fold(part);
    let named =
        ["date ", "datum ", "fecha ", "from ", "von ", "van ", "de ", "fran ", "ex ", "pot "];
    if let Some(rest) = t
        .strip_prefix("date ")
        .or_else(|| t.strip_prefix("datum "))
        .or_else(|| t.strip_prefix("fecha "))
        && input.date.is_none()
    {
        input.date = Some(Cell::text(rest));
        return;
    }
    if let Some(number) = lone_number(&t).filter(|_| input.tag.is_empty()) {
        number.clone_into(&mut input.tag);
        return;
    }
    if words::is(&t, "unknown") {
        if input.source.is_empty() {
            input.source = part.to_owned();
        } else if input.date.is_none() {
            input.date = Some(Cell::text(part));
        }
        return;
    }
    let read = date::read(part, ctx);
    let dated = (read.edtf.is_some()
        || read.ambiguous
        || read
            .codes
            .iter()
            .any(|c| matches!(*c, "date_impossible" | "date_no_year" | "date_relative")))
        && !read.embedded;
    let amount_like = amount::price_in(&t).amount.is_some();
    let dashed = amount::dashed(&t);
    if dated && input.date.is_none() && !amount_like && !dashed {
        input.date = Some(Cell::text(part));
        // "eigene Aussaat 3.4.22" tells the keeper as well.
        if input.source.is_empty() && find(&t, "own").is_some_and(|r| r.len() >= 6) {
            "own".clone_into(&mut input.source);
        }
    } else if dashed && input.price.is_none() {
        input.price = Some(Cell::text(part));
    } else if amount_like && input.price.is_none() {
        input.price = Some(Cell::text(part));
        if t.split(' ').count() > 1 {
            input.notes.push(part.to_owned());
        }
        keeper_before_price(part, input, repeated);
    } else if matches!(amount::pot(part), amount::PotCell::Size(_, Some(_))) && input.pot.is_empty()
    {
        input.pot = part.to_owned();
    } else if words::is(&t, "own") && input.source.is_empty() {
        input.source = part.to_owned();
    } else if received_whole(&t) && input.received.is_empty() {
        input.received = part.to_owned();
    } else if let Some((kind, source)) = kind_from(part, &t).filter(|_| input.source.is_empty()) {
        if input.received.is_empty() {
            input.received = kind;
        }
        input.source = source;
    } else if (FROM.is_match(&t) || named.iter().any(|p| t.starts_with(p)))
        && input.source.is_empty()
        && !has(&t, "mine")
    {
        input.source = part.to_owned();
    } else if source_like(part, &t, repeated) && input.source.is_empty() {
        let (source, rest) = part.split_once(',').unwrap_or((part, ""));
        input.source = source.trim().to_owned();
        if !rest.trim().is_empty() {
            input.notes.push(rest.trim().to_owned());
        }
    } else {
        // "own cross 2021": a date with something else said.
        let other = has(&t, "dead") || has(&t, "given") || crate::read::later(&t);
        if input.date.is_none()
            && !other
            && let Some((rest, date)) = crate::scatter::apart(part, ctx)
            && received_whole(&fold(&rest)) | has(&fold(&rest), "own") | FROM.is_match(&fold(&rest))
        {
            input.date = Some(Cell::text(&date));
            place_part(&rest, input, repeated, ctx);
            return;
        }
        // "semilla propia", "eigene Aussaat 3.4.22"
        let own = t.split(' ').any(|w| w.len() >= 4 && words::is(w, "own"))
            && t.split(' ').count() <= 3
            || find(&t, "own").is_some_and(|r| r.len() >= 9);
        if input.source.is_empty() && own {
            "own".clone_into(&mut input.source);
        }
        input.notes.push(part.to_owned());
    }
}

/// "Bob's Plants $35 rooted cutting": capital words before the price.
fn keeper_before_price(part: &str, input: &mut Input, repeated: &HashMap<String, usize>) {
    let head: Vec<&str> = part
        .split(' ')
        .take_while(|w| w.starts_with(char::is_uppercase) && amount::currency(&fold(w)).is_none())
        .collect();
    let text = head.join(" ");
    if input.source.is_empty() && !text.is_empty() && source_like(&text, &fold(&text), repeated) {
        input.source = text;
    }
}

/// "3) Kohleria": the number of the line, and the rest.
fn unnumbered(text: &str) -> (Option<&str>, &str) {
    let digits = text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let rest = &text[digits..];
    let marked = (1..=4).contains(&digits) && rest.starts_with([')', '.']);
    match rest.get(1..).filter(|r| marked && r.starts_with(' ')) {
        Some(rest) => (Some(&text[..digits]), rest.trim_start()),
        None => (None, text),
    }
}

/// Keeper and date behind a name without any sign between ("Begonia rex (von Ute, Mai 2021)",
/// "Begonia rex von Ute 5/2021").
fn behind_name(name: &mut String, alone: bool) -> Vec<String> {
    let ctx = crate::scatter::plain();
    let mut rest = String::new();
    if let (Some(open), Some(close)) = (name.find('('), name.rfind(')'))
        && open > 0
        && open < close
    {
        let inside = name[open + 1..close].trim().to_owned();
        let told = FROM.is_match(&fold(&inside)) || crate::scatter::apart(&inside, &ctx).is_some();
        let dated = !date::read(&inside, &ctx).embedded && date::read(&inside, &ctx).edtf.is_some();
        if told || dated {
            rest = format!("{}, {}", inside, name[close + 1..].trim());
            name.truncate(open);
        }
    }
    if rest.is_empty() {
        rest = behind_quotes(name);
    }
    if rest.is_empty() {
        let folded = fold(name);
        let joints: &[&str] = if alone {
            &[" from ", " von ", " van ", " fran ", " chez ", " ex "]
        } else {
            &[" from ", " von ", " fran ", " ex "]
        };
        // "Blume ex Hook." are authors.
        let author = |at: usize| {
            let chars = folded[..at].chars().count();
            let before: String = name.chars().take(chars).collect();
            before.rsplit(' ').next().is_some_and(|w| w.starts_with(char::is_uppercase))
        };
        let joint = joints
            .iter()
            .filter_map(|j| folded.find(j).filter(|at| *j != " ex " || !author(*at)))
            .min();
        if let Some(at) = joint {
            let chars = folded[..at].chars().count();
            rest = name.chars().skip(chars + 1).collect();
            *name = name.chars().take(chars).collect();
        }
    }
    *name = name.trim().to_owned();
    let mut out = Vec::new();
    for part in crate::scatter::parts(&rest) {
        // "von Ute 05/2021 Blatt": the kind may stand last.
        let (part, kind) = match part.rsplit_once(' ') {
            Some((head, last)) if received_whole(&fold(last)) => (head.to_owned(), Some(last)),
            _ => (part.clone(), None),
        };
        match crate::scatter::apart(&part, &ctx) {
            Some((source, date)) => {
                let tokens: Vec<&str> = source.split(' ').collect();
                let kind = (1..tokens.len().min(4))
                    .rev()
                    .find(|n| received_whole(&fold(&tokens[tokens.len() - n..].join(" "))));
                let (head, tail) = tokens.split_at(tokens.len() - kind.unwrap_or(0));
                out.extend([head.join(" "), date]);
                if !tail.is_empty() {
                    out.push(tail.join(" "));
                }
            }
            None => out.push(part.clone()),
        }
        out.extend(kind.map(str::to_owned));
    }
    out
}

/// "'Tjuv' fick av Lisa": what follows a quoted cultivar, if it tells keeper or kind.
fn behind_quotes(name: &mut String) -> String {
    let folded = fold(name);
    let Some(close) = folded.rfind(['\'', '"']).filter(|i| *i + 2 < folded.len()) else {
        return String::new();
    };
    let tail = folded[close + 1..].trim_start();
    if !folded[close + 1..].starts_with(' ') {
        return String::new();
    }
    let kind = tail.split(' ').next().is_some_and(received_whole);
    let from = FROM.is_match(tail) || kind_from(tail, tail).is_some();
    if !(from || kind && tail.contains(' ')) || find(tail, "mine").is_some() {
        return String::new();
    }
    let chars = folded[..=close].chars().count();
    let rest = name.chars().skip(chars).collect::<String>().trim().to_owned();
    *name = name.chars().take(chars).collect();
    rest
}

/// "Nr. 3" by itself is the owner's number.
fn lone_number(t: &str) -> Option<&str> {
    let digits = ["nr.", "nr", "no.", "no", "n°", "nº", "#", "num.", "nummer"]
        .iter()
        .find_map(|p| t.strip_prefix(p))?
        .trim();
    (!digits.is_empty() && digits.chars().all(|c| c.is_ascii_digit())).then_some(digits)
}

pub(crate) fn received_whole(t: &str) -> bool {
    ["rooted_cutting", "cutting", "seedling", "seed", "division", "plant"]
        .iter()
        .any(|k| words::is(t, k))
}

/// Words between what was got and who it was got from.
const JOINTS: [&str; 19] = [
    " from ",
    " von ",
    " vom ",
    " van ",
    " de ",
    " du ",
    " des ",
    " fran ",
    " av ",
    " ex ",
    " chez ",
    " par ",
    " offerts par ",
    " offertes par ",
    " offert par ",
    " offerte par ",
    " donne par ",
    " donnee par ",
    " gift of ",
];

/// "seed from Bram": kind and keeper in one part.
pub(crate) fn kind_from(part: &str, t: &str) -> Option<(String, String)> {
    for joint in JOINTS {
        let Some(at) = t.find(joint) else { continue };
        if received_whole(&t[..at]) && !has(t, "mine") {
            let at = t[..at + joint.len()].chars().count();
            let source: String = part.chars().skip(at).collect();
            let kind: String = part.chars().take(at - joint.len()).collect();
            return Some((kind, source));
        }
    }
    None
}

fn source_like(part: &str, t: &str, repeated: &HashMap<String, usize>) -> bool {
    let head = part.split(',').next().unwrap_or(part);
    let count = head.split_whitespace().count();
    let giver = has(&fold(head), "giver");
    if count > 4
        || !giver
            && received::cell(head).is_some()
            && part.contains(' ')
            && !head.starts_with(char::is_uppercase)
    {
        return false;
    }
    let told =
        ["mother", "father", "bees", "dead", "given", "mine", "unknown", "selfed", "nopot", "free"]
            .iter()
            .any(|m| find(&fold(head), m).is_some());
    let again = repeated.get(t).copied().unwrap_or(0) > 1;
    !told && (head.starts_with(char::is_uppercase) || again || giver)
}
