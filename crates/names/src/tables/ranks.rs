//! Rank terms, as they should be and as they are met.

use crate::reading::Rank;

/// Standard term, rank, and the other spellings (without full stop, lower case).
const RANKS: &[(&str, Rank, &[&str])] = &[
    ("subg.", Rank::Subgenus, &["subg", "subgen", "subgenus"]),
    ("sect.", Rank::Section, &["sect", "section", "sectio"]),
    ("subsect.", Rank::Subsection, &["subsect", "subsection", "subsectio"]),
    ("ser.", Rank::Series, &["ser"]),
    ("subser.", Rank::Subseries, &["subser", "subseries"]),
    ("subsp.", Rank::Subspecies, &["subsp", "ssp", "subspecies", "subspec", "sbsp"]),
    ("var.", Rank::Variety, &["var", "varietas", "v"]),
    ("subvar.", Rank::Subvariety, &["subvar", "subvarietas", "subvariety"]),
    ("f.", Rank::Form, &["f", "fo", "forma", "fma", "form"]),
    ("subf.", Rank::Subform, &["subf", "subfo", "subforma", "subform"]),
];

/// A rank term that was recognised.
#[derive(Clone, Copy)]
pub(crate) struct Term {
    pub rank: Rank,
    pub notho: bool,
    /// Whether it was written as it should be.
    pub standard: bool,
}

/// Read a rank term with an optional prefix notho- or n-.
pub(crate) fn rank_of(word: &str) -> Option<Term> {
    let lower = word.to_lowercase();
    if let Some(term) = plain_rank(&lower) {
        return Some(term);
    }
    for prefix in ["notho-", "notho", "n-", "n"] {
        if let Some(term) = lower.strip_prefix(prefix).and_then(plain_rank) {
            return Some(Term {
                notho: true,
                standard: term.standard && prefix == "notho",
                ..term
            });
        }
    }
    None
}

fn plain_rank(lower: &str) -> Option<Term> {
    let bare = lower.trim_end_matches('.');
    RANKS.iter().find(|(_, _, spellings)| spellings.contains(&bare)).map(|(term, rank, _)| Term {
        rank: *rank,
        notho: false,
        standard: lower == *term,
    })
}

/// Whether the rank lies between genus and species.
pub(crate) fn below_genus(rank: Rank) -> bool {
    rank <= Rank::Subseries
}
