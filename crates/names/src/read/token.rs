//! From characters to tokens: words, quoted epithets, brackets, signs.

use super::quote::{Quoted, take_quoted};

/// A piece of a typed name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Tok {
    Word(String),
    Quoted(Quoted),
    /// Text between brackets, and whether the closing bracket was there.
    Paren(String, bool),
    /// × or the letter x standing for it.
    Cross {
        letter: bool,
        /// No space between the sign and what follows.
        glued: bool,
        /// A space (or nothing) before it.
        apart: bool,
    },
    Plus {
        glued: bool,
        apart: bool,
    },
    /// A question mark, with nothing between it and what follows, or what goes before.
    Query {
        glued: bool,
        trailing: bool,
    },
    /// ♀, ♂ or another symbol of Linnaeus.
    Symbol(char),
    /// ™ ® ©.
    Mark(char),
}

impl Tok {
    /// The word, if this is one.
    pub(super) fn word(&self) -> Option<&str> {
        match self {
            Tok::Word(word) => Some(word),
            _ => None,
        }
    }

    /// The token as text, for tags and messages.
    pub(super) fn text(&self) -> String {
        match self {
            Tok::Word(word) => word.clone(),
            Tok::Quoted(quoted) => quoted.text.clone(),
            Tok::Paren(inner, _) => format!("({inner})"),
            Tok::Cross { .. } => "×".to_owned(),
            Tok::Plus { .. } => "+".to_owned(),
            Tok::Query { .. } => "?".to_owned(),
            Tok::Symbol(c) | Tok::Mark(c) => c.to_string(),
        }
    }
}

/// Whether a character is a symbol that Linnaeus used, ♀ and ♂ among them.
fn is_symbol(c: char) -> bool {
    crate::tables::usage::SYMBOLS.iter().any(|(symbol, _)| *symbol == c)
}

/// Cut a cleaned text into tokens.
pub(super) fn tokens(text: &str) -> Vec<Tok> {
    let chars: Vec<char> = text.chars().collect();
    let mut out = Vec::new();
    let mut at = 0;
    while at < chars.len() {
        let c = chars[at];
        let apart = at == 0 || chars[at - 1] == ' ' || chars[at - 1] == '(';
        let glued = chars.get(at + 1).is_some_and(|next| *next != ' ');
        match c {
            ' ' => at += 1,
            '(' | '[' => at = take_paren(&chars, at, &mut out),
            '×' => {
                out.push(Tok::Cross { letter: false, glued, apart });
                at += 1;
            }
            '+' => {
                out.push(Tok::Plus { glued, apart });
                at += 1;
            }
            '?' => {
                out.push(Tok::Query { glued, trailing: !apart });
                at += 1;
            }
            '™' | '®' | '©' | '℠' => {
                out.push(Tok::Mark(c));
                at += 1;
            }
            _ if is_symbol(c) => {
                out.push(Tok::Symbol(c));
                at += 1;
            }
            _ => {
                if let Some((quoted, next)) = take_quoted(&chars, at) {
                    out.push(Tok::Quoted(quoted));
                    at = next;
                } else {
                    at = take_word(&chars, at, &mut out);
                }
            }
        }
    }
    out
}

fn take_paren(chars: &[char], start: usize, out: &mut Vec<Tok>) -> usize {
    let mut depth = 0;
    for (at, c) in chars.iter().enumerate().skip(start) {
        match c {
            '(' | '[' => depth += 1,
            ')' | ']' => depth -= 1,
            _ => {}
        }
        if depth == 0 {
            let inner: String = chars[start + 1..at].iter().collect();
            out.push(Tok::Paren(inner.trim().to_owned(), true));
            return at + 1;
        }
    }
    let inner: String = chars[start + 1..].iter().collect();
    out.push(Tok::Paren(inner.trim().to_owned(), false));
    chars.len()
}

fn take_word(chars: &[char], start: usize, out: &mut Vec<Tok>) -> usize {
    let mut at = start;
    while at < chars.len() {
        let c = chars[at];
        let stops = matches!(c, ' ' | '(' | '[' | '×' | '+' | '?' | '™' | '®' | '©' | '℠')
            || is_symbol(c)
            || (at > start && opens_glued(chars, start, at));
        if stops && at > start {
            break;
        }
        at += 1;
    }
    let word: String = chars[start..at].iter().collect();
    if word.eq_ignore_ascii_case("x") && at - start == 1 {
        let apart = start == 0 || chars[start - 1] == ' ';
        out.push(Tok::Cross { letter: true, glued: false, apart });
    } else {
        out.push(Tok::Word(word));
    }
    at
}

/// Whether a quote inside a word opens an epithet (`Begonia'Lucerna'`) and is no apostrophe
/// (`O'Brien`): enough letters before it, a capital after it, and a closing mark to come.
fn opens_glued(chars: &[char], start: usize, at: usize) -> bool {
    at - start >= 4
        && super::quote::is_quote(chars[at])
        && chars.get(at + 1).is_some_and(|c| c.is_uppercase() || super::quote::is_quote(*c))
        && super::quote::has_closing(chars, at)
}
