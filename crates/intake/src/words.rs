//! The word tables: what a word in a header or a cell means, in six languages.

use std::{collections::HashMap, sync::LazyLock};

use regex::Regex;

use crate::fold::fold;

/// The languages lists are read in.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "lowercase")]
pub enum Language {
    /// English.
    En,
    /// German.
    De,
    /// French.
    Fr,
    /// Spanish.
    Es,
    /// Dutch.
    Nl,
    /// Swedish.
    Sv,
}

impl Language {
    fn of(code: &str) -> Option<Self> {
        Some(match code {
            "en" => Self::En,
            "de" => Self::De,
            "fr" => Self::Fr,
            "es" => Self::Es,
            "nl" => Self::Nl,
            "sv" => Self::Sv,
            _ => return None,
        })
    }
}

/// One table: meaning to phrases, and phrase to languages.
pub(crate) struct Table {
    phrases: HashMap<&'static str, Vec<String>>,
    meanings: HashMap<String, Vec<(&'static str, Option<Language>)>>,
}

fn load(text: &'static str) -> Table {
    let mut table = Table { phrases: HashMap::new(), meanings: HashMap::new() };
    for line in text.lines().filter(|l| !l.starts_with('#')) {
        let mut fields = line.split('\t');
        let (Some(lang), Some(meaning), Some(words)) =
            (fields.next(), fields.next(), fields.next())
        else {
            continue;
        };
        for word in words.split('|') {
            let word = fold(word.trim());
            table.phrases.entry(meaning).or_default().push(word.clone());
            table.meanings.entry(word).or_default().push((meaning, Language::of(lang)));
        }
    }
    table
}

static HEADERS: LazyLock<Table> = LazyLock::new(|| load(include_str!("../data/headers.tsv")));
static WORDS: LazyLock<Table> = LazyLock::new(|| load(include_str!("../data/words.tsv")));
static VERNACULAR: LazyLock<Table> = LazyLock::new(|| load(include_str!("../data/vernacular.tsv")));

/// What a header phrase can mean (role, language); empty if it is no header word.
pub(crate) fn header(folded: &str) -> &'static [(&'static str, Option<Language>)] {
    HEADERS.meanings.get(folded).map_or(&[], Vec::as_slice)
}

/// What a word or phrase in a cell can mean.
pub(crate) fn meanings(folded: &str) -> &'static [(&'static str, Option<Language>)] {
    WORDS.meanings.get(folded).map_or(&[], Vec::as_slice)
}

/// Whether the whole folded text is one of the phrases of a meaning.
pub(crate) fn is(folded: &str, meaning: &str) -> bool {
    meanings(folded).iter().any(|m| m.0 == meaning)
}

/// The genus a common-language name stands for.
pub(crate) fn vernacular(folded: &str) -> Option<&'static str> {
    VERNACULAR.meanings.get(folded).and_then(|m| m.first()).map(|m| m.0)
}

fn bounded(phrases: &[String]) -> Regex {
    let mut sorted: Vec<&String> = phrases.iter().collect();
    sorted.sort_by_key(|w| std::cmp::Reverse(w.len()));
    let alternatives: Vec<String> = sorted.iter().map(|w| regex::escape(w)).collect();
    pattern(&format!(r"(?:^|[^\p{{L}}\p{{N}}])({})(?:$|[^\p{{L}}\p{{N}}])", alternatives.join("|")))
}

/// A pattern written in this crate. All of them are built by the tests, so a
/// wrong one cannot reach a reader.
#[allow(clippy::expect_used, reason = "patterns are constants and data of this crate")]
pub(crate) fn pattern(text: &str) -> Regex {
    Regex::new(text).expect("a pattern of this crate is well formed")
}

static FINDERS: LazyLock<HashMap<&'static str, Regex>> =
    LazyLock::new(|| WORDS.phrases.iter().map(|(k, v)| (*k, bounded(v))).collect());

/// Where a phrase of a meaning stands in a folded text (whole words only).
pub(crate) fn find(folded: &str, meaning: &str) -> Option<std::ops::Range<usize>> {
    let found = FINDERS.get(meaning)?.captures(folded)?;
    found.get(1).map(|m| m.range())
}

/// Whether a phrase of a meaning stands anywhere in a folded text.
pub(crate) fn has(folded: &str, meaning: &str) -> bool {
    find(folded, meaning).is_some()
}

/// All places of a meaning in a folded text.
pub(crate) fn find_all(folded: &str, meaning: &str) -> Vec<std::ops::Range<usize>> {
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(range) = folded.get(from..).and_then(|rest| find(rest, meaning)) {
        found.push(from + range.start..from + range.end);
        from += range.end.max(range.start + 1);
    }
    found
}

/// The month 1 to 12 a folded word names.
pub(crate) fn month(word: &str) -> Option<u8> {
    let named = |w: &str| {
        meanings(w).iter().find_map(|m| m.0.strip_prefix("month")).and_then(|n| n.parse().ok())
    };
    named(word.trim_end_matches('.'))
}

/// Votes for languages by the words of a folded text, added to `votes`.
pub(crate) fn vote(folded: &str, weight: u32, votes: &mut HashMap<Language, u32>) {
    let tokens: Vec<&str> =
        folded.split(|c: char| !c.is_alphanumeric() && c != '\'').filter(|t| t.len() > 1).collect();
    for token in &tokens {
        let langs: Vec<Language> = meanings(token).iter().filter_map(|m| m.1).collect();
        let mut distinct = langs.clone();
        distinct.sort_unstable();
        distinct.dedup();
        // A word of many languages tells nothing about which it is.
        if distinct.len() <= 2 {
            for lang in distinct {
                *votes.entry(lang).or_default() += weight;
            }
        }
    }
}
