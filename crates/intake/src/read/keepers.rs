//! Keepers spelt in several ways.

use std::collections::HashMap;

use strsim::osa_distance;

use super::draft::Draft;
use crate::{
    Options, Part,
    fold::{fold, key},
};

/// Words that stand before or after a keeper's name without telling keepers apart.
const WEAK: [&str; 40] = [
    "the", "les", "le", "la", "el", "los", "las", "de", "des", "du", "het", "der", "die", "das",
    "den", "l", "d", "von", "van", "i", "at", "a", "and", "und", "et", "y", "en", "och", "mr",
    "mrs", "ms", "frau", "herr", "dr", "mme", "m", "sra", "sr", "mevr", "fru",
];

#[derive(Debug, Clone)]
struct Keeper {
    text: String,
    words: Vec<String>,
    times: usize,
    first: usize,
}

fn significant(text: &str) -> Vec<String> {
    key(text)
        .split(' ')
        .filter(|w| !WEAK.contains(w) && !w.is_empty())
        .map(|w| if matches!(w, "st" | "ste" | "sint" | "sankt") { "saint" } else { w })
        .map(str::to_owned)
        .collect()
}

/// Gives every keeper one spelling and marks the rows typed otherwise.
pub(super) fn unify(drafts: &mut [Draft], options: &Options) {
    let mut keepers: Vec<Keeper> = Vec::new();
    let mut index: HashMap<String, usize> = HashMap::new();
    for (i, d) in drafts.iter().enumerate() {
        let Some(source) = d.source.as_ref().filter(|s| *s != "own") else { continue };
        match index.get(source) {
            Some(k) => keepers[*k].times += 1,
            None => {
                index.insert(source.clone(), keepers.len());
                let words = significant(source);
                keepers.push(Keeper { text: source.clone(), words, times: 1, first: i });
            }
        }
    }
    let canonical = canonical(&keepers, options);
    for d in drafts.iter_mut() {
        let Some(source) = d.source.clone() else { continue };
        let Some(k) = index.get(&source) else { continue };
        let target = &keepers[canonical[*k]].text;
        if *target != source {
            d.source = Some(target.clone());
            if !source.contains("'s ") {
                d.code("source_spelling_varies");
            }
            d.corrected(Part::Source);
        }
    }
}

/// For each keeper the one whose spelling is kept.
fn canonical(keepers: &[Keeper], options: &Options) -> Vec<usize> {
    // Lists name few keepers; beyond this the comparison of all pairs is left out.
    let mut by_word: HashMap<&str, Vec<usize>> = HashMap::new();
    for (k, keeper) in keepers.iter().enumerate() {
        for word in &keeper.words {
            by_word.entry(word.as_str()).or_default().push(k);
        }
    }
    let all: Vec<usize> = (0..keepers.len()).collect();
    (0..keepers.len())
        .map(|k| {
            let near: Vec<usize> = if keepers.len() <= 400 {
                all.clone()
            } else {
                keepers[k]
                    .words
                    .iter()
                    .filter_map(|w| by_word.get(w.as_str()))
                    .flatten()
                    .copied()
                    .take(50)
                    .collect()
            };
            let mut fits: Vec<usize> = near
                .into_iter()
                .filter(|o| *o != k && answers_allow(&keepers[k], &keepers[*o], options))
                .filter(|o| variant_of(&keepers[k], &keepers[*o]))
                .collect();
            fits.sort_unstable();
            fits.dedup();
            // A short form that fits two keepers stays as typed.
            match fits.as_slice() {
                [one] => *one,
                several => strongest(keepers, several).unwrap_or(k),
            }
        })
        .collect()
}

fn answers_allow(a: &Keeper, b: &Keeper, options: &Options) -> bool {
    let id = question_id(&b.text, &a.text);
    options.answers.get(&id).is_none_or(|answer| answer != "two")
}

/// Several variants of one another: the fullest, if the others are its variants too.
fn strongest(keepers: &[Keeper], several: &[usize]) -> Option<usize> {
    let best = several
        .iter()
        .copied()
        .max_by_key(|k| (keepers[*k].words.len(), keepers[*k].text.len()))?;
    let all = several.iter().all(|o| *o == best || variant_of(&keepers[*o], &keepers[best]));
    all.then_some(best)
}

/// Key of the question whether two spellings are one keeper.
pub(super) fn question_id(kept: &str, other: &str) -> String {
    format!("keeper:{kept}|{other}")
}

/// Whether `a` is another spelling of `b`, and `b` the one to keep.
fn variant_of(a: &Keeper, b: &Keeper) -> bool {
    if a.words.is_empty() || b.words.is_empty() {
        return false;
    }
    let (x, y) = (digits(a), digits(b));
    if !x.is_empty() && !y.is_empty() && x != y {
        // Stall 4 is not stall 14, and no slip of the pen makes it so.
        return false;
    }
    if a.words == b.words {
        return (b.times, std::cmp::Reverse(b.first)) > (a.times, std::cmp::Reverse(a.first));
    }
    if possessive(a, b) {
        return true;
    }
    if a.words.len() == b.words.len() && one_slip(a, b) {
        return (b.times, std::cmp::Reverse(b.first)) > (a.times, std::cmp::Reverse(a.first));
    }
    let longer = b.words.len() > a.words.len()
        || (b.words.len() == a.words.len() && b.text.len() > a.text.len());
    longer && within(&a.words, &b.words)
}

fn digits(keeper: &Keeper) -> String {
    keeper.text.chars().filter(char::is_ascii_digit).collect()
}

/// "Ruud's big one" is Ruud's.
fn possessive(a: &Keeper, b: &Keeper) -> bool {
    let Some((owner, _)) =
        fold(&a.text).split_once("'s ").map(|(o, r)| (o.to_owned(), r.to_owned()))
    else {
        return false;
    };
    b.words.len() <= 2 && b.words.first() == Some(&owner)
}

fn one_slip(a: &Keeper, b: &Keeper) -> bool {
    let (x, y) = (a.words.join(" "), b.words.join(" "));
    // Initials tell people apart.
    let initials_same =
        a.words.iter().zip(&b.words).all(|(p, q)| p.len() > 1 && q.len() > 1 || p == q);
    x.len() >= 6 && initials_same && osa_distance(&x, &y) == 1
}

/// Every word of the short form stands in the long one, in order; initials and
/// the last part of a compound count.
fn within(short: &[String], long: &[String]) -> bool {
    let mut at = 0;
    let mut strong = false;
    for word in short {
        let found = long[at..].iter().position(|l| {
            l == word
                || (word.len() == 1 && l.starts_with(word.as_str()))
                || (word.len() >= 4 && l.ends_with(word.as_str()))
                || (l.len() == 1 && word.starts_with(l.as_str()) && short.len() > 1)
        });
        let Some(found) = found else { return false };
        strong |= word.len() > 2;
        at += found + 1;
    }
    strong
}

#[cfg(test)]
mod tests {
    use super::*;

    fn keeper(text: &str, first: usize) -> Keeper {
        Keeper { text: text.to_owned(), words: significant(text), times: 1, first }
    }

    #[test]
    fn numbers_tell_keepers_apart() {
        assert!(!variant_of(&keeper("Marktstand 14", 1), &keeper("Marktstand 4", 0)));
        assert!(variant_of(&keeper("Underhegde Plants", 1), &keeper("Underhedge Plants", 0)));
    }
}
