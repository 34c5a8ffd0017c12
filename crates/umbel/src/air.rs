//! `umbel places air`.

use answers::{
    BitKind,
    air::{PlaceAir, change_settings, place_air},
};

use crate::{
    filter::place_number,
    house::House,
    out::{Form, Table},
    problem::{Problem, Result},
};

/// Says what was typed about the air of a place, and shows it.
pub fn run(house: &House, place: &str, set: &[String]) -> Result {
    let journal = house.journal()?;
    let number = house.read(&journal, |r| place_number(r, place))?;
    if !set.is_empty() {
        let typed = set
            .iter()
            .map(|s| {
                s.split_once('=').ok_or_else(|| {
                    Problem::input(
                        format!("--set: “{s}” is not KEY=VALUE"),
                        "write it such as --set volume=30",
                    )
                })
            })
            .collect::<Result<Vec<_>>>()?;
        change_settings(&journal, &house.hand, number, &typed)?;
    }
    let air = house.read(&journal, |r| Ok(place_air(r, number, &house.hand)?))?;
    match house.out.form() {
        Form::Json => house.out.json(&air),
        Form::Csv => house.out.table(&days(&air)),
        Form::Table => print(house, &air),
    }
}

fn days(air: &PlaceAir) -> Table {
    let mut table = Table::new(&[
        "day",
        "by_day",
        "by_night",
        "temperature",
        "coldest",
        "warmest",
        "humidity",
        "hours",
        "flat_hours",
    ]);
    for d in &air.days {
        let day = i32::try_from(d.day).ok().and_then(dates::from_days);
        table.row(vec![
            day.map(|d| d.to_string()).into(),
            d.day_deficit.into(),
            d.night_deficit.into(),
            d.temperature.into(),
            d.coldest.into(),
            d.warmest.into(),
            d.humidity.into(),
            d.hours.into(),
            d.flat_hours.into(),
        ]);
    }
    table
}

fn print(house: &House, air: &PlaceAir) -> Result {
    let out = &house.out;
    out.line(&format!("{}  {}", out.strong(&air.place.number.to_string()), air.place.name));
    for sentence in &air.sentences {
        let words: String = sentence
            .iter()
            .map(|b| match b.kind {
                BitKind::Value => out.strong(&b.text),
                _ => b.text.clone(),
            })
            .collect();
        out.line(&words);
    }
    for words in &air.basis {
        out.line(&format!("  {words}"));
    }
    for words in &air.gaps {
        out.line(&format!("  {}", out.weak(words)));
    }
    for (lead, check) in &air.cautions {
        out.line(&format!("  {} {check}", out.strong(lead)));
    }
    Ok(())
}
