//! `umbel places`.

mod light;

use answers::{acts, place_page};
use clap::{Args, Subcommand};

use crate::{
    clones::done,
    filter::place_number,
    house::House,
    list,
    out::{Form, Table},
    page,
    problem::Result,
};

/// List places in walking order; show, add, rename, describe, light, order or water them
#[derive(Debug, Args)]
pub struct PlacesArgs {
    #[command(subcommand)]
    command: Option<PlacesCommand>,
}

#[derive(Debug, Subcommand)]
enum PlacesCommand {
    /// Show the page of a place: what stands there, its journal
    Show {
        /// The place, by number or name
        place: String,
    },
    /// Add a place
    Add {
        /// The name
        name: String,
    },
    /// Give a place another name
    Rename {
        /// The place, by number or name
        place: String,
        /// The new name
        name: String,
    },
    Describe(Box<light::DescribeArgs>),
    /// Show how much light there is on a place, month by month and for each plant
    Light {
        /// The place, by number or name
        place: String,
    },
    /// Say where on a place a plant stands
    Put {
        /// The place, by number or name
        place: String,
        /// The plant, by its number
        plant: i64,
        /// Centimetres from the left and from the back, such as "40, 15", or words such as "left front"
        spot: String,
    },
    WhatIf(light::WhatIfArgs),
    Arrange(light::ArrangeArgs),
    /// Say where the house is and what a kilowatt-hour costs; what is left out stays as it is
    House {
        /// Degrees, such as 52.4 or "33.9 S"
        #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
        latitude: Option<String>,
        /// Degrees, such as 13.1 or "4.2 W"
        #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
        longitude: Option<String>,
        /// Price of a kilowatt-hour, such as "0.32 EUR"
        #[arg(long, value_name = "PRICE")]
        price: Option<String>,
    },
    /// Show the air of a place over four weeks: dryness, dew, cold and heat, what a machine would do
    Air {
        /// The place, by number or name
        place: String,
        /// Say something about it first: KEY=VALUE, such as volume=30, glass=double, outside=2,
        /// day_from=6, day_to=19, wanted=thick, cold=14
        #[arg(long = "set", value_name = "KEY=VALUE")]
        set: Vec<String>,
    },
    /// Water a place in one go: a look at every plant, of which only the odd ones are named
    Round {
        /// The place, by number or name
        place: String,
        /// Numbers of plants that were still wet and got nothing
        #[arg(long, value_name = "NUMBER,…", value_delimiter = ',')]
        still_wet: Vec<i64>,
        /// Numbers of plants that were limp
        #[arg(long, value_name = "NUMBER,…", value_delimiter = ',')]
        limp: Vec<i64>,
        /// Numbers of plants that nobody looked at
        #[arg(long, value_name = "NUMBER,…", value_delimiter = ',')]
        left_out: Vec<i64>,
        /// What the water held
        #[arg(long, value_name = "WORDS", default_value = "", hide_default_value = true)]
        feed: String,
        /// When [default: today]
        #[arg(long, value_name = "DATE", default_value = "", hide_default_value = true)]
        on: String,
    },
    /// Say on which days of the week the rounds of places are
    Rounds {
        /// The days: mon, tue, wed, thu, fri, sat, sun; none for no fixed days
        #[arg(long, value_name = "DAY,…", value_delimiter = ',')]
        on: Vec<String>,
        /// The places, by number or name [default: all]
        places: Vec<String>,
    },
    /// Put places into walking order, first to last
    Order {
        /// The places, by number or name
        #[arg(required = true)]
        places: Vec<String>,
    },
}

