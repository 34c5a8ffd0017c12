//! `umbel import`: a messy list, shown as understood before anything is written.

use std::{
    fs,
    path::{Path, PathBuf},
};

use answers::acts::bring_in::{self, Choices, Wishes};
use clap::Args;
use intake::{Ask, Mapping, Options, Question, Row, Understood, understand};

use crate::{
    house::House,
    out::{Cell, Form, Table},
    problem::{Problem, Result},
    progress,
};

/// Bring in a list: CSV, a workbook, or text with one label a line
#[derive(Debug, Args)]
#[command(after_help = "\
With --dry-run every row is shown as it is understood, and nothing is written. What only you can
settle is listed as questions, each with a key; answer with --answer KEY=VALUE, as often as needed.
Importing the same file twice adds nothing; rows that do not fit stay in `umbel left-over`.

Examples:
  umbel import shelf-list.csv --dry-run
  umbel import shelf-list.csv --dry-run --as json
  umbel import shelf-list.csv --answer date_order=day_first")]
pub struct ImportArgs {
    /// The list
    pub file: PathBuf,
    /// Show how every row is understood, and write nothing
    #[arg(long)]
    pub dry_run: bool,
    /// How the columns are read: a JSON file, as --save-mapping writes it
    #[arg(long, value_name = "FILE")]
    pub mapping: Option<PathBuf>,
    /// Write how the columns were read to a file, to be changed and given back
    #[arg(long, value_name = "FILE")]
    pub save_mapping: Option<PathBuf>,
    /// Answer a question
    #[arg(long = "answer", value_name = "KEY=VALUE")]
    pub answers: Vec<String>,
    /// Numbers of the list become plant numbers; only into an empty collection
    #[arg(long)]
    pub use_numbers: bool,
}

/// Runs it.
pub fn run(house: &House, args: &ImportArgs) -> Result {
    if !args.dry_run && args.save_mapping.is_none() {
        return write(house, args);
    }
    let understood = read(house, args)?;
    if let Some(path) = &args.save_mapping {
        let text = serde_json::to_string_pretty(&understood.mappings).unwrap_or_default();
        fs::write(path, text).map_err(|e| Problem::file(path, &e))?;
        house.out.note(&format!("the mapping was written to {}", path.display()));
    }
    if args.dry_run { show(house, &understood) } else { write(house, args) }
}

fn file_name(args: &ImportArgs) -> String {
    args.file.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default()
}

/// The mapping and the answers given on the command line.
fn wishes(args: &ImportArgs) -> Result<Wishes> {
    let mut wishes = Wishes::default();
    if let Some(path) = &args.mapping {
        wishes.mappings = mappings(path)?;
    }
    for answer in &args.answers {
        let Some((key, value)) = answer.rsplit_once('=') else {
            return Err(Problem::input(
                format!("--answer: “{answer}” is not KEY=VALUE"),
                "take the key from the questions that --dry-run lists",
            ));
        };
        wishes.answers.insert(key.trim().to_owned(), value.trim().to_owned());
    }
    Ok(wishes)
}

/// Reads the list with the answers given so far, and with what is remembered of lists like it.
fn read(house: &House, args: &ImportArgs) -> Result<Understood> {
    let bytes = fs::read(&args.file).map_err(|e| Problem::file(&args.file, &e))?;
    let wishes = wishes(args)?;
    let file = file_name(args);
    let bar = progress::open_ended("reading the list");
    let mut mappings = wishes.mappings.clone();
    if mappings.is_empty() && house.path().exists() {
        let journal = house.journal()?;
        mappings = bring_in::understand(&journal, &house.hand, &bytes, &file, &wishes)?.mappings;
    }
    let options = Options {
        mappings,
        answers: wishes.answers,
        read_on: Some(house.hand.today),
        ..Options::default()
    };
    let understood = understand(&bytes, &file, &options);
    bar.finish_and_clear();
    understood.map_err(|e| {
        let text = e.to_string();
        let (what, next) = text.split_once(" Next: ").unwrap_or((&text, "choose another file"));
        Problem { status: 2, ..Problem::undone(what.trim_end_matches('.'), next) }
    })
}

