//! `umbel phones`.

#[cfg(feature = "pages")]
mod known;

use clap::{Args, Subcommand};

use crate::{house::House, problem::Result};

/// List the phones that are let in; let one in by a square, or end one
#[derive(Debug, Args)]
#[command(after_help = "\
Phones reach the house while “umbel open --phones” runs. Who has the passcode, or a code while it can
be used, can write into the record.

Examples:
  umbel phones
  umbel phones pair --name Mara
  umbel phones pair --as-role guest --name \"Mara's father\"
  umbel phones end 3f08a1c2
  umbel phones end --all")]
pub struct PhonesArgs {
    #[command(subcommand)]
    command: Option<PhonesCommand>,
}

#[derive(Debug, Subcommand)]
enum PhonesCommand {
    /// Show a square that lets one phone in, once and for five minutes
    Pair(PairArgs),
    /// End a phone: it is out at once
    End(EndArgs),
}

/// Who is let in.
#[derive(Debug, Args)]
pub struct PairArgs {
    /// Who will hold the phone; what it writes stands under this name
    #[arg(long, value_name = "NAME", default_value = "", hide_default_value = true)]
    pub name: String,
    /// What it may do: look, also log entries and rounds, or everything but set passcode and name
    #[arg(long = "as-role", value_name = "ROLE", value_enum, default_value = "helper")]
    pub role: RoleArg,
}

/// What a phone may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum RoleArg {
    Guest,
    Helper,
    Owner,
}

/// Which phone is ended.
#[derive(Debug, Args)]
pub struct EndArgs {
    /// The phone, by the eight characters that `umbel phones` shows
    #[arg(required_unless_present = "all", conflicts_with = "all")]
    pub phone: Option<String>,
    /// All of them, and codes that can still be used
    #[arg(long)]
    pub all: bool,
}

/// Runs it.
#[cfg(feature = "pages")]
pub fn run(house: &House, args: &PhonesArgs) -> Result {
    match &args.command {
        None => known::list(house),
        Some(PhonesCommand::Pair(pair)) => known::pair(house, pair),
        Some(PhonesCommand::End(end)) => known::end(house, end),
    }
}

/// Says that this build has no pages.
#[cfg(not(feature = "pages"))]
pub fn run(_: &House, args: &PhonesArgs) -> Result {
    // Read all the same, so that wrong arguments are told from a build without pages.
    let _ = &args.command;
    Err(crate::serve::built_without())
}
