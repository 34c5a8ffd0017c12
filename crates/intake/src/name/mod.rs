//! The name cell of a list: genus, epithets, cultivar, formula, and what else stands there.

mod clean;
mod genus;
mod one;
mod quote;
mod registry;

pub(crate) use registry::Registry;

use crate::{
    Language,
    date::or_word,
    fold::{fold, squeeze},
    words::{self, has},
};

/// What a name cell was understood as.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Name {
    pub genus: Option<String>,
    /// Hybrid sign before the species epithet.
    pub hybrid: bool,
    pub species: Option<String>,
    /// Rank and epithet below the species.
    pub infra: Option<String>,
    pub cultivar: Option<String>,
    pub formula: Option<Box<(Name, Name)>>,
    pub codes: Vec<&'static str>,
    /// The owner, not we, must say.
    pub ask: bool,
    /// What is to be asked and what can be chosen.
    pub choices: Vec<String>,
    pub tag: Option<String>,
    pub dead: bool,
    /// A seedling without a name of its own.
    pub seedling: bool,
    pub ditto: bool,
    /// Genus written in full in the cell.
    pub full_genus: bool,
    /// Words of the cell that are no part of the name.
    pub words: Vec<String>,
    pub count: Option<u32>,
}

impl Name {
    pub(crate) fn code(&mut self, code: &'static str) {
        if !self.codes.contains(&code) {
            self.codes.push(code);
        }
    }

    /// Name in full, as plain text.
    pub(crate) fn text(&self) -> Option<String> {
        if let Some(pair) = &self.formula {
            return Some(format!("{} × {}", pair.0.text()?, pair.1.text()?));
        }
        let genus = self.genus.as_ref()?;
        if self.ask && self.cultivar.is_none() {
            return Some(genus.clone());
        }
        let mut text = genus.clone();
        if let Some(species) = &self.species {
            text.push_str(if self.hybrid { " × " } else { " " });
            text.push_str(species);
        }
        if let Some(infra) = &self.infra {
            text.push(' ');
            text.push_str(infra);
        }
        if let Some(cultivar) = &self.cultivar {
            text.push_str(&format!(" '{cultivar}'"));
        }
        Some(text)
    }

    fn bare_genus(&self) -> bool {
        self.species.is_none() && self.cultivar.is_none() && self.formula.is_none()
    }
}

/// What the rest of the file tells a name cell.
pub(crate) struct Context<'a> {
    pub registry: &'a Registry,
    pub lang: Language,
    /// Genus of the heading the row stands under, or of the other parent.
    pub genus: Option<String>,
    /// Names stand in parent columns or formulas, where a bare epithet is usual.
    pub parent: bool,
}

/// Reads a name cell.
pub(crate) fn read(raw: &str, ctx: &Context<'_>) -> Name {
    let mut cell = clean::clean(raw, ctx);
    let text = std::mem::take(&mut cell.text);
    let mut name = body(&text, ctx, &mut cell);
    finish(&mut name, cell);
    name
}

fn finish(name: &mut Name, cell: clean::Cell) {
    name.tag = name.tag.take().or(cell.tag);
    name.dead |= cell.dead;
    name.seedling |= cell.seedling;
    name.ditto |= cell.ditto;
    name.count = name.count.or(cell.count);
    name.words.extend(cell.words);
    for code in cell.codes {
        name.code(code);
    }
    if name.genus.is_none() && name.codes.contains(&"not_a_name") {
        name.codes.retain(|c| *c != "words_in_name");
    }
    let hybrid = name.words.iter().any(|w| fold(w).starts_with("hyb"));
    if cell.unidentified && hybrid && name.cultivar.is_none() {
        // A hybrid of a species is not that species.
        name.words.extend(name.species.take());
        name.infra = None;
    }
    if cell.unidentified && !name.ask {
        name.code("unidentified");
        name.code("words_in_name");
        name.ask = cell.several_kinds;
    }
    if cell.several_kinds {
        name.code("several_kinds_in_one_row");
        name.ask = true;
    }
}

fn body(text: &str, ctx: &Context<'_>, cell: &mut clean::Cell) -> Name {
    if text.is_empty() {
        let mut name = Name::default();
        if cell.seedling || cell.ditto {
            return name;
        }
        if cell.unsure {
            name.code("owner_unsure");
            name.ask = true;
        }
        return name;
    }
    if let Some(name) = unsure(text, ctx, cell) {
        return name;
    }
    if let Some((left, sign, right)) = quote::split_formula(text)
        && let Some(name) = formula(left, sign, right, ctx)
    {
        return name;
    }
    one::read(text, ctx, cell)
}

