//! Each calculator with a plain face: a table goes in, JSON comes out. Nothing here sees the record.
//!
//! The command mounts [`CalcArgs`] as `umbel calc`; [`answer`] is the same for words in a test.

mod air;
mod breeding;
mod colour;
mod day;
mod descent;
mod diallel;
mod dosage;
mod evapotranspiration;
mod facade;
mod feed;
mod found;
mod heat;
mod index;
mod light;
mod lines;
mod mixed;
mod model;
mod name;
mod out_of_range;
mod panel;
mod prior;
mod problem;
mod progeny;
mod proportion;
mod ratio;
mod success;
mod sun;
mod table;
mod time_to_event;

use clap::{Args, Parser, Subcommand};

pub use found::{Found, Table};
pub use problem::{Problem, Result};

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
    TimeToEvent(Box<time_to_event::TimeToEventArgs>),
    Proportion(proportion::ProportionArgs),
    Progeny(progeny::ProgenyArgs),
    Ratio(Box<ratio::RatioArgs>),
    Dosage(dosage::DosageArgs),
    Success(success::SuccessArgs),
    Mixed(Box<mixed::MixedArgs>),
    Index(index::IndexArgs),
    Diallel(diallel::DiallelArgs),
    Colour(colour::ColourArgs),
    Air(air::AirArgs),
    Evapotranspiration(evapotranspiration::EvapotranspirationArgs),
    Feed(feed::FeedArgs),
    Heat(heat::HeatArgs),
    Sun(sun::SunArgs),
    Day(day::DayArgs),
    Facade(facade::FacadeArgs),
    Panel(panel::PanelArgs),
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

/// Runs a calculator on what was typed.
///
/// # Errors
/// When a file, a cell or an option cannot be used (status 2), or the calculation does not come to
/// an end (status 3).
pub fn run(args: &CalcArgs) -> Result {
    match &args.command {
        CalcCommand::Name(a) => name::run(a),
        CalcCommand::Descent(a) => descent::run(a),
        CalcCommand::TimeToEvent(a) => time_to_event::run(a),
        CalcCommand::Proportion(a) => proportion::run(a),
        CalcCommand::Progeny(a) => progeny::run(a),
        CalcCommand::Ratio(a) => ratio::run(a),
        CalcCommand::Dosage(a) => dosage::run(a),
        CalcCommand::Success(a) => success::run(a),
        CalcCommand::Mixed(a) => mixed::run(a),
        CalcCommand::Index(a) => index::run(a),
        CalcCommand::Diallel(a) => diallel::run(a),
        CalcCommand::Colour(a) => colour::run(a),
        CalcCommand::Air(a) => air::run(a),
        CalcCommand::Evapotranspiration(a) => evapotranspiration::run(a),
        CalcCommand::Feed(a) => feed::run(a),
        CalcCommand::Heat(a) => heat::run(a),
        CalcCommand::Sun(a) => sun::run(a),
        CalcCommand::Day(a) => day::run(a),
        CalcCommand::Facade(a) => facade::run(a),
        CalcCommand::Panel(a) => panel::run(a),
    }
}

/// The words after `umbel calc`, parsed and run.
///
/// # Errors
/// As [`run`]; words that are no such command have status 2 as well.
pub fn answer(words: &[&str]) -> Result {
    #[derive(Parser)]
    #[command(name = "calc", no_binary_name = true)]
    struct Words {
        #[command(flatten)]
        calc: CalcArgs,
    }
    let words = Words::try_parse_from(words)
        .map_err(|e| Problem::input(e.to_string(), "see `umbel calc --help`"))?;
    run(&words.calc)
}
