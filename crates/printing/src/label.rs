//! What a label says, before anything is laid out.

use serde::{Deserialize, Serialize};

/// How a stretch of a name is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Style {
    /// Upright: ranks, ×, cultivar epithets, Groups, authors, plain words.
    #[default]
    Roman,
    /// Italic: Latin names, and nothing else.
    Italic,
    /// Small capitals: trade designations.
    SmallCaps,
}

/// A stretch of text in one style. Spaces between words are part of the text.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Span {
    /// The text itself; it is never read as markup.
    pub text: String,
    /// How it is set.
    pub style: Style,
}

impl Span {
    /// Upright text.
    pub fn roman(text: impl Into<String>) -> Self {
        Self { text: text.into(), style: Style::Roman }
    }

    /// Text of a Latin name.
    pub fn italic(text: impl Into<String>) -> Self {
        Self { text: text.into(), style: Style::Italic }
    }

    /// Text of a trade designation.
    pub fn small_caps(text: impl Into<String>) -> Self {
        Self { text: text.into(), style: Style::SmallCaps }
    }
}

/// The label of a plant, or the tag of a cross.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Label {
    /// The keeper's own number, such as `214` or `19-7`: the largest print on the label.
    pub number: String,
    /// The permanent code: six of the characters in [`CODE_ALPHABET`]; of a cross `X-` and its number.
    pub code: String,
    /// What the square holds: an upper-case address ending in the code, or the code alone.
    /// Only digits, capital letters, space and `$%*+-./:`, which keeps the modules large.
    pub qr: String,
    /// The name, typeset.
    pub name: Vec<Span>,
    /// The name as one line of plain text, for messages and for readers that cannot see.
    pub name_plain: String,
    /// Seed parent, then pollen parent. An empty parent is printed as unknown. The multiplication
    /// sign before the pollen parent is added here. A single line (such as "species, origin not
    /// recorded") is printed as it is; no line at all prints nothing.
    #[serde(default)]
    pub parents: Vec<Vec<Span>>,
    /// The keeper it came from.
    #[serde(default)]
    pub from_whom: Option<String>,
    /// When it came, as exactly as it is known ("autumn 2022").
    #[serde(default)]
    pub when: Option<String>,
    /// As what it came ("tip cutting").
    #[serde(default)]
    pub received_as: Option<String>,
    /// The clone, only where there are two pieces or more; see [`Words::clone_line`].
    #[serde(default)]
    pub clone: Option<String>,
}

/// Characters a permanent code is made of: no 0, 1, I, L, O or U, which are misread.
pub const CODE_ALPHABET: &str = "23456789ABCDEFGHJKMNPQRSTVWXYZ";

/// The fixed words on a label, in the language of the house.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Words {
    /// Printed where the seed parent is empty.
    pub seed_parent_unknown: String,
    /// Printed where the pollen parent is empty, with its multiplication sign.
    pub pollen_parent_unknown: String,
    /// "clone", before a clone's number.
    pub clone: String,
    /// "pieces", after the count of a clone's plants.
    pub pieces: String,
    /// What is written along the 100 mm rule.
    pub rule: String,
    /// Title of the PDF.
    pub title: String,
    /// Language of the words as a two-letter code (ISO 639-1), for the PDF's readers.
    pub language: String,
}

impl Words {
    /// The words in English.
    pub fn english() -> Self {
        Self {
            seed_parent_unknown: "seed parent unknown".into(),
            pollen_parent_unknown: "× pollen parent unknown".into(),
            clone: "clone".into(),
            pieces: "pieces".into(),
            rule: "100 mm. If it is not, print at 100%, unscaled.".into(),
            title: "Labels".into(),
            language: "en".into(),
        }
    }

    /// The words in German.
    pub fn german() -> Self {
        Self {
            seed_parent_unknown: "Mutter unbekannt".into(),
            pollen_parent_unknown: "× Vater unbekannt".into(),
            clone: "Klon".into(),
            pieces: "Stücke".into(),
            rule: "100 mm. Wenn nicht: mit 100 % drucken, nicht angepasst.".into(),
            title: "Etiketten".into(),
            language: "de".into(),
        }
    }

    /// The line that goes into [`Label::clone`], such as "clone 96, 3 pieces"; none where the
    /// clone has fewer than two pieces.
    pub fn clone_line(&self, number: &str, pieces: usize) -> Option<String> {
        (pieces >= 2).then(|| format!("{} {number}, {pieces} {}", self.clone, self.pieces))
    }
}
