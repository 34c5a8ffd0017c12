//! `umbel readings`: the files of loggers.

use std::{collections::BTreeMap, fs, path::PathBuf};

use answers::acts::{
    self, Corrected, LoggerPair, Look, ReadingsInput, SaltReading, Taken, look_at_readings,
};
use clap::{Args, Subcommand};
use jiff::{Timestamp, civil::Date, tz::TimeZone};

use crate::{
    clones::done,
    filter::place_number,
    house::House,
    out::{Form, Table},
    problem::{Problem, Result},
    progress,
};

/// Readings of loggers: take a file in, list loggers, compare two, test one with salt
#[derive(Debug, Args)]
pub struct ReadingsArgs {
    #[command(subcommand)]
    command: ReadingsCommand,
}

#[derive(Debug, Subcommand)]
enum ReadingsCommand {
    /// Take the file of a logger in
    #[command(after_help = "\
With --dry-run it is shown how the file is understood, and nothing is written. What only you can
settle (day or month first, °C or °F) is listed as questions, each with a key; answer with
--answer KEY=VALUE. The same readings taken in again add nothing; lines that were not taken are
kept and listed by `umbel readings refused`.

Examples:
  umbel readings import hygro-3.csv --place 2 --dry-run
  umbel readings import hygro-3.csv --place 2 --answer date_order=day_first")]
    Import(ImportArgs),
    /// The loggers of all places, or of one
    List {
        /// The place, by number or name
        #[arg(long, value_name = "PLACE")]
        place: Option<String>,
    },
    /// Lines of loggers' files that were not taken, with their rows and reasons
    Refused {
        /// The place, by number or name
        #[arg(long, value_name = "PLACE")]
        place: String,
    },
    /// Compare a logger with one beside it, and keep its offset
    Compare(CompareArgs),
    /// Keep the offset of a logger that was closed in with damp cooking salt
    Salt {
        /// The logger
        logger: String,
        /// The humidity that it showed, in %
        humidity: f64,
        /// The temperature in the box, in °C
        #[arg(long, value_name = "DEGREES", default_value_t = 25.0)]
        temperature: f64,
        /// Show the offset, and keep nothing
        #[arg(long)]
        dry_run: bool,
    },
}

#[derive(Debug, Args)]
struct ImportArgs {
    /// The file
    file: PathBuf,
    /// The place where the logger hung, by number or name
    #[arg(long, value_name = "PLACE")]
    place: String,
    /// What the logger is called there [default: the only one]
    #[arg(long, value_name = "NAME", default_value = "", hide_default_value = true)]
    logger: String,
    /// Show how the file is understood, and write nothing
    #[arg(long)]
    dry_run: bool,
    /// Answer a question
    #[arg(long = "answer", value_name = "KEY=VALUE")]
    answers: Vec<String>,
}

#[derive(Debug, Args)]
struct CompareArgs {
    /// The logger whose offset is wanted
    logger: String,
    /// The logger that is trusted
    against: String,
    /// The place of the first, by number or name
    #[arg(long, value_name = "PLACE")]
    place: String,
    /// The place under which the other is kept [default: the same]
    #[arg(long, value_name = "PLACE")]
    against_place: Option<String>,
    /// First day side by side
    #[arg(long, value_name = "DAY")]
    from: Date,
    /// Last day side by side
    #[arg(long, value_name = "DAY")]
    to: Date,
    /// Show the offset, and keep nothing
    #[arg(long)]
    dry_run: bool,
}

/// Runs it.
pub fn run(house: &House, args: &ReadingsArgs) -> Result {
    match &args.command {
        ReadingsCommand::Import(a) => import(house, a),
        ReadingsCommand::List { place } => list(house, place.as_deref()),
        ReadingsCommand::Refused { place } => refused(house, place),
        ReadingsCommand::Compare(a) => compare(house, a),
        ReadingsCommand::Salt { logger, humidity, temperature, dry_run } => {
            let reading = SaltReading { humidity: *humidity, temperature: *temperature };
            keep(house, logger, &acts::salt_test(reading)?, *dry_run)
        }
    }
}

