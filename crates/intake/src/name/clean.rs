//! What stands in a name cell besides the name.

use std::sync::LazyLock;

use regex::Regex;

use super::{Context, quote};
use crate::{
    date::or_word,
    fold::{fold, squeeze, under},
    words::{self, find, has, pattern},
};

#[derive(Debug, Default)]
pub(crate) struct Cell {
    pub text: String,
    pub codes: Vec<&'static str>,
    pub tag: Option<String>,
    pub dead: bool,
    pub seedling: bool,
    pub ditto: bool,
    pub unidentified: bool,
    pub several_kinds: bool,
    pub unsure: bool,
    pub words: Vec<String>,
    pub count: Option<u32>,
}

impl Cell {
    fn aside(&mut self, words: &str) {
        let words = words.trim().trim_matches([',', ';', '-']).trim();
        if !words.is_empty() {
            self.words.push(words.to_owned());
        }
    }

    fn code(&mut self, code: &'static str) {
        if !self.codes.contains(&code) {
            self.codes.push(code);
        }
    }
}

static BRACKETS: LazyLock<Regex> = LazyLock::new(|| pattern(r"[(\[]([^()\[\]]*)[)\]]"));
static TAG: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:^|[ ,])(seedlings?|sdlg?s?|samlinge?|saemling|zaailing|plantule|plantula|froplanta|semis|planton|fro)?[ ,]*(?:(?:no|nr|num|nummer|numero|number|n)[.°º]?|n[°º]|№|#)\s?([0-9]+[a-z]?)(?:$|[ ,.;)])",
    )
});
static SEEDLING_TAG: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:^|[ ,])(seedlings?|sdlg?s?|samling|saemling|zaailing|plantule|plantula|froplanta|semis|ongedoopt|ungetauft|odopt|unnamed)\s?#?([0-9]+[a-z]?)(?:$|[ ,.;)])",
    )
});
/// "A x B 3": the third seedling of a cross.
static CROSS_NUMBER: LazyLock<Regex> = LazyLock::new(|| {
    pattern(r#"(?: x |×).*\p{L}['"]?(?: |, ?|-)([0-9]{1,3}(?:[-/][0-9]{1,3})?[a-z]?)$"#)
});
/// A comma typed for a low quote: ,Rostiger Nagel'.
static LOW_COMMA: LazyLock<Regex> =
    LazyLock::new(|| pattern(r"^([^,'‘’]*[ (]),{1,2}(\p{L}[^,'‘’´`]{2,40}['‘’´`])"));
/// "Strep.rexii": the blank after a shortened genus left out.
static NO_BLANK: LazyLock<Regex> =
    LazyLock::new(|| pattern(r#"^(\p{L}{1,8})\.(\p{L}{3}|['"‘’“„«‹´`×])"#));
/// "A x B F2": the generation is no part of the name.
static GENERATION: LazyLock<Regex> = LazyLock::new(|| pattern(r"^(.+) (F[1-9])$"));
/// "Begonia-Hybride", "Achimenes-Mix".
static GLUED: LazyLock<Regex> = LazyLock::new(|| {
    pattern(r"^(\p{L}{4,})-((?i:mix|mischung|hybr\p{L}*|sämling\p{L}*|saemling\p{L}*|seedlings?))")
});
static KINDS: LazyLock<Regex> = LazyLock::new(|| pattern(r"(?:^| )(\d{1,2}) (\p{L}+)"));
static MARK: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:^|[ ,(-])(†|\+\+|r\.?i\.?p\.?|dead|died|tot|dood|dod|morte?|muert[ao])(?:$|[ ,)!-])",
    )
});

pub(super) fn clean(raw: &str, ctx: &Context<'_>) -> Cell {
    let mut cell = Cell::default();
    let text = squeeze(raw);
    if raw.trim() != raw || squeeze(raw) != raw.replace(['\n', '\r', '\t'], " ") {
        cell.code("extra_spaces");
    }
    let text = text.trim_end_matches([';', ',', ':']).to_owned();
    let text = LOW_COMMA.replace(&text, "$1‚$2").into_owned();
    let text = NO_BLANK.replace(&text, "$1. $2").into_owned();
    let text = GLUED.replace(&text, "$1 $2").into_owned();
    let text = equals(&text, &mut cell);
    let text = ditto(&text, &mut cell);
    let text = crossed(&text, &mut cell);
    let text = death(&text, &mut cell);
    let text = brackets(&text, &mut cell, ctx);
    let text = generation(&text, &mut cell);
    let text = tag(&text, &mut cell);
    let text = comma(&text, &mut cell, ctx);
    let text = kinds(&text, &mut cell);
    let text = seedling(&text, &mut cell);
    cell.text = unidentified(&text, &mut cell);
    cell
}

