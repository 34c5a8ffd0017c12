//! `umbel add`.

use answers::acts::{self, NewPlant, ParentInput, read_date};
use clap::Args;

use crate::{
    fields,
    house::House,
    log::KnownArg,
    naming,
    out::Form,
    problem::{Problem, Result},
    target,
};

/// Add a plant; everything may be left open and said later
#[derive(Debug, Args)]
pub struct AddArgs {
    /// Its name
    #[arg(long, value_name = "NAME")]
    pub name: Option<String>,
    /// Doubts about the name
    #[arg(long, value_name = "WORDS")]
    pub doubt: Option<String>,
    /// What it is suspected to be
    #[arg(long, value_name = "WORDS")]
    pub suspected: Option<String>,
    /// Whom it came from; a keeper named for the first time is added
    #[arg(long, value_name = "KEEPER")]
    pub from: Option<String>,
    /// It was raised here
    #[arg(long, conflicts_with = "from")]
    pub own: bool,
    /// When it came: today, 2024-05-07, 2024-05, spring 2024, 1998~
    #[arg(long, value_name = "DATE")]
    pub came: Option<String>,
    /// As what it came
    #[arg(long, value_name = "WHAT",
          value_parser = ["cutting", "rooted_cutting", "plant", "seed", "seedling", "division"])]
    pub came_as: Option<String>,
    /// What it cost, such as "8.50 GBP"
    #[arg(long, value_name = "AMOUNT")]
    pub price: Option<String>,
    /// What was given for it
    #[arg(long, value_name = "WORDS")]
    pub swapped_for: Option<String>,
    /// It was a gift
    #[arg(long)]
    pub gift: bool,
    /// Where it stands; a place named for the first time is added
    #[arg(long, value_name = "PLACE")]
    pub place: Option<String>,
    /// Its pot, such as "9 cm"
    #[arg(long, value_name = "SIZE")]
    pub pot: Option<String>,
    /// What it stands in, where that has no size
    #[arg(long, value_name = "WHAT",
          value_parser = ["pot", "basket", "tray", "mount", "jar", "glass"])]
    pub container: Option<String>,
    /// Seed parent and pollen parent, as "A x B"
    #[arg(long, value_name = "A x B", conflicts_with_all = ["seed", "pollen"])]
    pub parents: Option<String>,
    /// Seed parent: a name, a plant number, unknown, or "A or B"
    #[arg(long, value_name = "PARENT")]
    pub seed: Option<String>,
    /// Pollen parent, likewise
    #[arg(long, value_name = "PARENT")]
    pub pollen: Option<String>,
    /// It is a piece of the same clone as this plant
    #[arg(long, value_name = "PLANT", conflicts_with_all = ["name", "parents", "seed", "pollen"])]
    pub piece_of: Option<String>,
    /// Your own tag for it
    #[arg(long, value_name = "TAG")]
    pub tag: Option<String>,
    /// Its number [default: the next free one]
    #[arg(long, value_name = "NUMBER")]
    pub number: Option<i64>,
    /// How many plants like this there are
    #[arg(long, value_name = "COUNT", default_value_t = 1,
          value_parser = clap::value_parser!(u16).range(1..=1000))]
    pub count: u16,
    /// How its arrival is known
    #[arg(long, value_enum, default_value = "seen")]
    pub known: KnownArg,
    /// Free words that belong to its arrival
    #[arg(long, value_name = "WORDS")]
    pub note: Option<String>,
}

/// Cuts "A x B" into its two parents.
pub fn both_parents(typed: &str) -> Result<(ParentInput, ParentInput)> {
    let cut = [" × ", " x ", " X "].into_iter().find_map(|sign| typed.split_once(sign));
    match cut {
        Some((seed, pollen)) if !pollen.contains(" × ") && !pollen.contains(" x ") => {
            Ok((ParentInput::read(seed), ParentInput::read(pollen)))
        }
        _ => Err(Problem::input(
            format!("--parents: “{typed}” is not seed parent x pollen parent"),
            "write --parents \"A x B\", or --seed A --pollen B where a parent is itself a cross",
        )),
    }
}

/// Runs it.
pub fn run(house: &House, args: &AddArgs) -> Result {
    let new = new_plant(house, args)?;
    let journal = house.journal_or_new()?;
    let new = match &args.piece_of {
        None => new,
        Some(typed) => {
            let clone = house.read(&journal, |reader| {
                let number = target::plant(reader, &house.hand, typed)?;
                let plant = reader.plant(number)?.ok_or_else(|| target::no_plant(number))?;
                Ok(reader.clone_by_id(plant.clone)?.map(|c| c.uid))
            })?;
            NewPlant { clone, ..new }
        }
    };
    let verdict = match &args.name {
        Some(name) => Some(house.read(&journal, |r| Ok(acts::judge_name(r, name)?))?),
        None => None,
    };
    let added = acts::add_plant(&journal, &house.hand, &new)?;
    if house.out.form() != Form::Table {
        return print_added(house, &journal, &added);
    }
    for number in &added.numbers {
        let plant = house.read(&journal, |r| Ok(r.plant(*number)?))?;
        if let Some(p) = plant {
            house.out.line(&format!("plant {}  {}  code {}", p.number, p.name, p.code));
        }
    }
    if let Some(v) = &verdict {
        naming::print_problems(house, v);
    }
    Ok(())
}

fn print_added(house: &House, journal: &journal::Journal, added: &acts::Added) -> Result {
    let mut table = crate::out::Table::new(&["number", "code", "name", "operation"]);
    for number in &added.numbers {
        if let Some(p) = house.read(journal, |r| Ok(r.plant(*number)?))? {
            let op = added.op.to_string();
            table.row(vec![p.number.into(), p.code.into(), p.name.into(), op.into()]);
        }
    }
    house.out.table(&table)
}

fn new_plant(house: &House, args: &AddArgs) -> Result<NewPlant> {
    let (seed, pollen) = match &args.parents {
        Some(both) => both_parents(both)?,
        None => (
            ParentInput::read(args.seed.as_deref().unwrap_or("")),
            ParentInput::read(args.pollen.as_deref().unwrap_or("")),
        ),
    };
    let price = match &args.price {
        Some(typed) => Some(fields::money(typed).ok_or_else(|| {
            Problem::input(
                format!("--price: “{typed}” is not an amount"),
                "write the amount and its currency, such as \"8.50 GBP\"",
            )
        })?),
        None => None,
    };
    Ok(NewPlant {
        number: args.number,
        name: args.name.clone(),
        doubt: args.doubt.clone(),
        suspected: args.suspected.clone(),
        keeper: args.from.clone(),
        own: args.own,
        came: args.came.as_deref().map(|d| read_date(d, &house.hand)).transpose()?,
        known: args.known.into(),
        received_as: args.came_as.clone(),
        price,
        swapped_for: args.swapped_for.clone(),
        free: args.gift,
        place: args.place.clone(),
        pot: args.pot.clone(),
        container: args.container.clone(),
        tag: args.tag.clone(),
        note: args.note.clone(),
        seed,
        pollen,
        count: usize::from(args.count),
        ..NewPlant::default()
    })
}
