//! Characters: folding for comparison, transcription into the Latin of epithets.

use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// Letters that a decomposition does not take apart.
fn expand(character: char) -> Option<&'static str> {
    Some(match character {
        'æ' | 'Æ' => "ae",
        'œ' | 'Œ' => "oe",
        'ø' | 'Ø' => "o",
        'ß' | 'ẞ' => "ss",
        'ł' | 'Ł' => "l",
        'đ' | 'Đ' | 'ð' | 'Ð' => "d",
        'þ' | 'Þ' => "th",
        'ı' => "i",
        'ħ' | 'Ħ' => "h",
        _ => return None,
    })
}

/// Fold for comparison: no diacritics, lower case, ligatures split.
pub(crate) fn fold(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.nfkd().filter(|c| !is_combining_mark(*c)) {
        match expand(character) {
            Some(letters) => out.push_str(letters),
            None => out.extend(character.to_lowercase()),
        }
    }
    out
}

/// Upper-case the first letter, leave the rest.
pub(crate) fn capitalise(word: &str) -> String {
    let mut chars = word.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}

/// Upper-case the first letter, lower-case the rest.
pub(crate) fn title(word: &str) -> String {
    capitalise(&word.to_lowercase())
}

/// Whether the first character is an upper-case letter.
pub(crate) fn starts_upper(word: &str) -> bool {
    word.chars().next().is_some_and(char::is_uppercase)
}

/// Whether the first character is a lower-case letter.
pub(crate) fn starts_lower(word: &str) -> bool {
    word.chars().next().is_some_and(char::is_lowercase)
}

/// Whether a word has a digit in it.
pub(crate) fn has_digit(word: &str) -> bool {
    word.chars().any(|c| c.is_ascii_digit())
}

/// Whether all letters of a word are capitals, and there are at least two.
pub(crate) fn all_capitals(word: &str) -> bool {
    let letters: Vec<char> = word.chars().filter(|c| c.is_alphabetic()).collect();
    letters.len() >= 2 && letters.iter().all(|c| c.is_uppercase())
}

/// An epithet or genus in the letters the botanical code allows (ICN 60.7), and whether anything
/// else than a permitted diaeresis had to change.
pub(crate) fn latinise(word: &str) -> (String, bool) {
    let composed: Vec<char> = word.nfc().collect();
    let mut out = String::with_capacity(word.len());
    let mut changed = false;
    for (at, &character) in composed.iter().enumerate() {
        let upper = character.is_uppercase();
        let after_vowel = at > 0 && "aeiouyAEIOUY".contains(composed[at - 1]);
        let low = character.to_lowercase().next().unwrap_or(character);
        let plain: Option<&str> = match low {
            'ï' => Some("i"),
            'ë' => Some("e"),
            // After a vowel the two dots part two syllables, elsewhere they are an umlaut.
            'ö' if after_vowel => Some("o"),
            'ü' if after_vowel => Some("u"),
            'ä' => Some("ae"),
            'ö' | 'ø' | 'œ' => Some("oe"),
            'ü' => Some("ue"),
            'å' => Some("ao"),
            'æ' => Some("ae"),
            'ß' => Some("ss"),
            'þ' => Some("th"),
            'ð' | 'đ' => Some("d"),
            'ł' => Some("l"),
            'ı' => Some("i"),
            _ => None,
        };
        let diaeresis = matches!(low, 'ï' | 'ë') || (matches!(low, 'ö' | 'ü') && after_vowel);
        match plain {
            Some(letters) => {
                changed |= !diaeresis;
                out.push_str(&if upper { capitalise(letters) } else { letters.to_owned() });
            }
            None => {
                let before = out.len();
                out.extend(std::iter::once(character).nfd().filter(|c| !is_combining_mark(*c)));
                let mut buffer = [0; 4];
                changed |= out[before..] != *character.encode_utf8(&mut buffer);
            }
        }
    }
    (out, changed)
}

/// Syllables of a Latin word, counted as groups of vowels.
pub(crate) fn syllables(word: &str) -> usize {
    let mut count = 0;
    let mut in_vowel = false;
    let folded = fold(word);
    let chars: Vec<char> = folded.chars().collect();
    for (at, c) in chars.iter().enumerate() {
        let vowel = "aeiouy".contains(*c);
        if vowel && !in_vowel {
            count += 1;
        } else if vowel && in_vowel {
            // Latin diphthongs, and those of the personal names that -ara is added to.
            let pair: String = chars[at - 1..=at].iter().collect();
            let together = [
                "ae", "oe", "au", "eu", "ei", "ai", "ay", "uy", "ou", "ie", "ee", "oo", "aa", "ey",
            ];
            if !together.contains(&pair.as_str()) {
                count += 1;
            }
        }
        in_vowel = vowel;
    }
    count
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn umlauts_are_written_out_and_a_diaeresis_is_dropped_silently() {
        assert_eq!(latinise("mülleri"), ("muelleri".to_owned(), true));
        assert_eq!(latinise("Isoëtes"), ("Isoetes".to_owned(), false));
        assert_eq!(latinise("fuchsioïdes"), ("fuchsioides".to_owned(), false));
        assert_eq!(latinise("æthiopica"), ("aethiopica".to_owned(), true));
        assert_eq!(latinise("sjöstedtii").0, "sjoestedtii");
        assert_eq!(latinise("ñandu").0, "nandu");
        assert_eq!(latinise("maculata"), ("maculata".to_owned(), false));
    }

    #[test]
    fn folding_splits_ligatures() {
        assert_eq!(fold("Cœur d’Été"), "coeur d’ete");
    }

    #[test]
    fn syllables_of_a_latin_word() {
        assert_eq!(syllables("Begonia"), 4);
        assert_eq!(syllables("Vuylstekeara"), 5);
    }
}
