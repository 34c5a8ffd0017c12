//! Cultivar, Group, grex and trade designation; what stands in brackets.

use super::Reader;
use super::author::{is_basionym, trade_length};
use super::name::Cursor;
use super::quote::Quoted;
use super::token::{Tok, tokens};
use crate::reading::Parts;
use crate::rules;
use crate::tables::latin::{Latin, latin};
use crate::tables::usage::MARK_WORDS;
use crate::text::{fold, starts_lower, starts_upper};

/// `Group`, and how else it is written.
pub(super) fn is_group_word(word: &str) -> bool {
    matches!(
        word.to_lowercase().trim_end_matches('.'),
        "group" | "gp" | "grp" | "cultivar-group" | "cv-group" | "cvgroup" | "cvgr"
    )
}

/// `grex`, and how else it is written.
pub(super) fn is_grex_word(word: &str) -> bool {
    matches!(word.to_lowercase().trim_end_matches('.'), "grex" | "gx" | "g.x")
}

impl Reader<'_, '_> {
    /// Number of words before the word Group or grex, if it comes after words of its epithet.
    pub(super) fn group_length(&self, cursor: &Cursor) -> Option<(usize, bool)> {
        for (at, tok) in cursor.rest().iter().enumerate() {
            let word = tok.word()?;
            if at > 0 && (is_group_word(word) || is_grex_word(word)) {
                return Some((at, is_grex_word(word)));
            }
            let titled = matches!(word, "St." | "Mrs." | "Mr." | "Dr.");
            if (word.contains('.') && !titled) || word == "&" || word == "ex" {
                return None;
            }
        }
        None
    }

    /// `Fortunei Group`, `Prince John gx`.
    pub(super) fn group_or_grex(&mut self, cursor: &mut Cursor, parts: &mut Parts) -> bool {
        let Some((length, grex)) = self.group_length(cursor) else { return false };
        let words: Vec<&str> = (0..length).filter_map(|by| cursor.word_ahead(by)).collect();
        // Small words first are epithets of the botanical name.
        let first = words.first().copied().unwrap_or_default();
        let small = starts_lower(first) && words.len() > 1 && parts.species.is_none();
        if (small && !grex) || cursor.rank.is_some() || cursor.hybrid {
            return false;
        }
        let mut skip = length;
        let mut epithet = words.join(" ");
        let marker = cursor.word_ahead(length).unwrap_or_default();
        // "cultivar group" in two words.
        if words.len() > 1 && fold(words[words.len() - 1]) == "cultivar" {
            epithet = words[..words.len() - 1].join(" ");
        }
        skip += 1;
        if grex {
            self.set_grex(&epithet, marker, parts);
        } else {
            if marker != "Group" || skip > words.len() + 1 || epithet != words.join(" ") {
                let message = format!("“{marker}” is written Group, in full and with a capital.");
                self.problems.fix("group_word", message, rules::ICNCP);
            }
            self.set_group(&epithet, parts);
            if matches!(cursor.ahead(skip), Some(Tok::Quoted(_))) {
                let message = "Before a cultivar epithet the Group stands in round brackets.";
                self.problems.fix("group_brackets", message, rules::ICNCP);
            }
        }
        cursor.at += skip;
        true
    }

    fn set_group(&mut self, epithet: &str, parts: &mut Parts) {
        if parts.group.is_some() {
            let message = "A name cites one Group.";
            self.problems.error("two_groups", message, rules::ICNCP);
        }
        parts.group = Some(epithet.to_owned());
    }

    fn set_grex(&mut self, epithet: &str, marker: &str, parts: &mut Parts) {
        if !matches!(marker, "grex" | "gx") {
            let message = format!("“{marker}” is written grex.");
            self.problems.fix("grex_word", message, rules::ICNCP);
        }
        parts.grex = Some(epithet.to_owned());
    }

    /// `cv.` before an epithet.
    pub(super) fn cultivar_marker(&mut self, word: &str, cursor: &mut Cursor) -> bool {
        let bare = word.trim_end_matches(['.', ':']).to_lowercase();
        if !matches!(bare.as_str(), "cv" | "cvs" | "cultivar" | "cult") || cursor.ahead(1).is_none()
        {
            return false;
        }
        let message = format!("“{word}” does not mark a cultivar; single quotes do.");
        self.problems.fix("cv_dropped", message, rules::ICNCP);
        cursor.cultivar_marker = true;
        cursor.at += 1;
        true
    }

