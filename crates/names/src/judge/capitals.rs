//! Capitals inside an epithet: each word has one, but for joining words.

use crate::read::Problems;
use crate::rules;
use crate::tables::words::{ACRONYMS, ENGLISH_JOINING, HYPHEN_PREFIXES, JOINING};
use crate::text::{all_capitals, capitalise, has_digit, starts_lower, starts_upper};

/// The epithet with the capitals it should have.
pub(super) fn settle(text: &str, problems: &mut Problems) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let shouted = is_shouted(text, words.len());
    let last = words.len().saturating_sub(1);
    let mut out: Vec<String> = Vec::with_capacity(words.len());
    for (at, word) in words.iter().enumerate() {
        let levelled = if shouted { level(word) } else { level_start(word) };
        let word = joining(&levelled, at, last, shouted);
        out.push(hyphened(&word, shouted));
    }
    let mut out = out.join(" ");
    // French and Spanish: a capital on both small words is English habit.
    for pair in ["De La", "De Los", "De Las", "De Le"] {
        out = out.replace(&format!(" {pair} "), &format!(" {} ", pair.to_lowercase()));
    }
    if out != text {
        let message = format!("Each word has a capital, joining words have none: “{out}”.");
        problems.fix("epithet_capitals", message, rules::ICNCP);
    }
    out
}

/// Whether the whole epithet is in capitals, and is no code or abbreviation.
fn is_shouted(text: &str, words: usize) -> bool {
    let letters = text.chars().filter(|c| c.is_alphabetic()).count();
    let vowels = text.chars().any(|c| "AEIOUYÄÖÜÉÈÊÁÓÍÚÅ".contains(c));
    let abbreviation = words == 1 && ACRONYMS.contains(&text);
    all_capitals(text) && !abbreviation && vowels && letters >= 3 && (words > 1 || !has_digit(text))
}

fn level(word: &str) -> String {
    if ACRONYMS.contains(&word) || is_roman_numeral(word) || has_digit(word) {
        return word.to_owned();
    }
    // After a hyphen or an apostrophe with one letter before it the next letter keeps its capital.
    let mut out = String::new();
    for (at, piece) in word.split('-').enumerate() {
        if at > 0 {
            out.push('-');
        }
        let lower = capitalise(&piece.to_lowercase());
        let elided = lower.find('’').filter(|at| lower[..*at].chars().count() == 1);
        match elided {
            Some(at) => {
                let (before, after) = lower.split_at(at + '’'.len_utf8());
                out.push_str(before);
                out.push_str(&capitalise(after));
            }
            None => out.push_str(&lower),
        }
    }
    out
}

/// `KORbin`: a breeder's code in capitals at the head of a word is levelled.
fn level_start(word: &str) -> String {
    let capitals = word.chars().take_while(|c| c.is_uppercase()).count();
    let letters = word.chars().filter(|c| c.is_alphabetic()).count();
    let small = word.chars().skip(capitals).all(|c| c.is_lowercase());
    if capitals >= 2 && capitals < letters && small && letters == word.chars().count() {
        return capitalise(&word.to_lowercase());
    }
    // A shouted word among others: `Queen of SHEBA`.
    let vowels = word.chars().any(|c| "AEIOUY".contains(c));
    if letters >= 5 && vowels && all_capitals(word) && !has_digit(word) && !is_roman_numeral(word) {
        return level(word);
    }
    word.to_owned()
}

fn is_roman_numeral(word: &str) -> bool {
    !word.is_empty()
        && word.len() <= 7
        && word.chars().all(|c| "IVXLC".contains(c))
        && word != "CIVIL"
}

fn joining(word: &str, at: usize, last: usize, shouted: bool) -> String {
    let lower = word.to_lowercase();
    let inside = at > 0 && at < last;
    if let Some(elided) = elision(word, at) {
        return elided;
    }
    if inside && ENGLISH_JOINING.contains(&lower.as_str()) {
        return lower;
    }
    if inside && matches!(lower.as_str(), "und" | "et") {
        return lower;
    }
    if inside && shouted && JOINING.contains(&lower.as_str()) {
        return lower;
    }
    let joins = JOINING.contains(&lower.as_str()) || ENGLISH_JOINING.contains(&lower.as_str());
    if starts_lower(word) && (at == 0 || at == last || !joins) {
        return capitalise(word);
    }
    word.to_owned()
}

/// `d’Artifice`, `L’Or`, `O’Brien`: a capital after the apostrophe; before it one at the head of the
/// epithet and in Irish names.
fn elision(word: &str, at: usize) -> Option<String> {
    let (first, second) = word.split_once('’')?;
    let small = matches!(first.to_lowercase().as_str(), "d" | "l" | "o" | "qu");
    if !small || !second.starts_with(char::is_alphabetic) || second.eq_ignore_ascii_case("clock") {
        return None;
    }
    let irish = first.eq_ignore_ascii_case("o");
    let upper = at == 0 || irish || starts_upper(first);
    let first = if upper { capitalise(first) } else { first.to_owned() };
    Some(format!("{first}’{}", capitalise(second)))
}

/// After a hyphen joining words are small, and so is what follows a prefix; the rest stays as typed,
/// since only a person knows a proper noun.
fn hyphened(word: &str, shouted: bool) -> String {
    let pieces: Vec<&str> = word.split('-').collect();
    if pieces.len() < 2 {
        return word.to_owned();
    }
    let prefix = HYPHEN_PREFIXES.contains(&pieces[0].to_lowercase().as_str());
    let last = pieces.len() - 1;
    let settled: Vec<String> = pieces
        .iter()
        .enumerate()
        .map(|(at, piece)| {
            let lower = piece.to_lowercase();
            let small = ENGLISH_JOINING.contains(&lower.as_str())
                || matches!(
                    lower.as_str(),
                    "no" | "a" | "de" | "la" | "le" | "du" | "des" | "und" | "et"
                );
            let inner = at > 0 && at < last && small;
            if inner || (at > 0 && (prefix || shouted)) { lower } else { (*piece).to_owned() }
        })
        .collect();
    settled.join("-")
}
