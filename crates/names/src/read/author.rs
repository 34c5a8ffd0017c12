//! Capital words after the genus or an epithet: authors, or a cultivar whose quotes are missing.

use super::Reader;
use super::name::{Cursor, is_citation_word};
use super::token::Tok;
use crate::reading::{HybridSign, Parts};
use crate::rules;
use crate::tables::latin::{Latin, latin};
use crate::tables::orchids::is_orchid;
use crate::tables::ranks::{below_genus, rank_of};
use crate::tables::usage::PARTICLES;
use crate::tables::words::{ENGLISH_JOINING, JOINING};
use crate::text::{has_digit, starts_lower, starts_upper};

impl Reader<'_, '_> {
    /// A word with a capital (or a small word of citations) that no marker explained.
    pub(super) fn capital(&mut self, word: &str, cursor: &mut Cursor, parts: &mut Parts) {
        if self.binomial_as_epithet(word, cursor, parts) {
            return;
        }
        if cursor.rank.is_some() && starts_upper(word) && !word.ends_with('.') {
            self.epithet(word, cursor, parts);
            return;
        }
        if cursor.cultivar_marker {
            self.unquoted_after_marker(cursor, parts);
            return;
        }
        if cursor.hybrid && parts.species.is_none() {
            self.epithet(word, cursor, parts);
            return;
        }
        if parts.cultivar.is_some() || parts.group.is_some() || parts.grex.is_some() {
            self.after_cultivated(word, cursor, parts);
            return;
        }
        let run = plain_run(cursor, parts.species.is_some());
        if parts.species.is_none() && parts.infra.is_empty() {
            self.capital_after_genus(word, &run, cursor, parts);
        } else if run.len() >= 2 && !looks_author(cursor, &run) {
            self.missing_quotes(&run, cursor, parts);
        } else {
            self.author(cursor, parts);
        }
    }

    /// Authors after a cultivated epithet fall away; other words have no place there.
    fn after_cultivated(&mut self, word: &str, cursor: &mut Cursor, parts: &mut Parts) {
        if word.ends_with('.') || is_citation_word(word) {
            let mut beside = Parts::default();
            self.author(cursor, &mut beside);
            if beside.left_over.is_empty() {
                let message = "Authors are left off the name of a cultivated plant.";
                self.problems.fix("author_dropped", message, rules::ACRA);
            }
            parts.left_over.append(&mut beside.left_over);
            return;
        }
        cursor.at += 1;
        self.leave(word, parts);
    }

    fn capital_after_genus(
        &mut self,
        word: &str,
        run: &[&str],
        cursor: &mut Cursor,
        parts: &mut Parts,
    ) {
        if looks_author(cursor, run) || (run.len() == 1 && parts.genus_author.is_some()) {
            self.author(cursor, parts);
            return;
        }
        if run.is_empty() {
            cursor.at += 1;
            self.leave(word, parts);
            return;
        }
        let orchid = parts
            .genus
            .as_deref()
            .is_some_and(|genus| is_orchid(genus, parts.sign == Some(HybridSign::Hybrid)));
        let ends = cursor.ahead(run.len());
        // `Begonia Maculata`, `Begonia Rex 'Fireworks'`, `Begonia Maculata Raddi`.
        let epithet = latin(word) >= Latin::Looks
            && (run.len() == 1 || (run.len() == 2 && latin(run[1]) == Latin::No && ends.is_none()))
            && parts.sign != Some(HybridSign::Hybrid);
        let typed_small = self.genus_was_small;
        if epithet
            && (run.len() == 1 || latin(word) >= Latin::Epithet)
            && !(orchid && run.len() > 1)
        {
            if !typed_small && latin(word) == Latin::Looks {
                let message = format!(
                    "“{word}” was taken for the species epithet; or is it a cultivar without quotes?"
                );
                self.problems.ask("epithet_or_cultivar", message, rules::SMALL_LETTERS);
            }
            self.epithet(word, cursor, parts);
        } else if orchid {
            let text = run.join(" ");
            let message =
                format!("“{text}” was taken for a grex; the word grex follows its epithet.");
            self.problems.fix("grex_unmarked", message, rules::ICNCP);
            let message = format!("Is “{text}” a grex, or a cultivar without quotes?");
            self.problems.ask("grex_unmarked", message, rules::ICNCP);
            parts.grex = Some(text);
            cursor.at += run.len();
        } else {
            self.missing_quotes(run, cursor, parts);
        }
    }

