//! Labels and profiles as PDF.
//!
//! Plain data in, bytes out: no journal, no clock, no disk. A label's words are measured with the
//! bundled fonts and laid out in millimetres here; Typst then draws what was decided, so that what
//! fits here fits on paper.

mod back;
mod content;
mod document;
mod error;
mod fonts;
mod frame;
mod front;
mod hand;
mod label;
mod layout;
mod paint;
mod pdf;
mod sheet;
mod square;
mod typeset;
mod words;

pub use document::document_pdf;
pub use error::{LabelProblem, PrintError, ProblemKind};
pub use label::{CODE_ALPHABET, Label, Span, Style, Words};
pub use layout::{Back, Layout, SheetMeasures, Size};
pub use pdf::{Field, Pdf, labels_pdf};
pub use square::Square;
pub use words::SMALLEST_CAPITALS;
