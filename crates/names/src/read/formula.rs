//! Formulae: finding the signs that join names, and reading the operands.

use super::Reader;
use super::token::{Tok, tokens};
use crate::judge::formula as judge;
use crate::reading::{HybridSign, Parts};
use crate::rules;
use crate::tables::ranks::rank_of;
use crate::tables::words::{SELFED, UNKNOWN};
use crate::text::{fold, starts_lower, starts_upper};

/// What a × or + is at the place where it stands.
enum Role {
    /// It joins two names.
    Joins,
    /// It belongs to the name or epithet behind it.
    Belongs,
    /// A mistake to drop.
    Stray,
    /// Nothing stands behind it.
    Dangling,
}

impl Reader<'_, '_> {
    /// Read a name or a formula.
    pub(super) fn any(&mut self, toks: &[Tok]) -> Parts {
        if let [Tok::Paren(inner, _)] = toks {
            self.problems.fix(
                "brackets",
                "Brackets around the whole name were taken off.",
                rules::INPUT,
            );
            return self.nested(inner);
        }
        let (operands, joined_by) = self.split(toks);
        match joined_by {
            None => self.name(operands.first().map_or(&[], Vec::as_slice)),
            Some(sign) => self.formula(&operands, sign),
        }
    }

    /// Read text from inside brackets, no deeper than a name can sensibly go.
    pub(super) fn nested(&mut self, inner: &str) -> Parts {
        self.depth += 1;
        let parts = if self.depth > 8 {
            self.problems.error("too_deep", "Brackets are nested too deeply.", rules::ICN_H2);
            Parts::default()
        } else {
            self.any(&tokens(inner))
        };
        self.depth -= 1;
        parts
    }

    fn formula(&mut self, operands: &[Vec<Tok>], sign: HybridSign) -> Parts {
        let outer = std::mem::replace(&mut self.in_formula, true);
        let mut parts = Parts { joined_by: Some(sign), ..Parts::default() };
        for toks in operands {
            let operand = match toks.as_slice() {
                [] => {
                    self.missing_parent();
                    continue;
                }
                [Tok::Word(word)] if is_selfed(word) && !parts.operands.is_empty() => {
                    self.problems.fix("selfed", "The parent was written again.", rules::ICN_H2);
                    let before = parts.operands.last().cloned().unwrap_or_default();
                    Parts { sex: None, ..before }
                }
                [Tok::Paren(inner, _)] => self.nested(inner),
                [Tok::Paren(inner, _), Tok::Symbol(c)] => {
                    let mut operand = self.nested(inner);
                    operand.sex = super::name::sex_of(*c);
                    operand
                }
                _ => self.name(toks),
            };
            parts.operands.push(operand);
        }
        self.in_formula = outer;
        judge::formula(&mut parts, self.problems);
        parts
    }

    fn missing_parent(&mut self) {
        let message = "A parent is missing beside the sign; write ? for an unknown parent.";
        self.problems.error("parent_missing", message, rules::ICN_H2);
    }

    /// Cut the tokens at the signs that join names.
    fn split(&mut self, toks: &[Tok]) -> (Vec<Vec<Tok>>, Option<HybridSign>) {
        let mut operands = vec![Vec::new()];
        let mut joined_by = None;
        for (at, tok) in toks.iter().enumerate() {
            let sign = match tok {
                Tok::Cross { .. } => HybridSign::Hybrid,
                Tok::Plus { .. } => HybridSign::Graft,
                _ => {
                    push(&mut operands, tok);
                    continue;
                }
            };
            let left = operands.last().map_or(&[] as &[Tok], Vec::as_slice);
            let bare =
                left.first().and_then(Tok::word).is_some_and(|word| self.is_bare_start(word));
            match role(left, &toks[at..], joined_by.is_some(), bare) {
                Role::Joins => {
                    self.joining(tok);
                    if joined_by.is_some_and(|before| before != sign) {
                        let message = "× and + cannot join names side by side; use brackets.";
                        self.problems.error("mixed_signs", message, rules::ICN_H2);
                    }
                    joined_by = Some(sign);
                    operands.push(Vec::new());
                }
                Role::Belongs => push(&mut operands, tok),
                Role::Stray => self.stray(sign),
                Role::Dangling => self.dangling(left.len() <= 1 && joined_by.is_none()),
            }
        }
        (operands, joined_by)
    }

    fn joining(&mut self, tok: &Tok) {
        match tok {
            Tok::Cross { letter: true, .. } => self.letter_for_sign(),
            Tok::Cross { glued, apart, .. } | Tok::Plus { glued, apart } if *glued || !apart => {
                let message = "One space belongs on each side of the sign in a formula.";
                self.problems.fix("formula_spaces", message, rules::ICN_H2);
            }
            _ => {}
        }
    }

