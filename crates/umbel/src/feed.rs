//! `umbel feed`.

use answers::{
    acts,
    feed::{self, CanInput, Growth, ShelfLine},
};
use clap::{Args, Subcommand};

use crate::{
    clones::done,
    house::House,
    out::{Form, Table},
    problem::Result,
    target,
};

/// What is on the shelf of feeds and waters; keep them, work out a can, look at the meter
#[derive(Debug, Args)]
pub struct FeedArgs {
    #[command(subcommand)]
    command: Option<FeedCommand>,
}

#[derive(Debug, Subcommand)]
enum FeedCommand {
    /// What goes into a can for so much nitrogen, and what the meter should then show
    Can(CanArgs),
    /// Keep a feed, by its label; % are by mass
    Keep(Box<FeedKeepArgs>),
    /// Keep a water, by its report or a strip
    Water(WaterArgs),
    /// Say that something of the shelf is used up
    UsedUp {
        /// Its number on the shelf
        number: i64,
    },
    /// What the conductivity meter showed, beside what was to be expected
    Meter {
        /// How many readings
        #[arg(long, value_name = "NUMBER", default_value_t = 20)]
        last: usize,
    },
    /// How strong a feed each group of plants wants
    Rates,
    /// Say whether a plant grows: one that rests or has no roots is not fed
    Growth {
        /// The plant, by number or code
        plant: String,
        /// growing, resting or rootless
        #[arg(value_parser = ["growing", "resting", "rootless"])]
        state: String,
    },
}

#[derive(Debug, Args)]
struct CanArgs {
    /// The feed, by name or number on the shelf
    feed: String,
    /// Nitrogen wanted, mg/L
    #[arg(long, value_name = "MG/L", default_value = "", hide_default_value = true)]
    nitrogen: String,
    /// A group of plants, in place of the nitrogen; `umbel feed rates` lists them
    #[arg(long = "for", value_name = "GROUP", default_value = "", hide_default_value = true)]
    group: String,
    /// Litres in the can
    #[arg(long, value_name = "LITRES", default_value = "", hide_default_value = true)]
    litres: String,
    /// The water, by name or kind
    #[arg(long, value_name = "WATER", default_value = "", hide_default_value = true)]
    water: String,
    /// A softer water to blend it with
    #[arg(long, value_name = "WATER", default_value = "", hide_default_value = true)]
    soft: String,
    /// Alkalinity wanted in the blend, mg/L CaCO3
    #[arg(long, value_name = "MG/L", default_value = "", hide_default_value = true)]
    alkalinity: String,
    /// Ratio of the injector: 100 for 1 : 100
    #[arg(long, value_name = "RATIO", default_value = "", hide_default_value = true)]
    injector: String,
}

#[derive(Debug, Args)]
struct FeedKeepArgs {
    /// What it is called in the journal
    name: String,
    /// N-P2O5-K2O as on the label
    #[arg(long, value_name = "13-3-15")]
    label: String,
    /// Write anew what is known of this number of the shelf
    #[arg(long, value_name = "NUMBER")]
    number: Option<i64>,
    /// Ca, %
    #[arg(long, value_name = "%", default_value = "", hide_default_value = true)]
    calcium: String,
    /// Mg, %
    #[arg(long, value_name = "%", default_value = "", hide_default_value = true)]
    magnesium: String,
    /// Nitrogen as nitrate, %
    #[arg(long, value_name = "%", default_value = "", hide_default_value = true)]
    nitrate: String,
    /// Nitrogen as ammonium, %
    #[arg(long, value_name = "%", default_value = "", hide_default_value = true)]
    ammonium: String,
    /// Nitrogen as urea, %
    #[arg(long, value_name = "%", default_value = "", hide_default_value = true)]
    urea: String,
    /// It brings sulphate
    #[arg(long)]
    sulphate: bool,
    /// Density of a liquid, kg/L
    #[arg(long, value_name = "KG/L", default_value = "", hide_default_value = true)]
    density: String,
    /// What your own scoop holds, weighed, g
    #[arg(long, value_name = "G", default_value = "", hide_default_value = true)]
    scoop: String,
    /// What the label advises, g/L
    #[arg(long, value_name = "G/L", default_value = "", hide_default_value = true)]
    usual: String,
    /// The label's row of conductivity: mg/L of nitrogen, then mS/cm
    #[arg(long, value_name = "\"100 0.7\"", default_value = "", hide_default_value = true)]
    at: String,
    /// What was paid, such as "12 EUR for 1 kg"
    #[arg(long, value_name = "PRICE", default_value = "", hide_default_value = true)]
    price: String,
}

#[derive(Debug, Args)]
struct WaterArgs {
    /// What it is called here
    name: String,
    /// rain, tap, osmosis, distilled, mixed or melted
    #[arg(long)]
    kind: String,
    /// Write anew what is known of this number of the shelf
    #[arg(long, value_name = "NUMBER")]
    number: Option<i64>,
    /// Alkalinity, mg/L CaCO3, or with °dH
    #[arg(long, value_name = "MG/L", default_value = "", hide_default_value = true)]
    alkalinity: String,
    /// Conductivity, mS/cm, or with µS/cm
    #[arg(long, value_name = "MS/CM", default_value = "", hide_default_value = true)]
    conductivity: String,
    /// Ca, mg/L
    #[arg(long, value_name = "MG/L", default_value = "", hide_default_value = true)]
    calcium: String,
    /// Mg, mg/L
    #[arg(long, value_name = "MG/L", default_value = "", hide_default_value = true)]
    magnesium: String,
    /// Na, mg/L
    #[arg(long, value_name = "MG/L", default_value = "", hide_default_value = true)]
    sodium: String,
    /// report, strip or meter
    #[arg(long, value_name = "HOW", default_value = "", hide_default_value = true)]
    how: String,
}

