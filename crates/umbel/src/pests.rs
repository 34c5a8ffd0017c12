//! `umbel pests`.

use answers::{
    Bit,
    acts::{self, EntryInput, Target},
    pests::{self, Pests, Told, TroubleSaid},
};
use clap::{Args, Subcommand};
use serde_json::{Map, Value};

use crate::{
    clones::done,
    filter::place_number,
    house::House,
    out::{Form, Out, Table},
    problem::{Problem, Result},
    target,
};

/// Pests: what is where and whether some are still there, newcomers, neighbours, what was sprayed
#[derive(Debug, Args)]
pub struct PestsArgs {
    #[command(subcommand)]
    command: Option<PestsCommand>,
}

#[derive(Debug, Subcommand)]
enum PestsCommand {
    /// What concerns one plant
    Plant {
        /// The plant, by number or code
        plant: String,
    },
    /// What concerns one place
    Place {
        /// The place, by number or name
        place: String,
    },
    /// Everything that was sprayed on a plant, its place or the plant it was taken from
    Sprayed {
        /// The plant, by number or code
        plant: String,
        /// Only up to this day, counted back from it [default: counted back from the first damage of
        /// the last year]
        #[arg(long, value_name = "DATE")]
        before: Option<String>,
    },
    /// Who stood beside each open trouble and should be looked at next
    Beside,
    /// Groups of modes of action that were used on each pest at each place
    Groups,
    /// Newcomers: the chance that they are clean, and when they may join the others
    Apart {
        /// Keep this plant apart from now on, by number or code
        #[arg(long, value_name = "PLANT")]
        keep: Option<String>,
        /// Let this plant in with the others, by number or code
        #[arg(long, value_name = "PLANT", conflicts_with = "keep")]
        let_in: Option<String>,
        /// It comes from a trusted hand (with --keep)
        #[arg(long)]
        trusted: bool,
        /// Since or on which day [default: today]
        #[arg(long, value_name = "DATE", default_value = "", hide_default_value = true)]
        on: String,
    },
}

/// Runs it.
pub fn run(house: &House, args: &PestsArgs) -> Result {
    match &args.command {
        None => print(house, &of_house(house)?),
        Some(PestsCommand::Plant { plant }) => {
            let journal = house.journal()?;
            let all = house.read(&journal, |r| {
                let number = target::plant(r, &house.hand, plant)?;
                Ok(pests::of_plant(r, number, &house.hand)?)
            })?;
            print(house, &all)
        }
        Some(PestsCommand::Place { place }) => {
            let journal = house.journal()?;
            let all = house.read(&journal, |r| {
                Ok(pests::of_place(r, place_number(r, place)?, &house.hand)?)
            })?;
            print(house, &all)
        }
        Some(PestsCommand::Sprayed { plant, before }) => sprayed(house, plant, before.as_deref()),
        Some(PestsCommand::Beside) => beside(house),
        Some(PestsCommand::Groups) => groups(house),
        Some(PestsCommand::Apart { keep, let_in, trusted, on }) => match (keep, let_in) {
            (Some(plant), _) => write(house, plant, "kept_apart", *trusted, on),
            (None, Some(plant)) => write(house, plant, "let_in", false, on),
            (None, None) => apart(house),
        },
    }
}

fn of_house(house: &House) -> Result<Pests> {
    let journal = house.journal()?;
    house.read(&journal, |r| Ok(pests::of_house(r, &house.hand)?))
}

fn text(bits: &[Bit]) -> String {
    bits.iter().map(|b| b.text.as_str()).collect()
}

fn table(all: &Pests) -> Table {
    let mut table = Table::new(&[
        "pest",
        "place",
        "plants",
        "state",
        "since",
        "looks",
        "more_looks",
        "chance",
        "lower",
        "upper",
        "sentence",
    ]);
    for s in all.open.iter().chain(&all.silent).chain(&all.over) {
        let t = &s.trouble;
        let plants: Vec<String> = t.on.iter().map(|n| n.unit.number.to_string()).collect();
        table.row(vec![
            (&t.pest).into(),
            t.place.as_ref().map(|p| p.1.clone()).into(),
            plants.join(" ").into(),
            crate::out::Cell::Value(serde_json::json!(t.state)),
            t.since().into(),
            i64::from(t.looks).into(),
            t.more.map(i64::from).into(),
            t.chance.map(|c| c.value).into(),
            t.chance.map(|c| c.lower).into(),
            t.chance.map(|c| c.upper).into(),
            text(&s.told.said.head).into(),
        ]);
    }
    table
}

