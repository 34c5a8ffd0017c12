//! What all calculators with covariates share: terms, references and the columns they need.

use std::collections::BTreeSet;

use clap::Args;
use serde_json::{Value, json};
use stats::model::{Coefficient, Column, Frame, ModelError, RandomSpec, Term, split_terms};

use crate::{Problem, Result, table::Input};

/// The fixed part.
#[derive(Debug, Clone, Args)]
pub struct Terms {
    /// Columns whose effects are estimated: a, a:b (interaction), a/b (b within a), factor(a)
    #[arg(long = "terms", value_name = "TERM,…")]
    pub typed: Option<String>,
    /// The level that the others of a column are compared with [default: the first in the alphabet]
    #[arg(long, value_name = "COLUMN=LEVEL")]
    pub reference: Vec<String>,
}

impl Terms {
    /// The terms, read.
    pub fn read(&self) -> Result<Vec<Term>> {
        let typed = split_terms(self.typed.as_deref().unwrap_or(""));
        Term::read_all(&typed).map_err(|e| option("--terms", &e))
    }

    /// The references, read.
    fn references(&self) -> Result<Vec<(&str, &str)>> {
        let read = |typed: &'_ String| -> Result<(String, String)> {
            let (column, level) = typed.split_once('=').ok_or_else(|| {
                Problem::input(
                    format!("--reference: “{typed}” is not COLUMN=LEVEL"),
                    "write it as --reference mix=bark",
                )
            })?;
            Ok((column.to_owned(), level.to_owned()))
        };
        self.reference.iter().try_for_each(|typed| read(typed).map(|_| ()))?;
        Ok(self.reference.iter().filter_map(|typed| typed.split_once('=')).collect())
    }

    /// The columns that the fixed part and the random terms need.
    pub fn frame(&self, input: &Input, fixed: &[Term], random: &[RandomSpec]) -> Result<Frame> {
        let mut numbers: BTreeSet<&str> = BTreeSet::new();
        let mut words: BTreeSet<&str> = BTreeSet::new();
        let references = self.references()?;
        for term in fixed {
            for (column, as_factor) in term.columns.iter().zip(&term.as_factor) {
                let asked = *as_factor || references.iter().any(|(c, _)| c == column);
                if asked {
                    words.insert(column)
                } else {
                    numbers.insert(column)
                };
            }
        }
        for spec in random {
            match spec {
                RandomSpec::Intercept(group) | RandomSpec::Members(group) => {
                    words.extend(group.iter().map(String::as_str));
                }
                RandomSpec::Slope { covariate, group } => {
                    numbers.insert(covariate);
                    words.extend(group.iter().map(String::as_str));
                }
            }
        }
        let mut frame = Frame::new(input.len());
        for column in numbers.union(&words) {
            let read = read_column(input, column, numbers.contains(column))?;
            frame = frame.with(*column, read).map_err(|e| in_file(input, &e))?;
        }
        for (column, level) in references {
            frame = frame.reference(column, level);
        }
        Ok(frame)
    }
}

/// A column of numbers where every cell is one; of words where none is, or where they only name
/// levels. A column of both is a slip as a rule, and is not taken for words in silence.
fn read_column(input: &Input, column: &str, perhaps_numbers: bool) -> Result<Column> {
    let cells = input.column(column)?;
    if let Some((row, _)) = cells.iter().find(|(_, text)| text.is_empty()) {
        let next = "fill the cell in, or leave the row out";
        return Err(Problem::cell(input.file(), *row, column, "", "a value", next));
    }
    let number = |text: &str| text.parse::<f64>().ok().filter(|v| v.is_finite());
    if perhaps_numbers && cells.iter().any(|(_, text)| number(text).is_some()) {
        let read = |(row, text): &(usize, &str)| {
            number(text).ok_or_else(|| {
                let next =
                    format!("correct the cell; if the column names levels, write factor({column})");
                Problem::cell(input.file(), *row, column, text, "a number as in other rows", next)
            })
        };
        return Ok(Column::Numbers(cells.iter().map(read).collect::<Result<_>>()?));
    }
    Ok(Column::Words(cells.into_iter().map(|(_, text)| text.to_owned()).collect()))
}

/// The random terms of an option.
pub fn random(option_name: &str, typed: Option<&str>) -> Result<Vec<RandomSpec>> {
    let mut specs = Vec::new();
    for text in split_terms(typed.unwrap_or("")) {
        for spec in RandomSpec::read(&text).map_err(|e| option(option_name, &e))? {
            if !specs.contains(&spec) {
                specs.push(spec);
            }
        }
    }
    Ok(specs)
}

/// A coefficient as every calculator reports it.
pub fn coefficient(c: &Coefficient, estimate: f64, se: Option<f64>) -> Value {
    json!({"term": c.term, "level": c.level, "estimate": estimate, "se": se})
}

fn option(name: &str, error: &ModelError) -> Problem {
    Problem::input(format!("{name}: {error}"), "see `umbel calc --help` for how terms are written")
}

/// Places an error of a design in the file, whose first row is the header.
pub fn in_file(input: &Input, error: &ModelError) -> Problem {
    let file = input.file();
    match error {
        ModelError::NotFinite { row, column, value } => Problem::cell(
            file,
            row + 1,
            column,
            &value.to_string(),
            "a finite number",
            "correct the cell",
        ),
        ModelError::WordsForNumbers { column, value, row } => Problem::cell(
            file,
            row + 1,
            column,
            value,
            "a number, as the slope of a random term needs",
            "take a column of numbers",
        ),
        other => {
            let text = other.to_string();
            let (what, next) = text.rsplit_once("; ").unwrap_or((&text, "correct the table"));
            Problem::input(format!("{file}: {what}"), next)
        }
    }
}
