//! `umbel log`: entries about plants, shelves and whole filtered sets.

use answers::{
    AskError,
    acts::{self, EntryInput, Target},
};
use clap::{Args, ValueEnum, builder::PossibleValue};
use journal::{KINDS, Known, entry_kind};

use crate::{
    fields,
    filter::FilterArgs,
    house::{House, agreed},
    out::Form,
    problem::{Problem, Result},
    target,
};

/// Write an entry about plants, places or anything else that has a number
#[derive(Debug, Args)]
#[command(after_long_help = kinds_help(), after_help = "`umbel log --help` lists every kind with its fields.")]
pub struct LogArgs {
    /// What happened: one of the kinds listed below
    #[arg(value_parser = kinds(), hide_possible_values = true)]
    pub kind: String,
    /// What it is about, and fields of the entry as `field=value`
    ///
    /// Plants by number (12), range (12-18) or code; parts as 12:flower or 12:flower:3; anything
    /// else as place:3, cross:4, batch:2, keeper:5.
    #[arg(value_name = "TARGET|FIELD=VALUE")]
    pub words: Vec<String>,
    /// When it happened: today, yesterday, 2024-05-07, 2024-05, spring 2024 [default: today]
    #[arg(long, value_name = "DATE", default_value = "", hide_default_value = true)]
    pub on: String,
    /// How it is known
    #[arg(long, value_enum, default_value = "seen")]
    pub known: KnownArg,
    /// Free words that belong to the entry
    #[arg(long, value_name = "WORDS")]
    pub note: Option<String>,
    /// One entry for each plant that meets this condition, such as place=3 or genus=Begonia; may
    /// be given several times. Only living plants, unless state= says otherwise
    #[arg(long = "where", value_name = "KEY=VALUE")]
    pub conditions: Vec<String>,
    /// Write it without asking, even if it is odd
    #[arg(long)]
    pub sure: bool,
}

/// How an entry is known, as typed.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum KnownArg {
    /// Seen then, and written down at the time
    Seen,
    /// Remembered later
    Remembered,
    /// Read from a photo
    Photo,
    /// Told by somebody else
    Told,
}

impl From<KnownArg> for Known {
    fn from(k: KnownArg) -> Self {
        match k {
            KnownArg::Seen => Self::Seen,
            KnownArg::Remembered => Self::Remembered,
            KnownArg::Photo => Self::Photo,
            KnownArg::Told => Self::Told,
        }
    }
}

fn kinds() -> Vec<PossibleValue> {
    KINDS.iter().map(|k| PossibleValue::new(k.key).alias(k.key.replace('_', "-"))).collect()
}

/// Every kind with what it can be about and its fields, from the declarations.
fn kinds_help() -> String {
    let mut out = String::from("Kinds and their fields (fields in brackets may be left out):\n");
    for kind in KINDS {
        let about: Vec<_> = kind.about.iter().map(|k| k.as_str().replace('_', " ")).collect();
        out.push_str(&format!("\n  {}  (about: {})\n", kind.key, about.join(", ")));
        for spec in kind.fields {
            out.push_str(&format!("      {}\n", fields::how(spec)));
        }
    }
    out.push_str(&format!("\n{}\n\nExamples:\n", target::HOW));
    out.push_str("  umbel log watered --where place=3 water=rain feed=\"orchid feed\"\n");
    out.push_str("  umbel log opened 12:flower --on 2024-05-07\n");
    out.push_str("  umbel log potted 12-18 pot=\"9 cm\" mix=\"bark 4, perlite 3\"\n");
    out.push_str("  umbel log given 31 to=\"Ines\" what=\"a tip cutting\"");
    out
}

/// Runs it.
pub fn run(house: &House, args: &LogArgs) -> Result {
    let key = args.kind.replace('-', "_");
    let Some(kind) = entry_kind(&key) else {
        return Err(Problem::input(
            format!("“{key}” is not a kind of entry"),
            "`umbel log --help` lists the kinds",
        ));
    };
    let (words, typed) = fields::split(kind, &args.words);
    let journal = house.journal()?;
    let (targets, detail) = house.read(&journal, |reader| {
        let mut targets = target::read_all(reader, &house.hand, &words)?;
        if !args.conditions.is_empty() {
            let (filter, words) = FilterArgs::read_conditions(&args.conditions)?;
            let numbers = reader.plant_numbers(&filter.filter(reader, &words)?)?;
            targets.extend(numbers.into_iter().map(Target::Plant));
        }
        Ok((targets, fields::read(reader, kind, &typed)?))
    })?;
    if targets.is_empty() {
        return Err(nothing_meant(args));
    }
    let mut input = EntryInput {
        kind: key,
        when: args.on.clone(),
        known: args.known.into(),
        detail,
        note: args.note.clone(),
        confirmed: args.sure,
    };
    if !args.conditions.is_empty() && !args.sure {
        confirm(house, targets.len(), &input.kind)?;
    }
    let logged = match acts::log(&journal, &house.hand, &targets, &input) {
        Err(AskError::Odd(why)) if agreed(&format!("This is odd: {why}. Write it?")) => {
            input.confirmed = true;
            acts::log(&journal, &house.hand, &targets, &input)?
        }
        other => other?,
    };
    if house.out.form() == Form::Json {
        return house.out.json(&serde_json::json!({
            "operation": logged.op.to_string(), "kind": input.kind, "entries": logged.entries,
        }));
    }
    let plural = if logged.entries == 1 { "entry" } else { "entries" };
    house.out.line(&format!(
        "{} {plural} written: {}",
        logged.entries,
        input.kind.replace('_', " ")
    ));
    house.out.note("`umbel undo` takes it back");
    Ok(())
}

fn nothing_meant(args: &LogArgs) -> Problem {
    if args.conditions.is_empty() {
        Problem::input(
            "it is not said what the entry is about",
            "write plant numbers after the kind, such as `umbel log watered 12-18`",
        )
    } else {
        Problem::undone(
            format!("no plant meets {}", args.conditions.join(" and ")),
            "`umbel list` with the same conditions shows what is there",
        )
    }
}

/// On a terminal the count is shown before a whole set is written; elsewhere nobody could answer.
fn confirm(house: &House, count: usize, kind: &str) -> Result {
    use std::io::IsTerminal as _;
    if !std::io::stdin().is_terminal() {
        house.out.note(&format!("{count} plants meet the conditions"));
        return Ok(());
    }
    if agreed(&format!("Write “{}” for {count} plants?", kind.replace('_', " "))) {
        return Ok(());
    }
    Err(Problem::undone("it was not confirmed", "run it again and answer y, or add --sure"))
}