fn answers_of(args: &ImportArgs) -> Result<BTreeMap<String, String>> {
    args.answers
        .iter()
        .map(|answer| {
            let (key, value) = answer.split_once('=').ok_or_else(|| {
                Problem::input(
                    format!("--answer: “{answer}” is not KEY=VALUE"),
                    "take the key from the questions that --dry-run lists",
                )
            })?;
            Ok((key.trim().to_owned(), value.trim().to_owned()))
        })
        .collect()
}

fn import(house: &House, args: &ImportArgs) -> Result {
    let bytes = fs::read(&args.file).map_err(|e| Problem::file(&args.file, &e))?;
    let journal = house.journal()?;
    let file = args.file.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let input = ReadingsInput {
        place: house.read(&journal, |r| place_number(r, &args.place))?,
        logger: args.logger.clone(),
        file: &file,
        bytes: &bytes,
        answers: answers_of(args)?,
        zone: TimeZone::system(),
        lines: None,
    };
    let bar = progress::open_ended("reading the file");
    let look = look_at_readings(&journal, &house.hand, &input);
    bar.finish_and_clear();
    let look = look?;
    if args.dry_run {
        return show(house, &look);
    }
    if look.read.open() > 0 {
        questions(house, &look)?;
        return Err(Problem::undone(
            "the file leaves questions open, and nothing was written",
            "answer each with --answer KEY=VALUE",
        ));
    }
    let bar = progress::open_ended("writing the readings");
    let taken = acts::take_readings(&journal, &house.hand, &look);
    bar.finish_and_clear();
    written(house, &look, &taken?)
}

fn stamp(time: i64) -> String {
    Timestamp::from_second(time).map_or_else(
        |_| time.to_string(),
        |t| t.to_zoned_datetime(TimeZone::system()).strftime("%Y-%m-%d %H:%M").to_string(),
    )
}

fn show(house: &House, look: &Look) -> Result {
    match house.out.form() {
        Form::Json => return house.out.json(look),
        Form::Csv => {
            let mut table = Table::new(&["row", "time", "temperature", "humidity", "light"]);
            for r in &look.read.readings {
                table.row(vec![
                    i64::from(r.row).into(),
                    stamp(r.time).into(),
                    r.temperature.into(),
                    r.humidity.into(),
                    r.light.into(),
                ]);
            }
            return house.out.table(&table);
        }
        Form::Table => {}
    }
    let out = &house.out;
    out.line(&format!("place {}, logger {}", look.place.number, look.logger));
    for column in &look.read.columns {
        let holds = column
            .channel
            .map_or_else(|| "passed over".to_owned(), |c| format!("{c:?}").to_lowercase());
        out.line(&format!("  {}: {holds}", column.heading));
    }
    if let Some(span) = look.span {
        out.line(&format!("  {} to {}", stamp(span.from), stamp(span.to)));
    }
    for gap in &look.read.gaps {
        out.line(&format!("  no record from {} to {}", stamp(gap.from), stamp(gap.to)));
    }
    for flat in &look.flat {
        out.line(&format!("  unchanged from {} to {}", stamp(flat.from), stamp(flat.to)));
    }
    if !look.refused.is_empty() {
        out.heading("Not taken, or not whole");
        lines(house, look.refused.iter().map(|l| (l.row, l.why.as_str(), l.text.as_str())))?;
    }
    questions(house, look)?;
    out.note(&format!(
        "{} new readings, {} in the record already, {} lines not taken; nothing was written",
        look.new,
        look.before,
        look.refused.len()
    ));
    Ok(())
}

fn lines<'a>(house: &House, all: impl Iterator<Item = (u32, &'a str, &'a str)>) -> Result {
    let mut table = Table::new(&["row", "why", "text"]);
    for (row, why, text) in all {
        table.row(vec![i64::from(row).into(), why.into(), text.into()]);
    }
    house.out.table(&table)
}

fn questions(house: &House, look: &Look) -> Result {
    if look.read.questions.is_empty() || house.out.form() != Form::Table {
        return Ok(());
    }
    house.out.heading("To be asked");
    let mut table = Table::new(&["key", "example", "answers", "answered"]);
    for q in &look.read.questions {
        table.row(vec![
            q.key.into(),
            q.example.clone().into(),
            q.choices.join(" | ").into(),
            q.answer.clone().into(),
        ]);
    }
    house.out.table(&table)
}

