//! Photos handed in from a file.

use std::path::PathBuf;

use answers::acts;
use clap::Args;

use crate::{
    clones::done,
    house::House,
    problem::{Problem, Result},
    target,
};

/// Keep a photo of one or several plants
#[derive(Debug, Args)]
pub struct PhotoArgs {
    /// The photo
    pub file: PathBuf,
    /// What it shows: plants, parts (12:flower), places, crosses
    #[arg(required = true, value_name = "TARGET")]
    pub targets: Vec<String>,
    /// Whose photo it is
    #[arg(long, value_name = "NAME", default_value = "", hide_default_value = true)]
    pub credit: String,
    /// When it was taken [default: today]
    #[arg(long, value_name = "DATE", default_value = "", hide_default_value = true)]
    pub on: String,
    /// Free words
    #[arg(long, value_name = "WORDS")]
    pub note: Option<String>,
}

/// Runs it.
pub fn photo(house: &House, args: &PhotoArgs) -> Result {
    let bytes = std::fs::read(&args.file).map_err(|e| Problem::file(&args.file, &e))?;
    let journal = house.journal()?;
    let shows = house.read(&journal, |r| target::read_all(r, &house.hand, &args.targets))?;
    let op = acts::add_photo(
        &journal,
        &house.hand,
        &bytes,
        &shows,
        &args.on,
        &args.credit,
        args.note.clone(),
    )?;
    done(house, &format!("photo kept, {} bytes", bytes.len()), op)
}
