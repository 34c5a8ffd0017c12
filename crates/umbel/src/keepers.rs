//! `umbel keepers`.

use answers::{acts, keeper_page};
use clap::{Args, Subcommand};

use crate::{
    clones::done,
    filter::keeper_number,
    house::House,
    list,
    out::{Form, Table},
    page,
    problem::Result,
};

/// List keepers; show, add, rename or describe one
#[derive(Debug, Args)]
pub struct KeepersArgs {
    #[command(subcommand)]
    command: Option<KeepersCommand>,
}

#[derive(Debug, Subcommand)]
enum KeepersCommand {
    /// Show the page of a keeper: what came from them and went to them, what they said
    Show {
        /// The keeper, by number or name
        keeper: String,
    },
    /// Add a keeper
    Add {
        /// The name
        name: String,
    },
    /// Give a keeper another name
    Rename {
        /// The keeper, by number or name
        keeper: String,
        /// The new name
        name: String,
    },
    /// Say what kind of keeper it is, and notes
    Describe {
        /// The keeper, by number or name
        keeper: String,
        /// Person, nursery, fair and so on
        #[arg(long, value_name = "KIND", default_value = "", hide_default_value = true)]
        kind: String,
        /// Notes
        #[arg(long, value_name = "WORDS", default_value = "", hide_default_value = true)]
        note: String,
    },
}

/// Runs it.
pub fn run(house: &House, args: &KeepersArgs) -> Result {
    match &args.command {
        None => all(house),
        Some(KeepersCommand::Show { keeper }) => show(house, keeper),
        Some(KeepersCommand::Add { name }) => {
            let journal = house.journal_or_new()?;
            let (op, number) = acts::add_keeper(&journal, &house.hand, name)?;
            done(house, &format!("keeper {number}: {name}"), op)
        }
        Some(KeepersCommand::Rename { keeper, name }) => {
            let journal = house.journal()?;
            let number = house.read(&journal, |r| keeper_number(r, keeper))?;
            let op = acts::rename_keeper(&journal, &house.hand, number, name)?;
            done(house, &format!("keeper {number}: {name}"), op)
        }
        Some(KeepersCommand::Describe { keeper, kind, note }) => {
            let journal = house.journal()?;
            let number = house.read(&journal, |r| keeper_number(r, keeper))?;
            let op = acts::describe_keeper(&journal, &house.hand, number, kind, note)?;
            done(house, &format!("keeper {number} described"), op)
        }
    }
}

fn all(house: &House) -> Result {
    let journal = house.journal()?;
    let mut table = Table::new(&["number", "name", "plants"]);
    for k in house.read(&journal, |r| Ok(r.keepers()?))? {
        table.row(vec![k.number.into(), k.name.into(), k.plants.into()]);
    }
    house.out.table(&table)
}

fn show(house: &House, typed: &str) -> Result {
    let journal = house.journal()?;
    let found = house.read(&journal, |r| {
        let number = keeper_number(r, typed)?;
        Ok(keeper_page(r, number, &house.hand)?)
    })?;
    let out = &house.out;
    match out.form() {
        Form::Json => return out.json(&found),
        Form::Csv => return out.table(&list::table(&found.plants)),
        Form::Table => {}
    }
    let kind = if found.kind.is_empty() { String::new() } else { format!(", {}", found.kind) };
    out.line(&format!(
        "{}  {}{kind}",
        out.strong(&found.keeper.number.to_string()),
        found.keeper.name
    ));
    if !found.note.is_empty() {
        out.line(&found.note);
    }
    out.heading("Came from them");
    list::print(out, &found.plants)?;
    if !found.went.is_empty() {
        out.heading("Went to them");
        for (date, plant, name, sentence) in &found.went {
            out.line(&format!("  {date:<12} {plant}  {}  {sentence}", out.name(name)));
        }
    }
    if !found.statements.is_empty() {
        out.heading("Said");
        for s in &found.statements {
            out.line(&format!("  “{}”", s.text));
        }
    }
    if !found.questions.is_empty() {
        out.heading("To ask");
        for q in &found.questions {
            out.line(&format!("  {}", q.text));
        }
    }
    if !found.journal.is_empty() {
        out.heading("Journal");
        page::print_lines(out, &found.journal);
    }
    Ok(())
}
