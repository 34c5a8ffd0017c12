//! `--competing`: which of several endings, when one prevents the others.

use stats::survival::{Ending, competing_report};

use crate::{Found, Problem, Result, Table, table::Input};

use super::{Fit, IntervalArg, TimeToEventArgs};

/// Runs it: `time` is the column of the time, `causes` that of the cause.
pub fn run(args: &TimeToEventArgs, input: &Input, time: &str, causes: &str) -> Result {
    if args.fit.is_some_and(|fit| fit != Fit::Km) {
        return Err(Problem::input(
            "--competing gives Aalen–Johansen's curves and has no other fit",
            "leave --fit out, or --competing",
        ));
    }
    let rows = rows(args, input, time, causes)?;
    let interval = args.interval.unwrap_or(IntervalArg::LogLog).into();
    let found = competing_report(&rows, args.confidence.confidence, interval)
        .map_err(|e| super::bad_times(input, args, &e))?;
    let columns = ["group", "cause", "time", "at_risk", "events", "incidence", "se"];
    let mut table = Table::new(columns.into_iter().chain(["lower", "upper"]));
    for g in &found.groups {
        for c in &g.causes {
            for s in &c.steps {
                table.row(vec![
                    g.group.clone().into(),
                    c.cause.clone().into(),
                    s.time.into(),
                    s.at_risk.into(),
                    s.events.into(),
                    s.incidence.into(),
                    s.se.into(),
                    s.lower.into(),
                    s.upper.into(),
                ]);
            }
        }
    }
    Found::one(&found, table)
}

fn rows(
    args: &TimeToEventArgs,
    input: &Input,
    time: &str,
    causes: &str,
) -> Result<Vec<(String, Ending)>> {
    let entries = match &args.entry {
        Some(column) => input.numbers(column)?,
        None => vec![None; input.len()],
    };
    let groups = super::groups(input, args)?;
    let times = input.numbers(time)?.into_iter().zip(entries);
    let rows = times.zip(input.column(causes)?).zip(groups);
    rows.map(|(((at, entry), (row, cause)), group)| {
        let at = at.ok_or_else(|| super::no_time(input, row, time))?;
        let cause = Some(cause).filter(|c| !matches!(*c, "" | "0")).map(str::to_owned);
        Ok((group, Ending { time: at, entry: entry.unwrap_or(0.0), cause }))
    })
    .collect()
}
