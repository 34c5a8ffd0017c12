//! Traits that are known to follow one gene: what seedlings of a pair should be like.
//!
//! A genotype is written with one letter for each set of chromosomes, the capital for the allele that
//! shows with one copy, `?` for one that is not known: `Vv`, `V?`, `vvvv`. Chromosomes pair at random,
//! without double reduction (Haldane 1930, from memory).

use std::collections::BTreeMap;

use serde::Serialize;
use stats::{
    genetics::{Fraction, Offspring, gametes},
    success::{RateKnown, needed},
};
use texts::Texts;

use super::words;
use crate::{AskError, Result};

/// What is known of the genes of a clone: genotype by trait.
pub type Genes = BTreeMap<String, String>;

/// A trait among the seedlings of a pair.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Segregates {
    /// The trait.
    pub of: String,
    /// Genotypes of seed parent and pollen parent.
    pub parents: [String; 2],
    /// Share of the seedlings that show it: least and most, apart where an allele is not known.
    pub shows: (f64, f64),
    /// Seedlings to raise for one that shows it, and for one that does not, with 95 %; none where
    /// there may be none.
    pub raise: [Option<u64>; 2],
    /// The same in words.
    pub text: String,
}

/// Reads `variegation Vv; double dd`: a trait and its genotype each.
///
/// # Errors
/// A genotype that is none.
pub(super) fn read(typed: &str) -> Result<Genes> {
    let mut out = Genes::new();
    for piece in typed.split([';', ',']).map(str::trim).filter(|p| !p.is_empty()) {
        let wrong = |problem: &str| AskError::field("genes", piece, problem);
        let (name, genotype) = piece.rsplit_once([' ', ':', '=']).ok_or_else(|| {
            wrong("has no genotype; write the trait and its letters, such as `variegation Vv`")
        })?;
        let letters: Vec<char> = genotype.trim().chars().collect();
        if !matches!(letters.len(), 2 | 4 | 6) {
            return Err(wrong(
                "is no genotype; write 2, 4 or 6 letters, one for each set of chromosomes",
            ));
        }
        let mut known = letters.iter().filter(|c| **c != '?').map(|c| c.to_ascii_lowercase());
        let first = known.next();
        if first.is_some_and(|f| !f.is_ascii_alphabetic()) || known.any(|c| Some(c) != first) {
            return Err(wrong(
                "is no genotype; write one letter, large or small, and ? where an allele is not known",
            ));
        }
        let mut sorted = letters;
        // Capitals first, unknown last.
        sorted.sort_by_key(|c| (*c == '?', c.is_ascii_lowercase()));
        let name = name.trim().trim_end_matches([':', '=']).trim().to_lowercase();
        if name.is_empty() {
            return Err(wrong("names no trait"));
        }
        out.insert(name, sorted.into_iter().collect());
    }
    Ok(out)
}

/// The same as it is written.
pub(super) fn written(genes: &Genes) -> String {
    let each: Vec<String> =
        genes.iter().map(|(name, letters)| format!("{name} {letters}")).collect();
    each.join("; ")
}

/// Share without a copy of the dominant allele, at the least and at the most.
fn without(a: &str, b: &str) -> Option<(f64, f64)> {
    let copies = |letters: &str| {
        let sure = letters.chars().filter(char::is_ascii_uppercase).count();
        let unknown = letters.chars().filter(|c| *c == '?').count();
        (sure, sure + unknown)
    };
    let ((a_low, a_high), (b_low, b_high)) = (copies(a), copies(b));
    let share = |x: usize, y: usize| {
        let of = |letters: &str, copies: usize| {
            let sets = u32::try_from(letters.len()).ok()?;
            gametes(sets, u32::try_from(copies).ok()?, Fraction::ZERO).ok()
        };
        Some(Offspring::of(&of(a, x)?, &of(b, y)?).ok()?.recessive.value())
    };
    Some((share(a_high, b_high)?, share(a_low, b_low)?))
}

/// Seedlings to raise for one of a share, with 95 %.
fn raise(share: f64) -> Option<u64> {
    if share <= 0.0 {
        return None;
    }
    needed(RateKnown::Share(share), 1, 0.95).ok().map(|n| n.n)
}

/// What is known of the seedlings of two parents: one line for each trait that both are known for.
pub(super) fn segregates(seed: &Genes, pollen: &Genes, t: Texts) -> Vec<Segregates> {
    let mut out = Vec::new();
    for (of, a) in seed {
        let Some(b) = pollen.get(of) else { continue };
        let Some((least, most)) = without(a, b) else { continue };
        let shows = (1.0 - most, 1.0 - least);
        let share = if (shows.1 - shows.0).abs() < 1e-9 {
            words::fraction(shows.0)
        } else {
            t.f("{a} to {b}", &[("a", &words::fraction(shows.0)), ("b", &words::fraction(shows.1))])
        };
        let raise = [raise(shows.0), raise(1.0 - shows.1)];
        let mut text = t.f(
            "{trait}, {a} × {b}: {share} show it",
            &[("trait", of), ("a", a), ("b", b), ("share", &share)],
        );
        if let (Some(n), true) = (raise[1], shows.1 < 1.0) {
            text.push_str(&t.f("; raise {n} for one without it (95 %)", &[("n", &n)]));
        }
        let parents = [a.clone(), b.clone()];
        out.push(Segregates { of: of.clone(), parents, shows, raise, text });
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shares(a: &str, b: &str) -> (f64, f64) {
        let (least, most) = without(a, b).unwrap();
        (1.0 - most, 1.0 - least)
    }

    /// Mendel 1866: three to one of two hybrids, one to one of a hybrid and the recessive parent; a
    /// tetraploid with two copies, by itself, 35 to 1 (Haldane 1930, from memory).
    #[test]
    fn ratios_are_those_of_the_books() {
        assert_eq!(shares("Vv", "Vv"), (0.75, 0.75));
        assert_eq!(shares("Vv", "vv"), (0.5, 0.5));
        let (low, high) = shares("VVvv", "VVvv");
        assert!((low - 35.0 / 36.0).abs() < 1e-12 && low == high);
        // An allele that is not known leaves both open.
        assert_eq!(shares("V?", "vv"), (0.5, 1.0));
    }

    /// 1 − 0.75ⁿ ≥ 0.95 from 11 seedlings on.
    #[test]
    fn so_many_are_raised_for_one() {
        assert_eq!((raise(0.25), raise(0.5), raise(0.0)), (Some(11), Some(5), None));
    }

    #[test]
    fn genotypes_are_read_and_what_is_none_is_refused() {
        let read_back = |typed: &str| written(&read(typed).unwrap());
        assert_eq!(read_back("Variegation vV; double: dddd"), "double dddd; variegation Vv");
        assert_eq!(read_back("red leaf ?R"), "red leaf R?");
        for typed in ["Vv", "variegation Vw", "variegation VVV", "variegation 12"] {
            assert!(read(typed).is_err(), "{typed}");
        }
    }
}