    fn missing_quotes(&mut self, run: &[&str], cursor: &mut Cursor, parts: &mut Parts) {
        let text = run.join(" ");
        let message = format!("The cultivar epithet “{text}” stands in single quotes.");
        self.problems.fix("quotes_missing", message, rules::ICNCP);
        let message = format!("Is “{text}” a cultivar epithet? It had no quotes.");
        self.problems.ask("quotes_missing", message, rules::ICNCP);
        parts.cultivar = Some(text);
        cursor.at += run.len().max(1);
    }

    /// Words after `cv.` up to the next sign.
    fn unquoted_after_marker(&mut self, cursor: &mut Cursor, parts: &mut Parts) {
        let words: Vec<&str> = cursor.rest().iter().map_while(Tok::word).collect();
        cursor.cultivar_marker = false;
        cursor.at += words.len().max(1);
        if parts.cultivar.is_some() {
            self.leave(&words.join(" "), parts);
        } else {
            parts.cultivar = Some(words.join(" "));
        }
    }

    /// An author citation.
    pub(super) fn author(&mut self, cursor: &mut Cursor, parts: &mut Parts) {
        let mut pieces: Vec<String> = Vec::new();
        let begin = cursor.at;
        while let Some(tok) = cursor.peek() {
            match tok {
                Tok::Word(word) => {
                    if is_year(word) {
                        let message = "The year is no part of a botanical name.";
                        self.problems.fix("year_dropped", message, rules::AUTHORS);
                    } else if !self.author_word(word, cursor, &pieces) {
                        break;
                    } else {
                        pieces.push(word.clone());
                    }
                }
                Tok::Paren(inner, true) if is_basionym(inner, cursor.ahead(1)) => {
                    let words: Vec<String> = inner.split(' ').map(str::to_owned).collect();
                    pieces.push(format!("({})", self.cite(&words)));
                }
                _ => break,
            }
            cursor.at += 1;
        }
        if cursor.at == begin {
            let text = cursor.peek().map(Tok::text).unwrap_or_default();
            cursor.at += 1;
            self.leave(&text, parts);
            return;
        }
        let citation = self.cite(&pieces);
        if citation.is_empty() {
            return;
        }
        let place = if let Some(infra) = parts.infra.last_mut() {
            &mut infra.epithet.author
        } else if let Some(species) = &mut parts.species {
            &mut species.author
        } else {
            &mut parts.genus_author
        };
        match place {
            Some(before) => {
                before.push(' ');
                before.push_str(&citation);
            }
            None => *place = Some(citation),
        }
    }

    fn author_word(&self, word: &str, cursor: &Cursor, pieces: &[String]) -> bool {
        let next = cursor.word_ahead(1);
        if matches!(word, "f." | "f" | "fil.") {
            // filius after a person, forma before an epithet.
            let epithet = next.is_some_and(|w| {
                starts_lower(w) && !is_citation_word(w) && rank_of(w).is_none() && w.len() > 2
            });
            return !pieces.is_empty() && !epithet;
        }
        if is_citation_word(word) || PARTICLES.contains(&word) {
            return true;
        }
        if rank_of(word).is_some() && starts_lower(word) {
            return false;
        }
        if !pieces.is_empty() && (self.group_length(cursor).is_some() || trade_length(cursor) > 0) {
            return false;
        }
        let letter = word.trim_start_matches(['\'', '’', '(']);
        starts_upper(letter) && !has_digit(word)
    }

    /// The citation in its usual spelling.
    fn cite(&mut self, pieces: &[String]) -> String {
        let mut out = String::new();
        for piece in pieces {
            let piece = match piece.trim_end_matches([',', ';']) {
                "et" | "and" | "und" | "y" | "e" => {
                    self.problems.fix("author_and", "Two authors are joined by &.", rules::AUTHORS);
                    "&"
                }
                "fil." | "fil" | "f" => "f.",
                "Hort." | "hort" | "Hort" => "hort.",
                "al" => "al.",
                other => other,
            };
            let initial = out.ends_with('.') && ends_in_initial(&out);
            let tight = out.is_empty()
                || (piece == "f." && out.ends_with(|c: char| c == '.' || c.is_alphabetic()))
                || (initial && starts_upper(piece) && !out.ends_with(')'));
            if !tight {
                out.push(' ');
            }
            out.push_str(piece);
        }
        out.trim().to_owned()
    }
}