    /// A trade designation in capitals, with a mark of rights, or before a bracketed epithet.
    pub(super) fn trade(&mut self, cursor: &mut Cursor, parts: &mut Parts) -> bool {
        if cursor.rank.is_some() || cursor.cultivar_marker {
            return false;
        }
        let mut capitals = trade_length(cursor);
        // One Latin word in capitals is an epithet that was shouted.
        let word = cursor.word_ahead(0).unwrap_or_default();
        let bare = !matches!(cursor.ahead(1), Some(Tok::Paren(..) | Tok::Mark(_)));
        if capitals == 1 && parts.species.is_none() && bare && latin(word) >= Latin::Epithet {
            capitals = 0;
        }
        let words: Vec<&str> = cursor.rest().iter().map_while(Tok::word).collect();
        let after = cursor.ahead(words.len());
        let plain = words.first().is_some_and(|word| starts_upper(word))
            && words.iter().all(|word| !word.contains('.'));
        let marked = matches!(after, Some(Tok::Mark('™' | '®' | '℠')));
        let bracketed = matches!(after, Some(Tok::Paren(inner, _)) if lone_quoted(inner).is_some());
        // `Sundance = 'Lich'`.
        let equal =
            words.len() > 1 && words.last() == Some(&"=") && matches!(after, Some(Tok::Quoted(_)));
        let length = if plain && equal {
            words.len() - 1
        } else if capitals > 0 {
            capitals
        } else if plain && (marked || bracketed) {
            words.len()
        } else {
            return false;
        };
        let text = words[..length].join(" ");
        let upper = text.to_uppercase();
        if upper != text {
            let message =
                format!("A trade designation is set apart from epithets, in capitals: {upper}.");
            self.problems.fix("trade_capitals", message, rules::PRINCIPLE_6);
        }
        if parts.cultivar.is_some() {
            let message =
                "The trade designation stands before the epithet, which is put in brackets.";
            self.problems.fix("trade_order", message, rules::PRINCIPLE_6);
        }
        if parts.trade.is_some() {
            let message = "A name cites one trade designation.";
            self.problems.error("two_trade_designations", message, rules::PRINCIPLE_6);
        }
        parts.trade = Some(upper);
        cursor.at += if plain && equal { length + 1 } else { length };
        if matches!(cursor.peek(), Some(Tok::Quoted(_))) {
            let message = "The accepted epithet stands in brackets after the trade designation.";
            self.problems.fix("trade_order", message, rules::PRINCIPLE_6);
        }
        true
    }

    /// An epithet in quotes.
    pub(super) fn quoted(&mut self, quoted: &Quoted, cursor: &mut Cursor, parts: &mut Parts) {
        cursor.at += 1;
        let marker = std::mem::take(&mut cursor.cultivar_marker);
        if let Some(Tok::Word(word)) = cursor.peek()
            && (is_grex_word(word) || (is_group_word(word) && parts.group.is_none()))
        {
            let message = format!("“{}” takes no quotes: they are for cultivars.", quoted.text);
            self.problems.fix("quotes_not_for_group", message, rules::ICNCP);
            if is_grex_word(word) {
                self.set_grex(&quoted.text, "grex", parts);
            } else {
                self.set_group(&quoted.text, parts);
            }
            cursor.at += 1;
            return;
        }
        if parts.open.is_some() && !marker {
            self.quoted_tag(quoted, parts);
            return;
        }
        if parts.open.take().is_some() {
            let message = "sp. is dropped before a cultivar epithet.";
            self.problems.fix("sp_before_cultivar", message, rules::ICNCP);
        }
        self.check_quotes(quoted);
        if self.group_in_quotes(quoted, parts) {
            return;
        }
        if parts.cultivar.is_some() {
            let message = format!("A second epithet “{}” stands in quotes.", quoted.text);
            self.problems.error("two_epithets", message, rules::ICNCP);
            parts.left_over.push(quoted.text.clone());
            return;
        }
        parts.cultivar_qualifier = cursor.qualifier.take();
        parts.cultivar = Some(quoted.text.clone());
    }

