//! Whether two cultivar epithets could be mistaken for each other.
//!
//! The code of cultivated plants gives the principle (an epithet must not be confusable with another
//! in its denomination class); how near is too near is a rule of this program.

use crate::text::fold;
use serde::Serialize;

/// How two epithets compare.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Confusable {
    /// The same epithet, but for case, marks, articles or the way a number is written.
    Same,
    /// One letter apart (two, from eight letters on): ask.
    AskDistance,
    /// They sound alike: ask.
    AskSound,
    /// Far enough apart.
    Different,
}

const ARTICLES: &[&str] = &[
    "a", "an", "the", "der", "die", "das", "ein", "eine", "le", "la", "les", "l", "un", "une",
    "el", "los", "las", "una", "il", "lo", "gli", "de", "het", "een",
];

const NUMBERS: &[&str] = &[
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve",
];

/// The key by which epithets are the same: marks and case dropped, `&` written out, numbers as words,
/// articles and punctuation dropped.
pub fn epithet_key(epithet: &str) -> String {
    let spaced = fold(epithet).replace('&', " and ");
    let words: Vec<String> = spaced
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(number_word)
        .collect();
    let kept: String =
        words.iter().filter(|word| !ARTICLES.contains(&word.as_str())).cloned().collect();
    // An epithet of nothing but articles still needs a key.
    if kept.is_empty() { words.concat() } else { kept }
}

fn number_word(word: &str) -> String {
    match word.parse::<usize>() {
        Ok(number) if number < NUMBERS.len() => NUMBERS[number].to_owned(),
        _ => word.to_owned(),
    }
}

/// A key of how an epithet sounds: letters that sound alike become one, doubled letters single,
/// vowels after the first letter fall away.
pub fn sound_key(epithet: &str) -> String {
    let mut key = epithet_key(epithet);
    const ALIKE: &[(&str, &str)] = &[
        ("tsch", "S"),
        ("sch", "S"),
        ("tch", "S"),
        ("ght", "t"),
        ("gh", "g"),
        ("ph", "f"),
        ("ch", "S"),
        ("sh", "S"),
        ("ck", "k"),
        ("qu", "kw"),
        ("x", "ks"),
        ("wr", "r"),
        ("kn", "n"),
        ("ce", "se"),
        ("ci", "si"),
        ("cy", "sy"),
        ("c", "k"),
        ("q", "k"),
        ("z", "s"),
        ("v", "f"),
        ("th", "t"),
        ("dge", "j"),
        ("y", "i"),
        ("w", "f"),
    ];
    for (from, to) in ALIKE {
        key = key.replace(from, to);
    }
    let mut out = String::new();
    for (at, c) in key.chars().enumerate() {
        let vowel = "aeiouh".contains(c);
        if (at == 0 || !vowel) && !out.ends_with(c) {
            out.push(c);
        }
    }
    out
}

/// Compare two epithets of one denomination class.
pub fn compare_epithets(a: &str, b: &str) -> Confusable {
    let (key_a, key_b) = (epithet_key(a), epithet_key(b));
    if key_a == key_b {
        return Confusable::Same;
    }
    // Codes and numbered sisters differ in their digits on purpose.
    if without_digits(&fold(a)) == without_digits(&fold(b)) {
        return Confusable::Different;
    }
    let shorter = key_a.chars().count().min(key_b.chars().count());
    let near = if shorter >= 8 { 2 } else { 1 };
    if strsim::damerau_levenshtein(&key_a, &key_b) <= near {
        return Confusable::AskDistance;
    }
    // A very short sound key says nothing: 'Ohio' and 'Eau' share it.
    let (sound_a, sound_b) = (sound_key(a), sound_key(b));
    if sound_a == sound_b && sound_a.chars().count() >= 3 {
        return Confusable::AskSound;
    }
    Confusable::Different
}

fn without_digits(text: &str) -> String {
    text.chars().filter(|c| !c.is_ascii_digit()).collect()
}

/// A denomination class that is not simply one genus.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClassException<'a> {
    /// Genus or nothogenus, without hybrid sign.
    pub genus: &'a str,
    /// Name of the class it belongs to.
    pub class: &'a str,
}

/// Special classes that are built in. The list of the code was not read; only a merger that every
/// grower of gesneriads meets is here, from memory. Give your own with
/// [`denomination_class_with`].
const CLASSES: &[ClassException<'static>] =
    &[ClassException { genus: "Saintpaulia", class: "Streptocarpus" }];

/// The denomination class of a genus, without hybrid sign: the genus itself unless an exception is
/// built in. An epithet may be used once in a class.
pub fn denomination_class(genus: &str) -> &str {
    denomination_class_with(genus, CLASSES)
}

/// The denomination class by a table of exceptions of your own.
pub fn denomination_class_with<'a>(genus: &'a str, exceptions: &[ClassException<'a>]) -> &'a str {
    let bare = genus.trim_start_matches(['×', '+']).trim_start();
    exceptions.iter().find(|row| row.genus == bare).map_or(bare, |row| row.class)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn confusable_epithets() {
        let check = |a: &str, b: &str, expected: Confusable| {
            assert_eq!(compare_epithets(a, b), expected, "{a} / {b}");
            assert_eq!(compare_epithets(b, a), expected, "{b} / {a}");
        };
        check("The Grey Lantern", "Grey Lantern", Confusable::Same);
        check("Sun & Moon", "Sun and Moon", Confusable::Same);
        check("Super 5", "Super Five", Confusable::Same);
        check("Lucerna", "Lucerne", Confusable::AskDistance);
        check("Grey Lantern", "Gray Lanterns", Confusable::AskDistance);
        check("Phoenix Fire", "Fenics Fyer", Confusable::AskSound);
        check("Quiet Pond", "Still Lantern", Confusable::Different);
        check("KR14", "KR15", Confusable::Different);
        check("Rose", "Ruse", Confusable::AskDistance);
    }

    #[test]
    fn class_is_the_genus_unless_the_table_says_otherwise() {
        assert_eq!(denomination_class("Begonia"), "Begonia");
        assert_eq!(denomination_class("×Achicodonia"), "Achicodonia");
        assert_eq!(denomination_class("Saintpaulia"), "Streptocarpus");
        let table = [ClassException { genus: "Mandevilla", class: "Mandevilla-Dipladenia" }];
        assert_eq!(denomination_class_with("Mandevilla", &table), "Mandevilla-Dipladenia");
    }
}
