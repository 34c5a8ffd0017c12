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

    /// The name with its genus abbreviated, where that genus was written in full before.
    #[must_use]
    pub fn short(mut self, genus: &str) -> Self {
        let begins = |text: &str| {
            text.strip_prefix(genus)
                .is_some_and(|rest| rest.is_empty() || rest.starts_with([' ', '\u{a0}']))
        };
        let initial: String = genus.chars().take(1).chain(['.']).collect();
        if genus.chars().count() > 1
            && self.plain.len() > genus.len()
            && begins(&self.plain)
            && let Some(first) = self.runs.first_mut()
            && begins(&first.text)
        {
            first.text.replace_range(..genus.len(), &initial);
            self.plain.replace_range(..genus.len(), &initial);
        }
        self
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

/// Parents as the list of plants keeps them (“A × B”, “A × ?”, “A × B or C”): each name set on its
/// own, the genus in full only the first time.
#[must_use]
pub fn parents_text(text: &str) -> NameText {
    let mut out = NameText { plain: text.to_owned(), runs: Vec::new() };
    let mut genus = String::new();
    for (i, side) in text.split(" × ").enumerate() {
        if i > 0 {
            out.runs.push(Run { text: "\u{a0}× ".to_owned(), style: names::Style::Roman });
        }
        for (j, name) in side.split(" or ").enumerate() {
            if j > 0 {
                out.runs.push(Run { text: " or ".to_owned(), style: names::Style::Roman });
            }
            let set =
                if name == "?" { NameText::words("?") } else { name_text(name).short(&genus) };
            if genus.is_empty() {
                genus = name.split(' ').next().unwrap_or("").to_owned();
            }
            out.runs.extend(set.runs);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(name: &NameText) -> String {
        name.runs.iter().map(|r| r.text.replace('\u{a0}', " ")).collect()
    }

    #[test]
    fn the_genus_is_written_in_full_once() {
        let text = "Begonia 'Silt Choir' × Begonia ferox or Begonia rex";
        assert_eq!(shown(&parents_text(text)), "Begonia ‘Silt Choir’ × B. ferox or B. rex");
        assert_eq!(shown(&parents_text("Begonia rex × ?")), "Begonia rex × ?");
        assert_eq!(shown(&name_text("Begonia").short("Begonia")), "Begonia");
    }
}
