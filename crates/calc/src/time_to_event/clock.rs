//! Times on each subject's own clock.

use std::{collections::BTreeMap, path::Path};

use stats::survival::{Clock, Time};

use crate::{Problem, Result, table::Input};

/// Times read on the clocks of a file `subject,day,rate`; a subject without a clock keeps days.
///
/// # Errors
/// A file or a column that is not there, or a day or a rate that cannot be.
pub fn read(path: &Path, input: &Input, times: &[Time]) -> Result<Vec<Time>> {
    let rates = Input::read(path)?;
    let mut by_subject: BTreeMap<&str, Vec<(f64, f64)>> = BTreeMap::new();
    let days = rates.numbers("day")?;
    let subjects = rates.column("subject")?;
    for (((row, subject), day), rate) in subjects.into_iter().zip(days).zip(rates.numbers("rate")?)
    {
        let day = day.ok_or_else(|| {
            let next = "fill the cell in, or leave the row out";
            Problem::cell(rates.file(), row, "day", "", "a day", next)
        })?;
        // A day without a rate is a standard day.
        let rate = rate.unwrap_or(1.0);
        if rate <= 0.0 {
            let next = "leave the cell blank where nothing is known";
            let value = rate.to_string();
            return Err(Problem::cell(rates.file(), row, "rate", &value, "above 0", next));
        }
        by_subject.entry(subject).or_default().push((day, rate));
    }
    let mut clocks = BTreeMap::new();
    for (subject, rates_of) in &by_subject {
        let clock = Clock::new(rates_of).map_err(|e| {
            let what = format!("{}, subject {subject}: {e}", rates.file());
            Problem::input(what, "correct the rows of this subject")
        })?;
        clocks.insert(*subject, clock);
    }
    let cells = input.column("subject")?;
    let read = |(time, (_, subject)): (&Time, (usize, &str))| match clocks.get(subject) {
        None => *time,
        Some(clock) => Time {
            left: time.left.map(|t| clock.reading(t)),
            right: time.right.map(|t| clock.reading(t)),
            entry: clock.reading(time.entry),
        },
    };
    Ok(times.iter().zip(cells).map(read).collect())
}
