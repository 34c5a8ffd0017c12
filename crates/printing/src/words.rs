//! A name as words that may be set on several lines, with the price of breaking after each.

use crate::fonts::{Face, SERIF_CAPITALS, cover};
use crate::label::{Span, Style};

/// Smallest height of capital letters anywhere on a label \[mm\]; see METHODS.md.
pub const SMALLEST_CAPITALS: f64 = 2.1;

/// Size of small capitals in parts of the capitals, where that keeps them large enough.
const SMALL_CAPS: f64 = 0.8;

/// A price so high that the break is never chosen.
pub(crate) const NEVER: f64 = 1e6;

/// A stretch within a word that is set in one face.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Piece {
    pub face: Face,
    pub text: String,
    /// Lower-case letters that became small capitals.
    pub small: bool,
    /// Underlined by a pen, where print sets italics.
    pub italic: bool,
    /// Width \[em\].
    pub width: f64,
}

impl Piece {
    /// Size of this piece in a line of the size `em` \[mm\].
    pub(crate) fn size(&self, em: f64) -> f64 {
        if self.small {
            (SMALL_CAPS * em).max(SMALLEST_CAPITALS / SERIF_CAPITALS).min(em)
        } else {
            em
        }
    }
}

/// A word: what stands between two spaces.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Word {
    pub pieces: Vec<Piece>,
    /// Price of a line ending after this word; from 0 (between the parts of a name) upwards.
    pub price: f64,
    /// Width of the space after it \[em\].
    pub space: f64,
}

impl Word {
    /// Width at a size \[mm\].
    pub(crate) fn width(&self, em: f64) -> f64 {
        self.pieces.iter().map(|p| p.width * p.size(em)).sum()
    }

    fn text(&self) -> String {
        self.pieces.iter().map(|p| p.text.as_str()).collect()
    }

    fn is_italic(&self) -> bool {
        self.pieces.iter().any(|p| p.italic)
    }

    fn is_small_caps(&self) -> bool {
        self.pieces.iter().any(|p| p.small)
    }
}

/// How a paragraph is lettered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Lettering {
    /// Serif with italics and small capitals, semibold: the plant's own name, which stands out
    /// from its parents even where both are in the smallest print.
    Name,
    /// Serif with italics and small capitals.
    Print,
    /// Serif, upright throughout: a pen underlines what print sets in italics.
    Pen,
    /// Sans.
    Note,
}

/// A character no face can draw, and the text it stands in.
pub(crate) type NoGlyph = (char, String);

/// Splits spans into words at spaces; spans may meet within a word (as in ×*kewensis*).
pub(crate) fn words(spans: &[Span], lettering: Lettering) -> Result<Vec<Word>, NoGlyph> {
    let mut words: Vec<Word> = Vec::new();
    let mut open = false;
    for span in spans {
        let mut rest = span.text.as_str();
        while let Some(c) = rest.chars().next() {
            if is_break(c) {
                open = false;
                rest = &rest[c.len_utf8()..];
                continue;
            }
            let end = rest.find(is_break).unwrap_or(rest.len());
            let pieces = pieces(&rest[..end], span.style, lettering)?;
            match words.last_mut() {
                Some(last) if open => last.pieces.extend(pieces),
                _ => words.push(Word { pieces, price: 0.0, space: 0.0 }),
            }
            open = true;
            rest = &rest[end..];
        }
    }
    words.retain(|word| !word.pieces.is_empty());
    price(&mut words);
    Ok(words)
}

/// White space at which a line may end; a no-break space is part of its word.
fn is_break(c: char) -> bool {
    c.is_whitespace() && !matches!(c, '\u{00A0}' | '\u{202F}' | '\u{2007}')
}

