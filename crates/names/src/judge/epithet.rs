//! The form of cultivar, grex and Group epithets.

use super::{capitals, claims, marks};
use crate::context::Context;
use crate::read::Problems;
use crate::rules;
use crate::tables::latin::{Latin, latin, living};
use crate::text::has_digit;

/// Most characters of an epithet, spaces not counted.
const LONGEST: usize = 30;
/// Most characters of a code used as an epithet.
const LONGEST_CODE: usize = 10;

/// Judge and repair a cultivar (or grex) epithet.
pub(super) fn cultivar(
    typed: &str,
    genus: &str,
    context: &Context,
    problems: &mut Problems,
) -> String {
    let text = marks::settle(typed, context, problems);
    let text = capitals::settle(&text, problems);
    substance(&text, problems);
    length(&text, context, problems);
    claims::banned(&text, context, problems);
    claims::merit(&text, context, problems);
    claims::genus_repeated(&text, genus, problems);
    claims::descriptive(&text, problems);
    not_latin(&text, context, problems);
    text
}

/// Judge and repair a Group epithet, which may be Latin.
pub(super) fn group(typed: &str, problems: &mut Problems) -> String {
    let text = marks::settle(typed, &Context::default(), problems);
    let text = capitals::settle(&text, problems);
    if text.is_empty() {
        problems.error("epithet_missing", "The Group has no epithet.", rules::ICNCP);
    }
    text
}

fn substance(text: &str, problems: &mut Problems) {
    let letters = text.chars().filter(|c| c.is_alphabetic()).count();
    let others = text.chars().filter(|c| c.is_numeric()).count();
    if letters == 0 && others == 0 {
        problems.error("epithet_missing", "The epithet is empty.", rules::ICNCP);
    } else if letters == 0 {
        let message = format!("“{text}” has numerals only; an epithet needs letters.");
        problems.error("numerals_only", message, rules::ICNCP);
    } else if letters == 1 && others == 0 {
        let message = format!("“{text}” is a single letter.");
        problems.error("single_letter", message, rules::ICNCP);
    }
}

fn length(text: &str, context: &Context, problems: &mut Problems) {
    let count = text.chars().filter(|c| !c.is_whitespace()).count();
    if count > LONGEST && context.since(1996) {
        let message =
            format!("“{text}” has {count} characters without spaces; {LONGEST} are allowed.");
        problems.error("too_many_characters", message, rules::ICNCP);
    }
    let code = has_digit(text)
        && !text.contains(' ')
        && text.chars().filter(|c| c.is_alphabetic()).all(char::is_uppercase);
    if code && count > LONGEST_CODE {
        let message = format!("A code has up to {LONGEST_CODE} characters; “{text}” has {count}.");
        problems.warn("long_code", message, rules::ICNCP);
    }
}

/// New epithets are not wholly Latin, unless the Latin lives in a modern language or repeats an
/// older botanical epithet.
fn not_latin(text: &str, context: &Context, problems: &mut Problems) {
    if !context.since(1959) || living(text) {
        return;
    }
    let words: Vec<&str> = text.split([' ', '-']).filter(|word| !word.is_empty()).collect();
    let degrees: Vec<Latin> = words.iter().map(|word| latin(word)).collect();
    let all_latin = !degrees.is_empty() && degrees.iter().all(|degree| *degree >= Latin::Looks);
    if all_latin && degrees.contains(&Latin::Descriptive) {
        let message = format!(
            "“{text}” is wholly Latin, which an epithet may be only if established before 1959 or taken from a botanical name."
        );
        problems.error("latin_epithet", message, rules::ICNCP_21_12);
    } else if words.len() == 1 && degrees.first() == Some(&Latin::Epithet) {
        let message = format!(
            "“{text}” is Latin: it may stand only if it repeats an older botanical epithet."
        );
        problems.warn("latin_from_botany", message, rules::ICN_28);
    }
}
