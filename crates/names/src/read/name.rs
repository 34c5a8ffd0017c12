//! One name: genus first, then whatever follows, token by token.

use super::Reader;
use super::token::Tok;
use crate::judge;
use crate::reading::{HybridSign, Parts, Qualifier, Sex};
use crate::rules;
use crate::tables::ranks::{Term, rank_of};
use crate::text::{starts_lower, starts_upper};

/// Place in the tokens of one name, and what waits for the next epithet.
pub(super) struct Cursor<'t> {
    pub toks: &'t [Tok],
    pub at: usize,
    /// Mark of doubt that waits for its element.
    pub qualifier: Option<Qualifier>,
    /// × that waits for its epithet.
    pub hybrid: bool,
    /// Rank term that waits for its epithet.
    pub rank: Option<Term>,
    /// `cv.` stood before.
    pub cultivar_marker: bool,
    /// The genus was typed in capitals, so capitals mean nothing here.
    pub shout: bool,
}

impl<'t> Cursor<'t> {
    pub(super) fn peek(&self) -> Option<&'t Tok> {
        self.toks.get(self.at)
    }

    pub(super) fn ahead(&self, by: usize) -> Option<&'t Tok> {
        self.toks.get(self.at + by)
    }

    pub(super) fn word_ahead(&self, by: usize) -> Option<&'t str> {
        self.ahead(by).and_then(Tok::word)
    }

    pub(super) fn rest(&self) -> &'t [Tok] {
        self.toks.get(self.at..).unwrap_or_default()
    }
}

/// ♀ or ♂ as the role of a parent.
pub(super) fn sex_of(symbol: char) -> Option<Sex> {
    match symbol {
        '♀' => Some(Sex::Female),
        '♂' => Some(Sex::Male),
        _ => None,
    }
}

impl Reader<'_, '_> {
    /// Read one name.
    pub(super) fn name(&mut self, toks: &[Tok]) -> Parts {
        let mut parts = Parts::default();
        let toks = self.sex(toks, &mut parts);
        if self.in_formula && self.is_unknown_parent(toks) {
            parts.unknown = true;
            return parts;
        }
        let mut cursor = Cursor {
            toks,
            at: 0,
            qualifier: None,
            hybrid: false,
            rank: None,
            cultivar_marker: false,
            shout: false,
        };
        self.genus(&mut cursor, &mut parts);
        while let Some(tok) = cursor.peek() {
            let before = cursor.at;
            self.step(tok, &mut cursor, &mut parts);
            // Whatever a step decides, reading moves on.
            cursor.at = cursor.at.max(before + 1);
        }
        self.left_waiting(&cursor, &mut parts);
        self.remember(&parts);
        judge::name(&mut parts, self.context, self.problems);
        parts
    }

