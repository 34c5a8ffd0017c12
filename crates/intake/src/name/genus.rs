//! The genus: in full, shortened, in common language, misspelt or left out.

use super::{Context, quote};
use crate::{
    flora::FLORA,
    fold::{fold, key},
    words,
};

#[derive(Debug, Default, Clone)]
pub(super) struct Found {
    pub genus: Option<String>,
    pub codes: Vec<&'static str>,
    /// Written in full.
    pub full: bool,
    /// The short form fits several.
    pub unclear: bool,
    pub choices: Vec<String>,
    /// Words of the cell used up.
    pub used: usize,
}

/// What the first word (or words) of a cell say about the genus; `None` if they are no genus.
pub(super) fn resolve(first: &str, text: &str, ctx: &Context<'_>) -> Option<Found> {
    let bare = first.trim_end_matches([',', ':', ';']);
    let folded = fold(bare);
    let stem = folded.trim_end_matches('.').trim_start_matches('×');
    // Nearly every "Amaryllis" indoors is a Hippeastrum; the true one has one old species.
    let bulb = stem == "amaryllis" && !fold(text).contains("belladonna");
    if bulb && let Some(found) = vernacular(text) {
        return Some(found);
    }
    if let Some(genus) = FLORA.genus(stem).or_else(|| ctx.registry.genus(stem)) {
        let mut found =
            Found { genus: Some(genus.to_owned()), full: true, used: 1, ..Found::default() };
        let typed = bare.trim_start_matches('×').trim_end_matches('.');
        if typed.chars().all(char::is_lowercase) {
            found.codes.push("genus_lowercase");
        } else if typed != genus && fold(typed) == fold(genus) {
            found.codes.push("case_fixed");
        }
        return Some(found);
    }
    if let Some(found) = vernacular(text) {
        return Some(found);
    }
    if let Some(found) = shortened(bare, stem, text, ctx) {
        return Some(found);
    }
    // "gloriosum" is no slip for Gloriosa where it is an epithet of the genus at hand.
    let epithet = ctx.parent
        && bare.starts_with(char::is_lowercase)
        && ctx.genus.as_ref().is_some_and(|g| FLORA.has(g, stem));
    if epithet {
        return None;
    }
    let Some(genus) = FLORA.nearest_genus(stem) else { return unlisted(bare, text, ctx) };
    // A cultivar may resemble a genus; an epithet of the file is what it says.
    if ctx.registry.knows(&key(text)) {
        return None;
    }
    Some(Found {
        genus: Some(genus.to_owned()),
        codes: vec!["misspelling"],
        full: true,
        used: 1,
        ..Found::default()
    })
}

/// A genus not in the tables: a Latin-looking capital word before an epithet or
/// a quoted cultivar. It is kept as typed.
fn unlisted(bare: &str, text: &str, ctx: &Context<'_>) -> Option<Found> {
    let ends = |w: &str, list: &[&str]| list.iter().any(|e| w.ends_with(e));
    let plain = bare.chars().all(|c| c.is_ascii_alphabetic()) && bare.len() >= 6;
    let capital =
        bare.starts_with(char::is_uppercase) && bare.chars().skip(1).all(char::is_lowercase);
    if !plain
        || !capital
        || !ends(bare, &["ia", "us", "um", "is", "es", "on", "a", "ys", "os", "as"])
    {
        return None;
    }
    let rest = text.split_once(' ')?.1;
    let second = rest.split(' ').next()?;
    let latin = second.len() >= 5
        && second.chars().all(|c| c.is_ascii_lowercase() || c == '-')
        && ends(
            second,
            &[
                "us", "um", "is", "ii", "ae", "ensis", "ense", "ata", "ana", "osa", "ica", "ans",
                "ens",
            ],
        )
        && FLORA.genus(second).is_none();
    let quoted = rest.starts_with(['\'', '‘', '"', '“', '„']);
    if !(latin || quoted) || ctx.parent || ctx.registry.knows(&key(text)) {
        return None;
    }
    Some(Found { genus: Some(bare.to_owned()), full: true, used: 1, ..Found::default() })
}

