//! The command: asks `answers`, the record and the calculators, and lays out what comes back in a
//! terminal, as JSON or as CSV. It computes nothing itself.
//!
//! [`command`] describes every subcommand and option, [`run`] runs one, and [`reference()`] writes
//! the description as a page.

mod add;
mod air;
mod args;
mod ask;
mod bring_in;
mod clones;
mod crosses;
mod crossing;
mod demo;
mod evidence_text;
mod feed;
mod fields;
mod filter;
mod flowers;
mod handed;
mod help;
mod house;
mod keepers;
mod labels;
mod left_over;
mod list;
mod log;
mod naming;
mod out;
mod page;
mod pests;
mod phones;
mod places;
mod potting;
mod problem;
mod progress;
mod readings;
mod reference;
mod safety;
mod said_by_others;
mod serve;
mod target;
mod today;
mod undo;

use std::ffi::OsString;

use clap::{CommandFactory as _, FromArgMatches as _};

pub use reference::reference;

/// Every subcommand and option, as the command line understands them.
#[must_use]
pub fn command() -> clap::Command {
    help::finished(args::Cli::command())
}

/// Runs the command with these arguments, the first being its own name, and returns the exit
/// status: 0 done, 1 not done, 2 something typed cannot be read, 3 a calculation that did not
/// come to an end.
#[must_use]
pub fn run<I, T>(arguments: I) -> u8
where
    I: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    let matches = match command().try_get_matches_from(arguments) {
        Ok(m) => m,
        Err(e) => {
            let status = u8::try_from(e.exit_code()).unwrap_or(2);
            // A closed pipe is the reader's business.
            let _ = e.print();
            return status;
        }
    };
    let cli = match args::Cli::from_arg_matches(&matches) {
        Ok(cli) => cli,
        Err(e) => {
            let _ = e.print();
            return 2;
        }
    };
    match args::perform(cli) {
        Ok(()) => 0,
        Err(problem) => {
            problem.print();
            problem.status
        }
    }
}
