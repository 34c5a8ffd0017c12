//! Crosses: the list, a page, and the steps from a pollination to seedlings.

use answers::{
    CrossPage,
    acts::{self, NewPollination, ParentInput},
    cross_page, cross_title,
};
use clap::Args;
use serde_json::json;

use crate::{
    clones::done,
    house::House,
    out::{Form, Table},
    page,
    problem::Result,
    target,
};

/// List crosses, or show the page of one
#[derive(Debug, Args)]
pub struct CrossesArgs {
    /// The number of a cross
    pub cross: Option<i64>,
}

/// Log a pollination; it joins the cross of the same parents or begins one
#[derive(Debug, Args)]
pub struct PollinateArgs {
    /// The plant that bears the flowers
    pub plant: String,
    /// Whose pollen: a plant number, a name, unknown, or "A or B"
    #[arg(long, value_name = "PARENT")]
    pub pollen: String,
    /// How many flowers
    #[arg(long, value_name = "COUNT")]
    pub flowers: Option<u64>,
    /// Which flowers, in words
    #[arg(long, value_name = "WORDS")]
    pub flower: Option<String>,
    /// How old the pollen was, such as "2 days"
    #[arg(long, value_name = "AGE")]
    pub pollen_age: Option<String>,
    /// How it was done
    #[arg(long, value_name = "WORDS")]
    pub method: Option<String>,
    /// When [default: today]
    #[arg(long, value_name = "DATE", default_value = "", hide_default_value = true)]
    pub on: String,
    /// Free words
    #[arg(long, value_name = "WORDS")]
    pub note: Option<String>,
}

/// Sow seed of a cross: a new batch
#[derive(Debug, Args)]
pub struct SowArgs {
    /// The number of the cross
    pub cross: i64,
    /// How many seeds
    #[arg(long, value_name = "COUNT")]
    pub count: Option<u64>,
    /// On what it was sown
    #[arg(long, value_name = "WORDS")]
    pub medium: Option<String>,
    /// How it was sown
    #[arg(long, value_name = "WORDS")]
    pub method: Option<String>,
    /// How warm, such as "24 °C"
    #[arg(long, value_name = "TEMPERATURE")]
    pub warmth: Option<String>,
    /// When [default: today]
    #[arg(long, value_name = "DATE", default_value = "", hide_default_value = true)]
    pub on: String,
    /// Free words
    #[arg(long, value_name = "WORDS")]
    pub note: Option<String>,
}

/// Pot seedlings of a cross: each becomes a plant with its own number
#[derive(Debug, Args)]
pub struct PrickOutArgs {
    /// The number of the cross
    pub cross: i64,
    /// How many seedlings
    #[arg(value_parser = clap::value_parser!(u16).range(1..=10_000))]
    pub count: u16,
    /// Where they stand
    #[arg(long, value_name = "PLACE")]
    pub place: Option<String>,
    /// When [default: today]
    #[arg(long, value_name = "DATE", default_value = "", hide_default_value = true)]
    pub on: String,
}

/// Runs `crosses`.
pub fn crosses(house: &House, args: &CrossesArgs) -> Result {
    let journal = house.journal()?;
    if let Some(number) = args.cross {
        let page = house.read(&journal, |r| Ok(cross_page(r, number, &house.hand)?))?;
        return print_page(house, &page);
    }
    let t = house.hand.texts();
    let mut table = Table::new(&["number", "cross", "seedlings"]);
    house.read(&journal, |r| {
        for cross in r.crosses()? {
            let title = cross_title(r, &cross, t)?;
            table.row(vec![cross.number.into(), title.into(), cross.seedlings.into()]);
        }
        Ok(())
    })?;
    if table.is_empty() && house.out.form() == Form::Table {
        house.out.note("no cross is recorded yet; `umbel pollinate` begins one");
    }
    house.out.table(&table)
}

fn print_page(house: &House, found: &CrossPage) -> Result {
    let out = &house.out;
    match out.form() {
        Form::Json => return out.json(found),
        Form::Csv => {
            let mut table = Table::new(&["seedling", "name", "plant"]);
            for (n, name, plant) in &found.seedlings {
                table.row(vec![(*n).into(), name.clone().into(), (*plant).into()]);
            }
            return out.table(&table);
        }
        Form::Table => {}
    }
    page::titled(out, found.cross.number, &found.title);
    if !found.reciprocal.is_empty() {
        let others: Vec<_> = found.reciprocal.iter().map(ToString::to_string).collect();
        out.line(&format!("the other way round: cross {}", others.join(", ")));
    }
    for (number, plant, lines) in &found.pollinations {
        let on = plant.map(|p| format!(" on plant {p}")).unwrap_or_default();
        out.heading(&format!("Pollination {number}{on}"));
        page::print_lines(out, lines);
    }
    for (number, what, lines) in &found.batches {
        out.heading(&format!("Batch {number}, {what}"));
        page::print_lines(out, lines);
    }
    if !found.seedlings.is_empty() {
        out.heading("Seedlings");
        for (_, name, plant) in &found.seedlings {
            let at = plant.map(|p| format!("  plant {p}")).unwrap_or_default();
            out.line(&format!("  {}{at}", out.name(name)));
        }
    }
    if !found.journal.is_empty() {
        out.heading("Journal");
        page::print_lines(out, &found.journal);
    }
    for s in &found.statements {
        out.line(&format!("  “{}” {}", s.text, out.weak(&s.said_by)));
    }
    Ok(())
}

/// Runs `pollinate`.
pub fn pollinate(house: &House, args: &PollinateArgs) -> Result {
    let journal = house.journal()?;
    let plant = house.read(&journal, |r| target::plant(r, &house.hand, &args.plant))?;
    let new = NewPollination {
        seed_plant: plant,
        pollen: ParentInput::read(&args.pollen),
        flowers: args.flowers,
        flower: args.flower.clone(),
        pollen_age: args.pollen_age.clone(),
        method: args.method.clone(),
        when: args.on.clone(),
        note: args.note.clone(),
        ..NewPollination::default()
    };
    let (op, cross) = acts::pollinate(&journal, &house.hand, &new)?;
    done(house, &format!("plant {plant} pollinated: cross {cross}"), op)
}

/// Runs `sow`.
pub fn sow(house: &House, args: &SowArgs) -> Result {
    let journal = house.journal()?;
    let mut detail = json!({
        "count": args.count, "medium": args.medium, "method": args.method, "warmth": args.warmth,
    });
    if let Some(map) = detail.as_object_mut() {
        map.retain(|_, v| !v.is_null());
    }
    let (op, batch) =
        acts::sow(&journal, &house.hand, args.cross, &args.on, &detail, args.note.clone())?;
    done(house, &format!("seed of cross {} sown: batch {batch}", args.cross), op)
}

/// Runs `prick-out`.
pub fn prick_out(house: &House, args: &PrickOutArgs) -> Result {
    let journal = house.journal()?;
    let (op, numbers) = acts::prick_out(
        &journal,
        &house.hand,
        args.cross,
        usize::from(args.count),
        &args.on,
        args.place.as_deref(),
    )?;
    let said: Vec<_> = numbers.iter().map(ToString::to_string).collect();
    done(house, &format!("seedlings of cross {}: plants {}", args.cross, said.join(", ")), op)
}
