//! Marks and symbols inside an epithet.

use crate::context::Context;
use crate::read::Problems;
use crate::rules;
use crate::tables::words::AND_WORDS;
use crate::text::fold;
use unicode_normalization::char::is_combining_mark;

/// The epithet with permitted marks, an inner apostrophe as U+2019.
pub(super) fn settle(typed: &str, context: &Context, problems: &mut Problems) -> String {
    let mut text: String = typed.split_whitespace().collect::<Vec<_>>().join(" ");
    text = text.replace(['\'', '‘', '`', '´', '′'], "’");
    text = text.trim_matches(',').trim().to_owned();
    dashes(&mut text, problems);
    ampersand(&mut text, problems);
    number_sign(&mut text, problems);
    ligatures(&mut text, problems);
    long_vowels(&mut text, problems);
    forbidden(&text, context, problems);
    text
}

fn dashes(text: &mut String, problems: &mut Problems) {
    if text.contains(['–', '—', '‐', '‑', '−']) {
        *text = text.replace(['–', '—', '‐', '‑', '−'], "-");
        problems.fix("dash", "A dash in an epithet is written as a hyphen.", rules::ICNCP);
    }
}

fn ampersand(text: &mut String, problems: &mut Problems) {
    if !text.contains('&') {
        return;
    }
    let folded = fold(text);
    let words: Vec<&str> = folded.split([' ', '-', '’']).collect();
    let and = AND_WORDS
        .iter()
        .find(|(_, signs)| words.iter().any(|word| signs.contains(word)))
        .map_or("and", |(and, _)| and);
    *text = text.replace('&', &format!(" {and} "));
    *text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let message = format!("& is written out in the language of the epithet: {and}.");
    problems.fix("ampersand", message, rules::ICNCP);
}

/// `#9` is `No 9`.
fn number_sign(text: &mut String, problems: &mut Problems) {
    let mut out = String::new();
    let mut chars = text.chars().peekable();
    let mut changed = false;
    while let Some(c) = chars.next() {
        if c == '#' {
            while chars.peek() == Some(&' ') {
                chars.next();
            }
            if chars.peek().is_some_and(char::is_ascii_digit) {
                let space = if out.is_empty() || out.ends_with(' ') { "" } else { " " };
                out.push_str(&format!("{space}No "));
                changed = true;
                continue;
            }
        }
        out.push(c);
    }
    if changed {
        *text = out;
        problems.fix("number_sign", "# before a number is written No.", rules::ICNCP);
    }
}

fn ligatures(text: &mut String, problems: &mut Problems) {
    if !text.contains(['æ', 'œ', 'Æ', 'Œ']) {
        return;
    }
    let shouting = text.chars().all(|c| !c.is_lowercase());
    let (ae, oe) = if shouting { ("AE", "OE") } else { ("Ae", "Oe") };
    *text = text.replace('æ', "ae").replace('œ', "oe").replace('Æ', ae).replace('Œ', oe);
    problems.fix("ligature", "The ligatures æ and œ are written as two letters.", rules::ICNCP);
}

/// French words that happen to be made of Japanese syllables.
const NOT_JAPANESE: &[&str] = &["dôme", "hôte", "dômes", "tôt", "rôti", "pôpô", "mûre", "sûre"];

/// A Japanese long vowel takes the macron, not the circumflex.
fn long_vowels(text: &mut String, problems: &mut Problems) {
    // Long a, i and e are rare in Japanese and common in French (château).
    if !text.contains(['ô', 'û', 'Ô', 'Û']) || text.contains(['â', 'î', 'ê']) {
        return;
    }
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower.split([' ', '-', '’']).filter(|word| !word.is_empty()).collect();
    let japanese = words.iter().all(|word| is_japanese(word) && !NOT_JAPANESE.contains(word));
    if japanese {
        for (from, to) in [("ô", "ō"), ("û", "ū"), ("Ô", "Ō"), ("Û", "Ū")] {
            *text = text.replace(from, to);
        }
        let message = format!("A Japanese long vowel takes the macron: {text}.");
        problems.fix("macron", message, rules::ICNCP);
    }
}

/// Whether a word is made of syllables of romanised Japanese.
fn is_japanese(word: &str) -> bool {
    let word = fold(word);
    let mut rest = word.as_str();
    const ONSETS: &[&str] = &[
        "ky", "gy", "shy", "sh", "chy", "ch", "ts", "ny", "hy", "by", "py", "my", "ry", "jy", "k",
        "g", "s", "z", "j", "t", "d", "n", "h", "f", "b", "p", "m", "y", "r", "w", "",
    ];
    while !rest.is_empty() {
        // Doubled consonants, and n closing a syllable.
        let first = rest.chars().next().unwrap_or(' ');
        if "kstpn".contains(first) && rest[1..].starts_with(first) && first != 'n' {
            rest = &rest[1..];
        }
        let syllable = ONSETS.iter().find_map(|onset| {
            let after = rest.strip_prefix(onset)?;
            let vowel = after.chars().next()?;
            "aiueo".contains(vowel).then(|| &after[1..])
        });
        match syllable {
            Some(after) => {
                rest = after;
                if let Some(after) = rest.strip_prefix('n')
                    && !after.starts_with(['a', 'i', 'u', 'e', 'o', 'y'])
                {
                    rest = after;
                }
            }
            None => return false,
        }
    }
    !word.is_empty()
}

/// Letters, digits and the permitted marks; everything else is an error.
fn forbidden(text: &str, context: &Context, problems: &mut Problems) {
    if text.contains(['™', '®', '©', '℠']) {
        let message = format!("“{text}” holds a trade mark; a trade mark is no epithet.");
        problems.error("trademark", message, rules::PRINCIPLE_4);
        return;
    }
    let foreign = text.chars().any(|c| c.is_alphabetic() && !is_latin_letter(c));
    if foreign {
        let message = format!(
            "“{text}” is not in Latin letters; write it in its romanised form and keep this one beside it."
        );
        problems.error("not_romanised", message, rules::ICNCP_MEMORY);
        return;
    }
    if !context.since(1996) {
        return;
    }
    let permitted = |c: char| {
        is_latin_letter(c) || c.is_ascii_digit() || is_combining_mark(c) || " ’,.-/\\!".contains(c)
    };
    if let Some(mark) = text.chars().find(|c| !permitted(*c)) {
        let message = format!("The mark {mark} is not permitted in an epithet: “{text}”.");
        problems.error("mark_not_permitted", message, rules::ICNCP);
    }
    let exclamations = text.chars().filter(|c| *c == '!').count();
    if exclamations > 2 || text.contains("!!") {
        let message = "Up to two exclamation marks are permitted, not side by side.";
        problems.error("exclamation_marks", message, rules::ICNCP);
    }
}

fn is_latin_letter(c: char) -> bool {
    c.is_alphabetic()
        && (c.is_ascii()
            || matches!(c, '\u{C0}'..='\u{24F}' | '\u{1E00}'..='\u{1EFF}' | '\u{2B0}'..='\u{2FF}'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn japanese_syllables() {
        assert!(is_japanese("sôfu") && is_japanese("no") && is_japanese("koi"));
        assert!(is_japanese("shinkan") && is_japanese("matsuri") && is_japanese("nippon"));
        assert!(!is_japanese("forêt") && !is_japanese("côte"));
    }
}