    pub(super) fn letter_for_sign(&mut self) {
        let message = "The letter x was replaced by the hybrid sign ×.";
        self.problems.fix("hybrid_sign_fixed", message, rules::ICN_H3A);
    }

    fn stray(&mut self, sign: HybridSign) {
        match sign {
            HybridSign::Hybrid => self.problems.fix(
                "hybrid_sign_dropped",
                "No × stands directly before a cultivar epithet; it was dropped.",
                rules::ACRA,
            ),
            HybridSign::Graft => self.problems.fix(
                "graft_sign_dropped",
                "Within one genus a graft-chimaera is named as a cultivar, without +.",
                rules::ICNCP,
            ),
        }
    }

    fn dangling(&mut self, name_only: bool) {
        if name_only {
            let message = "Nothing stands after the hybrid sign.";
            self.problems.error("hybrid_sign_alone", message, rules::ICN_H3_1);
        } else {
            self.missing_parent();
        }
    }
}

fn push(operands: &mut [Vec<Tok>], tok: &Tok) {
    if let Some(last) = operands.last_mut() {
        last.push(tok.clone());
    }
}

/// Whether the tokens so far are a genus and nothing that could be a parent on its own with what
/// follows being its epithet.
fn genus_only(left: &[Tok]) -> bool {
    let rest: Vec<&Tok> = left
        .iter()
        .filter(|tok| !matches!(tok, Tok::Cross { .. } | Tok::Plus { .. } | Tok::Query { .. }))
        .filter(|tok| !tok.word().is_some_and(is_qualifier))
        .collect();
    matches!(rest.as_slice(), [Tok::Word(_)])
}

pub(super) fn is_qualifier(word: &str) -> bool {
    matches!(word.to_lowercase().trim_end_matches('.'), "cf" | "aff" | "conf" | "affin" | "confer")
}

fn role(left: &[Tok], from_sign: &[Tok], joined: bool, bare: bool) -> Role {
    let (sign, rest) = (&from_sign[0], &from_sign[1..]);
    let graft = matches!(sign, Tok::Plus { .. });
    let glued = matches!(sign, Tok::Cross { glued: true, .. });
    let Some(next) = rest.first() else { return Role::Dangling };
    if left.is_empty() {
        return match next {
            Tok::Word(_) => Role::Belongs,
            Tok::Query { .. } | Tok::Paren(..) if !joined => Role::Dangling,
            _ => Role::Stray,
        };
    }
    // An epithet whose genus stands outside the brackets is a whole parent.
    let genus = genus_only(left) && !bare;
    let after_rank = left.len() > 1
        && left.last().and_then(Tok::word).is_some_and(|w| starts_lower(w) && rank_of(w).is_some());
    match next {
        Tok::Quoted(_) if genus => Role::Stray,
        Tok::Word(word) if starts_lower(word) => {
            let own =
                is_unknown(word) || is_selfed(word) || (rank_of(word).is_some() && !after_rank);
            if !own && (genus || after_rank) && !is_repeated_genus(left, word) {
                Role::Belongs
            } else {
                Role::Joins
            }
        }
        // `Begonia ×Credneri`, `Begonia x Tuberhybrida`: an epithet with a wrong capital.
        Tok::Word(word) if genus && !graft && starts_upper(word) => {
            if glued || word.ends_with("hybrida") { Role::Belongs } else { Role::Joins }
        }
        Tok::Paren(inner, _)
            if genus && (inner.contains(['×', '\'', '‘']) || inner.contains(" x ")) =>
        {
            Role::Stray
        }
        Tok::Query { glued: true, .. }
            if genus && rest.get(1).and_then(Tok::word).is_some_and(starts_lower) =>
        {
            Role::Belongs
        }
        Tok::Cross { .. } | Tok::Plus { .. } | Tok::Mark(_) => Role::Stray,
        _ => Role::Joins,
    }
}

/// `Begonia x begonia bowerae`: the word behind the sign is the genus again.
fn is_repeated_genus(left: &[Tok], word: &str) -> bool {
    left.iter().filter_map(Tok::word).any(|genus| fold(genus) == fold(word))
}

fn is_selfed(word: &str) -> bool {
    SELFED.contains(&fold(word).as_str())
}

/// Whether a word says that a parent is unknown.
pub(super) fn is_unknown(word: &str) -> bool {
    UNKNOWN.contains(&fold(word).trim_end_matches('.'))
}
