//! `umbel today`, `umbel predictions` and `umbel growth`.

use answers::water::{
    Growth, PlaceToday, PlantToday, Water, dry_words, odd_words, percent, predictions, reason,
};
use answers::{acts, due, name_text};
use clap::{Args, ValueEnum};
use serde_json::json;

use crate::{
    clones::{done, number},
    house::House,
    out::{Form, Table},
    problem::Result,
};

/// Say what cannot wait for the next round, what may be left out of it, and what else wants doing
#[derive(Debug, Args)]
pub struct TodayArgs {
    /// Also plants that are not past the line
    #[arg(long)]
    all: bool,
}

/// Runs `umbel today`.
pub fn today(house: &House, args: &TodayArgs) -> Result {
    let journal = house.journal()?;
    let (water, lines) = house.read(&journal, |r| {
        let mut water = Water::read(r, &house.hand)?;
        Ok((water.today(&house.hand), due::due(r, &house.hand)?))
    })?;
    let out = &house.out;
    match out.form() {
        Form::Json => return out.json(&json!({ "water": water, "due": lines })),
        Form::Csv => return out.table(&table(&water.places)),
        Form::Table => {}
    }
    let t = house.hand.texts();
    for p in &water.places {
        let shown: Vec<&PlantToday> =
            if args.all { p.plants.iter().collect() } else { p.now().collect() };
        let numbers = |plants: Vec<i64>| {
            plants.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
        };
        let before = numbers(p.before_round().map(|x| x.number).collect());
        let free = numbers(p.may_be_left_out().map(|x| x.number).collect());
        if shown.is_empty() && before.is_empty() && p.round_in != Some(0) {
            continue;
        }
        out.heading(if p.name.is_empty() { "No place" } else { &p.name });
        for x in shown {
            let name = name_text(if x.name.is_empty() { t.t("not named") } else { &x.name });
            out.line(&format!(
                "{}  {}: {}, {}%; tomorrow {}%",
                out.strong(&x.number.to_string()),
                name.plain,
                dry_words(x.tonight, t),
                percent(x.tonight),
                percent(x.tomorrow)
            ));
            out.line(&format!("    {}", reason(x, &house.hand)));
            if let Some(words) = odd_words(x, t) {
                out.line(&format!("    {words}"));
            }
        }
        if !before.is_empty() {
            out.line(&format!("Cannot wait for the round either: {before}"));
        }
        if p.round_in == Some(0) && !free.is_empty() {
            out.line(&format!("May be left out of the round: {free}"));
        }
    }
    if water.cannot_wait() == 0 {
        out.line("Nothing is past the line: everything can wait.");
    }
    let mut group = "";
    for l in lines.iter().filter(|l| l.put_off.is_none()) {
        if l.group != group {
            group = l.group;
            out.heading(t.t(group));
        }
        out.line(&format!("{} ({})", l.plain(), l.reason));
    }
    Ok(())
}

fn table(places: &[PlaceToday]) -> Table {
    let mut table = Table::new(&[
        "place",
        "number",
        "name",
        "tonight",
        "tomorrow",
        "line",
        "dry_from",
        "dry_middle",
        "dry_to",
    ]);
    for p in places {
        for x in &p.plants {
            let day = |i: usize| x.due.map(|d| d[i]).and_then(date);
            table.row(vec![
                p.name.clone().into(),
                x.number.into(),
                x.name.clone().into(),
                x.tonight.into(),
                x.tomorrow.into(),
                x.line.into(),
                day(0).into(),
                day(1).into(),
                day(2).into(),
            ]);
        }
    }
    table
}

#[allow(clippy::cast_possible_truncation)]
fn date(day: f64) -> Option<String> {
    dates::from_days(day.ceil() as i32).map(|d| d.to_string())
}

/// Say how often what was said about dry pots was right here
#[derive(Debug, Args)]
pub struct PredictionsArgs {}

/// Runs `umbel predictions`.
pub fn past(house: &House, _: &PredictionsArgs) -> Result {
    let journal = house.journal()?;
    let found = house.read(&journal, |r| Ok(predictions(&Water::read(r, &house.hand)?)))?;
    if house.out.form() == Form::Json {
        return house.out.json(&found);
    }
    let mut table = Table::new(&["from", "to", "said", "looks", "dry", "share_low", "share_high"]);
    for b in &found.told {
        table.row(vec![
            b.from.into(),
            b.to.into(),
            b.said.into(),
            b.looks.into(),
            b.dry.into(),
            b.interval.map(|i| i.0).into(),
            b.interval.map(|i| i.1).into(),
        ]);
    }
    house.out.table(&table)?;
    if house.out.form() == Form::Table {
        house.out.line(&format!(
            "An interval of 80 % held {:.0} % of {} dryings.",
            100.0 * found.held,
            found.intervals
        ));
    }
    Ok(())
}

/// Say whether a plant grows, rests or has no roots: the last two are left out of the walk
#[derive(Debug, Args)]
pub struct GrowthArgs {
    /// The plant, by number or code
    plant: String,
    /// How it is
    state: State,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum State {
    /// It drinks as usual
    Growing,
    /// Dormant
    Resting,
    /// Without roots yet, or any more
    Rootless,
}

/// Runs `umbel growth`.
pub fn growth(house: &House, args: &GrowthArgs) -> Result {
    let growth = match args.state {
        State::Growing => Growth::Growing,
        State::Resting => Growth::Resting,
        State::Rootless => Growth::Rootless,
    };
    let journal = house.journal()?;
    let plant = number(house, &journal, &args.plant)?;
    let op = acts::set_growth(&journal, &house.hand, plant, growth)?;
    done(house, &format!("plant {plant}: {}", growth.as_str()), op)
}