fn pieces(text: &str, style: Style, lettering: Lettering) -> Result<Vec<Piece>, NoGlyph> {
    let italic = style == Style::Italic;
    let face = match (lettering, italic) {
        (Lettering::Note, _) => Face::Sans,
        (Lettering::Name, true) => Face::SemiBoldItalic,
        (Lettering::Name, false) => Face::SemiBold,
        (Lettering::Print, true) => Face::Italic,
        _ => Face::Serif,
    };
    let parts = match (style, lettering) {
        (Style::SmallCaps, Lettering::Name | Lettering::Print) => small_caps(text),
        (Style::SmallCaps, _) => vec![(text.to_uppercase(), false)],
        _ => vec![(text.to_owned(), false)],
    };
    let mut pieces = Vec::new();
    for (part, small) in parts {
        for (face, text) in cover(face, &part).map_err(|c| (c, text.to_owned()))? {
            let width = face.width(&text);
            pieces.push(Piece { face, text, small, italic, width });
        }
    }
    Ok(pieces)
}

/// Capitals and figures at full size, small letters as smaller capitals.
fn small_caps(text: &str) -> Vec<(String, bool)> {
    let mut parts: Vec<(String, bool)> = Vec::new();
    for c in text.chars() {
        let small = c.is_lowercase();
        let upper = c.to_uppercase();
        match parts.last_mut() {
            Some((part, kind)) if *kind == small => part.extend(upper),
            _ => parts.push((upper.collect(), small)),
        }
    }
    parts
}

/// Sets the price of a break after each word, and the width of the space there.
fn price(words: &mut [Word]) {
    let space = Face::Serif.width(" ");
    let quoted = inside_quotes(words);
    for i in 0..words.len() {
        words[i].space = space;
        words[i].price = match words.get(i + 1) {
            None => 0.0,
            Some(next) => break_price(&words[i], next, quoted[i]),
        };
    }
}

fn break_price(word: &Word, next: &Word, quoted: bool) -> f64 {
    let (this, that) = (word.text(), next.text());
    match this.as_str() {
        // The sign belongs to what follows it.
        "×" | "+" | "x" => return NEVER,
        _ => {}
    }
    if matches!(that.as_str(), "×" | "+" | "x") {
        return 0.0;
    }
    if quoted {
        return 3.0;
    }
    if this.ends_with('.') || this.ends_with('(') {
        // A rank stays with its epithet, an initial with its name.
        return 8.0;
    }
    match (word.is_small_caps(), next.is_small_caps()) {
        (true, true) => return 2.0,
        (false, false) => {}
        _ => return 0.0,
    }
    if that.starts_with(['‘', '\'', '“']) || this.ends_with(['’', '\'', '”', ',', ';']) {
        return 0.0;
    }
    if word.is_italic() && (next.is_italic() || that.starts_with('×')) { 1.0 } else { 1.5 }
}

/// For each word, whether the space after it stands inside quotation marks. An opening mark that
/// is never closed is taken for an apostrophe.
fn inside_quotes(words: &[Word]) -> Vec<bool> {
    let mut inside = vec![false; words.len()];
    let mut opened = None;
    for (i, word) in words.iter().enumerate() {
        let text = word.text();
        if opened.is_none() && text.starts_with(['‘', '\'', '“', '(']) {
            opened = Some(i);
        }
        let closes = text.trim_end_matches([',', ';', '.']).ends_with(['’', '\'', '”', ')']);
        if closes
            && text.chars().count() > 1
            && let Some(start) = opened.take()
        {
            inside[start..i].fill(true);
        }
    }
    inside
}

