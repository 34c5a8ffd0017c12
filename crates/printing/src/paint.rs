//! What is drawn: text, lines, circles and squares at places in millimetres.

use crate::fonts::Face;
use crate::words::{Piece, Word};
use serde::Serialize;

/// One mark on a label or page. Distances in mm from the top left corner; y of a text is its
/// baseline.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "k", rename_all = "lowercase")]
pub(crate) enum Item {
    Text { x: f64, y: f64, r: Vec<Run>, turned: bool },
    Line { x: f64, y: f64, to_x: f64, to_y: f64, thick: f64, dash: Option<[f64; 2]> },
    Circle { x: f64, y: f64, radius: f64 },
    Square { x: f64, y: f64, side: f64, svg: String, alt: String },
}

/// A stretch of a line in one face and size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct Run {
    pub face: Face,
    /// Size \[mm\].
    pub size: f64,
    /// Added after each letter \[mm\].
    pub spaced: f64,
    pub text: String,
}

/// A side of a label at its place on the page.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct Cell {
    pub x: f64,
    pub y: f64,
    pub w: f64,
    pub h: f64,
    /// Turned by half a turn about its middle.
    pub turned: bool,
    pub items: Vec<Item>,
}

/// A page.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub(crate) struct Page {
    pub w: f64,
    pub h: f64,
    pub cells: Vec<Cell>,
    pub marks: Vec<Item>,
}

/// A thin line.
pub(crate) fn line(x: f64, y: f64, to_x: f64, to_y: f64) -> Item {
    Item::Line { x, y, to_x, to_y, thick: 0.15, dash: None }
}

/// Words as one line of text, from `x` on.
pub(crate) fn text(words: &[Word], em: f64, x: f64, y: f64) -> Item {
    let mut r: Vec<Run> = Vec::new();
    for (i, word) in words.iter().enumerate() {
        for piece in &word.pieces {
            push(&mut r, piece, em);
        }
        if i + 1 < words.len() {
            match r.last_mut() {
                // The space belongs to the run before it, unless that is small.
                Some(run) if run.size == em => run.text.push(' '),
                _ => {
                    r.push(Run { face: Face::Serif, size: em, spaced: 0.0, text: " ".into() });
                }
            }
        }
    }
    Item::Text { x, y, r, turned: false }
}

fn push(runs: &mut Vec<Run>, piece: &Piece, em: f64) {
    let size = piece.size(em);
    match runs.last_mut() {
        Some(run) if run.face == piece.face && run.size == size => run.text.push_str(&piece.text),
        _ => runs.push(Run { face: piece.face, size, spaced: 0.0, text: piece.text.clone() }),
    }
}

/// Width of words on one line \[mm\].
pub(crate) fn width(words: &[Word], em: f64) -> f64 {
    let spaces: f64 = words.iter().rev().skip(1).map(|word| word.space * em).sum();
    words.iter().map(|word| word.width(em)).sum::<f64>() + spaces
}

/// A short text in one face: the number, the code.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Short {
    pub runs: Vec<(Face, String)>,
    /// Width \[em\], the spacing of letters included.
    pub width: f64,
    /// Letterspacing \[em\].
    pub spaced: f64,
}

impl Short {
    /// Measures a short text.
    pub(crate) fn new(face: Face, text: &str, spaced: f64) -> Result<Self, char> {
        let runs = crate::fonts::cover(face, text)?;
        let plain: f64 = runs.iter().map(|(face, text)| face.width(text)).sum();
        let gaps = text.chars().count().saturating_sub(1) as f64 * spaced;
        Ok(Self { runs, width: plain + gaps, spaced })
    }

    /// The text with its left end at `x`.
    pub(crate) fn at(&self, em: f64, x: f64, y: f64) -> Item {
        let run = |(face, text): &(Face, String)| Run {
            face: *face,
            size: em,
            spaced: self.spaced * em,
            text: text.clone(),
        };
        Item::Text { x, y, r: self.runs.iter().map(run).collect(), turned: false }
    }
}