/// "Begonia seedling", "Sämling von Tin Drum": no name of its own.
fn seedling(text: &str, cell: &mut Cell) -> String {
    let folded = fold(text);
    // "Clerk of Works self", "Tin Drum OP"
    for kind in ["selfed", "bees"] {
        let last = words::find_all(&folded, kind).into_iter().next_back();
        if let Some(range) = last.filter(|r| r.start > 0 && r.end == folded.len())
            && !quote::quoted(text).is_some_and(|q| q.range.contains(&range.start))
            && quote::split_formula(text).is_none()
        {
            cell.seedling = true;
            let typed = under(text, &folded, range.clone()).to_owned();
            cell.aside(&typed);
            return under(text, &folded, 0..range.start)
                .trim_end_matches([',', '-', ' '])
                .to_owned();
        }
    }
    let found = words::find_all(&folded, "seedling")
        .into_iter()
        .find(|r| r.start > 0 && r.end == folded.len());
    let Some(range) = found else { return text.to_owned() };
    if quote::quoted(text).is_some_and(|q| q.range.contains(&range.start)) {
        return text.to_owned();
    }
    cell.seedling = true;
    under(text, &folded, 0..range.start).trim_end_matches([',', '-', ' ']).to_owned()
}

fn generation(text: &str, cell: &mut Cell) -> String {
    let Some(c) = GENERATION.captures(text) else { return text.to_owned() };
    let (Some(name), Some(mark)) = (c.get(1), c.get(2)) else { return text.to_owned() };
    cell.code("words_in_name");
    cell.aside(mark.as_str());
    name.as_str().to_owned()
}

/// "'Blauer Eimer' = rex x masoniana": the parents stand behind the sign.
fn equals(text: &str, cell: &mut Cell) -> String {
    let Some((name, rest)) = text.split_once(" = ").filter(|(n, _)| !n.trim().is_empty()) else {
        return text.to_owned();
    };
    if quote::split_formula(rest).is_none() {
        cell.code("words_in_name");
    }
    cell.aside(rest);
    name.trim().to_owned()
}

/// "Cross A x B", "aus A x B": the word before a formula is no part of it.
fn crossed(text: &str, cell: &mut Cell) -> String {
    let folded = fold(text);
    let at_start = |meaning: &str| find(&folded, meaning).filter(|r| r.start == 0);
    let Some(range) = at_start("crossed").or_else(|| at_start("seedling")) else {
        return text.to_owned();
    };
    let rest = under(text, &folded, range.end..folded.len()).trim_start_matches([':', ' ', '.']);
    if quote::split_formula(rest).is_none() {
        return text.to_owned();
    }
    cell.code("words_in_name");
    cell.seedling = true;
    rest.to_owned()
}

/// Whether words say that the label or the name was lost.
fn label_lost(folded: &str) -> bool {
    let has_stem = |stems: &[&str]| {
        folded.split(|c: char| !c.is_alphabetic()).any(|w| stems.iter().any(|s| w.starts_with(s)))
    };
    has_stem(&[
        "label",
        "tag",
        "etiquet",
        "etikett",
        "etiket",
        "schild",
        "kaartje",
        "skylt",
        "lapp",
        "nombre",
        "nom",
        "name",
        "naam",
        "namn",
        "steck",
        "stickertje",
    ]) && has_stem(&[
        "lost",
        "gone",
        "missing",
        "perd",
        "weg",
        "fehl",
        "kwijt",
        "bort",
        "tappa",
        "olvid",
        "effac",
        "verblass",
        "faded",
        "verlor",
        "verge",
        "oubli",
        "illis",
        "forgot",
        "glom",
        "fell",
        "unles",
        "onlees",
        "olas",
        "vervaagd",
        "eaten",
        "washed",
        "bleach",
        "unread",
        "chewed",
        "gefress",
        "mange",
        "comid",
        "opgegeten",
        "blekt",
        "borr",
    ])
}