/// Whether a citation ends in a single initial (`C.`), which takes no space before the name.
fn ends_in_initial(citation: &str) -> bool {
    let body = citation.trim_end_matches('.');
    let last = body.rsplit([' ', '.', '(', '-', '&']).next().unwrap_or_default();
    last.chars().count() == 1 && starts_upper(last)
}

pub(super) fn is_year(word: &str) -> bool {
    let digits = word.trim_matches(['(', ')', ',', '.']);
    digits.len() == 4
        && digits.bytes().all(|b| b.is_ascii_digit())
        && digits.starts_with(['1', '2'])
}

/// Plain words from here on: capital, or small joining words between them; no full stops.
fn plain_run<'t>(cursor: &Cursor<'t>, species: bool) -> Vec<&'t str> {
    let mut run: Vec<&str> = Vec::new();
    for tok in cursor.rest() {
        let Some(word) = tok.word() else { break };
        let titled = matches!(word, "St." | "Mrs." | "Mr." | "Dr.");
        let capital = starts_upper(word.trim_start_matches(['\'', '’']));
        let number = word.bytes().all(|b| b.is_ascii_digit());
        let joins = !run.is_empty() && JOINING.contains(&word) || ENGLISH_JOINING.contains(&word);
        if (word.contains('.') && !titled) || !(capital || (number && !run.is_empty()) || joins) {
            break;
        }
        // `Kunth, 1825`: an author and the year.
        if is_year(word) && (species || run.last().is_some_and(|before| before.ends_with(','))) {
            break;
        }
        if super::cultivated::is_group_word(word) || super::cultivated::is_grex_word(word) {
            break;
        }
        run.push(word);
    }
    while run.last().is_some_and(|word| starts_lower(word) && run.len() > 1) {
        run.pop();
    }
    run
}

/// Whether what follows is written like an author citation.
fn looks_author(cursor: &Cursor, run: &[&str]) -> bool {
    let first = cursor.word_ahead(0).unwrap_or_default();
    if first.contains('.') || is_citation_word(first) {
        return true;
    }
    let after = cursor.ahead(run.len());
    let cited = match after {
        Some(Tok::Word(word)) => {
            matches!(word.as_str(), "&" | "ex" | "in" | "et" | "f." | "fil.")
                || (word.contains('.') && starts_upper(word))
        }
        _ => false,
    };
    // `van Houtte`, `de Vriese`: particle and one name.
    let particle = run.len() == 2 && PARTICLES.contains(&run[0].to_lowercase().as_str());
    run.len() <= 2 && (cited && !run.is_empty() || particle) && !has_english(run)
}

fn has_english(run: &[&str]) -> bool {
    run.iter().any(|word| ENGLISH_JOINING.contains(word))
}

/// `(Rchb.f.)` before a combining author, and not a remark in brackets.
pub(super) fn is_basionym(inner: &str, next: Option<&Tok>) -> bool {
    let words: Vec<&str> = inner.split(' ').collect();
    let authors = words.iter().all(|word| {
        let letter = word.trim_start_matches(['\'', '’']);
        (starts_upper(letter) || is_citation_word(word) || PARTICLES.contains(word))
            && !has_digit(word)
            && !word.contains(['‘', '"'])
    });
    let followed = next.and_then(Tok::word).is_some_and(|word| {
        starts_upper(word) || is_citation_word(word) || PARTICLES.contains(&word)
    });
    let group = words.last().is_some_and(|word| super::cultivated::is_group_word(word));
    authors && !group && (followed || inner.contains('.'))
}

/// Number of words from here that make a trade designation: capitals throughout.
pub(super) fn trade_length(cursor: &Cursor) -> usize {
    if cursor.shout || cursor.rank.is_some_and(|term| below_genus(term.rank)) {
        return 0;
    }
    let mut length = 0;
    let mut letters = 0;
    let mut joined = 0;
    for tok in cursor.rest() {
        let Some(word) = tok.word() else { break };
        let capitals = word.chars().filter(|c| c.is_uppercase()).count();
        let small = word.chars().any(|c| c.is_lowercase());
        let number = word.bytes().all(|b| b.is_ascii_digit());
        if small || word.contains('.') || (capitals == 0 && !(number && letters > 0) && word != "&")
        {
            break;
        }
        if super::open::is_code(word) && letters == 0 {
            break;
        }
        length += 1;
        letters += capitals;
        if capitals > 0 {
            joined = length;
        }
        if number {
            joined = length;
        }
    }
    if letters >= 3 { joined } else { 0 }
}
