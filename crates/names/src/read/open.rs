//! Open nomenclature, tags of material, concept marks.

use super::Reader;
use super::name::Cursor;
use super::token::Tok;
use crate::reading::Parts;
use crate::rules;
use crate::tables::words::UNIDENTIFIED;
use crate::text::{fold, has_digit, starts_upper};

/// Whether a word is a code given to material: digits, with capitals, hyphens or strokes.
pub(super) fn is_code(word: &str) -> bool {
    has_digit(word)
        && word.chars().any(|c| c.is_uppercase())
        && !word.chars().any(char::is_lowercase)
        && word.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '/' | '.' | '#'))
}

impl Reader<'_, '_> {
    /// `sp.`, `spp.`, `sp. nov.`, and the tag behind them.
    pub(super) fn open(&mut self, word: &str, cursor: &mut Cursor, parts: &mut Parts) -> bool {
        if parts.open.is_some() {
            return self.tag_word(word, cursor, parts);
        }
        let bare = parts.species.is_none() && parts.infra.is_empty() && parts.genus.is_some();
        let second = cursor.word_ahead(1).unwrap_or_default().to_lowercase();
        let lower = word.to_lowercase();
        let new = |w: &str| matches!(w.trim_end_matches('.'), "nov" | "nova" | "n");
        let (open, length) = match lower.trim_end_matches('.') {
            "sp" | "spec" | "species" if new(&second) => ("sp. nov.", 2),
            "nov" | "n" if matches!(second.trim_end_matches('.'), "sp" | "spec") => ("sp. nov.", 2),
            "sp.nov" => ("sp. nov.", 1),
            "sp" | "spec" | "species" | "indet" => ("sp.", 1),
            "spp" => ("spp.", 1),
            "ssp" if cursor.ahead(1).is_none() => ("spp.", 1),
            other if UNIDENTIFIED.contains(&fold(other).as_str()) => ("sp.", 1),
            _ => return false,
        };
        if !bare || parts.cultivar.is_some() {
            return false;
        }
        let typed: Vec<&str> = (0..length).filter_map(|by| cursor.word_ahead(by)).collect();
        if typed.join(" ") != open {
            let message = format!("“{}” is written {open}", typed.join(" "));
            self.problems.fix("open_term", message, rules::OPEN);
        }
        cursor.at += length;
        if open == "sp."
            && cursor.word_ahead(0).is_some_and(super::formula::is_qualifier)
            && cursor.ahead(1).is_some()
        {
            let message = "sp. is dropped before cf. or aff.";
            self.problems.fix("open_term", message, rules::OPEN);
            return true;
        }
        parts.open = Some(open.to_owned());
        true
    }

    /// After `sp.` every word belongs to the tag, but for a marked cultivar.
    fn tag_word(&mut self, word: &str, cursor: &mut Cursor, parts: &mut Parts) -> bool {
        let marker =
            matches!(word.trim_end_matches('.').to_lowercase().as_str(), "cv" | "cultivar");
        if (marker && cursor.ahead(1).is_some()) || cursor.cultivar_marker {
            if cursor.cultivar_marker {
                parts.open = None;
                let message = "sp. is dropped before a cultivar epithet.";
                self.problems.fix("sp_before_cultivar", message, rules::ICNCP);
            }
            return false;
        }
        match &mut parts.tag {
            Some(tag) => {
                tag.push(' ');
                tag.push_str(word);
            }
            None => parts.tag = Some(word.to_owned()),
        }
        cursor.at += 1;
        true
    }