fn mappings(path: &Path) -> Result<Vec<Mapping>> {
    let text = fs::read_to_string(path).map_err(|e| Problem::file(path, &e))?;
    serde_json::from_str(&text).map_err(|e| {
        Problem::input(
            format!("{}: this is not a mapping: {e}", path.display()),
            "write one with --save-mapping and change that",
        )
    })
}

fn show(house: &House, understood: &Understood) -> Result {
    match house.out.form() {
        Form::Json => return house.out.json(&understood.to_json()),
        form => house.out.table_as(&rows_table(understood, form), form)?,
    }
    if house.out.form() == Form::Csv {
        return Ok(());
    }
    if !understood.skipped.is_empty() {
        house.out.heading("Lines that are no plant");
        let mut table = Table::new(&["row", "why", "text"]);
        for s in &understood.skipped {
            table.row(vec![place(s.row, s.sheet.as_deref()), (&s.why).into(), (&s.text).into()]);
        }
        house.out.table(&table)?;
    }
    questions(house, understood)?;
    let ask = understood.rows.iter().filter(|r| r.needs_a_person).count();
    house.out.note(&format!(
        "{} plants understood, {ask} with a name to be asked about, {} lines passed over; nothing was written",
        understood.rows.len(),
        understood.skipped.len(),
    ));
    Ok(())
}

fn place(row: u32, sheet: Option<&str>) -> Cell {
    match sheet {
        Some(s) => format!("{s}!{row}").into(),
        None => i64::from(row).into(),
    }
}

/// Every row as understood, the original beside it.
fn rows_table(understood: &Understood, form: Form) -> Table {
    if form == Form::Table {
        let mut table = Table::new(&[
            "row", "name", "parents", "source", "acquired", "place", "state", "problems",
            "as_typed",
        ]);
        for r in &understood.rows {
            table.row(short(r));
        }
        return table;
    }
    let mut table = Table::new(&[
        "row",
        "sheet",
        "name",
        "needs_a_person",
        "seed_parent",
        "pollen_parent",
        "source",
        "acquired",
        "acquired_ambiguous",
        "received_as",
        "price",
        "currency",
        "pot",
        "pot_unit",
        "place",
        "state",
        "tag",
        "problems",
    ]);
    for r in &understood.rows {
        table.row(long(r));
    }
    table
}

fn short(r: &Row) -> Vec<Cell> {
    let parents = match (&r.seed_parent, &r.pollen_parent) {
        (None, None) => String::new(),
        (s, p) => format!(
            "{} × {}",
            s.as_deref().unwrap_or("not told"),
            p.as_deref().unwrap_or("not told")
        ),
    };
    let name = r.name.clone().unwrap_or_default();
    let cells: Vec<&str> = r.cells.iter().map(|c| c.trim()).filter(|c| !c.is_empty()).collect();
    vec![
        place(r.row, r.sheet.as_deref()),
        if r.needs_a_person { format!("{name} ?").trim().to_owned().into() } else { name.into() },
        parents.into(),
        r.source.clone().unwrap_or_default().into(),
        r.acquired.clone().unwrap_or_default().into(),
        r.place.clone().unwrap_or_default().into(),
        (&r.state).into(),
        r.problems.join(" ").into(),
        cells.join(" | ").into(),
    ]
}

