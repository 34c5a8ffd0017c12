//! `umbel flowers`: how long flowers last, and who is likely in flower when.

use answers::flowers::{AHEAD, By, Flowers, Sides, plant_flowers};
use clap::{Args, Subcommand};
use journal::Journal;

use crate::{
    house::House,
    out::{Form, Table},
    problem::{Problem, Result},
    target,
};

/// How long flowers last, when they come again, who is likely in flower
#[derive(Debug, Args)]
pub struct FlowersArgs {
    #[command(subcommand)]
    command: FlowersCommand,
}

#[derive(Debug, Subcommand)]
enum FlowersCommand {
    /// Everything known of the flowers of a plant
    Of {
        /// The plant, by number or code
        plant: String,
    },
    /// Plants that are likely in flower in a month
    Likely {
        /// The month, such as 2027-03 [default: this month]
        month: Option<String>,
    },
    /// Whether two plants are in flower together in the next twelve weeks
    Together {
        /// The plant that bears the seed
        seed: String,
        /// The plant that gives the pollen
        pollen: String,
    },
}

/// Runs it.
pub fn run(house: &House, args: &FlowersArgs) -> Result {
    let journal = house.journal()?;
    match &args.command {
        FlowersCommand::Of { plant } => of(house, &journal, plant),
        FlowersCommand::Likely { month } => likely(house, &journal, month.as_deref()),
        FlowersCommand::Together { seed, pollen } => together(house, &journal, [seed, pollen]),
    }
}

fn of(house: &House, journal: &Journal, typed: &str) -> Result {
    let found = house.read(journal, |r| {
        let number = target::plant(r, &house.hand, typed)?;
        Ok(plant_flowers(&mut Flowers::default(), r, number, &house.hand)?)
    })?;
    match house.out.form() {
        Form::Json => return house.out.json(&found),
        Form::Csv => {
            let mut rows = Table::new(&["share_open", "days", "lower", "upper"]);
            for p in found.curve.iter().flat_map(|c| &c.points) {
                rows.row(vec![
                    p.open.into(),
                    rounded(p.days[1]).into(),
                    rounded(p.days[0]).into(),
                    rounded(p.days[2]).into(),
                ]);
            }
            return house.out.table(&rows);
        }
        Form::Table => {}
    }
    found.answers.iter().for_each(|answer| crate::ask::print(house, answer));
    if let Some(ahead) = &found.ahead {
        let mut rows = Table::new(&["week_from", "to", "in_flower"]);
        for w in &ahead.weeks {
            let day = |d: i64| answers::said_days((d, d), &house.hand);
            rows.row(vec![day(w.from).into(), day(w.to).into(), rounded(w.chance).into()]);
        }
        house.out.table(&rows)?;
    }
    for found in [&found.clones, &found.places].into_iter().flatten() {
        house.out.table(&beside(found, house))?;
    }
    Ok(())
}

fn beside(sides: &Sides, house: &House) -> Table {
    let t = house.hand.texts();
    let what = if sides.by == By::Place { "place" } else { "clone" };
    let mut rows =
        Table::new(&[what, "name", "ended", "umbels", "times_as_long", "lower", "upper", "shows"]);
    let count = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
    for s in &sides.sides {
        rows.row(vec![
            s.number.into(),
            s.name.clone().into(),
            count(s.ended).into(),
            count(s.umbels).into(),
            s.ratio.map(|r| rounded(r[1])).into(),
            s.ratio.map(|r| rounded(r[0])).into(),
            s.ratio.map(|r| rounded(r[2])).into(),
            if s.words.is_empty() { "" } else { t.t(s.words) }.to_owned().into(),
        ]);
    }
    rows
}

fn likely(house: &House, journal: &Journal, typed: Option<&str>) -> Result {
    let today = house.hand.today;
    let month = match typed {
        None => (today.year(), today.month()),
        Some(typed) => typed
            .split_once('-')
            .and_then(|(y, m)| Some((y.parse().ok()?, m.parse().ok()?)))
            .ok_or_else(|| {
                Problem::input(format!("“{typed}” is not a month"), "write it as 2027-03")
            })?,
    };
    let found = house
        .read(journal, |r| Ok(Flowers::default().likely_in_month(r, &house.hand, month)?))?;
    if house.out.form() == Form::Json {
        return house.out.json(&*found);
    }
    let mut rows = Table::new(&["plant", "name", "in_flower", "days"]);
    for l in found.iter() {
        rows.row(vec![
            l.plant.into(),
            l.name.clone().into(),
            rounded(l.chance).into(),
            rounded(l.days).into(),
        ]);
    }
    house.out.table(&rows)
}

fn together(house: &House, journal: &Journal, typed: [&String; 2]) -> Result {
    let today = house.hand.today_number();
    let found = house.read(journal, |r| {
        let [a, b] = typed.map(|t| target::plant(r, &house.hand, t));
        let span = (today, today + AHEAD - 1);
        Ok(Flowers::default().together(r, &house.hand, (a?, b?), span)?)
    })?;
    let t = house.hand.texts();
    match (house.out.form(), &found) {
        (Form::Json, _) => house.out.json(&found),
        (_, None) => {
            house.out.line(
                t.t("Not enough yet: of at least one of them no flower was ever written down."),
            );
            Ok(())
        }
        (_, Some(found)) => {
            let mut rows = Table::new(&["seed", "pollen", "meet", "days", "days_fresh", "store"]);
            rows.row(vec![
                found.mother.plant.into(),
                found.father.plant.into(),
                rounded(found.meeting.chance).into(),
                rounded(found.meeting.days).into(),
                rounded(found.meeting.usable).into(),
                found.store.to_string().into(),
            ]);
            house.out.table(&rows)
        }
    }
}

fn rounded(x: f64) -> f64 {
    (1000.0 * x).round() / 1000.0
}
