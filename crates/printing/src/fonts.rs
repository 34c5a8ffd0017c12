//! The bundled faces: which of them draws a character, and how wide a word is.

use rustybuzz::{Face as Shaper, UnicodeBuffer};
use serde::Serialize;
use std::sync::LazyLock;

/// A bundled face. The order is the order of the faces in the page template.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(into = "u8")]
pub(crate) enum Face {
    Serif,
    Italic,
    SemiBold,
    SemiBoldItalic,
    Sans,
    SansSemiBold,
    SansBold,
}

impl From<Face> for u8 {
    fn from(face: Face) -> u8 {
        face as u8
    }
}

/// Font files, in the order of [`Face`].
pub(crate) const FILES: [&[u8]; 7] = [
    include_bytes!("../fonts/UmbelSerif-Regular.ttf"),
    include_bytes!("../fonts/UmbelSerif-Italic.ttf"),
    include_bytes!("../fonts/UmbelSerif-SemiBold.ttf"),
    include_bytes!("../fonts/UmbelSerif-SemiBoldItalic.ttf"),
    include_bytes!("../fonts/YsabeauOffice-Medium.ttf"),
    include_bytes!("../fonts/YsabeauOffice-SemiBold.ttf"),
    include_bytes!("../fonts/YsabeauOffice-Bold.ttf"),
];

static SHAPERS: LazyLock<Vec<Shaper<'static>>> =
    LazyLock::new(|| FILES.iter().filter_map(|file| Shaper::from_slice(file, 0)).collect());

/// Height of the capitals in parts of the em: a fact of the fonts, checked by a test.
pub(crate) const SERIF_CAPITALS: f64 = 0.670;
/// The same for the sans.
pub(crate) const SANS_CAPITALS: f64 = 0.658;

impl Face {
    fn shaper(self) -> Option<&'static Shaper<'static>> {
        SHAPERS.get(self as usize)
    }

    fn draws(self, c: char) -> bool {
        self.shaper().is_some_and(|s| s.glyph_index(c).is_some())
    }

    /// This face first, then those that stand in for it.
    fn chain(self) -> [Face; 3] {
        match self {
            Face::Serif => [Face::Serif, Face::Sans, Face::Italic],
            Face::Italic => [Face::Italic, Face::Serif, Face::Sans],
            Face::SemiBold => [Face::SemiBold, Face::SansSemiBold, Face::Serif],
            Face::SemiBoldItalic => [Face::SemiBoldItalic, Face::SemiBold, Face::SansSemiBold],
            sans => [sans, Face::Sans, Face::Serif],
        }
    }

    /// Width of a text in this face \[em\].
    pub(crate) fn width(self, text: &str) -> f64 {
        let Some(shaper) = self.shaper() else { return 0.0 };
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        let shaped = rustybuzz::shape(shaper, &[], buffer);
        let units: i32 = shaped.glyph_positions().iter().map(|p| p.x_advance).sum();
        f64::from(units) / f64::from(shaper.units_per_em())
    }
}

/// Whether a character is drawn by nobody and seen by nobody: joiners and direction marks.
fn is_invisible(c: char) -> bool {
    matches!(c, '\u{00AD}' | '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}'
        | '\u{2060}'..='\u{2069}' | '\u{FE00}'..='\u{FE0F}' | '\u{FEFF}')
        || c.is_control()
}

/// Cuts a text into stretches that one face can draw; the first character that none can draw is
/// the error. Invisible characters are left out.
pub(crate) fn cover(face: Face, text: &str) -> Result<Vec<(Face, String)>, char> {
    let mut runs: Vec<(Face, String)> = Vec::new();
    for c in text.chars().filter(|c| !is_invisible(*c)) {
        let last = runs.last().map(|run| run.0);
        let able = face.chain().into_iter().find(|f| f.draws(c)).ok_or(c)?;
        match (last, runs.last_mut()) {
            (Some(used), Some(run)) if used == able => run.1.push(c),
            _ => runs.push((able, c.to_string())),
        }
    }
    Ok(runs)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_is_a_font_with_the_stated_capitals() {
        assert_eq!(SHAPERS.len(), FILES.len());
        for (index, shaper) in SHAPERS.iter().enumerate() {
            let capitals =
                f64::from(shaper.capital_height().unwrap()) / f64::from(shaper.units_per_em());
            let stated = if index >= 4 { SANS_CAPITALS } else { SERIF_CAPITALS };
            assert!((capitals - stated).abs() < 1e-9, "face {index}: {capitals}");
        }
    }

    #[test]
    fn a_stand_in_draws_what_the_face_lacks() {
        assert_eq!(cover(Face::Serif, "Bégônia").unwrap().len(), 1);
        assert_eq!(cover(Face::Sans, "Ωβ Жя ő ă").unwrap().len(), 1);
        assert_eq!(cover(Face::Serif, "a漢"), Err('漢'));
        assert_eq!(cover(Face::Serif, "a\u{202E}b").unwrap(), [(Face::Serif, "ab".into())]);
    }

    #[test]
    fn widths_grow_with_the_text() {
        let (one, two) = (Face::Serif.width("a"), Face::Serif.width("aa"));
        assert!(one > 0.3 && (two - 2.0 * one).abs() < 1e-9);
    }
}
