//! The fixed part: columns with treatment contrasts.

use serde::Serialize;

use super::{Frame, ModelError, RandomTerm, Term, frame::Factor};

/// What a coefficient is called.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Coefficient {
    /// The term, `(intercept)` for the first.
    pub term: String,
    /// The level, where a factor takes part; levels of an interaction are joined by a colon.
    pub level: Option<String>,
}

impl Coefficient {
    /// The term and, where there is one, its level: as messages call it.
    pub fn label(&self) -> String {
        match &self.level {
            None => self.term.clone(),
            Some(level) => format!("{} = {level}", self.term),
        }
    }
}

/// The design of the fixed part, by columns.
///
/// Factors have treatment contrasts. Within an interaction a factor is coded by contrasts where the
/// model also holds the interaction without it, and by all its levels otherwise, so that the space
/// of a nested term is complete (the marginality rule of Wilkinson & Rogers 1973; from memory).
#[derive(Debug, Clone, PartialEq)]
pub struct Fixed {
    /// What the columns are called, the intercept first.
    pub coefficients: Vec<Coefficient>,
    n: usize,
    values: Vec<f64>,
    recipe: Vec<Vec<Piece>>,
}

/// One factor of the product that a column is: kept, so that the same column can be made for rows
/// to be predicted.
#[derive(Debug, Clone, PartialEq)]
enum Piece {
    Number(String),
    Level(String, String),
}

impl Fixed {
    /// Makes the columns of these terms, with an intercept.
    ///
    /// # Errors
    /// Columns that are not there, factors with one level, more coefficients than records.
    pub fn build(frame: &Frame, terms: &[Term]) -> Result<Fixed, ModelError> {
        if frame.rows() == 0 {
            return Err(ModelError::Empty);
        }
        let mut fixed = Fixed {
            coefficients: vec![Coefficient { term: "(intercept)".to_owned(), level: None }],
            n: frame.rows(),
            values: vec![1.0; frame.rows()],
            recipe: vec![Vec::new()],
        };
        for term in terms {
            fixed.add(frame, term, terms)?;
        }
        let (coefficients, records) = (fixed.width(), fixed.n);
        if coefficients > records {
            return Err(ModelError::TooMany { coefficients, records });
        }
        Ok(fixed)
    }

    /// An intercept and columns that are ready. There may be more of them than records: for fits
    /// whose coefficients all have priors.
    ///
    /// # Errors
    /// No rows, or a column of another length.
    pub fn of_columns(
        rows: usize,
        columns: impl IntoIterator<Item = (String, Vec<f64>)>,
    ) -> Result<Fixed, ModelError> {
        if rows == 0 {
            return Err(ModelError::Empty);
        }
        let mut fixed = Fixed {
            coefficients: vec![Coefficient { term: "(intercept)".to_owned(), level: None }],
            n: rows,
            values: vec![1.0; rows],
            recipe: vec![Vec::new()],
        };
        for (term, column) in columns {
            if column.len() != rows {
                let found = column.len();
                return Err(ModelError::Lengths { column: term, found, expected: rows });
            }
            fixed.recipe.push(vec![Piece::Number(term.clone())]);
            fixed.coefficients.push(Coefficient { term, level: None });
            fixed.values.extend(column);
        }
        Ok(fixed)
    }

    fn add(&mut self, frame: &Frame, term: &Term, all: &[Term]) -> Result<(), ModelError> {
        // Every column so far of this term: its values, levels and recipe.
        let mut made: Vec<(Vec<f64>, Vec<String>, Vec<Piece>)> =
            vec![(vec![1.0; self.n], Vec::new(), Vec::new())];
        for (column, as_factor) in term.columns.iter().zip(&term.as_factor) {
            let pieces: Vec<(Vec<f64>, Option<String>, Piece)> =
                if *as_factor || frame.is_factor(column)? {
                    let factor = frame.factor(column)?;
                    if let [level] = factor.levels.as_slice() {
                        let (column, level) = (column.clone(), level.clone());
                        return Err(ModelError::OneLevel { column, level });
                    }
                    let skip = usize::from(contrasts(term, column, all));
                    indicators(&factor, column, skip)
                } else {
                    let numbers = frame.numbers(column)?.to_vec();
                    vec![(numbers, None, Piece::Number(column.clone()))]
                };
            made = product(&made, &pieces);
        }
        for (values, levels, recipe) in made {
            let level = (!levels.is_empty()).then(|| levels.join(":"));
            self.coefficients.push(Coefficient { term: term.name(), level });
            self.values.extend(values);
            self.recipe.push(recipe);
        }
        Ok(())
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.n
    }

    /// Number of columns.
    pub fn width(&self) -> usize {
        self.coefficients.len()
    }

    /// A column.
    pub fn column(&self, j: usize) -> &[f64] {
        &self.values[j * self.n..(j + 1) * self.n]
    }