fn vernacular(text: &str) -> Option<Found> {
    let tokens: Vec<&str> = text.split_whitespace().collect();
    for n in (1..=tokens.len().min(5)).rev() {
        let phrase = tokens[..n].join(" ");
        let folded = fold(phrase.trim_end_matches([',', ':']));
        // "Rex-Begonie": the last part of a compound is the plant.
        let tail = folded.rsplit_once('-').filter(|_| n == 1).map(|x| x.1);
        let whole = words::vernacular(&folded);
        let compound = || tail.filter(|t| t.len() >= 6).and_then(words::vernacular);
        if let Some(genus) = whole.or_else(compound) {
            // Pet forms such as "philo" shorten the Latin name.
            let stem: String = folded.chars().take(3).collect();
            let initials = folded.len() <= 3 && phrase.chars().all(char::is_uppercase);
            let short = initials
                || folded.len() <= 6
                    && folded.len() < genus.len()
                    && !folded.contains(' ')
                    && fold(genus).starts_with(&stem);
            let plural = folded.strip_suffix('s') == Some(fold(genus).as_str());
            let code = if short { "genus_abbreviated" } else { "vernacular_name" };
            return Some(Found {
                genus: Some(genus.to_owned()),
                codes: if plural { vec![] } else { vec![code] },
                full: !short,
                used: n,
                ..Found::default()
            });
        }
    }
    None
}

/// "B.", "Aesch.", "Strep", "B rex".
fn shortened(bare: &str, stem: &str, text: &str, ctx: &Context<'_>) -> Option<Found> {
    let dotted = bare.ends_with('.');
    let letters = stem.chars().count();
    let alphabetic = stem.chars().all(char::is_alphabetic) && letters > 0;
    let lone_capital = letters == 1 && bare.starts_with(char::is_uppercase);
    let rest = text.split_once(' ').map_or("", |x| x.1);
    if !alphabetic || letters > 8 || stem == "x" {
        return None;
    }
    if !(dotted || lone_capital || letters >= 3 && ctx.registry.genera_starting(stem).len() == 1) {
        return None;
    }
    // Without a dot a longer word must look like a clipped genus of this file.
    if !dotted
        && letters > 1
        && (!rest.is_empty() && rest.chars().next().is_some_and(|c| c.is_ascii_digit()))
    {
        return None;
    }
    let mut found = Found { codes: vec!["genus_abbreviated"], used: 1, ..Found::default() };
    let candidates = candidates(stem, rest, ctx);
    match candidates.as_slice() {
        [] => return None,
        [only] => found.genus = Some(only.clone()),
        several => {
            found.codes.push("genus_unclear");
            found.unclear = true;
            found.choices = several.to_vec();
        }
    }
    Some(found)
}

fn candidates(stem: &str, rest: &str, ctx: &Context<'_>) -> Vec<String> {
    let here = ctx.registry.genera_starting(stem);
    if let Some(q) = quote::quoted(rest).map(|q| q.inside)
        && let Some(genus) = ctx.registry.genus_of(&key(&q), &here)
    {
        return vec![genus];
    }
    let epithet = epithet_of(rest);
    if let Some(epithet) = &epithet {
        let owned = |list: &[String]| -> Vec<String> {
            list.iter()
                .filter(|g| FLORA.has(g, epithet) || ctx.registry.has_species(g, epithet))
                .cloned()
                .collect()
        };
        let with = owned(&here);
        if with.len() == 1 {
            return with;
        }
        if with.is_empty() {
            let near: Vec<String> = here
                .iter()
                .filter(|g| {
                    matches!(FLORA.spelling(g, epithet), crate::flora::Spelling::Corrected(_))
                })
                .cloned()
                .collect();
            if near.len() == 1 {
                return near;
            }
            let anywhere: Vec<String> = FLORA
                .owners(epithet)
                .iter()
                .filter(|g| fold(g).starts_with(stem))
                .cloned()
                .collect();
            if anywhere.len() == 1 {
                return anywhere;
            }
            if here.is_empty() && !anywhere.is_empty() {
                return anywhere;
            }
        } else {
            return with;
        }
    }
    if !rest.is_empty()
        && let Some(genus) = ctx.registry.genus_of(&key(rest), &here)
    {
        return vec![genus];
    }
    if let Some(genus) = ctx.genus.as_ref().filter(|g| fold(g).starts_with(stem))
        && (here.is_empty() || ctx.parent)
    {
        return vec![genus.clone()];
    }
    if !here.is_empty() {
        return here;
    }
    let all: Vec<String> = FLORA.starting(stem).take(40).cloned().collect();
    let grown: Vec<String> = all.iter().filter(|g| FLORA.much_grown(g)).cloned().collect();
    // Three letters and only one much-grown genus: nobody means the other.
    if stem.chars().count() >= 3 && grown.len() == 1 {
        return grown;
    }
    if grown.is_empty() { all } else { grown }
}

fn epithet_of(rest: &str) -> Option<String> {
    let mut tokens = rest.split_whitespace();
    let mut first = tokens.next()?;
    if matches!(first, "x" | "X" | "×" | "cf." | "aff.") {
        first = tokens.next()?;
    }
    let word = first.trim_matches(|c: char| !c.is_alphabetic());
    let lower = word.to_lowercase();
    let plain = word.chars().all(|c| c.is_alphabetic() || c == '-') && word.len() > 2;
    plain.then_some(lower)
}
