//! The beginning of a name: sign, doubt, genus or what stands for it.

use super::Reader;
use super::name::Cursor;
use super::token::Tok;
use crate::reading::{HybridSign, Parts, Qualifier};
use crate::rules;
use crate::tables::ranks::rank_of;
use crate::tables::usage::COMMON_NAMES;
use crate::text::{all_capitals, capitalise, fold, has_digit, latinise, starts_lower, title};

impl Reader<'_, '_> {
    pub(super) fn genus(&mut self, cursor: &mut Cursor, parts: &mut Parts) {
        self.signs(cursor, parts);
        match cursor.peek() {
            Some(Tok::Word(word)) => {
                if self.common_name(cursor, parts) {
                    return;
                }
                if self.last.is_some() && self.in_formula && self.is_bare(word) {
                    self.complete(cursor, parts, rank_of(word).is_some() && starts_lower(word));
                    return;
                }
                let word = word.clone();
                cursor.at += 1;
                self.genus_word(&word, cursor, parts);
            }
            Some(Tok::Quoted(_)) if self.in_formula && self.last.is_some() => {
                self.complete(cursor, parts, false);
            }
            _ => {
                let message = "A name begins with its genus, which is missing here.";
                self.problems.error("genus_missing", message, rules::ICN_23_1);
            }
        }
    }

    fn signs(&mut self, cursor: &mut Cursor, parts: &mut Parts) {
        while let Some(tok) = cursor.peek() {
            match tok {
                Tok::Cross { letter, .. } => {
                    if *letter {
                        self.letter_for_sign();
                    }
                    parts.sign = Some(HybridSign::Hybrid);
                }
                Tok::Plus { .. } => parts.sign = Some(HybridSign::Graft),
                Tok::Query { .. } => parts.genus_qualifier = Some(Qualifier::Doubt),
                Tok::Word(word) if super::formula::is_qualifier(word) => {
                    let aff = word.to_lowercase().starts_with("aff");
                    parts.genus_qualifier = Some(if aff { Qualifier::Aff } else { Qualifier::Cf });
                    if !word.ends_with('.') {
                        self.missing_stop(word);
                    }
                }
                _ => return,
            }
            cursor.at += 1;
        }
    }

    pub(super) fn missing_stop(&mut self, word: &str) {
        let message = format!("“{word}” is an abbreviation and takes a full stop.");
        self.problems.fix("missing_stop", message, rules::OPEN);
    }

    /// `apple 'Blauschwanz'`: a clear common name before a quoted epithet.
    fn common_name(&mut self, cursor: &mut Cursor, parts: &mut Parts) -> bool {
        for length in [2, 1] {
            let words: Option<Vec<&str>> = (0..length).map(|by| cursor.word_ahead(by)).collect();
            let Some(words) = words else { continue };
            let common = words.join(" ").to_lowercase();
            let quoted = matches!(cursor.ahead(length), Some(Tok::Quoted(_)));
            let known = COMMON_NAMES.iter().find(|name| name.to_lowercase() == common);
            if let Some(name) = known.filter(|_| quoted) {
                parts.genus = Some((*name).to_owned());
                parts.common_name = true;
                cursor.at += length;
                let message = "A common name stands for the genus; the botanical name is clearer.";
                self.problems.note("common_name", message, rules::ICNCP);
                return true;
            }
        }
        false
    }

    /// Whether a word in a later operand is an epithet (or rank term) without its genus.
    fn is_bare(&self, word: &str) -> bool {
        starts_lower(word)
            && !self.genera.iter().any(|genus| fold(genus) == fold(word))
            && word.trim_end_matches('.').chars().count() > 1
    }

    /// Whether a word begins an operand without its genus.
    pub(super) fn is_bare_start(&self, word: &str) -> bool {
        let known = self.last.is_some() && self.in_formula;
        (known || is_genitive(word)) && self.is_bare(word)
    }

    /// Repeat the genus (and species) of the operand before.
    fn complete(&mut self, cursor: &Cursor, parts: &mut Parts, with_species: bool) {
        let Some((genus, hybrid, species)) = self.last.clone() else { return };
        parts.genus = Some(genus);
        if hybrid {
            parts.sign = Some(HybridSign::Hybrid);
        }
        if with_species && let Some(species) = species {
            parts.species = Some(crate::reading::Epithet { author: None, ..species });
        }
        let what = cursor.peek().map(Tok::text).unwrap_or_default();
        let message = format!("The parent “{what}” repeats the genus or its initial.");
        self.problems.fix("parent_genus_repeated", message, rules::ICN_H2_EX2);
    }