/// Breaks words into exactly `widths.len()` lines that each fit their width \[mm\], at the least
/// total price; the result is the index of the word after each line's last.
pub(crate) fn break_lines(words: &[Word], em: f64, widths: &[f64]) -> Option<(f64, Vec<usize>)> {
    if words.len() < widths.len() || widths.is_empty() {
        return None;
    }
    let n = words.len();
    // best[line][end]: least price of setting words[..end] on the first line + 1 lines.
    let mut best = vec![vec![(f64::INFINITY, 0usize); n + 1]; widths.len()];
    for line in 0..widths.len() {
        for start in line..n {
            let before = match line {
                0 if start == 0 => 0.0,
                0 => break,
                _ => best[line - 1][start].0 + words[start - 1].price,
            };
            if before >= NEVER {
                continue;
            }
            let mut width = 0.0;
            for end in start + 1..=n {
                width += words[end - 1].width(em);
                if width * SLACK > widths[line] {
                    break;
                }
                // Among equal prices, lines of even length.
                let empty = (widths[line] - width) / widths[line];
                let price = before + 0.2 * empty * empty;
                if price < best[line][end].0 {
                    best[line][end] = (price, start);
                }
                width += words[end - 1].space * em;
            }
        }
    }
    let price = best[widths.len() - 1][n].0;
    if price >= NEVER {
        return None;
    }
    let mut ends = vec![n];
    for line in (1..widths.len()).rev() {
        let end = ends[0];
        ends.insert(0, best[line][end].1);
    }
    Some((price, ends))
}

/// Words are shaped one by one, lines as a whole: kerning across spaces may differ by this much.
const SLACK: f64 = 1.004;

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(spans: &[Span], widths: &[f64], em: f64) -> Option<Vec<String>> {
        let words = words(spans, Lettering::Print).unwrap();
        let (_, ends) = break_lines(&words, em, widths)?;
        let mut start = 0;
        let mut lines = Vec::new();
        for end in ends {
            lines.push(words[start..end].iter().map(Word::text).collect::<Vec<_>>().join(" "));
            start = end;
        }
        Some(lines)
    }

    #[test]
    fn a_name_breaks_between_its_parts_first() {
        let name = [Span::italic("Streptocarpus"), Span::roman(" ‘Hartley Dusk’")];
        assert_eq!(lines(&name, &[80.0, 80.0], 4.0).unwrap(), ["Streptocarpus", "‘Hartley Dusk’"]);
        let name =
            [Span::italic("Begonia bowerae"), Span::roman(" var. "), Span::italic("nigramarga")];
        assert_eq!(
            lines(&name, &[60.0, 60.0], 4.0).unwrap(),
            ["Begonia", "bowerae var. nigramarga"]
        );
        let cross =
            [Span::italic("Begonia listada"), Span::roman(" × "), Span::italic("Begonia bowerae")];
        assert_eq!(
            lines(&cross, &[60.0, 60.0], 4.0).unwrap(),
            ["Begonia listada", "× Begonia bowerae"]
        );
    }

    #[test]
    fn spans_meet_within_a_word() {
        let name = [Span::italic("Streptocarpus "), Span::roman("×"), Span::italic("kewensis")];
        assert_eq!(lines(&name, &[40.0, 40.0], 4.0).unwrap(), ["Streptocarpus", "×kewensis"]);
    }

    #[test]
    fn what_cannot_fit_is_not_cut() {
        let name = [Span::roman("Unbreakableunbreakable")];
        assert_eq!(lines(&name, &[20.0], 4.0), None);
        assert_eq!(lines(&name, &[20.0, 20.0], 4.0), None);
    }

    #[test]
    fn small_capitals_never_fall_below_the_smallest_print() {
        let words = words(&[Span::small_caps("Pale Harbour")], Lettering::Print).unwrap();
        let small = words[0].pieces.iter().find(|p| p.small).unwrap();
        for em in [3.2, 4.0, 6.0] {
            assert!(small.size(em) * SERIF_CAPITALS >= SMALLEST_CAPITALS - 1e-9);
        }
    }

    #[test]
    fn an_apostrophe_is_not_an_epithet() {
        let spans = [Span::roman("’t Veen en Zoon")];
        let words = words(&spans, Lettering::Print).unwrap();
        assert!(words.iter().all(|word| word.price < 3.0));
    }
}
