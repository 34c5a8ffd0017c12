//! Species and infraspecific epithets, and the marks before them.

use super::Reader;
use super::name::Cursor;
use super::token::Tok;
use crate::reading::{Epithet, HybridSign, Infra, Parts, Qualifier, Rank};
use crate::rules;
use crate::tables::latin::{COMPOUND_FIRST, COMPOUND_SECOND, Latin, latin};
use crate::tables::ranks::below_genus;
use crate::tables::usage::SYMBOLS;
use crate::text::{capitalise, latinise, starts_lower, starts_upper, title};

impl Reader<'_, '_> {
    /// `cf.`, `aff.` before an epithet.
    pub(super) fn doubt_word(&mut self, word: &str, cursor: &mut Cursor) -> bool {
        if !super::formula::is_qualifier(word) {
            return false;
        }
        let aff = word.to_lowercase().starts_with("aff");
        let standard = if aff { "aff." } else { "cf." };
        if word != standard {
            let message = format!("“{word}” is written {standard}");
            self.problems.fix("missing_stop", message, rules::OPEN);
        }
        cursor.qualifier = Some(if aff { Qualifier::Aff } else { Qualifier::Cf });
        cursor.at += 1;
        // "T. cf. T. lepturus": the genus is not repeated after the mark.
        if let (Some(next), Some(after)) = (cursor.word_ahead(0), cursor.word_ahead(1))
            && starts_upper(next)
            && starts_lower(after)
            && (next.ends_with('.') || self.genus_again(next, cursor))
        {
            let message = format!("The genus is not repeated after {standard}");
            self.problems.fix("genus_repeated", message, rules::OPEN);
            cursor.at += 1;
        }
        true
    }

    fn genus_again(&self, word: &str, cursor: &Cursor) -> bool {
        cursor.toks.iter().take(cursor.at).filter_map(Tok::word).any(|before| before == word)
    }

    /// A question mark: glued to the element it doubts.
    pub(super) fn query(
        &mut self,
        glued: bool,
        trailing: bool,
        cursor: &mut Cursor,
        parts: &mut Parts,
    ) {
        let next_is_element = matches!(cursor.ahead(1), Some(Tok::Word(_) | Tok::Quoted(_)));
        if trailing || !next_is_element {
            let message = "? stands directly before the element it doubts.";
            self.problems.fix("doubt_moved", message, rules::OPEN);
            let doubt = Some(Qualifier::Doubt);
            if parts.cultivar.is_some() {
                parts.cultivar_qualifier = doubt;
            } else if let Some(infra) = parts.infra.last_mut() {
                infra.epithet.qualifier = doubt;
            } else if let Some(species) = &mut parts.species {
                species.qualifier = doubt;
            } else {
                parts.genus_qualifier = doubt;
            }
            return;
        }
        if !glued {
            let message = "? is tied to the element it doubts.";
            self.problems.fix("doubt_spaced", message, rules::OPEN);
        }
        cursor.qualifier = Some(Qualifier::Doubt);
    }

    /// A symbol of Linnaeus that belongs to the epithet before it.
    pub(super) fn symbol(&mut self, symbol: char, cursor: &Cursor, parts: &mut Parts) {
        let word = SYMBOLS.iter().find(|(sign, _)| *sign == symbol).map(|(_, word)| *word);
        match (word, &mut parts.species) {
            (Some(word), Some(species)) if species.author.is_none() && cursor.at > 0 => {
                species.text = format!("{}-{word}", species.text);
                let message =
                    format!("The symbol {symbol} in an epithet is written out: {}.", species.text);
                self.problems.fix("symbol_transcribed", message, rules::ICN_23_3);
            }
            _ => {
                let message = format!("The sign {symbol} stands only after a parent in a formula.");
                self.problems.error("sign_out_of_place", message, rules::ICN_H2A);
            }
        }
    }

    /// A word that should be an epithet.
    pub(super) fn epithet(&mut self, typed: &str, cursor: &mut Cursor, parts: &mut Parts) {
        cursor.at += 1;
        let waits = cursor.rank.is_some() || cursor.hybrid;
        if (parts.cultivar.is_some() || is_remark(typed)) && !waits {
            self.leave(typed, parts);
            return;
        }
        let (word, glued) =
            strip_glued_sign(typed, parts.species.is_none() || cursor.rank.is_some());
        if glued {
            self.letter_for_sign();
            cursor.hybrid = true;
        }
        let Some(text) = self.spell(word, cursor) else {
            self.leave(typed, parts);
            return;
        };
        let epithet = Epithet {
            text,
            hybrid: std::mem::take(&mut cursor.hybrid),
            qualifier: cursor.qualifier.take(),
            author: None,
        };
        if let Some(term) = cursor.rank.take() {
            self.infra(Infra { rank: term.rank, notho: term.notho, epithet }, parts);
        } else if parts.sign == Some(HybridSign::Graft) && parts.cultivar.is_none() {
            let message =
                "A graft-chimaera takes no species epithet; it was made a cultivar epithet.";
            self.problems.fix("chimaera_epithet", message, rules::ICNCP);
            parts.cultivar = Some(capitalise(&epithet.text));
        } else if parts.species.is_none() && parts.infra.is_empty() && parts.genus_author.is_none()
        {
            parts.species = Some(epithet);
        } else {
            self.third_word(typed, epithet, parts);
        }
    }

