//! From labels to a PDF.

use crate::back::back;
use crate::content::Content;
use crate::error::{LabelProblem, PrintError, ProblemKind};
use crate::frame::frames;
use crate::front::{Front, front, number_fits, smallest_fit};
use crate::hand::{first_side, second_side};
use crate::label::{Label, Words};
use crate::layout::{Back, Layout, Size};
use crate::paint::Page;
use crate::sheet::{self, Sides};
use crate::typeset;
use serde::Serialize;

/// A part of a label that may be left to the code where there is no room.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Field {
    /// Seed parent and pollen parent.
    Parents,
    /// The keeper it came from.
    FromWhom,
    /// When it came, and as what.
    When,
    /// As what it came.
    ReceivedAs,
    /// The clone it is a piece of.
    Clone,
}

/// Finished labels.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pdf {
    /// The file. Equal labels give equal bytes.
    pub bytes: Vec<u8>,
    /// Count of pages, backs included.
    pub pages: usize,
    /// Labels (by their place in the list, from 0) whose name is smaller than usual to fit.
    pub set_smaller: Vec<usize>,
    /// What there was no room for, by label: it is left to the code. Never number, name or code.
    /// On tape narrower than 16 mm parents and origin are left off by design and not listed.
    pub left_off: Vec<(usize, Field)>,
    /// Whether the 100 mm rule found a margin.
    pub ruled: bool,
}

/// Pages that are laid out but not yet a file.
pub(crate) struct Prepared {
    pub pages: Vec<Page>,
    set_smaller: Vec<usize>,
    left_off: Vec<(usize, Field)>,
    ruled: bool,
}

/// Sets labels as PDF.
///
/// Capital letters are nowhere lower than [`crate::SMALLEST_CAPITALS`]; names shrink to that, are
/// then broken between their parts, and are never cut.
///
/// # Errors
/// Impossible measures, and every label that cannot be printed, with what is wrong and what would
/// do. Nothing is printed in part.
pub fn labels_pdf(labels: &[Label], layout: &Layout, words: &Words) -> Result<Pdf, PrintError> {
    let prepared = prepare(labels, layout, words)?;
    let document = typeset_pages(&prepared.pages, words)?;
    let bytes = typeset::pdf(&document).map_err(PrintError::Document)?;
    Ok(Pdf {
        bytes,
        pages: prepared.pages.len(),
        set_smaller: prepared.set_smaller,
        left_off: prepared.left_off,
        ruled: prepared.ruled,
    })
}

pub(crate) fn typeset_pages(
    pages: &[Page],
    words: &Words,
) -> Result<typst_layout::PagedDocument, PrintError> {
    #[derive(Serialize)]
    struct Data<'a> {
        title: &'a str,
        language: &'a str,
        pages: &'a [Page],
    }
    let data = Data { title: &words.title, language: &words.language, pages };
    let json = serde_json::to_vec(&data).map_err(|e| PrintError::Document(e.to_string()))?;
    typeset::layout(include_str!("labels.typ"), vec![("labels.json", json)])
        .map_err(PrintError::Document)
}

/// Lays out all labels, or lists all that cannot be.
pub(crate) fn prepare(
    labels: &[Label],
    layout: &Layout,
    words: &Words,
) -> Result<Prepared, PrintError> {
    if labels.is_empty() {
        return Err(PrintError::NoLabels);
    }
    sheet::check(layout)?;
    let (mut sides, mut problems) = (Vec::new(), Vec::new());
    let (mut set_smaller, mut left_off) = (Vec::new(), Vec::new());
    for (index, label) in labels.iter().enumerate() {
        match one(label, layout, words) {
            Ok((one, smaller, off)) => {
                sides.push(one);
                set_smaller.extend(smaller.then_some(index));
                left_off.extend(off.into_iter().map(|field| (index, field)));
            }
            Err(kind) => {
                problems.push(LabelProblem { index, number: label.number.clone(), kind });
            }
        }
    }
    if !problems.is_empty() {
        return Err(PrintError::Labels(problems));
    }
    // To copy by hand, the second side is as needed as the first: without a back it follows as a
    // label of its own.
    if layout.hand && layout.back == Back::None {
        let apart = |side: Sides| {
            std::iter::once(Sides { front: side.front, back: None })
                .chain(side.back.map(|front| Sides { front, back: None }))
        };
        sides = sides.into_iter().flat_map(apart).collect();
    }
    let (pages, ruled) = sheet::pages(sides, layout, words);
    Ok(Prepared { pages, set_smaller, left_off, ruled })
}

/// Both sides of one label.
fn one(
    label: &Label,
    layout: &Layout,
    words: &Words,
) -> Result<(Sides, bool, Vec<Field>), ProblemKind> {
    let content = Content::new(label, words, layout.hand)?;
    let size = layout.size;
    let Some(Front { items, smaller, mut left_off }) = set(&content, layout, size) else {
        return Err(why_not(&content, label, layout));
    };
    let (behind, off) = match (layout.hand, layout.back) {
        (true, _) => second_side(&content, size),
        (false, Back::None) => return Ok((Sides { front: items, back: None }, smaller, left_off)),
        (false, _) => back(&content, size),
    };
    left_off.extend(off);
    Ok((Sides { front: items, back: Some(behind) }, smaller, left_off))
}

fn set(content: &Content, layout: &Layout, size: Size) -> Option<Front> {
    match layout.hand {
        true => first_side(content, size),
        false => front(content, size, layout.back == Back::None),
    }
}

fn why_not(content: &Content, label: &Label, layout: &Layout) -> ProblemKind {
    let size = layout.size;
    if !layout.hand {
        if frames(content, size).is_empty() {
            let payload = label.qr.clone();
            let why = too_small(content, size);
            return ProblemKind::Square { payload, why };
        }
        if !number_fits(content, size) {
            return ProblemKind::NumberTooLong { size };
        }
    }
    let name = match label.name_plain.trim() {
        "" => label.name.iter().map(|span| span.text.as_str()).collect(),
        plain => plain.to_owned(),
    };
    let fits = smallest_fit(size, |tried| set(content, layout, tried).is_some());
    ProblemKind::NameTooLong { name, size, fits }
}

fn too_small(content: &Content, size: Size) -> String {
    let side = content.squares.iter().map(|square| square.side).min().unwrap_or(0);
    let module = size.smallest_module();
    let needed = (side as f64 + 7.5) * module;
    format!(
        "{} characters need {side} modules of {module} mm and a blank border, {needed:.1} mm in \
         all, and {size} has no such room. Choose a higher label, or shorten the house's name.",
        content.payload.chars().count()
    )
}
