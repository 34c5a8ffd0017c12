//! `umbel undo` and `umbel history`.

use clap::Args;
use jiff::{Timestamp, tz::TimeZone};
use journal::{HistoryRow, Journal, OperationRow};

use crate::{
    house::House,
    out::{Cell, Form, Table},
    problem::{Problem, Result},
    target,
};

/// Take back the last thing that was done, or any earlier one
#[derive(Debug, Args)]
pub struct UndoArgs {
    /// Which: the ending that `umbel history` shows [default: the last]
    pub operation: Option<String>,
    /// Undo together with it what later rests on it
    #[arg(long)]
    pub together: bool,
    /// Bring back what the last undo took away
    #[arg(long, conflicts_with_all = ["operation", "together"])]
    pub back: bool,
}

/// Show what was done, the newest first; of one plant, everything ever said about it
#[derive(Debug, Args)]
pub struct HistoryArgs {
    /// The plant, by number or code
    pub plant: Option<String>,
    /// How many lines at most
    #[arg(long, value_name = "COUNT", default_value_t = 30)]
    pub most: usize,
}

/// How many operations are looked through for an ending.
const SEARCHED: usize = 100_000;

fn ending(uid: journal::Uid) -> String {
    let text = uid.to_string();
    text[text.len().saturating_sub(8)..].to_owned()
}

fn chosen(house: &House, journal: &Journal, args: &UndoArgs) -> Result<OperationRow> {
    let nothing = |what: &str| Problem::undone(what, "`umbel history` lists what was done");
    if args.back {
        let last = house.read(journal, |r| Ok(r.last_undo()?))?;
        return last.ok_or_else(|| nothing("nothing was undone that could be brought back"));
    }
    let Some(typed) = &args.operation else {
        let last = house.read(journal, |r| Ok(r.last_operation()?))?;
        return last.ok_or_else(|| nothing("there is nothing to undo"));
    };
    let all = house.read(journal, |r| Ok(r.operations(SEARCHED)?))?;
    let mut found = all.into_iter().filter(|o| o.uid.to_string().ends_with(typed.as_str()));
    match (found.next(), found.next()) {
        (Some(one), None) => Ok(one),
        (None, _) => Err(nothing(&format!("there is no operation that ends in “{typed}”"))),
        _ => Err(nothing(&format!("several operations end in “{typed}”"))),
    }
}

/// Runs `undo`.
pub fn undo(house: &House, args: &UndoArgs) -> Result {
    let journal = house.journal()?;
    let operation = chosen(house, &journal, args)?;
    let hand = &house.hand;
    let done = journal.undo(operation.uid, args.together, &hand.who, &hand.device, hand.now)?;
    let together: Vec<String> =
        done.together.iter().map(|r| format!("{}: {}", r.act, r.about)).collect();
    if house.out.form() != Form::Table {
        let mut table = Table::new(&["undone", "about", "together", "operation"]);
        table.row(vec![
            done.act.into(),
            done.about.into(),
            together.join("; ").into(),
            done.by.to_string().into(),
        ]);
        return house.out.table(&table);
    }
    let verb = if args.back { "brought back" } else { "undone" };
    house.out.line(&format!("{verb}: {}, {}", done.act.replace('_', " "), done.about));
    for line in together {
        house.out.line(&format!("  with it: {line}"));
    }
    if !args.back {
        house.out.note("`umbel undo --back` brings it back");
    }
    Ok(())
}

/// Runs `history`.
pub fn history(house: &House, args: &HistoryArgs) -> Result {
    let journal = house.journal()?;
    let Some(typed) = &args.plant else {
        let rows = house.read(&journal, |r| Ok(r.operations(args.most)?))?;
        let mut table = Table::new(&["when", "what", "about", "who", "device", "holds", "ending"]);
        for o in rows {
            table.row(vec![
                instant(o.recorded).into(),
                o.act.replace('_', " ").into(),
                o.about.into(),
                o.who.into(),
                o.device.into(),
                holds(house, o.live),
                ending(o.uid).into(),
            ]);
        }
        return house.out.table(&table);
    };
    let rows = house.read(&journal, |r| {
        let number = target::plant(r, &house.hand, typed)?;
        let plant = r.plant(number)?.ok_or_else(|| target::no_plant(number))?;
        let mut rows = r.history(plant.id, args.most)?;
        rows.extend(r.history(plant.clone, args.most)?);
        rows.sort_by_key(|h| std::cmp::Reverse(h.operation.recorded));
        rows.truncate(args.most);
        Ok(rows)
    })?;
    house.out.table(&lines(house, rows))
}

fn lines(house: &House, rows: Vec<HistoryRow>) -> Table {
    let mut table = Table::new(&["when", "what", "field", "value", "who", "holds", "ending"]);
    for h in rows {
        table.row(vec![
            instant(h.operation.recorded).into(),
            h.what.into(),
            h.field.into(),
            h.value.into(),
            h.operation.who.into(),
            holds(house, h.live),
            ending(h.operation.uid).into(),
        ]);
    }
    table
}

/// Whether something holds: words for a reader, a truth value for a program.
fn holds(house: &House, live: bool) -> Cell {
    match house.out.form() {
        Form::Table => if live { "" } else { "undone" }.into(),
        _ => Cell::Value(live.into()),
    }
}

/// An instant in the zone of this machine, to the minute.
pub fn instant(ms: i64) -> String {
    Timestamp::from_millisecond(ms)
        .map(|t| t.to_zoned_datetime(TimeZone::system()).strftime("%Y-%m-%d %H:%M").to_string())
        .unwrap_or_default()
}
