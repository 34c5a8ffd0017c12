//! Printing: tables for a terminal, JSON and CSV for other programs.

use std::io::{IsTerminal as _, Write as _};

use answers::NameText;
use comfy_table::{ContentArrangement, presets};
use names::Style;
use serde::Serialize;
use serde_json::Value;

use crate::problem::{Problem, Result};

/// How a result is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Form {
    Table,
    Json,
    Csv,
}

/// Where a run prints.
pub struct Out {
    asked: Option<Form>,
    styled: bool,
}

/// A cell of a table.
#[derive(Debug, Clone)]
pub enum Cell {
    /// Words.
    Words(String),
    /// A plant name, set.
    Name(NameText),
    /// A number or another JSON value.
    Value(Value),
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::Words(text.to_owned())
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::Words(text)
    }
}

impl From<&String> for Cell {
    fn from(text: &String) -> Self {
        Self::Words(text.clone())
    }
}

impl From<i64> for Cell {
    fn from(n: i64) -> Self {
        Self::Value(n.into())
    }
}

impl From<usize> for Cell {
    fn from(n: usize) -> Self {
        Self::Value(n.into())
    }
}

impl From<f64> for Cell {
    fn from(n: f64) -> Self {
        Self::Value(n.into())
    }
}

impl From<NameText> for Cell {
    fn from(name: NameText) -> Self {
        Self::Name(name)
    }
}

impl<T: Into<Cell>> From<Option<T>> for Cell {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::Value(Value::Null), Into::into)
    }
}

/// A table: columns and rows, printed in any form.
#[derive(Debug, Clone)]
pub struct Table {
    columns: Vec<String>,
    rows: Vec<Vec<Cell>>,
}

impl Table {
    /// A table with these columns. Their words are the keys of JSON and the header of CSV.
    pub fn new(columns: &[&'static str]) -> Self {
        Self { columns: columns.iter().map(|c| (*c).to_owned()).collect(), rows: Vec::new() }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: Vec<Cell>) {
        debug_assert_eq!(cells.len(), self.columns.len());
        self.rows.push(cells);
    }

    /// Whether there is no row.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    fn json(&self) -> Value {
        let rows = self.rows.iter().map(|row| {
            let cells = self.columns.iter().zip(row);
            Value::Object(cells.map(|(c, v)| (c.clone(), json_cell(v))).collect())
        });
        Value::Array(rows.collect())
    }
}

fn json_cell(cell: &Cell) -> Value {
    match cell {
        Cell::Words(w) => Value::String(w.clone()),
        Cell::Name(n) => Value::String(n.plain.clone()),
        Cell::Value(v) => v.clone(),
    }
}

/// The first characters by which a spreadsheet takes a cell for a formula.
const FORMULA: [char; 7] = ['=', '+', '-', '@', '\t', '\r', '\''];

fn csv_cell(cell: &Cell) -> String {
    let words = |w: &str| if w.starts_with(FORMULA) { format!("'{w}") } else { w.to_owned() };
    match cell {
        Cell::Words(w) => words(w),
        Cell::Name(n) => words(&n.plain),
        Cell::Value(Value::Null) => String::new(),
        Cell::Value(Value::String(s)) => words(s),
        Cell::Value(v) => v.to_string(),
    }
}