    /// Take the sex sign of an operand off, wherever it stands.
    fn sex<'t>(&mut self, toks: &'t [Tok], parts: &mut Parts) -> &'t [Tok] {
        if !self.in_formula {
            return toks;
        }
        if let [rest @ .., Tok::Symbol(c)] = toks
            && let Some(sex) = sex_of(*c)
        {
            parts.sex = Some(sex);
            return rest;
        }
        if let [Tok::Symbol(c), rest @ ..] = toks
            && let Some(sex) = sex_of(*c)
        {
            let message = "The sign ♀ or ♂ stands after the parent's name.";
            self.problems.fix("sex_sign_moved", message, rules::ICN_H2A);
            parts.sex = Some(sex);
            return rest;
        }
        toks
    }

    fn is_unknown_parent(&mut self, toks: &[Tok]) -> bool {
        match toks {
            [Tok::Query { .. }] => true,
            [first, rest @ ..] => {
                let says = |tok: &Tok| tok.word().is_some_and(super::formula::is_unknown);
                let all = says(first) && rest.iter().all(says);
                if all {
                    let message = "An unknown parent is written ?.";
                    self.problems.fix("unknown_parent", message, rules::ICN_H3_2);
                }
                all
            }
            [] => false,
        }
    }

    fn step(&mut self, tok: &Tok, cursor: &mut Cursor, parts: &mut Parts) {
        match tok {
            Tok::Word(word) => self.word(word, cursor, parts),
            Tok::Quoted(quoted) => self.quoted(quoted, cursor, parts),
            Tok::Paren(inner, closed) => self.paren(inner, *closed, cursor, parts),
            Tok::Cross { letter, .. } => {
                if *letter {
                    self.letter_for_sign();
                }
                cursor.hybrid = true;
            }
            Tok::Plus { .. } => {
                // `Syringa + correlata`: the chimaera of one genus is a plain cultivar.
                cursor.cultivar_marker = true;
                let message =
                    "Within one genus a graft-chimaera is named as a cultivar, without +.";
                self.problems.fix("graft_sign_dropped", message, rules::ICNCP);
            }
            Tok::Query { glued, trailing } => self.query(*glued, *trailing, cursor, parts),
            Tok::Symbol(c) => self.symbol(*c, cursor, parts),
            Tok::Mark(c) => {
                parts.marks.push(c.to_string());
                let message = format!("{c} is no part of a name.");
                self.problems.fix("mark_dropped", message, rules::PRINCIPLE_6);
            }
        }
    }

    fn word(&mut self, word: &str, cursor: &mut Cursor, parts: &mut Parts) {
        let handled = self.mark_word(word, cursor, parts)
            || self.concept(word, cursor, parts)
            || self.open(word, cursor, parts)
            || self.doubt_word(word, cursor)
            || self.cultivar_marker(word, cursor)
            || self.rank_term(word, cursor, parts)
            || self.group_or_grex(cursor, parts)
            || self.trade(cursor, parts)
            || self.bare_code(word, cursor, parts);
        if handled {
            return;
        }
        let lower = starts_lower(word) || (cursor.shout && starts_upper(word));
        if lower && !cursor.cultivar_marker && !is_citation_word(word) {
            self.epithet(word, cursor, parts);
        } else {
            self.capital(word, cursor, parts);
        }
    }

    /// Marks and rank terms that nothing followed.
    fn left_waiting(&mut self, cursor: &Cursor, parts: &mut Parts) {
        if cursor.hybrid {
            let message = "Nothing stands after the hybrid sign.";
            self.problems.error("hybrid_sign_alone", message, rules::ICN_H3_1);
        }
        if cursor.rank.is_some() {
            let message = "No epithet follows the rank term.";
            self.problems.error("epithet_missing", message, rules::ICN_24_1);
        }
        if cursor.cultivar_marker {
            let message = "No epithet follows cv.";
            self.problems.error("epithet_missing", message, rules::ICNCP);
        }
        match (cursor.qualifier, &mut parts.species) {
            (Some(Qualifier::Doubt), _) | (None, _) => {}
            (Some(_), _) => {
                let message = "No epithet follows cf. or aff.";
                self.problems.error("epithet_missing", message, rules::OPEN);
            }
        }
    }

    /// What later operands of a formula may refer to.
    fn remember(&mut self, parts: &Parts) {
        if let Some(genus) = &parts.genus
            && !parts.common_name
        {
            self.genera.push(genus.clone());
            let hybrid = parts.sign == Some(HybridSign::Hybrid);
            self.last = Some((genus.clone(), hybrid, parts.species.clone()));
        }
    }
}

/// Small-letter words of author citations (`ex`, `hort.`), which are no epithets.
pub(super) fn is_citation_word(word: &str) -> bool {
    crate::tables::usage::AUTHOR_SMALL.contains(&word) && !matches!(word, "y" | "e" | "la" | "le")
}

impl Reader<'_, '_> {
    /// A rank term, if one stands here and an epithet can follow.
    fn rank_term(&mut self, word: &str, cursor: &mut Cursor, parts: &mut Parts) -> bool {
        let Some(term) = rank_of(word) else { return false };
        let bare = word.trim_end_matches('.');
        // `Ser.` and `F.` with a capital are authors; a lone `v` is too little.
        if starts_upper(word)
            && !matches!(bare, "Subsp" | "Ssp" | "Var" | "Sect" | "Subg" | "Forma")
        {
            return false;
        }
        let next = cursor.ahead(1);
        match next {
            Some(Tok::Quoted(_)) => {
                let message = format!("“{word}” does not mark a cultivar; it was dropped.");
                self.problems.fix("rank_before_cultivar", message, rules::ICNCP);
                cursor.at += 1;
                return true;
            }
            Some(Tok::Word(_) | Tok::Cross { .. } | Tok::Query { .. }) => {}
            // `Begonia ssp.` is several species, misspelt; anything else lacks its epithet.
            _ if bare.eq_ignore_ascii_case("ssp") && parts.species.is_none() => return false,
            _ => {}
        }
        if matches!(bare, "v" | "form" | "section")
            && next.and_then(Tok::word).is_none_or(|w| !starts_lower(w))
        {
            return false;
        }
        if !term.standard {
            let standard = crate::write::rank_term(term.rank);
            let notho = if term.notho { "notho" } else { "" };
            let message = format!("The rank term “{word}” is written {notho}{standard}");
            self.problems.fix("rank_term", message, rules::RANK_STYLE);
        }
        if cursor.rank.is_some() {
            let message = "Two rank terms follow each other.";
            self.problems.error("epithet_missing", message, rules::ICN_24_1);
        }
        cursor.rank = Some(term);
        cursor.at += 1;
        true
    }
}