fn written(house: &House, look: &Look, taken: &Taken) -> Result {
    if house.out.form() == Form::Json {
        return house.out.json(taken);
    }
    let mut table = Table::new(&["what", "count"]);
    table.row(vec!["readings written".into(), taken.new.into()]);
    table.row(vec!["readings in the record already".into(), taken.before.into()]);
    for (why, n) in &look.refused_by_kind {
        table.row(vec![format!("lines not taken: {why}").into(), (*n).into()]);
    }
    house.out.table(&table)?;
    if taken.op.is_some() {
        house.out.note("`umbel undo` takes the file back");
    }
    Ok(())
}

fn list(house: &House, place: Option<&str>) -> Result {
    let journal = house.journal()?;
    let mut table = Table::new(&[
        "place",
        "logger",
        "first",
        "last",
        "readings",
        "add_temperature",
        "add_humidity",
    ]);
    let rows = house.read(&journal, |r| {
        let only = place.map(|p| place_number(r, p)).transpose()?;
        let mut rows = Vec::new();
        for p in r.places()? {
            if only.is_none_or(|o| o == p.number) {
                rows.extend(r.loggers(p.id)?.into_iter().map(|l| (p.number, l)));
            }
        }
        Ok(rows)
    })?;
    for (number, l) in rows {
        table.row(vec![
            number.into(),
            l.name.into(),
            stamp(l.first).into(),
            stamp(l.last).into(),
            l.readings.into(),
            l.correction.temperature.into(),
            l.correction.humidity.into(),
        ]);
    }
    house.out.table(&table)
}

fn refused(house: &House, place: &str) -> Result {
    let journal = house.journal()?;
    let rows = house.read(&journal, |r| {
        let number = place_number(r, place)?;
        let id = r.place(number)?.map_or(0, |p| p.id);
        Ok(r.refused(id)?)
    })?;
    if house.out.form() == Form::Json {
        return house.out.json(&rows);
    }
    let mut table = Table::new(&["file", "logger", "row", "why", "text"]);
    for row in &rows {
        for l in &row.lines {
            table.row(vec![
                (&row.origin).into(),
                (&row.logger).into(),
                i64::from(l.row).into(),
                (&l.why).into(),
                (&l.text).into(),
            ]);
        }
    }
    house.out.table(&table)
}

fn compare(house: &House, args: &CompareArgs) -> Result {
    let journal = house.journal()?;
    let (ours, theirs) = house.read(&journal, |r| {
        let ours = place_number(r, &args.place)?;
        let other = args.against_place.as_deref().map(|p| place_number(r, p)).transpose()?;
        Ok((ours, other.unwrap_or(ours)))
    })?;
    let instant = |day: Date| {
        let zoned = day.to_zoned_datetime(TimeZone::system());
        zoned
            .map(|z| z.timestamp().as_second())
            .map_err(|e| Problem::input(format!("{day}: {e}"), "write a day such as 2026-03-01"))
    };
    let pair = LoggerPair {
        logger: (ours, args.logger.clone()),
        against: (theirs, args.against.clone()),
        from: instant(args.from)?,
        to: instant(args.to)? + 86_400,
    };
    let found = acts::compare_loggers(&journal, &pair)?;
    keep(house, &args.logger, &found, args.dry_run)
}

/// Prints an offset, and keeps it unless it is a trial.
fn keep(house: &House, logger: &str, found: &Corrected, dry_run: bool) -> Result {
    if !dry_run {
        let journal = house.journal()?;
        let op = acts::correct(&journal, &house.hand, logger, found)?;
        return done(house, &format!("logger {logger}: {}", offset_words(found)), op);
    }
    if house.out.form() == Form::Json {
        return house.out.json(found);
    }
    house.out.line(&format!("logger {logger}: {}", offset_words(found)));
    house.out.note("nothing was kept");
    Ok(())
}

fn offset_words(found: &Corrected) -> String {
    let one = |told: Option<(f64, f64)>, unit: &str| {
        told.map(|(value, sd)| format!("{value:+.2} ± {sd:.2} {unit}"))
    };
    let parts = [one(found.temperature, "K"), one(found.humidity, "% points")];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}
