//! First pass over the characters: spaces, underscores, markup, look-alike signs.

use super::Problems;
use crate::rules;
use unicode_normalization::UnicodeNormalization;

/// The text with plain spaces and signs; what had to be repaired is recorded.
pub(super) fn clean(input: &str, problems: &mut Problems) -> String {
    let mut text: String = input.nfc().collect();
    for (entity, sign) in [
        ("&times;", "×"),
        ("&#215;", "×"),
        ("&amp;", "&"),
        ("&nbsp;", " "),
        ("&#39;", "'"),
        ("&lsquo;", "‘"),
        ("&rsquo;", "’"),
        ("&quot;", "\""),
        ("<i>", ""),
        ("</i>", ""),
        ("<em>", ""),
        ("</em>", ""),
        ("<I>", ""),
        ("</I>", ""),
    ] {
        if text.contains(entity) {
            problems.fix("markup", "Markup was taken out of the name.", rules::INPUT);
            text = text.replace(entity, sign);
        }
    }
    if text.contains(['✕', '✖', '⨯', '╳']) {
        let message = "Another sign stood for the hybrid sign ×.";
        problems.fix("hybrid_sign_fixed", message, rules::ICN_H3A);
        text = text.replace(['✕', '✖', '⨯', '╳'], "×");
    }
    if text.contains('*') {
        problems.fix("markup", "Markup was taken out of the name.", rules::INPUT);
        text = text.replace('*', "");
    }
    text.retain(|c| !is_invisible(c));
    if text.contains('_') {
        let message = "Underscores stood for spaces.";
        problems.fix("underscore", message, rules::INPUT);
        text = text.replace('_', " ");
    }
    let text: String =
        text.chars().map(|c| if c.is_whitespace() || c.is_control() { ' ' } else { c }).collect();
    let text = text.trim();
    let single = text.split(' ').filter(|piece| !piece.is_empty()).collect::<Vec<_>>().join(" ");
    if single != text {
        problems.fix("extra_spaces", "Extra spaces were taken out.", rules::INPUT);
    }
    strip_end(&single, problems).to_owned()
}

/// Punctuation of the list a name was copied from.
fn strip_end<'t>(text: &'t str, problems: &mut Problems) -> &'t str {
    let mut stripped = text.trim_end_matches([',', ';', ':', ' ']);
    let last = stripped.rsplit(' ').next().unwrap_or_default();
    // A full stop after a whole Latin word ends a sentence, not an abbreviation.
    if let Some(word) = last.strip_suffix('.')
        && word.len() >= 5
        && word.chars().all(|c| c.is_lowercase())
        && crate::tables::latin::latin(word) >= crate::tables::latin::Latin::Looks
        && crate::tables::ranks::rank_of(word).is_none()
    {
        stripped = &stripped[..stripped.len() - 1];
    }
    if stripped.len() != text.len() {
        let message = "Punctuation after the name was taken off.";
        problems.fix("stray_punctuation", message, rules::INPUT);
    }
    stripped
}

fn is_invisible(c: char) -> bool {
    matches!(c, '\u{200B}'..='\u{200F}' | '\u{2060}' | '\u{FEFF}' | '\u{00AD}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}')
}
