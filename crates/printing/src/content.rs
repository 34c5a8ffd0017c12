//! A label's texts, checked, split into words and measured once.

use crate::error::ProblemKind;
use crate::fonts::Face;
use crate::label::{CODE_ALPHABET, Label, Span, Words};
use crate::paint::Short;
use crate::square::{self, Square};
use crate::words::{Lettering, NoGlyph, Word, words};

/// What a label says, ready to be laid out at any size.
#[derive(Debug, Clone)]
pub(crate) struct Content {
    pub number: Short,
    pub code: Short,
    pub squares: Vec<Square>,
    pub payload: String,
    pub name: Vec<Word>,
    /// Seed parent, then pollen parent with its sign; or a single line.
    pub parents: Vec<Vec<Word>>,
    pub whom: Vec<Word>,
    pub when: Vec<Word>,
    pub received: Vec<Word>,
    pub clone: Vec<Word>,
}

/// Letterspacing of the code \[em\].
const CODE_SPACED: f64 = 0.14;

impl Content {
    pub(crate) fn new(label: &Label, fixed: &Words, hand: bool) -> Result<Self, ProblemKind> {
        let plant = label.code.chars().count() == 6
            && label.code.chars().all(|c| CODE_ALPHABET.contains(c));
        let digits = label.code.strip_prefix("X-").unwrap_or_default();
        let cross = (1..=7).contains(&digits.len()) && digits.bytes().all(|b| b.is_ascii_digit());
        if !plant && !cross {
            return Err(ProblemKind::Code { code: label.code.clone() });
        }
        let squares = square::candidates(&label.qr)
            .map_err(|why| ProblemKind::Square { payload: label.qr.clone(), why })?;
        let (bold, print, note) = if hand {
            (Lettering::Pen, Lettering::Pen, Lettering::Pen)
        } else {
            (Lettering::Name, Lettering::Print, Lettering::Note)
        };
        let plain =
            |text: &str, lettering| words(&[Span::roman(text)], lettering).map_err(no_glyph);
        let option = |text: &Option<String>, lettering| match text {
            Some(text) => plain(text, lettering),
            None => Ok(Vec::new()),
        };
        let short = |face, text: &str, spaced| {
            Short::new(face, text, spaced).map_err(|c| no_glyph((c, text.to_owned())))
        };
        let name = match label.name.iter().all(|span| span.text.trim().is_empty()) {
            true => plain(&label.name_plain, bold)?,
            false => words(&label.name, bold).map_err(no_glyph)?,
        };
        Ok(Self {
            number: short(Face::SansBold, &label.number, 0.0)?,
            code: short(Face::SansSemiBold, &label.code, CODE_SPACED)?,
            squares,
            payload: label.qr.clone(),
            name,
            parents: parents(label, fixed, print)?,
            whom: option(&label.from_whom, print)?,
            when: option(&label.when, note)?,
            received: option(&label.received_as, note)?,
            clone: option(&label.clone, note)?,
        })
    }
}

fn no_glyph((character, text): NoGlyph) -> ProblemKind {
    ProblemKind::NoGlyph { character, text }
}

fn parents(
    label: &Label,
    fixed: &Words,
    lettering: Lettering,
) -> Result<Vec<Vec<Word>>, ProblemKind> {
    let mut lines = Vec::new();
    for (i, spans) in label.parents.iter().enumerate() {
        let text: String = spans.iter().map(|span| span.text.as_str()).collect();
        let unknown =
            if i == 0 { &fixed.seed_parent_unknown } else { &fixed.pollen_parent_unknown };
        let spans = match (i, text.trim()) {
            (_, "") => vec![Span::roman(unknown.as_str())],
            (0, _) => spans.clone(),
            (_, text) if text.starts_with("× ") => spans.clone(),
            _ => std::iter::once(Span::roman("× ")).chain(spans.iter().cloned()).collect(),
        };
        lines.push(words(&spans, lettering).map_err(no_glyph)?);
    }
    Ok(lines)
}

/// Puts texts one after the other, with a comma between them.
pub(crate) fn join(parts: &[&[Word]], comma: bool) -> Vec<Word> {
    let mut joined: Vec<Word> = Vec::new();
    for part in parts.iter().filter(|part| !part.is_empty()) {
        if let Some(last) = joined.last_mut() {
            if comma && let Some(piece) = last.pieces.last_mut() {
                piece.text.push(',');
                piece.width = piece.face.width(&piece.text);
            }
            last.price = 0.0;
        }
        joined.extend(part.iter().cloned());
    }
    joined
}
