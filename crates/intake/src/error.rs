//! Why a file cannot be read at all. A bad row is never an error.

/// A file that cannot be read; nothing of it was taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum ReadError {
    /// Larger than the cap.
    #[error(
        "{file} is too large: {bytes} bytes, at most {limit} are read. \
         Next: split the list into smaller files"
    )]
    TooLarge {
        /// Name of the file.
        file: String,
        /// Its size \[bytes\].
        bytes: usize,
        /// The cap \[bytes\].
        limit: usize,
    },
    /// Not text in any encoding known here.
    #[error(
        "{file} is not readable as text. Next: save the list as CSV in UTF-8, \
         or as an Excel workbook (.xlsx), and bring that in"
    )]
    Encoding {
        /// Name of the file.
        file: String,
    },
    /// A workbook with macros.
    #[error(
        "{file} holds macros, which are not opened. Next: save it as a workbook \
         without macros (.xlsx) and bring that in"
    )]
    Macros {
        /// Name of the file.
        file: String,
    },
    /// A workbook locked with a password.
    #[error(
        "{file} is locked with a password. Next: open it in your spreadsheet program, \
         remove the password, save, and bring it in again"
    )]
    Password {
        /// Name of the file.
        file: String,
    },
    /// A damaged or unknown workbook.
    #[error(
        "{file} cannot be opened as a workbook ({why}). Next: open it in your spreadsheet \
         program and save it again as .xlsx or CSV"
    )]
    Damaged {
        /// Name of the file.
        file: String,
        /// What is wrong with it.
        why: String,
    },
    /// Nothing in it.
    #[error("{file} is empty. Next: choose another file")]
    Empty {
        /// Name of the file.
        file: String,
    },
    /// A workbook where text was expected.
    #[error(
        "{file} is a workbook; the files of loggers are read as text. Next: save its sheet as CSV \
         and bring that in"
    )]
    Workbook {
        /// Name of the file.
        file: String,
    },
    /// No line of it is a reading.
    #[error(
        "no line of {file} has a date with a time and a number beside it, so it holds no readings \
         that can be placed. Next: look at the file in a text editor; export it again with date \
         and time in each row"
    )]
    NoReadings {
        /// Name of the file.
        file: String,
    },
}