/// Alternatives, "cf." and question marks: only the genus is safe to write.
fn unsure(text: &str, ctx: &Context<'_>, cell: &clean::Cell) -> Option<Name> {
    let outside = quote::outside(&fold(text));
    let tokens: Vec<&str> = outside.split_whitespace().collect();
    let slash = outside.match_indices('/').any(|(at, _)| {
        let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
        !(digit(outside[..at].chars().last()) && digit(outside[at + 1..].chars().next()))
    });
    let alternatives = tokens.iter().any(|t| or_word(t, ctx.lang)) || slash;
    let doubted = has(&outside, "vague") || outside.contains('?') || cell.unsure;
    if !alternatives && !doubted {
        return None;
    }
    // "sp. ?" says that it has no name, not that one is in doubt.
    if cell.unidentified && !alternatives && !outside.contains('?') {
        return None;
    }
    let mut name = Name { ask: true, ..Name::default() };
    let first = text.split_whitespace().next().unwrap_or_default();
    if let Some(found) = genus::resolve(first, text, ctx) {
        name.full_genus = found.full;
        name.genus = found.genus;
        for code in found.codes {
            name.code(code);
        }
    }
    // "gloriosa" is an epithet; only a capital makes it the genus.
    let others = text.split_whitespace().skip(1).filter_map(|t| {
        let bare = t.trim_matches(|c: char| !c.is_alphanumeric());
        let capital = bare.starts_with(char::is_uppercase);
        if capital { crate::flora::FLORA.genus(&fold(bare)) } else { None }
    });
    if others.into_iter().any(|g| name.genus.as_deref() != Some(g)) {
        name.genus = None;
    }
    name.code("owner_unsure");
    name.code("words_in_name");
    name.choices = alternatives_of(text, &name, ctx);
    Some(name)
}

fn alternatives_of(text: &str, name: &Name, ctx: &Context<'_>) -> Vec<String> {
    let Some(genus) = &name.genus else { return Vec::new() };
    let mut rest: Vec<&str> = text.split_whitespace().skip(1).collect();
    rest.retain(|t| !words::is(&fold(t), "vague"));
    let joined = rest.join(" ").replace('?', "");
    let mut out = Vec::new();
    let mut current: Vec<&str> = Vec::new();
    let tokens: Vec<&str> = joined.split_inclusive(['/', ' ']).collect();
    for token in tokens {
        let bare = token.trim_matches(['/', ' ', ',']);
        let joint = or_word(&fold(bare), ctx.lang);
        if !joint && !bare.is_empty() {
            current.push(bare);
        }
        if (joint || token.contains('/')) && !current.is_empty() {
            out.push(format!("{genus} {}", current.join(" ")));
            current.clear();
        }
    }
    if !current.is_empty() {
        out.push(format!("{genus} {}", current.join(" ")));
    }
    out.truncate(4);
    out
}

fn formula(left: &str, sign: char, right: &str, ctx: &Context<'_>) -> Option<Name> {
    let mut left_cell = clean::Cell::default();
    let first = left.split_whitespace().next()?;
    let lone = left.split_whitespace().count() == 1;
    // "Begonia × erythrophylla": a hybrid sign, not a formula.
    if lone && genus::resolve(first, left, ctx).is_some_and(|g| g.genus.is_some() || g.unclear) {
        return None;
    }
    if words::is(&fold(right).replace('.', ""), "selfed") {
        let mut name = one::read(left, ctx, &mut left_cell);
        name.seedling = true;
        name.words.push(right.to_owned());
        return Some(name);
    }
    let inner =
        Context { registry: ctx.registry, lang: ctx.lang, genus: ctx.genus.clone(), parent: true };
    let mut a = one::read(left, &inner, &mut left_cell);
    let with_genus = Context {
        registry: ctx.registry,
        lang: ctx.lang,
        genus: a.genus.clone().or(ctx.genus.clone()),
        parent: true,
    };
    let mut b = if let Some((x, s, y)) = quote::split_formula(right) {
        formula(x, s, y, &with_genus)?
    } else {
        one::read(right, &with_genus, &mut left_cell)
    };
    if a.genus.is_none() && b.genus.is_some() && b.full_genus {
        let again = Context {
            registry: ctx.registry,
            lang: ctx.lang,
            genus: b.genus.clone(),
            parent: true,
        };
        a = one::read(left, &again, &mut left_cell);
    }
    if a.genus.is_none() && b.genus.is_none() {
        return None;
    }
    let mut name = Name { seedling: true, ..Name::default() };
    name.genus = a.genus.clone().or(b.genus.clone());
    name.full_genus = a.full_genus;
    name.ask = a.ask || b.ask;
    for code in a.codes.drain(..).chain(b.codes.drain(..)) {
        // A genus missing on the right side is custom, not a gap.
        name.code(code);
    }
    if !ctx.parent {
        if a.full_genus {
            name.codes.retain(|c| *c != "genus_missing");
        } else {
            name.codes.retain(|c| *c != "genus_missing" || a.genus_missing(left));
            name.code("parent_genus_filled");
        }
    }
    if sign != '×' {
        name.code("hybrid_sign_fixed");
    }
    name.code("unnamed_seedling");
    name.words.append(&mut a.words);
    name.words.append(&mut b.words);
    name.formula = Some(Box::new((a, b)));
    Some(name)
}

impl Name {
    /// Whether the left side of a formula was typed without any genus.
    fn genus_missing(&self, typed: &str) -> bool {
        let first = fold(typed.split_whitespace().next().unwrap_or_default());
        let genus = self.genus.as_deref().map(fold).unwrap_or_default();
        let stem = first.trim_end_matches('.');
        !(stem.is_empty() || genus.starts_with(stem) && stem.len() < 6)
    }
}

/// The two sides of "A x B".
pub(crate) fn sides(text: &str) -> Option<(&str, &str)> {
    let found = quote::split_formula(text).map(|(a, _, b)| (a, b));
    // "? x rexii" starts with the sign for the unknown, which is no name.
    found.filter(|(a, b)| !a.is_empty() && !b.is_empty())
}

/// Reads a parent cell or mention; `None` if nothing is there.
pub(crate) fn read_parent(raw: &str, ctx: &Context<'_>) -> Option<Name> {
    let text = squeeze(raw);
    if text.is_empty() {
        return None;
    }
    Some(read(&text, ctx))
}
