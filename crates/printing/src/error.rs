//! What can be wrong with labels, said so that it can be put right.

use crate::layout::Size;

/// Why no labels were made. Nothing is printed in part.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PrintError {
    /// No labels were given.
    #[error("There are no labels to print. Choose at least one plant.")]
    NoLabels,
    /// A size or a sheet that cannot be.
    #[error("{0}")]
    Measures(String),
    /// Labels that cannot be printed as they are; all of them are listed.
    #[error("{}", list(.0))]
    Labels(Vec<LabelProblem>),
    /// A page description that does not compile (documents only).
    #[error("The page could not be set: {0}")]
    Document(String),
}

/// A label that cannot be printed.
#[derive(Debug, Clone, PartialEq)]
pub struct LabelProblem {
    /// Place in the list that was given, from 0.
    pub index: usize,
    /// The label's number.
    pub number: String,
    /// What is wrong.
    pub kind: ProblemKind,
}

/// What is wrong with a label.
#[derive(Debug, Clone, PartialEq)]
pub enum ProblemKind {
    /// The name does not fit, however it is broken, at the smallest print.
    NameTooLong {
        /// The name, plain.
        name: String,
        /// The size it was to fit into.
        size: Size,
        /// The smallest size that would do, if there is one up to 300 × 200 mm.
        fits: Option<Size>,
    },
    /// The number does not fit.
    NumberTooLong {
        /// The size it was to fit into.
        size: Size,
    },
    /// The code is not six characters of the alphabet.
    Code {
        /// The code as given.
        code: String,
    },
    /// The square cannot hold the address.
    Square {
        /// What was to be held.
        payload: String,
        /// Why not, and what would do.
        why: String,
    },
    /// A character that no bundled font can draw.
    NoGlyph {
        /// The character.
        character: char,
        /// Where it stands.
        text: String,
    },
}

impl std::fmt::Display for LabelProblem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Label {}: ", self.number)?;
        match &self.kind {
            ProblemKind::NameTooLong { name, size, fits } => {
                write!(
                    f,
                    "the name “{name}” does not fit on {size}, even in the smallest print. "
                )?;
                match fits {
                    Some(fits) => write!(f, "The smallest size that holds it is {fits}."),
                    None => write!(f, "No size up to 300 × 200 mm holds it: check the name."),
                }
            }
            ProblemKind::NumberTooLong { size } => {
                write!(f, "the number does not fit on {size}. Choose a wider label.")
            }
            ProblemKind::Code { code } => write!(
                f,
                "“{code}” is not a permanent code: it must be six of {}, or X- and the number of a cross.",
                crate::label::CODE_ALPHABET
            ),
            ProblemKind::Square { payload, why } => {
                write!(f, "the square cannot hold “{payload}”: {why}")
            }
            ProblemKind::NoGlyph { character, text } => write!(
                f,
                "no font here can draw “{character}” (U+{:04X}) in “{text}”. Write it in Latin, \
                 Greek or Cyrillic letters for the label.",
                u32::from(*character)
            ),
        }
    }
}

fn list(problems: &[LabelProblem]) -> String {
    let mut lines: Vec<String> = problems.iter().take(20).map(ToString::to_string).collect();
    if problems.len() > 20 {
        lines.push(format!("and {} more labels.", problems.len() - 20));
    }
    lines.join("\n")
}
