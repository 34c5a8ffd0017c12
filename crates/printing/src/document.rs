//! Pages of text, such as a plant's profile: a Typst source and the files it reads.

use crate::error::PrintError;
use crate::typeset;

/// Sets a Typst source as PDF with the bundled fonts. It can read the given files (name and
/// content: JSON data, SVG drawings, photos) and nothing else: no disk, no clock, no network.
/// What a person typed belongs into the data, where it is never read as markup.
///
/// # Errors
/// A source that does not compile, with Typst's words.
pub fn document_pdf(source: &str, files: Vec<(&str, Vec<u8>)>) -> Result<Vec<u8>, PrintError> {
    let document = typeset::layout(source, files).map_err(PrintError::Document)?;
    typeset::pdf(&document).map_err(PrintError::Document)
}