impl Out {
    /// Printing in the form that was asked for.
    pub fn new(asked: Option<Form>) -> Self {
        let styled = std::io::stdout().is_terminal()
            && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty());
        Self { asked, styled }
    }

    /// Printing without any styling, for cells of tables.
    pub const fn plain() -> Self {
        Self { asked: None, styled: false }
    }

    /// The form, a table unless another was asked for.
    pub fn form(&self) -> Form {
        self.asked.unwrap_or(Form::Table)
    }

    /// Prints a line of text. A closed pipe ends the printing in silence.
    pub fn line(&self, text: &str) {
        let _ = writeln!(std::io::stdout().lock(), "{text}");
    }

    /// Prints a heading.
    pub fn heading(&self, text: &str) {
        self.line("");
        self.line(&self.strong(text));
    }

    /// A remark beside the result, where only a reader sees it.
    pub fn note(&self, text: &str) {
        eprintln!("{text}");
    }

    /// A plant name, italic where the codes ask for it and the terminal can.
    pub fn name(&self, name: &NameText) -> String {
        if !self.styled {
            return name.plain.clone();
        }
        name.runs
            .iter()
            .map(|run| match run.style {
                Style::Italic => format!("\u{1b}[3m{}\u{1b}[23m", run.text),
                Style::SmallCaps => run.text.to_uppercase(),
                Style::Roman => run.text.clone(),
            })
            .collect()
    }

    /// Bold, where the terminal can.
    pub fn strong(&self, text: &str) -> String {
        if self.styled { format!("\u{1b}[1m{text}\u{1b}[22m") } else { text.to_owned() }
    }

    /// Set back, where the terminal can.
    pub fn weak(&self, text: &str) -> String {
        if self.styled { format!("\u{1b}[2m{text}\u{1b}[22m") } else { text.to_owned() }
    }

    /// Prints a value as JSON.
    pub fn json(&self, value: &impl Serialize) -> Result {
        let text = serde_json::to_string_pretty(value)
            .map_err(|e| Problem::undone(e.to_string(), "try `--as table`"))?;
        self.line(&text);
        Ok(())
    }

    /// Prints what a calculator found; JSON unless another form was asked for.
    pub fn found(&self, found: &calc::Found) -> Result {
        let form = self.asked.unwrap_or(Form::Json);
        if form != Form::Json {
            let rows = &found.table.rows;
            let rows = rows.iter().map(|r| r.iter().cloned().map(Cell::Value).collect()).collect();
            return self.table_as(&Table { columns: found.table.columns.clone(), rows }, form);
        }
        if found.lines {
            found.json.iter().for_each(|value| self.line(&value.to_string()));
            return Ok(());
        }
        self.json(found.value())
    }

    /// Prints a table in the form that was asked for.
    pub fn table(&self, table: &Table) -> Result {
        self.table_as(table, self.form())
    }

    /// Prints a table in this form.
    pub fn table_as(&self, table: &Table, form: Form) -> Result {
        match form {
            Form::Json => self.json(&table.json()),
            Form::Csv => self.csv(table),
            Form::Table => {
                if !table.is_empty() {
                    self.line(&self.drawn(table));
                }
                Ok(())
            }
        }
    }

    fn csv(&self, table: &Table) -> Result {
        let mut writer = csv::Writer::from_writer(Vec::new());
        let failed = |e: csv::Error| Problem::undone(e.to_string(), "try `--as json`");
        writer.write_record(&table.columns).map_err(failed)?;
        for row in &table.rows {
            writer.write_record(row.iter().map(csv_cell)).map_err(failed)?;
        }
        let bytes =
            writer.into_inner().map_err(|e| Problem::undone(e.to_string(), "try `--as json`"))?;
        let _ = std::io::stdout().lock().write_all(&bytes);
        Ok(())
    }

    fn drawn(&self, table: &Table) -> String {
        let mut drawn = comfy_table::Table::new();
        drawn.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic);
        // A column that says nothing only takes room from the others.
        let says: Vec<bool> = (0..table.columns.len())
            .map(|i| table.rows.iter().any(|row| !csv_cell(&row[i]).is_empty()))
            .collect();
        let header = table.columns.iter().zip(&says).filter(|(_, says)| **says);
        drawn.set_header(header.map(|(c, _)| self.weak(&c.replace('_', " "))));
        for row in &table.rows {
            let cells = row.iter().zip(&says).filter(|(_, says)| **says).map(|(cell, _)| cell);
            drawn.add_row(cells.map(|cell| match cell {
                Cell::Name(n) => comfy_table::Cell::new(self.name(n)),
                Cell::Value(Value::Null) => comfy_table::Cell::new(""),
                Cell::Value(Value::Number(n)) => {
                    comfy_table::Cell::new(n).set_alignment(comfy_table::CellAlignment::Right)
                }
                Cell::Value(Value::String(s)) => comfy_table::Cell::new(s),
                Cell::Value(v) => comfy_table::Cell::new(v),
                Cell::Words(w) => comfy_table::Cell::new(w),
            }));
        }
        drawn.to_string().lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
    }
}