/// "dito Nr. 5", or a lone ditto mark.
fn ditto(text: &str, cell: &mut Cell) -> String {
    let folded = fold(text);
    let first = folded.split(' ').next().unwrap_or_default();
    let mark = matches!(first, "\"" | "''" | "\"\"" | "-\"-" | "'")
        || words::is(first.trim_end_matches([',', '.']), "ditto");
    if !mark {
        return text.to_owned();
    }
    cell.ditto = true;
    cell.code("ditto");
    text.split_once(' ').map_or_else(String::new, |(_, rest)| rest.to_owned())
}

fn death(text: &str, cell: &mut Cell) -> String {
    let folded = fold(text);
    let Some(range) = MARK.captures(&folded).and_then(|c| c.get(1)).map(|m| m.range()) else {
        return text.to_owned();
    };
    if quote::quoted(text).is_some_and(|q| q.range.contains(&range.start)) {
        return text.to_owned();
    }
    cell.dead = true;
    cell.code("words_in_name");
    let typed = under(text, &folded, range).to_owned();
    cell.aside(&typed);
    squeeze(&text.replacen(&typed, " ", 1).replace("()", " "))
        .trim_end_matches([',', '-', ' '])
        .to_owned()
}

fn brackets(text: &str, cell: &mut Cell, ctx: &Context<'_>) -> String {
    let mut text = text.to_owned();
    for _ in 0..4 {
        let Some(c) = BRACKETS.captures(&text) else { break };
        let (Some(whole), Some(inside)) = (c.get(0), c.get(1)) else { break };
        let content = inside.as_str().to_owned();
        let after = text[whole.end()..].trim_start().to_owned();
        let before = text[..whole.start()].to_owned();
        let folded = fold(&content);
        if author_in_brackets(&content, &before, &after) {
            // Left for the author reader, which knows what comes before it.
            text = format!("{before}\u{1}{content}\u{2}{}", &text[whole.end()..]);
            continue;
        }
        if latin_in_brackets(&before, &folded) {
            // "Hjärtranka (Ceropegia woodii)": the Latin name stands behind.
            cell.code("vernacular_name");
            cell.aside(&before);
            return squeeze(&format!("{content} {after}"));
        }
        let doubt = has(&folded, "vague")
            || folded.contains('?')
            || folded.split(' ').any(|w| or_word(w, ctx.lang));
        let parents = quote::split_formula(&content).is_some();
        if has(&folded, "unidentified") || label_lost(&folded) {
            cell.unidentified = true;
        } else if doubt {
            cell.unsure = true;
        }
        if !parents {
            cell.code("words_in_name");
        }
        cell.aside(&content);
        text = format!("{before} {after}");
    }
    squeeze(&text)
}

fn latin_in_brackets(before: &str, folded: &str) -> bool {
    let known = |t: &str| crate::flora::FLORA.genus(t).is_some();
    let first = fold(before.split_whitespace().next().unwrap_or_default());
    let mut words = folded.split(' ');
    !known(first.trim_end_matches('.'))
        && !first.ends_with('.')
        && !before.trim().is_empty()
        && words.next().is_some_and(known)
        && words.next().is_some()
}

fn author_in_brackets(content: &str, before: &str, after: &str) -> bool {
    let capital = content.starts_with(char::is_uppercase);
    let epithet = before.trim_end().rsplit(' ').next().unwrap_or_default();
    let after_species = before.trim().contains(' ')
        && epithet.chars().all(|c| c.is_lowercase() || c == '-')
        && !epithet.is_empty();
    let all_names = content.split([' ', '&', ',']).filter(|w| !w.is_empty()).all(|w| {
        w.starts_with(char::is_uppercase) || matches!(w, "ex" | "et" | "f." | "in" | "de" | "von")
    });
    capital && after_species && all_names && after.starts_with(char::is_uppercase)
}

