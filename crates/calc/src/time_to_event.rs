//! `umbel calc time-to-event`.

mod believed;
mod clock;
mod competing;
mod parametric;

use std::path::PathBuf;

use clap::{ArgGroup, Args, ValueEnum};
use stats::survival::parametric::Law;
use stats::survival::{Interval, SurvivalError, Time, km_report, turnbull_report};

use crate::{Confidence, Found, Problem, Result, Table, table::Input};

/// How long until something happens, from records that may be intervals
#[derive(Debug, Args)]
#[command(group(ArgGroup::new("ending").args(["event", "competing"])))]
pub struct TimeToEventArgs {
    /// A CSV with the columns left and right, or with those of --time and --event
    pub file: PathBuf,
    /// How the curve is fitted
    #[arg(long, value_enum, required_unless_present = "competing")]
    pub fit: Option<Fit>,
    /// The column of the last time without the event; blank for none
    #[arg(long, value_name = "COLUMN", default_value = "left")]
    pub left: String,
    /// The column of the first time with the event; blank for still going
    #[arg(long, value_name = "COLUMN", default_value = "right")]
    pub right: String,
    /// The column of the time, in place of left and right
    #[arg(long, value_name = "COLUMN", requires = "ending")]
    pub time: Option<String>,
    /// The column that says whether the event was seen at that time (1) or not yet (0)
    #[arg(long, value_name = "COLUMN", requires = "time")]
    pub event: Option<String>,
    /// The column of the cause, in place of --event: what ended it; blank or 0 for still going. Gives
    /// how likely each of several endings is by a time, when one prevents the others
    #[arg(long, value_name = "COLUMN", requires = "time")]
    pub competing: Option<String>,
    /// The column of the time at which observation began
    #[arg(long, value_name = "COLUMN")]
    pub entry: Option<String>,
    /// The column of the group: one curve for each
    #[arg(long, value_name = "COLUMN")]
    pub by: Option<String>,
    /// The scale of the interval around a curve: log for Kaplan–Meier and log-log with --competing,
    /// unless named
    #[arg(long, value_enum)]
    pub interval: Option<IntervalArg>,
    /// Quantiles of a Kaplan–Meier curve, or to be predicted
    #[arg(long, value_name = "SHARE,…", value_delimiter = ',', value_parser = crate::share,
          default_value = "0.25,0.5,0.75")]
    pub quantiles: Vec<f64>,
    #[command(flatten)]
    pub parametric: parametric::ParametricArgs,
    #[command(flatten)]
    pub confidence: Confidence,
}

/// Fits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Fit {
    /// Kaplan–Meier: every event seen exactly or still to come
    Km,
    /// Turnbull: events between two looks
    Turnbull,
    /// Exponential
    Exponential,
    /// Weibull
    Weibull,
    /// Log-normal
    Lognormal,
    /// Log-logistic
    Loglogistic,
}

impl Fit {
    /// The law of a fit by a formula.
    fn law(self) -> Option<Law> {
        match self {
            Fit::Km | Fit::Turnbull => None,
            Fit::Exponential => Some(Law::Exponential),
            Fit::Weibull => Some(Law::Weibull),
            Fit::Lognormal => Some(Law::Lognormal),
            Fit::Loglogistic => Some(Law::Loglogistic),
        }
    }
}

/// Intervals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum IntervalArg {
    /// On the scale of the probability
    Plain,
    /// On its logarithm
    Log,
    /// On the logarithm of minus its logarithm
    LogLog,
}

impl From<IntervalArg> for Interval {
    fn from(arg: IntervalArg) -> Self {
        match arg {
            IntervalArg::Plain => Interval::Plain,
            IntervalArg::Log => Interval::Log,
            IntervalArg::LogLog => Interval::LogLog,
        }
    }
}

/// Runs it.
pub fn run(args: &TimeToEventArgs) -> Result {
    let input = Input::read(&args.file)?;
    if let (Some(time), Some(causes)) = (&args.time, &args.competing) {
        return competing::run(args, &input, time, causes);
    }
    let times = times(&input, args)?;
    if let Some(law) = args.fit.and_then(Fit::law) {
        return parametric::run(args, law, &input, &times);
    }
    let rows: Vec<(String, Time)> = groups(&input, args)?.into_iter().zip(times).collect();
    if args.fit == Some(Fit::Turnbull) {
        let found = turnbull_report(&rows).map_err(|e| bad_times(&input, args, &e))?;
        let mut table = Table::new(["group", "left", "right", "mass"]);
        for g in &found.groups {
            for m in &g.masses {
                table.row(vec![
                    g.group.clone().into(),
                    m.left.into(),
                    m.right.into(),
                    m.mass.into(),
                ]);
            }
        }
        return Found::one(&found, table);
    }
    let interval = args.interval.unwrap_or(IntervalArg::Log).into();
    let found = km_report(&rows, &args.quantiles, args.confidence.confidence, interval)
        .map_err(|e| bad_times(&input, args, &e))?;
    let mut table =
        Table::new(["group", "time", "at_risk", "events", "survival", "se", "lower", "upper"]);
    for g in &found.groups {
        for s in &g.steps {
            table.row(vec![
                g.group.clone().into(),
                s.time.into(),
                s.at_risk.into(),
                s.events.into(),
                s.survival.into(),
                s.se.into(),
                s.lower.into(),
                s.upper.into(),
            ]);
        }
    }
    Found::one(&found, table)
}

