//! Plant names as runs of italic and roman type, for every page, chart and label.

use serde::Serialize;

/// A piece of a name in one style.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Run {
    /// The words.
    pub text: String,
    /// How they are set.
    pub style: names::Style,
}

/// A name, ready to be set.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NameText {
    /// In plain text.
    pub plain: String,
    /// Set in italic, roman and small capitals.
    pub runs: Vec<Run>,
}

impl NameText {
    /// Words that are not a name, all roman.
    #[must_use]
    pub fn words(text: &str) -> Self {
        Self {
            plain: text.to_owned(),
            runs: vec![Run { text: text.to_owned(), style: names::Style::Roman }],
        }
    }

    /// The name followed by roman words, such as a seedling number.
    #[must_use]
    pub fn then(mut self, words: &str) -> Self {
        self.plain.push(' ');
        self.plain.push_str(words);
        self.runs.push(Run { text: format!(" {words}"), style: names::Style::Roman });
        self
    }
}

/// How names are judged when they are only to be set or sorted: kindly, since a name that is in
/// the record was judged when it was written.
#[must_use]
pub fn names_context() -> names::Context<'static> {
    names::Context::default()
}

/// Sets a stored name. What cannot be read as a name is set roman, word for word.
#[must_use]
pub fn name_text(text: &str) -> NameText {
    if text.is_empty() {
        return NameText::words("");
    }
    let reading = names::read(text, &names_context());
    let runs: Vec<Run> =
        reading.spans().into_iter().map(|s| Run { text: s.text, style: s.style }).collect();
    if runs.is_empty() {
        return NameText::words(text);
    }
    NameText { plain: text.to_owned(), runs }
}
