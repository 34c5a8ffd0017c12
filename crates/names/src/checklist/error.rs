//! What can go wrong with a table or an image.

use thiserror::Error;

/// Why a table could not be loaded. Rows are counted as in a spreadsheet: the header is row 1.
#[derive(Debug, Error)]
pub enum LoadError {
    /// The header is that of no table that can be read.
    #[error(
        "{file}: the header has none of the known layouts (it begins with “{header}”). Give the names table or the distribution table of the World Checklist of Vascular Plants, or a ZIP with both."
    )]
    UnknownTable {
        /// File or entry of an archive.
        file: String,
        /// Start of the header as found.
        header: String,
    },
    /// A column is missing.
    #[error(
        "{file}: the column “{column}” is missing from the header. Check that the file is complete."
    )]
    MissingColumn {
        /// File or entry of an archive.
        file: String,
        /// Column that was looked for.
        column: &'static str,
    },
    /// A value cannot be read.
    #[error(
        "{file}, row {row}, column {column}: “{value}” is not {expected}. Correct the row or load the file again from its source."
    )]
    BadValue {
        /// File or entry of an archive.
        file: String,
        /// Row, the header being row 1.
        row: u64,
        /// Column name.
        column: &'static str,
        /// The value as found.
        value: String,
        /// What should stand there.
        expected: &'static str,
    },
    /// A row does not have the fields of the header.
    #[error(
        "{file}, row {row}: {found} fields instead of {expected}. The file may be damaged or cut off; load it again."
    )]
    RowLength {
        /// File or entry of an archive.
        file: String,
        /// Row, the header being row 1.
        row: u64,
        /// Number of fields found.
        found: u64,
        /// Number of fields of the header.
        expected: u64,
    },
    /// The text is not UTF-8.
    #[error("{file}, row {row}: the text is not UTF-8. Save the file as UTF-8 and load it again.")]
    NotUtf8 {
        /// File or entry of an archive.
        file: String,
        /// Row, the header being row 1.
        row: u64,
    },
    /// The file cannot be read.
    #[error("{file}: {message}. Check that the file is whole, then load it again.")]
    Unreadable {
        /// File or entry of an archive.
        file: String,
        /// What the reader said.
        message: String,
    },
    /// An archive holds more than a checklist can.
    #[error("{file}: the archive is too large to be a checklist ({what}).")]
    TooLarge {
        /// The archive.
        file: String,
        /// Which limit was passed.
        what: String,
    },
    /// The receiver of the rows refused one.
    #[error("{file}, row {row}: {message}")]
    Refused {
        /// File or entry of an archive.
        file: String,
        /// Row, the header being row 1.
        row: u64,
        /// What the receiver said.
        message: String,
    },
    /// The caller stopped the work.
    #[error("{file}: stopped before the end; nothing was kept.")]
    Cancelled {
        /// File or entry of an archive.
        file: String,
    },
}

/// Why an image of a checklist could not be opened.
#[derive(Debug, Error, PartialEq, Eq)]
pub enum OpenError {
    /// It does not begin like an image.
    #[error("this is not a checklist of this program; load the table again")]
    NotAChecklist,
    /// It was written by another version.
    #[error("the checklist has format {0}, this program reads format 1; load the table again")]
    Version(u8),
    /// It is cut off or changed.
    #[error("the checklist is damaged ({0}); load the table again")]
    Damaged(&'static str),
}
