//! `umbel calc name`.

use std::path::PathBuf;

use clap::Args;
use jiff::civil::Date;

use crate::{Found, Problem, Result, Table, table};

/// Read and judge plant names, one a line
#[derive(Debug, Args)]
pub struct NameArgs {
    /// Text with one name a line, or - for standard input
    #[arg(default_value = "-")]
    pub file: PathBuf,
    /// Judge by the rules in force on this date [default: the newest]
    #[arg(long, value_name = "DATE")]
    pub today: Option<String>,
}

/// Runs it.
pub fn run(args: &NameArgs) -> Result {
    let context = match &args.today {
        None => names::Context::default(),
        Some(typed) => names::Context::on(typed.parse::<Date>().map_err(|_| {
            Problem::input(format!("--today: “{typed}” is not a date"), "write it as 1958-12-31")
        })?),
    };
    let (text, _) = table::text(&args.file)?;
    let mut table = Table::new(["input", "verdict", "normalised", "kind", "problems", "html"]);
    let mut values = Vec::new();
    for line in text.lines().filter(|l| !l.trim().is_empty()) {
        let value = names::read(line, &context).to_json();
        let word = |key: &str| value[key].as_str().unwrap_or_default().into();
        let codes: Vec<&str> = value["problems"]
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(|p| p["code"].as_str())
            .collect();
        table.row(vec![
            word("input"),
            word("verdict"),
            word("normalised"),
            word("kind"),
            codes.join(" ").into(),
            word("html"),
        ]);
        values.push(value);
    }
    Ok(Found::lines(values, table))
}