    fn genus_word(&mut self, typed: &str, cursor: &mut Cursor, parts: &mut Parts) {
        let word = typed.trim_end_matches([',', ';', ':']);
        let mut word = word.to_owned();
        if let Some(rest) = glued_sign(&word) {
            self.letter_for_sign();
            parts.sign = Some(HybridSign::Hybrid);
            word = rest;
        }
        let letters = word.trim_end_matches('.').chars().count();
        if (word.ends_with('.') && letters <= 8) || letters == 1 {
            self.abbreviated(&word, parts);
            return;
        }
        if is_genitive(&word) {
            let message =
                format!("“{word}” looks like an epithet; the genus before it is missing.");
            self.problems.error("genus_missing", message, rules::ICN_23_1);
        }
        let (latin, changed) = latinise(&word);
        if latin.is_empty()
            || has_digit(&latin)
            || !latin.chars().all(|c| c.is_ascii_alphabetic() || c == '-')
            || latin.starts_with('-')
            || latin.ends_with('-')
        {
            let message = format!("“{typed}” cannot be a genus: a genus is one word of letters.");
            self.problems.error("genus_letters", message, rules::ICN_20_1);
            parts.left_over.push(typed.to_owned());
            return;
        }
        if changed {
            let message = format!("“{word}” is transcribed to {latin} in a Latin name.");
            self.problems.fix("transcribed", message, rules::ICN_60_7);
        }
        let proper = title(&latin);
        if proper != latin {
            cursor.shout = all_capitals(&latin);
            let code = if starts_lower(&latin) { "genus_lowercase" } else { "case_fixed" };
            let message = format!("A genus is written with one capital: {proper}.");
            self.problems.fix(code, message, rules::ICN_20_1);
        }
        if latin.len() < 2 {
            let message = "A genus needs more than one letter.";
            self.problems.error("genus_letters", message, rules::ICN_20_1);
        }
        parts.genus = Some(proper);
    }

    /// `B.`, `Aesch.`: complete it from the formula, else from the genera that are known.
    fn abbreviated(&mut self, word: &str, parts: &mut Parts) {
        let start = word.trim_end_matches('.').to_lowercase();
        let fits = |genus: &str| genus.to_lowercase().starts_with(&start);
        let mut before: Vec<&String> = self.genera.iter().filter(|g| fits(g)).collect();
        before.sort();
        before.dedup();
        if let [genus] = before.as_slice() {
            let genus = (*genus).clone();
            if word != format!("{}.", capitalise(&start)) {
                let message = format!("The repeated genus is abbreviated as {}.", &genus[..1]);
                self.problems.fix("genus_abbreviated", format!("{message}."), rules::ICN_H2_EX2);
            }
            if let Some((last, true, _)) = &self.last
                && *last == genus
            {
                parts.sign = Some(HybridSign::Hybrid);
            }
            parts.genus = Some(genus);
            return;
        }
        let known: Vec<&&str> = self.context.known_genera.iter().filter(|g| fits(g)).collect();
        match known.as_slice() {
            [genus] => {
                let message =
                    format!("“{word}” was taken for {genus}, the only known genus it fits.");
                self.problems.fix("genus_abbreviated", message.clone(), rules::ICN_20_1);
                self.problems.ask("genus_abbreviated", message, rules::ICN_20_1);
                parts.genus = Some((**genus).to_owned());
            }
            [] => {
                let message = format!("“{word}” is an abbreviated genus; write it in full.");
                self.problems.error("genus_abbreviated", message, rules::ICN_20_1);
            }
            several => {
                let list: Vec<&str> = several.iter().map(|genus| **genus).collect();
                let message = format!("“{word}” fits several genera: {}.", list.join(", "));
                self.problems.error("genus_unclear", message, rules::ICN_20_1);
            }
        }
        parts.as_typed.push(word.to_owned());
    }
}

/// A word with a small letter and an ending that epithets have and genera have not.
fn is_genitive(word: &str) -> bool {
    let ends = ["ii", "ae", "ensis", "ense", "orum", "arum", "iana", "ianum"];
    starts_lower(word) && word != "hippophae" && ends.iter().any(|end| word.ends_with(end))
}

/// `xAgropogon`, `XAgropogon`: the letter x before a capital that begins a word.
fn glued_sign(word: &str) -> Option<String> {
    let rest = word.strip_prefix(['x', 'X'])?;
    let mut chars = rest.chars();
    let capital = chars.next().is_some_and(char::is_uppercase);
    (capital && chars.next().is_some_and(char::is_lowercase)).then(|| rest.to_owned())
}