/// The group of each row; all in one without --by.
fn groups(input: &Input, args: &TimeToEventArgs) -> Result<Vec<String>> {
    Ok(match &args.by {
        None => vec![String::new(); input.len()],
        Some(column) => input.column(column)?.into_iter().map(|c| c.1.to_owned()).collect(),
    })
}

fn no_time(input: &Input, row: usize, column: &str) -> Problem {
    Problem::cell(input.file(), row, column, "", "a time", "write the time of the row")
}

fn times(input: &Input, args: &TimeToEventArgs) -> Result<Vec<Time>> {
    let mut times: Vec<Time> = match (&args.time, &args.event) {
        (Some(time), Some(event)) => {
            let values = input.numbers(time)?;
            let events = input.column(event)?;
            values
                .into_iter()
                .zip(events)
                .map(|(value, (row, seen))| {
                    let at = value.ok_or_else(|| no_time(input, row, time))?;
                    match seen {
                        "1" | "true" | "yes" => Ok(Time::exact(at)),
                        "0" | "false" | "no" => Ok(Time::open(at)),
                        other => Err(Problem::cell(
                            input.file(),
                            row,
                            event,
                            other,
                            "1 (seen) or 0 (still going)",
                            "write 1 or 0",
                        )),
                    }
                })
                .collect::<Result<_>>()?
        }
        _ => input
            .numbers(&args.left)?
            .into_iter()
            .zip(input.numbers(&args.right)?)
            .map(|(left, right)| Time { left, right, entry: 0.0 })
            .collect(),
    };
    if let Some(column) = &args.entry {
        for (time, entry) in times.iter_mut().zip(input.numbers(column)?) {
            time.entry = entry.unwrap_or(0.0);
        }
    }
    Ok(times)
}

/// Places the calculator's error in the file, whose first row is the header.
fn bad_times(input: &Input, args: &TimeToEventArgs, error: &SurvivalError) -> Problem {
    let file = input.file();
    let time = args.time.as_ref();
    let (left, right) = (time.unwrap_or(&args.left), time.unwrap_or(&args.right));
    let entry = args.entry.as_deref().unwrap_or("entry");
    // As it was typed: on a clock the calculator sees other numbers.
    let typed = |column: &str, row: usize| -> Option<&str> {
        let cells = input.column(column).ok()?;
        cells.get(row - 1).map(|c| c.1).filter(|text| !text.is_empty())
    };
    match error {
        SurvivalError::BadTime { row, value } => {
            let negative = |c: &&str| {
                typed(c, *row).and_then(|t| t.parse().ok()).is_some_and(|t: f64| t < 0.0)
            };
            let column = [left.as_str(), right, entry].into_iter().find(negative).unwrap_or(left);
            let value = typed(column, *row).map_or_else(|| value.to_string(), str::to_owned);
            let expected = "a time: a number from 0 on";
            Problem::cell(file, row + 1, column, &value, expected, "correct the cell")
        }
        SurvivalError::NoTime { row } => Problem::cell(
            file,
            row + 1,
            left,
            "",
            "a time on either side",
            "give left, right or both",
        ),
        SurvivalError::Reversed { row, left: l, right: r } => Problem::cell(
            file,
            row + 1,
            right,
            typed(right, *row).unwrap_or(&r.to_string()),
            format!("after left, which is {}", typed(left, *row).unwrap_or(&l.to_string())),
            "exchange the two, or correct one",
        ),
        SurvivalError::LateEntry { row, entry: e, last } => {
            let last =
                typed(right, *row).or(typed(left, *row)).map_or(last.to_string(), str::to_owned);
            Problem::cell(
                file,
                row + 1,
                entry,
                typed(entry, *row).unwrap_or(&e.to_string()),
                format!("before the last time of the row, which is {last}"),
                "correct one of them",
            )
        }
        SurvivalError::IntervalRecord { row } => Problem::cell(
            file,
            row + 1,
            right,
            "an interval",
            "an exact time, as Kaplan–Meier needs",
            "use --fit turnbull",
        ),
        SurvivalError::NotReached { .. } => {
            Problem::unfinished(error.to_string(), "look for rows that contradict each other")
        }
        SurvivalError::NoEnding => Problem::unfinished(
            format!(
                "{file}: no row has ended, so there is no cause whose incidence could be given"
            ),
            "wait for one, or check the column of --competing",
        ),
        other => Problem::input(format!("{file}: {other}"), "correct the table"),
    }
}