    fn check_quotes(&mut self, quoted: &Quoted) {
        if quoted.glued {
            self.problems.fix("space_missing", "A space stands before the epithet.", rules::INPUT);
        }
        if !quoted.closed {
            let message = format!("The quote after “{}” was closed.", quoted.text);
            self.problems.fix("quote_closed", message, rules::ICNCP);
        } else if !quoted.single {
            let message = format!("“{}” stands in single quotes.", quoted.text);
            self.problems.fix("quotes_fixed", message, rules::ICNCP);
        }
    }

    /// `sp. 'Julau'`: a place in quotes is trade habit, no cultivar epithet.
    fn quoted_tag(&mut self, quoted: &Quoted, parts: &mut Parts) {
        let text = quoted.text.trim();
        let message = format!("“{text}” after sp. was taken for a tag, which has no quotes.");
        self.problems.fix("tag_quotes", message, rules::OPEN);
        let message = format!("Is “{text}” a tag (a place, an importer's code) or a cultivar?");
        self.problems.ask("tag_or_cultivar", message, rules::OPEN);
        append(&mut parts.tag, text);
    }

    /// `'Fortunei Group'`: a Group that is known, or has a Latin epithet, lost in quotes.
    fn group_in_quotes(&mut self, quoted: &Quoted, parts: &mut Parts) -> bool {
        let mut words: Vec<&str> = quoted.text.split(' ').collect();
        if words.len() < 2 || !is_group_word(words.pop().unwrap_or_default()) {
            return false;
        }
        let epithet = words.join(" ");
        let genus = parts.genus.as_deref().unwrap_or_default();
        let known = self
            .context
            .known_groups
            .iter()
            .any(|row| fold(row.genus) == fold(genus) && fold(row.group) == fold(&epithet));
        let latin = words.iter().all(|word| latin(word) >= Latin::Looks);
        if !(known || latin) || parts.group.is_some() {
            return false;
        }
        let message = format!("{epithet} Group is a Group; single quotes are for cultivars.");
        self.problems.fix("quotes_not_for_group", message, rules::ICNCP);
        self.set_group(&epithet, parts);
        true
    }

    /// Marks of rights and awards among the words.
    pub(super) fn mark_word(&mut self, word: &str, cursor: &mut Cursor, parts: &mut Parts) -> bool {
        let lower = word.to_lowercase();
        let cultivated = parts.cultivar.is_some() || parts.trade.is_some();
        let patent =
            lower.starts_with("uspp") || (lower.starts_with("pp") && crate::text::has_digit(word));
        if !cultivated || !(MARK_WORDS.contains(&lower.as_str()) || patent) {
            return false;
        }
        self.drop_mark(word, parts);
        cursor.at += 1;
        if let Some(number) = cursor.word_ahead(0)
            && number.bytes().all(|b| b.is_ascii_digit() || b == b',' || b == b'#')
        {
            parts.marks.push(number.to_owned());
            cursor.at += 1;
        }
        true
    }

    fn drop_mark(&mut self, mark: &str, parts: &mut Parts) {
        let message = format!("“{mark}” is no part of a name.");
        self.problems.fix("mark_dropped", message, rules::PRINCIPLE_6);
        parts.marks.push(mark.to_owned());
    }

    /// Something in brackets.
    pub(super) fn paren(
        &mut self,
        inner: &str,
        closed: bool,
        cursor: &mut Cursor,
        parts: &mut Parts,
    ) {
        if !closed {
            self.problems.fix("bracket_closed", "An open bracket was closed.", rules::INPUT);
        }
        if let Some(synonym) = synonym_note(inner) {
            parts.synonym = Some(synonym.to_owned());
            let message = "The synonym in brackets was set aside; it is no part of the name.";
            self.problems.note("synonym_split", message, rules::INPUT);
        } else if parts.open.is_some() {
            append(&mut parts.tag, &format!("({inner})"));
        } else if super::author::is_year(inner) {
            let message = "The year is no part of a botanical name.";
            self.problems.fix("year_dropped", message, rules::AUTHORS);
        } else if MARK_WORDS.contains(&inner.to_lowercase().as_str()) || matches!(inner, "™" | "®")
        {
            self.drop_mark(inner, parts);
        } else if let Some(quoted) = lone_quoted(inner) {
            if parts.trade.is_none() {
                let message = "Brackets around the epithet were taken off.";
                self.problems.fix("brackets", message, rules::INPUT);
            }
            self.quoted(&quoted, cursor, parts);
        } else if self.bracketed_words(inner, parts) {
        } else if is_basionym(inner, cursor.ahead(1)) && parts.cultivar.is_none() {
            self.author(cursor, parts);
        } else if inner.contains(['×', '♀']) || inner.contains(" x ") || inner.contains(" X ") {
            self.parentage(inner, parts);
        } else if crate::text::has_digit(inner) && parts.cultivar.is_none() && parts.tag.is_none() {
            parts.tag = Some(format!("({inner})"));
        } else {
            self.set_aside(inner, parts);
        }
    }