    /// `Begonia U402`: a code where the epithet should be, or after the name.
    pub(super) fn bare_code(&mut self, word: &str, cursor: &mut Cursor, parts: &mut Parts) -> bool {
        let number = |w: &str| !w.is_empty() && w.bytes().all(|b| b.is_ascii_digit());
        let pair = cursor.word_ahead(1).is_some_and(number)
            && word.chars().all(char::is_uppercase)
            && (1..=5).contains(&word.chars().count());
        if !(is_code(word) || pair) || cursor.rank.is_some() || parts.cultivar.is_some() {
            return false;
        }
        let mut tag = word.to_owned();
        cursor.at += 1;
        if pair && let Some(second) = cursor.word_ahead(0) {
            tag = format!("{tag} {second}");
            cursor.at += 1;
        }
        if parts.species.is_none() && parts.infra.is_empty() {
            let message =
                format!("“{tag}” is a tag of material without a name; sp. stands before it.");
            self.problems.fix("tag_without_sp", message, rules::OPEN);
            parts.open = Some("sp.".to_owned());
        }
        parts.tag = Some(tag);
        true
    }

    /// `s.l.`, `s.str.`, `auct. non Raddi`, `nom. nud.` after the name.
    pub(super) fn concept(&mut self, word: &str, cursor: &mut Cursor, parts: &mut Parts) -> bool {
        if parts.genus.is_none() || parts.open.is_some() {
            return false;
        }
        let lower = word.to_lowercase();
        let second = cursor.word_ahead(1).unwrap_or_default().to_lowercase();
        let (first, second) = (lower.trim_end_matches('.'), second.trim_end_matches('.'));
        let (text, length) = match (first, second) {
            ("s.l" | "s.lat" | "s.ampl", _) => ("s.l.", 1),
            ("s" | "sens" | "sensu", "l" | "lat" | "lato" | "amplo" | "latu") => ("s.l.", 2),
            ("s.str" | "s.s" | "s.strict", _) => ("s.str.", 1),
            ("s" | "sens" | "sensu", "s" | "str" | "strict" | "stricto" | "strictu") => {
                ("s.str.", 2)
            }
            ("agg", _) => ("agg.", 1),
            ("auct" | "auctt" | "auctorum" | "sensu" | "non" | "nec" | "nom", _) => {
                return self.long_concept(cursor, parts);
            }
            ("sp" | "ssp" | "subsp" | "var", "nov") if parts.species.is_some() => {
                return self.long_concept(cursor, parts);
            }
            _ => return false,
        };
        let typed: Vec<&str> = (0..length).filter_map(|by| cursor.word_ahead(by)).collect();
        if typed.join(" ") != text {
            let message = format!("“{}” is written {text}", typed.join(" "));
            self.problems.fix("concept_mark", message, rules::OPEN);
        }
        cursor.at += length;
        parts.concept = Some(match parts.concept.take() {
            Some(before) => format!("{before} {text}"),
            None => text.to_owned(),
        });
        true
    }

    /// A mark that takes a person or a status with it: everything up to the next sign.
    fn long_concept(&mut self, cursor: &mut Cursor, parts: &mut Parts) -> bool {
        let words: Vec<&str> = cursor
            .rest()
            .iter()
            .map_while(Tok::word)
            .take_while(|word| starts_upper(word) || !super::cultivated::is_group_word(word))
            .collect();
        if words.len() < 2
            && !matches!(words.first().copied(), Some("auct." | "auct" | "auctt." | "auctorum"))
        {
            return false;
        }
        cursor.at += words.len();
        let mut out: Vec<String> = Vec::new();
        for word in &words {
            let standard = match *word {
                "auct" | "auctt" | "auctt." | "auctorum" | "auct." => "auct.",
                "nom" => "nom.",
                "nud" => "nud.",
                "illeg" => "illeg.",
                other => other.trim_end_matches(','),
            };
            if standard != *word {
                let message = format!("“{word}” is written {standard}");
                self.problems.fix("concept_mark", message, rules::OPEN);
            }
            out.push(standard.to_owned());
        }
        let text = out.join(" ");
        parts.concept = Some(match parts.concept.take() {
            Some(before) => format!("{before} {text}"),
            None => text,
        });
        true
    }
}
