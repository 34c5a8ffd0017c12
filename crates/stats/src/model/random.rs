//! Random terms: which levels each row belongs to.

use super::{Frame, ModelError, RandomSpec, frame::Factor};

/// A random term for the rows of a frame.
///
/// The effect of a row is the sum over its memberships of `intercept(level)` and, where there is a
/// covariate, `x · slope(level)`.
#[derive(Debug, Clone, PartialEq)]
pub struct RandomTerm {
    /// As it was written, without the slope.
    pub name: String,
    /// The levels, in order.
    pub levels: Vec<String>,
    /// Levels of each row, `members` for each row in turn.
    pub index: Vec<u32>,
    /// How many levels each row belongs to; 1 but for `mm(…)`.
    pub members: usize,
    /// The numbers of the slope and their column's name, for a term with two effects a level.
    pub slope: Option<(String, Vec<f64>)>,
}

impl RandomTerm {
    /// Makes the term.
    ///
    /// # Errors
    /// Columns that are not there, or words as the covariate of a slope.
    pub fn build(frame: &Frame, spec: &RandomSpec) -> Result<RandomTerm, ModelError> {
        if frame.rows() == 0 {
            return Err(ModelError::Empty);
        }
        let (words, members, slope) = match spec {
            RandomSpec::Intercept(group) => (joined(frame, group)?, 1, None),
            RandomSpec::Slope { covariate, group } => {
                let numbers = frame.numbers(covariate)?.to_vec();
                (joined(frame, group)?, 1, Some((covariate.clone(), numbers)))
            }
            RandomSpec::Members(columns) => {
                let each: Vec<Vec<String>> =
                    columns.iter().map(|c| frame.words(c)).collect::<Result<_, _>>()?;
                let rows = (0..frame.rows()).flat_map(|i| each.iter().map(move |c| c[i].clone()));
                (rows.collect(), columns.len(), None)
            }
        };
        let Factor { levels, index } = Factor::of(&words);
        Ok(RandomTerm { name: spec.name(), levels, index, members, slope })
    }

    /// The levels of a row.
    pub fn of_row(&self, row: usize) -> &[u32] {
        &self.index[row * self.members..(row + 1) * self.members]
    }

    /// Effects of each level: 2 with a slope, else 1.
    pub fn width(&self) -> usize {
        1 + usize::from(self.slope.is_some())
    }
}

/// The words of several columns taken together.
fn joined(frame: &Frame, columns: &[String]) -> Result<Vec<String>, ModelError> {
    let each: Vec<Vec<String>> =
        columns.iter().map(|c| frame.words(c)).collect::<Result<_, _>>()?;
    Ok((0..frame.rows())
        .map(|i| each.iter().map(|c| c[i].as_str()).collect::<Vec<_>>().join(":"))
        .collect())
}
