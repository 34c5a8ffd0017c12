//! Columns of a table.

use super::ModelError;

/// A column.
#[derive(Debug, Clone, PartialEq)]
pub enum Column {
    /// Numbers: one coefficient each.
    Numbers(Vec<f64>),
    /// Words: a factor, one coefficient for each level but the reference.
    Words(Vec<String>),
}

impl Column {
    /// Number of rows.
    pub fn len(&self) -> usize {
        match self {
            Column::Numbers(v) => v.len(),
            Column::Words(v) => v.len(),
        }
    }

    /// Whether there is no row.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// Named columns of equal length, and the reference levels of factors.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Frame {
    n: usize,
    columns: Vec<(String, Column)>,
    references: Vec<(String, String)>,
}

/// A factor: its levels in order, the first being the reference, and the level of each row.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Factor {
    pub levels: Vec<String>,
    pub index: Vec<u32>,
}

impl Frame {
    /// A frame of `n` rows without columns: a fit with an intercept alone.
    pub fn new(n: usize) -> Self {
        Frame { n, ..Frame::default() }
    }

    /// Adds a column.
    ///
    /// # Errors
    /// A column of another length, or with a number that is not finite.
    pub fn with(mut self, name: impl Into<String>, column: Column) -> Result<Self, ModelError> {
        let name = name.into();
        if column.len() != self.n {
            let (found, expected) = (column.len(), self.n);
            return Err(ModelError::Lengths { column: name, found, expected });
        }
        if let Column::Numbers(numbers) = &column
            && let Some(at) = numbers.iter().position(|v| !v.is_finite())
        {
            return Err(ModelError::NotFinite { row: at + 1, column: name, value: numbers[at] });
        }
        self.columns.retain(|(n, _)| *n != name);
        self.columns.push((name, column));
        Ok(self)
    }

    /// Names the level of a factor that the others are compared with. A column of numbers with a
    /// reference is taken as a factor.
    #[must_use]
    pub fn reference(mut self, column: impl Into<String>, level: impl Into<String>) -> Self {
        self.references.push((column.into(), level.into()));
        self
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.n
    }

    /// A column.
    ///
    /// # Errors
    /// When it is not there.
    pub fn column(&self, name: &str) -> Result<&Column, ModelError> {
        self.columns.iter().find(|(n, _)| n == name).map(|(_, c)| c).ok_or_else(|| {
            let there: Vec<&str> = self.columns.iter().map(|(n, _)| n.as_str()).collect();
            ModelError::NoColumn { column: name.to_owned(), there: there.join(", ") }
        })
    }

    /// Whether a column enters as a factor.
    pub(crate) fn is_factor(&self, name: &str) -> Result<bool, ModelError> {
        let asked = self.references.iter().any(|(c, _)| c == name);
        Ok(asked || matches!(self.column(name)?, Column::Words(_)))
    }

    /// The numbers of a column.
    pub(crate) fn numbers(&self, name: &str) -> Result<&[f64], ModelError> {
        match self.column(name)? {
            Column::Numbers(v) => Ok(v),
            Column::Words(v) => Err(ModelError::WordsForNumbers {
                column: name.to_owned(),
                value: v.first().cloned().unwrap_or_default(),
                row: 1,
            }),
        }
    }

    /// The words of a column, numbers being written as words.
    pub(crate) fn words(&self, name: &str) -> Result<Vec<String>, ModelError> {
        Ok(match self.column(name)? {
            Column::Words(v) => v.clone(),
            Column::Numbers(v) => v.iter().map(f64::to_string).collect(),
        })
    }

    /// A column as a factor: alphabetical (numbers by size), the reference first.
    pub(crate) fn factor(&self, name: &str) -> Result<Factor, ModelError> {
        let mut factor = Factor::of(&self.words(name)?);
        if let Some((_, level)) = self.references.iter().rev().find(|(c, _)| c == name) {
            let at = factor.levels.iter().position(|l| l == level).ok_or_else(|| {
                ModelError::NoLevel {
                    column: name.to_owned(),
                    level: level.clone(),
                    there: factor.levels.join(", "),
                }
            })?;
            factor.lead_with(at);
        }
        Ok(factor)
    }
}

impl Factor {
    /// The levels of these words, in order.
    pub fn of(words: &[String]) -> Factor {
        let mut levels: Vec<&String> = words.iter().collect();
        levels.sort_unstable();
        levels.dedup();
        let numbers: Option<Vec<f64>> = levels.iter().map(|l| l.parse().ok()).collect();
        if let Some(numbers) = numbers {
            let mut order: Vec<usize> = (0..levels.len()).collect();
            order.sort_by(|a, b| numbers[*a].total_cmp(&numbers[*b]));
            levels = order.into_iter().map(|i| levels[i]).collect();
        }
        let levels: Vec<String> = levels.into_iter().cloned().collect();
        let place: std::collections::HashMap<&str, u32> =
            levels.iter().zip(0u32..).map(|(l, i)| (l.as_str(), i)).collect();
        let index = words.iter().map(|w| place[w.as_str()]).collect();
        Factor { levels, index }
    }

    fn lead_with(&mut self, at: usize) {
        let level = self.levels.remove(at);
        self.levels.insert(0, level);
        let at = at as u32;
        for i in &mut self.index {
            *i = match (*i).cmp(&at) {
                std::cmp::Ordering::Less => *i + 1,
                std::cmp::Ordering::Equal => 0,
                std::cmp::Ordering::Greater => *i,
            };
        }
    }
}
