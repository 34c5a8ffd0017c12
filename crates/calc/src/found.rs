//! What a calculator found, before it is printed.

use serde::Serialize;
use serde_json::Value;

use crate::problem::{Problem, Result};

/// A result, as JSON and as a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// One value, or one for each line of the input where `lines` is set.
    pub json: Vec<Value>,
    /// Whether each value stands on a line of its own.
    pub lines: bool,
    /// The same as a table, as far as a table can hold it.
    pub table: Table,
}

/// Columns and rows.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Table {
    /// The header.
    pub columns: Vec<String>,
    /// Each as long as the header.
    pub rows: Vec<Vec<Value>>,
}

impl Found {
    /// One value and its table.
    ///
    /// # Errors
    /// When the value cannot be written as JSON.
    pub fn one(value: &impl Serialize, table: Table) -> Result<Self> {
        let json = serde_json::to_value(value)
            .map_err(|e| Problem::unfinished(e.to_string(), "ask for another form"))?;
        Ok(Self { json: vec![json], lines: false, table })
    }

    /// A table whose JSON is a list of its rows.
    pub fn rows(table: Table) -> Self {
        Self { json: vec![table.json()], lines: false, table }
    }

    /// One value for each line of the input.
    pub fn lines(json: Vec<Value>, table: Table) -> Self {
        Self { json, lines: true, table }
    }

    /// The value, for a result that is one.
    pub fn value(&self) -> &Value {
        self.json.first().unwrap_or(&Value::Null)
    }
}

impl Table {
    /// A table with these columns.
    pub fn new<S: Into<String>>(columns: impl IntoIterator<Item = S>) -> Self {
        Self { columns: columns.into_iter().map(Into::into).collect(), rows: Vec::new() }
    }

    /// Adds a row, as long as the header.
    pub fn row(&mut self, cells: Vec<Value>) {
        debug_assert_eq!(cells.len(), self.columns.len());
        self.rows.push(cells);
    }

    fn json(&self) -> Value {
        let row = |row: &Vec<Value>| {
            Value::Object(self.columns.iter().cloned().zip(row.iter().cloned()).collect())
        };
        Value::Array(self.rows.iter().map(row).collect())
    }
}
