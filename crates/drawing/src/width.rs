//! How wide text will be, roughly, before a browser has set it.
//!
//! Measured on common text faces and rounded up a little: a label that is said to fit does fit.

/// Width of chart text, 14 px sans, in px.
pub fn sans(text: &str) -> f64 {
    text.chars().map(|c| 14.0 * em(c) * 0.97).sum()
}

/// Width of a plant name in a chart, 16 px serif, in px.
pub fn serif(text: &str) -> f64 {
    text.chars().map(|c| 16.0 * em(c)).sum()
}

/// Width of one character in units of the type size.
fn em(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | '‘' | '’' => 0.31,
        ' ' | '\u{a0}' | 'f' | 't' | 'r' | '(' | ')' | '-' | '/' | '1' => 0.4,
        'm' | 'w' | 'M' | 'W' | '—' | '@' | 'æ' | 'œ' | 'Æ' | 'Œ' => 0.92,
        '×' | '“' | '”' | '–' | '…' => 0.6,
        c if c.is_ascii_lowercase() || c.is_ascii_digit() => 0.55,
        c if c.is_uppercase() => 0.72,
        c if (c as u32) < 0x2e80 => 0.6,
        _ => 1.0,
    }
}
