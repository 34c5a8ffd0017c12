//! `umbel demo`: the record of an invented grower, to look at.

use std::path::PathBuf;

use clap::Args;
use journal::Journal;

use crate::{
    house::House,
    out::{Form, Table},
    problem::{Problem, Result},
    progress,
};

/// Write the demo, the record of an invented grower, to a new file
#[derive(Debug, Args)]
pub struct DemoArgs {
    /// The new file
    pub file: PathBuf,
}

/// Runs it.
pub fn run(house: &House, args: &DemoArgs) -> Result {
    if args.file.exists() {
        return Err(Problem::undone(
            format!("{} is there already", args.file.display()),
            "choose another name; nothing is written over",
        ));
    }
    let (journal, _) = Journal::open(&args.file)?;
    let bar = progress::open_ended("writing three years of journal");
    let written = trial::write_demo(&journal, house.hand.today);
    bar.finish_and_clear();
    written?;
    let (plants, entries) = house.read(&journal, |r| Ok(r.totals()?))?;
    if house.out.form() == Form::Table {
        house.out.line(&format!("{plants} plants, {entries} entries: {}", args.file.display()));
        house
            .out
            .note(&format!("look at it with `umbel list --collection {}`", args.file.display()));
        return Ok(());
    }
    let mut table = Table::new(&["file", "plants", "entries"]);
    table.row(vec![args.file.display().to_string().into(), plants.into(), entries.into()]);
    house.out.table(&table)
}
