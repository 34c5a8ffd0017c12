//! `umbel potting`.

use answers::{acts, feed, potting};
use clap::{Args, Subcommand};

use crate::{
    clones::done,
    feed::shelf_rows,
    house::House,
    out::{Form, Table},
    problem::Result,
    target,
};

/// Which plants are likely to want a larger pot; mixes and materials, and how much to prepare
#[derive(Debug, Args)]
pub struct PottingArgs {
    #[command(subcommand)]
    command: Option<PottingCommand>,
}

#[derive(Debug, Subcommand)]
enum PottingCommand {
    /// How much of each material to prepare for some plants, and what the larger pot does
    Mix {
        /// The plants, by number, range or code
        #[arg(required = true)]
        plants: Vec<String>,
        /// A mix of the shelf, or parts by volume: "bark 4, perlite 3" [default: that of each]
        #[arg(long, value_name = "MIX", default_value = "", hide_default_value = true)]
        mix: String,
        /// The pots to take, such as "12 cm" or "2 L" [default: the next size of each]
        #[arg(long, value_name = "SIZE", default_value = "", hide_default_value = true)]
        pot: String,
        /// How much filling shrinks the mix, % [default: 15, from 10 to 20]
        #[arg(long, value_name = "%", default_value = "", hide_default_value = true)]
        shrinkage: String,
    },
    /// The mixes and materials that are kept
    Shelf,
    /// Keep a mix, with the test of a pot of it at the sink
    Keep {
        /// What it is called here
        name: String,
        /// Parts by volume, such as "bark 4, perlite 3"
        parts: String,
        /// Write anew what is known of this number of the shelf
        #[arg(long, value_name = "NUMBER")]
        number: Option<i64>,
        /// Volume of the mix that was tested, mL
        #[arg(long, value_name = "ML", default_value = "", hide_default_value = true)]
        volume: String,
        /// Water that filled it to the top, mL
        #[arg(long, value_name = "ML", default_value = "", hide_default_value = true)]
        filled: String,
        /// Water that ran out in 10 to 15 minutes, mL
        #[arg(long, value_name = "ML", default_value = "", hide_default_value = true)]
        drained: String,
        /// Height of the mix in the test, cm
        #[arg(long, value_name = "CM", default_value = "", hide_default_value = true)]
        height: String,
    },
    /// Keep a material with its price
    Material {
        /// What it is called in mixes
        name: String,
        /// What was paid, such as "9 EUR for 50 L"
        #[arg(default_value = "", hide_default_value = true)]
        price: String,
        /// Write anew what is known of this number of the shelf
        #[arg(long, value_name = "NUMBER")]
        number: Option<i64>,
    },
}

/// Runs it.
pub fn run(house: &House, args: &PottingArgs) -> Result {
    match &args.command {
        None => list(house),
        Some(PottingCommand::Mix { plants, mix, pot, shrinkage }) => {
            prepare(house, plants, mix, pot, shrinkage)
        }
        Some(PottingCommand::Shelf) => shelf(house),
        Some(PottingCommand::Keep { name, parts, number, volume, filled, drained, height }) => {
            let input = acts::MixInput {
                name: name.clone(),
                recipe: parts.clone(),
                volume: volume.clone(),
                filled: filled.clone(),
                drained: drained.clone(),
                height: height.clone(),
            };
            let journal = house.journal_or_new()?;
            let (op, number) = acts::keep_mix(&journal, &house.hand, *number, &input)?;
            done(house, &format!("mix {number}: {name}"), op)
        }
        Some(PottingCommand::Material { name, price, number }) => {
            let journal = house.journal_or_new()?;
            let (op, number) = acts::keep_material(&journal, &house.hand, *number, name, price)?;
            done(house, &format!("material {number}: {name}"), op)
        }
    }
}

fn list(house: &House) -> Result {
    let journal = house.journal()?;
    let t = house.hand.texts();
    let found = house.read(&journal, |r| Ok(potting::to_pot(r, &house.hand)?))?;
    if house.out.form() == Form::Json {
        return house.out.json(&found);
    }
    let mut table = Table::new(&["plant", "name", "place", "pot", "next_pot_cm", "why"]);
    for l in found {
        let why = if l.in_flower {
            format!("{}; {}", l.reason, t.t("in bud or flower: wait"))
        } else {
            l.reason
        };
        table.row(vec![
            l.plant.into(),
            l.name.into(),
            l.place.into(),
            l.pot.into(),
            l.next_pot.into(),
            why.into(),
        ]);
    }
    house.out.table(&table)
}

fn prepare(house: &House, plants: &[String], mix: &str, pot: &str, shrinkage: &str) -> Result {
    let journal = house.journal()?;
    let t = house.hand.texts();
    let plan = house.read(&journal, |r| {
        let input = potting::MixInput {
            plants: target::plants(r, &house.hand, plants)?,
            mix: mix.to_owned(),
            pot: pot.to_owned(),
            shrinkage: shrinkage.to_owned(),
        };
        Ok(potting::plan(r, &input, &house.hand)?)
    })?;
    let out = &house.out;
    if out.form() == Form::Json {
        return out.json(&plan);
    }
    let mut parts = Table::new(&["material", "litres", "loose", "cost"]);
    for p in &plan.parts {
        let litres = (100.0 * p.litres).round() / 100.0;
        parts.row(vec![(&p.material).into(), litres.into(), (&p.amount).into(), (&p.cost).into()]);
    }
    if out.form() == Form::Csv {
        return out.table(&parts);
    }
    out.line(&t.f("Prepare {n} of loose mix", &[("n", &plan.loose_words)]));
    out.table(&parts)?;
    let mut pots = Table::new(&["plant", "name", "pot_now", "pot_to_take", "drying"]);
    for p in plan.pots {
        pots.row(vec![p.plant.into(), p.name.into(), p.from.into(), p.to.into(), p.note.into()]);
    }
    out.line("");
    out.table(&pots)?;
    if !plan.held_words.is_empty() {
        out.line(&format!("  {} {}", t.t("In the first pot:"), plan.held_words));
    }
    if !plan.cost_each.is_empty() {
        out.line(&format!("  {} {}", t.t("Mix for each plant:"), plan.cost_each));
    }
    for c in potting::CAUTIONS {
        out.line(&format!("  {} {}", out.strong(t.t(c.lead)), t.t(c.text)));
    }
    Ok(())
}

fn shelf(house: &House) -> Result {
    let journal = house.journal()?;
    let found = house.read(&journal, |r| Ok(feed::shelf(r, &house.hand)?))?;
    if house.out.form() == Form::Json {
        return house.out.json(&found);
    }
    let mut table = Table::new(&["number", "what", "name", "known", "would_be_of_use"]);
    shelf_rows(&mut table, "mix", found.mixes);
    shelf_rows(&mut table, "material", found.materials);
    house.out.table(&table)
}