fn tag(text: &str, cell: &mut Cell) -> String {
    let folded = fold(text);
    let Some(c) = TAG.captures(&folded).or_else(|| SEEDLING_TAG.captures(&folded)) else {
        let Some(number) = CROSS_NUMBER.captures(&folded).and_then(|c| c.get(1)) else {
            return text.to_owned();
        };
        cell.tag = Some(number.as_str().to_owned());
        let name = under(text, &folded, 0..number.start());
        return name.trim_end_matches([',', '-', ' ']).to_owned();
    };
    let (Some(whole), Some(number)) = (c.get(0), c.get(2)) else { return text.to_owned() };
    if quote::quoted(text).is_some_and(|q| q.range.contains(&whole.start())) {
        return text.to_owned();
    }
    cell.tag = Some(number.as_str().to_owned());
    cell.seedling |= c.get(1).is_some();
    let typed = under(text, &folded, whole.range()).to_owned();
    squeeze(&text.replacen(&typed, " ", 1)).trim_end_matches([',', '-', ' ']).to_owned()
}

/// "Begonia, naam kwijt": what follows a comma is said about the plant.
fn comma(text: &str, cell: &mut Cell, ctx: &Context<'_>) -> String {
    let inside = quote::quoted(text).map(|q| q.range);
    let at = text
        .char_indices()
        .find(|(i, c)| matches!(c, ',' | ';') && !inside.as_ref().is_some_and(|q| q.contains(i)))
        .map(|(i, _)| i);
    let Some(at) = at.filter(|i| *i > 0) else { return text.to_owned() };
    let rest = text[at + 1..].trim().to_owned();
    let folded = fold(&rest);
    if has(&folded, "unidentified") || label_lost(&folded) {
        cell.unidentified = true;
    }
    let first = folded.split(' ').next().unwrap_or_default();
    if folded.contains('?') || has(&folded, "vague") || or_word(first, ctx.lang) {
        cell.unsure = true;
    }
    cell.code("words_in_name");
    cell.aside(&rest);
    text[..at].trim().to_owned()
}

/// "3 Sorten", "two kinds": several plants of different kinds in one row.
fn kinds(text: &str, cell: &mut Cell) -> String {
    let folded = fold(text);
    let Some(c) = KINDS.captures(&folded) else { return text.to_owned() };
    let (Some(whole), Some(n), Some(word)) = (c.get(0), c.get(1), c.get(2)) else {
        return text.to_owned();
    };
    if quote::quoted(text).is_some_and(|q| q.range.contains(&whole.start())) {
        return text.to_owned();
    }
    let count = n.as_str().parse().ok();
    let plain =
        ["plant", "division", "cutting", "seedling"].iter().any(|m| words::is(word.as_str(), m));
    if !words::is(word.as_str(), "kinds") && !plain {
        return text.to_owned();
    }
    if words::is(word.as_str(), "kinds") {
        cell.several_kinds = true;
        cell.unidentified = true;
    }
    cell.count = count;
    cell.code("words_in_name");
    let typed = under(text, &folded, whole.range()).to_owned();
    cell.aside(&typed);
    squeeze(&text.replacen(&typed, " ", 1))
}

fn unidentified(text: &str, cell: &mut Cell) -> String {
    let folded = fold(text);
    let Some(range) = find(&folded, "unidentified") else { return text.to_owned() };
    if range.start == 0
        && let Some(rest) = text.get(range.end..)
        && crate::flora::FLORA.genus(fold(rest).trim()).is_some()
    {
        // "Unknown begonia"
        cell.unidentified = true;
        cell.aside(&text[..range.end]);
        return rest.trim().to_owned();
    }
    if quote::quoted(text).is_some_and(|q| q.range.contains(&range.start))
        || range.start == 0 && folded.len() > range.end
    {
        return text.to_owned();
    }
    let typed = under(text, &folded, range.start..folded.len()).to_owned();
    let rest =
        under(text, &folded, range.end..folded.len()).trim_start_matches('.').trim().to_owned();
    // "sp. 'Lucky Find'" has a name after all.
    if quote::quoted(&rest).is_some() {
        return squeeze(&format!("{} {rest}", under(text, &folded, 0..range.start)));
    }
    cell.unidentified = true;
    cell.aside(&typed);
    under(text, &folded, 0..range.start).trim().to_owned()
}