    /// The epithet in the letters of the code, or `None` if it is no epithet.
    fn spell(&mut self, word: &str, cursor: &Cursor) -> Option<String> {
        let word = word.trim_end_matches([',', ';', ':']);
        let bare: String = word.chars().filter(|c| !matches!(c, '\'' | '’')).collect();
        let (latin, changed) = latinise(&bare);
        let lower = latin.to_lowercase();
        let whole = lower.chars().all(|c| c.is_ascii_lowercase() || c == '-');
        if !whole || lower.len() < 2 || lower.starts_with('-') || lower.ends_with('-') {
            return None;
        }
        if changed {
            let message = format!("“{word}” is transcribed to {lower} in a Latin epithet.");
            self.problems.fix("transcribed", message, rules::ICN_60_7);
        }
        if bare != word {
            let message = format!("An apostrophe has no place in a Latin epithet: {lower}.");
            self.problems.fix("apostrophe", message, rules::ICN_60);
        }
        if lower != latin && !cursor.rank.is_some_and(|term| below_genus(term.rank)) {
            let message = format!("Epithets begin with a small letter: {lower}.");
            self.problems.fix("case_fixed", message, rules::SMALL_LETTERS);
        }
        Some(lower)
    }

    fn infra(&mut self, mut infra: Infra, parts: &mut Parts) {
        if infra.epithet.hybrid {
            infra.epithet.hybrid = false;
            infra.notho = true;
            let message = "Below the species hybridity is shown by notho- on the rank term.";
            self.problems.fix("notho_rank", message, rules::ICN_H3_1);
        }
        if below_genus(infra.rank) {
            infra.epithet.text = title(&infra.epithet.text);
            if parts.species.is_some() {
                let message = "A rank between genus and species cannot follow a species epithet.";
                self.problems.error("rank_order", message, rules::ICN_24_1);
            }
        } else if parts.species.is_none() {
            let message = "A rank below the species needs the species epithet before it.";
            self.problems.error("species_missing", message, rules::ICN_24_1);
        }
        parts.infra.push(infra);
    }

    /// A further epithet without rank term: part of a compound, or a rank that is missing.
    fn third_word(&mut self, typed: &str, epithet: Epithet, parts: &mut Parts) {
        let free = parts.infra.is_empty() && parts.cultivar.is_none();
        if let Some(species) = parts.species.as_mut().filter(|s| free && s.author.is_none()) {
            let first = species.text.rsplit('-').next().unwrap_or_default();
            let compound =
                COMPOUND_FIRST.contains(&first) || COMPOUND_SECOND.contains(&epithet.text.as_str());
            if compound {
                species.text = format!("{}-{}", species.text, epithet.text);
                let message = format!("The words of one epithet are joined: {}.", species.text);
                self.problems.fix("epithet_joined", message, rules::ICN_23_1);
                return;
            }
        }
        if latin(&epithet.text) >= Latin::Looks && parts.species.is_some() {
            let message = format!(
                "“{typed}” follows the name without a rank term; say whether it is subsp., var., f. or a cultivar."
            );
            self.problems.error("rank_missing", message, rules::ICN_24_1);
            parts.left_over.push(typed.to_owned());
        } else {
            self.leave(typed, parts);
        }
    }

    /// A word that has no place in the name.
    pub(super) fn leave(&mut self, typed: &str, parts: &mut Parts) {
        let message =
            format!("“{typed}” could not be placed in the name; take it out or correct it.");
        self.problems.error("words_left_over", message, rules::INPUT);
        parts.left_over.push(typed.to_owned());
    }

    /// A genus or its initial repeated inside an infraspecific epithet (ICN 24.4).
    pub(super) fn binomial_as_epithet(
        &mut self,
        word: &str,
        cursor: &mut Cursor,
        parts: &Parts,
    ) -> bool {
        let Some(genus) = parts.genus.as_deref().filter(|_| cursor.rank.is_some()) else {
            return false;
        };
        let initial = word.strip_suffix('.').is_some_and(|start| genus.starts_with(start));
        let follows = cursor.word_ahead(1).is_some_and(starts_lower);
        let infraspecific = cursor.rank.is_some_and(|term| term.rank > Rank::Subseries);
        if follows && infraspecific && (initial || word == genus) {
            let message = "A binomial used as an infraspecific epithet loses its genus.";
            self.problems.fix("binomial_epithet", message, rules::ICN_24_4);
            cursor.at += 1;
            return true;
        }
        false
    }
}

/// `x-piperita`, `Xcredneri`: the letter x stuck to an epithet. *xanthina* keeps its x: Latin words
/// in x go on with a vowel.
fn strip_glued_sign(word: &str, allowed: bool) -> (&str, bool) {
    if !allowed {
        return (word, false);
    }
    for prefix in ["x-", "X-", "×-"] {
        if let Some(rest) = word.strip_prefix(prefix)
            && starts_lower(rest)
        {
            return (rest, true);
        }
    }
    if let Some(rest) = word.strip_prefix(['X', 'x'])
        && rest.chars().next().is_some_and(|c| c.is_lowercase() && !"aeiouy".contains(c))
        && rest.chars().count() > 3
    {
        return (rest, true);
    }
    (word, false)
}

/// Words of lists and labels that are no epithets.
fn is_remark(word: &str) -> bool {
    crate::tables::words::REMARKS.contains(&crate::text::fold(word).as_str())
}
