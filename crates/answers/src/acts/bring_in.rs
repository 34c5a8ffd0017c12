//! Bringing in a list: read, looked at, and written as one operation.
//!
//! [`understand`] reads the file, [`preview`] says what would become of each row, [`write()`] does
//! it. A row that cannot be written is left over with its cells and the reason, and never keeps
//! the others out. The same list brought in again adds nothing.

mod compose;
mod plan;
mod reading;
mod words;

pub use compose::{BroughtIn, Choices, write};
pub use intake::{
    Answers, Ask, Language, Mapping, Part, Question, Relation, RelationKind, Role, Row, Skipped,
};
pub use plan::{Fate, Preview, preview};
pub use reading::{Reading, Wishes, understand};
pub use words::{origin, problem_words};

pub(crate) use words::{fingerprint_of, without_fingerprint};
