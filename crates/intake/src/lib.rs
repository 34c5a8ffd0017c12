//! A messy list read into rows as understood; nothing is written.
//!
//! [`understand`] takes the bytes of a file and gives back every row with what
//! was read, what was corrected, and what must be asked; every line that is no
//! plant with the reason why; and the questions, each put once for all its
//! rows. It sees no file system, clock or network. Nothing ambiguous is guessed.

mod amount;
mod columns;
mod date;
mod error;
mod fate;
mod flora;
mod fold;
mod input;
mod labels;
mod layout;
mod logger;
mod model;
mod name;
mod parents;
mod read;
mod received;
mod scatter;
mod sheet;
mod words;

pub use error::ReadError;
pub use logger::{
    Channel, Gap, LoggerAsk, LoggerColumn, LoggerFile, LoggerOptions, LoggerQuestion,
    LoggerReading, RefusedRow, StampKind, Why, read_logger,
};
pub use model::{
    Answers, Ask, Limits, Mapping, Options, Part, Pot, Price, Question, Relation, RelationKind,
    Role, Row, Skipped,
};
pub use read::{Understood, understand};
pub use words::Language;
