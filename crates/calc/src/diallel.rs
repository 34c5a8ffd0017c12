//! `umbel calc diallel`.

use std::path::PathBuf;

use clap::Args;
use stats::diallel::{Diallel, DiallelError, Entry, Method, analyse};

use crate::{Found, Problem, Result, Table, table::Input};

/// What parents give on average and in pairs: crosses in all combinations
#[derive(Debug, Args)]
#[command(after_help = "\
Methods: 1 parents selfed, crosses and reciprocals; 2 parents selfed and crosses one way; 3 crosses
and reciprocals; 4 crosses one way. Replicates are further rows. Where rows are missing, use
`umbel calc mixed --random 'mm(seed_parent,pollen_parent)'`.")]
pub struct DiallelArgs {
    /// A table with one row for each record
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Which entries there are, by Griffing's number
    #[arg(long, value_name = "1..4", value_parser = clap::value_parser!(u8).range(1..=4))]
    pub method: u8,
    /// The column of what was measured
    #[arg(long, value_name = "COLUMN", default_value = "y")]
    pub response: String,
    /// The column of the seed parent
    #[arg(long, value_name = "COLUMN", default_value = "seed_parent")]
    pub seed_parent: String,
    /// The column of the pollen parent
    #[arg(long, value_name = "COLUMN", default_value = "pollen_parent")]
    pub pollen_parent: String,
    /// The column of complete blocks, each with every entry once [default: rep, if there is such a
    /// column and its blocks are complete]
    #[arg(long, value_name = "COLUMN")]
    pub block: Option<String>,
}

/// Runs it.
pub fn run(args: &DiallelArgs) -> Result {
    let input = Input::read(&args.file)?;
    let asked = args.block.as_deref();
    let entries = entries(&input, args, asked.or(input.has("rep").then_some("rep")))?;
    let method = Method::number(args.method).ok_or_else(|| {
        Problem::input(format!("there is no method {}", args.method), "give 1, 2, 3 or 4")
    })?;
    let found = match analyse(&entries, method) {
        Err(DiallelError::Block { .. }) if asked.is_none() => {
            let plain: Vec<Entry> =
                entries.into_iter().map(|e| Entry { block: None, ..e }).collect();
            analyse(&plain, method)
        }
        found => found,
    };
    let found = found.map_err(|e| problem(&input, args, &e))?;
    Found::one(&found, as_table(&found))
}

fn entries(input: &Input, args: &DiallelArgs, block: Option<&str>) -> Result<Vec<Entry>> {
    let seeds = input.column(&args.seed_parent)?;
    let pollens = input.column(&args.pollen_parent)?;
    let blocks = block.map(|b| input.column(b)).transpose()?;
    let numbers = input.numbers(&args.response)?;
    let mut all = Vec::with_capacity(input.len());
    for (at, y) in numbers.into_iter().enumerate() {
        let row = at + 2;
        let next = "fill the cell in, or leave the row out";
        let blank =
            |column: &str, what: &str| Problem::cell(input.file(), row, column, "", what, next);
        for (column, cells) in [(&args.seed_parent, &seeds), (&args.pollen_parent, &pollens)] {
            if cells[at].1.is_empty() {
                return Err(blank(column, "a parent"));
            }
        }
        let of_block = blocks.as_ref().map(|b| b[at].1);
        if let (Some(""), Some(column)) = (of_block, &args.block) {
            return Err(blank(column, "a block"));
        }
        all.push(Entry {
            seed_parent: seeds[at].1.to_owned(),
            pollen_parent: pollens[at].1.to_owned(),
            block: of_block.filter(|b| !b.is_empty()).map(str::to_owned),
            y: y.ok_or_else(|| blank(&args.response, "a number"))?,
        });
    }
    Ok(all)
}

fn problem(input: &Input, args: &DiallelArgs, error: &DiallelError) -> Problem {
    let text = error.to_string();
    let (what, next) = text.rsplit_once("; ").unwrap_or((&text, "correct the table"));
    let place = match error {
        DiallelError::Missing { .. } | DiallelError::FewParents { .. } => {
            format!(", method {}", args.method)
        }
        _ => String::new(),
    };
    Problem::input(format!("{}{place}: {what}", input.file()), next)
}

fn as_table(found: &Diallel) -> Table {
    let mut table = Table::new(["effect", "a", "b", "estimate", "se"]);
    for g in &found.gca {
        let (parent, none) = (g.parent.clone(), serde_json::Value::Null);
        table.row(vec!["gca".into(), parent.into(), none, g.effect.into(), g.se.into()]);
    }
    for (name, pairs) in [("sca", &found.sca), ("reciprocal", &found.reciprocal)] {
        for p in pairs {
            let (a, b) = (p.a.clone().into(), p.b.clone().into());
            table.row(vec![name.into(), a, b, p.effect.into(), p.se.into()]);
        }
    }
    table
}
