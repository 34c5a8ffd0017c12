//! `umbel calc heat`.

use std::path::PathBuf;

use clap::Args;
use culture::heat::{HeatError, HeatSeries, Thresholds};
use jiff::{SignedDuration, Timestamp, civil::DateTime};
use serde_json::Value;

use crate::{Problem, Result, out_of_range, table::Input};

/// Degree-days, and when a sum of them is reached
#[derive(Debug, Args)]
#[command(after_help = "\
Adds degree_days to each row and, with --needed, reached: the time at which the sum was there, from
the row on by which it was. Times are days as numbers, or dates and times such as 2026-03-01T14:00,
with Z or an offset where clocks change. The temperature runs straight between two rows; above
--upper it counts as --upper. A date is no permission to treat: the label of a product holds.")]
pub struct HeatArgs {
    /// A CSV with the columns time and T_C, in order of time
    pub file: PathBuf,
    /// The temperature from which heat counts, in °C
    #[arg(long, value_name = "CELSIUS", allow_negative_numbers = true)]
    pub base: f64,
    /// The temperature above which it does not count more, in °C
    #[arg(long, value_name = "CELSIUS", allow_negative_numbers = true)]
    pub upper: Option<f64>,
    /// The sum to be reached, in degree-days
    #[arg(long, value_name = "SUM", allow_negative_numbers = true)]
    pub needed: Option<f64>,
    /// The column of the time
    #[arg(long, value_name = "COLUMN", default_value = "time")]
    pub time: String,
    /// The column of the temperature
    #[arg(long, value_name = "COLUMN", default_value = "T_C")]
    pub temperature: String,
}

/// A time as it was typed.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Time {
    Days(f64),
    Civil(DateTime),
    Instant(Timestamp),
}

/// Runs it.
pub fn run(args: &HeatArgs) -> Result {
    let thresholds = Thresholds::new(args.base, args.upper).map_err(|e| {
        let option = if e.quantity == "upper threshold" { "--upper" } else { "--base" };
        Problem::input(
            format!("{option}: “{}” is not {}", e.value, out_of_range::limits(&e)),
            "correct the option",
        )
    })?;
    if let Some(needed) = args.needed.filter(|n| !(n.is_finite() && *n >= 0.0)) {
        return Err(Problem::input(
            format!("--needed: “{needed}” is not a sum from 0 on"),
            "correct the option",
        ));
    }
    let input = Input::read(&args.file)?;
    let times = times(&input, &args.time)?;
    let samples = input
        .each()
        .zip(&times)
        .map(|(row, (days, _))| Ok((*days, row.number(&args.temperature)?)))
        .collect::<Result<Vec<_>>>()?;
    let series =
        HeatSeries::new(samples.clone()).map_err(|e| misplaced(&input, args, &samples, &e))?;
    let sums = series.sums(&thresholds);
    let reached = args
        .needed
        .and_then(|n| series.reached(samples[0].0, n, &thresholds))
        .map(|days| (days, said(days, &times[0])));
    let mut new = vec!["degree_days"];
    new.extend(args.needed.map(|_| "reached"));
    let mut at = 0;
    input.each_row(&new, |_| {
        let mut cells = vec![Value::from(sums[at])];
        if args.needed.is_some() {
            let there = reached.as_ref().filter(|(days, _)| *days <= samples[at].0);
            cells.push(there.map_or(Value::Null, |(_, said)| said.clone()));
        }
        at += 1;
        Ok(cells)
    })
}

/// Each time in days, counted from the first where it is a date.
fn times(input: &Input, column: &str) -> Result<Vec<(f64, Time)>> {
    let hint = "write days as a number, or a date and time such as 2026-03-01T14:00, the same way \
                in every row";
    let mut times: Vec<(f64, Time)> = Vec::new();
    for (row, text) in input.column(column)? {
        let refuse =
            |expected: &str| Problem::cell(input.file(), row, column, text, expected, hint);
        let time = parse(text).ok_or_else(|| refuse("a time"))?;
        let days = match (time, times.first().map(|t| t.1)) {
            (Time::Days(days), None | Some(Time::Days(_))) => days,
            (Time::Civil(_) | Time::Instant(_), None) => 0.0,
            (Time::Civil(now), Some(Time::Civil(first))) => {
                first.duration_until(now).as_secs_f64() / 86_400.0
            }
            (Time::Instant(now), Some(Time::Instant(first))) => {
                first.duration_until(now).as_secs_f64() / 86_400.0
            }
            _ => return Err(refuse("a time written as the one in the first row")),
        };
        times.push((days, time));
    }
    Ok(times)
}

fn parse(text: &str) -> Option<Time> {
    if let Ok(days) = text.parse::<f64>() {
        return days.is_finite().then_some(Time::Days(days));
    }
    if let Ok(instant) = text.parse::<Timestamp>() {
        return Some(Time::Instant(instant));
    }
    text.parse::<DateTime>().ok().map(Time::Civil)
}

/// A time in days, written as the first one was.
fn said(days: f64, first: &(f64, Time)) -> Value {
    let since = || SignedDuration::from_secs((days * 86_400.0).round() as i64);
    match first.1 {
        Time::Days(_) => Value::from(days),
        Time::Civil(start) => {
            start.checked_add(since()).map_or(Value::Null, |t| Value::from(t.to_string()))
        }
        Time::Instant(start) => {
            start.checked_add(since()).map_or(Value::Null, |t| Value::from(t.to_string()))
        }
    }
}

fn misplaced(input: &Input, args: &HeatArgs, samples: &[(f64, f64)], error: &HeatError) -> Problem {
    match error {
        HeatError::Order { sample, .. } => {
            let typed = input.column(&args.time).ok().map(|c| c[*sample].1.to_owned());
            Problem::cell(
                input.file(),
                sample + 2,
                &args.time,
                &typed.unwrap_or_default(),
                "after the time of the row before",
                "put the rows in order of time and give each time once",
            )
        }
        HeatError::OutOfRange(e) => {
            let at = samples.iter().position(|s| !(e.least..=e.most).contains(&s.1));
            Problem::cell(
                input.file(),
                at.unwrap_or(0) + 2,
                &args.temperature,
                &e.value.to_string(),
                out_of_range::limits(e),
                "correct the cell",
            )
        }
        HeatError::Empty => Problem::input(
            format!("{}: {error}", input.file()),
            "give at least one row below the header",
        ),
    }
}