fn long(r: &Row) -> Vec<Cell> {
    vec![
        i64::from(r.row).into(),
        r.sheet.clone().into(),
        r.name.clone().into(),
        Cell::Value(r.needs_a_person.into()),
        r.seed_parent.clone().into(),
        r.pollen_parent.clone().into(),
        r.source.clone().into(),
        r.acquired.clone().into(),
        Cell::Value(r.acquired_ambiguous.into()),
        r.received_as.clone().into(),
        r.price.as_ref().map(|p| p.amount).into(),
        r.price.as_ref().and_then(|p| p.currency.clone()).into(),
        r.pot.as_ref().map(|p| p.value).into(),
        r.pot.as_ref().map(|p| p.unit.clone()).into(),
        r.place.clone().into(),
        (&r.state).into(),
        r.tag.clone().into(),
        r.problems.join(" ").into(),
    ]
}

fn questions(house: &House, understood: &Understood) -> Result {
    if understood.questions.is_empty() {
        return Ok(());
    }
    house.out.heading("To be asked");
    let mut table = Table::new(&["key", "question", "rows", "answers"]);
    for q in &understood.questions {
        table.row(vec![
            (&q.id).into(),
            asked(understood, q).into(),
            q.rows.len().into(),
            q.choices.join(" | ").into(),
        ]);
    }
    house.out.table(&table)
}

fn asked(understood: &Understood, question: &Question) -> String {
    let row = |i: usize| {
        understood.rows.get(i).map(|r| match &r.sheet {
            Some(s) => format!("{s}!{}", r.row),
            None => r.row.to_string(),
        })
    };
    match &question.ask {
        Ask::DateOrder { example } => format!("does the day or the month come first in {example}?"),
        Ask::Currency { example } => format!("which dollar is meant in {example}?"),
        Ask::Keeper { kept, other } => format!("are “{kept}” and “{other}” one keeper?"),
        Ask::SamePlant { first, second } => format!(
            "rows {} and {}: one plant, one clone, or two plants?",
            row(*first).unwrap_or_default(),
            row(*second).unwrap_or_default()
        ),
        Ask::Genus { typed } => format!("which genus is “{typed}”?"),
        Ask::Name { typed } => format!("which name is meant by “{typed}”?"),
        Ask::Date { typed } => format!("which date is “{typed}”? (EDTF)"),
    }
}

/// Writes the list as one operation, and says what became of it.
fn write(house: &House, args: &ImportArgs) -> Result {
    let bytes = fs::read(&args.file).map_err(|e| Problem::file(&args.file, &e))?;
    let wishes = wishes(args)?;
    let journal = house.journal_or_new()?;
    let reading = bring_in::understand(&journal, &house.hand, &bytes, &file_name(args), &wishes)?;
    let bar = progress::open_ended("writing the list");
    let choices = Choices { use_numbers: args.use_numbers };
    let written = bring_in::write(&journal, &house.hand, &reading, &choices);
    bar.finish_and_clear();
    let w = written?;
    let open = reading.questions.iter().filter(|q| reading.open.contains(&q.id)).count();
    if house.out.form() == Form::Json {
        let mut value = serde_json::to_value(&w).unwrap_or_default();
        value["asked"] = open.into();
        value["passed_over"] = reading.skipped.len().into();
        return house.out.json(&value);
    }
    let mut table = Table::new(&["what", "count"]);
    for (what, count) in [
        ("plants written", w.plants),
        ("clones, parents included", w.clones),
        ("keepers named for the first time", w.keepers),
        ("places named for the first time", w.places),
        ("crosses that made no plant", w.crosses),
        ("rows left over", w.left_over),
        ("rows that repeat another", w.same),
        ("rows brought in before", w.before),
        ("lines passed over", reading.skipped.len()),
        ("questions still open", open),
    ] {
        table.row(vec![what.into(), count.into()]);
    }
    house.out.table(&table)?;
    if let (Some(first), Some(last)) = (w.first, w.last) {
        house.out.note(&format!("plants {first} to {last}; `umbel undo` takes the list back"));
    }
    if w.left_over > 0 {
        house.out.note("`umbel left-over` lists the rows that did not fit");
    }
    Ok(())
}