/// Runs it.
pub fn run(house: &House, args: &PlacesArgs) -> Result {
    match &args.command {
        None => all(house),
        Some(PlacesCommand::Show { place }) => show(house, place),
        Some(PlacesCommand::Add { name }) => {
            let journal = house.journal_or_new()?;
            let (op, number) = acts::add_place(&journal, &house.hand, name)?;
            done(house, &format!("place {number}: {name}"), op)
        }
        Some(PlacesCommand::Rename { place, name }) => {
            let journal = house.journal()?;
            let number = house.read(&journal, |r| place_number(r, place))?;
            let op = acts::rename_place(&journal, &house.hand, number, name)?;
            done(house, &format!("place {number}: {name}"), op)
        }
        Some(PlacesCommand::Describe(args)) => light::describe(house, args),
        Some(PlacesCommand::Light { place }) => light::show(house, place),
        Some(PlacesCommand::Put { place, plant, spot }) => {
            let journal = house.journal()?;
            let number = house.read(&journal, |r| place_number(r, place))?;
            let spots = [(*plant, spot.clone())];
            let op = acts::put_on_spots(&journal, &house.hand, number, &spots)?;
            done(house, &format!("plant {plant} stands on place {number} at {spot}"), op)
        }
        Some(PlacesCommand::WhatIf(args)) => light::what_if(house, args),
        Some(PlacesCommand::Arrange(args)) => light::arrange(house, args),
        Some(PlacesCommand::House { latitude, longitude, price }) => {
            let journal = house.journal_or_new()?;
            let typed = acts::HouseTyped {
                latitude: latitude.clone(),
                longitude: longitude.clone(),
                price: price.clone(),
            };
            acts::set_house(&journal, &typed)?;
            house.out.note("the house is set");
            Ok(())
        }
        Some(PlacesCommand::Air { place, set }) => crate::air::run(house, place, set),
        Some(PlacesCommand::Round { place, still_wet, limp, left_out, feed, on }) => {
            let journal = house.journal()?;
            let number = house.read(&journal, |r| place_number(r, place))?;
            let round = acts::Round {
                place: number,
                when: on.clone(),
                still_wet: still_wet.clone(),
                limp: limp.clone(),
                left_out: left_out.clone(),
                feed: feed.clone(),
                ..acts::Round::default()
            };
            let logged = acts::round(&journal, &house.hand, &round)?;
            done(house, &format!("place {number}: {} entries", logged.entries), logged.op)
        }
        Some(PlacesCommand::Rounds { on, places }) => {
            let journal = house.journal()?;
            let numbers = house.read(&journal, |r| {
                if places.is_empty() {
                    return Ok(r.places()?.iter().map(|p| p.number).collect());
                }
                places.iter().map(|p| place_number(r, p)).collect::<Result<Vec<_>>>()
            })?;
            let op = acts::set_rounds(&journal, &house.hand, &numbers, on)?;
            done(house, &format!("rounds of {} places: {}", numbers.len(), on.join(", ")), op)
        }
        Some(PlacesCommand::Order { places }) => {
            let journal = house.journal()?;
            let numbers = house.read(&journal, |r| {
                places.iter().map(|p| place_number(r, p)).collect::<Result<Vec<_>>>()
            })?;
            let op = acts::order_places(&journal, &house.hand, &numbers)?;
            done(house, &format!("{} places put into order", numbers.len()), op)
        }
    }
}

fn all(house: &House) -> Result {
    let journal = house.journal()?;
    let mut table = Table::new(&["number", "name", "plants"]);
    for p in house.read(&journal, |r| Ok(r.places()?))? {
        table.row(vec![p.number.into(), p.name.into(), p.plants.into()]);
    }
    house.out.table(&table)
}

fn show(house: &House, typed: &str) -> Result {
    let journal = house.journal()?;
    let found = house.read(&journal, |r| {
        let number = place_number(r, typed)?;
        Ok(place_page(r, number, &house.hand)?)
    })?;
    let out = &house.out;
    match out.form() {
        Form::Json => return out.json(&found),
        Form::Csv => return out.table(&list::table(&found.plants)),
        Form::Table => {}
    }
    out.line(&format!("{}  {}", out.strong(&found.place.number.to_string()), found.place.name));
    if !found.note.is_empty() {
        out.line(&found.note);
    }
    out.heading("Plants");
    list::print(out, &found.plants)?;
    if !found.journal.is_empty() {
        out.heading("Journal");
        page::print_lines(out, &found.journal);
    }
    Ok(())
}
