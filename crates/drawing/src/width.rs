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
        ' ' | '\u{a0}' | 'f' | 't' | 'r' | '(' | ')' | '-' | '/' => 0.4,
        'm' | 'w' | 'M' | 'W' | '—' | '@' | 'æ' | 'œ' | 'Æ' | 'Œ' => 0.96,
        '×' | '“' | '”' | '–' | '…' => 0.6,
        c if c.is_ascii_lowercase() || c.is_ascii_digit() => 0.55,
        c if c.is_uppercase() => 0.72,
        c if (c as u32) < 0x2e80 => 0.6,
        _ => 1.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Widths measured in a browser with the bundled faces \[px\].
    #[test]
    fn never_less_than_a_browser_needs_and_not_much_more() {
        for (text, measured) in [
            ("Streptocarpus", 103.8),
            ("Aeschynanthus", 114.1),
            ("Begonia boliviensis", 144.3),
            ("‘Mumming Wammy’", 150.6),
            ("‘WILLOW MAMMOTH’", 167.4),
            ("Dischidia", 70.3),
            ("‘Großmütterchen’", 131.2),
            ("× kewensis", 80.3),
            ("not recorded", 95.5),
            ("mmmm", 60.0),
        ] {
            check(text, serif(text), measured);
        }
        for (text, measured) in [
            ("2010", 29.0),
            ("12", 14.5),
            ("17 September 2024", 113.4),
            ("whole life, from autumn 2022", 173.2),
            ("kein Eintrag, 12 Monate", 140.9),
            ("Samenelternteil", 91.8),
            ("MMMM", 51.3),
        ] {
            check(text, sans(text), measured);
        }
    }

    fn check(text: &str, estimate: f64, measured: f64) {
        assert!(estimate >= measured, "{text}: {estimate} is too little for {measured}");
        assert!(estimate <= 1.2 * measured, "{text}: {estimate} is too much for {measured}");
    }
}
