//! The one catalogue of interface texts, English and German.
//!
//! Code names a text by its English words. The catalogue holds every text with its German; a test
//! reads the sources and fails when a text is missing from the catalogue or no longer used. Plant
//! names are never translated.

use std::{collections::HashMap, fmt::Display, sync::LazyLock};

pub use dates::Lang;

/// The catalogue: English, a tab, German; one text a line. `\n` stands for a line break.
pub const CATALOGUE: &str = include_str!("catalogue.tsv");

static GERMAN: LazyLock<HashMap<&'static str, &'static str>> = LazyLock::new(|| pairs().collect());

/// The texts of the catalogue with their German.
pub fn pairs() -> impl Iterator<Item = (&'static str, &'static str)> {
    CATALOGUE.lines().filter(|l| !l.starts_with('#')).filter_map(|l| l.split_once('\t'))
}

/// The language of a reader.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Texts {
    lang: Lang,
}

impl Texts {
    /// Texts in this language.
    #[must_use]
    pub const fn new(lang: Lang) -> Self {
        Self { lang }
    }

    /// The language.
    #[must_use]
    pub const fn lang(self) -> Lang {
        self.lang
    }

    /// The text in the reader's language.
    #[must_use]
    pub fn t(self, english: &'static str) -> &'static str {
        match self.lang {
            Lang::En => english,
            Lang::De => GERMAN.get(english).copied().unwrap_or(english),
        }
    }

    /// The text in the reader's language if the catalogue has these words, and the words as they
    /// are otherwise: for words that come from declarations, such as kinds of entry.
    #[must_use]
    pub fn word(self, english: &str) -> String {
        match self.lang {
            Lang::En => english.to_owned(),
            Lang::De => GERMAN.get(english).copied().unwrap_or(english).to_owned(),
        }
    }

    /// The text with its `{name}`s filled in. Where the text offers a singular and a plural
    /// (`one plant|{n} plants`), the first value chooses: the singular for “1”.
    #[must_use]
    pub fn f(self, english: &'static str, values: &[(&str, &dyn Display)]) -> String {
        let text = self.t(english);
        let chosen = match (text.split_once('|'), values.first()) {
            (Some((one, many)), Some((_, n))) => {
                if n.to_string() == "1" {
                    one
                } else {
                    many
                }
            }
            _ => text,
        };
        let mut out = String::with_capacity(chosen.len() + 16);
        let mut rest = chosen;
        while let Some(start) = rest.find('{') {
            out.push_str(&rest[..start]);
            let Some(length) = rest[start..].find('}') else { break };
            let key = &rest[start + 1..start + length];
            if let Some((_, value)) = values.iter().find(|(k, _)| *k == key) {
                out.push_str(&value.to_string());
            }
            rest = &rest[start + length + 1..];
        }
        out.push_str(rest);
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_filled_in_and_choose_the_plural() {
        let t = Texts::new(Lang::En);
        assert_eq!(t.f("one plant|{n} plants", &[("n", &1)]), "one plant");
        assert_eq!(t.f("one plant|{n} plants", &[("n", &12)]), "12 plants");
        assert_eq!(t.f("{a} of {b}", &[("a", &"x"), ("b", &"y")]), "x of y");
        assert_eq!(t.f("nothing here", &[]), "nothing here");
    }

    #[test]
    fn both_languages_name_the_same_values() {
        let names = |s: &str| {
            let mut found: Vec<String> = s
                .split('{')
                .skip(1)
                .filter_map(|p| p.split_once('}').map(|x| x.0.to_owned()))
                .collect();
            found.sort();
            found.dedup();
            found
        };
        for (english, german) in pairs() {
            assert_eq!(names(english), names(german), "{english} / {german}");
            assert_eq!(english.contains('|'), german.contains('|'), "{english} / {german}");
            assert!(!german.trim().is_empty(), "{english} has no German");
        }
    }
}