    /// `(Teller Group)`, `(Prince John gx)`.
    fn bracketed_words(&mut self, inner: &str, parts: &mut Parts) -> bool {
        let letters = inner.chars().filter(|c| c.is_alphabetic()).count();
        let shouted = crate::text::all_capitals(inner) && letters >= 3;
        if shouted && !crate::text::has_digit(inner) && parts.trade.is_none() {
            let message = "A trade designation stands before the epithet, without brackets.";
            self.problems.fix("trade_order", message, rules::PRINCIPLE_6);
            parts.trade = Some(inner.to_owned());
            return true;
        }
        let mut words: Vec<&str> = inner.split(' ').collect();
        let Some(marker) = words.pop().filter(|_| !words.is_empty()) else { return false };
        if is_group_word(marker) {
            if marker != "Group" {
                let message = format!("“{marker}” is written Group, in full and with a capital.");
                self.problems.fix("group_word", message, rules::ICNCP);
            }
            if parts.cultivar.is_some() {
                let message = "The Group stands before the cultivar epithet.";
                self.problems.fix("group_brackets", message, rules::ICNCP);
            }
            self.set_group(&words.join(" "), parts);
            return true;
        }
        if is_grex_word(marker) {
            let message = "A grex stands without brackets.";
            self.problems.fix("brackets", message, rules::ICNCP);
            self.set_grex(&words.join(" "), marker, parts);
            return true;
        }
        false
    }

    /// A parentage in brackets: the name itself where there is no other, else a note beside it.
    fn parentage(&mut self, inner: &str, parts: &mut Parts) {
        let outer = self.in_formula;
        self.remember_for_parentage(parts);
        let formula = self.nested(inner);
        self.in_formula = outer;
        if !formula.is_formula() {
            self.set_aside(inner, parts);
            return;
        }
        let alone = parts.species.is_none()
            && parts.cultivar.is_none()
            && parts.group.is_none()
            && parts.grex.is_none()
            && parts.trade.is_none()
            && parts.open.is_none();
        if alone && !outer {
            let message = "The formula was written with the genus of each parent.";
            self.problems.fix("formula_brackets", message, rules::ICN_H2_EX2);
            *parts = formula;
            return;
        }
        let message = "The parentage in brackets was set aside; it is no part of the name.";
        self.problems.note("parentage_split", message, rules::INPUT);
        parts.parentage = Some(Box::new(formula));
    }

    fn set_aside(&mut self, inner: &str, parts: &mut Parts) {
        let message = format!("“{inner}” in brackets was set aside; it is no part of the name.");
        self.problems.fix("remark_set_aside", message, rules::INPUT);
        parts.left_over.push(inner.to_owned());
    }
}

fn append(place: &mut Option<String>, text: &str) {
    match place {
        Some(before) => {
            before.push(' ');
            before.push_str(text);
        }
        None => *place = Some(text.to_owned()),
    }
}

/// An epithet in quotes that is all there is between brackets.
fn lone_quoted(inner: &str) -> Option<Quoted> {
    match tokens(inner).as_slice() {
        [Tok::Quoted(quoted)] => Some(quoted.clone()),
        _ => None,
    }
}

/// `syn. Saintpaulia ionantha`, `= Saintpaulia ionantha`.
fn synonym_note(inner: &str) -> Option<&str> {
    let lower = inner.to_lowercase();
    for prefix in ["syns.", "syn.", "syn:", "syn ", "synonym ", "formerly ", "="] {
        if lower.starts_with(prefix) {
            return inner.get(prefix.len()..).map(str::trim);
        }
    }
    None
}
