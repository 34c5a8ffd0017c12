//! Text made comparable: no case, no accents, one kind of quote and dash.

use unicode_normalization::{UnicodeNormalization, char::decompose_canonical};

/// One character folded to exactly one character, so that positions in the
/// folded text are positions in the original (counted in characters).
fn fold_char(c: char) -> char {
    if c.is_ascii() {
        return match c {
            '`' => '\'',
            '\t' | '\n' | '\r' => ' ',
            _ => c.to_ascii_lowercase(),
        };
    }
    match c {
        '’' | '‘' | '‛' | '‚' | '´' | '′' | '‹' | '›' => '\'',
        '“' | '”' | '„' | '‟' | '″' | '«' | '»' => '"',
        '–' | '—' | '‒' | '−' | '‐' | '‑' => '-',
        '\u{a0}' | '\u{202f}' | '\u{2009}' => ' ',
        'ß' | 'ẞ' => 's',
        'æ' | 'Æ' => 'a',
        'œ' | 'Œ' => 'o',
        'ø' | 'Ø' => 'o',
        'ł' | 'Ł' => 'l',
        'đ' | 'Đ' => 'd',
        _ => {
            let lower = c.to_lowercase().next().unwrap_or(c);
            let mut first = None;
            decompose_canonical(lower, |part| {
                first.get_or_insert(part);
            });
            first.unwrap_or(lower)
        }
    }
}

/// Folds a text that is already composed (NFC) character by character.
pub(crate) fn fold(text: &str) -> String {
    text.chars().map(fold_char).collect()
}

/// Composed form, with invisible marks removed.
pub(crate) fn compose(text: &str) -> String {
    text.nfc()
        .filter(|c| !matches!(c, '\u{200b}'..='\u{200f}' | '\u{feff}' | '\u{ad}'))
        .map(|c| if c == '\u{a0}' { ' ' } else { c })
        .collect()
}

/// Letters and digits of the folded text, words parted by one blank.
pub(crate) fn key(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in fold(text).chars() {
        if c.is_alphanumeric() {
            out.push(c);
        } else if c != '\'' && !out.ends_with(' ') && !out.is_empty() {
            out.push(' ');
        }
    }
    out.truncate(out.trim_end().len());
    out
}

/// One blank between words, none around them.
pub(crate) fn squeeze(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The part of `original` that lies at the byte range `range` of its folded form.
pub(crate) fn under<'a>(original: &'a str, folded: &str, range: std::ops::Range<usize>) -> &'a str {
    let start = folded[..range.start].chars().count();
    let length = folded[range].chars().count();
    let mut at = original.char_indices().map(|(i, _)| i).chain([original.len()]);
    let from = at.clone().nth(start).unwrap_or(original.len());
    let to = at.nth(start + length).unwrap_or(original.len());
    &original[from..to]
}
