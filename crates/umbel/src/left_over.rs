//! `umbel left-over`: rows that did not fit and wait to be mended.

use answers::left_over::{dismiss, waiting};
use clap::Args;

use crate::{
    clones::done,
    house::House,
    out::{Form, Table},
    problem::{Problem, Result},
};

/// List rows that did not fit and wait to be mended
#[derive(Debug, Args)]
pub struct LeftOverArgs {
    /// Take this row off the list, by the ending that the list shows; the same list brought in
    /// again does not bring it back
    #[arg(long, value_name = "ENDING")]
    pub dismiss: Option<String>,
}

/// Runs it.
pub fn run(house: &House, args: &LeftOverArgs) -> Result {
    let journal = house.journal()?;
    let rows = waiting(&journal)?;
    if let Some(ending) = &args.dismiss {
        let mut found = rows.iter().filter(|r| r.uid.to_string().ends_with(ending.as_str()));
        let (Some(row), None) = (found.next(), found.next()) else {
            return Err(Problem::undone(
                format!("“{ending}” is not the ending of one row"),
                "`umbel left-over` lists them",
            ));
        };
        let op = dismiss(&journal, &house.hand, row.uid)?;
        return done(house, &format!("taken off the list: {}", row.origin), op);
    }
    let mut table = Table::new(&["origin", "why", "cells", "ending"]);
    for row in &rows {
        let uid = row.uid.to_string();
        table.row(vec![
            (&row.origin).into(),
            (&row.why).into(),
            row.cells.join(" | ").into(),
            uid[uid.len().saturating_sub(8)..].into(),
        ]);
    }
    if table.is_empty() && house.out.form() == Form::Table {
        house.out.note("nothing is left over");
    }
    house.out.table(&table)
}