fn print(house: &House, all: &Pests) -> Result {
    let out = &house.out;
    match out.form() {
        Form::Json => return out.json(all),
        Form::Csv => return out.table(&table(all)),
        Form::Table => {}
    }
    if all.is_empty() {
        out.line("nothing was found");
        return Ok(());
    }
    for s in &all.open {
        trouble(out, s);
    }
    for n in &all.newcomers {
        told(out, &n.told);
    }
    for near in &all.near {
        out.line(near);
    }
    for d in &all.damage {
        out.line(&format!(
            "{}  {}  {}",
            out.strong(&d.plant.unit.number.to_string()),
            d.text,
            out.weak(&format!("{} treatments before", d.treatments))
        ));
    }
    for (heading, list) in [("Nothing written for half a year", &all.silent), ("Over", &all.over)] {
        if list.is_empty() {
            continue;
        }
        out.heading(heading);
        for s in list {
            out.line(&format!("  {}", text(&s.told.said.head)));
        }
    }
    Ok(())
}

fn trouble(out: &Out, s: &TroubleSaid) {
    told(out, &s.told);
}

fn told(out: &Out, s: &Told) {
    out.line(&out.strong(&text(&s.said.head)));
    for line in &s.more {
        out.line(&format!("  {}", text(line)));
    }
    out.line(&format!("  {}", s.said.line));
    for gap in &s.said.gaps {
        out.line(&format!("  {}", out.weak(gap)));
    }
    for (lead, check) in &s.said.cautions {
        out.line(&format!("  {} {check}", out.strong(lead)));
    }
    out.line("");
}

fn sprayed(house: &House, plant: &str, before: Option<&str>) -> Result {
    let day = match before {
        Some(typed) => {
            let date = acts::read_date(typed, &house.hand)?;
            Some(date.latest().ok_or_else(|| {
                Problem::input(
                    format!("--before: “{typed}” has no last day"),
                    "write a day, such as 2025-11-03",
                )
            })?)
        }
        None => None,
    };
    let journal = house.journal()?;
    let list = house.read(&journal, |r| {
        let number = target::plant(r, &house.hand, plant)?;
        Ok(pests::sprayed(r, number, day, &house.hand)?)
    })?;
    if house.out.form() == Form::Json {
        return house.out.json(&list);
    }
    let mut table = Table::new(&["date", "product", "what", "how_it_reached_it", "before", "note"]);
    for s in &list.treatments {
        table.row(vec![
            (&s.date).into(),
            s.product.clone().unwrap_or_else(|| "unknown".to_owned()).into(),
            (&s.text).into(),
            (&s.way_words).into(),
            (&s.before_words).into(),
            s.note.clone().into(),
        ]);
    }
    house.out.table(&table)?;
    if house.out.form() == Form::Table {
        if table.is_empty() {
            house.out.line("no treatment is recorded");
        }
        if !list.counted_from.is_empty() {
            house.out.note(&format!("counted back from {}", list.counted_from));
        }
        for gap in &list.gaps {
            house.out.note(gap);
        }
    }
    Ok(())
}

fn beside(house: &House) -> Result {
    let all = of_house(house)?;
    let mut table = Table::new(&["pest", "place", "plant", "name", "why", "looked_since"]);
    for s in &all.open {
        for b in s.neighbours.iter().flat_map(|n| &n.next) {
            table.row(vec![
                (&s.trouble.pest).into(),
                s.trouble.place.as_ref().map(|p| p.1.clone()).into(),
                b.plant.unit.number.into(),
                b.plant.name.clone().into(),
                b.reasons.join("; ").into(),
                crate::out::Cell::Value(b.looked.is_some().into()),
            ]);
        }
    }
    house.out.table(&table)
}

fn groups(house: &House) -> Result {
    let all = of_house(house)?;
    let lists = all.open.iter().chain(&all.over).filter_map(|s| s.rotation.as_ref());
    if house.out.form() == Form::Json {
        return house.out.json(&lists.collect::<Vec<_>>());
    }
    let mut table = Table::new(&["where", "what"]);
    for r in lists {
        for line in r.history.iter().chain(&r.watch) {
            table.row(vec![(&r.heading).into(), line.into()]);
        }
    }
    house.out.table(&table)
}

fn apart(house: &House) -> Result {
    let all = of_house(house)?;
    if house.out.form() != Form::Table {
        return house.out.json(&all.newcomers);
    }
    if all.newcomers.is_empty() {
        house.out.line("nothing came within ten weeks, and nothing is kept apart");
    }
    for n in &all.newcomers {
        told(&house.out, &n.told);
    }
    Ok(())
}

fn write(house: &House, plant: &str, kind: &str, trusted: bool, on: &str) -> Result {
    let journal = house.journal()?;
    let number = house.read(&journal, |r| target::plant(r, &house.hand, plant))?;
    let mut detail = Map::new();
    if trusted {
        detail.insert("trusted".to_owned(), Value::Bool(true));
    }
    let input = EntryInput {
        kind: kind.to_owned(),
        when: on.to_owned(),
        detail,
        confirmed: true,
        ..EntryInput::default()
    };
    let logged = acts::log(&journal, &house.hand, &[Target::Plant(number)], &input)?;
    done(house, &format!("plant {number}: {}", kind.replace('_', " ")), logged.op)
}
