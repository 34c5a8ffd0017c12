//! `umbel calc`: each calculator with a plain face. A table goes in, JSON comes out; nothing here
//! sees the record.

mod descent;
mod name;
mod proportion;
mod table;
mod time_to_event;

use clap::{Args, Subcommand};

use crate::{house::House, problem::Result};

/// Ask a calculator directly: a table in, JSON out
#[derive(Debug, Args)]
#[command(after_help = "\
FILE is a CSV with a header, or - for standard input. Extra columns are ignored. When something
cannot be read, nothing is printed and the exit status is 2; when a calculation does not come to
an end, it is 3.")]
pub struct CalcArgs {
    #[command(subcommand)]
    command: CalcCommand,
}

#[derive(Debug, Subcommand)]
enum CalcCommand {
    Name(name::NameArgs),
    Descent(descent::DescentArgs),
    TimeToEvent(time_to_event::TimeToEventArgs),
    Proportion(proportion::ProportionArgs),
}

/// The confidence of intervals.
#[derive(Debug, Clone, Args)]
pub struct Confidence {
    /// The confidence of intervals, between 0 and 1
    #[arg(long, value_name = "SHARE", default_value_t = 0.95, value_parser = share)]
    pub confidence: f64,
}

/// Reads a share between 0 and 1.
fn share(typed: &str) -> std::result::Result<f64, String> {
    match typed.parse::<f64>() {
        Ok(v) if v > 0.0 && v < 1.0 => Ok(v),
        _ => Err("expected a number between 0 and 1, such as 0.95".to_owned()),
    }
}

/// Runs it.
pub fn run(house: &House, args: &CalcArgs) -> Result {
    match &args.command {
        CalcCommand::Name(a) => name::run(house, a),
        CalcCommand::Descent(a) => descent::run(house, a),
        CalcCommand::TimeToEvent(a) => time_to_event::run(house, a),
        CalcCommand::Proportion(a) => proportion::run(house, a),
    }
}