    /// All columns one after the other (column-major).
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// The same columns for other rows, as to predict.
    ///
    /// # Errors
    /// Columns that are not there, or a level that the fit has not seen.
    pub fn for_rows(&self, frame: &Frame, known: &Frame) -> Result<Fixed, ModelError> {
        let mut values = Vec::with_capacity(frame.rows() * self.width());
        for recipe in &self.recipe {
            let mut column = vec![1.0; frame.rows()];
            for piece in recipe {
                match piece {
                    Piece::Number(name) => {
                        for (v, x) in column.iter_mut().zip(frame.numbers(name)?) {
                            *v *= x;
                        }
                    }
                    Piece::Level(name, level) => {
                        let seen = known.factor(name)?.levels;
                        for (v, word) in column.iter_mut().zip(frame.words(name)?) {
                            if !seen.contains(&word) {
                                return Err(ModelError::NoLevel {
                                    column: name.clone(),
                                    level: word,
                                    there: seen.join(", "),
                                });
                            }
                            *v *= f64::from(u8::from(word == *level));
                        }
                    }
                }
            }
            values.extend(column);
        }
        Ok(Fixed { values, n: frame.rows(), ..self.clone() })
    }

    /// The same columns and one for each level of a random term, for fits that take random effects
    /// as coefficients with a prior.
    #[must_use]
    pub fn with_levels(&self, term: &RandomTerm) -> Fixed {
        let mut whole = self.clone();
        for (l, level) in term.levels.iter().enumerate() {
            let in_row = |i: usize| term.of_row(i).iter().filter(|m| **m as usize == l).count();
            whole.values.extend((0..self.n).map(|i| in_row(i) as f64));
            let coefficient = Coefficient { term: term.name.clone(), level: Some(level.clone()) };
            whole.coefficients.push(coefficient);
            whole.recipe.push(Vec::new());
        }
        whole
    }

    /// Looks whether the columns are independent, by the pivots of a Cholesky factor of the scaled
    /// cross products.
    ///
    /// # Errors
    /// The first column that is a combination of those before it.
    pub fn check_independent(&self) -> Result<(), ModelError> {
        let p = self.width();
        let norm = |j: usize| self.column(j).iter().map(|v| v * v).sum::<f64>().sqrt();
        let singular =
            |j: usize| ModelError::Singular { coefficient: self.coefficients[j].label() };
        // Orthogonal directions found so far (modified Gram–Schmidt, twice is enough).
        let mut basis: Vec<Vec<f64>> = Vec::with_capacity(p);
        for j in 0..p {
            let size = norm(j);
            if size == 0.0 {
                return Err(singular(j));
            }
            let mut rest: Vec<f64> = self.column(j).iter().map(|v| v / size).collect();
            for _ in 0..2 {
                for b in &basis {
                    let dot: f64 = rest.iter().zip(b).map(|(x, y)| x * y).sum();
                    rest.iter_mut().zip(b).for_each(|(x, y)| *x -= dot * y);
                }
            }
            let left = rest.iter().map(|v| v * v).sum::<f64>().sqrt();
            // Relative: what is left of a column of length 1 is rounding alone.
            if left < 1e-8 {
                return Err(singular(j));
            }
            rest.iter_mut().for_each(|v| *v /= left);
            basis.push(rest);
        }
        Ok(())
    }
}

/// Whether a factor is coded by contrasts within a term: when the term without it is in the model.
fn contrasts(term: &Term, column: &str, all: &[Term]) -> bool {
    let rest: Vec<&String> = term.columns.iter().filter(|c| *c != column).collect();
    let same =
        |t: &Term| t.columns.len() == rest.len() && rest.iter().all(|c| t.columns.contains(c));
    rest.is_empty() || all.iter().any(same)
}

fn indicators(
    factor: &Factor,
    column: &str,
    skip: usize,
) -> Vec<(Vec<f64>, Option<String>, Piece)> {
    let levels = factor.levels.iter().enumerate().skip(skip);
    levels
        .map(|(l, level)| {
            let is = |i: &u32| f64::from(u8::from(*i as usize == l));
            let values = factor.index.iter().map(is).collect();
            (values, Some(level.clone()), Piece::Level(column.to_owned(), level.clone()))
        })
        .collect()
}

type Made = (Vec<f64>, Vec<String>, Vec<Piece>);

/// Every made column times every piece; the first column of the term varies fastest.
fn product(made: &[Made], pieces: &[(Vec<f64>, Option<String>, Piece)]) -> Vec<Made> {
    let mut out = Vec::with_capacity(made.len() * pieces.len());
    for (values, level, piece) in pieces {
        for (v, levels, recipe) in made {
            let v = v.iter().zip(values).map(|(a, b)| a * b).collect();
            let levels = levels.iter().cloned().chain(level.clone()).collect();
            let recipe = recipe.iter().cloned().chain([piece.clone()]).collect();
            out.push((v, levels, recipe));
        }
    }
    out
}
