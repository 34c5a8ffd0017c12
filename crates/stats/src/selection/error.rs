//! Why a selection index has no answer.

/// Why a selection index has no answer. Traits are numbered from 1.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SelectionError {
    /// No traits.
    #[error("there is no trait; give at least one")]
    Empty,
    /// A matrix or list of another size.
    #[error("{what} has {found} {unit} where P has {expected} traits; give one for each trait")]
    Size {
        /// Which matrix or list.
        what: String,
        /// Its size.
        found: usize,
        /// Rows or numbers.
        unit: &'static str,
        /// Number of traits.
        expected: usize,
    },
    /// Something infinite or not a number.
    #[error("{what} is {value}, not a finite number; correct it")]
    NotFinite {
        /// Where.
        what: String,
        /// The value.
        value: f64,
    },
    /// A matrix whose two triangles differ.
    #[error(
        "{matrix} has {above} in row {row}, column {column} but {below} in row {column}, column {row}; \
         write the same covariance in both places"
    )]
    NotSymmetric {
        /// Which matrix.
        matrix: char,
        /// The row.
        row: usize,
        /// The column.
        column: usize,
        /// The number above the diagonal.
        above: f64,
        /// That below.
        below: f64,
    },
    /// A variance that is none.
    #[error("{matrix} has a variance of {value} for trait {trait_number}; it must be {expected}")]
    Variance {
        /// Which matrix.
        matrix: char,
        /// The trait.
        trait_number: usize,
        /// The value.
        value: f64,
        /// What was expected.
        expected: &'static str,
    },
    /// A matrix that cannot be inverted.
    #[error(
        "{matrix} is singular, so that {what}; leave out a trait that is a combination of others"
    )]
    Singular {
        /// Which matrix.
        matrix: &'static str,
        /// What does not exist.
        what: &'static str,
    },
    /// Weights or gains that are all zero.
    #[error("all {what} are 0, so that there is nothing to select for; give one that is not")]
    Nothing {
        /// Weights, or desired gains.
        what: &'static str,
    },
    /// A trait that is not there.
    #[error("there is no trait {found} to hold still; traits are numbered from 1 to {traits}")]
    NoTrait {
        /// The number given.
        found: usize,
        /// Number of traits.
        traits: usize,
    },
    /// Every trait held still.
    #[error(
        "all {traits} traits are held still, so that nothing is left to select on; leave one free"
    )]
    AllRestricted {
        /// Number of traits.
        traits: usize,
    },
    /// More selected than there are, or none.
    #[error("{selected} selected of {of}; give at least one and at most as many as there are")]
    Selected {
        /// How many are selected.
        selected: u64,
        /// Of how many.
        of: u64,
    },
    /// A share outside of its range.
    #[error("a selected share of {value} is not above 0 and at most 1; correct it")]
    Share {
        /// The share.
        value: f64,
    },
}