/// Runs it.
pub fn run(house: &House, args: &FeedArgs) -> Result {
    match &args.command {
        None => shelf(house),
        Some(FeedCommand::Can(a)) => can(house, a),
        Some(FeedCommand::Keep(a)) => keep(house, a),
        Some(FeedCommand::Water(a)) => water(house, a),
        Some(FeedCommand::UsedUp { number }) => {
            let op = acts::use_up(&house.journal()?, &house.hand, *number)?;
            done(house, &format!("{number} is used up"), op)
        }
        Some(FeedCommand::Meter { last }) => meter(house, *last),
        Some(FeedCommand::Rates) => rates(house),
        Some(FeedCommand::Growth { plant, state }) => {
            let journal = house.journal()?;
            let number = house.read(&journal, |r| target::plant(r, &house.hand, plant))?;
            let op = acts::set_growth(&journal, &house.hand, number, Growth::of_word(state))?;
            done(house, &format!("plant {number}: {state}"), op)
        }
    }
}

/// Rows of things that are kept.
pub fn shelf_rows(table: &mut Table, what: &str, lines: Vec<ShelfLine>) {
    for l in lines {
        table.row(vec![
            l.number.into(),
            what.into(),
            l.name.into(),
            l.facts.into(),
            l.missing.into(),
        ]);
    }
}

fn shelf(house: &House) -> Result {
    let journal = house.journal()?;
    let found = house.read(&journal, |r| Ok(feed::shelf(r, &house.hand)?))?;
    if house.out.form() == Form::Json {
        return house.out.json(&found);
    }
    let mut table = Table::new(&["number", "what", "name", "known", "would_be_of_use"]);
    shelf_rows(&mut table, "feed", found.feeds);
    shelf_rows(&mut table, "water", found.waters);
    if table.is_empty() {
        house
            .out
            .note("nothing is on the shelf; `umbel feed keep` and `umbel feed water` put it there");
    }
    house.out.table(&table)
}

fn can(house: &House, a: &CanArgs) -> Result {
    let input = CanInput {
        feed: a.feed.clone(),
        nitrogen: a.nitrogen.clone(),
        group: a.group.clone(),
        litres: a.litres.clone(),
        water: a.water.clone(),
        soft: a.soft.clone(),
        alkalinity: a.alkalinity.clone(),
        injector: a.injector.clone(),
    };
    let journal = house.journal()?;
    let found = house.read(&journal, |r| Ok(feed::can(r, &input, &house.hand)?))?;
    if house.out.form() == Form::Json {
        return house.out.json(&found);
    }
    let mut table = Table::new(&["what", "how_much", "note"]);
    for l in found.lines {
        table.row(vec![l.what.into(), l.amount.into(), l.note.into()]);
    }
    house.out.table(&table)?;
    if house.out.form() == Form::Table {
        for note in &found.notes {
            house.out.line(&format!("  {note}"));
        }
        cautions(house);
    }
    Ok(())
}

/// What must stand beside the numbers.
fn cautions(house: &House) {
    let t = house.hand.texts();
    for c in feed::CAUTIONS {
        house.out.line(&format!("  {} {}", house.out.strong(t.t(c.lead)), t.t(c.text)));
    }
}

fn keep(house: &House, a: &FeedKeepArgs) -> Result {
    let input = acts::FeedInput {
        name: a.name.clone(),
        label: a.label.clone(),
        calcium: a.calcium.clone(),
        magnesium: a.magnesium.clone(),
        nitrate: a.nitrate.clone(),
        ammonium: a.ammonium.clone(),
        urea: a.urea.clone(),
        sulphate: if a.sulphate { "yes" } else { "" }.to_owned(),
        density: a.density.clone(),
        scoop: a.scoop.clone(),
        usual: a.usual.clone(),
        at: a.at.clone(),
        price: a.price.clone(),
    };
    let journal = house.journal_or_new()?;
    let (op, number) = acts::keep_feed(&journal, &house.hand, a.number, &input)?;
    done(house, &format!("feed {number}: {}", a.name), op)
}

fn water(house: &House, a: &WaterArgs) -> Result {
    let input = acts::WaterInput {
        name: a.name.clone(),
        kind: a.kind.clone(),
        alkalinity: a.alkalinity.clone(),
        conductivity: a.conductivity.clone(),
        calcium: a.calcium.clone(),
        magnesium: a.magnesium.clone(),
        sodium: a.sodium.clone(),
        how: a.how.clone(),
    };
    let journal = house.journal_or_new()?;
    let (op, number) = acts::keep_water(&journal, &house.hand, a.number, &input)?;
    done(house, &format!("water {number}: {}", a.name), op)
}

fn meter(house: &House, last: usize) -> Result {
    let journal = house.journal()?;
    let found = house.read(&journal, |r| Ok(feed::metered(r, last, &house.hand)?))?;
    if house.out.form() == Form::Json {
        return house.out.json(&found);
    }
    let mut table = Table::new(&["when", "about", "number", "what", "shown", "what_it_can_be"]);
    for m in found {
        table.row(vec![
            m.date.into(),
            m.about.kind.as_str().into(),
            m.about.number.into(),
            m.what.into(),
            m.beside.into(),
            m.words.into(),
        ]);
    }
    house.out.table(&table)
}

fn rates(house: &House) -> Result {
    let found = feed::rates(house.hand.texts());
    let mut table = Table::new(&["group", "nitrogen", "from", "to", "basis"]);
    for r in found {
        table.row(vec![
            r.key.into(),
            r.nitrogen.into(),
            r.from.into(),
            r.to.into(),
            r.basis.into(),
        ]);
    }
    house.out.table(&table)
}
